"""Fatigue of a mast: load states of a cycle, the worst point of each material, and its verdict.

Service loads, second order. What no stated curve judges is reported, never passed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.buckling import buckling
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.solve import BeamState, FrameModel
from mastcheck.checks.loads import tip_load
from mastcheck.checks.result import Check, Verdict
from mastcheck.checks.stations import SolvedMast
from mastcheck.job import Job
from mastcheck.loadcase import LoadCase
from mastcheck.mast import SectionRecipe
from mastcheck.material import Material
from mastcheck.section.model import SectionModel
from mastcheck.strength.fatigue import (
    DetailCurve,
    Fatigue,
    FatigueRange,
    FatigueResult,
    FatigueWorst,
    damage,
    point_ranges,
    used,
)
from mastcheck.strength.stress import by_material

FloatArray = NDArray[np.float64]

DAMAGE = "fatigue, sum of damage"
RANGE = "fatigue, stress range"


def mirrored(case: LoadCase) -> LoadCase:
    """The case with left and right changed about: the loads' image in the mast's x-z plane.

    The mast itself is not changed about: one that is not alike on both sides is solved as it is.
    """
    fx, fy, fz = case.force
    mx, my, mz = case.moment
    return replace(
        case,
        roll_offset=-case.roll_offset,
        side_force=-case.side_force,
        feet_twist=-case.feet_twist,
        force=(fx, -fy, fz),
        moment=(-mx, my, -mz),
    )


def cycle_loads(job: Job) -> list[TipLoad]:
    """Service loads of each fatigue case, each followed by its mirror image where the cycle alternates.

    Raises: KeyError when the job lacks a case.
    """
    fatigue, known = _stated(job), {case.name: case for case in job.cases}
    return [
        tip_load(job, state)
        for name, _ in fatigue.cycles
        for state in _states(known[name], alternating=fatigue.alternating)
    ]


def solve_fatigue(job: Job, solved: SolvedMast, frame: FrameModel) -> FatigueResult | None:
    """The job's fatigue, at service loads; None where it states none."""
    if job.fatigue is None:
        return None
    known = {case.name for case in job.cases}
    missing = tuple(name for name, _ in job.fatigue.cycles if name not in known)
    if missing:
        return FatigueResult(fatigue=job.fatigue, missing=missing)
    loads = cycle_loads(job)
    sound = stands(frame, loads)
    state = frame.solve(loads) if all(sound) else None
    return assess(job, solved, state, [k if ok else None for k, ok in enumerate(sound)])


def stands(frame: FrameModel, loads: Sequence[TipLoad]) -> list[bool]:
    """Whether each service load is below that at which the mast buckles.

    A lift that follows the tip is held to the factor of one that keeps its direction.
    """
    still = [replace(load, follower=False) if load.follower else load for load in loads]
    return [bool(factor > 1) for factor in buckling(frame, still).factor]


def assess(
    job: Job, solved: SolvedMast, state: BeamState | None, slots: Sequence[int | None]
) -> FatigueResult:
    """What solved load states come to.

    Args:
        job: states the fatigue.
        solved: the mast's sections.
        state: a solution that holds ``cycle_loads``; None when none was asked for.
        slots: where each of them is in ``state``; None where the mast does not stand it.
    """
    fatigue = _stated(job)
    each = 2 if fatigue.alternating else 1
    sound = [
        k is not None and (state is None or bool(state.converged[k] and state.stable[k])) for k in slots
    ]
    unstable = tuple(
        name for i, (name, _) in enumerate(fatigue.cycles) if not all(sound[each * i : each * i + each])
    )
    if state is None or unstable:
        return FatigueResult(fatigue=fatigue, unstable=unstable)
    # (states, stations, 7) resultants where the sections are.
    at = np.stack(
        [
            np.column_stack([np.interp(solved.z, state.z, r) for r in state.resultants[k].T])
            for k in slots
            if k is not None
        ]
    )
    worst: dict[str, FatigueWorst] = {}
    for s, section in enumerate(solved.sections):
        ranges = np.stack(
            [
                point_ranges(section, [np.zeros(7), *at[each * i : each * i + each, s]])
                for i in range(len(fatigue.cycles))
            ]
        )
        for found in _station(job, section, ranges, float(solved.z[s])):
            known = worst.get(found.material)
            if known is None or _size(found) > _size(known):
                worst[found.material] = found
    return FatigueResult(
        fatigue=fatigue,
        worst=tuple(sorted(worst.values(), key=lambda w: (w.damage is None, -_size(w)))),
    )


def fatigue_checks(result: FatigueResult | None) -> tuple[Check, ...]:
    """A row for each material: the sum of damage against 1, or the greatest range, not judged.

    Utilisation is by stress range (``strength.fatigue.used``), which passes 1 where the damage does.
    """
    if result is None:
        return ()
    cases = ", ".join(name for name, _ in result.fatigue.cycles)
    if result.unstable:
        return (
            Check(
                name=DAMAGE, case=", ".join(result.unstable), value=math.inf, limit=1.0, unit="",
                utilisation=None, verdict=Verdict.FAIL,
            ),
        )  # fmt: skip
    rows = []
    for found in result.worst:
        if found.damage is None:
            greatest = found.greatest
            rows.append(
                Check(
                    name=f"{RANGE}, {found.material}", case=greatest.case, value=greatest.range / 1e6,
                    limit=None, unit="MPa", utilisation=None, verdict=Verdict.REPORT,
                )
            )  # fmt: skip
        else:
            rows.append(
                Check(
                    name=f"{DAMAGE}, {found.material}", case=cases, value=found.damage, limit=1.0,
                    unit="", utilisation=found.used,
                    verdict=Verdict.PASS if found.damage <= 1 else Verdict.FAIL,
                )
            )  # fmt: skip
    return tuple(rows)


def judging_curve(fatigue: Fatigue, recipe: SectionRecipe, material: Material) -> DetailCurve | None:
    """The curve that judges a material of a section; None: it is reported only."""
    curve = fatigue.curve
    if curve is None:
        return None
    if curve.material:
        return curve if material.name == curve.material else None
    if curve.aluminium_only:
        return curve if material.galvanic_group.startswith("alumin") else None
    if recipe.material.laminate is not None:
        return curve if material.laminate is not None else None
    return curve if material.name == recipe.material.name else None


def _station(job: Job, section: SectionModel, ranges: FloatArray, z: float) -> list[FatigueWorst]:
    """The worst point of each material at a station, from the ranges (c, p) [Pa] there."""
    fatigue = _stated(job)
    cycles = np.array([count for _, count in fatigue.cycles])
    out = []
    for material, at in by_material(section):
        curve = judging_curve(fatigue, job.mast.section, material)
        here = ranges[:, at]
        total = None if curve is None else damage(curve, here, cycles)
        k = int((here.max(axis=0) if total is None else total).argmax())
        x, y = section.basis.points[at[k]]
        out.append(
            FatigueWorst(
                material=material.name,
                damage=None if total is None else float(total[k]),
                used=None if curve is None else used(curve, here[:, k], cycles),
                z=z,
                xy=(float(x), float(y)),
                ranges=tuple(
                    FatigueRange(
                        case=name,
                        cycles=count,
                        range=float(size),
                        life=None if curve is None else float(curve.cycles(size)),
                    )
                    for (name, count), size in zip(fatigue.cycles, here[:, k], strict=True)
                ),
            )
        )
    return out


def _states(case: LoadCase, *, alternating: bool) -> tuple[LoadCase, ...]:
    return (case, mirrored(case)) if alternating else (case,)


def _stated(job: Job) -> Fatigue:
    if job.fatigue is None:
        raise ValueError("the job states no fatigue")
    return job.fatigue


def _size(found: FatigueWorst) -> float:
    return found.greatest.range if found.damage is None else found.damage
