"""What ``mastcheck sweep`` prints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from mastcheck.cli.printing import heading, items, print_cautions, safe, show, table_of, title
from mastcheck.cli.show import MISSING, Units, number, percent
from mastcheck.report.display import given, unit_label
from mastcheck.search.plan import CONDITIONS, Plan
from mastcheck.search.rows import PLACE, Row
from mastcheck.search.sweep import Judged
from mastcheck.search.variables import key_of
from mastcheck.units import Dimension

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from mastcheck.files.sweep_journal import Journal

_MOST_REASONS = 5
_UNIT = {
    Dimension.LENGTH: ("mm", 1e3),
    Dimension.MASS: ("kg", 1.0),
    Dimension.ANGLE: ("deg", 57.29577951308232),
}
_WORDS = {
    "mass_kg": ("mass", "kg"),
    "twist_deg": ("twist", "deg"),
    "side_mm": ("side", "mm"),
    "twist_deg_per_10Nm": ("twist", "deg/10 N·m"),
    "side_mm_per_100N": ("side", "mm/100 N"),
    "drag_N": ("drag", "N"),
}
_PLAIN = {
    "mass_kg": "mass",
    "twist_deg": "twist",
    "side_mm": "side deflection",
    "twist_deg_per_10Nm": "twist",
    "side_mm_per_100N": "side deflection",
    "drag_N": "drag",
}


def counted(console: Console, plan: Plan, journal: Journal) -> None:
    """The first lines, before any computing: how many designs, and what there is of them already."""
    title(console, plan.job.mast.name)
    values = " × ".join(f"{_name(v.key)} {len(v.values)}" for v in plan.variables)
    console.print(safe(f"{plan.count} designs: {values}"))
    if journal.replaced is not None:
        console.print(
            safe(
                f"Rows of another sweep (the mast file, the command or mastcheck has changed) are not"
                f" used; they are kept in {journal.replaced}."
            )
        )
    elif journal.solved:
        console.print(safe(f"Going on: {journal.solved} of them are in {journal.path}."))


def print_sweep(
    console: Console, judged: Judged, best: Mapping[int, Row], written: Sequence[Path], units: Units
) -> None:
    """The front, how the designs fared, where they are written, cautions."""
    heading(console, _front_heading(judged))
    show(console, _front_table(judged, best, units))
    console.print()
    items(console, _fared(judged, len(best)))
    heading(console, "Written")
    items(console, [str(path) for path in written])
    print_cautions(
        console,
        [
            "A row of a sweep is a whole check, but only its worst numbers: run mastcheck check on the"
            " design you choose, and read what it assumes.",
            "What exceeds no limit is only as safe as the limits and load cases of the mast file are"
            " complete.",
        ],
    )


def _front_heading(judged: Judged) -> str:
    if judged.none_holds and not judged.front.any():
        return "No design could be checked"
    if judged.none_holds:
        return "No design holds. The best of those that exceed a limit"
    return "The best designs, of those that hold"


def _best_of_what(judged: Judged) -> str:
    """What makes a design one of the best."""
    same = [v.key for v in judged.plan.variables if v.key in CONDITIONS and len(v.values) > 1]
    at = f" at the same {' and '.join(same)}" if same else ""
    *first, last = (_PLAIN.get(name, name) for name in judged.objectives)
    return (
        f"best: no other design{at} has as little {', '.join(first)} and {last}, and less of one of them"
    )


def _front_table(judged: Judged, best: Mapping[int, Row], units: Units) -> Table:
    plan = judged.plan
    heads = []
    for key in plan.keys:
        unit, _ = _UNIT[key_of(key).dimension]
        heads.append(f"{_name(key)} [{unit_label(unit, units)}]")
    for objective in judged.objectives:
        words, unit = _WORDS.get(objective, (objective, ""))
        heads.append(f"{words} [{unit_label(unit, units)}]")
    table = table_of(**dict.fromkeys([*heads, "buckling factor"], 1), verdict=0, governing=0)
    for i, row in best.items():
        cells = []
        for key, value in plan.settings(i).items():
            unit, by = _UNIT[key_of(key).dimension]
            cells.append(_given(value * by, unit, units))
        cells += [
            number(_number(row, name), _WORDS.get(name, ("", ""))[1], units)
            for name in judged.objectives
        ]
        cells.append(number(_number(row, "buckling_factor"), "", units))
        doubt = ", in doubt" if row[PLACE["doubtful"]] else ""
        used = _number(row, "governing_utilisation")
        governing = f"{row[PLACE['governing']]}: {percent(used)}" if used is not None else MISSING
        table.add_row(*cells, safe(f"{row[PLACE['verdict']]}{doubt}"), safe(governing))
    return table


def _fared(judged: Judged, shown: int) -> list[str]:
    """How many designs hold, fail and why not, in words."""
    count, of = len(judged.holds), judged.verdicts
    lines = [f"{int(judged.holds.sum())} of {count} designs exceed no limit"]
    if of.get("report"):
        lines[0] += (
            f"; of {of['report']} a part is reported, not judged, for want of a limit or a strength"
        )
    lines.append(_best_of_what(judged))
    on = int(judged.front.sum())
    if on > shown:
        lines.append(f"{shown} of the {on} best are shown, evenly; front = true marks all in the table")
    if of.get("fail"):
        lines.append(f"{of['fail']} exceed a limit or are past a buckling load")
    if judged.doubtful:
        lines.append(
            f"{judged.doubtful} are in doubt, since a self-check failed: not counted as holding"
        )
    if judged.faults:
        lines.append(
            f"{judged.faults} could not be solved for a fault of the program, not of theirs: the reason"
            " says which. Please report it. The same command tries them again."
        )
    if of.get("refused"):
        reasons = [f"{n} × {reason}" for reason, n in judged.reasons.items()]
        more = ["and other reasons, in the table"] if len(reasons) > _MOST_REASONS else []
        words = "; ".join([*reasons[:_MOST_REASONS], *more])
        lines.append(f"{of['refused']} could not be checked: {words}")
    return lines


def _name(key: str) -> str:
    return key.replace("_", " ")


def _number(row: Row, name: str) -> float | None:
    value = row[PLACE[name]]
    return value if isinstance(value, float) else None


def _given(value: float, unit: str, units: Units) -> str:
    from mastcheck.report.display import factor

    return given(value * factor(unit, units)).replace("−", "-")
