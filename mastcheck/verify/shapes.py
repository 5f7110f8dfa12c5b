"""Shapes of the verification's cross-sections, drawn in metres."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, box

from mastcheck.errors import MastcheckError
from mastcheck.material import Material
from mastcheck.outline import contour
from mastcheck.source import PRACTICE
from mastcheck.verify.given import Given

FloatArray = NDArray[np.float64]

METAL = Material(name="metal", E=70e9, G=26e9, density=2700.0, source=PRACTICE)
"""Any one material: what is compared is geometry, and E and G drop out of it."""

_NACA_OPEN = (0.2969, -0.1260, -0.3516, 0.2843, -0.1015)
_CURVE = 400
"""Straight panels around a curve: they leave 1e-4 of its torsion constant."""


def shape(given: Given) -> Polygon:
    """The shape that the row names.

    Raises: MastcheckError for a name that is no shape.
    """
    name = given.words("shape")
    if name not in _SHAPES:
        raise MastcheckError(f"given.shape = {name!r}: want one of {', '.join(_SHAPES)}")
    return _SHAPES[name](given)


def _circle(radius: float, start: float = 0.0, end: float = 2 * math.pi, n: int = _CURVE) -> FloatArray:
    angle = np.linspace(start, end, n, endpoint=end - start < 2 * math.pi)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def _rectangle(given: Given) -> Polygon:
    wide, high = given.length("width"), given.length("height")
    return box(-wide / 2, -high / 2, wide / 2, high / 2)


def _ellipse(given: Given) -> Polygon:
    # More panels than elsewhere: the closed form is of the ellipse itself.
    return Polygon(_circle(1.0, n=720) * (given.length("a"), given.length("b")))


def _round_bar(given: Given) -> Polygon:
    return Polygon(_circle(given.length("diameter") / 2))


def _round_tube(given: Given) -> Polygon:
    outer = given.length("diameter") / 2
    return Polygon(_circle(outer), [_circle(outer - given.length("wall"))])


def _triangle(given: Given) -> Polygon:
    a = given.length("side")
    return Polygon([(0, 0), (a, 0), (a / 2, a * math.sqrt(3) / 2)])


def _naca(given: Given) -> Polygon:
    c = given.length("chord")
    return Polygon(contour("naca-4-digit", chord=c, thickness=given.number("t") * c))


def _naca_open(given: Given) -> Polygon:
    """The law with its open tail, square at the end; not one of the tool's outlines."""
    c, t = given.length("chord"), given.number("t")
    x = (1 - np.cos(np.linspace(0, math.pi, 201))) / 2
    a, b, k2, k3, k4 = _NACA_OPEN
    y = 5 * t * (a * np.sqrt(x) + x * (b + x * (k2 + x * (k3 + x * k4))))
    upper = np.column_stack([x, y])[::-1]
    return Polygon(c * np.vstack([upper, (upper * (1, -1))[-2::-1]]))


def _elliptical_tube(given: Given) -> Polygon:
    a, b, wall = given.length("a"), given.length("b"), given.length("wall")
    angle = np.linspace(0, 2 * math.pi, _CURVE, endpoint=False)
    mid = np.column_stack([a * np.cos(angle), b * np.sin(angle)])
    normal = np.column_stack([b * np.cos(angle), a * np.sin(angle)])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    return Polygon(mid + wall / 2 * normal, [mid - wall / 2 * normal])


def _cells(given: Given) -> Polygon:
    """Rectangular cells side by side, of the mid-line widths given as ``"40 mm, 30 mm"``."""
    t, high = given.length("wall"), given.length("height")
    widths = [float(word.split()[0]) / 1000 for word in given.words("widths").split(",")]
    whole, x = box(-t / 2, -(high + t) / 2, sum(widths) + t / 2, (high + t) / 2), 0.0
    for wide in widths:
        whole = whole.difference(box(x + t / 2, -(high - t) / 2, x + wide - t / 2, (high - t) / 2))
        x += wide
    return whole


def _channel(given: Given) -> Polygon:
    """Mid-line ``width`` and ``height``, the web's mid-line on x = 0."""
    t, b, h = given.length("wall"), given.length("width"), given.length("height")
    a = t / 2
    return box(-a, -a, b, h + a).difference(box(a, a, 2 * b, h - a))


def _i_section(given: Given) -> Polygon:
    """Flanges ``width`` x ``wall``, mid-lines ``height`` apart; a web of three quarters the wall."""
    t, b, h = given.length("wall"), given.length("width"), given.length("height")
    flanges = [box(-b / 2, y - t / 2, b / 2, y + t / 2) for y in (-h / 2, h / 2)]
    return shapely.union_all([*flanges, box(-0.375 * t, -h / 2, 0.375 * t, h / 2)])


def _slit_ring(given: Given) -> Polygon:
    """A ring about the origin, cut at -x by a slit of width ``slit``."""
    return _bow(given, math.pi - given.length("slit") / 2 / given.length("radius"))


def _half_ring(given: Given) -> Polygon:
    """The half of a ring about the origin that lies at +x."""
    return _bow(given, math.pi / 2)


def _bow(given: Given, half: float) -> Polygon:
    r, t = given.length("radius"), given.length("wall")
    outer, inner = (_circle(r + k * t / 2, -half, half) for k in (1, -1))
    return Polygon(np.vstack([outer, inner[::-1]]))


_SHAPES: dict[str, Callable[[Given], Polygon]] = {
    "rectangle": _rectangle,
    "ellipse": _ellipse,
    "round bar": _round_bar,
    "round tube": _round_tube,
    "equilateral triangle": _triangle,
    "naca": _naca,
    "naca, open tail": _naca_open,
    "elliptical tube": _elliptical_tube,
    "cells": _cells,
    "channel": _channel,
    "I": _i_section,
    "slit ring": _slit_ring,
    "half ring": _half_ring,
}
