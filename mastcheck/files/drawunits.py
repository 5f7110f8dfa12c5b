"""Units of drawings: what a DXF header may state, and lengths and places in messages."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

INSUNITS: dict[int, tuple[str, float]] = {
    1: ("in", 0.0254),
    2: ("ft", 0.3048),
    4: ("mm", 1e-3),
    5: ("cm", 1e-2),
    6: ("m", 1.0),
    7: ("km", 1e3),
    8: ("microinch", 2.54e-8),
    9: ("mil", 2.54e-5),
    10: ("yd", 0.9144),
    13: ("micron", 1e-6),
    14: ("dm", 0.1),
    21: ("US survey ft", 1200 / 3937),
    22: ("US survey in", 100 / 3937),
}
"""Codes of $INSUNITS: name and metres (DXF reference, header variables; miles, angstroms and
astronomical units are left out, as no section is drawn in them)."""

WIDTHS = (0.005, 2.0)
"""Widths [m] of an outline taken for a mast's; anything else is a slip of the unit."""

LIKELY = (0.03, 0.4)
"""Chords [m] that make a guess at the true unit plausible (common practice, no source)."""

_GUESSES = (("millimetres", 1e-3), ("inches", 0.0254), ("centimetres", 1e-2), ("metres", 1.0))
_RESOLUTION = 1e-7  # m shown in coordinates


@dataclass(frozen=True, slots=True)
class Unit:
    """A drawing's unit: its name and its length [m]."""

    name: str
    metres: float

    def length(self, value: float) -> str:
        """A length in drawing units, as text with the unit.

        >>> Unit("mm", 1e-3).length(0.03000001)
        '0.03 mm'
        """
        return f"{self._number(value)} {self.name}"

    def size(self, width: float, height: float) -> str:
        """A width and height in drawing units, as text.

        >>> Unit("in", 0.0254).size(4.75, 0.59)
        '4.75 x 0.59 in'
        """
        return f"{self._number(width)} x {self._number(height)} {self.name}"

    def place(self, point: Sequence[float] | FloatArray) -> str:
        """A point in drawing units, as text.

        >>> Unit("mm", 1e-3).place((12.5, -0.00000001))
        '(12.5, 0) mm'
        """
        return f"({self._number(point[0])}, {self._number(point[1])}) {self.name}"

    def _number(self, value: float) -> str:
        """Four decimals of a millimetre, whatever the unit; more where the value is smaller still."""
        decimals = max(0, math.ceil(-math.log10(_RESOLUTION / self.metres)))
        text = f"{value:.{decimals}f}"
        if float(text) == 0 and abs(value) > 1e-3 * _RESOLUTION / self.metres:
            return f"{value:.2g}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text == "-0" else text


def unit_of(metres: float) -> Unit:
    """The unit of a length [m], by its usual name."""
    for name, known in INSUNITS.values():
        if math.isclose(metres, known, rel_tol=1e-9):
            return Unit(name, known)
    return Unit(f"x {metres:g} m", metres)


def likely_units(width: float) -> str:
    """Units in which a width in drawing units would be a mast's, or nothing.

    >>> likely_units(120.0)
    'millimetres'
    >>> likely_units(4.7)
    'inches or centimetres'
    """
    return " or ".join(name for name, m in _GUESSES if LIKELY[0] <= width * m <= LIKELY[1])
