"""Fatigue in tables, words and JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from mastcheck.checks.result import MastResult
from mastcheck.report.cells import Cell, Table, letters, table, tidy
from mastcheck.report.display import System, breakable, factor, fixed, given, number, stated, unit_label
from mastcheck.report.strength import place
from mastcheck.strength.fatigue import FatigueResult


def fatigue_json(result: FatigueResult) -> dict[str, Any]:
    """The ``fatigue`` key of a mast."""
    fatigue, curve = result.fatigue, result.fatigue.curve
    return {
        "alternating": fatigue.alternating,
        "cycles": dict(fatigue.cycles),
        "curve": None
        if curve is None
        else {
            "name": curve.name,
            "delta_sigma_c_MPa": curve.delta_sigma_c / 1e6,
            "m1": curve.m1,
            "m2": curve.m2,
            "gamma": curve.gamma,
            "source": str(curve.source),
        },
        "worst": [
            {
                "material": w.material,
                "damage": w.damage,
                "utilisation": w.used,
                "max_at_z_m": w.z,
                "max_at_xy_m": w.xy,
                "ranges": [
                    {
                        "case": r.case,
                        "cycles": r.cycles,
                        "range_MPa": r.range / 1e6,
                        "cycles_to_failure": r.life,
                    }
                    for r in w.ranges
                ],
            }
            for w in result.worst
        ],
        "unstable_cases": list(result.unstable),
        "cases_not_asked_for": list(result.missing),
    }


def fatigue_table(result: MastResult, units: System) -> Table | None:
    """Ranges, cycles and damage at each material's worst point; None where none was found."""
    if result.fatigue is None or not result.fatigue.worst:
        return None
    mpa = factor("MPa", units)
    rows: list[list[Cell]] = []
    for w in result.fatigue.worst:
        for k, r in enumerate(w.ranges):
            first = k == 0
            bad = w.damage is not None and w.damage > 1
            rows.append(
                [
                    breakable(w.material) if first else "",
                    place(w.z, w.xy, units) if first else "",
                    breakable(r.case),
                    number(r.range / 1e6 * mpa),
                    _count(r.cycles),
                    "–" if r.life is None else _count(r.life),
                    _damage(w.damage, bad=bad) if first else "",
                    fixed(w.used, 2) if first else "",
                ]
            )
    columns = [
        "material", f"z (x, y) {unit_label('mm', units)}", "case",
        f"range {unit_label('MPa', units)}", "cycles", "cycles to failure", "damage", "used",
    ]  # fmt: skip
    return table(columns, "lrlrrrrr", rows, (2, 1.7, 1.2, 0.9, 1, 1.3, 1.1, 0.6))


def fatigue_words(result: MastResult, units: System) -> str:
    """By what curve, and what a cycle is; empty where no fatigue is asked for."""
    if result.fatigue is None:
        return ""
    fatigue, curve = result.fatigue.fatigue, result.fatigue.fatigue.curve
    states = (
        "the load case, no load, and the case with left and right changed about"
        if fatigue.alternating
        else "the load case and no load"
    )
    words = (
        f"A cycle passes through {states}; service loads, second order; range of the normal stress on "
        "the worst plane at the worst point. "
    )
    if curve is None:
        words += "No curve is stated: the range is reported and not judged. "
    else:
        strength = stated(curve.delta_sigma_c / 1e6, "MPa", units)
        words += (
            f"{curve.name[0].upper()}{curve.name[1:]}: {strength} at 2 million cycles, slope "
            f"{given(curve.m1)}, from 5 million {given(curve.m2)}, no cut-off; ranges times "
            f"{given(curve.gamma)}. Damage is the sum of cycles over cycles to failure, 1 at most; used "
            "is by stress range, and passes 1 where the damage does. "
        )
    if result.fatigue.unstable:
        words += (
            f"Not summed: {', '.join(result.fatigue.unstable)} has no stable shape at service load. "
        )
    if result.fatigue.missing:
        words += f"Not checked: load case {', '.join(result.fatigue.missing)} was not asked for. "
    words += unjudged_words(result.fatigue)
    return words + "Welds, screw holes and threads need their own check."


def unjudged_words(result: FatigueResult) -> str:
    """Which materials the stated curve does not judge, and why; empty where it judges all."""
    curve = result.fatigue.curve
    names = [w.material for w in result.worst if w.damage is None]
    if curve is None or not names:
        return ""
    if curve.material:
        why = f"the curve is stated for {curve.material}"
    elif curve.aluminium_only:
        why = (
            "a detail category judges materials that are known to be aluminium alone (a material of the "
            'file\'s own by galvanic_group = "aluminium", or named by [fatigue] material)'
        )
    else:
        why = "a curve of the file's own judges the skin alone, unless [fatigue] material names another"
    return f"Not judged: {', '.join(names)}: {why}. "


def fatigue_sections(masts: Sequence[MastResult], units: System) -> list[dict[str, Any]]:
    """A section for each mast that states its fatigue: title, words, table."""
    return [
        {
            "title": f"{letter}  Fatigue",
            "words": tidy(fatigue_words(m, units)),
            "table": fatigue_table(m, units),
        }
        for letter, m in zip(letters(masts), masts, strict=True)
        if m.fatigue is not None
    ]


def _count(cycles: float) -> str:
    """Cycles to three figures.

    >>> _count(147163645.0), _count(float("inf"))
    ('147 000 000', 'no end')
    """
    if math.isinf(cycles):
        return "no end"
    return f"{float(f'{cycles:.3g}'):,.0f}".replace(",", " ")


def _damage(value: float | None, *, bad: bool) -> Cell:
    if value is None:
        return {"t": "not judged", "mood": "open"}
    return {"t": number(value), "mood": "bad" if bad else "plain"}
