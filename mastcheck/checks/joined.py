"""The mast with its joints: in the solve, their share of the movement, bolts and play judged."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.joint_result import FlexBudget, JointsResult
from mastcheck.checks.result import CaseResult, Check, LineResult, Verdict
from mastcheck.job import Job
from mastcheck.joint import Joints
from mastcheck.joints.chain import (
    TIP,
    base_compliance,
    base_parts,
    carried,
    lever,
    tip_compliance_of,
    tip_parts,
)
from mastcheck.joints.finding import JointCase, wrench
from mastcheck.joints.findings import joint_findings
from mastcheck.joints.loads import bolt_loads
from mastcheck.joints.play import HALF_SPAN, lost_motion, plays

FloatArray = NDArray[np.float64]

BLADE = "blade"


def springs(joints: Joints) -> tuple[FloatArray | None, FloatArray | None]:
    """Compliance (6, 6) of the base side at the base and of the tip joint; None where rigid."""
    base, tip = base_compliance(joints), tip_compliance_of(joints.tip)
    return (base if base.any() else None), (tip if tip.any() else None)


def joined_compliance(blade: FloatArray, joints: Joints, length: float) -> FloatArray:
    """Tip compliance (6, 6) of blade and joints: the sum of each carried to the tip."""
    out: FloatArray = blade + carried(base_compliance(joints), length) + tip_compliance_of(joints.tip)
    return out


def solve_joints(job: Job, cases: Sequence[CaseResult]) -> JointsResult | None:
    """Joints under the cases that found their balance; None where the file describes none."""
    if not job.joints.stated:
        return None
    joints, length = job.joints, job.mast.length
    loads: list[JointCase] = []
    budgets: list[FlexBudget] = []
    for case in cases:
        if case.line is None or case.strength_line is None:
            continue
        base, tip = _ends(case.line)
        base_strength, tip_strength = _ends(case.strength_line)
        loads.append(
            JointCase(
                name=case.case.name,
                base=base,
                tip=tip,
                base_strength=base_strength,
                tip_strength=tip_strength,
            )
        )
        budgets.append(_budget(case.case.name, case.line, joints, length))
    found = plays(joints)
    span = job.foil.wing.span if job.foil is not None and job.foil.wing is not None else None
    return JointsResult(
        budgets=tuple(budgets),
        findings=joint_findings(joints, loads),
        bolts=tuple((case.name, bolt_loads(joints, case)) for case in loads),
        plays=found,
        lost=lost_motion(found, length, half_span=span / 2 if span else HALF_SPAN),
        # Contacts are taken to hold what the screws left beside a loose one do not: flattering them.
        doubtful=(TIP,) if getattr(joints.tip, "loose_screw", False) else (),
    )


def joint_checks(result: JointsResult | None) -> tuple[Check, ...]:
    """Each finding as a check; what has no limit, or states no strength, is reported."""
    if result is None:
        return ()
    return tuple(
        Check(
            name=f"{f.name}, bolt {f.bolt}",
            case=f.case,
            value=f.value,
            limit=f.limit,
            unit=f.unit,
            utilisation=f.utilisation,
            verdict=_verdict(f.utilisation, doubtful=f.joint.startswith(result.doubtful)),
        )
        for f in result.findings
    )


def joint_cautions(job: Job, result: JointsResult | None) -> tuple[str, ...]:
    """Free play, in words; and what is left when no joint is described."""
    if result is None:
        return ()
    out = [f"Play in the {p.joint}: {p.why}." for p in result.plays if p.free]
    lost = result.lost
    if any(p.free for p in result.plays):
        out.append(
            "Before anything pushes back, the wing's tip may move"
            f" {lost.wing_up * 1e3:.2g} mm up and down and {lost.wing_fore_aft * 1e3:.2g} mm fore and"
            f" aft, the mast's tip {lost.tip_side * 1e3:.2g} mm sideways, from stop to stop (half span"
            f" {lost.half_span * 1e3:.0f} mm). This comes on top of every movement given for"
            f" {job.mast.name}, and is in none of them."
        )
    return tuple(out)


def _verdict(used: float | None, *, doubtful: bool) -> Verdict:
    if used is None or (doubtful and used <= 1):
        return Verdict.REPORT
    return Verdict.PASS if used <= 1 else Verdict.FAIL


def _ends(line: LineResult) -> tuple[FloatArray, FloatArray]:
    """Wrenches (6,) that the mast passes to its base joint and the foil to the tip joint."""
    return wrench(line.resultants[0]), wrench(line.resultants[-1])


def _budget(case: str, line: LineResult, joints: Joints, length: float) -> FlexBudget:
    base, tip = _ends(line)
    whole = np.concatenate([line.displacement[-1], line.rotation[-1]])
    moved = {
        part.name: lever(length - part.z).T @ part.compliance @ lever(-part.z) @ base
        for part in base_parts(joints)
    }
    moved |= {part.name: part.compliance @ tip for part in tip_parts(joints)}
    blade = whole - sum(moved.values(), np.zeros(6))
    return FlexBudget(case=case, parts=(BLADE, *moved), movement=np.stack([blade, *moved.values()]))
