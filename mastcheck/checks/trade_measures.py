"""What is weighed between masts: what each gains and what it pays, read off checked masts.

A measure says which way is better. Where masts differ in what a rider may want (a mast that tracks
resists turning too), both measures stand, one on each side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.result import MastResult, Verdict
from mastcheck.checks.water import drag_at
from mastcheck.checks.water_result import WaterResult
from mastcheck.limit import Quantity

FloatArray = NDArray[np.float64]

TURNING = math.radians(90)
"""Rate of turning [rad/s] at which the moment against it is told: a brisk turn."""
_OWN_LIMITS = tuple(q.value.replace("_", " ") for q in Quantity)


class Side(StrEnum):
    """Column of the trade."""

    GAIN = "gain"
    PAY = "pay"


class Stand(StrEnum):
    """Whether a mast holds all that was judged, fails, or is not judged in part."""

    HOLDS = "holds"
    FAILS = "fails"
    UNJUDGED = "unjudged"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One quantity of the trade over the masts.

    ``key`` names it for rules, ``name`` for people; ``unit`` as printed. ``values``: None where there is
    none, and ``missing`` says why, by mast. ``less``: whether less is better. ``limit``: the value that
    must not be exceeded. ``words``: how a smaller and a greater value are said, a percentage in each.
    """

    key: str
    name: str
    unit: str
    side: Side
    values: tuple[float | None, ...]
    less: bool = True
    missing: tuple[str, ...] = ()
    limit: float | None = None
    words: tuple[str, str] = ("", "")

    def merit(self, mast: int, other: int) -> float | None:
        """How many times as good one mast is as another; None where a value is missing or nought."""
        a, b = self.values[mast], self.values[other]
        if not a or not b or not math.isfinite(a) or not math.isfinite(b):
            return None
        return b / a if self.less else a / b


def measures(results: Sequence[MastResult]) -> tuple[Measure, ...]:
    """All that can be weighed between these masts, gains first; none where no water was looked at."""
    waters = [r.water for r in results]
    known = [w for w in waters if w is not None]
    if not known or len(known) < len(results):
        return ()
    found = (
        Measure(
            key="side", name="bends sideways", unit="mm per 100 N", side=Side.GAIN,
            values=tuple(r.stiffness.side_mm_per_100N for r in results),
            words=("bends {} less sideways", "bends {} more sideways"),
        ),
        Measure(
            key="twist", name="twists", unit="deg per 10 N·m", side=Side.GAIN,
            values=tuple(r.stiffness.twist_deg_per_10Nm for r in results),
            words=("twists {} less", "twists {} more"),
        ),
        _strength(results),
        Measure(
            key="lean", name="leans at most, at its best ride height", unit="deg", side=Side.GAIN,
            less=False, values=tuple(math.degrees(w.side.clearance.best_bank) for w in known),
            words=("can lean {} less at its best ride height",
                   "can lean {} further at its best ride height"),
        ),
        *_tracking(results, known),
        Measure(
            key="mass", name="mass", unit="kg", side=Side.PAY,
            values=tuple(r.mass for r in results),
            words=("weighs {} less", "weighs {} more"),
        ),
        *(_drag(results, speed) for speed in common_speeds(results)),
        *_turning(results, known),
        *_prices(results),
    )  # fmt: skip
    return tuple(m for m in found if any(v is not None and math.isfinite(v) for v in m.values))


def stand(result: MastResult) -> Stand:
    """Whether a mast holds; an unstable case fails, and a check without verdict is no pass."""
    if result.failed or any(not c.stable for c in result.cases):
        return Stand.FAILS
    verdicts = {c.verdict for c in result.checks}
    silent = any(not w.passed for w in result.quiver or ())
    if silent or Verdict.REPORT in verdicts or Verdict.PASS not in verdicts:
        return Stand.UNJUDGED
    return Stand.HOLDS


def used(result: MastResult, cases: frozenset[str] | None = None) -> float | None:
    """Largest share used of strength and stability, over all wings; limits of the file's own left out.

    Args:
        result: the checked mast.
        cases: names of the load cases to look at; None: all.

    Returns:
        None where a case is unstable or a part is not judged: the rest would flatter the mast.
    """
    asked = [
        c
        for c in result.checks
        if _of_strength(c.name) and (cases is None or not c.case or c.case in cases)
    ]
    if any(c.verdict is Verdict.REPORT or c.utilisation is None for c in asked):
        return None
    wings = result.quiver or ()
    if any(w.utilisation is None for w in wings):
        return None
    shares = [c.utilisation for c in asked if c.utilisation is not None]
    if cases is None:
        shares += [w.utilisation for w in wings if w.utilisation is not None]
    return max(shares, default=None)


def common_speeds(results: Sequence[MastResult]) -> tuple[float, ...]:
    """Slowest and fastest speed [m/s] that all masts were looked at for; none where they share none."""
    slow = max(r.job.speeds[0] for r in results)
    fast = min(r.job.speeds[1] for r in results)
    return () if slow > fast else (slow,) if slow == fast else (slow, fast)


def least_bank(water: WaterResult) -> float | None:
    """Bank [deg] at which the board's rail or a wing tip meets the water first; None: neither does."""
    found = [b for b in (water.side.clearance.rail_bank, water.side.clearance.tip_bank) if b is not None]
    return math.degrees(min(found)) if found else None


def turn_speed(results: Sequence[MastResult]) -> float | None:
    """Speed [m/s] of the turn, where all masts turn at one."""
    speeds = {r.job.conditions.turn_speed for r in results}
    return speeds.pop() if len(speeds) == 1 else None


def at_speed(water: WaterResult, values: FloatArray, speed: float) -> float:
    """The value at the speed [m/s] nearest to the one asked; every turn's own is looked at."""
    return float(values[int(np.abs(water.side.tracking.speeds - speed).argmin())])


def currencies(results: Sequence[MastResult]) -> tuple[str, ...]:
    """Currencies in which prices are stated, in the order of the masts."""
    return tuple(dict.fromkeys(r.job.price[1] for r in results if r.job.price is not None))


def priced(results: Sequence[MastResult], currency: str) -> tuple[float | None, ...]:
    """Prices in one currency; None for a mast without one."""
    prices = [r.job.price for r in results]
    return tuple(p[0] if p is not None and p[1] == currency else None for p in prices)


def _strength(results: Sequence[MastResult]) -> Measure:
    """Share of strength used in the cases all masts share."""
    names = [{c.case.name for c in r.cases} for r in results]
    shared = frozenset.intersection(*map(frozenset, names))
    return Measure(
        key="strength", name="strength used, at most", unit="", side=Side.GAIN, limit=1.0,
        values=tuple(used(r, shared) for r in results),
        missing=tuple(
            "unstable" if any(not c.stable for c in r.cases) else "not judged in full" for r in results
        ),
        words=("uses {} less of its strength", "uses {} more of its strength"),
    )  # fmt: skip


def _of_strength(name: str) -> bool:
    """Whether a check is of strength or stability, and no limit on movement that a file sets itself."""
    return not name.startswith(_OWN_LIMITS)


def _drag(results: Sequence[MastResult], speed: float) -> Measure:
    at = f"at {speed:.3g} m/s"
    return Measure(
        key=f"drag {speed:.3g}", name=f"drag {at}", unit="N", side=Side.PAY,
        values=tuple(drag_at(r, speed) for r in results),
        words=(f"drags {{}} less {at}", f"drags {{}} more {at}"),
    )  # fmt: skip


def _tracking(results: Sequence[MastResult], known: Sequence[WaterResult]) -> list[Measure]:
    speed = turn_speed(results)
    if speed is None:
        return []
    per_degree = [math.radians(1) * at_speed(w, w.side.tracking.side_per_rad, speed) for w in known]
    return [
        Measure(
            key="tracking", name=f"holds its track at {speed:.3g} m/s, per degree of leeway", unit="N",
            side=Side.GAIN, less=False, values=tuple(per_degree),
            words=("holds its track {} less", "holds its track {} more"),
        )
    ]  # fmt: skip


def _turning(results: Sequence[MastResult], known: Sequence[WaterResult]) -> list[Measure]:
    speed = turn_speed(results)
    if speed is None:
        return []
    moments = [TURNING * at_speed(w, w.side.tracking.yaw_damping, speed) for w in known]
    return [
        Measure(
            key="turning", name=f"resists turning at {speed:.3g} m/s and 90 deg/s", unit="N·m",
            side=Side.PAY, values=tuple(moments),
            words=("resists turning {} less", "resists turning {} more"),
        )
    ]  # fmt: skip


def _prices(results: Sequence[MastResult]) -> list[Measure]:
    """Prices in the first currency stated; others are told as they are, since none is converted."""
    return [
        Measure(
            key=f"price {currency}", name="price", unit=currency, side=Side.PAY,
            values=priced(results, currency),
            missing=tuple(
                "not stated" if r.job.price is None else f"{r.job.price[0]:g} {r.job.price[1]}"
                for r in results
            ),
            words=("costs {} less", "costs {} more"),
        )
        for currency in currencies(results)[:1]
    ]  # fmt: skip
