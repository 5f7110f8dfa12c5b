"""The wet part of a mast: points and weights to integrate over it, and its area."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mastcheck.mast import Mast
from mastcheck.motion.water import chord_at, thickness_at
from mastcheck.water.model import WetArea

FloatArray = NDArray[np.float64]
_POINTS = 8  # exact for the polynomials of a straight taper, 1e-10 for the friction line


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WetPart:
    """Gauss points of the wet part, all (m,) and empty where nothing is wet.

    z [m] and its weights [m]; chord and thickness there [m]. ``top`` [m]: where it begins.
    """

    z: FloatArray
    weight: FloatArray
    chord: FloatArray
    thickness: FloatArray
    top: float
    length: float


def wet_part(mast: Mast, level: float) -> WetPart:
    """The part of a mast from z = ``level`` [m] to the tip; stations are breaks of the rule."""
    top = min(max(level, 0.0), mast.length)
    inner = [s.at * mast.length for s in mast.stations if top < s.at * mast.length < mast.length]
    x, w = np.polynomial.legendre.leggauss(_POINTS)
    ends = [top, *inner, mast.length] if top < mast.length * (1 - 1e-9) else []
    z = [lo + (hi - lo) * (x + 1) / 2 for lo, hi in pairwise(ends)]
    weight = [w * (hi - lo) / 2 for lo, hi in pairwise(ends)]
    places = np.concatenate(z) if z else np.zeros(0)
    return WetPart(
        z=places,
        weight=np.concatenate(weight) if weight else np.zeros(0),
        chord=chord_at(mast, places),
        thickness=thickness_at(mast, places),
        top=top,
        length=mast.length,
    )


def wet_area(mast: Mast, wet: WetPart) -> WetArea:
    """Area of the wet part, its centre and aspect ratio.

    A trapezium of chords c₁ (at the surface) and c₂ (at the tip), h deep, has the area h (c₁ + c₂)/2,
    with its centre h (c₁ + 2 c₂)/(3 (c₁ + c₂)) below the surface.
    """
    depth = wet.length - wet.top
    side = float(wet.weight @ wet.chord)
    if not wet.z.size:
        return WetArea(
            depth=0.0, side=0.0, wetted=0.0, centre=None, aft=None, quarter=None, aspect_ratio=None
        )
    by_chord = wet.weight * wet.chord / side
    return WetArea(
        depth=depth,
        side=side,
        wetted=2 * side,
        centre=float(by_chord @ wet.z),
        aft=float(by_chord @ wet.chord) * (0.5 - mast.taper_about),
        quarter=float(by_chord @ wet.chord) * (0.25 - mast.taper_about),
        aspect_ratio=depth**2 / side,
    )
