"""Skin friction of a smooth or rough blade, as a flat plate turbulent from its nose on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.source import Grade, Source

FloatArray = NDArray[np.float64]

LEAST_REYNOLDS, MOST_REYNOLDS = 1e5, 1e9
"""Range of chord Reynolds numbers in which the turbulent line is used without a word."""
ROUGH_RANGE = (1e2, 1e6)
"""Range of chord over grain height of the rough line."""
SMOOTH_SOURCE = Source(
    title="ITTC-1957 model-ship correlation line, 0.075/(log10 Re - 2)²; its 12 % form allowance over a"
    " flat plate is part of the line",
    grade=Grade.MEMORY,
)
ROUGH_SOURCE = Source(
    title="fully rough plate, (1.89 + 1.62 log10 c/k)^-2.5, Schlichting, Boundary-Layer Theory, k the"
    " height of sand grains; taken where above the smooth line",
    grade=Grade.MEMORY,
)
LAMINAR_SOURCE = Source(title="Blasius, 1.328/sqrt Re", grade=Grade.STANDARD)
_FLOOR = 1e3  # below it the turbulent line runs off to infinity at Re = 100


def turbulent(reynolds: FloatArray) -> FloatArray:
    """Friction coefficient of a smooth plate on one face's area by the ITTC-1957 line.

    Args:
        reynolds: of the chord, any shape; at less than 1,000 that of 1,000.

    >>> turbulent(np.array([1e6])).round(7).tolist()
    [0.0046875]
    """
    return 0.075 / (np.log10(np.maximum(reynolds, _FLOOR)) - 2) ** 2


def rough(chord_over_grain: FloatArray) -> FloatArray:
    """Friction coefficient of a fully rough plate, independent of speed.

    Args:
        chord_over_grain: chord over sand-grain height; outside the line's range that at its end.

    >>> rough(np.array([1000.0])).round(5).tolist()
    [0.00845]
    """
    low, high = ROUGH_RANGE
    held = np.clip(chord_over_grain, low, high)
    return np.asarray((1.89 + 1.62 * np.log10(held)) ** -2.5)


def friction(reynolds: FloatArray, chord: FloatArray, roughness: float) -> FloatArray:
    """The greater of the smooth and the fully rough line.

    Args:
        reynolds: of the chord.
        chord: of the same shape, or one that fits it [m].
        roughness: sand-grain height [m]; 0 is smooth.
    """
    smooth = turbulent(reynolds)
    return smooth if roughness <= 0 else np.maximum(smooth, rough(chord / roughness))


def laminar(reynolds: FloatArray) -> FloatArray:
    """Friction coefficient of a plate in laminar flow all over: less cannot be had.

    >>> laminar(np.array([1e6])).round(6).tolist()
    [0.001328]
    """
    return np.asarray(1.328 / np.sqrt(reynolds))
