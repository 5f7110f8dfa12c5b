"""The wings a mast is ridden with, for a reader at a terminal."""

from __future__ import annotations

from rich.console import Console

from mastcheck.checks.result import MastResult, Verdict
from mastcheck.cli.case_tables import verdict_text
from mastcheck.cli.printing import heading, items, safe, show, table_of
from mastcheck.cli.show import Units
from mastcheck.report.quiver import COLUMNS, column_units, governs_words, sentence, wing_cells

_HEADS = (*COLUMNS[:6], "stability\nfactor", "divergence", "twist 1\nin water")
_VERDICTS = {"pass": Verdict.PASS, "fail": Verdict.FAIL, "not judged": Verdict.REPORT}


def print_quiver(console: Console, result: MastResult, units: Units, *, name: str = "") -> None:
    """A row a wing, and which one governs; nothing where no wing has a name.

    Args:
        console: where to.
        result: the check.
        units: units of the table.
        name: the mast, where there are several.
    """
    if not result.quiver:
        return
    heading(console, f"Wings: {name}" if name else "Wings, a whole check with each")
    heads = [f"{h}\n{u}" if u else h for h, u in zip(_HEADS, column_units(units), strict=True)]
    table = table_of(heads[0], **dict.fromkeys(heads[1:3], 1), **dict.fromkeys(heads[3:5], 0),
                     **dict.fromkeys(heads[5:], 1))  # fmt: skip
    for wing in result.quiver:
        told, area, span, verdict, check, *rest = wing_cells(wing, units)
        first = safe(told)
        first.stylize("bold" if wing.governs and len(result.quiver) > 1 else "")
        table.add_row(first, area, span, verdict_text(_VERDICTS[verdict]), safe(check), *rest)
    show(console, table)
    more = " All else here is with this wing." if len(result.quiver) > 1 and not name else ""
    items(console, [sentence(governs_words(result)) + more])
