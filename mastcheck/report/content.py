"""What the report says, as plain data: strings, tables, figures. The page layout is elsewhere.

A table is ``{"columns": [...], "align": [...], "rows": [[cell, ...], ...]}``; a cell is a
string or ``{"t": text, "mood": "good" | "bad" | "open", "span": n}``.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import PurePath
from typing import Any

from mastcheck.checks.result import CaseResult, Comparison, MastResult, Verdict
from mastcheck.loadcase import LoadCase
from mastcheck.material import Material
from mastcheck.report import figures
from mastcheck.report.display import (
    System,
    breakable,
    factor,
    fixed,
    given,
    number,
    plain,
    quantity,
    stated,
    unit_label,
)

Cell = str | dict[str, Any]
Table = dict[str, Any]

APPROVAL = (
    "This report is a calculation aid. It is not an approval, a certificate or a permission to "
    "build or to ride.",
    "A qualified structural review, local rules and the makers' instructions come first, and "
    "overrule it wherever they differ.",
    "A mast that breaks can injure or kill the rider and people nearby. Test a sample before "
    "anyone rides it, and inspect masts in use for cracks, play and corrosion.",
)
ACCURACY = (
    "Against quadratic solid finite element models with a fully fixed root, this method gives "
    "bending within 2 %, on the soft side (the fixed root also stops the section from "
    "contracting), and twist under torque within 1.2 %. Twist under a side force of a tapered "
    "mast may be off by up to 10 %, because the coupling of bending and twist by the taper is not "
    "yet modelled; the twist that a roll moment causes in a tapered mast is left out for the same "
    "reason.",
    "Joints are taken as rigid and the base as fully clamped: a real base plate, a socket with play "
    "or a soft board adds movement that is not in these numbers. Fatigue, impact damage, corrosion, "
    "welds and local buckling of thin walls are not checked.",
)


def tidy(text: str) -> str:
    """Sentences of ours and of the engine, fit for the page."""
    return breakable(text)


def letters(masts: Sequence[MastResult]) -> list[str]:
    """The letter each mast goes by in tables and figures."""
    return [figures.LETTERS[i % 26] for i in range(len(masts))]


def document_id(comparison: Comparison, units: System) -> str:
    """Short hash of the inputs: where the file lay does not count, what was in it does."""
    jobs = [repr(replace(m.job, file="")) for m in comparison.masts]
    return hashlib.sha256("\n".join([units, *jobs]).encode("utf-8", "backslashreplace")).hexdigest()[:10]


def table(
    columns: Iterable[str], align: str, rows: list[list[Cell]], weights: Sequence[float] = ()
) -> Table:
    """A table; ``align`` has a letter (l, r, c) for each column, ``weights`` their shares of width."""
    return {"columns": list(columns), "align": list(align), "rows": rows, "weights": list(weights)}


def _unstable(case: CaseResult) -> str:
    return f"unstable: buckles at {fixed(case.buckling_factor, 2)} times the service load"


def _judge(case: CaseResult) -> Cell:
    if case.utilisation is None:
        return {"t": "not judged", "mood": "open"}
    if case.utilisation <= 1:
        return {"t": "pass", "mood": "good"}
    return {"t": "fail", "mood": "bad"}


def verdict(result: MastResult) -> dict[str, Any]:
    """The verdict on one mast in words: what failed, what was not judged."""
    failed = [c for c in result.checks if c.verdict is Verdict.FAIL]
    passed = [c for c in result.checks if c.verdict is Verdict.PASS]
    unstable = [c for c in result.cases if not c.stable]
    over = [c for c in result.cases if c.stable and c.utilisation is not None and c.utilisation > 1]
    unjudged = [c for c in result.cases if c.stable and c.utilisation is None]
    reasons = [f"{c.case.name}: {_unstable(c)}" for c in unstable]
    named = {c.case.name for c in unstable}
    for check in failed:
        if check.case in named:
            continue
        used = (
            "" if check.utilisation is None else f", {fixed(100 * check.utilisation, 0)} % of the limit"
        )
        where = f"{check.case}: " if check.case else ""
        reasons.append(f"{where}{check.name} over its limit{used}")
    told = {c.case for c in failed}
    reasons += [
        f"{c.case.name}: stress at {fixed(100 * (c.utilisation or 0), 0)} % of the design strength"
        for c in over
        if c.case.name not in told
    ]
    if unjudged:
        what = ", ".join(c.case.name for c in unjudged)
        reasons.append(f"strength not judged ({what}): the material's proof strength is not stated")
    recipe = result.job.mast.section
    silent = [
        m.name for m in (recipe.material, recipe.core) if m is not None and m.design_strength is None
    ]
    if silent and not unjudged:
        reasons.append(f"strength of {' and '.join(silent)} not judged: proof strength not stated")
    if failed or unstable or over:
        state, word = "bad", "FAILS"
    elif passed and not unjudged and not silent:
        state, word = "good", "EVERY LIMIT HELD"
    elif passed:
        state, word = "open", "LIMITS HELD, NOT ALL JUDGED"
    else:
        state, word = "open", "NOT JUDGED"
    judged = [c for c in result.cases if c.utilisation is not None]
    if judged:
        worst = max(judged, key=lambda c: c.utilisation or 0.0)
        used = fixed(100 * (worst.utilisation or 0), 0)
        reasons.append(f"most used in {worst.case.name}: {used} % of the design strength")
    count = f"{len(failed)} failed, {len(passed)} passed, "
    count += f"{sum(c.verdict is Verdict.REPORT for c in result.checks)} reported without a limit"
    return {"state": state, "word": word, "count": count, "reasons": [tidy(r) for r in reasons]}


def _asked(masts: Sequence[MastResult], units: System) -> list[list[Cell]]:
    kg = factor("kg", units)
    rows: list[list[Cell]] = []
    for letter, m in zip(letters(masts), masts, strict=True):
        mast, section, rider = m.job.mast, m.job.mast.section, m.job.rider
        made = (
            section.material.name
            if section.core is None
            else f"{section.material.name} on {section.core.name}"
        )
        source = PurePath(m.job.file.replace("\\", "/")).name or "built in Python"
        rows.append(
            [
                {"t": letter, "mood": "strong"},
                breakable(mast.name),
                breakable(f"{section.construction}, {section.outline}; {made}"),
                stated(mast.length * 1e3, "mm", units),
                f"{given(rider.mass * kg)} + {given(rider.gear_mass * kg)} {unit_label('kg', units)}",
                breakable(f"{source}{' ' + m.job.input_sha256[:10] if m.job.input_sha256 else ''}"),
            ]
        )
    return rows


def _ratios(comparison: Comparison, units: System) -> Table:
    names = letters(comparison.masts)
    columns = ["", "unit", *names, *(f"{n} / {names[0]}" for n in names[1:])]
    rows: list[list[Cell]] = []
    for r in comparison.ratios:
        values = [number(None if v is None else v * factor(r.unit, units)) for v in r.values]
        ratios = [fixed(v, 2) for v in r.ratios[1:]]
        rows.append([tidy(r.name), unit_label(r.unit, units), *values, *ratios])
    return table(columns, "ll" + "r" * (len(columns) - 2), rows)


def _others(case: CaseResult) -> str:
    own = str(case.case.lift)
    parts = []
    for lift, value in sorted(case.amplification_by_lift.items()):
        if lift != own:
            short = lift.replace("through-rider", "through rider")
            parts.append(f"{short} {'unstable' if value is None else fixed(value, 2)}")
    return f" ({', '.join(parts)})" if parts else ""


def _case_rows(result: MastResult, units: System) -> list[list[Cell]]:
    rows: list[list[Cell]] = []
    mm, mpa = factor("mm", units), factor("MPa", units)
    places = 1 if units == "metric" else 2
    for c in result.cases:
        name = breakable(c.case.name)
        if not c.stable or c.tip is None:
            factored = c.case.strength_factor
            why = _unstable(c)
            if c.buckling_factor > 1:
                why += f"; the strength check asks for {given(factored)} times"
            if others := _others(c):
                why += f"; amplification with the lift otherwise:{others}"
            rows.append([name, {"t": why, "mood": "bad", "span": 11}])
            continue
        t = c.tip
        at = "–" if c.max_at_z is None else number(c.max_at_z * 1e3 * mm)
        point = ""
        if c.max_at_xy is not None:
            x, y = (fixed(v * 1e3 * mm, places) for v in c.max_at_xy)
            point = f" ({x}, {y})"
        rows.append(
            [
                name,
                fixed(t.side * 1e3 * mm, places),
                fixed(t.fore_aft * 1e3 * mm, places),
                fixed(math.degrees(t.roll), 2),
                fixed(math.degrees(t.pitch), 2),
                fixed(math.degrees(t.twist), 2),
                fixed(c.amplification, 2) + _others(c),
                "never" if math.isinf(c.buckling_factor) else fixed(c.buckling_factor, 2),
                "–" if c.max_von_mises is None else number(c.max_von_mises / 1e6 * mpa),
                at + point,
                fixed(c.utilisation, 2),
                _judge(c),
            ]
        )
    return rows


def _cases(result: MastResult, units: System) -> Table:
    mm = unit_label("mm", units)
    columns = [
        "case",
        f"side {mm}",
        f"fore-aft {mm}",
        "roll °",
        "pitch °",
        "twist °",
        "amplification (other lift)",
        "buckles at × load",
        f"von Mises {unit_label('MPa', units)}",
        f"at z (x, y) {mm}",
        "used",
        "strength",
    ]
    weights = (1.4, 0.65, 0.8, 0.65, 0.65, 0.65, 2.4, 0.9, 0.8, 1.55, 0.6, 0.95)
    return table(columns, "lrrrrrrrrrrl", _case_rows(result, units), weights)


def _checks(masts: Sequence[MastResult], units: System) -> Table:
    rows: list[list[Cell]] = []
    for letter, m in zip(letters(masts), masts, strict=True):
        for c in m.checks:
            # What holds of strength and buckling stands in the load case tables; listed are the
            # limits of the mast file, and whatever failed.
            if c.verdict is not Verdict.FAIL and c.name.startswith(("von Mises", "buckling")):
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
                    fixed(c.utilisation, 2),
                    {"t": word, "mood": mood},
                ]
            )
    return table(
        ["", "check", "case", "value", "limit", "unit", "used", "verdict"],
        "lllrrlrl",
        rows,
        (0.3, 3, 2, 1, 1, 1, 1, 1),
    )


def _geometry(masts: Sequence[MastResult], units: System) -> Table:
    rows: list[list[Cell]] = []
    for letter, m in zip(letters(masts), masts, strict=True):
        for k, s in enumerate(m.job.mast.stations):
            rows.append(
                [
                    letter if k == 0 else "",
                    given(s.at),
                    given(s.at * m.job.mast.length * 1e3 * factor("mm", units)),
                    given(s.chord * 1e3 * factor("mm", units)),
                    given(s.thickness * 1e3 * factor("mm", units)),
                    "–" if s.wall is None else given(s.wall * 1e3 * factor("mm", units)),
                ]
            )
    mm = unit_label("mm", units)
    return table(
        ["", "at", f"z {mm}", f"chord {mm}", f"thickness {mm}", f"wall {mm}"],
        "lrrrrr",
        rows,
        (0.4, 1, 1, 1, 1, 1),
    )


def _recipe(letter: str, m: MastResult, units: System) -> str:
    mast, s = m.job.mast, m.job.mast.section
    parts = [
        f"Mast {letter}: {s.outline} outline, {s.construction}",
        f"stacking line at {given(mast.taper_about)} of the chord",
        f"warping {mast.tip_warping} at the tip, restrained at the base",
        f"trailing edge radius {stated(s.trailing_edge_radius * 1e3, 'mm', units)}",
    ]
    if s.webs:
        webs = ", ".join(f"{given(w.at)} ({stated(w.thickness * 1e3, 'mm', units)})" for w in s.webs)
        parts.append(f"webs at {webs} of the chord")
    fewest = min(x.elements for x in m.sections)
    parts.append(f"{len(m.sections)} sections solved, each of {fewest} elements or more")
    parts.append(f"last {given(100 * m.job.wet_fraction)} % of the length under water")
    return tidy("; ".join(parts)) + "."


def _materials(masts: Sequence[MastResult], units: System) -> Table:
    seen: dict[Material, None] = {}
    for m in masts:
        seen[m.job.mast.section.material] = None
        if m.job.mast.section.core is not None:
            seen[m.job.mast.section.core] = None
        for section in m.sections:
            seen.update(dict.fromkeys(r.material for r in section.regions))

    def strength(value: float | None, gamma: float) -> str:
        if value is None:
            return "not stated"
        return f"{given(value / 1e6 * factor('MPa', units))} / {fixed(gamma, 2)}"

    rows: list[list[Cell]] = [
        [
            breakable(m.name),
            given(m.E / 1e9 * factor("GPa", units)),
            given(m.G / 1e9 * factor("GPa", units)),
            given(m.density * factor("kg/m³", units)),
            strength(m.proof_strength, m.gamma_proof),
            strength(m.ultimate_strength, m.gamma_ultimate),
            breakable(f"{m.source}{'; ' + m.note if m.note else ''}"),
        ]
        for m in seen
    ]
    gpa, mpa, rho = unit_label("GPa", units), unit_label("MPa", units), unit_label("kg/m³", units)
    return table(
        [
            "material",
            f"E {gpa}",
            f"G {gpa}",
            f"density {rho}",
            f"proof {mpa} / γ",
            f"ultimate {mpa} / γ",
            "source",
        ],
        "lrrrrrl",
        rows,
        (1.6, 0.6, 0.6, 0.8, 1.05, 1.15, 3.4),
    )


def _load_rows(masts: Sequence[MastResult], units: System) -> Table:
    users: dict[LoadCase, list[str]] = {}
    for letter, m in zip(letters(masts), masts, strict=True):
        for c in m.cases:
            users.setdefault(c.case, []).append(letter)
    rows: list[list[Cell]] = []
    for load, who in users.items():
        extra = []
        if any(load.force):
            force = ", ".join(given(f * factor("N", units)) for f in load.force)
            extra.append(f"force ({force}) {unit_label('N', units)}")
        if any(load.moment):
            moment = ", ".join(given(f * factor("N·m", units)) for f in load.moment)
            extra.append(f"moment ({moment}) {unit_label('N·m', units)}")
        side = (
            "0"
            if not load.side_force
            else f"{given(load.side_force)} W{' spread' if load.side_spread else ''}"
        )
        rows.append(
            [
                breakable(load.name) + ("" if len(who) == len(masts) else f" ({', '.join(who)})"),
                given(load.n),
                given(load.offset * 1e3 * factor("mm", units)),
                given(load.roll_offset * 1e3 * factor("mm", units)),
                side,
                "0" if not load.feet_twist else f"{given(load.feet_twist)} W × stance",
                breakable("; ".join(extra)) or "–",
                str(load.lift),
                given(load.strength_factor),
                breakable(str(load.source.grade)),
            ]
        )
    mm = unit_label("mm", units)
    return table(
        [
            "case",
            "n",
            f"fore-aft offset {mm}",
            f"roll offset {mm}",
            "side force",
            "feet twist",
            "further tip load (x, y, z)",
            "lift",
            "strength factor",
            "grade",
        ],
        "lrrrllllrl",
        rows,
        (1.1, 0.3, 0.8, 0.6, 0.95, 1.2, 1.95, 1.1, 0.75, 2.15),
    )


def _self_checks(masts: Sequence[MastResult]) -> Table:
    """A row a check, a column a mast; the verdict is good only when every mast holds it."""
    rows: list[list[Cell]] = []
    for same in zip(*(m.self_checks for m in masts), strict=True):
        good = all(s.verdict is Verdict.PASS for s in same)
        rows.append(
            [
                tidy(same[0].name),
                *(number(s.value, 2) for s in same),
                number(same[0].limit, 2),
                {"t": "pass" if good else "fail", "mood": "good" if good else "bad"},
            ]
        )
    columns = ["self-check, difference", *letters(masts), "limit", "verdict"]
    n = len(masts)
    return table(columns, "l" + "r" * (n + 1) + "l", rows, (4, *[max(0.5, 2 / n)] * n, 1, 1))


def _picture(fig: Any, alt: str, caption: str) -> dict[str, Any]:
    wide, high = fig.get_size_inches()
    return {
        "svg": figures.svg(fig).decode("utf-8"),
        "alt": tidy(alt),
        "caption": tidy(caption),
        "width": float(wide) * 72,
        "height": float(high) * 72,
    }


def _pictures(comparison: Comparison, units: System) -> dict[str, Any]:
    masts = comparison.masts
    who = ", ".join(
        f"{letter}: {m.job.mast.name}" for letter, m in zip(letters(masts), masts, strict=True)
    )
    out: dict[str, Any] = {
        "sections": _picture(
            figures.sections(masts, units=units),
            f"Cross-sections at base, middle and tip, to scale, with centroid and shear centre. {who}. "
            "Sizes stand above each section.",
            "Sections to one scale, leading edge left, aligned on the stacking line (dash-dotted).",
        ),
        "stiffness": _picture(
            figures.stiffness_along(masts, units=units),
            "Three graphs along the mast from base to tip: sideways bending stiffness, fore-aft bending "
            f"stiffness and torsional stiffness. {_ends(masts, units)}",
            "Bending and torsional stiffness from base to tip.",
        ),
    }
    case = figures.widest_case(masts)
    if case is not None:
        missing = [
            letter
            for letter, m in zip(letters(masts), masts, strict=True)
            if (c := figures.find_case(m, case)) is None or c.line is None
        ]
        absent = f" Not drawn, since unstable or not asked: {', '.join(missing)}." if missing else ""
        moved = "; ".join(
            f"{letter} moves {quantity(figures.lateral(c) * 1e3, 'mm', units)} "
            f"and twists {quantity(abs(math.degrees(c.tip.twist)), 'deg', units)}"
            for letter, m in zip(letters(masts), masts, strict=True)
            if (c := figures.find_case(m, case)) is not None and c.tip is not None
        )
        out["deflected"] = _picture(
            figures.deflected(masts, case=case, units=units),
            f"Sideways and fore-aft deflection and twist along the mast in load case {case}. "
            f"At the tip: {moved}.",
            f"Deflected shape and twist in load case {case}, the one that moves a tip most: service "
            f"load, second order. Sideways and fore-aft have scales of their own.{absent}",
        )
    along = figures.utilisation_along(masts, units=units)
    if along is not None:
        most = "; ".join(
            f"{letter} {fixed(float(used.max()), 2)} at z = "
            f"{quantity(float(z[used.argmax()]) * 1e3, 'mm', units)}"
            for letter, m in zip(letters(masts), masts, strict=True)
            if (line := figures.utilisation_lines(m)) is not None
            for z, used in (line,)
        )
        out["utilisation"] = _picture(
            along,
            f"Greatest utilisation along the mast over the judged load cases: {most}.",
            f"Utilisation along the mast, the greatest of all judged load cases: {most}.",
        )
    found = figures.governing(masts)
    if found is not None:
        index, c = found
        m = masts[index]
        z = m.z[c.governing_station] if c.governing_station is not None else 0.0
        words = (
            f"Von Mises stress in mast {letters(masts)[index]}, load case {c.case.name}, at z = "
            f"{quantity(float(z) * 1e3, 'mm', units)}: loads times {given(c.case.strength_factor)}, "
            "second order. "
            f"Greatest {quantity((c.max_von_mises or 0) / 1e6, 'MPa', units)} in {c.governing_material}"
            + (
                "; strength not judged."
                if c.utilisation is None
                else f", {fixed(c.utilisation, 2)} of its strength."
            )
        )
        out["stress"] = _picture(figures.stress_map(m, c, units=units), words, words)
    return out


def _ends(masts: Sequence[MastResult], units: System) -> str:
    parts = []
    for letter, m in zip(letters(masts), masts, strict=True):
        a, b = m.sections[0].properties, m.sections[-1].properties
        parts.append(
            f"{letter} sideways from {quantity(a.EIxx, 'N·m²', units)} to "
            f"{quantity(b.EIxx, 'N·m²', units)}, "
            f"torsion from {quantity(a.GJ, 'N·m²', units)} to {quantity(b.GJ, 'N·m²', units)}"
        )
    return "; ".join(parts) + "."


def _properties(masts: Sequence[MastResult], units: System) -> Table:
    rows: list[list[Cell]] = []
    for letter, m in zip(letters(masts), masts, strict=True):
        for where, s in zip(("base", "middle", "tip"), figures.three_stations(m), strict=True):
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


def _stiffness(masts: Sequence[MastResult], units: System) -> Table:
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


def _rider(m: MastResult, units: System) -> str:
    r = m.job.rider
    return (
        f"rider {stated(r.mass, 'kg', units)}, board and gear {stated(r.gear_mass, 'kg', units)} "
        f"(W = {quantity(r.weight, 'N', units)}), centre of mass {stated(r.rider_height, 'm', units)} "
        f"above the base, stance {stated(r.stance_width * 1e3, 'mm', units)}"
    )


def content(comparison: Comparison, *, units: System = "metric") -> dict[str, Any]:
    """Everything the page template needs."""
    masts = comparison.masts
    names = letters(masts)
    single = len(masts) == 1
    title = f"Mast check: {masts[0].job.mast.name}" if single else f"Mast comparison: {len(masts)} masts"
    riders: dict[str, list[str]] = {}
    notes: dict[str, list[str]] = {}
    for letter, m in zip(names, masts, strict=True):
        riders.setdefault(_rider(m, units), []).append(letter)
        for note in m.job.notes:
            notes.setdefault(note, []).append(letter)

    def owned(found: dict[str, list[str]]) -> list[str]:
        every = len(masts)
        return [tidy(t if len(w) == every else f"{t} ({', '.join(w)})") for t, w in found.items()]

    first = masts[0].job
    cases = [c.case.name for c in masts[0].cases]
    return {
        "title": plain(title, 120),
        "id": document_id(comparison, units),
        "single": single,
        "asked": tidy(
            f"{'Is this mast' if single else 'Which mast is stiffer, by how much, and is each'} "
            f"strong enough for a rider of {stated(first.rider.mass, 'kg', units)}"
            f"{' (mast A)' if len(riders) > 1 else ''}, in load case{'s' if len(cases) > 1 else ''} "
            f"{', '.join(cases)}?"
        ),
        "masts": table(
            ["", "mast", "made as", "length", "rider + gear", "input"],
            "lllrrl",
            _asked(masts, units),
            (0.3, 2.6, 2.8, 0.9, 1.3, 1.9),
        ),
        "verdicts": [
            {"letter": letter, "name": plain(m.job.mast.name, 70), **verdict(m)}
            for letter, m in zip(names, masts, strict=True)
        ],
        "approval": list(APPROVAL),
        "cautions": [
            # The engine's own first caution stands above already, word for word as strong.
            tidy(c)
            for c in dict.fromkeys(c for m in masts for c in m.cautions)
            if not c.startswith("A calculation aid, not an approval")
        ],
        "sentence": "" if single else tidy(comparison.sentence),
        "ratios": None if single or not comparison.ratios else _ratios(comparison, units),
        "stiffness": _stiffness(masts, units),
        "properties": _properties(masts, units),
        "pictures": _pictures(comparison, units),
        "cases": [
            {"title": f"{letter}  {plain(m.job.mast.name, 90)}", "table": _cases(m, units)}
            for letter, m in zip(names, masts, strict=True)
        ],
        "checks": _checks(masts, units),
        "geometry": _geometry(masts, units),
        "recipes": [_recipe(letter, m, units) for letter, m in zip(names, masts, strict=True)],
        "materials": _materials(masts, units),
        "loads": _load_rows(masts, units),
        "riders": owned(riders),
        "notes": owned(notes),
        "accuracy": list(ACCURACY),
        "self_checks": _self_checks(masts),
        "units": units,
    }
