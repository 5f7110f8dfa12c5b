"""What the strength criteria found, in words and tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from mastcheck.checks.result import CaseResult, Criterion, Finding, MastResult
from mastcheck.report.cells import Cell, Table, table
from mastcheck.report.display import System, breakable, factor, fixed, number, quantity, unit_label


def governing_finding(case: CaseResult) -> Finding | None:
    """The finding of greatest utilisation; the first one where none is judged."""
    judged = [f for f in case.findings if f.utilisation is not None]
    if judged:
        return max(judged, key=lambda f: f.utilisation or 0.0)
    return case.findings[0] if case.findings else None


def several_criteria(cases: Sequence[CaseResult]) -> bool:
    """Whether more than one criterion or material was looked at in some case."""
    return any(len(c.findings) > 1 for c in cases)


def short_name(criterion: Criterion) -> str:
    """A criterion as a table says it, without what its unit says already.

    >>> short_name(Criterion.VON_MISES), short_name(Criterion.TSAI_WU)
    ('von Mises', 'first ply, Tsai-Wu')
    """
    return str(criterion).removesuffix(" stress")


def unjudged(result: MastResult) -> list[str]:
    """What was looked at and could not be judged, and materials that state no strength; each once."""
    findings = [f for c in result.cases for f in c.findings]
    judged = {f.material for f in findings if f.utilisation is not None}
    silent = []
    # Of a laminate its plies are named, since it is their strengths that are lacking.
    for material in dict.fromkeys(r.material for s in result.sections for r in s.regions):
        if material.laminate is None:
            silent += [] if material.judged else [material.name]
        else:
            silent += [x.name for x in material.laminas if x.strengths is None]
    core = result.job.mast.section.core
    if core is not None and not core.judged:
        silent.append(core.name)
    names = [
        f.material if f.material not in judged else f"{short_name(f.criterion)} of {f.material}"
        for f in findings
        if f.utilisation is None and f.material not in silent
    ]
    return list(dict.fromkeys([*names, *silent]))


def what_and_where(found: Finding) -> str:
    """The material a finding judges and its place in it, without saying the material twice."""
    if not found.where or found.where == f"in {found.material}":
        return found.material
    return found.where if found.material in found.where else f"{found.material}, {found.where}"


def place(z: float, xy: tuple[float, float], units: System) -> str:
    """A place as z (x, y) in display units, without the unit."""
    size = 1e3 * factor("mm", units)
    x, y = (fixed(v * size, 1 if units == "metric" else 2) for v in xy)
    return f"{number(z * size)} ({x}, {y})"


def governed_by(case: CaseResult, units: System) -> str:
    """The criterion that governs a case with its value and place; empty when there is none.

    The ply or face it is found in stands in ``finding_table``.
    """
    found = governing_finding(case)
    if found is None:
        if case.max_von_mises is None:
            return ""
        text = f"von Mises {quantity(case.max_von_mises / 1e6, 'MPa', units)}"
        if case.max_at_z is not None and case.max_at_xy is not None:
            text += f" at {place(case.max_at_z, case.max_at_xy, units)}"
        return text
    value = quantity(found.value, found.unit, units)
    return f"{short_name(found.criterion)} {value} at {place(found.z, found.xy, units)}"


def finding_table(result: MastResult, units: System) -> Table | None:
    """Every criterion of every load case; None where von Mises stress is all there is."""
    if not several_criteria(result.cases):
        return None
    rows: list[list[Cell]] = []
    for case in result.cases:
        for k, f in enumerate(case.findings):
            size = factor(f.unit, units)
            rows.append(
                [
                    breakable(case.case.name) if k == 0 else "",
                    short_name(f.criterion),
                    breakable(what_and_where(f)),
                    number(f.value * size),
                    number(None if f.limit is None else f.limit * size),
                    unit_label(f.unit, units) or "–",
                    place(f.z, f.xy, units),
                    _used(f),
                ]
            )
    return table(
        [
            "case",
            "criterion",
            "material, place",
            "value",
            "limit",
            "unit",
            f"z (x, y) {unit_label('mm', units)}",
            "used",
        ],
        "lllrrlrl",
        rows,
        (1.15, 1.3, 4.9, 0.6, 0.55, 0.45, 1.45, 0.7),
    )


def finding_part(result: MastResult, units: System) -> dict[str, Any]:
    """The table of findings for a page, and the material, where every row is of the same one."""
    made = finding_table(result, units)
    materials = {f.material for c in result.cases for f in c.findings}
    alone = f"{breakable(next(iter(materials)))}, " if len(materials) == 1 else None
    if made is None or alone is None or not all(row[2].startswith(alone) for row in made["rows"]):
        return {"table": made, "material": ""}
    rows = [[*row[:2], row[2].removeprefix(alone), *row[3:]] for row in made["rows"]]
    columns = ["place" if c == "material, place" else c for c in made["columns"]]
    return {"table": made | {"rows": rows, "columns": columns}, "material": alone.removesuffix(", ")}


def _used(f: Finding) -> Cell:
    if f.utilisation is None:
        return {"t": "not judged", "mood": "open"}
    return {"t": fixed(f.utilisation, 2), "mood": "bad" if f.utilisation > 1 else "plain"}
