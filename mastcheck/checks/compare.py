"""Masts side by side, from their results alone."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np

from mastcheck.checks.quiver import governing_wing
from mastcheck.checks.result import Comparison, MastResult, Ratio
from mastcheck.checks.trade import trade, trade_rows
from mastcheck.section.model import SectionModel


def compare(results: Sequence[MastResult]) -> Comparison:
    """Compare checked masts; ratios are to the first.

    Raises: ValueError when there is no mast.
    """
    if not results:
        raise ValueError("nothing to compare: give one mast or more")
    rows: list[tuple[str, str, list[float | None]]] = [
        ("length", "m", [r.job.mast.length for r in results]),
        ("mass", "kg", [r.mass for r in results]),
    ]
    for where, at in (("base", 0.0), ("middle", 0.5), ("tip", 1.0)):
        here = [section_near(r, at).properties for r in results]
        rows += [
            (f"EI_side at {where}", "N·m²", [p.EIxx for p in here]),
            (f"EI_fore_aft at {where}", "N·m²", [p.EIyy for p in here]),
            (f"GJ at {where}", "N·m²", [p.GJ for p in here]),
        ]
    rows += [
        ("sideways", "mm per 100 N", [r.stiffness.side_mm_per_100N for r in results]),
        ("fore-aft", "mm per 100 N", [r.stiffness.fore_aft_mm_per_100N for r in results]),
        ("twist", "deg per 10 N·m", [r.stiffness.twist_deg_per_10Nm for r in results]),
        ("torsion", "N·m per deg", [r.stiffness.torsion_Nm_per_deg for r in results]),
        ("side area", "m²", [side_area(r) for r in results]),
        ("largest utilisation", "", [largest_utilisation(r) for r in results]),
        (
            "least buckling factor",
            "",
            [min((c.stability_factor for c in r.cases), default=None) for r in results],
        ),
    ]
    rows += _joint_shares(results)
    rows += trade_rows(results)
    return Comparison(
        masts=tuple(results),
        ratios=tuple(_row(*row) for row in rows),
        sentence=sentence(results),
        trade=trade(results),
    )


SHARE_CASE = "carve"
"""The case whose flex budget is compared."""


def _joint_shares(results: Sequence[MastResult]) -> list[tuple[str, str, list[float | None]]]:
    """Share of the joints in the tip side deflection; no row where no mast has joints described."""
    if all(r.joints is None for r in results):
        return []
    name = f"share of joints in tip side deflection ({SHARE_CASE})"
    return [(name, "%", [_joint_share(r) for r in results])]


def _joint_share(result: MastResult) -> float | None:
    """Percent; None where no joint is described, or the case is unstable or has no share to give."""
    budgets = () if result.joints is None else result.joints.budgets
    shares = [b.shares(1) for b in budgets if b.case == SHARE_CASE]
    if not shares or shares[0] is None:
        return None
    return 100 * max(0.0, 1 - float(shares[0][0])) if len(shares[0]) > 1 else 0.0


def section_near(result: MastResult, at: float) -> SectionModel:
    """The solved section nearest to a fraction of the length."""
    return result.sections[int(np.abs(result.z - at * result.job.mast.length).argmin())]


def case_ratios(results: Sequence[MastResult]) -> tuple[Ratio, ...]:
    """Tip movement, stress and utilisation of each case all masts share; None where unstable."""
    by_name = [{c.case.name: c for c in r.cases} for r in results]
    shared = [c.case.name for c in results[0].cases if all(c.case.name in names for names in by_name)]
    out = []
    for name in shared:
        cases = [names[name] for names in by_name]
        tips = [c.tip for c in cases]
        out += [
            _row(
                f"{name}: {words}", unit, [None if t is None else factor * getattr(t, key) for t in tips]
            )
            for words, key, unit, factor in _MOVEMENTS
        ]
        stress = [None if c.max_von_mises is None else c.max_von_mises / 1e6 for c in cases]
        out += [
            _row(f"{name}: amplification", "", [c.amplification for c in cases]),
            _row(f"{name}: stress", "MPa", stress),
            _row(f"{name}: utilisation", "", [c.utilisation for c in cases]),
        ]
    return tuple(out)


_MOVEMENTS = (
    ("side", "side", "mm", 1e3),
    ("fore-aft", "fore_aft", "mm", 1e3),
    ("roll", "roll", "deg", math.degrees(1)),
    ("pitch", "pitch", "deg", math.degrees(1)),
    ("twist", "twist", "deg", math.degrees(1)),
)
_NOISE = 1e-6  # a movement below this [mm, deg] is what arithmetic leaves, and has no ratio


def _row(name: str, unit: str, values: Sequence[float | None]) -> Ratio:
    shown = tuple(0.0 if v is not None and abs(v) < _NOISE else v for v in values)
    return Ratio(name=name, unit=unit, values=shown, ratios=tuple(_ratio(v, shown[0]) for v in shown))


def side_area(result: MastResult) -> float:
    """Side area of the blade [m²]: chord along the length, stations being linear."""
    s = result.job.mast.stations
    pairs = itertools.pairwise(s)
    return result.job.mast.length * sum((a.chord + b.chord) / 2 * (b.at - a.at) for a, b in pairs)


def largest_utilisation(result: MastResult) -> float | None:
    """Largest strength utilisation over the cases; None when any case has none."""
    values = [c.utilisation for c in result.cases]
    known = [v for v in values if v is not None]
    return max(known) if known and len(known) == len(values) else None


def sentence(results: Sequence[MastResult]) -> str:
    """Plain words: what the first mast costs and buys against each other one, and who holds."""
    if len(results) == 1:
        return _outcome(results[0])
    parts = [_against(results[0], other) for other in results[1:]]
    return " ".join([*parts, *(_outcome(r) for r in results)])


def _against(first: MastResult, other: MastResult) -> str:
    a, b = first.stiffness, other.stiffness
    name = first.job.mast.name
    return (
        f"Against {other.job.mast.name}, {name} "
        f"{_more(b.twist_deg_per_10Nm / a.twist_deg_per_10Nm, 'stiffer', 'softer')} in twist and "
        f"{_more(b.side_mm_per_100N / a.side_mm_per_100N, 'stiffer', 'softer')} sideways; for that, it "
        f"{_more(first.mass / other.mass, 'heavier', 'lighter')} and puts "
        f"{_share(_area_to_turn(first, other))} side area in the water to be turned."
    )


def _area_to_turn(first: MastResult, other: MastResult) -> float:
    """Ratio of the wet side areas; of the whole blades where the water was not looked at."""
    if first.water is not None and other.water is not None:
        wet, against = (w.side.tracking.area.side for w in (first.water, other.water))
        if wet and against:
            return wet / against
    return side_area(first) / side_area(other)


def _outcome(result: MastResult) -> str:
    failed = sorted({c.case for c in result.checks if c.verdict.value == "fail"})
    name = result.job.mast.name
    wing = governing_wing(result)
    several = wing is not None and len(result.quiver or ()) > 1
    if failed:
        by = f" with its governing wing {wing.name}" if wing and several else ""
        return f"{name} fails {', '.join(failed)}{by}."
    by = f" with all its wings, of which {wing.name} governs" if wing and several else ""
    if any(c.verdict.value == "report" for c in result.checks):
        return f"{name} exceeds no limit{by}, but part of it is not judged."
    return f"{name} holds every limit checked{by}."


def _more(ratio: float, above: str, below: str) -> str:
    if abs(ratio - 1) < 0.005:
        return f"is as {above.removesuffix('er')}" if above == "stiffer" else "weighs the same"
    return f"is {abs(ratio - 1) * 100:.0f} % {above if ratio > 1 else below}"


def _share(ratio: float) -> str:
    if abs(ratio - 1) < 0.005:
        return "the same"
    return f"{abs(ratio - 1) * 100:.0f} % {'more' if ratio > 1 else 'less'}"


def _ratio(value: float | None, base: float | None) -> float | None:
    return None if value is None or not base else value / base
