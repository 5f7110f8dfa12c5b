"""The inner radius of a hollow's corners: what the stress there hangs on."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

FloatArray = NDArray[np.float64]

CLIP = 1.02
"""A corner is clipped at this many radii from the centre of its fillet."""

WIDE = np.radians(115.0)
"""Turn [rad] from which a corner is a tip of the hollow, and not one beside a web."""

CHORDS, TIP_CHORDS = 2, 4
"""Straight panels of a fillet between its two sides, beside a web and at a tip: about 30 degrees each.

Measured against 15 panels a fillet, 400 a side and four times the triangles: the peak stress is up to
5 % low at tips. Beside webs it is up to 15 % low, and so that of a fillet of up to twice the radius."""

NEAR = 0.45
"""Points of the contour nearer to a clipped corner's foot than this many radii are joined to it.

The fillet's own foot lies up to 0.2 radii further out, so that this is a quarter beyond it."""

_CORNER = np.arccos(1 / CLIP)
"""Turn [rad] at a clipped corner's foot: at least this, or the corner would not have been clipped."""

_LIKE = 0.03
"""How near to a clipped corner's own [rad; radii] its turns and length must be."""


def filleted(polygon: Polygon, radius: float) -> Polygon:
    """A hollow with a fillet of the radius [m] in each of its clipped corners; the rest is kept.

    Contour points close beside a corner are joined to its foot. A corner that is not a clipped one,
    or has no room for its fillet, is left as it is.
    """
    ring = np.asarray(shapely.get_coordinates(polygon.exterior))[:-1]
    ccw = ring if polygon.exterior.is_ccw else ring[::-1]
    rounded = shapely.linearrings(_rounded(_joined(ccw, radius), radius))
    made: Polygon = shapely.polygons(rounded, list(polygon.interiors) or None)
    return made if made.is_valid else polygon


def _rounded(ring: FloatArray, radius: float) -> FloatArray:
    """A ring (n, 2), counter-clockwise, with its clipped corners rounded."""
    corners = _clipped(ring, radius)
    if not corners:
        return ring
    n = len(ring)
    turned = np.roll(ring, -corners[0], axis=0)
    places = [k - corners[0] for k in corners]
    pieces = []
    for k, end in zip(places, [*places[1:], n], strict=True):
        a, p, q, b = turned[k - 1], turned[k], turned[(k + 1) % n], turned[(k + 2) % n]
        fillet = _fillet(a, p, q, b, radius)
        room = (fillet[0] - a) @ (p - a) > 0 and (b - fillet[-1]) @ (b - q) > 0
        pieces += [fillet if room else turned[k : k + 2], turned[k + 2 : end]]
    return np.concatenate(pieces)


def _turns(ring: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Turn [rad] to the left at each point (n,) of a ring, and the length [m] of the panel from it."""
    along = np.empty_like(ring)
    along[:-1], along[-1] = ring[1:] - ring[:-1], ring[0] - ring[-1]
    x, y = along.T
    u, v = np.roll(x, 1), np.roll(y, 1)
    return np.arctan2(u * y - v * x, u * x + v * y), np.hypot(x, y)


def _joined(ring: FloatArray, radius: float) -> FloatArray:
    """The ring without the points of its smooth sides that lie near a corner's foot."""
    turns, _ = _turns(ring)
    smooth, n = np.abs(turns) < _CORNER, len(ring)
    kept = np.ones(n, dtype=bool)
    for foot in np.flatnonzero(turns > _CORNER).tolist():
        for way in (-1, 1):
            i = (foot + way) % n
            while smooth[i] and math.dist(ring[i], ring[foot]) < NEAR * radius:
                kept[i] = False
                i = (i + way) % n
    return ring[kept]


def _clipped(ring: FloatArray, radius: float) -> list[int]:
    """The points from which the panel of a clipped corner goes."""
    turns, length = _turns(ring)
    last = np.roll(turns, -1)
    at = np.flatnonzero((turns > _CORNER) & (last > _CORNER) & (np.abs(turns - last) < _LIKE))
    half = (turns[at] + last[at]) / 2
    due = 2 * (1 - CLIP * np.cos(half)) / np.sin(half)
    found: list[int] = at[np.abs(length[at] / radius - due) < _LIKE].tolist()
    return found


def _fillet(a: FloatArray, p: FloatArray, q: FloatArray, b: FloatArray, radius: float) -> FloatArray:
    """Points (k, 2) where tangents of the fillet meet, from the side a-p to the side q-b."""
    sides = [(p - a) / np.hypot(*(p - a)), (b - q) / np.hypot(*(b - q))]
    start, end = (np.array([along[1], -along[0]]) for along in sides)
    middle = (start + end) / np.hypot(*(start + end))
    centre = (p + q) / 2 - CLIP * radius * middle
    turn = np.arctan2(start[0] * end[1] - start[1] * end[0], start @ end)
    panels = TIP_CHORDS if turn > WIDE else CHORDS
    step = turn / (panels + 1)
    angle = np.arctan2(start[1], start[0]) + step * np.arange(panels + 2)
    x, y = np.cos(angle), np.sin(angle)
    reach = np.full(panels + 2, radius)
    reach[0], reach[-1] = (p - centre) @ start, (q - centre) @ end  # on the sides, to the last digit
    near, far = reach[:-1], reach[1:]
    meet = np.column_stack([near * y[1:] - far * y[:-1], far * x[:-1] - near * x[1:]]) / np.sin(step)
    return np.asarray(centre + meet)
