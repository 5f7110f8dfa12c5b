"""Readings of one gauge left where it was: their common zero, hysteresis and zero shift."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from mastcheck.bench.readings import Direction, Gauge, GaugeKind, Phase, Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Readings (their places in the list) that share a gauge and its zero.

    ``zeroed``: some were taken without load. ``range``: largest less smallest reading.
    ``hysteresis``: mean of unloading less loading at the same load, None where
    nothing was read both ways, from ``pairs`` of readings; ``lags``: whether two pairs or more
    agree on it, so that it is no single slip of the pen. ``zero_shift``: last less first reading
    without load, None with fewer than two. [m, rad]
    """

    gauge: Gauge
    run: str
    repeat: str
    rows: tuple[int, ...]
    zeroed: bool
    range: float
    hysteresis: float | None
    pairs: int
    lags: bool
    zero_shift: float | None


def series_of(readings: Sequence[Reading]) -> tuple[Series, ...]:
    """Readings by run, gauge, and by repeat where that repeat has a reading without load of its own."""
    own_zero = {(r.run, r.gauge, r.repeat) for r in readings if r.amount == 0}
    groups: dict[Hashable, list[int]] = {}
    for i, r in enumerate(readings):
        repeat = r.repeat if (r.run, r.gauge, r.repeat) in own_zero else ""
        groups.setdefault((r.run, r.gauge, repeat), []).append(i)
    return tuple(_series(readings, rows) for rows in groups.values())


def _series(readings: Sequence[Reading], rows: list[int]) -> Series:
    own = [readings[i] for i in rows]
    zeros = [r.value for r in own if r.amount == 0]
    values = [r.value for r in own]
    up: dict[Hashable, list[float]] = {}
    down: dict[Hashable, list[float]] = {}
    for r in own:
        if r.amount != 0:
            where = up if r.phase is Phase.LOADING else down
            where.setdefault((r.load, r.amount, r.repeat), []).append(r.value * _sense(r))
    both = [key for key in up if key in down]
    gaps = [float(np.mean(down[key]) - np.mean(up[key])) for key in both]
    return Series(
        gauge=own[0].gauge,
        run=own[0].run,
        repeat=own[0].repeat if len({r.repeat for r in own}) == 1 else "",
        rows=tuple(rows),
        zeroed=any(r.amount == 0 for r in own),
        range=max(values) - min(values),
        hysteresis=float(np.mean(gaps)) if gaps else None,
        pairs=len(both),
        lags=len(gaps) > 1 and min(np.array(gaps) / (np.mean(gaps) or 1.0)) > 1 / 3,
        zero_shift=zeros[-1] - zeros[0] if len(zeros) > 1 else None,
    )


def _sense(r: Reading) -> float:
    """Which way a load turns or moves the gauge's own way: by its torque where that is what is read."""
    if r.gauge.kind is GaugeKind.TWIST and r.load.direction is not Direction.TORQUE:
        arm = r.load.arm if r.load.direction is Direction.SIDE else -r.load.arm
        return float(np.sign(r.amount * arm)) or 1.0
    return float(np.sign(r.amount)) or 1.0
