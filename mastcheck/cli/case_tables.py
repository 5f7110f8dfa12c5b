"""Load cases, limits and self-checks as tables for a reader at a terminal."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from mastcheck.checks.result import CaseResult, Check, MastResult, SelfCheck, Verdict
from mastcheck.cli.printing import safe, table_of
from mastcheck.cli.show import MISSING, Units, number, percent, signed
from mastcheck.cli.text import one_line
from mastcheck.loadcase import Lift
from mastcheck.report.amplification import BAND, lift_name, spread
from mastcheck.report.buckling import mode_words
from mastcheck.report.display import quantity, unit_label
from mastcheck.report.strength import governing_finding, several_criteria, short_name, what_and_where
from mastcheck.strength.fatigue import FatigueResult

NOT_JUDGED = "not judged"
_VERDICT_WORDS = {Verdict.PASS: ("pass", "green"), Verdict.FAIL: ("FAIL", "bold red")}


def movement_table(cases: Sequence[CaseResult], units: Units) -> Table:
    """Tip deflections and rotations of each case, and how much the second order adds."""
    mm = unit_label("mm", units)
    table = table_of(
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
            table.add_row(safe(case.case.name), Text("unstable", style="bold red"))
            continue
        tip = case.tip
        table.add_row(
            safe(case.case.name),
            *(signed(1e3 * v, "mm", units) for v in (tip.side, tip.fore_aft)),
            *(signed(math.degrees(v), "", units) for v in (tip.roll, tip.pitch, tip.twist)),
            MISSING if case.amplification is None else f"×{case.amplification:.2f}",
        )
    return table


def band_table(cases: Sequence[CaseResult]) -> Table:
    """Amplification under each way the lift may point, the case's own first: that one governs."""
    table = table_of("case", "its lift", governs=1, **{lift_name(way): 1 for way in BAND}, band=1)
    for case in cases:
        own = None if not case.stable else case.amplification
        table.add_row(
            safe(case.case.name),
            lift_name(case.case.lift),
            Text("unstable", style="bold red") if own is None else Text(f"×{own:.2f}", style="bold"),
            *(_amplified(case, way) for way in BAND),
            spread(case),
        )
    return table


def _amplified(case: CaseResult, way: Lift) -> str:
    if way not in case.amplification_by_lift:
        return MISSING
    value = case.amplification_by_lift[way]
    return "unstable" if value is None else f"×{value:.2f}"


def fatigue_table(result: FatigueResult, units: Units) -> Table:
    """Ranges, cycles and damage at the worst point of each material."""
    mm, mpa = unit_label("mm", units), unit_label("MPa", units)
    columns = {
        f"at z\n{mm}": 1,
        f"range\n{mpa}": 1,
        "cycles": 1,
        "cycles to\nfailure": 1,
        "damage": 1,
        "used": 1,
    }
    table = table_of("material", "case", **columns)
    for worst in result.worst:
        for k, part in enumerate(worst.ranges):
            first = k == 0
            table.add_row(
                safe(worst.material if first else ""),
                safe(part.case),
                number(1e3 * worst.z, "mm", units) if first else "",
                number(part.range / 1e6, "MPa", units),
                f"{part.cycles:.3g}",
                MISSING if part.life is None else f"{part.life:.3g}",
                "" if not first else NOT_JUDGED if worst.damage is None else f"{worst.damage:.3g}",
                Text(percent(worst.used) if first else "", style=utilisation_style(worst.used)),
            )
    return table


def strength_table(cases: Sequence[CaseResult], units: Units) -> Table:
    """What governs each case at factored load: its value, where it is, and the buckling factor.

    A case looked at by several criteria names the governing one; ``finding_table`` has them all.
    """
    mm, mpa = unit_label("mm", units), unit_label("MPa", units)
    several = several_criteria(cases)
    columns = {
        "governs" if several else f"stress\n{mpa}": 0 if several else 1,
        f"at z\n{mm}": 1,
        f"at x, y\n{mm}": 1,
        "utilisation": 1,
        "buckles at\n× service": 1,
        "by": 0,
    }
    follows = any(case.flutter_factor is not None for case in cases)
    columns |= {"flutters at\n× service": 1} if follows else {}
    table = table_of("case", **columns)
    for case in cases:
        found = governing_finding(case)
        z = case.max_at_z if found is None else found.z
        xy = case.max_at_xy if found is None else found.xy
        stress = case.max_von_mises
        if several and found is not None:
            value = f"{short_name(found.criterion)} {quantity(found.value, found.unit, units)}"
        else:
            value = MISSING if stress is None else number(stress / 1e6, "MPa", units)
        used = percent(case.utilisation) if case.utilisation is not None else NOT_JUDGED
        table.add_row(
            safe(case.case.name),
            safe(value),
            MISSING if z is None else number(1e3 * z, "mm", units),
            MISSING if xy is None else ", ".join(signed(1e3 * v, "mm", units) for v in xy),
            Text(used if stress is not None else MISSING, style=utilisation_style(case.utilisation)),
            _times(case.buckling_factor, "never"),
            mode_words(case),
            *([_times(case.flutter_factor, "none found")] if follows else []),
        )
    return table


def _times(factor: float | None, endless: str) -> str:
    """A load multiple; missing where it does not apply."""
    if factor is None:
        return MISSING
    return endless if math.isinf(factor) else f"{factor:.2f}"


def finding_table(cases: Sequence[CaseResult], units: Units) -> Table:
    """The worst place by each criterion in each case, at factored load."""
    mm = unit_label("mm", units)
    table = table_of("case", "criterion", "where", value=1, limit=1, used=1, **{f"at z\n{mm}": 1})
    for case in cases:
        for k, found in enumerate(case.findings):
            used = percent(found.utilisation) if found.utilisation is not None else NOT_JUDGED
            table.add_row(
                safe(case.case.name if k == 0 else ""),
                safe(short_name(found.criterion)),
                safe(what_and_where(found)),
                quantity(found.value, found.unit, units),
                MISSING if found.limit is None else quantity(found.limit, found.unit, units),
                Text(used, style=utilisation_style(found.utilisation)),
                number(1e3 * found.z, "mm", units),
            )
    return table


def unstable_words(case: CaseResult) -> str:
    """What is said of a case past its buckling load."""
    factor = case.case.strength_factor
    if case.stability_factor > max(1.0, factor):
        found = "the balanced shape does not stand" if case.shaky else "no balanced shape was found"
        text = f"UNSTABLE: {found} at up to {max(1.0, factor):.2f} times the service load"
        if math.isfinite(case.stability_factor):
            text += (
                f", below where it {case.gives_way} by linear theory, {case.stability_factor:.2f} times"
            )
        return text
    return (
        f"UNSTABLE: {case.gives_way} at {case.stability_factor:.2f} times the service load"
        f" ({factor:.2f} times is asked for)"
    )


def say_unstable(console: Console, mast: MastResult) -> None:
    """A line for each case past its buckling load."""
    for case in mast.cases:
        if not case.stable:
            console.print(Text(f"{one_line(case.case.name)}: {unstable_words(case)}", style="bold red"))


def say_broken(console: Console, mast: MastResult) -> None:
    """A line when the tool's checks of itself do not hold."""
    if any(c.verdict is not Verdict.PASS for c in mast.self_checks):
        words = "A self-check failed: do not rely on the numbers of this mast."
        console.print(Text(words, style="bold red"))


def check_table(checks: Sequence[Check], units: Units) -> Table | Text:
    """Every judged or reported value with its verdict."""
    if not checks:
        return Text("none")
    table = table_of("check", "case", value=1, limit=1, utilisation=1, verdict=0)
    for check in checks:
        table.add_row(
            safe(check.name),
            safe(check.case),
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
    table = table_of("check", difference=1, limit=1, verdict=0)
    for check in checks:
        table.add_row(
            safe(check.name), f"{check.value:.2g}", f"{check.limit:.2g}", verdict_text(check.verdict)
        )
    return table


def verdict_text(verdict: Verdict) -> Text:
    """A verdict as a word, coloured on a terminal; a value without a limit is 'not judged'."""
    words, style = _VERDICT_WORDS.get(verdict, (NOT_JUDGED, "dim"))
    return Text(words, style=style)


def utilisation_style(value: float | None) -> str:
    """Red past one."""
    return "bold red" if value is not None and value > 1 else ""
