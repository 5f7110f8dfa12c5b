"""Rules of the mast file's foil that join several keys, and the foil that a checked file describes."""

from __future__ import annotations

from collections.abc import Iterator

from mastcheck.files.parts import Parts
from mastcheck.files.problems import Fault
from mastcheck.files.schema import MastFile
from mastcheck.foil import Foil, Wing

WING = ("area", "span", "wing_ahead")
"""What a wing needs, all three or none."""
PLACED = ("ahead", "below", "roll_inertia", "pitch_inertia", "yaw_inertia")
"""What is taken as 0 where the file does not state it."""


def faults(p: Parts) -> Iterator[Fault]:
    """A wing stated in part, or of no wing's shape; a range of speeds the wrong way round."""
    given = [key for key in WING if p.has("foil", key)]
    extra = [key for key in ("lift_slope", "dihedral") if p.has("foil", key)]
    missing = [key for key in WING if key not in given]
    if missing and (given or extra):
        rule = f"the wing needs {', '.join(missing)} as well"
        yield Fault(("foil", (given + extra)[0]), rule, f"state {', '.join(WING)}, or none of the wing")
    area, span = p.foil["area"], p.foil["span"]
    if area is not None and span is not None and not 1 <= span**2 / area <= 40:
        rule = f"makes an aspect ratio (span squared over area) of {span**2 / area:.3g}, not 1 to 40"
        yield Fault(("foil", "span"), rule, "check span, area and their units")
    speeds = p.conditions["speed"]
    if speeds is not None and speeds[0] > speeds[1]:
        rule = "the slowest speed comes first"
        yield Fault(("conditions", "speed"), rule, "change the two about")


def foil(model: MastFile) -> Foil | None:
    """The foil of a checked file, None where it has none."""
    table = model.foil
    if table is None:
        return None
    wing = None
    if table.area is not None and table.span is not None and table.wing_ahead is not None:
        wing = Wing(
            area=table.area,
            span=table.span,
            ahead=table.wing_ahead,
            dihedral=table.dihedral,
            lift_slope=table.lift_slope,
        )
    return Foil(
        mass=table.mass,
        ahead=table.ahead,
        below=table.below,
        roll_inertia=table.roll_inertia,
        pitch_inertia=table.pitch_inertia,
        yaw_inertia=table.yaw_inertia,
        wing=wing,
    )


def notes(model: MastFile) -> Iterator[str]:
    """What was assumed of foil, water and speed."""
    table, water = model.foil, model.conditions
    if "speed" not in water.model_fields_set and water.discipline is None:
        yield (
            f"speeds from {water.speed[0]:g} to {water.speed[1]:g} m/s assumed (common practice, no"
            " source): the file does not state them"
        )
    if not water.model_fields_set & {"water_density", "water", "water_temperature"}:
        yield f"water of {water.water_density:g} kg/m3 (sea, 15 °C) assumed: the file does not state it"
    if table is None:
        return
    zero = [key for key in PLACED if key not in table.model_fields_set]
    if zero:
        yield (
            f"foil: {', '.join(zero)} not stated and taken as 0; without the inertias frequencies come"
            " out too high"
        )
    if table.area is None and model.wing:
        return
    if table.area is None:
        yield "foil: no wing stated; its lift and the water it moves are left out"
        return
    if "dihedral" not in table.model_fields_set:
        yield "foil: a level wing (dihedral 0) assumed: the file does not state it"
    if table.lift_slope is None:
        yield "foil: lift slope of the wing from its aspect ratio: the file does not state it"
    yield "foil: the stabiliser's lift, and the water that fuselage and stabiliser move, are left out"
