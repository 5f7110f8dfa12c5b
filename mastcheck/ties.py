"""The first of the greatest: places that are as bad as one another differ by rounding alone.

Under a symmetrical load the two faces of a mast carry the same, and which of them comes out a billionth
higher hangs on the processor. A result should name the same place on every machine.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

SAME = 1e-9
"""Relative difference up to which two values are the same."""


def greatest(values: FloatArray) -> int:
    """Index, in the flattened array, of the first value that is the greatest but for rounding.

    Raises: ValueError for no values.

    >>> greatest(np.array([1.0, 3.0, 3.0 + 1e-15, 2.0]))
    1
    """
    flat = values.ravel()
    k = int(flat.argmax())
    top = float(flat[k])
    if not math.isfinite(top):  # endless values are equal already, and nothing is near to no number
        return k
    return int((flat >= top - SAME * abs(top)).argmax())


def exceeds(one: float, other: float) -> bool:
    """Whether one is greater than the other by more than rounding."""
    return one > other + (SAME * abs(other) if math.isfinite(other) else 0.0)
