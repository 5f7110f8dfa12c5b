"""What a check says of joints: plain data."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.joints.finding import JointFinding
from mastcheck.joints.loads import BoltLoads
from mastcheck.joints.play import LostMotion, Play

FloatArray = NDArray[np.float64]

NIL = (1e-7, 1e-7, 1e-7, 1e-6, 1e-6, 1e-6)
"""Movements [m, rad] below these are what arithmetic leaves."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FlexBudget:
    """Who moves the tip in one case, at service loads on the bent mast.

    ``parts`` (p,) names: the blade first, then the joints from board to foil. ``movement`` (p, 6)
    [m, rad]: ux, uy, uz and rotations about x, y, z of the loaded point by each part; they add up to
    the whole. The blade's is what the joints leave.
    """

    case: str
    parts: tuple[str, ...]
    movement: FloatArray

    def shares(self, place: int) -> FloatArray | None:
        """Shares (p,) of the whole movement at ``place`` in ux, uy, uz, rotations about x, y, z.

        None where the whole is nil, or less than half of what the parts move together: parts that work
        against each other have no useful share of what is left.
        """
        part = self.movement[:, place]
        whole = float(part.sum())
        if abs(whole) < NIL[place] or abs(whole) < float(np.abs(part).sum()) / 2:
            return None
        out: FloatArray = part / whole
        return out


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class JointsResult:
    """Joints judged: budgets of the cases that balance, findings, bolts of each case, and play.

    ``doubtful``: joints whose bolts hold more than they are given here, so that they cannot pass.
    """

    budgets: tuple[FlexBudget, ...]
    findings: tuple[JointFinding, ...]
    bolts: tuple[tuple[str, tuple[BoltLoads, ...]], ...]
    plays: tuple[Play, ...]
    lost: LostMotion
    doubtful: tuple[str, ...] = ()
