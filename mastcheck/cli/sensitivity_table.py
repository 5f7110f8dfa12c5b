"""What a millimetre buys, for a reader at a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from mastcheck.checks.result import MastResult
from mastcheck.cli.printing import heading, safe, show, table_of
from mastcheck.cli.show import MISSING, Units
from mastcheck.report.display import factor, unit_label
from mastcheck.report.sensitivity import base_words, rows, shown_case, signed


def print_sensitivity(console: Console, result: MastResult, units: Units) -> None:
    """The rows of every change, after what they are changes of; nothing where it was not asked for."""
    if result.sensitivity is None:
        return
    heading(console, "What a millimetre buys: rates at the sizes as they are")
    console.print(safe(base_words(result, units)), soft_wrap=not console.is_terminal)
    pair = shown_case(result)
    mm = unit_label("mm", units)
    columns = {"mass\n%": 1, "side per\nload %": 1, "twist per\nload %": 1}
    if pair is not None:
        columns |= {f"side\n{mm}": 1, "side\n%": 1, "twist\n%": 1, "utilisation\npoints": 1}
    table = table_of("change", "at", **columns)
    for row in rows(result, units):
        cells = [
            _plain(row.mass_percent, 2),
            _plain(row.side_per_load_percent, 2),
            _plain(row.twist_per_load_percent, 2),
        ]
        if pair is not None:
            side = None if row.side is None else row.side * factor("mm", units)
            cells += [
                _plain(side, 3 if units == "metric" else 4),
                _plain(row.side_percent, 2),
                _plain(row.twist_percent, 2),
                _plain(row.used, 2),
            ]
        table.add_row(row.change, row.where, *cells)
    show(console, table)
    words = (
        "Drawn out straight over the step: above some 10 % the whole step reduces less, or adds more, "
        "than it says."
    )
    if pair is not None:
        words = f"The last four columns are of load case {pair[0].case.name}, second order. {words}"
    console.print(Text(words, style="dim"), soft_wrap=not console.is_terminal)


def _plain(value: float | None, places: int) -> str:
    """With a plain hyphen for minus, so that what is piped can be read as a number."""
    return MISSING if value is None else signed(value, places).replace("−", "-")
