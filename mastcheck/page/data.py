"""The data block of the page: what the live solve needs, and what the full check found. SI units."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Any, cast

import shapely

from mastcheck.checks.coupling import worst_coupling
from mastcheck.checks.result import CaseResult, Comparison, MastResult
from mastcheck.checks.thickness import beyond_range
from mastcheck.checks.water import drag_at
from mastcheck.page.beam_data import beam_data, load_data
from mastcheck.page.drag_data import drag_data
from mastcheck.page.strength_data import strength_levels
from mastcheck.page.text import LONGEST, plain
from mastcheck.page.told import Told

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
SHORTEST, LONGEST_MAST = 0.5, 1.3
"""Lengths offered, as multiples of the file's: beyond them a stretched section is no design."""
USUAL_SPEEDS = (3.0, 12.0)
"""Speeds offered at least [m/s]; those of a job that states none."""
OUTLINE_TOLERANCE = 5e-5
"""How far a drawn outline may stray from the section's own [m]; it is drawn, never computed with."""


class RoomError(ValueError):
    """More masts than a page has room for."""


def page_data(comparison: Comparison, told: Told, budget: int) -> dict[str, Any]:
    """Everything the script is given, as plain values that JSON can hold.

    Args:
        comparison: checked masts.
        told: words on each of them.
        budget: bytes that the stress fields of all masts together may take.

    Raises: RoomError when the stress fields cannot be held in the budget.
    """
    masts = comparison.masts
    strengths = shared_out(masts, budget)
    return {
        "document": told.document,
        "version": told.version,
        "units": told.units,
        "speed": default_speed(masts),
        "speeds": speed_range(masts),
        "masts": [
            {
                **mast_data(m, i, strengths[i]),
                "verdict": {"state": t.state, "word": plain(t.word.lower())},
            }
            for i, (m, t) in enumerate(zip(masts, told.masts, strict=True))
        ],
    }


def shared_out(masts: Sequence[MastResult], budget: int) -> list[Any]:
    """Stress fields of all masts in so many bytes of JSON.

    Each begins with its fullest picture; while they do not fit, the largest steps down.

    Raises: RoomError when not even the leanest of them fit.
    """
    levels = [strength_levels(m) for m in masts]
    taken = [next(level) for level in levels]
    sizes = [_size(data) for data in taken]
    steps = set(range(len(masts)))
    while sum(sizes) > budget:
        if not steps:
            raise RoomError(
                f"the stresses of {len(masts)} masts take {sum(sizes)} bytes, and there is room for"
                f" {max(budget, 0)}"
            )
        i = max(steps, key=lambda k: sizes[k])
        leaner = next(levels[i], None)
        if leaner is None:
            steps.remove(i)
        else:
            taken[i], sizes[i] = leaner, _size(leaner)
    return taken


def _size(data: Any) -> int:
    return len(json.dumps(data, separators=(",", ":")))


def mast_data(result: MastResult, index: int, strength: Any) -> dict[str, Any]:
    """The block of one mast; ``strength``: its stress fields."""
    job = result.job
    mast, coupling, loads = job.mast, worst_coupling(result.sections), load_data(result)
    cases = cast("list[dict[str, Any]]", loads["cases"])
    return {
        **loads,
        "letter": letter(index),
        "name": plain(mast.name, LONGEST),
        "length_min": SHORTEST * mast.length,
        "length_max": LONGEST_MAST * mast.length,
        "cases": [{**case, "title": plain(case["name"], 60)} for case in cases],
        "limits": [
            {"quantity": limit.quantity.value, "case": limit.case, "maximum": limit.maximum}
            for limit in job.limits
        ],
        "coupling": None if coupling is None else coupling.ratio,
        "beyond": list(beyond_range(mast)),
        "stations": [{"at": s.at, "chord": s.chord, "thickness": s.thickness} for s in mast.stations],
        "tip_outline": tip_outline(result),
        "checked": checked(result),
        "beam": beam_data(result),
        "strength": strength,
        "drag": drag_data(result),
    }


def letter(index: int) -> str:
    """The letter a mast goes by."""
    return LETTERS[index % 26]


def checked(result: MastResult) -> dict[str, Any]:
    """What the full check found at the file's own length and rider."""
    speed = default_speed([result])
    return {
        "mass": result.mass,
        "speed": speed,
        "drag": drag_at(result, speed),
        "cases": [case_found(c) for c in result.cases],
    }


def case_found(case: CaseResult) -> dict[str, Any]:
    """Movement, stability and utilisation of one case; numbers without end as the word 'inf'."""
    tip = case.tip
    return {
        "stable": case.stable,
        "side": None if tip is None else tip.side,
        "fore_aft": None if tip is None else tip.fore_aft,
        "twist": None if tip is None else tip.twist,
        "amplification": number(case.amplification),
        "buckling": number(case.buckling_factor),
        "flutter": number(case.flutter_factor),
        "utilisation": number(case.utilisation),
        "max_von_mises": case.max_von_mises,
    }


def number(value: float | None) -> float | str | None:
    """A number JSON can hold.

    >>> number(1.5), number(math.inf), number(None)
    (1.5, 'inf', None)
    """
    return "inf" if value is not None and math.isinf(value) else value


def tip_outline(result: MastResult) -> list[list[float]]:
    """Outer contour of the last solved section [m, section axes], for drawing how far it turns."""
    whole = shapely.union_all([r.polygon.buffer(1e-6) for r in result.sections[-1].regions])
    parts = getattr(whole, "geoms", [whole])
    outer = max(parts, key=lambda p: float(p.area)).exterior.simplify(OUTLINE_TOLERANCE)
    return [[round(x, 5), round(y, 5)] for x, y in outer.coords]


def default_speed(masts: Sequence[MastResult]) -> float:
    """The speed [m/s] at which drag is first shown: that of the first mast's turn, if it is in range."""
    job = masts[0].job
    slow, fast = job.speeds
    return min(max(job.conditions.turn_speed, slow), fast)


def speed_range(masts: Sequence[MastResult]) -> list[float]:
    """Slowest and fastest [m/s] offered: all that any mast was told for, and the usual range."""
    every = [USUAL_SPEEDS, *(m.job.speeds for m in masts)]
    return [min(s for s, _ in every), max(f for _, f in every)]
