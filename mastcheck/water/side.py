"""The whole water side of one mast with one foil."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck import fluid
from mastcheck.conditions import Conditions
from mastcheck.fluid import Water
from mastcheck.foil import Foil
from mastcheck.mast import Mast
from mastcheck.motion.water import WING_MASS_SOURCE
from mastcheck.source import Source
from mastcheck.water.base_drag import BASE
from mastcheck.water.clearance import DEPTH_SOURCE, WAVE_SOURCE, clearance, handling
from mastcheck.water.drag import PROFILE_SOURCE, SUCTION_SOURCE, mast_drag
from mastcheck.water.friction import LAMINAR_SOURCE, ROUGH_SOURCE, SMOOTH_SOURCE
from mastcheck.water.junction import JUNCTION_SOURCE
from mastcheck.water.model import WaterSide
from mastcheck.water.range import TURBULENT
from mastcheck.water.spray import SPRAY
from mastcheck.water.tracking import MOST_LIFT, SLOPE_SOURCE, VENTILATION, tracking
from mastcheck.water.yaw import ENTRY_SOURCE, yaw

FloatArray = NDArray[np.float64]

NO_WING = (
    "No wing is described: its area and span are those of the conditions, and turning is about the mast"
    " itself, which a rider who stands ahead of it does not do."
)


def water_of(conditions: Conditions) -> Water:
    """The water of the conditions.

    Raises: ValueError for a temperature outside 0 to 35 °C.
    """
    return fluid.water(conditions.kind, conditions.temperature)


def water_side(
    mast: Mast,
    *,
    water: Water,
    conditions: Conditions,
    level: float,
    speeds: FloatArray,
    foil: Foil | None,
    tip_compliance: FloatArray,
    twist_frequency: float | None,
    z: FloatArray,
    mass_per_length: FloatArray,
) -> WaterSide:
    """Drag, tracking, yaw lag, clearance and handling.

    Args:
        mast: the mast.
        water: density and viscosity (``water_of``).
        conditions: roughness, board, wave, turn, and the wing where the foil has none.
        level: z of still water [m]: the ride height.
        speeds: (n,) [m/s], above zero.
        foil: what hangs at the tip.
        tip_compliance: (6, 6) of mast and joints, order Fx Fy Fz Mx My Mz.
        twist_frequency: of the first twist mode in water [Hz].
        z: solved places (k,) base to tip [m].
        mass_per_length: there (k,) [kg/m].

    Raises: ValueError for a speed that is not above zero, or a negative roughness.
    """
    wing = None if foil is None else foil.wing
    area = conditions.wing_area if wing is None else wing.area
    span = conditions.wing_span if wing is None else wing.span
    drag = mast_drag(
        mast,
        level=level,
        speeds=speeds,
        water=water,
        roughness=conditions.roughness,
        fuselage_width=conditions.fuselage_width,
    )
    track = tracking(
        mast, level=level, speeds=speeds, water=water, axis_ahead=0.0 if wing is None else wing.ahead
    )
    lag = yaw(
        tip_compliance=tip_compliance,
        foil=foil,
        conditions=conditions,
        density=water.density,
        twist_frequency=twist_frequency,
    )
    room = clearance(
        length=mast.length,
        level=level,
        below=0.0 if foil is None else foil.below,
        half_span=span / 2,
        half_width=conditions.board_width / 2,
        wave_height=conditions.wave_height,
        least_depth=area / span,
    )
    return WaterSide(
        water=water,
        level=level,
        drag=drag,
        tracking=track,
        yaw=lag,
        clearance=room,
        handling=handling(z=z, mass_per_length=mass_per_length, length=mast.length, foil=foil),
        notes=(
            TURBULENT,
            *drag.notes,
            *track.notes,
            *(() if wing is not None else (NO_WING,)),
            *lag.notes,
            *room.notes,
        ),
        basis=_basis(water, conditions),
    )


def _basis(water: Water, conditions: Conditions) -> tuple[tuple[str, Source], ...]:
    rough = (("friction of a rough blade", ROUGH_SOURCE),) if conditions.roughness > 0 else ()
    return (
        ("density of the water", water.density_source),
        ("viscosity of the water", water.viscosity_source),
        ("friction", SMOOTH_SOURCE),
        *rough,
        ("least friction", LAMINAR_SOURCE),
        ("profile drag", PROFILE_SOURCE),
        ("spray drag", SPRAY.source),
        ("junction drag", JUNCTION_SOURCE),
        ("drag behind the tail", BASE.source),
        ("speed at which water boils", SUCTION_SOURCE),
        ("side force of the strut", SLOPE_SOURCE),
        ("stall of the strut", MOST_LIFT.source),
        ("air drawn down", VENTILATION.source),
        ("added inertia of the wing in yaw", WING_MASS_SOURCE),
        ("time to enter a turn", ENTRY_SOURCE),
        ("depth that a wing needs", DEPTH_SOURCE),
        ("waves", WAVE_SOURCE),
    )
