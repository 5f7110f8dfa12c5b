"""The ``tolerances`` key of a mast's results."""

from __future__ import annotations

from typing import Any

from mastcheck.checks.tolerance_result import Band, Chance, Spread, TolerancesResult
from mastcheck.scatter import COVERAGE, Tolerance


def tolerances_json(found: TolerancesResult) -> dict[str, Any]:
    """Numbers in the units they name; what has no end is null."""
    names = [str(t.quantity) for t in found.tolerances]
    out: dict[str, Any] = {
        "coverage": COVERAGE,
        "inputs": [_tolerance(t) for t in found.tolerances],
        "bands": [_band(band, names) for band in found.bands],
        "samples": None,
    }
    if found.samples and found.any_limit is not None:
        out["samples"] = {
            "count": found.samples,
            "seed": found.seed,
            "refused": found.refused,
            "any_limit": _chance(found.any_limit),
            "limits": [_chance(c) for c in found.chances],
        }
    return out


def _tolerance(t: Tolerance) -> dict[str, Any]:
    return {
        "quantity": str(t.quantity),
        "limit": t.limit if t.relative else t.limit * 1e3,
        "unit": "share" if t.relative else "mm",
        "law": str(t.law),
        "deviation_in_limits": t.deviation,
        "source": str(t.source),
        "grade": str(t.source.grade),
    }


def _band(band: Band, names: list[str]) -> dict[str, Any]:
    return {
        "name": band.name,
        "case": band.case,
        "unit": band.unit,
        "value": band.value,
        "low": band.low,
        "high": band.high,
        "worst_case": band.worst,
        "change_at_upper_limit": dict(zip(names, band.changes, strict=True)),
        "sampled": None if band.spread is None else _spread(band.spread, band, names),
    }


def _spread(s: Spread, band: Band, names: list[str]) -> dict[str, Any]:
    own = s.importance
    first, total = (
        None if shares is None else dict(zip(names, shares, strict=True))
        for shares in (own.first, own.total)
    )
    return {
        "low": s.low,
        "median": s.median,
        "high": s.high,
        "mean": s.mean,
        "deviation": s.deviation,
        "count": s.count,
        "low_between": s.low_between,
        "high_between": s.high_between,
        "linear_differs": band.differs,
        "first_order": first,
        "total": total,
        "unexplained": own.error,
    }


def _chance(c: Chance) -> dict[str, Any]:
    return {
        "name": c.name,
        "case": c.case,
        "used": c.used,
        "exceeded": c.exceeded,
        "count": c.count,
        "probability_low": c.low,
        "probability_high": c.high,
    }
