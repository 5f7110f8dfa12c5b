"""The report on two pages: the answer, every caution, the main numbers and what they rest on."""

from __future__ import annotations

from typing import Any

from mastcheck.checks.result import Comparison
from mastcheck.report.display import System
from mastcheck.report.drawings import Drawing
from mastcheck.report.pictures import picture
from mastcheck.report.results import ratio_tables
from mastcheck.report.station_figures import sections

BRIEF_PAGES = 2


def _level(scale: float, *drop: str, dense: bool, recipes: bool, cases: bool) -> dict[str, Any]:
    return {"scale": scale, "dense": dense, "recipes": recipes, "cases": cases, "drop": list(drop)}


TIGHTNESS: tuple[dict[str, Any], ...] = (
    _level(1.0, dense=False, recipes=True, cases=True),
    _level(1.0, dense=False, recipes=True, cases=False),
    _level(0.9, dense=False, recipes=True, cases=False),
    _level(0.8, dense=True, recipes=True, cases=False),
    _level(0.8, dense=True, recipes=False, cases=False),
    _level(0.8, "deflected", dense=True, recipes=False, cases=False),
    _level(0.7, "deflected", dense=True, recipes=False, cases=False),
    _level(0.7, "deflected", "utilisation", dense=True, recipes=False, cases=False),
    _level(0.7, "deflected", "utilisation", "sections", dense=True, recipes=False, cases=False),
)
"""How the pages are filled, the first that fits: size of figures, small words,
how each mast is described, the load cases one by one, figures left out.

The cautions are in every one. A figure that is left out is named as such.
"""

_OWN_WORDS = "the file says"
"""How a note begins that repeats the mast file's words: no assumption, and left to the whole report."""

_KEY_ROWS = (
    "length",
    "mass",
    "sideways",
    "fore-aft",
    "twist",
    "torsion",
    "side area",
    "largest utilisation",
    "least buckling factor",
    "share of joints",
    "drag at",
    "bank until",
)
"""Rows of the comparison that a brief report shows, by how their names begin."""


def brief_content(comparison: Comparison, data: dict[str, Any], units: System) -> dict[str, Any]:
    """What the two pages need, out of what the whole report says (``content.content``)."""
    drawn = data["pictures"]
    used = "utilisation" if "utilisation" in drawn else "utilisation by case"
    shown = {key: drawn[name] for key, name in (("deflected", "deflected"), ("utilisation", used))
             if name in drawn}  # fmt: skip
    whole = data["pictures"]["sections"]
    small = Drawing(
        sections(comparison.masts, units=units, compact=True), whole["alt"], whole["caption"]
    )
    return data | {
        "pictures": {"sections": picture(small), **shown},
        "ratios": ratio_tables(comparison, units, _KEY_ROWS),
        "assumed": "; ".join(n for n in data["notes"] if not n.startswith(_OWN_WORDS)),
    }
