"""The water side in words, tables and rows: drag, tracking, turning, clearance, loads from the water."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby
from typing import Any

from mastcheck.checks.result import MastResult
from mastcheck.checks.water_result import WaterResult
from mastcheck.report.cells import ABREAST, Cell, Table, abreast, letters, table, tidy
from mastcheck.report.display import System, fixed, given, number, quantity, stated, unit_label
from mastcheck.report.water_rows import (
    Value,
    clearance_rows,
    drag_rows,
    handling_rows,
    shown_speeds,
    tracking_rows,
    turning_rows,
    value_words,
)
from mastcheck.source import Source
from mastcheck.water.manoeuvres import WaterCase

MASTS_ONLY = (
    "Drag is that of the mast's wet part: wings, stabiliser and fuselage themselves are not in it. "
    "Numbers are of steady flow and a rigid blade, most of them by coefficients recalled from memory; "
    "read the band, and compare masts rather than trust one number."
)
VENTILATED = (
    "Past the leeway at which air is drawn down, or at which the strut stalls, its side force falls at "
    "once; at speed that throws a rider. Neither angle is a limit to be ridden up to."
)
NOT_ASKED = (
    "Load cases from the water are not checked: the file states no wing, discipline or manoeuvre. One "
    "is checked where it does, or with --case, such as --case carved-turn."
)


SIDE_BY_SIDE = (
    "wet side area",
    "its centre below the board",
    "wing follows after",
    "swing inertia about the board, in air",
)
"""Rows that a comparison of several masts shows with its other ratios already."""


def water_words(m: MastResult, units: System) -> str:
    """The water, the ride height, the wing, and what of them is assumed."""
    w = _of(m)
    water = w.side.water
    slow, fast = (stated(v, "m/s", units) for v in m.job.speeds)
    c = m.job.conditions
    wing = (
        f"wing of {quantity(w.wing_area, 'm²', units)} and "
        f"{quantity(w.wing_span * 1e3, 'mm', units)} span"
        f"{' (assumed: the file states none)' if w.wing_assumed else ''}"
    )
    return (
        f"{water.name[:1].upper()}{water.name[1:]} at {given(water.temperature)} °C, "
        f"{quantity(water.density, 'kg/m³', units, 4)}, kinematic viscosity "
        f"{number(water.viscosity * 1e6)}·10⁻⁶ m²/s; ride height "
        f"{quantity(w.side.level * 1e3, 'mm', units)}, speeds {slow} to {fast}, turns at "
        f"{stated(c.turn_speed, 'm/s', units)} of {stated(c.turn_radius, 'm', units)} radius, "
        f"waves {stated(c.wave_height * 1e3, 'mm', units)}, board "
        f"{stated(c.board_width * 1e3, 'mm', units)} wide, "
        f"{'smooth blade' if not c.roughness else f'roughness {given(c.roughness * 1e6)} µm'}; {wing}."
    )


def case_words(case: WaterCase, units: System) -> str:
    """The figures of a load case that a reader checks it by."""
    words = []
    for name, value, unit in case.figures:
        # Angles are zero but for rounding where a turn needs no side force.
        shown = 0.0 if abs(value) < 1e-9 else value
        words.append(f"{name} {quantity(shown, unit, units)}")
    return ", ".join(words)


def judged_words(case: WaterCase, w: WaterResult) -> str:
    """Whether the mast was checked under the case."""
    if case.case is None:
        return "refused"
    return "checked" if case.name in w.loaded else "not asked"


def cases_shown(w: WaterResult) -> bool:
    """Whether the load cases are worth showing: stated conditions, or asked for."""
    return bool(w.loaded) or not w.wing_assumed


def shared(lists: Sequence[tuple[str, Sequence[str]]]) -> list[str]:
    """Lines of several masts, each once; marked where they are not of all.

    >>> shared([("A", ["both", "one"]), ("B", ["both"])])
    ['both', 'one (A)']
    """
    owners: dict[str, list[str]] = {}
    for name, lines in lists:
        for line in dict.fromkeys(lines):
            owners.setdefault(line, []).append(name)
    every = len(lists)
    return [t if len(w) == every else f"{t} ({', '.join(w)})" for t, w in owners.items()]


def water_section(masts: Sequence[MastResult], units: System) -> dict[str, Any] | None:
    """The report's section; None where the water side was not looked at."""
    looked = [(n, m) for n, m in zip(letters(masts), masts, strict=True) if m.water is not None]
    if not looked:
        return None
    names, found = [n for n, _ in looked], [m for _, m in looked]
    notes = [(n, _of(m).side.notes) for n, m in looked]
    told = [(n, m) for n, m in looked if cases_shown(_of(m))]
    silent = [n for n, m in looked if not cases_shown(_of(m))]
    return {
        "basis": [tidy(t) for t in shared([(n, [water_words(m, units)]) for n, m in looked])],
        "words": [tidy(MASTS_ONLY), tidy(VENTILATED)],
        "drag": drag_table(names[: 1 + ABREAST], found[: 1 + ABREAST], units),
        "rest": rest_table(names[: 1 + ABREAST], found[: 1 + ABREAST], units),
        "more": [
            made([names[i] for i in shown], [found[i] for i in shown], units)
            for shown in abreast(len(found))[1:]
            for made in (drag_table, rest_table)
        ],
        "cases": [
            {
                "letter": n,
                "title": f"Mast {n}: loads from the water",
                "table": case_table(_of(m), units),
                "assumed": [tidy(t) for t in _assumed(_of(m))],
            }
            for n, m in told
        ],
        "silent": tidy(NOT_ASKED + (f" ({', '.join(silent)})" if told else "")) if silent else "",
        "notes": [tidy(t) for t in shared(notes)],
    }


def drag_table(names: Sequence[str], masts: Sequence[MastResult], units: System) -> Table:
    """Terms of the drag: of one mast over its speeds, of several side by side at each one's fastest."""
    if len(masts) == 1:
        m, w = masts[0], _of(masts[0])
        heads = [stated(v, "m/s", units) for v in shown_speeds(m)]
        columns = [drag_rows(w, v) for v in shown_speeds(m)]
        label = ["drag", "unit", *heads]
    else:
        columns = [drag_rows(_of(m), m.job.speeds[1]) for m in masts]
        heads = [f"{n} at {stated(m.job.speeds[1], 'm/s', units)}"
                 for n, m in zip(names, masts, strict=True)]  # fmt: skip
        label = ["drag", "unit", *heads, *(f"{n} / {names[0]}" for n in names[1:])]
    rows = _side_by_side(columns, units, ratios=len(masts) > 1)
    return table(label, "ll" + "r" * (len(label) - 2), rows, (1.4, 0.5, *[1.6] * (len(label) - 2)))


def rest_table(names: Sequence[str], masts: Sequence[MastResult], units: System) -> Table:
    """Tracking, turning, clearance and handling; ratios where there are several."""
    groups = [
        [*tracking_rows(m, w), *turning_rows(w), *clearance_rows(w), *handling_rows(w)]
        for m in masts
        for w in (_of(m),)
    ]
    if len(masts) > 1:
        # Masts with and without a foil, or at other ride heights, have other rows: all of them stand.
        order = list(dict.fromkeys(row[0] for rows in groups for row in rows))
        kinds = {row[0]: row[1] for rows in groups for row in rows}
        order = [name for name in order if name not in SIDE_BY_SIDE]
        groups = [
            [({r[0]: r for r in rows}).get(name, (name, kinds[name], None, None)) for name in order]
            for rows in groups
        ]
    ratios = [f"{n} / {names[0]}" for n in names[1:]]
    label = ["tracking, turning, clearance, handling", "unit",
             *(names if len(names) > 1 else [""]), *ratios]  # fmt: skip
    weights = (3.4, 0.6, *[1.5] * len(names), *[0.6] * len(ratios))
    rows = _side_by_side(groups, units, ratios=len(masts) > 1)
    return table(label, "ll" + "r" * (len(label) - 2), rows, weights)


def case_table(w: WaterResult, units: System) -> Table:
    """Load cases from the water: refused ones with the reason."""
    rows: list[list[Cell]] = [
        [case.name, judged_words(case, w),
         tidy(f"Refused: {case.reason}." if case.case is None else f"{case_words(case, units)}.")]
        for case in w.cases
    ]  # fmt: skip
    return table(["load case", "", "by"], "lll", rows, (1.1, 0.8, 6.0))


def _side_by_side(
    columns: Sequence[Sequence[Value]], units: System, *, ratios: bool
) -> list[list[Cell]]:
    rows: list[list[Cell]] = []
    for values in zip(*columns, strict=True):
        name, kind, first, _ = values[0]
        row: list[Cell] = [tidy(name), "deg" if kind == "deg" else unit_label(kind, units)]
        row += [value_words(v, units, unit=False) for v in values]
        if ratios:
            row += [fixed(_ratio(v[2], first), 2) for v in values[1:]]
        rows.append(row)
    return rows


def _ratio(value: float | None, first: float | None) -> float | None:
    if value is None or first is None or not first or math.isinf(value) or math.isinf(first):
        return None
    return value / first


def _assumed(w: WaterResult) -> list[str]:
    return list(dict.fromkeys(t for c in w.cases if c.case is not None for t in c.assumptions))


def water_sources(masts: Sequence[MastResult]) -> list[tuple[str, Source]]:
    """What each number of the water side rests on; what shares a source stands together."""
    basis = dict.fromkeys(
        (what, source) for m in masts if m.water is not None for what, source in m.water.side.basis
    )
    return [
        (", ".join(what for what, _ in group), source)
        for source, pairs in groupby(basis, key=lambda b: b[1])
        for group in (list(pairs),)
    ]


def _of(m: MastResult) -> WaterResult:
    if m.water is None:  # pragma: no cover - callers have looked
        raise ValueError("the water side of this mast was not looked at")
    return m.water
