"""Touching parts of different galvanic groups, and edge radii, in tables, words and JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from mastcheck.checks.edge_result import KNIFE, Change, EdgeResult
from mastcheck.checks.galvanic import Pair, Risk
from mastcheck.checks.result import MastResult
from mastcheck.report.cells import Cell, Table, called, letters, table
from mastcheck.report.display import System, breakable, factor, fixed, number, unit_label

PAIR_WORDS = (
    "The part named second is the baser one. Driving voltage: between corrosion potentials in flowing "
    "sea water; it orders the pair and says nothing of how fast. Risk words are common practice with no "
    "source, and are no verdict. The care of each pair stands among the cautions."
)
EDGE_WORDS = (
    "Radii of the largest disc inside the section as built that comes within 0.02 mm, and a hundredth of"
    " itself, of the edge, as a radius gauge finds them: true to 1 % for round edges; an oval nose is"
    " up to a fifth sharper right at its end. Sharp: under 0.05 mm."
)

_MOOD = {Risk.HIGH: "bad", Risk.MODERATE: "open", Risk.CREVICE: "open", Risk.LOW: "good"}


def pairs_json(pairs: Sequence[Pair]) -> list[dict[str, Any]]:
    """The ``mixed_metals`` key of a mast."""
    return [
        {
            "parts": [part.name for part in p.parts],
            "materials": [part.material for part in p.parts],
            "groups": list(p.groups),
            "driving_voltage_V": list(p.volts),
            "driving_voltage_in_crevices_V": None if p.crevice_volts is None else list(p.crevice_volts),
            "corrodes": None if p.corrodes is None else p.corrodes.name,
            "risk": str(p.risk),
            "corroding_part_is_small": p.small_anode,
            "care": p.care,
        }
        for p in pairs
    ]


def edges_json(found: EdgeResult | None) -> dict[str, Any] | None:
    """The ``edges`` key of a mast."""
    if found is None:
        return None
    rounding = found.rounding
    return {
        "limit_mm": None if found.limit is None else found.limit * 1e3,
        "stations": [
            {
                "z_m": r.z,
                "leading_edge_radius_mm": r.nose * 1e3,
                "trailing_edge_radius_mm": r.tail * 1e3,
            }
            for r in found.radii
        ],
        "rounding": None
        if rounding is None
        else {
            "z_m": rounding.z,
            "radius_mm": rounding.radius * 1e3,
            "chord_filed_off_mm": rounding.shorter * 1e3,
            "filed": _change(rounding.filed),
            "redrawn_at_same_chord": _change(rounding.redrawn),
        },
        "not_computed": found.not_computed,
    }


def contact_sections(masts: Sequence[MastResult]) -> list[dict[str, Any]]:
    """What the page shows of each mast's mixed metals and edges; none where there is nothing."""
    out = []
    for letter, m in zip(letters(masts), masts, strict=True):
        pairs = pair_table(m)
        if pairs is not None or m.edges is not None:
            out.append(
                {
                    "title": f"{letter}  {called(m)}",
                    "pairs": pairs,
                    "pair_words": "" if pairs is None else PAIR_WORDS,
                }
            )
    return out


def edge_part(masts: Sequence[MastResult], units: System) -> tuple[Table | None, list[str]]:
    """Edge radii of all masts in one table, and the words that go with it; none where not measured."""
    tables = [(n, t) for n, m in zip(letters(masts), masts, strict=True) if (t := edge_table(m, units))]
    if not tables:
        return None, []
    rows: list[list[Cell]] = [
        [name if k == 0 else "", *row] for name, t in tables for k, row in enumerate(t["rows"])
    ]
    silent = [n for n, m in zip(letters(masts), masts, strict=True)
              if m.edges is not None and m.edges.limit is None]  # fmt: skip
    whose = "" if len(silent) == len(masts) else f" for {', '.join(silent)}"
    words = [EDGE_WORDS]
    if silent:
        words = [f"{EDGE_WORDS} No least radius is set{whose} ([limits] edge_radius): not judged."]
    return table(["", *tables[0][1]["columns"]], "lrrr", rows, (0.3, 1, 2, 2)), words


def pair_table(result: MastResult) -> Table | None:
    """Every touching pair with its risk; None where there is none."""
    if not result.pairs:
        return None
    rows: list[list[Cell]] = [
        [
            breakable(p.parts[0].words),
            breakable(p.parts[1].words),
            " – ".join(fixed(v, 2) for v in p.volts),
            "neither" if p.corrodes is None else p.groups[1],
            {"t": str(p.risk), "mood": _MOOD[p.risk]},
            {None: "–", True: "yes", False: "no"}[p.small_anode],
        ]
        for p in result.pairs
    ]
    columns = ["part", "on part", "driving voltage [V]", "baser", "risk", "baser one small"]
    return table(columns, "llrlll", rows, (2.4, 2.4, 1.3, 1.2, 0.9, 0.9))


def edge_table(result: MastResult, units: System) -> Table | None:
    """Edge radii at the mast file's stations; None where they were not measured."""
    if result.edges is None:
        return None
    mm, label = factor("mm", units), unit_label("mm", units)
    own = [s.at * result.job.mast.length for s in result.job.mast.stations]
    rows: list[list[Cell]] = [
        [
            number(r.z * 1e3 * mm),
            *("sharp" if v < KNIFE else number(v * 1e3 * mm) for v in (r.nose, r.tail)),
        ]
        for r in result.edges.radii
        if min(abs(r.z - z) for z in own) < 1e-9
    ]
    columns = [f"z {label}", f"leading edge radius {label}", f"trailing edge radius {label}"]
    return table(columns, "rrr", rows, (1, 2, 2))


def _change(change: Change | None) -> dict[str, float] | None:
    if change is None:
        return None
    return {
        "EI_side_percent": 100 * change.EI_side,
        "EI_fore_aft_percent": 100 * change.EI_fore_aft,
        "GJ_percent": 100 * change.GJ,
        "mass_percent": 100 * change.mass,
    }
