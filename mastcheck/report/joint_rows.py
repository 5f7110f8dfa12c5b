"""What is told of joints, chosen from the results: worst findings, bolts, who moves the tip."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mastcheck.checks.joined import joint_checks
from mastcheck.checks.joint_result import NIL, FlexBudget, JointsResult
from mastcheck.checks.result import Check, MastResult, Verdict
from mastcheck.joints.finding import JointCriterion, JointFinding
from mastcheck.joints.findings import utilisations
from mastcheck.joints.loads import BoltLoads
from mastcheck.report.display import System, factor, fixed, number

EVERY_CASE = "every case"


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """A movement of the tip that the budget splits: its place in ux … rotation z, unit as printed."""

    name: str
    place: int
    unit: str
    size: float

    @property
    def title(self) -> str:
        """What its table is called."""
        return {"side": "tip side deflection", "roll": "tip roll", "twist": "tip twist"}[self.name]


MOVEMENTS = (
    Movement(name="side", place=1, unit="mm", size=1e3),
    Movement(name="roll", place=3, unit="deg", size=math.degrees(1)),
    Movement(name="twist", place=5, unit="deg", size=math.degrees(1)),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CriterionRow:
    """A finding that is told: ``case`` and ``bolt`` in words."""

    finding: JointFinding
    check: Check
    case: str
    bolt: str


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BoltRow:
    """One bolt: forces [N] in the case that uses its joint most, and its greatest use over all cases."""

    joint: str
    number: int
    xy: tuple[float, float]
    case: str
    pull: float
    across: float
    used: float | None
    used_in: str

    @property
    def verdict(self) -> Verdict:
        """Whether it holds every criterion that could be judged."""
        if self.used is None:
            return Verdict.REPORT
        return Verdict.PASS if self.used <= 1 else Verdict.FAIL


def criterion_rows(joints: JointsResult) -> list[CriterionRow]:
    """The worst case of each joint and criterion, and every other that fails; board to foil."""
    groups: dict[str, dict[JointCriterion, list[tuple[JointFinding, Check]]]] = {}
    for f, c in zip(joints.findings, joint_checks(joints), strict=True):
        groups.setdefault(f.joint, {}).setdefault(f.criterion, []).append((f, c))
    out = []
    for of_joint in groups.values():
        for criterion, pairs in of_joint.items():
            worst = max(
                pairs, key=lambda p: (-1.0 if (u := p[0].utilisation) is None else u, p[0].value)
            )
            # How tight a bolt is does not depend on the load.
            same = criterion is JointCriterion.TIGHTENING
            told = [worst]
            if not same:
                told += [p for p in pairs if p is not worst and p[1].verdict is Verdict.FAIL]
            out += [
                CriterionRow(
                    finding=f,
                    check=c,
                    case=EVERY_CASE if same else f.case,
                    bolt="all" if same else str(f.bolt),
                )
                for f, c in told
            ]
    return out


def is_joint_check(result: MastResult) -> set[tuple[str, str]]:
    """Name and case of every check of a joint."""
    return {(c.name, c.case) for c in joint_checks(result.joints)}


def brief_checks(result: MastResult) -> list[Check]:
    """The checks, those of joints by the worst case and by whatever else failed."""
    if result.joints is None:
        return list(result.checks)
    every = is_joint_check(result)
    told = {(r.check.name, r.check.case) for r in criterion_rows(result.joints)}
    return [c for c in result.checks if (k := (c.name, c.case)) not in every or k in told]


def governing_loads(joints: JointsResult) -> list[tuple[str, BoltLoads]]:
    """For each bolted joint the case that uses it most, tightening apart, and its loads there."""
    out: dict[str, tuple[float, str, BoltLoads]] = {}
    used: dict[tuple[str, str], float] = {}
    for f in joints.findings:
        if f.criterion is not JointCriterion.TIGHTENING and f.utilisation is not None:
            key = (f.joint, f.case)
            used[key] = max(used.get(key, 0.0), f.utilisation)
    for case, every in joints.bolts:
        for loads in every:
            share = used.get((loads.joint, case), 0.0)
            if loads.joint not in out or share > out[loads.joint][0]:
                out[loads.joint] = (share, case, loads)
    return [(case, loads) for _, case, loads in out.values()]


def bolt_rows(joints: JointsResult) -> list[BoltRow]:
    """Every bolt that holds, board to foil."""
    used: dict[tuple[str, int], list[tuple[float, str]]] = {}
    for case, every in joints.bolts:
        for loads in every:
            for n, u in zip(loads.number, utilisations(loads), strict=True):
                used.setdefault((loads.joint, n), []).append((float(u), case))
    out = []
    for case, loads in governing_loads(joints):
        for k, n in enumerate(loads.number):
            judged = [(u, c) for u, c in used[loads.joint, n] if not math.isnan(u)]
            most, where = max(judged, key=lambda p: p[0], default=(math.nan, ""))
            alike = len(judged) > 1 and all(math.isclose(u, most, rel_tol=1e-9) for u, _ in judged)
            out.append(
                BoltRow(
                    joint=loads.joint,
                    number=n,
                    xy=loads.group.positions[k],
                    case=case,
                    pull=float(loads.tension[k]),
                    across=float(np.hypot(*loads.shear[k])),
                    used=None if math.isnan(most) else most,
                    used_in=EVERY_CASE if alike else where,
                )
            )
    return out


def budget_cells(budget: FlexBudget, movement: Movement, units: System) -> list[str]:
    """The whole, then each part with its percentage where it has one."""
    size = movement.size * factor(movement.unit, units)
    part = budget.movement[:, movement.place]
    shares = budget.shares(movement.place)
    nil = NIL[movement.place]

    def moved(v: float) -> str:
        return "0" if abs(v) < nil else number(v * size)

    out = [moved(float(part.sum()))]
    for k, v in enumerate(part):
        share = "" if shares is None else f" ({fixed(100 * float(shares[k]), 0)} %)"
        out.append(moved(float(v)) + share)
    return out
