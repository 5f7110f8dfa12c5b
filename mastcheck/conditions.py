"""How the mast is ridden: water, ride height, and the manoeuvres that loads are built from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class WaterKind(StrEnum):
    """Sea water of the standard salinity, or fresh water."""

    SEA = "sea"
    FRESH = "fresh"


WATER_CASES = ("steady-flight", "carved-turn", "pumping", "strike")
"""Load cases that follow from the conditions by physics (``water.manoeuvres``)."""


class Discipline(StrEnum):
    """Ways of riding, in generic words; their numbers are common practice, no source."""

    LEARNING = "learning"
    SURF = "surf"
    DOWNWIND = "downwind"
    WING_DRIVEN = "wing-driven"
    TOWED = "towed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """Water and manoeuvres, SI; every default is common practice recalled from memory, no source.

    ``kind`` and ``temperature`` [°C] give density and viscosity (``fluid``). ``ride_height`` [m]: the
    board's bottom above still water; None: what the job's wet fraction leaves dry. ``roughness`` [m]:
    equivalent sand-grain height of the blade, 0 is smooth. ``board_width`` [m] at the mast and
    ``wave_height`` [m], trough to crest, for clearance. ``fuselage_width`` [m] at the mast, for the
    junction. A carved turn has ``turn_speed`` [m/s], ``turn_radius`` [m], and ``turn_bank`` [rad]: the
    mast's lean from upright (None: the lean that needs no side force of the mast). Pumping:
    ``pump_frequency`` [Hz] and ``pump_amplitude`` [m], half the height that rider and board move. A
    strike: at ``strike_speed`` [m/s], stopped within ``stop_distance`` [m]. ``wing_area`` [m²] and
    ``wing_span`` [m] stand for the front wing where none is stated.
    """

    kind: WaterKind = WaterKind.SEA
    temperature: float = 15.0
    ride_height: float | None = None
    roughness: float = 0.0
    board_width: float = 0.50
    wave_height: float = 0.30
    fuselage_width: float = 0.030
    turn_speed: float = 6.0
    turn_radius: float = 8.0
    turn_bank: float | None = None
    pump_frequency: float = 1.2
    pump_amplitude: float = 0.10
    strike_speed: float = 5.0
    stop_distance: float = 0.40
    wing_area: float = 0.12
    wing_span: float = 0.90
    discipline: Discipline | None = None
