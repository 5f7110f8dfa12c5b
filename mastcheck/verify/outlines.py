"""Outlines: the four-digit thickness law and what its contour encloses."""

from __future__ import annotations

import numpy as np
from scipy.optimize import minimize_scalar
from shapely import Polygon

from mastcheck.outline import contour, half_thickness
from mastcheck.verify.given import Compute, Given

FAMILY = "naca-4-digit"


def _half(x: float, t: float) -> float:
    """Half thickness at x, both over the chord."""
    return float(half_thickness(FAMILY, np.array([x]), chord=1.0, thickness=t)[0])


def _half_ordinate(given: Given) -> float:
    """Half thickness over the chord at ``x``."""
    return _half(given.number("x"), given.number("t"))


def _nose_radius(given: Given) -> float:
    """Radius of the nose over the chord: y²/2x where x is next to nothing."""
    x = 1e-10
    return _half(x, given.number("t")) ** 2 / (2 * x)


def _greatest(t: float) -> tuple[float, float]:
    found = minimize_scalar(
        lambda x: -_half(x, t), bounds=(0.2, 0.4), method="bounded", options={"xatol": 1e-9}
    )
    return float(found.x), -float(found.fun)


def _greatest_at(given: Given) -> float:
    """Place of the greatest thickness over the chord."""
    return _greatest(given.number("t"))[0]


def _greatest_thickness(given: Given) -> float:
    """Greatest thickness over the nominal one."""
    t = given.number("t")
    return 2 * _greatest(t)[1] / t


def _perimeter(given: Given) -> float:
    """Length of the contour as it is meshed, over the chord."""
    c, t = 0.12, given.number("t")
    return float(Polygon(contour(FAMILY, chord=c, thickness=t * c)).length) / c


def _lens_area(given: Given) -> float:
    """Area of a lens as it is meshed [m²]."""
    ring = contour("lens", chord=given.length("chord"), thickness=given.length("thickness"))
    return float(Polygon(ring).area)


COMPUTATIONS: dict[str, Compute] = {
    "half ordinate": _half_ordinate,
    "nose radius": _nose_radius,
    "place of the greatest thickness": _greatest_at,
    "greatest thickness": _greatest_thickness,
    "perimeter": _perimeter,
    "area of a lens": _lens_area,
}
