"""Drag of the wake behind a blunt trailing edge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.mast import Mast
from mastcheck.motion.shedding import Edge, tail
from mastcheck.source import Grade, Source
from mastcheck.water.model import Coefficient
from mastcheck.water.wet import WetPart

FloatArray = NDArray[np.float64]

BASE = Coefficient(
    value=0.135,
    low=0.07,
    high=0.18,
    source=Source(
        title="blunt trailing edge, 0.135/(forebody friction coefficient on the tail's area)^(1/3) on"
        " that area, Hoerner, Fluid-Dynamic Drag, ch. 3; band 0.07 to 0.18 assumed; a rounded tail"
        " counts as one cut square, which is more",
        grade=Grade.MEMORY,
    ),
)
THICKEST = 0.05
"""Tail thickness over chord up to which the formula is used without a word."""


def tails(mast: Mast, wet: WetPart) -> tuple[FloatArray, tuple[Edge, ...]]:
    """Thickness (m,) [m] of the tail at the wet part's points (0: sharp or unknown), and how it ends."""
    found = [tail(mast, float(z) / mast.length) for z in wet.z]
    return np.array([h for _, h in found]), tuple(dict.fromkeys(edge for edge, _ in found))


def base_coefficient(tail_over_chord: FloatArray, friction: FloatArray) -> FloatArray:
    """Base drag over dynamic pressure and chord, for Hoerner's 0.135; the tail h c thick.

    0.135 h/(2 C_F/h)^(1/3) is 0.135 (h⁴/(2 C_F))^(1/3), which is nothing for a sharp tail.

    Args:
        tail_over_chord: tail thickness over chord.
        friction: coefficient of the plate's friction on one face's area, of a shape that fits.

    >>> base_coefficient(np.array([0.0125]), np.array([0.0046783])).round(6).tolist()
    [0.001859]
    """
    return np.asarray(BASE.value * np.cbrt(tail_over_chord**4 / (2 * friction)))
