"""Drag where the flow about the mast meets that along the fuselage."""

from __future__ import annotations

from mastcheck.source import Grade, Source
from mastcheck.water.model import Coefficient

JUNCTION_SOURCE = Source(
    title="strut on a wall, q t² (0.75 t/c - 0.0003/(t/c)²), none where negative; Hoerner, Fluid-Dynamic"
    " Drag, ch. 8; upper end of the band 17 (t/c)² - 0.05 or twice, whichever is more; lower end none",
    grade=Grade.MEMORY,
)


def junction_area(thickness: float, chord: float) -> Coefficient:
    """Junction drag over dynamic pressure, with its band [m²], for a wall as wide as the flow about it.

    Args:
        thickness: of the mast at the fuselage [m].
        chord: there [m].

    >>> round(junction_area(0.0144, 0.12).value / 0.0144**2, 4)
    0.0692
    """
    ratio = thickness / chord
    wall = max(0.0, 0.75 * ratio - 3e-4 / ratio**2)
    most = max(2 * wall, 17 * ratio**2 - 0.05)
    square = thickness**2
    return Coefficient(value=wall * square, low=0.0, high=most * square, source=JUNCTION_SOURCE)
