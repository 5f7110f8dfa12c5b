"""Usual conditions of each way of riding, for what a mast file does not state.

All numbers are common practice recalled from memory, no source: they start a comparison, and are
no advice.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

from mastcheck.conditions import Conditions, Discipline


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """Slowest and fastest speed [m/s] of a discipline, and its conditions."""

    speeds: tuple[float, float]
    conditions: Conditions


USUAL: dict[Discipline, Usual] = {
    Discipline.LEARNING: Usual(
        speeds=(2.5, 6.0),
        conditions=Conditions(
            discipline=Discipline.LEARNING, ride_height=0.25, board_width=0.70, wave_height=0.15,
            turn_speed=4.0, turn_radius=10.0, strike_speed=4.0, wing_area=0.20, wing_span=1.00,
        ),
    ),
    Discipline.SURF: Usual(
        speeds=(4.0, 10.0),
        conditions=Conditions(
            discipline=Discipline.SURF, ride_height=0.35, board_width=0.50, wave_height=0.40,
            turn_speed=7.0, turn_radius=5.0, strike_speed=7.0, wing_area=0.11, wing_span=0.85,
        ),
    ),
    Discipline.DOWNWIND: Usual(
        speeds=(4.0, 9.0),
        conditions=Conditions(
            discipline=Discipline.DOWNWIND, ride_height=0.40, board_width=0.50, wave_height=0.50,
            turn_speed=6.0, turn_radius=12.0, pump_frequency=1.3, pump_amplitude=0.12,
            strike_speed=6.0, wing_area=0.09, wing_span=1.05,
        ),
    ),
    Discipline.WING_DRIVEN: Usual(
        speeds=(4.0, 13.0),
        conditions=Conditions(
            discipline=Discipline.WING_DRIVEN, ride_height=0.35, board_width=0.60, wave_height=0.30,
            turn_speed=8.0, turn_radius=10.0, turn_bank=radians(25), strike_speed=8.0,
            wing_area=0.10, wing_span=0.85,
        ),
    ),
    Discipline.TOWED: Usual(
        speeds=(6.0, 15.0),
        conditions=Conditions(
            discipline=Discipline.TOWED, ride_height=0.40, board_width=0.45, wave_height=0.60,
            turn_speed=11.0, turn_radius=12.0, strike_speed=11.0, wing_area=0.06, wing_span=0.65,
        ),
    ),
}  # fmt: skip
