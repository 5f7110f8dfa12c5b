"""One check, whole: job to result. Pure: nothing prints, nothing is written."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.loads import TipLoad
from mastcheck.beam.solve import BeamState, FrameModel
from mastcheck.checks.cautions import cautions
from mastcheck.checks.coupling import worst_coupling
from mastcheck.checks.edges import edge_cautions, edge_checks, edges
from mastcheck.checks.fatigue import fatigue_checks, solve_fatigue
from mastcheck.checks.galvanic import pairs
from mastcheck.checks.governing import Governing, SectionFaces, governing
from mastcheck.checks.joined import (
    joined_compliance,
    joint_cautions,
    joint_checks,
    solve_joints,
    springs,
)
from mastcheck.checks.loads import tip_load
from mastcheck.checks.motion import motion, motion_cautions, motion_checks
from mastcheck.checks.quiver import over_wings
from mastcheck.checks.result import (
    CaseResult,
    LineResult,
    MastResult,
    SelfCheck,
    Stiffness,
    Tip,
    Verdict,
)
from mastcheck.checks.stability import Stability, stability
from mastcheck.checks.stations import CONVERGED, SolvedMast, solve_stations
from mastcheck.checks.verdicts import case_checks
from mastcheck.checks.water import refused, water_result, with_water_loads
from mastcheck.errors import GeometryError
from mastcheck.job import Job
from mastcheck.loadcase import Lift, LoadCase
from mastcheck.section.store import without

FloatArray = NDArray[np.float64]
Progress = Callable[[str, float], None]


def check(job: Job, *, progress: Progress | None = None, cache: bool = True) -> MastResult:
    """Check a mast under its load cases, with each of its wings where it has several.

    Args:
        job: the mast, rider, load cases and limits.
        progress: called with what is being done and the share done (0 to 1).
        cache: use sections solved before, and keep those solved now; the result is the same to the
            last bit.

    Returns: a MastResult, SI units; of several wings that of the one that governs (``checks.quiver``).

    Raises: GeometryError when a section cannot be built.
    """
    with without(when=not cache):
        try:
            solved = solve_stations(job.mast, progress)
        except GeometryError as fault:
            raise GeometryError(f"{job.file or job.mast.name}: section: {fault}") from fault
        try:
            return over_wings(job, lambda one, tell: _check(one, solved, tell), progress)
        except GeometryError as fault:
            raise GeometryError(f"{job.file or job.mast.name}: {fault}") from fault


def _check(job: Job, solved: SolvedMast, progress: Progress | None) -> MastResult:
    """The check of a job with the foil it looks at, on solved sections."""
    job = with_water_loads(job)
    if progress is not None:
        progress(f"{job.mast.name}: load cases", 0.9)
    base, tip = springs(job.joints)
    frame = FrameModel(solved.model, keep=[float(z) for z in solved.z], base_joint=base, tip_joint=tip)
    cases, residual = _solve_cases(job, solved, frame)
    coupling = worst_coupling(solved.sections)
    fatigue = solve_fatigue(job, solved, frame)
    moving = motion(job, solved)
    edge = edges(job, solved.z.tolist(), solved.sections)
    c = joined_compliance(solved.compliance, job.joints, job.mast.length)
    joints = solve_joints(job, cases)
    per_torque = float(c[5, 5])
    result = MastResult(
        job=job,
        mass=solved.model.mass(),
        z=solved.z,
        sections=solved.sections,
        tip_compliance=c,
        stiffness=Stiffness(
            side_mm_per_100N=float(c[1, 1]) * 1e5,
            fore_aft_mm_per_100N=float(c[0, 0]) * 1e5,
            twist_deg_per_10Nm=math.degrees(per_torque * 10),
            torsion_Nm_per_deg=float(math.radians(1) / per_torque),
        ),
        cases=cases,
        checks=(
            *(k for case in cases for k in case_checks(job, case, coupling)),
            *fatigue_checks(fatigue),
            *motion_checks(job, moving),
            *edge_checks(edge),
            *joint_checks(joints),
        ),
        self_checks=_self_checks(solved, c, frame, residual, cases),
        cautions=(
            *cautions(job, cases, solved.sections),
            *motion_cautions(job, moving),
            *edge_cautions(edge),
            *joint_cautions(job, joints),
            *refused(job),
        ),
        fatigue=fatigue,
        motion=moving,
        edges=edge,
        joints=joints,
        pairs=pairs(job, solved.sections),
    )
    if progress is not None:
        progress(f"{job.mast.name}: done", 1.0)
    return replace(result, water=water_result(job, result))


def _solve_cases(
    job: Job, solved: SolvedMast, frame: FrameModel
) -> tuple[tuple[CaseResult, ...], float]:
    """All cases, at service and strength level, and under each way the lift may point."""
    if not job.cases:
        return (), 0.0
    lifts = tuple(Lift)
    own = [tip_load(job, case) for case in job.cases]
    by_lift = {lift: [tip_load(job, case, lift) for case in job.cases] for lift in lifts}
    steady = stability(job, solved, frame, by_lift)
    factors = steady.factors
    strength = [case.strength_factor for case in job.cases]
    # Everything that is below its buckling load is solved together, one Newton run.
    asked: list[tuple[TipLoad, float]] = []
    slot: dict[tuple[int, str], int] = {}
    for i, case in enumerate(job.cases):
        for lift in lifts:
            if factors[lift][i] > 1:
                slot[i, lift] = len(asked)
                asked.append((by_lift[lift][i], 1.0))
        if factors[case.lift][i] > max(1.0, strength[i]):
            if strength[i] == 1.0:  # the same load once more
                slot[i, "strength"] = slot[i, case.lift]
                continue
            slot[i, "strength"] = len(asked)
            asked.append((own[i], strength[i]))
    state = frame.solve([p for p, _ in asked], [f for _, f in asked]) if asked else None
    first = frame.solve_first_order(own)
    faces = SectionFaces.of(solved.sections)
    results = tuple(
        _case_result(case, own[i], steady, first[i], i, slot, state, solved, faces)
        for i, case in enumerate(job.cases)
    )
    # A case that found no balance counts too, as its whole load: the self-check must be able to fail.
    worst = 0.0 if state is None else float(np.nan_to_num(state.residual, nan=1.0, posinf=1.0).max())
    return results, worst


def _case_result(
    case: LoadCase,
    load: TipLoad,
    steady: Stability,
    first: FloatArray,
    index: int,
    slot: dict[tuple[int, str], int],
    state: BeamState | None,
    solved: SolvedMast,
    faces: SectionFaces,
) -> CaseResult:
    def found(what: str) -> int | None:
        k = slot.get((index, what))
        return k if k is not None and state is not None and bool(state.stable[k]) else None

    service, strength = found(case.lift), found("strength")
    balanced = state is not None and all(
        k is not None and state.converged[k]
        for k in (slot.get((index, what)) for what in (case.lift, "strength"))
    )
    stable = service is not None and strength is not None and index not in steady.shaky
    amplification = {lift.value: _amplification(state, found(lift), first) for lift in Lift}
    line = strength_line = None
    if stable and state is not None and service is not None and strength is not None:
        line, strength_line = _line(state, service), _line(state, strength)
    stress = Governing() if strength_line is None else governing(solved, faces, strength_line)
    return CaseResult(
        case=case,
        axial_load=load.lift - load.force[2],
        stable=stable,
        buckling_factor=float(steady.buckling[index]),
        tip=None if line is None else _tip(np.concatenate([line.displacement[-1], line.rotation[-1]])),
        first_order_tip=_tip(first),
        amplification=amplification[case.lift.value] if stable else None,
        amplification_by_lift=amplification,
        line=line,
        strength_line=strength_line,
        max_von_mises=stress.von_mises,
        max_at_z=stress.z,
        max_at_xy=stress.xy,
        governing_material=stress.material,
        governing_station=stress.station,
        von_mises=stress.field,
        utilisation=stress.utilisation,
        utilisation_along_z=stress.along_z,
        findings=stress.findings,
        point_utilisation=stress.point_utilisation,
        buckling_mode=steady.modes[index],
        flutter_factor=steady.flutter[index],
        shaky=balanced and not stable,
    )


def _line(state: BeamState, k: int) -> LineResult:
    return LineResult(
        z=state.z,
        displacement=state.displacement[k],
        rotation=state.rotation[k],
        resultants=state.resultants[k],
    )


def _tip(v: FloatArray) -> Tip:
    """Tip movement from (ux, uy, uz, rotation x, y, z)."""
    return Tip(
        side=float(v[1]), fore_aft=float(v[0]), axial=float(v[2]),
        roll=float(v[3]), pitch=float(v[4]), twist=float(v[5]),
    )  # fmt: skip


def _amplification(state: BeamState | None, k: int | None, first: FloatArray) -> float | None:
    """Lateral tip movement over its first-order value; 1 when there is none to amplify."""
    if k is None or state is None:
        return None
    before = float(np.hypot(first[0], first[1]))
    if before < 1e-9:
        return 1.0
    return float(np.hypot(*state.displacement[k, -1, :2])) / before


def _between_stations(z: FloatArray, cases: Sequence[CaseResult]) -> float:
    """How far a parabola through the worst station and its neighbours rises above it, relative.

    An estimate of what the largest utilisation may be between the solved stations.
    """
    rise = 0.0
    for case in cases:
        u = case.utilisation_along_z
        if u is None or not 0 < (k := int(u.argmax())) < len(u) - 1:
            continue
        a, b, _ = np.polyfit(z[k - 1 : k + 2] - z[k], u[k - 1 : k + 2] - u[k], 2)
        rise = max(rise, float(-(b**2) / (4 * a)) / float(u[k]) if a < 0 else 0.0)
    return rise


def _self_checks(
    solved: SolvedMast, c: FloatArray, frame: FrameModel, residual: float, cases: Sequence[CaseResult]
) -> tuple[SelfCheck, ...]:
    fe = frame.tip_compliance()
    scale = np.sqrt(np.outer(np.diag(c), np.diag(c)))
    rows = (
        (
            "tip compliance: integral against finite elements",
            float(np.abs((c - fe) / scale).max()),
            1e-3,
        ),
        ("tip compliance: move when stations were last doubled", solved.change, CONVERGED),
        ("tip compliance: asymmetry", float(np.abs((c - c.T) / scale).max()), 1e-9),
        ("second order: force out of balance", residual, 1e-6),
        ("utilisation: possible rise between stations", _between_stations(solved.z, cases), 0.02),
    )
    return tuple(
        SelfCheck(name=name, value=v, limit=lim, verdict=Verdict.PASS if v <= lim else Verdict.FAIL)
        for name, v, lim in rows
    )
