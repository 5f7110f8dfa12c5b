"""What a bench changes in a mast file."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Calibrated:
    """Factors on the blade's stiffness, and joints (6, 6), order Fx Fy Fz Mx My Mz; None: left alone."""

    factor_EI_side: float
    factor_EI_fore_aft: float
    factor_GJ: float
    base: FloatArray | None
    tip: FloatArray | None
    source: str
