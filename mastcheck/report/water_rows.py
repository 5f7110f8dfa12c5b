"""Numbers of the water side by name, unit and band: what terminal and report both show."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.result import MastResult
from mastcheck.checks.water_result import WaterResult
from mastcheck.report.display import System, factor, given, number, unit_label
from mastcheck.water.model import Coefficient

Value = tuple[str, str, float | None, tuple[float, float] | None]
"""Name, unit, value and the band it lies in."""


def turn_speed(m: MastResult) -> float:
    """Speed [m/s] that tracking is told at: that of the turn."""
    return m.job.conditions.turn_speed


def shown_speeds(m: MastResult) -> list[float]:
    """Slowest, turn and fastest speed [m/s], each once, rising."""
    return sorted({*m.job.speeds, turn_speed(m)})


def at(w: WaterResult, values: NDArray[np.float64], speed: float) -> float:
    """Of values over the speeds (n,), the one at a speed that is among them (the nearest)."""
    return float(values[int(np.abs(w.side.drag.speeds - speed).argmin())])


def drag_rows(w: WaterResult, speed: float) -> list[Value]:
    """Each term of the drag, the total with its band, and the power, at one of the speeds."""
    drag = w.side.drag
    terms: list[Value] = [(name, "N", at(w, v, speed), None) for name, v in drag.terms.items()]
    band = at(w, drag.low, speed), at(w, drag.high, speed)
    return [
        *terms,
        ("total", "N", at(w, drag.total, speed), band),
        ("power", "W", at(w, drag.power, speed), (band[0] * speed, band[1] * speed)),
    ]


def tracking_rows(m: MastResult, w: WaterResult) -> list[Value]:
    """Side area, side force, stall and ventilation."""
    t, speed = w.side.tracking, turn_speed(m)
    per_degree = at(w, t.side_per_rad, speed) * math.radians(1)
    return [
        ("wet side area", "m²", t.area.side, None),
        ("its centre below the board", "mm", _mm(t.area.centre), None),
        ("side force per degree of leeway, turn speed", "N", per_degree, None),
        ("leeway at which the strut stalls", "deg", *_angle(t.stall_leeway)),
        ("leeway at which air may be drawn down", "deg", *_angle(t.ventilation_leeway)),
    ]


def turning_rows(w: WaterResult) -> list[Value]:
    """Twist by the feet, at the start of a turn, and the time to follow."""
    y = w.side.yaw
    rows: list[Value] = [
        (f"wing lags the board by, feet at {given(y.feet_torque)} N·m", "deg", _deg(y.feet_lag), None),
    ]
    if y.start_lag is not None:
        rows.append((f"wing lags as a turn of {given(y.turn_rate)} rad/s starts", "deg",
                     _deg(y.start_lag), None))  # fmt: skip
    # Of a bare mast, whose frequency no wing lowers, it would flatter.
    if y.response_time is not None and y.yaw_inertia is not None:
        rows.append(("wing follows after", "ms", y.response_time * 1e3, None))
    return rows


def clearance_rows(w: WaterResult) -> list[Value]:
    """Ride height, depth in a trough, bank (endless where rail or wing tip never meets the water)."""
    c = w.side.clearance
    return [
        ("ride height", "mm", c.ride_height * 1e3, None),
        ("ride heights clear of crests, wing deep in troughs", "mm", None,
         (c.lowest * 1e3, c.highest * 1e3)),
        ("wing below the surface in a trough", "mm", c.trough_depth * 1e3, None),
        ("bank at which the board's rail meets the water", "deg", _never(c.rail_bank), None),
        ("bank at which a wing tip meets the surface", "deg", _never(c.tip_bank), None),
        (f"most bank with neither, ride height {given(round(c.best_height * 1e3))} mm", "deg",
         _deg(c.best_bank), None),
    ]  # fmt: skip


def handling_rows(w: WaterResult) -> list[Value]:
    """Swing inertia, and the speed that carries."""
    h = w.side.handling
    rows: list[Value] = [("swing inertia about the board, in air", "kg·m²", h.swing_inertia, None)]
    if h.with_foil is not None:
        rows.append(("the same with the foil", "kg·m²", h.with_foil, None))
    return [
        *rows,
        ("wing carries rider and gear from", "m/s", w.carrying_speed, None),
        ("bubbles may form from, no leeway", "m/s", w.side.drag.cavitation_speed, None),
    ]


def value_words(row: Value, units: System, *, unit: bool = True) -> str:
    """The value with its band, and the unit it is shown in.

    >>> value_words(("ride heights", "mm", None, (150.0, 467.0)), "metric")
    '150 to 467 mm'
    >>> value_words(("stall", "deg", 12.0, (9.0, 15.0)), "metric")
    '12.0° (9.00 to 15.0)'
    """
    _, kind, value, band = row
    label = unit_label(kind, units)
    gap = "" if label == "°" else " "
    tail = f"{gap}{label}" if unit else ""
    ends = band_words(band, factor(kind, units))
    if value is None:
        if band is None:
            return "–"
        empty = " (none fits)" if band[0] > band[1] else ""
        return f"{ends}{tail}{empty}"
    if math.isinf(value):
        return "never"
    return f"{number(value * factor(kind, units))}{tail}" + (f" ({ends})" if band else "")


def band_words(band: tuple[float, float] | None, by: float) -> str:
    """Low to high."""
    return "" if band is None else f"{number(band[0] * by)} to {number(band[1] * by)}"


def _mm(value: float | None) -> float | None:
    return None if value is None else value * 1e3


def _deg(value: float | None) -> float | None:
    return None if value is None else math.degrees(value)


def _never(value: float | None) -> float:
    return math.inf if value is None else math.degrees(value)


def _angle(c: Coefficient | None) -> tuple[float | None, tuple[float, float] | None]:
    return (None, None) if c is None else (_deg(c.value), (math.degrees(c.low), math.degrees(c.high)))
