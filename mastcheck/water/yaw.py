"""How far, and for how long, the wing lags the board in a turn: the mast's twist."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.conditions import Conditions
from mastcheck.foil import Foil
from mastcheck.motion.water import foil_inertia, wing_added_inertia
from mastcheck.source import Grade, Source
from mastcheck.water.model import Yaw

FloatArray = NDArray[np.float64]

FEET_TORQUE = 10.0
"""Twisting by the feet that the lag is stated for [N·m]: a round number to compare by."""
ENTRY_TIME = 0.3
"""Time within which a rider turns the board from straight on to the turn's rate [s]."""
ENTRY_SOURCE = Source(title="a brisk rider goes into a turn within about 0.3 s", grade=Grade.PRACTICE)
_Z = 5  # twist in Fx Fy Fz Mx My Mz


def yaw(
    *,
    tip_compliance: FloatArray,
    foil: Foil | None,
    conditions: Conditions,
    density: float,
    twist_frequency: float | None,
    feet_torque: float = FEET_TORQUE,
    entry_time: float = ENTRY_TIME,
) -> Yaw:
    """Twist between board and wing under the feet's torque and at the start of a turn, and its delay.

    The start takes the torque that the foil's own inertia and the water about its wing ask for; what
    the flow does to a wing that turns, and the mast's own inertia, come on top.

    Args:
        tip_compliance: (6, 6) of mast and joints, order Fx Fy Fz Mx My Mz [rad/(N·m) in twist].
        foil: what hangs at the tip.
        conditions: speed and radius of the turn.
        density: of the water [kg/m³].
        twist_frequency: of the first twist mode in water [Hz]; None where none was found.
        feet_torque: [N·m].
        entry_time: [s] to the turn's rate.
    """
    compliance = float(tip_compliance[_Z, _Z])
    rate = conditions.turn_speed / conditions.turn_radius
    acceleration = rate / entry_time
    inertia = torque = None
    notes: tuple[str, ...] = ()
    if foil is None:
        notes = (
            "No foil is described: what starting a turn takes, and how far the wing lags, is not known.",
        )
    else:
        inertia = float(foil_inertia(foil)[_Z, _Z] + wing_added_inertia(foil, density)[_Z, _Z])
        torque = inertia * acceleration
        if inertia == 0:
            notes = (
                "The foil has no inertia in yaw ([foil] yaw_inertia): its start of a turn shows no lag.",
            )
    return Yaw(
        stiffness=1 / compliance,
        feet_torque=feet_torque,
        feet_lag=feet_torque * compliance,
        turn_rate=rate,
        entry_time=entry_time,
        yaw_acceleration=acceleration,
        yaw_inertia=inertia,
        start_torque=torque,
        start_lag=None if torque is None else torque * compliance,
        twist_frequency=twist_frequency,
        response_time=None if twist_frequency is None else 1 / (4 * twist_frequency),
        notes=notes,
    )
