"""Both sides of the choice between masts: what stiffness costs in the water, in rows and in plain words.

Nothing here is computed anew: rows and sentences are read off checked masts. The sentences are rules of
thumb about ratios; they name the numbers they rest on, and are no advice to ride a mast that fails.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from mastcheck.checks.result import MastResult, Trade, Verdict
from mastcheck.checks.water import drag_at
from mastcheck.checks.water_result import WaterResult

Row = tuple[str, str, list[float | None]]

ALIKE = 0.02
"""Relative difference below which two masts count as alike."""
TO_SPARE = 0.6
"""Utilisation below which a mast is said to have strength to spare: our own rule."""
DRY = 0.25
"""Share of the length, from the base, that must fly clear for its width to be called free."""


def trade_rows(results: Sequence[MastResult]) -> list[Row]:
    """Rows of the water side for masts side by side; no row where it was not looked at."""
    waters = [r.water for r in results]
    known = [w for w in waters if w is not None]
    if len(known) < len(results) or not known:
        return []
    rows: list[Row] = []
    for speed in common_speeds(results):
        drag = [drag_at(r, speed) for r in results]
        rows += [
            (f"drag at {speed:.3g} m/s", "N", drag),
            (f"power at {speed:.3g} m/s", "W", [None if d is None else d * speed for d in drag]),
        ]
    rows += [
        ("wet side area", "m²", [w.side.tracking.area.side for w in known]),
        ("depth of its centre", "m", [w.side.tracking.area.centre for w in known]),
        *_at_turn(results, known),
        ("twist under 10 N·m of the feet", "deg", [_degrees(w.side.yaw.feet_lag) for w in known]),
        ("time the wing takes to follow", "ms", [_follows(r) for r in results]),
        ("bank until rail or wing tip meets the water", "deg", [_least_bank(w) for w in known]),
        ("swing inertia about the board", "kg·m²", [w.side.handling.swing_inertia for w in known]),
    ]
    if any(r.job.price is not None for r in results):
        rows.append(_price(results))
    return rows


def common_speeds(results: Sequence[MastResult]) -> tuple[float, ...]:
    """Slowest and fastest speed [m/s] that all masts were looked at for; none where they share none."""
    slow = max(r.job.speeds[0] for r in results)
    fast = min(r.job.speeds[1] for r in results)
    return () if slow > fast else (slow,) if slow == fast else (slow, fast)


def trade(results: Sequence[MastResult]) -> Trade | None:
    """For whom each mast is, against the first (the first against the second), and what to try next."""
    if len(results) < 2 or any(r.water is None for r in results):
        return None
    first = results[0]
    suits = [_suits(first, results[1]), *(_suits(other, first) for other in results[1:])]
    return Trade(suits=tuple(suits), next=_next(results))


def _suits(mast: MastResult, other: MastResult) -> str:
    name = mast.job.mast.name
    better = [words for words, ratio in _sides(mast, other) if ratio < 1 - ALIKE]
    if better:
        suits = f"for {_whom(mast, other)}: against {other.job.mast.name} it {_listed(better)}."
    else:
        suits = f"no better than {other.job.mast.name} in anything that was looked at."
    if mast.failed:
        made = f"; made to hold, it would be {suits}" if better else "."
        return f"{name} is for nobody as it stands: it fails {_failing(mast)} for this rider{made}"
    return f"{name} is {suits}"


def _sides(mast: MastResult, other: MastResult) -> list[tuple[str, float]]:
    """What may speak for a mast, with its ratio to the other: below 1 is better."""
    a, b = mast.stiffness, other.stiffness
    out = [
        _said("twists {} less", a.twist_deg_per_10Nm, b.twist_deg_per_10Nm),
        _said("bends {} less sideways", a.side_mm_per_100N, b.side_mm_per_100N),
        _said("weighs {} less", mast.mass, other.mass),
    ]
    speeds = common_speeds((mast, other))
    if speeds:
        drags = [drag_at(r, speeds[-1]) for r in (mast, other)]
        out.append(_said(f"drags {{}} less at {speeds[-1]:.3g} m/s", *drags))
    if mast.water is not None and other.water is not None:
        areas = [w.side.tracking.area.side for w in (mast.water, other.water)]
        out.append(_said("has {} less side area in the water to be turned", *areas))
    return [(words, ratio) for words, ratio in out if ratio is not None]


def _whom(mast: MastResult, other: MastResult) -> str:
    a, b = mast.stiffness, other.stiffness
    stiffer = a.twist_deg_per_10Nm < b.twist_deg_per_10Nm * (1 - ALIKE)
    stiffer |= a.side_mm_per_100N < b.side_mm_per_100N * (1 - ALIKE)
    easier = _wet(mast) < _wet(other) * (1 - ALIKE)
    if stiffer and easier:
        return "both the heavier rider and the one who turns a lot"
    if stiffer:
        return "the heavier or stronger rider, a larger wing, and who wants to feel no twist"
    if easier:
        return "the lighter rider who turns a lot and gives up stiffness for it"
    return "who counts the rest"


def _next(results: Sequence[MastResult]) -> str:
    failing = [r for r in results if r.failed]
    if len(failing) == len(results):
        return (
            "Next: none holds for this rider. Try a shorter length, or let the tool size wall and chord"
            " (mastcheck size)."
        )
    if failing:
        names = _listed([r.job.mast.name for r in failing])
        return f"Next: {names} would need a thicker wall, a shorter length or a lighter rider to hold."
    spare = [r for r in results if (u := _used(r)) is not None and u < TO_SPARE]
    if spare:
        least = min(spare, key=lambda r: _used(r) or 0.0)
        return (
            f"Next: {least.job.mast.name} uses {100 * (_used(least) or 0):.0f} % of its strength: a"
            f" thinner wall or a narrower tip would save weight and drag.{_clear(results)}"
        )
    return (
        "Next: change one size at a time and see what it buys (mastcheck check --sensitivity)."
        f"{_clear(results)}"
    )


def _clear(results: Sequence[MastResult]) -> str:
    """That a base above the water is free to be wide."""
    dry = min(1 - r.job.wet for r in results)
    if dry < DRY:
        return ""
    return (
        f" The first {100 * dry:.0f} % of the length flies clear at this ride height: width there"
        " stiffens and adds no drag."
    )


def _at_turn(results: Sequence[MastResult], known: Sequence[WaterResult]) -> list[Row]:
    """Side force and resistance to turning, where all masts turn at one speed."""
    speeds = {r.job.conditions.turn_speed for r in results}
    if len(speeds) > 1:
        return []
    speed = speeds.pop()
    track = [w.side.tracking for w in known]
    at = [int(np.abs(t.speeds - speed).argmin()) for t in track]
    pairs = list(zip(track, at, strict=True))
    side: list[float | None] = [float(t.side_per_rad[i]) * math.radians(1) for t, i in pairs]
    damping: list[float | None] = [float(t.yaw_damping[i]) * math.radians(1) for t, i in pairs]
    return [
        (f"side force at {speed:.3g} m/s", "N per deg of leeway", side),
        (f"resistance to turning at {speed:.3g} m/s", "N·m per deg/s", damping),
    ]


def _price(results: Sequence[MastResult]) -> Row:
    """Prices in the first currency stated; None where a mast states none, or another."""
    prices = [r.job.price for r in results]
    currency = next(p[1] for p in prices if p is not None)
    return ("price", currency, [p[0] if p is not None and p[1] == currency else None for p in prices])


def _least_bank(water: WaterResult) -> float | None:
    found = [b for b in (water.side.clearance.rail_bank, water.side.clearance.tip_bank) if b is not None]
    return math.degrees(min(found)) if found else None


def _wet(result: MastResult) -> float:
    return 0.0 if result.water is None else result.water.side.tracking.area.side


def _used(result: MastResult) -> float | None:
    known = [
        c.utilisation
        for c in result.checks
        if c.verdict is not Verdict.REPORT and c.utilisation is not None
    ]
    return max(known, default=None)


def _failing(result: MastResult) -> str:
    names = dict.fromkeys(c.case or c.name for c in result.checks if c.verdict is Verdict.FAIL)
    return _listed(list(names))


def _said(words: str, value: float | None, other: float | None) -> tuple[str, float | None]:
    if not value or not other:
        return "", None
    return words.format(f"{100 * (1 - value / other):.0f} %"), value / other


def _listed(items: Sequence[str]) -> str:
    """Items as a sentence lists them.

    >>> _listed(["a", "b", "c"])
    'a, b and c'
    """
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def _degrees(value: float) -> float:
    return math.degrees(value)


def _follows(result: MastResult) -> float | None:
    """Time [ms]; None for a bare mast, which no wing follows."""
    time = None if result.water is None else result.water.side.yaw.response_time
    return None if time is None or result.job.foil is None else 1e3 * time
