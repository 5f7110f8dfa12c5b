"""What a check of a joint found, and the loads it is checked under."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from mastcheck.source import Source

FloatArray = NDArray[np.float64]


class JointCriterion(StrEnum):
    """Kinds of joint finding."""

    TIGHTENING = "bolt stress when tightened"
    WORKING = "bolt stress, preload and load"
    SEPARATION = "separation factor, at least"
    SLIP = "slip factor, at least"
    TENSION = "bolt tension"
    SHEAR = "bolt shear"
    COMBINED = "bolt tension and shear together"
    BEARING = "bearing of the plate"
    STRIPPING = "thread stripping"
    PULL_OUT = "insert pull-out"
    INSERT_FORCE = "pull on the insert, preload included"


@dataclass(frozen=True, slots=True, kw_only=True)
class JointFinding:
    """The worst bolt of one criterion in one case.

    ``value`` and ``limit`` are in ``unit`` as printed ("N", "MPa", ""); ``limit`` and ``utilisation``
    are None where nothing can be judged; a utilisation above 1 fails. ``joint``: "base joint",
    "adapter 1", "tip joint". ``bolt`` counts from 1 in the order of the file, at ``xy`` [m] in mast
    axes. ``where`` says in words what was taken; ``source`` is the rule's.
    """

    joint: str
    criterion: JointCriterion
    case: str
    bolt: int
    xy: tuple[float, float]
    value: float
    limit: float | None
    unit: str
    utilisation: float | None
    where: str
    source: Source

    @property
    def name(self) -> str:
        """The joint and the criterion, as printed."""
        return f"{self.joint}: {self.criterion}"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class JointCase:
    """Forces that the mast passes on in one case: wrenches (6,) Fx Fy Fz Mx My Mz [N, N·m].

    ``base``: what the mast does to its base joint, about the base point; ``tip``: what the foil does to
    the tip joint, about the tip point. Both at service loads and at loads times the strength factor.
    See ``wrench`` for the beam's resultants.
    """

    name: str
    base: FloatArray
    tip: FloatArray
    base_strength: FloatArray
    tip_strength: FloatArray


def wrench(resultants: FloatArray) -> FloatArray:
    """Fx Fy Fz Mx My Mz (..., 6) from the beam's N, Vx, Vy, Mx, My, T, B (..., 7)."""
    out: FloatArray = np.asarray(resultants)[..., [1, 2, 0, 3, 4, 5]]
    return out
