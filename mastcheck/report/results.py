"""Tables of results: ratios, stiffness, section properties, load cases, limits, self-checks."""

from __future__ import annotations

import math
from collections.abc import Sequence

from mastcheck.checks.result import CaseResult, Comparison, MastResult, Ratio, SelfCheck, Verdict
from mastcheck.checks.verdicts import BUCKLING, FLUTTER
from mastcheck.report.amplification import band_table
from mastcheck.report.buckling import mode_words
from mastcheck.report.cells import ABREAST, Cell, Table, abreast, letters, table, tidy
from mastcheck.report.display import (
    System,
    breakable,
    factor,
    fixed,
    given,
    number,
    unit_label,
    used,
)
from mastcheck.report.joint_rows import is_joint_check
from mastcheck.report.station_figures import three_stations
from mastcheck.report.strength import governed_by
from mastcheck.report.verdict import judged_cell, unstable_words

STABILITY = (f"{BUCKLING}, at least", f"{FLUTTER}, at least")
"""The checks whose value the load case table shows already."""


_ALONG = ("EI_side at", "EI_fore_aft at", "GJ at")
"""Rows of the comparison that stand with the stiffness along the mast."""


def ratio_tables(comparison: Comparison, units: System, only: tuple[str, ...] = ("",)) -> list[Table]:
    """Masts side by side, with ratios to the first; none for one mast alone.

    ``only``: how the names of the rows begin that are shown.
    """
    names = letters(comparison.masts)
    rows = [r for r in comparison.ratios if r.name.startswith(only) and not r.name.startswith(_ALONG)]
    if not rows or len(names) < 2:
        return []
    return [_ratio_table(rows, names, shown, units) for shown in abreast(len(names))]


def _ratio_table(rows: Sequence[Ratio], names: list[str], shown: list[int], units: System) -> Table:
    columns = ["", "unit", *(names[i] for i in shown), *(f"{names[i]} / {names[0]}" for i in shown[1:])]
    cells: list[list[Cell]] = []
    for r in rows:
        size = factor(r.unit, units)
        values = [None if (v := r.values[i]) is None else v * size for i in shown]
        cells.append(
            [
                tidy(r.name),
                unit_label(r.unit, units) or "–",
                *map(number, values),
                *(fixed(r.ratios[i], 2) for i in shown[1:]),
            ]
        )
    weights = (3.4, 1.3, *[1.0] * len(shown), *[0.8] * (len(shown) - 1))
    return table(columns, "ll" + "r" * (len(columns) - 2), cells, weights)


def stiffness_table(masts: Sequence[MastResult], units: System) -> Table:
    """Mass and tip stiffness."""
    kinds = ("mm per 100 N", "deg per 10 N·m", "N·m per deg")
    columns = [
        "",
        f"mass {unit_label('kg', units)}",
        f"sideways {unit_label(kinds[0], units)}",
        f"fore-aft {unit_label(kinds[0], units)}",
        f"twist {unit_label(kinds[1], units)}",
        f"torsion {unit_label(kinds[2], units)}",
    ]
    rows: list[list[Cell]] = [
        [
            letter,
            number(m.mass * factor("kg", units)),
            number(m.stiffness.side_mm_per_100N * factor(kinds[0], units)),
            number(m.stiffness.fore_aft_mm_per_100N * factor(kinds[0], units)),
            number(m.stiffness.twist_deg_per_10Nm * factor(kinds[1], units)),
            number(m.stiffness.torsion_Nm_per_deg * factor(kinds[2], units)),
        ]
        for letter, m in zip(letters(masts), masts, strict=True)
    ]
    return table(columns, "lrrrrr", rows, (0.3, 1, 1, 1, 1, 1))


def property_table(masts: Sequence[MastResult], units: System) -> Table:
    """Section properties at base, middle and tip; stiffness with its ratio to the first mast's."""
    rows: list[list[Cell]] = []
    places = 1 if units == "metric" else 2
    mm = 1e3 * factor("mm", units)
    for letter, m in zip(letters(masts), masts, strict=True):
        for where, s, s0 in zip(
            ("base", "middle", "tip"), three_stations(m), three_stations(masts[0]), strict=True
        ):
            p, first = m.sections[s].properties, masts[0].sections[s0].properties
            rows.append(
                [
                    letter if where == "base" else "",
                    where,
                    number(float(m.z[s]) * mm),
                    *(
                        number(own * factor("N·m²", units))
                        + (f" ({fixed(own / of, 2)})" if m is not masts[0] else "")
                        for own, of in ((p.EIxx, first.EIxx), (p.EIyy, first.EIyy), (p.GJ, first.GJ))
                    ),
                    fixed(p.centroid_x * mm, places),
                    fixed(p.shear_centre_x * mm, places),
                    number(p.mass_per_length * factor("kg/m", units)),
                ]
            )
    ei, label = unit_label("N·m²", units), unit_label("mm", units)
    return table(
        [
            "",
            "",
            f"z {label}",
            f"EI side {ei}",
            f"EI fore-aft {ei}",
            f"GJ {ei}",
            f"centroid x {label}",
            f"shear centre x {label}",
            unit_label("kg/m", units),
        ],
        "llrrrrrrr",
        rows,
        (0.3, 0.7, 0.6, 1.2, 1.3, 1.2, 0.9, 1.1, 0.6),
    )


def _buckles(case: CaseResult) -> str:
    """Load multiple at which a case buckles, how, and at which it flutters."""
    if math.isinf(case.buckling_factor):
        text = "never"
    else:
        text = f"{fixed(case.buckling_factor, 2)} {breakable(mode_words(case))}".rstrip()
    if case.flutter_factor is not None:
        found = math.isfinite(case.flutter_factor)
        text += f"; flutters at {fixed(case.flutter_factor, 2)}" if found else "; no flutter found"
    return text


def moved_table(result: MastResult, units: System) -> Table:
    """How far each case moves the tip, and its amplification with each way the lift may point."""
    band = band_table(result)
    ways = [] if band is None else band["columns"][3:-1]
    mm, label = 1e3 * factor("mm", units), unit_label("mm", units)
    places = 1 if units == "metric" else 2
    rows: list[list[Cell]] = []
    for k, c in enumerate(result.cases):
        by_way: list[Cell] = [] if band is None else band["rows"][k][3:-1]
        if not c.stable or c.tip is None:
            lost: Cell = {"t": unstable_words(c), "mood": "bad", "span": 6}
            rows.append([breakable(c.case.name), lost, *by_way])
            continue
        t = c.tip
        rows.append(
            [
                breakable(c.case.name),
                fixed(t.side * mm, places),
                fixed(t.fore_aft * mm, places),
                *(fixed(math.degrees(turn), 2) for turn in (t.roll, t.pitch, t.twist)),
                {"t": fixed(c.amplification, 2), "mood": "strong"},
                *by_way,
            ]
        )
    columns = ["case", f"side {label}", f"fore-aft {label}", "roll °", "pitch °", "twist °",
               "amplification", *ways]  # fmt: skip
    weights = (1.5, 0.8, 0.9, 0.7, 0.7, 0.7, 1.1, *[1.1] * len(ways))
    return table(columns, "l" + "r" * (len(columns) - 1), rows, weights)


def case_table(result: MastResult, units: System) -> Table:
    """What holds each load case of one mast: buckling, the governing criterion, utilisation."""
    rows: list[list[Cell]] = []
    for c in result.cases:
        name = breakable(c.case.name)
        if not c.stable or c.tip is None:
            why = unstable_words(c)
            if 1 < c.stability_factor <= c.case.strength_factor:
                why += f"; the strength check asks for {given(c.case.strength_factor)} times"
            rows.append([name, {"t": why, "mood": "bad", "span": 4}])
            continue
        governs = breakable(governed_by(c, units)) or "–"
        rows.append([name, _buckles(c), governs, used(c.utilisation), judged_cell(c)])
    columns = [
        "case",
        "buckles at × load",
        f"governed by, at z (x, y) {unit_label('mm', units)}",
        "used",
        "strength",
    ]
    return table(columns, "lllrl", rows, (1.5, 2.0, 4.2, 0.6, 1.0))


def limit_table(masts: Sequence[MastResult], units: System) -> Table:
    """Limits of the mast file, and whatever failed."""
    rows: list[list[Cell]] = []
    for letter, m in zip(letters(masts), masts, strict=True):
        found = {f.name for case in m.cases for f in case.findings}
        joints = is_joint_check(m)
        for c in m.checks:
            # What holds of strength and buckling stands in the load case tables, of joints in their
            # section; listed are the limits of the mast file, and whatever failed.
            told = (
                (c.name, c.case) in joints
                or c.name in found
                or c.name in STABILITY
                or c.name.startswith("von Mises")
            )
            if told and c.verdict is not Verdict.FAIL:
                continue
            digits = factor(c.unit, units)
            word = {Verdict.PASS: "pass", Verdict.FAIL: "fail", Verdict.REPORT: "not judged"}[c.verdict]
            mood = {Verdict.PASS: "good", Verdict.FAIL: "bad", Verdict.REPORT: "open"}[c.verdict]
            rows.append(
                [
                    letter,
                    tidy(c.name),
                    breakable(c.case),
                    "–" if math.isinf(c.value) else number(c.value * digits),
                    number(None if c.limit is None else c.limit * digits),
                    unit_label(c.unit, units),
                    used(c.utilisation),
                    {"t": word, "mood": mood},
                ]
            )
    return table(
        ["", "check", "case", "value", "limit", "unit", "used", "verdict"],
        "lllrrlrl",
        rows,
        (0.3, 3, 2, 1, 1, 1, 1, 1),
    )


_FAR_BELOW = 100.0
"""A difference so many times below its limit is rounding, whose digits change with the processor."""


def _difference(check: SelfCheck) -> str:
    """A self-check's value; of what is far below its limit, that it is."""
    least = check.limit / _FAR_BELOW
    return f"below {number(least, 2)}" if check.value < least else number(check.value, 2)


def self_check_table(masts: Sequence[MastResult]) -> Table:
    """A row a check, good only when every mast that has it holds it.

    A column a mast; of many masts the greatest difference, and whose it is.
    """
    rows: list[list[Cell]] = []
    by_name = [{s.name: s for s in m.self_checks} for m in masts]
    many = len(masts) > ABREAST
    for name in dict.fromkeys(name for own in by_name for name in own):
        every = [own.get(name) for own in by_name]
        found = [(s, who) for s, who in zip(every, letters(masts), strict=True) if s is not None]
        good = all(s.verdict is Verdict.PASS for s, _ in found)
        worst, who = max(found, key=lambda pair: pair[0].value)
        shown = ["–" if s is None else _difference(s) for s in every]
        if many:
            shown = [_difference(worst), who]
        rows.append(
            [
                tidy(name),
                *shown,
                number(worst.limit, 2),
                {"t": "pass" if good else "fail", "mood": "good" if good else "bad"},
            ]
        )
    heads = ["greatest", "in mast"] if many else letters(masts)
    columns = ["self-check, difference", *heads, "limit", "verdict"]
    n = len(heads)
    return table(columns, "l" + "r" * (n + 1) + "l", rows, (4, *[max(0.8, 2 / n)] * n, 0.8, 0.7))
