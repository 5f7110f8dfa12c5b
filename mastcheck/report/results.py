"""Tables of results: ratios, stiffness, section properties, load cases, limits, self-checks."""

from __future__ import annotations

import math
from collections.abc import Sequence

from mastcheck.checks.result import CaseResult, Comparison, MastResult, Verdict
from mastcheck.checks.verdicts import BUCKLING, FLUTTER
from mastcheck.report.buckling import mode_words
from mastcheck.report.cells import Cell, Table, letters, table, tidy
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


def ratio_table(comparison: Comparison, units: System) -> Table:
    """Masts side by side, with ratios to the first."""
    names = letters(comparison.masts)
    columns = ["", "unit", *names, *(f"{n} / {names[0]}" for n in names[1:])]
    rows: list[list[Cell]] = []
    for r in comparison.ratios:
        values = [number(None if v is None else v * factor(r.unit, units)) for v in r.values]
        ratios = [fixed(v, 2) for v in r.ratios[1:]]
        rows.append([tidy(r.name), unit_label(r.unit, units), *values, *ratios])
    return table(columns, "ll" + "r" * (len(columns) - 2), rows)


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
    """Section properties at base, middle and tip."""
    rows: list[list[Cell]] = []
    for letter, m in zip(letters(masts), masts, strict=True):
        for where, s in zip(("base", "middle", "tip"), three_stations(m), strict=True):
            p = m.sections[s].properties
            rows.append(
                [
                    letter if where == "base" else "",
                    where,
                    number(float(m.z[s]) * 1e3 * factor("mm", units)),
                    number(p.EIxx * factor("N·m²", units)),
                    number(p.EIyy * factor("N·m²", units)),
                    number(p.GJ * factor("N·m²", units)),
                    fixed(p.centroid_x * 1e3 * factor("mm", units), 1 if units == "metric" else 2),
                    fixed(p.shear_centre_x * 1e3 * factor("mm", units), 1 if units == "metric" else 2),
                    number(p.mass_per_length * factor("kg/m", units)),
                ]
            )
    ei, mm = unit_label("N·m²", units), unit_label("mm", units)
    return table(
        [
            "",
            "",
            f"z {mm}",
            f"EI side {ei}",
            f"EI fore-aft {ei}",
            f"GJ {ei}",
            f"centroid x {mm}",
            f"shear centre x {mm}",
            unit_label("kg/m", units),
        ],
        "llrrrrrrr",
        rows,
        (0.3, 0.7, 0.7, 1, 1, 1, 1, 1.1, 0.7),
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


def _case_rows(result: MastResult, units: System) -> list[list[Cell]]:
    rows: list[list[Cell]] = []
    mm = factor("mm", units)
    places = 1 if units == "metric" else 2
    for c in result.cases:
        name = breakable(c.case.name)
        if not c.stable or c.tip is None:
            factored = c.case.strength_factor
            why = unstable_words(c)
            if c.stability_factor > 1:
                why += f"; the strength check asks for {given(factored)} times"
            rows.append([name, {"t": why, "mood": "bad", "span": 10}])
            continue
        t = c.tip
        rows.append(
            [
                name,
                fixed(t.side * 1e3 * mm, places),
                fixed(t.fore_aft * 1e3 * mm, places),
                fixed(math.degrees(t.roll), 2),
                fixed(math.degrees(t.pitch), 2),
                fixed(math.degrees(t.twist), 2),
                fixed(c.amplification, 2),
                _buckles(c),
                breakable(governed_by(c, units)) or "–",
                used(c.utilisation),
                judged_cell(c),
            ]
        )
    return rows


def case_table(result: MastResult, units: System) -> Table:
    """The load cases of one mast."""
    mm = unit_label("mm", units)
    columns = [
        "case",
        f"side {mm}",
        f"fore-aft {mm}",
        "roll °",
        "pitch °",
        "twist °",
        "amplification",
        "buckles at × load",
        f"governed by, at z (x, y) {mm}",
        "used",
        "strength",
    ]
    weights = (1.25, 0.65, 0.75, 0.55, 0.7, 0.65, 1.1, 1.6, 2.9, 0.5, 0.9)
    return table(columns, "lrrrrrrrlrl", _case_rows(result, units), weights)


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


def self_check_table(masts: Sequence[MastResult]) -> Table:
    """A row a check, a column a mast; good only when every mast that has it holds it."""
    rows: list[list[Cell]] = []
    by_name = [{s.name: s for s in m.self_checks} for m in masts]
    for name in dict.fromkeys(name for own in by_name for name in own):
        every = [own.get(name) for own in by_name]
        found = [s for s in every if s is not None]
        good = all(s.verdict is Verdict.PASS for s in found)
        rows.append(
            [
                tidy(name),
                *("–" if s is None else number(s.value, 2) for s in every),
                number(found[0].limit, 2),
                {"t": "pass" if good else "fail", "mood": "good" if good else "bad"},
            ]
        )
    columns = ["self-check, difference", *letters(masts), "limit", "verdict"]
    n = len(masts)
    return table(columns, "l" + "r" * (n + 1) + "l", rows, (4, *[max(0.5, 2 / n)] * n, 1, 1))
