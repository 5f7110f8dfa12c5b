"""Tolerances for a reader at a terminal: bands, probabilities, what matters most."""

from __future__ import annotations

from rich.console import Console

from mastcheck.checks.result import MastResult
from mastcheck.cli.printing import heading, items, safe, show, table_of
from mastcheck.cli.show import Units
from mastcheck.report.tolerances import (
    CAUTIONS,
    METHOD,
    SAMPLED,
    band_columns,
    band_rows,
    chance_rows,
    headline_words,
    remarks,
    tolerance_rows,
)


def print_tolerances(console: Console, result: MastResult, units: Units) -> None:
    """Headline, what scatters, bands, limits exceeded; nothing where it was not asked for."""
    found = result.tolerances
    if found is None:
        return
    heading(console, f"Tolerances: bands that hold 95 % ({result.job.mast.name})")
    items(console, headline_words(result, units))
    heading(console, "What scatters")
    _rows(console, ["what", "limits", "taken as", "from"], 4, tolerance_rows(found, units))
    words = "Each number with its band (linear); worst: all tolerances at their limits at once"
    sampled = "; median, 2.5 % and 97.5 %: of the samples" if found.samples else ""
    heading(console, words + sampled)
    columns = band_columns(found)
    _rows(console, columns, 3, band_rows(found, units))
    if found.samples:
        heading(console, "Limits exceeded among the samples")
        rows, rest = chance_rows(found)
        _rows(console, ["limit", "load case", "used as stated", "exceeded", "probability"], 2, rows)
        if rest:
            items(console, [rest])
    console.print()
    items(console, [*remarks(found), METHOD, *([SAMPLED] if found.samples else []), *CAUTIONS])


def _rows(console: Console, columns: list[str], left: int, rows: list[list[str]]) -> None:
    """A table: ``left`` columns of words, then numbers, and words in the last."""
    table = table_of(*columns[:left], **dict.fromkeys(columns[left:], 1))
    if len(columns) > left:
        table.columns[-1].justify = "left"
    for row in rows:
        table.add_row(*(safe(cell.replace("−", "-").replace("\u200b", "")) for cell in row))
    show(console, table)
