"""Drag of the spray thrown up where a strut leaves the water."""

from __future__ import annotations

import math

from mastcheck.loadcase import GRAVITY
from mastcheck.source import Grade, Source
from mastcheck.water.model import Coefficient

SPRAY = Coefficient(
    value=0.24,
    low=0.12,
    high=0.36,
    source=Source(
        title="spray of a surface-piercing strut, 0.24 q t², Hoerner, Fluid-Dynamic Drag, ch. 10;"
        " not confirmed, band ± 50 % assumed",
        grade=Grade.MEMORY,
    ),
)
LEAST_FROUDE = 3.0
"""Froude number on the chord below which waves, not spray, are made."""


def spray_area(thickness: float) -> float:
    """Spray drag over dynamic pressure [m²] of a strut ``thickness`` [m] thick at the surface.

    >>> round(spray_area(0.0144) * 1026.021 / 2 * 10.0**2, 5)
    2.55307
    """
    return SPRAY.value * thickness**2


def froude(speed: float, chord: float) -> float:
    """Froude number on the chord.

    >>> round(froude(5.0, 0.12), 2)
    4.61
    """
    return speed / math.sqrt(GRAVITY * chord)
