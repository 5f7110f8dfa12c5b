"""What the water costs and gives, as plain frozen data in SI units and radians.

Arrays are over the speeds asked for. ``notes`` are sentences: where a formula was used outside the
range it is known for, or where it cannot say more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.fluid import Water
from mastcheck.source import Source

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Coefficient:
    """A recalled number with the band it is thought to lie in, and where it comes from."""

    value: float
    low: float
    high: float
    source: Source


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Drag:
    """Drag of the mast's wet part by its terms, each (n,) [N] at ``speeds`` (n,) [m/s].

    friction: of a flat plate, turbulent from the nose on. profile: what thickness adds. spray: where
    the mast leaves the water. junction: at the fuselage. base: behind a blunt tail. Fuselage and wings
    themselves are not in it. ``low`` and ``high`` (n,) [N]: band of the total; the low end has
    laminar flow all over. ``reynolds``: least and greatest chord Reynolds number at each speed (n, 2).
    ``cavitation_speed`` [m/s]: at which bubbles may first form, without leeway (inf: nothing is wet).
    """

    speeds: FloatArray
    friction: FloatArray
    profile: FloatArray
    spray: FloatArray
    junction: FloatArray
    base: FloatArray
    low: FloatArray
    high: FloatArray
    reynolds: FloatArray
    cavitation_speed: float
    notes: tuple[str, ...]

    @property
    def terms(self) -> dict[str, FloatArray]:
        """The terms by name (n,) [N]."""
        names = ("friction", "profile", "spray", "junction", "base")
        return {name: getattr(self, name) for name in names}

    @property
    def total(self) -> FloatArray:
        """Sum of the terms (n,) [N]."""
        return self.friction + self.profile + self.spray + self.junction + self.base

    @property
    def power(self) -> FloatArray:
        """Power that the drag takes (n,) [W]."""
        return self.total * self.speeds


@dataclass(frozen=True, slots=True, kw_only=True)
class WetArea:
    """The wet part seen from the side.

    ``depth`` [m]: its wet length. ``side`` [m²]: its area; ``wetted`` [m²]: of both faces, by twice the
    chord. ``centre`` [m]: its centroid below the base (the board's bottom), along z; ``aft`` [m]: the
    centroid aft of the stacking line; ``quarter`` [m]: centre of its quarter-chord points, weighted by
    chord, aft of the stacking line (negative: ahead). ``aspect_ratio``: depth squared over area. All but
    ``depth``, ``side`` and ``wetted`` are None where nothing is wet.
    """

    depth: float
    side: float
    wetted: float
    centre: float | None
    aft: float | None
    quarter: float | None
    aspect_ratio: float | None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Tracking:
    """How the wet part resists leeway and turning, at ``speeds`` (n,) [m/s].

    area: the wet part. ``lift_slope`` [1/rad] of the strut, and the same at the ends of the band
    (free tip at high speed; tip fully end-plated). ``slope_area`` [m²/rad]: side force per radian of
    leeway and per pascal of dynamic pressure. ``side_per_rad`` (n,) [N/rad]: side force per leeway.
    ``stall_leeway`` [rad] and its band; ``stall_force`` (n,) [N] the side force there.
    ``ventilation_leeway`` [rad]: band in which air may be drawn down; ``ventilation_force`` (n, 2) [N]:
    the side force at its ends, the strut taken as unstalled up to there (never above ``stall_force``).

    Turning about an upright axis ``axis_ahead`` [m] ahead of the stacking line: ``weathercock`` (n,)
    [N·m/rad], yaw moment per leeway (positive: turns the nose into the flow); ``yaw_damping`` (n,)
    [N·m·s/rad], moment against a steady yaw rate. ``roll_damping`` (n,) [N·m·s/rad]: moment about the
    base against a rate of leaning over. All are of the mast alone and 0 where nothing is wet.
    """

    speeds: FloatArray
    area: WetArea
    lift_slope: Coefficient | None
    slope_area: float
    side_per_rad: FloatArray
    stall_leeway: Coefficient | None
    stall_force: FloatArray
    ventilation_leeway: Coefficient
    ventilation_force: FloatArray
    axis_ahead: float
    weathercock: FloatArray
    yaw_damping: FloatArray
    roll_damping: FloatArray
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Yaw:
    """How far the wing lags the board when it turns, by the elastic mast with its joints.

    ``feet_torque`` [N·m] turns the tip by ``feet_lag`` [rad]. Starting the turn of ``turn_rate``
    [rad/s] within ``entry_time`` [s] needs ``yaw_acceleration`` [rad/s²]; ``yaw_inertia`` [kg·m²] of
    foil and water then asks for ``start_torque`` [N·m] and lags ``start_lag`` [rad]; None without a
    foil. ``twist_frequency`` [Hz]: first twist mode in water; ``response_time`` [s], a quarter of its
    period: the wing follows no sooner (None: no such mode was found). ``stiffness`` [N·m/rad].
    """

    stiffness: float
    feet_torque: float
    feet_lag: float
    turn_rate: float
    entry_time: float
    yaw_acceleration: float
    yaw_inertia: float | None
    start_torque: float | None
    start_lag: float | None
    twist_frequency: float | None
    response_time: float | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """Room above and below the water, all [m] and [rad].

    ``ride_height``: the board's bottom above still water. ``lowest``, ``highest``: band of ride
    heights, from the board's bottom clear of the crests to the wing deep enough in the troughs (highest
    below lowest: none in such waves). ``wing_depth``: of the wing below still water, ``trough_depth``:
    in a trough; ``least_depth``: what the wing was given to need.

    Leaning over with the wing's middle kept at its depth: ``rail_bank`` where the board's rail meets
    the water, ``tip_bank`` where a wing tip does (None: never). ``best_bank``: the greatest bank at any
    ride height with neither, at the ride height ``best_height`` that allows it.
    """

    ride_height: float
    lowest: float
    highest: float
    wing_depth: float
    trough_depth: float
    least_depth: float
    half_span: float
    half_width: float
    rail_bank: float | None
    tip_bank: float | None
    best_bank: float
    best_height: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Handling:
    """What hangs below the board, carried in air.

    ``mass`` [kg] of the mast's blade and its centre of mass ``centre`` [m] below the base.
    ``swing_inertia`` [kg·m²]: of the blade about the fore-aft axis through the base; ``with_foil``: with
    the foil (None: no foil described), ``foil_mass`` [kg].
    """

    mass: float
    centre: float
    swing_inertia: float
    foil_mass: float | None
    with_foil: float | None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WaterSide:
    """All of the water side of one mast with one foil. ``level`` [m]: still water below the base.

    ``notes`` gathers those of the parts, ``basis`` what each number rests on.
    """

    water: Water
    level: float
    drag: Drag
    tracking: Tracking
    yaw: Yaw
    clearance: Clearance
    handling: Handling
    notes: tuple[str, ...]
    basis: tuple[tuple[str, Source], ...]
