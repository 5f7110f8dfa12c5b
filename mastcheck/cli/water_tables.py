"""The water side for a reader at a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from mastcheck.checks.result import MastResult
from mastcheck.checks.water_result import WaterResult
from mastcheck.cli.printing import bare, heading, items, safe, show, table_of
from mastcheck.cli.show import Units, number
from mastcheck.report.display import factor, unit_label
from mastcheck.report.water_rows import (
    Value,
    band_words,
    clearance_rows,
    drag_rows,
    handling_rows,
    shown_speeds,
    tracking_rows,
    turning_rows,
    value_words,
)


def print_water(console: Console, result: MastResult, units: Units) -> None:
    """Drag at three speeds, then tracking, turning, clearance; nothing where it was not looked at."""
    found = result.water
    if found is None:
        return
    assumed = ", wing assumed" if found.wing_assumed else ""
    heading(
        console,
        f"In the water ({found.side.water.name}, {found.side.water.temperature:g} °C{assumed}): "
        "drag of the wet mast",
    )
    show(console, drag_table(result, found, units))
    console.print()
    show(console, rest_table(result, found, units))
    refused = [f"{c.name} cannot be: {c.reason}" for c in found.cases if c.case is None]
    items(console, refused)


def drag_table(result: MastResult, found: WaterResult, units: Units) -> Table:
    """A row a speed: terms, total with its band, power."""
    newton, speed_label = unit_label("N", units), unit_label("m/s", units)
    names = [f"{name}\n{newton}" for name in found.side.drag.terms]
    columns = {f"speed\n{speed_label}": 1, **dict.fromkeys(names, 1), f"total\n{newton}": 1,
               f"band\n{newton}": 1, "power\nW": 1}  # fmt: skip
    table = table_of(**columns)
    for speed in shown_speeds(result):
        *terms, total, power = drag_rows(found, speed)
        table.add_row(
            number(speed, "m/s", units),
            *(number(row[2], "N", units) for row in (*terms, total)),
            band_words(total[3], factor("N", units)),
            number(power[2], "W", units),
        )
    return table


def rest_table(result: MastResult, found: WaterResult, units: Units) -> Table:
    """Tracking, turning, clearance and the speed that carries, in words and numbers."""
    table = bare(header=False)
    table.add_column("")
    table.add_column("")
    for row in _chosen(result, found):
        table.add_row(safe(row[0]), Text(value_words(row, units)))
    return table


def _chosen(result: MastResult, found: WaterResult) -> list[Value]:
    """What a terminal shows: the rest stands in the report."""
    every = [*tracking_rows(result, found), *turning_rows(found), *clearance_rows(found)]
    left_out = ("wing below the surface", "ride height", "bank at which")
    kept = [row for row in every if not row[0].startswith(left_out) or row[3] is not None]
    carries = [row for row in handling_rows(found) if row[0].startswith("wing carries")]
    return [*kept, *carries]
