"""Stability of all load cases of a job: buckling, and flutter under a lift that follows the wing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.buckling import BucklingMode, BucklingResult, buckling
from mastcheck.beam.flutter import flutter, stands
from mastcheck.beam.kinematics import DOFS
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.modes import mass_matrix
from mastcheck.beam.solve import FrameModel
from mastcheck.checks.stations import SolvedMast
from mastcheck.job import Job
from mastcheck.loadcase import Lift
from mastcheck.motion.vibration import waterline
from mastcheck.motion.water import added_inertia, foil_inertia, wing_added_inertia

FloatArray = NDArray[np.float64]

_BEYOND = 30.0
"""Flutter is looked for up to so many times the dead lift's factor: Beck's column flutters at 8.1."""
_ENOUGH = 10.0
"""And at least to so many times the factor asked for."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Stability:
    """Load multiples at which the c cases of a job lose their stability.

    factors: by the way the lift points, (c,) each; a lift that follows the wing is held to the least
    of flutter and of the factor under a dead lift, and to the latter alone where it is not the case's
    own. Under a lift that is not the case's own it is inf wherever it is above 1. buckling (c,): static
    factors under the case's own lift (dead for a follower). modes: their shapes. flutter: for cases
    whose own lift follows the wing, else None. shaky: indices of such cases whose bent shape, at the
    load asked for, does not stand.
    """

    factors: dict[Lift, FloatArray]
    buckling: FloatArray
    modes: tuple[BucklingMode | None, ...]
    flutter: tuple[float | None, ...]
    shaky: frozenset[int]


def stability(
    job: Job, solved: SolvedMast, frame: FrameModel, by_lift: dict[Lift, list[TipLoad]]
) -> Stability:
    """Buckling of every case under each lift, and flutter of those whose own lift follows the wing."""
    # A lift that follows the wing is held to the dead lift's factor.
    own_lift = [Lift.DEAD if case.lift is Lift.FOLLOWER else case.lift for case in job.cases]
    found = {
        lift: buckling(frame, by_lift[lift], whether=[own is not lift for own in own_lift])
        for lift in (Lift.THROUGH_RIDER, Lift.DEAD)
    }
    factors = {lift: result.factor for lift, result in found.items()}
    # A static solve finds no buckling under a lift that follows the wing, and is no proof of any.
    factors[Lift.FOLLOWER] = factors[Lift.DEAD].copy()
    own: list[BucklingResult] = [found.get(c.lift, found[Lift.DEAD]) for c in job.cases]
    least: list[float | None] = [None] * len(job.cases)
    shaky: set[int] = set()
    follows = [i for i, case in enumerate(job.cases) if case.lift is Lift.FOLLOWER]
    masses = _masses(job, solved, frame) if follows else ()
    for i in follows:
        load, dead = by_lift[Lift.FOLLOWER][i], float(factors[Lift.DEAD][i])
        need = max(1.0, job.cases[i].strength_factor)
        up_to = max(_ENOUGH * need, _BEYOND * dead if np.isfinite(dead) else 0.0)
        flutters = min(flutter(frame, load, mass, up_to=up_to).factor for mass in masses)
        least[i] = flutters
        factors[Lift.FOLLOWER][i] = min(dead, flutters)
        if min(dead, flutters) > need and not all(
            stands(frame, load, share, mass) for mass in masses for share in {1.0, need}
        ):
            shaky.add(i)
    return Stability(
        factors=factors,
        buckling=np.array([float(result.factor[i]) for i, result in enumerate(own)]),
        modes=tuple(result.mode(i) for i, result in enumerate(own)),
        flutter=tuple(least),
        shaky=frozenset(shaky),
    )


def _masses(job: Job, solved: SolvedMast, frame: FrameModel) -> tuple[FloatArray, ...]:
    """Mass matrices in air and in water, with what hangs at the tip."""
    level, last = waterline(job.mast, job.wet), DOFS * (frame.n - 1)
    dry = mass_matrix(solved.model, frame, None)
    wet = mass_matrix(
        solved.model, frame, lambda z: added_inertia(job.mast, z, level, job.water_density)
    )
    if job.foil is not None:
        tip = slice(last, last + 6)
        dry[tip, tip] += foil_inertia(job.foil)
        wet[tip, tip] += foil_inertia(job.foil) + wing_added_inertia(job.foil, job.water_density)
    return dry, wet
