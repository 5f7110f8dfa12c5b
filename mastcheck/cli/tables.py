"""Results as tables for a reader at a terminal, or for a pipe."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from rich.console import Console
from rich.table import Table
from rich.text import Text

from mastcheck.checks.compare import case_ratios, section_near
from mastcheck.checks.motion import motion_ratios
from mastcheck.checks.result import Check, Comparison, MastResult, Ratio, Verdict
from mastcheck.cli.answer import print_answers
from mastcheck.cli.case_tables import (
    band_table,
    check_table,
    fatigue_table,
    finding_table,
    movement_table,
    say_broken,
    say_unstable,
    self_check_table,
    strength_table,
    unstable_words,
    verdict_text,
)
from mastcheck.cli.joint_tables import print_budgets, print_joints
from mastcheck.cli.motion_tables import print_motion
from mastcheck.cli.printing import bare, heading, items, print_cautions, safe, show, table_of, title
from mastcheck.cli.quiver_tables import print_quiver
from mastcheck.cli.sensitivity_table import print_sensitivity
from mastcheck.cli.show import Units, number, signed
from mastcheck.cli.text import one_line
from mastcheck.cli.tolerance_tables import print_tolerances
from mastcheck.cli.water_tables import print_water
from mastcheck.job import Job
from mastcheck.report.display import quantity, unit_label
from mastcheck.report.fatigue import unjudged_words
from mastcheck.report.joint_rows import brief_checks, is_joint_check
from mastcheck.report.joints import ends_words
from mastcheck.report.strength import several_criteria
from mastcheck.report.trade import trade_lines
from mastcheck.report.words import isotropic_materials, laminas, made_of

BAND_HEADING = (
    "Amplification of the tip's lateral movement by the way the lift points: a case's own lift governs; "
    "that of a follower is no proof of stability"
)


def print_check(console: Console, result: MastResult, units: Units) -> None:
    """One mast: who and how heavy, stiffness, load cases, verdicts, assumptions, cautions last."""
    title(console, result.job.mast.name)
    show(console, about(result, units))
    print_answers(console, [result])
    print_quiver(console, result, units)
    heading(console, "Sections")
    show(console, section_table(result, units))
    heading(console, "Stiffness at the tip, first order")
    show(console, stiffness_table(result, units))
    heading(console, "Load cases: movement of the tip at service load, second order")
    show(console, movement_table(result.cases, units))
    if result.cases:
        heading(console, BAND_HEADING)
        show(console, band_table(result.cases))
    heading(console, "Load cases: strength at factored load, stability at service load")
    show(console, strength_table(result.cases, units))
    if several_criteria(result.cases):
        heading(console, "Strength by criterion at factored load: the worst place of each")
        show(console, finding_table(result.cases, units))
    say_unstable(console, result)
    if result.fatigue is not None and result.fatigue.worst:
        heading(console, "Fatigue at service load: worst point of each material; damage 1 at most")
        show(console, fatigue_table(result.fatigue, units))
        if unjudged := unjudged_words(result.fatigue):
            items(console, [unjudged.strip()])
    print_joints(console, result, units)
    print_motion(console, result, units)
    print_water(console, result, units)
    print_sensitivity(console, result, units)
    print_tolerances(console, result, units)
    heading(console, "Limits and strength")
    show(console, check_table(_not_shown_above(result), units))
    heading(console, "Self-checks")
    show(console, self_check_table(result.self_checks))
    say_broken(console, result)
    heading(console, "Assumptions")
    items(console, assumptions(result.job, units))
    print_cautions(console, result.cautions)


def _not_shown_above(result: MastResult) -> list[Check]:
    """Checks less those that hold and stand in the tables of criteria and of joints."""
    shown = {(case, name) for name, case in is_joint_check(result)}
    if several_criteria(result.cases):
        shown |= {(c.case.name, f.name) for c in result.cases for f in c.findings}
    return [c for c in result.checks if c.verdict is Verdict.FAIL or (c.case, c.name) not in shown]


def print_comparison(console: Console, comparison: Comparison, units: Units) -> None:
    """Masts side by side with ratios to the first, the plain sentence, verdicts, cautions last."""
    masts = comparison.masts
    title(console, "Comparison")
    show(console, about_table(masts, units))
    print_answers(console, masts)
    for mast in masts:
        print_quiver(console, mast, units, name=mast.job.mast.name)
    heading(console, "Side by side (× ratio to the first)")
    show(console, ratio_table(comparison.ratios, len(masts), units))
    heading(console, "Shear centre from the stacking line, aft positive")
    show(console, shear_centre_table(masts, units))
    heading(console, "Load cases side by side: service movement, stress at factored load")
    show(console, ratio_table(case_ratios(masts), len(masts), units))
    if ratios := motion_ratios(masts):
        heading(console, "Motion side by side, clamped base")
        show(console, ratio_table(ratios, len(masts), units))
    for mast in masts:
        if mast.joints is not None:
            print_budgets(console, mast.joints, units, name=mast.job.mast.name, only="side")
    heading(console, "In plain words")
    console.print(Text(one_line(comparison.sentence), style="bold"), soft_wrap=not console.is_terminal)
    if comparison.trade is not None:
        heading(console, "For whom, and what next (rules of thumb, no approval)")
        items(console, trade_lines(comparison.trade))
    for mast in masts:
        if several_criteria(mast.cases):
            heading(console, f"What governs each case: {mast.job.mast.name}")
            show(console, strength_table(mast.cases, units))
        heading(console, f"Limits and strength: {mast.job.mast.name}")
        show(console, check_table(brief_checks(mast), units))
        for case in mast.cases:
            if not case.stable:
                console.print(
                    Text(f"{one_line(case.case.name)}: {unstable_words(case)}", style="bold red")
                )
    for mast in masts:
        print_tolerances(console, mast, units)
    heading(console, "Self-checks")
    for mast in masts:
        console.print(Text(one_line(mast.job.mast.name), style="dim"))
        show(console, self_check_table(mast.self_checks))
        say_broken(console, mast)
    heading(console, "Assumptions")
    items(console, named([(m.job.mast.name, assumptions(m.job, units)) for m in masts]))
    print_cautions(console, named([(m.job.mast.name, m.cautions) for m in masts]))


def about(result: MastResult, units: Units) -> Text:
    """Length, rider and mass on one line."""
    mast, rider = result.job.mast, result.job.rider
    return Text(
        f"length {quantity(1e3 * mast.length, 'mm', units)}   "
        f"mass {quantity(result.mass, 'kg', units)}   "
        f"rider {quantity(rider.mass, 'kg', units)} + gear {quantity(rider.gear_mass, 'kg', units, 2)}"
    )


def about_table(masts: Sequence[MastResult], units: Units) -> Table:
    """One line a mast: its letter, name, length, mass and rider."""
    table = table_of("", "mast", length=1, rider=1, verdict=0)
    for letter, mast in zip(letters_of(len(masts)), masts, strict=True):
        verdict = Verdict.FAIL if mast.failed or any(not c.stable for c in mast.cases) else None
        if verdict is None and any(c.verdict is Verdict.PASS for c in mast.checks):
            verdict = Verdict.PASS
        table.add_row(
            letter,
            safe(mast.job.mast.name),
            quantity(1e3 * mast.job.mast.length, "mm", units),
            quantity(mast.job.rider.mass, "kg", units),
            verdict_text(verdict or Verdict.REPORT),
        )
    return table


def section_table(result: MastResult, units: Units) -> Table:
    """Section properties at base, middle and tip (the solved station nearest to each)."""
    ei, mm = unit_label("N·m²", units), unit_label("mm", units)
    table = bare()
    table.add_column("")
    for name in ("z", "EI_side", "EI_fore_aft", "GJ", "shear centre"):
        table.add_column(f"{name}\n{mm if name in ('z', 'shear centre') else ei}", justify="right")
    for name, at in (("base", 0.0), ("middle", 0.5), ("tip", 1.0)):
        i = nearest(result.z, at * result.job.mast.length)
        p = result.sections[i].properties
        table.add_row(
            name,
            number(1e3 * float(result.z[i]), "mm", units),
            *(number(value, "N·m²", units, 4) for value in (p.EIxx, p.EIyy, p.GJ)),
            signed(1e3 * p.shear_centre_x, "mm", units),
        )
    table.caption = "shear centre: from the stacking line, aft positive"
    table.caption_justify = "left"
    table.caption_style = "dim"
    return table


def stiffness_table(result: MastResult, units: Units) -> Table:
    """Tip stiffness in the trade's words."""
    s = result.stiffness
    table = bare(header=False)
    table.add_column("")
    table.add_column("", justify="right")
    table.add_column("")
    for words, value, unit in (
        ("sideways", s.side_mm_per_100N, "mm per 100 N"),
        ("fore-aft", s.fore_aft_mm_per_100N, "mm per 100 N"),
        ("twist", s.twist_deg_per_10Nm, "deg per 10 N·m"),
        ("torsion", s.torsion_Nm_per_deg, "N·m per deg"),
    ):
        table.add_row(words, number(value, unit, units), unit_label(unit, units))
    return table


def shear_centre_table(masts: Sequence[MastResult], units: Units) -> Table:
    """Shear centre at base, middle and tip; a place has no useful ratio."""
    table = table_of("", **dict.fromkeys(letters_of(len(masts)), 1))
    for name, at in (("base", 0.0), ("middle", 0.5), ("tip", 1.0)):
        places = [1e3 * section_near(m, at).properties.shear_centre_x for m in masts]
        label = unit_label("mm", units)
        table.add_row(f"{name} [{label}]", *(signed(x, "mm", units) for x in places))
    return table


def ratio_table(ratios: Sequence[Ratio], masts: int, units: Units) -> Table:
    """Quantities side by side, each after the first with its ratio to the first."""
    table = table_of("")
    letters = letters_of(masts)
    for letter in letters:
        table.add_column(letter, justify="right")
        if letter != letters[0]:
            table.add_column("", justify="right", style="cyan")
    for ratio in map(_in_mm, ratios):
        label = unit_label(ratio.unit, units)
        cells = [f"{one_line(ratio.name)} [{label}]" if label else one_line(ratio.name)]
        for i, (value, times) in enumerate(zip(ratio.values, ratio.ratios, strict=True)):
            cells.append(number(value, ratio.unit, units))
            if i:
                cells.append("" if times is None else f"×{times:.2f}")
        table.add_row(*cells)
    return table


def _in_mm(ratio: Ratio) -> Ratio:
    """Lengths as the trade says them, in mm or inches."""
    if ratio.unit != "m":
        return ratio
    return replace(ratio, unit="mm", values=tuple(None if v is None else 1e3 * v for v in ratio.values))


def named(lists: Sequence[tuple[str, Sequence[str]]]) -> list[str]:
    """Lines of several masts as one list: what all share once, the rest under its mast's name.

    >>> named([("A", ["both", "one"]), ("B", ["both"])])
    ['both', 'A: one']
    """
    shared = [line for line in lists[0][1] if all(line in lines for _, lines in lists)]
    own = [f"{name}: {line}" for name, lines in lists for line in lines if line not in shared]
    return [*shared, *own]


def assumptions(job: Job, units: Units) -> list[str]:
    """What was assumed, in short: materials with sources, rider, cases, clamping, the file's gaps."""
    rider = job.rider
    lines = [made_of(job.mast)]
    lines += [f"{m.name}: {m.source}" for m in isotropic_materials(job.mast)]
    lines += [f"{ply.name}: {ply.source}" for ply in laminas(job.mast)]
    lines.append(
        f"rider {quantity(rider.mass, 'kg', units)}, board and gear "
        f"{quantity(rider.gear_mass, 'kg', units, 2)}, centre of mass "
        f"{quantity(1e3 * rider.rider_height, 'mm', units)} above the base, stance "
        f"{quantity(1e3 * rider.stance_width, 'mm', units)}"
    )
    lines += sorted({f"load cases: {case.source}" for case in job.cases})
    lines.append(ends_words(job))
    return [*lines, *job.notes]


def nearest(z: Iterable[float], at: float) -> int:
    """Index of the station nearest to ``at``.

    >>> nearest([0.0, 0.3, 0.8], 0.5)
    1
    """
    places = [float(value) for value in z]
    return min(range(len(places)), key=lambda i: abs(places[i] - at))


def letters_of(count: int) -> list[str]:
    """A, B, C … for the masts of a comparison."""
    return [chr(ord("A") + i) if i < 26 else str(i + 1) for i in range(count)]
