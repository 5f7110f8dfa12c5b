"""Joints for a reader at a terminal: flex budget, bolts judged, play."""

from __future__ import annotations

import math

from rich.console import Console
from rich.table import Table
from rich.text import Text

from mastcheck.checks.joint_result import JointsResult
from mastcheck.checks.result import MastResult
from mastcheck.cli.case_tables import utilisation_style, verdict_text
from mastcheck.cli.printing import heading, items, safe, show, table_of
from mastcheck.cli.show import MISSING, Units, number, percent, signed
from mastcheck.report.display import quantity, unit_label
from mastcheck.report.joint_rows import MOVEMENTS, Movement, bolt_rows, budget_cells, criterion_rows
from mastcheck.report.joints import play_words


def print_joints(console: Console, result: MastResult, units: Units) -> None:
    """Budget, worst of each criterion, bolts and play; nothing where no joint is described."""
    joints = result.joints
    if joints is None:
        return
    print_budgets(console, joints, units)
    if criterion_rows(joints):
        heading(console, "Joints: the worst case of each criterion, and whatever else failed")
        show(console, criterion_table(joints, units))
        heading(console, "Joints: each bolt, pull and force across at factored load, without preload")
        show(console, bolt_table(joints, units))
    heading(console, "Joints: play, free movement from stop to stop")
    if joints.plays:
        show(console, play_table(joints, units))
    items(console, play_words(result, units))


def print_budgets(
    console: Console, joints: JointsResult, units: Units, *, name: str = "", only: str = ""
) -> None:
    """Who moves the tip: a table each for side deflection, roll and twist, or for the named one."""
    if not joints.budgets:
        return
    of = f" of {name}" if name else ""
    for movement in MOVEMENTS:
        if only not in ("", movement.name):
            continue
        label = unit_label(movement.unit, units)
        heading(console, f"Flex budget{of}: {movement.title} [{label}] at service load, second order")
        show(console, budget_table(joints, movement, units))


def budget_table(joints: JointsResult, movement: Movement, units: Units) -> Table:
    """A row a case: the whole, then each part with its percentage."""
    table = table_of("case", whole=1)
    for part in joints.budgets[0].parts:
        table.add_column(safe(part), justify="right")
    for budget in joints.budgets:
        cells = (c.replace("−", "-") for c in budget_cells(budget, movement, units))
        table.add_row(safe(budget.case), *cells)
    return table


def criterion_table(joints: JointsResult, units: Units) -> Table:
    """The worst case and bolt of each joint and criterion, then every other row that fails."""
    table = table_of("joint", "criterion", "case", bolt=1, value=1, limit=1, used=1, verdict=0)
    last = ""
    for row in criterion_rows(joints):
        f = row.finding
        table.add_row(
            safe("" if f.joint == last else f.joint),
            str(f.criterion),
            safe(row.case),
            row.bolt,
            quantity(f.value, f.unit, units) if math.isfinite(f.value) else MISSING,
            MISSING if f.limit is None else quantity(f.limit, f.unit, units),
            Text(percent(f.utilisation), style=utilisation_style(f.utilisation)),
            verdict_text(row.check.verdict),
        )
        last = f.joint
    return table


def bolt_table(joints: JointsResult, units: Units) -> Table:
    """A row a bolt, in the case that uses its joint most; used over all cases and criteria."""
    mm, newton = unit_label("mm", units), unit_label("N", units)
    table = table_of("joint")
    for name in ("bolt", f"at x, y\n{mm}"):
        table.add_column(name, justify="right")
    table.add_column("case")
    for name in (f"pull\n{newton}", f"across\n{newton}", "used"):
        table.add_column(name, justify="right")
    table.add_column("in")
    table.add_column("verdict")
    last = ""
    for b in bolt_rows(joints):
        table.add_row(
            safe("" if b.joint == last else b.joint),
            str(b.number),
            ", ".join(signed(1e3 * v, "mm", units) for v in b.xy),
            safe(b.case),
            number(b.pull, "N", units) if b.pull > 0 else "pressed",
            number(b.across, "N", units),
            Text(percent(b.used), style=utilisation_style(b.used)),
            safe(b.used_in),
            verdict_text(b.verdict),
        )
        last = b.joint
    return table


def play_table(joints: JointsResult, units: Units) -> Table:
    """Each joint's play at its own place, and what makes it."""
    mm = unit_label("mm", units)
    table = table_of("joint", "play")
    for name in (f"side\n{mm}", f"fore-aft\n{mm}", "roll\ndeg", "pitch\ndeg", "twist\ndeg"):
        table.add_column(name, justify="right")
    table.add_column("why", overflow="fold")
    for p in joints.plays:
        table.add_row(
            safe(p.joint),
            Text("free", style="bold red") if p.free else Text("held"),
            *(number(1e3 * v, "mm", units) for v in (p.side, p.fore_aft)),
            *(number(math.degrees(v), "deg", units) for v in (p.roll, p.pitch, p.twist)),
            safe(p.why),
        )
    return table
