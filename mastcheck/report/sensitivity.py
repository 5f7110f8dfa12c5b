"""What a millimetre buys, in tables, words and JSON; nothing where it was not asked for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from mastcheck.checks.result import CaseResult, MastResult
from mastcheck.checks.sensitivity_result import (
    SIZES,
    CaseSensitivity,
    Change,
    Kind,
    SensitivityResult,
)
from mastcheck.report.cells import Cell, Table, called, letters, table, tidy
from mastcheck.report.display import System, factor, fixed, number, plain, quantity, unit_label

WORDS = (
    "Rates at the sizes as they are, drawn out straight over the step: where a row says more than "
    "some 10 %, the whole step reduces less, or adds more, than it says. A size is changed at the "
    "named station and by linearly less toward its neighbours; in the row of the whole mast all "
    "stations change together. A laminate's wall changes with its plies in the proportions they have "
    "at each place. With the length, stations keep their fractions. E is changed with G held, and G "
    "with E held, in all materials of the section; their strengths stay, and so do joints. Side and "
    "twist per load are first order, the load case second order. Utilisation is that of the place and "
    "criterion governing now; after a larger change another may govern. Exact for the beam (adjoint "
    "method); sections are differenced, which is good to about 1 % of a row, and for twist by a side "
    "force, a small difference of large parts, to about 0.1 % of the chord as its arm."
)
_STEP: dict[Kind, float] = dict.fromkeys(SIZES, 1e-3) | {Kind.LENGTH: 1e-2, Kind.E: 0.01, Kind.G: 0.01}
_INCH = 0.0254
_STEP_IMPERIAL: dict[Kind, float] = _STEP | dict.fromkeys(SIZES, 0.05 * _INCH) | {Kind.LENGTH: _INCH / 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What one step of one change buys; per cent of the value as it is, None where that is nil.

    ``side`` [mm] and ``used`` [points of a hundred] are of the case named with the rows.
    """

    change: str
    where: str
    mass_percent: float | None
    side_per_load_percent: float | None
    twist_per_load_percent: float | None
    side: float | None
    side_percent: float | None
    twist_percent: float | None
    used: float | None


def shown_case(result: MastResult) -> tuple[CaseResult, CaseSensitivity] | None:
    """The stable case of greatest utilisation; where none is judged, of greatest movement."""
    if result.sensitivity is None:
        return None
    found = {case.name: case for case in result.sensitivity.cases}
    pairs = [(case, found[case.case.name]) for case in result.cases if case.case.name in found]
    if not pairs:
        return None

    def rank(pair: tuple[CaseResult, CaseSensitivity]) -> tuple[float, float]:
        case = pair[0]
        tip = case.tip or case.first_order_tip
        return (case.utilisation or 0.0, math.hypot(tip.side, tip.fore_aft))

    return max(pairs, key=rank)


def rows(result: MastResult, units: System) -> list[Row]:
    """A row for each size at each station and on the whole mast, for length, and for E and G."""
    found = result.sensitivity
    if found is None:
        return []
    out = []
    for kind in Kind:
        every = found.total(kind)
        if kind in SIZES:
            out += [
                _row(result, found, (i,), _where(result, found.changes[i], units), units) for i in every
            ]
        if every and (kind not in SIZES or len(every) > 1):
            out.append(_row(result, found, every, "whole mast", units))
    return out


def _where(result: MastResult, change: Change, units: System) -> str:
    at = change.at or 0.0
    name = {0.0: "base, ", 1.0: "tip, "}.get(at, "")
    return f"{name}z = {quantity(at * result.job.mast.length * 1e3, 'mm', units)}"


def _row(
    result: MastResult, found: SensitivityResult, which: Sequence[int], where: str, units: System
) -> Row:
    kind = found.changes[which[0]].kind
    step = (_STEP if units == "metric" else _STEP_IMPERIAL)[kind]
    chosen = list(which)
    c, rate = result.tip_compliance, found.compliance[..., chosen].sum(axis=-1) * step
    pair = shown_case(result)
    side = side_percent = twist_percent = used = None
    if pair is not None:
        case, own = pair
        moved = own.tip[:, chosen].sum(axis=-1) * step
        side = float(moved[1]) * 1e3
        tip = case.tip or case.first_order_tip
        # Toward the side the tip has gone: what is bought is less of it.
        side = side if tip.side >= 0 else -side
        side_percent = _percent(moved[1], tip.side, 1e-5)
        twist_percent = _percent(moved[5], tip.twist, 1e-5)
        if own.utilisation is not None:
            used = float(own.utilisation[chosen].sum()) * step * 100
    return Row(
        change=f"{kind} +{_step_words(kind, step, units)}",
        where=where,
        mass_percent=_percent(found.mass[chosen].sum() * step, result.mass, 1e-12),
        side_per_load_percent=_percent(rate[1, 1], c[1, 1], 0.0),
        twist_per_load_percent=_percent(rate[5, 5], c[5, 5], 0.0),
        side=side,
        side_percent=side_percent,
        twist_percent=twist_percent,
        used=used,
    )


def _step_words(kind: Kind, step: float, units: System) -> str:
    if kind in (Kind.E, Kind.G):
        return "1 %"
    return f"{step * 1e3:g} mm" if units == "metric" else f"{step / _INCH:g} in"


def _percent(change: float, value: float, least: float) -> float | None:
    """Per cent; None where the value is no more than what arithmetic leaves."""
    return float(100 * change / value) if abs(value) > least else None


def sensitivity_table(result: MastResult, units: System) -> Table | None:
    """The rows as a table; None where it was not asked for."""
    if result.sensitivity is None:
        return None
    pair = shown_case(result)
    case = "" if pair is None else pair[0].case.name
    columns = ["change", "at", "mass %", "side per load %", "twist per load %"]
    mm = unit_label("mm", units)
    if pair is not None:
        columns += [f"{case}: side {mm}", "side %", "twist %", "utilisation points"]
    out: list[list[Cell]] = []
    for row in rows(result, units):
        cells: list[Cell] = [
            row.change,
            row.where,
            signed(row.mass_percent, 2),
            signed(row.side_per_load_percent, 2),
            signed(row.twist_per_load_percent, 2),
        ]
        if pair is not None:
            side = None if row.side is None else row.side * factor("mm", units)
            cells += [
                signed(side, 3 if units == "metric" else 4),
                signed(row.side_percent, 2),
                signed(row.twist_percent, 2),
                signed(row.used, 2),
            ]
        out.append(cells)
    return table(columns, "ll" + "r" * (len(columns) - 2), out, (1.3, 1.4, *[0.9] * (len(columns) - 2)))


def signed(value: float | None, places: int) -> str:
    """A change with its sign, to so many decimal places.

    >>> signed(0.123, 2), signed(-0.001, 2), signed(None, 2)
    ('+0.12', '0.00', '–')
    """
    text = fixed(value, places)
    return f"+{text}" if value is not None and round(value, places) > 0 else text


def base_words(result: MastResult, units: System) -> str:
    """What the changes are changes of."""
    pair = shown_case(result)
    s = result.stiffness
    text = (
        f"As it is: mass {quantity(result.mass, 'kg', units)}, sideways "
        f"{quantity(s.side_mm_per_100N, 'mm per 100 N', units)}, twist "
        f"{quantity(s.twist_deg_per_10Nm, 'deg per 10 N·m', units)}"
    )
    if pair is None:
        return tidy(f"{text}. No stable load case.")
    case = pair[0]
    tip = case.tip or case.first_order_tip
    text += (
        f"; in {plain(case.case.name)} {quantity(abs(tip.side) * 1e3, 'mm', units)} to the side, "
        f"twist {quantity(abs(math.degrees(tip.twist)), 'deg', units)}"
    )
    if case.utilisation is not None and pair[1].z is not None:
        text += (
            f", utilisation {number(case.utilisation)} at z = {quantity(pair[1].z * 1e3, 'mm', units)}"
        )
    return tidy(f"{text}. Side: more of the same way is positive.")


def sensitivity_sections(masts: Sequence[MastResult], units: System) -> list[dict[str, Any]]:
    """The report's section, one entry a mast that was asked."""
    return [
        {
            "title": f"{letter}  {called(m)}",
            "base": base_words(m, units),
            "table": sensitivity_table(m, units),
        }
        for letter, m in zip(letters(masts), masts, strict=True)
        if m.sensitivity is not None
    ]


def sensitivity_json(found: SensitivityResult) -> dict[str, Any]:
    """The ``sensitivity`` key of a mast: rates per mm, or per percent of E and G."""
    return {
        "changes": [_change_json(found, i) for i in range(len(found.changes))],
        "utilisation_at_z_m": {case.name: case.z for case in found.cases},
    }


def _change_json(found: SensitivityResult, i: int) -> dict[str, Any]:
    change = found.changes[i]
    relative = change.kind in (Kind.E, Kind.G)
    by = 0.01 if relative else 1e-3
    c = found.compliance[..., i] * by
    return {
        "kind": str(change.kind),
        "station": change.station,
        "at": change.at,
        "per": "percent" if relative else "mm",
        "mass_kg": found.mass[i] * by,
        "side_mm_per_100N": c[1, 1] * 1e5,
        "fore_aft_mm_per_100N": c[0, 0] * 1e5,
        "twist_deg_per_10Nm": math.degrees(c[5, 5] * 10),
        "cases": [_case_json(case, case.tip[:, i] * by, i, by) for case in found.cases],
    }


def _case_json(case: CaseSensitivity, tip: np.ndarray[Any, Any], i: int, by: float) -> dict[str, Any]:
    return {
        "name": case.name,
        "side_mm": tip[1] * 1e3,
        "fore_aft_mm": tip[0] * 1e3,
        "twist_deg": math.degrees(tip[5]),
        "utilisation": None if case.utilisation is None else case.utilisation[i] * by,
    }
