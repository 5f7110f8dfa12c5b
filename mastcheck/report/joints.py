"""Joints in tables and words: flex budget, bolts judged, play; nothing where none is described."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from mastcheck.checks.joint_result import JointsResult
from mastcheck.checks.result import MastResult, Verdict
from mastcheck.job import Job
from mastcheck.joint import Joints, OnePiece
from mastcheck.joints.assumptions import assumptions
from mastcheck.joints.play import LostMotion, lost_motion
from mastcheck.report.cells import Cell, Table, called, letters, table, tidy
from mastcheck.report.display import (
    System,
    breakable,
    factor,
    fixed,
    number,
    quantity,
    unit_label,
    used,
)
from mastcheck.report.joint_rows import (
    MOVEMENTS,
    Movement,
    bolt_rows,
    budget_cells,
    criterion_rows,
)

BUDGET_WORDS = (
    "Who moves the tip at service load, second order: each part's movement and its share of the whole. "
    "The blade's is what the joints leave. No share is given where the whole is nil or parts work "
    "against each other. Play is in none of it."
)
CRITERIA_WORDS = (
    "The worst case and bolt of each joint and criterion, and whatever else failed. Strength at loads "
    "times the strength factor; separation and slip at service load with the least preload."
)
BOLT_WORDS = (
    "Pull and force across without preload, in the case that uses the joint most, loads times the "
    "strength factor; used: the greatest over all criteria and cases. Bolts are numbered as in the "
    "mast file; x aft and y to port from the stacking line."
)


def held_motion(result: MastResult) -> LostMotion | None:
    """What would be lost if every preload let go; None where preload holds nothing back."""
    joints = result.joints
    if joints is None or all(p.free for p in joints.plays):
        return None
    return lost_motion(
        joints.plays, result.job.mast.length, half_span=joints.lost.half_span, free_only=False
    )


def play_words(result: MastResult, units: System) -> list[str]:
    """The lost motion in sentences; what is not counted."""
    joints = result.joints
    if joints is None:
        return []
    if not joints.plays:
        return ["No play is counted: the mast file states no clearance, slack bolt or loose screw."]
    stated = result.job.foil is not None and result.job.foil.wing is not None
    span = f"half span {quantity(joints.lost.half_span * 1e3, 'mm', units)}"
    span += "" if stated else " assumed"
    out = []
    if any(p.free for p in joints.plays):
        out.append(
            f"Lost motion, from stop to stop, before anything pushes back: {_lost(joints.lost, units)} "
            f"({span}). It comes on top of every movement given here, and is in none of them."
        )
    else:
        out.append("No free play: preload holds every gap closed.")
    held = held_motion(result)
    if held is not None:
        out.append(f"If the preload that holds gaps closed lets go: {_lost(held, units)} ({span}).")
    return out


def _lost(lost: LostMotion, units: System) -> str:
    def mm(v: float) -> str:
        return quantity(v * 1e3, "mm", units)

    return (
        f"the wing's tip {mm(lost.wing_up)} up and down and {mm(lost.wing_fore_aft)} fore and aft, the "
        f"mast's tip {mm(lost.tip_side)} sideways and {mm(lost.tip_fore_aft)} fore and aft"
    )


def rule_words(joints: JointsResult) -> list[str]:
    """The source of every rule used, with the criteria that follow it."""
    by: dict[str, dict[str, None]] = {}
    for f in joints.findings:
        by.setdefault(str(f.source), {})[str(f.criterion).removesuffix(", at least")] = None
    return [f"{source}: {', '.join(criteria)}." for source, criteria in by.items()]


def ends_words(job: Job) -> str:
    """How the mast is held at its base and joined at its tip, each side as it is described.

    >>> from mastcheck.joint import Joints, OnePiece
    >>> _ends(Joints()), _ends(Joints(tip=OnePiece()))[1]
    (('clamped at its base', 'rigidly joined at its tip'), 'in one piece with the foil')
    """
    warping = job.mast.tip_warping
    base, tip = _ends(job.joints)
    return (
        f"mast {base} and {tip}, "
        f"{'free to warp there' if warping == 'free' else 'held from warping there'}"
    )


def _ends(joints: Joints) -> tuple[str, str]:
    described = joints.base is not None or bool(joints.adapters)
    base = "held at its base by the joints described" if described else "clamped at its base"
    if joints.tip is None:
        return base, "rigidly joined at its tip"
    if isinstance(joints.tip, OnePiece):
        return base, "in one piece with the foil"
    return base, "joined at its tip as described"


def joint_sections(masts: Sequence[MastResult], units: System) -> list[dict[str, Any]]:
    """What the page shows of each mast's joints; none where none is described."""
    return [
        {
            "letter": letter,
            "title": f"{letter}  {called(m)}",
            "budgets": [
                {"title": tidy(f"{v.title.capitalize()}"), "table": budget_table(m.joints, v, units)}
                for v in MOVEMENTS
                if m.joints.budgets
            ],
            "criteria": criterion_table(m.joints, units),
            "rules": [tidy(t) for t in rule_words(m.joints)],
            "bolts": bolt_table(m.joints, units),
            "plays": play_table(m.joints, units),
            "play_words": [tidy(t) for t in play_words(m, units)],
            "assumptions": [tidy(t) for t in assumptions(m.job.joints)],
        }
        for letter, m in zip(letters(masts), masts, strict=True)
        if m.joints is not None
    ]


def budget_table(joints: JointsResult, movement: Movement, units: System) -> Table:
    """A row a case, a column a part."""
    label = unit_label(movement.unit, units)
    parts = joints.budgets[0].parts
    rows: list[list[Cell]] = [
        [breakable(b.case), *budget_cells(b, movement, units)] for b in joints.budgets
    ]
    columns = ["case", f"whole {label}", *(breakable(p) for p in parts)]
    return table(columns, "l" + "r" * (len(parts) + 1), rows, (1.2, 0.8, *[1.1] * len(parts)))


def criterion_table(joints: JointsResult, units: System) -> Table | None:
    """The worst of each criterion; None where there are no bolts."""
    rows: list[list[Cell]] = []
    last = ""
    for r in criterion_rows(joints):
        f = r.finding
        rows.append(
            [
                "" if f.joint == last else breakable(f.joint),
                str(f.criterion),
                breakable(r.case),
                r.bolt,
                "–" if math.isinf(f.value) else quantity(f.value, f.unit, units),
                quantity(f.limit, f.unit, units),
                used(f.utilisation),
                verdict_cell(r.check.verdict),
                breakable(f.where),
            ]
        )
        last = f.joint
    columns = ["joint", "criterion", "case", "bolt", "value", "limit", "used", "verdict", "taken"]
    weights = (1.2, 1.7, 1.2, 0.4, 0.9, 0.9, 0.5, 0.7, 3.2)
    return table(columns, "lllrrrrll", rows, weights) if rows else None


def bolt_table(joints: JointsResult, units: System) -> Table | None:
    """A row a bolt; None where there are none."""
    mm = 1e3 * factor("mm", units)
    rows: list[list[Cell]] = [
        [
            breakable(b.joint),
            str(b.number),
            f"{number(b.xy[0] * mm)}, {number(b.xy[1] * mm)}",
            breakable(b.case),
            number(b.pull * factor("N", units)) if b.pull > 0 else "pressed",
            number(b.across * factor("N", units)),
            used(b.used),
            breakable(b.used_in),
            verdict_cell(b.verdict),
        ]
        for b in bolt_rows(joints)
    ]
    newton = unit_label("N", units)
    columns = [
        "joint", "bolt", f"at x, y {unit_label('mm', units)}", "case", f"pull {newton}",
        f"across {newton}", "used", "in", "verdict",
    ]  # fmt: skip
    weights = (1.5, 0.4, 1.2, 1.2, 0.8, 0.8, 0.5, 1.2, 0.8)
    return table(columns, "lrrlrrrll", rows, weights) if rows else None


def play_table(joints: JointsResult, units: System) -> Table | None:
    """Each joint's play at its own place; None where there is none."""
    mm = 1e3 * factor("mm", units)
    rows: list[list[Cell]] = [
        [
            breakable(p.joint),
            {"t": "free", "mood": "bad"} if p.free else "held",
            number(p.side * mm),
            number(p.fore_aft * mm),
            *(fixed(math.degrees(v), 2) for v in (p.roll, p.pitch, p.twist)),
            breakable(p.why),
        ]
        for p in joints.plays
    ]
    label = unit_label("mm", units)
    columns = ["joint", "", f"side {label}", f"fore-aft {label}", "roll °", "pitch °", "twist °", "why"]
    return table(columns, "llrrrrrl", rows, (1.1, 0.5, 0.7, 0.8, 0.6, 0.6, 0.6, 3.4)) if rows else None


def verdict_cell(verdict: Verdict) -> Cell:
    """A verdict as a coloured word."""
    return {
        "t": {Verdict.PASS: "pass", Verdict.FAIL: "fail", Verdict.REPORT: "not judged"}[verdict],
        "mood": {Verdict.PASS: "good", Verdict.FAIL: "bad", Verdict.REPORT: "open"}[verdict],
    }


def accuracy_words(masts: Sequence[MastResult]) -> str:
    """What holds of joints in the numbers, for the masts shown."""
    names = letters(masts)
    ends = [_ends(m.job.joints) for m in masts]

    def who(chosen: Sequence[bool]) -> str:
        """' of mast A and B', or nothing where it is true of all."""
        if all(chosen):
            return ""
        return " of mast " + " and ".join(n for n, c in zip(names, chosen, strict=True) if c)

    clamped = [base.startswith("clamped") for base, _ in ends]
    rigid = [tip.startswith("rigidly") for _, tip in ends]
    stated = [m.job.joints.stated for m in masts]
    out = []
    if any(stated):
        out.append(
            f"The joints{who(stated)} are in the numbers as the mast file describes them, no better "
            "than what it states, with rigid plates and without play, which is given apart; no "
            "measurement of such joints stands behind them."
        )
    if any(clamped) and any(rigid) and clamped == rigid:
        out.append(
            f"Joints{who(clamped)} are taken as rigid and the base as fully clamped: a real base plate, "
            "a socket with play or a soft board adds movement that is not in these numbers."
        )
    else:
        if any(clamped):
            out.append(
                f"The base{who(clamped)} is taken as fully clamped: a real base plate or a soft board "
                "adds movement that is not in these numbers."
            )
        if any(rigid):
            out.append(
                f"The tip joint{who(rigid)} is taken as rigid: a socket with play adds movement that is "
                "not in these numbers."
            )
    out.append(
        "Fatigue is checked only where the mast file states it, and of plain material alone. Impact "
        "damage, corrosion and welds are not checked, nor is shear buckling of thin walls."
    )
    return " ".join(out)
