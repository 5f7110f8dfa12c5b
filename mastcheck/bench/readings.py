"""What is read on a bench: loads, gauges and readings, in SI units.

Down is positive. In a side test the chord lies level, port side down: a weight pulls toward +y, and
``arm`` is its distance aft of the stacking line (x). In a fore-aft test the trailing edge is down: a
weight pulls toward +x, and ``arm`` is to port (y). Twist is positive with the trailing edge going to
port, which is what a weight aft of the stacking line does in a side test.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

GRAVITY = 9.80665
"""Standard gravity [m/s²]: what a hung mass pulls with."""


class Direction(StrEnum):
    """Which way a load pulls; a torque is a pure couple about the mast's axis."""

    SIDE = "side"
    FORE_AFT = "fore-aft"
    TORQUE = "torque"


class GaugeKind(StrEnum):
    """What a gauge reads: a movement, or the turn about the mast's axis."""

    SIDE = "side"
    FORE_AFT = "fore-aft"
    TWIST = "twist"


class Part(StrEnum):
    """What a weight hangs on, or a gauge reads: the blade, or what is joined to its tip."""

    BLADE = "blade"
    FOIL = "foil"


class Phase(StrEnum):
    """Whether the weight was reached from below or from above."""

    LOADING = "loading"
    UNLOADING = "unloading"


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Where and which way a unit load acts: z from the base, arm from the stacking line [m]."""

    direction: Direction
    z: float
    arm: float = 0.0
    part: Part = Part.BLADE


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """Where and what is read: z from the base, arm from the stacking line [m]."""

    kind: GaugeKind
    z: float
    arm: float = 0.0
    part: Part = Part.BLADE


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading: amount of the load [N, N·m], value and standard error [m, rad].

    ``error`` is None where nobody stated it. ``spacing`` [m] where the twist came from two gauges so
    far apart. ``run`` and ``repeat`` are a person's own labels; ``line`` is that of the file, from 1.
    """

    load: Load
    amount: float
    gauge: Gauge
    value: float
    error: float | None = None
    phase: Phase = Phase.LOADING
    run: str = ""
    repeat: str = ""
    spacing: float | None = None
    line: int = 0
