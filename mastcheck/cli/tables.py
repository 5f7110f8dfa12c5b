"""Results as tables for a reader at a terminal, or for a pipe."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from mastcheck.checks.compare import case_ratios, section_near
from mastcheck.checks.result import CaseResult, Check, Comparison, MastResult, Ratio, SelfCheck, Verdict
from mastcheck.cli.show import MISSING, Units, number, percent, signed
from mastcheck.cli.text import one_line
from mastcheck.job import Job
from mastcheck.report.display import quantity, unit_label

NOT_JUDGED = "not judged"
CALCULATION_AID = (
    "A calculation aid, not approval: a qualified structural review, local rules and the makers' "
    "instructions come first. A mast that breaks can hurt people."
)
_VERDICT_WORDS = {Verdict.PASS: ("pass", "green"), Verdict.FAIL: ("FAIL", "bold red")}


def print_check(console: Console, result: MastResult, units: Units) -> None:
    """One mast: who and how heavy, stiffness, load cases, verdicts, assumptions, cautions last."""
    _title(console, result.job.mast.name)
    _show(console, about(result, units))
    _heading(console, "Sections")
    _show(console, section_table(result, units))
    _heading(console, "Stiffness at the tip, first order")
    _show(console, stiffness_table(result, units))
    _heading(console, "Load cases: movement of the tip at service load, second order")
    _show(console, movement_table(result.cases, units))
    _heading(console, "Load cases: strength at factored load, stability at service load")
    _show(console, strength_table(result.cases, units))
    _say_unstable(console, result)
    _heading(console, "Limits and strength")
    _show(console, check_table(result.checks, units))
    _heading(console, "Self-checks")
    _show(console, self_check_table(result.self_checks))
    _heading(console, "Assumptions")
    _items(console, assumptions(result.job, units))
    _cautions(console, result.cautions)


def print_comparison(console: Console, comparison: Comparison, units: Units) -> None:
    """Masts side by side with ratios to the first, the plain sentence, verdicts, cautions last."""
    masts = comparison.masts
    _title(console, "Comparison")
    _show(console, about_table(masts, units))
    _heading(console, "Side by side (× ratio to the first)")
    _show(console, ratio_table(comparison.ratios, len(masts), units))
    _heading(console, "Shear centre from the stacking line, aft positive")
    _show(console, shear_centre_table(masts, units))
    _heading(console, "Load cases side by side: service movement, stress at factored load")
    _show(console, ratio_table(case_ratios(masts), len(masts), units))
    _heading(console, "In plain words")
    console.print(Text(one_line(comparison.sentence), style="bold"), soft_wrap=not console.is_terminal)
    for mast in masts:
        _heading(console, f"Limits and strength: {mast.job.mast.name}")
        _show(console, check_table(mast.checks, units))
        for case in mast.cases:
            if not case.stable:
                console.print(
                    Text(f"{one_line(case.case.name)}: {unstable_words(case)}", style="bold red")
                )
    _heading(console, "Self-checks")
    for mast in masts:
        console.print(Text(one_line(mast.job.mast.name), style="dim"))
        _show(console, self_check_table(mast.self_checks))
    _heading(console, "Assumptions")
    _items(console, named([(m.job.mast.name, assumptions(m.job, units)) for m in masts]))
    _cautions(console, named([(m.job.mast.name, m.cautions) for m in masts]))


def print_profiles(console: Console, shipped: Iterable[tuple[Path, str, str]]) -> None:
    """The shipped masts: path, name, and what the file says of itself."""
    table = _table("file", "mast", "note")
    here = Path.cwd()
    for path, name, note in shipped:
        shown = path.relative_to(here) if path.is_relative_to(here) else path
        table.add_row(_text(str(shown)), _text(name), _text(note))
    _show(console, table)


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
    table = _table("", "mast", length=1, rider=1, verdict=0)
    for letter, mast in zip(_letters(len(masts)), masts, strict=True):
        verdict = Verdict.FAIL if mast.failed or any(not c.stable for c in mast.cases) else None
        if verdict is None and any(c.verdict is Verdict.PASS for c in mast.checks):
            verdict = Verdict.PASS
        table.add_row(
            letter,
            _text(mast.job.mast.name),
            quantity(1e3 * mast.job.mast.length, "mm", units),
            quantity(mast.job.rider.mass, "kg", units),
            verdict_text(verdict or Verdict.REPORT),
        )
    return table


def section_table(result: MastResult, units: Units) -> Table:
    """Section properties at base, middle and tip (the solved station nearest to each)."""
    ei, mm = unit_label("N·m²", units), unit_label("mm", units)
    table = _bare()
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
    table = _bare(header=False)
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


def movement_table(cases: Sequence[CaseResult], units: Units) -> Table:
    """Tip deflections and rotations of each case, and how much the second order adds."""
    mm = unit_label("mm", units)
    table = _table(
        "case",
        **{
            f"side\n{mm}": 1,
            f"fore-aft\n{mm}": 1,
            "roll\ndeg": 1,
            "pitch\ndeg": 1,
            "twist\ndeg": 1,
            "amplified": 1,
        },
    )
    for case in cases:
        if case.tip is None:
            table.add_row(_text(case.case.name), Text("unstable", style="bold red"))
            continue
        tip = case.tip
        table.add_row(
            _text(case.case.name),
            *(signed(1e3 * v, "mm", units) for v in (tip.side, tip.fore_aft)),
            *(signed(math.degrees(v), "", units) for v in (tip.roll, tip.pitch, tip.twist)),
            MISSING if case.amplification is None else f"×{case.amplification:.2f}",
        )
    return table


def strength_table(cases: Sequence[CaseResult], units: Units) -> Table:
    """Largest stress of each case at factored load, where it is, and the buckling factor."""
    mm, mpa = unit_label("mm", units), unit_label("MPa", units)
    columns = {
        f"stress\n{mpa}": 1,
        f"at z\n{mm}": 1,
        f"at x, y\n{mm}": 1,
        "utilisation": 1,
        "buckles at\n× service": 1,
    }
    table = _table("case", **columns)
    for case in cases:
        known = case.max_von_mises is not None
        used = percent(case.utilisation) if case.utilisation is not None else NOT_JUDGED
        xy = case.max_at_xy
        factor = case.buckling_factor
        table.add_row(
            _text(case.case.name),
            number(case.max_von_mises / 1e6, "MPa", units)
            if case.max_von_mises is not None
            else MISSING,
            MISSING if case.max_at_z is None else number(1e3 * case.max_at_z, "mm", units),
            MISSING if xy is None else ", ".join(signed(1e3 * v, "mm", units) for v in xy),
            Text(used if known else MISSING, style=_utilisation_style(case.utilisation)),
            "never" if math.isinf(factor) else f"{factor:.2f}",
        )
    return table


def unstable_words(case: CaseResult) -> str:
    """What is said of a case past its buckling load."""
    factor = case.case.strength_factor
    if case.buckling_factor > max(1.0, factor):
        return (
            f"UNSTABLE: no balanced shape was found at {factor:.2f} times the service load, just below "
            f"buckling at {case.buckling_factor:.2f} times"
        )
    return (
        f"UNSTABLE: buckles at {case.buckling_factor:.2f} times the service load"
        f" ({factor:.2f} times is asked for)"
    )


def check_table(checks: Sequence[Check], units: Units) -> Table | Text:
    """Every judged or reported value with its verdict."""
    if not checks:
        return Text("none")
    table = _table("check", "case", value=1, limit=1, utilisation=1, verdict=0)
    for check in checks:
        table.add_row(
            _text(check.name),
            _text(check.case),
            quantity(check.value, check.unit, units) if math.isfinite(check.value) else MISSING,
            MISSING if check.limit is None else quantity(check.limit, check.unit, units),
            percent(check.utilisation),
            verdict_text(check.verdict),
        )
    return table


def self_check_table(checks: Sequence[SelfCheck]) -> Table | Text:
    """The tool's checks of itself."""
    if not checks:
        return Text("none")
    table = _table("check", difference=1, limit=1, verdict=0)
    for check in checks:
        table.add_row(
            _text(check.name), f"{check.value:.2g}", f"{check.limit:.2g}", verdict_text(check.verdict)
        )
    return table


def shear_centre_table(masts: Sequence[MastResult], units: Units) -> Table:
    """Shear centre at base, middle and tip; a place has no useful ratio."""
    table = _table("", **dict.fromkeys(_letters(len(masts)), 1))
    for name, at in (("base", 0.0), ("middle", 0.5), ("tip", 1.0)):
        places = [1e3 * section_near(m, at).properties.shear_centre_x for m in masts]
        label = unit_label("mm", units)
        table.add_row(f"{name} [{label}]", *(signed(x, "mm", units) for x in places))
    return table


def ratio_table(ratios: Sequence[Ratio], masts: int, units: Units) -> Table:
    """Quantities side by side, each after the first with its ratio to the first."""
    table = _table("")
    letters = _letters(masts)
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


def verdict_text(verdict: Verdict) -> Text:
    """A verdict as a word, coloured on a terminal; a value without a limit is 'not judged'."""
    words, style = _VERDICT_WORDS.get(verdict, (NOT_JUDGED, "dim"))
    return Text(words, style=style)


def assumptions(job: Job, units: Units) -> list[str]:
    """What was assumed, in short: materials with sources, rider, cases, clamping, the file's gaps."""
    rider, section = job.rider, job.mast.section
    materials = [m for m in (section.material, section.core) if m is not None]
    lines = [f"{m.name}: {m.source}" for m in materials]
    lines.append(
        f"rider {quantity(rider.mass, 'kg', units)}, board and gear "
        f"{quantity(rider.gear_mass, 'kg', units, 2)}, centre of mass "
        f"{quantity(1e3 * rider.rider_height, 'mm', units)} above the base, stance "
        f"{quantity(1e3 * rider.stance_width, 'mm', units)}"
    )
    lines += sorted({f"load cases: {case.source}" for case in job.cases})
    lines.append(
        "mast clamped at its base and rigidly joined at its tip, "
        + ("free to warp there" if job.mast.tip_warping == "free" else "held from warping there")
    )
    return [*lines, *job.notes]


def nearest(z: Iterable[float], at: float) -> int:
    """Index of the station nearest to ``at``.

    >>> nearest([0.0, 0.3, 0.8], 0.5)
    1
    """
    places = [float(value) for value in z]
    return min(range(len(places)), key=lambda i: abs(places[i] - at))


def _letters(count: int) -> list[str]:
    """A, B, C … for the masts of a comparison."""
    return [chr(ord("A") + i) if i < 26 else str(i + 1) for i in range(count)]


def _text(words: str) -> Text:
    """Text from a file: no markup read, no control characters let through."""
    return Text(one_line(words))


def _utilisation_style(value: float | None) -> str:
    """Red past one."""
    return "bold red" if value is not None and value > 1 else ""


def _bare(*, header: bool = True) -> Table:
    """A table without lines, so that nothing depends on the width or on line-drawing letters."""
    return Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="dim", show_header=header)


def _show(console: Console, content: Table | Text) -> None:
    """Print a table; in a pipe without the blanks that fill its last column."""
    if console.is_terminal:
        console.print(content)
        return
    with console.capture() as caught:
        console.print(content)
    for line in caught.get().splitlines():
        console.print(Text(line.rstrip()), soft_wrap=True)


def _table(*left: str, **columns: int) -> Table:
    """A table of ``left`` columns of words, then named ones (1: of numbers)."""
    table = _bare()
    for name in left:
        table.add_column(name, overflow="fold")
    for name, is_number in columns.items():
        table.add_column(name, justify="right" if is_number else "left")
    return table


def _say_unstable(console: Console, mast: MastResult) -> None:
    """A line for each case past its buckling load."""
    for case in mast.cases:
        if not case.stable:
            console.print(Text(f"{one_line(case.case.name)}: {unstable_words(case)}", style="bold red"))


def _title(console: Console, words: str) -> None:
    """The first line."""
    console.print(Text(one_line(words), style="bold"))


def _heading(console: Console, words: str) -> None:
    """A heading with air above it."""
    console.print()
    console.print(Text(one_line(words), style="bold cyan"))


def _items(console: Console, lines: Iterable[str]) -> None:
    """A list; folded with a hanging indent on a terminal, one line each in a pipe."""
    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_column()
    grid.add_column(overflow="fold")
    for line in lines:
        if console.is_terminal:
            grid.add_row("·", _text(line))
        else:
            console.print(Text(f"- {one_line(line)}"), soft_wrap=True)
    if console.is_terminal:
        console.print(grid)


def _cautions(console: Console, cautions: Iterable[str]) -> None:
    """Cautions come last, where the eye rests when the command is done."""
    console.print()
    console.print(Text("CAUTIONS", style="bold yellow"))
    said = list(cautions)
    if not any("approval" in caution for caution in said):
        said.append(CALCULATION_AID)
    _items(console, said)
