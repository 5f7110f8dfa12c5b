"""A sized mast as JSON: ``mastcheck-size/1``, units in the key names, finite numbers only."""

from __future__ import annotations

import json
import math
from typing import Any

from mastcheck.report.size import cautions, headline, remarks, starts
from mastcheck.search.size import agree
from mastcheck.search.size_designs import TARGET
from mastcheck.search.size_limits import Use
from mastcheck.search.size_result import Design, Sized
from mastcheck.search.size_space import Free
from mastcheck.search.variables import key_of
from mastcheck.units import Dimension

SCHEMA_NAME = "mastcheck-size/1"


def size_json(sized: Sized) -> str:
    """The result as JSON text, ending with a newline; what is not finite or not known is null."""
    free = {f.key: f for f in sized.free}
    whole: dict[str, Any] = {
        "schema": SCHEMA_NAME,
        "name": sized.job.mast.name,
        "file": sized.job.file,
        "input_sha256": sized.job.input_sha256,
        "length_m": sized.job.mast.length,
        "rider_kg": sized.job.rider.mass,
        "found": sized.found,
        "says": headline(sized, "metric"),
        "aimed_at_share_of_limits": TARGET,
        "sizes": [
            {
                "key": f.key,
                "unit": _unit(f),
                "as_given": _in_unit(f, f.now),
                "from": _in_unit(f, f.low),
                "to": _in_unit(f, f.high),
                "bounds_stated": f.stated,
            }
            for f in sized.free
        ],
        "as_given": _design(sized.given, free),
        "best": _design(sized.best, free),
        "rounded": _design(sized.rounded, free),
        "governing": [{**_use(g.use), "force": g.force} for g in sized.governing],
        "at_bounds": [
            {"key": b.key, "bound": "upper" if b.upper else "lower", "force": b.force}
            for b in sized.at_bounds
        ],
        "slope_left_unbalanced": _finite(sized.remainder),
        "stopped_by": sized.blocked,
        "steps": [
            {"key": s.key, "beyond_bounds": s.beyond, **(_design(s.design, free) or {})}
            for s in sized.steps
        ],
        "prices": [
            {"of": p.key, "step": p.step, "unit": "kg" if p.key == "rider" else "m", "mass_kg": p.mass}
            for p in sized.prices
        ],
        "runs": [
            {
                "start": _settings(run.start, free),
                "end": _design(run.end, free),
                "converged": run.converged,
            }
            for run in sized.runs
        ],
        "starts_agree": agree(sized),
        "designs_checked": sized.checks,
        "notes": [*starts(sized, "metric"), *remarks(sized), *sized.job.notes],
        "cautions": list(cautions(sized)),
    }
    return json.dumps(whole, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _unit(free: Free) -> str:
    return "deg" if key_of(free.key).dimension is Dimension.ANGLE else "m"


def _in_unit(free: Free, value: float) -> float:
    return math.degrees(value) if _unit(free) == "deg" else value


def _settings(design: Design, free: dict[str, Free]) -> dict[str, float]:
    return {key: _in_unit(free[key], value) for key, value in design.settings.items()}


def _design(design: Design | None, free: dict[str, Free]) -> dict[str, Any] | None:
    if design is None:
        return None
    worst = design.worst
    return {
        "settings": _settings(design, free),
        "mass_kg": _finite(design.mass),
        "holds": design.holds,
        "refused": design.refused,
        "worst": None if worst is None else _use(worst),
    }


def _use(use: Use) -> dict[str, Any]:
    return {
        "check": use.name[0],
        "case": use.name[1],
        "value": _finite(use.value),
        "limit": None if use.limit is None else _finite(use.limit),
        "unit": use.unit,
        "utilisation": _finite(use.used),
    }


def _finite(value: float) -> float | None:
    return value + 0.0 if math.isfinite(value) else None
