"""Water, manoeuvres and the foils of a checked mast file: rules, what they build, what was assumed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace

from mastcheck.conditions import WATER_CASES, Conditions
from mastcheck.disciplines import USUAL
from mastcheck.files.foil_rules import foil as lone_foil
from mastcheck.files.parts import Parts
from mastcheck.files.problems import Fault
from mastcheck.files.schema import MastFile
from mastcheck.files.water_schema import FoilTable, WingTable
from mastcheck.foil import Foil, QuiverFoil, Wing

_KEYS = {"kind": "water", "temperature": "water_temperature"}
"""Names in the mast file where they are not those of ``Conditions``."""


def faults(p: Parts) -> Iterator[Fault]:
    """A wing twice, of no wing's shape, or beside another; a board that rides higher than the mast."""
    seen: set[str] = set()
    for i, wing in enumerate(p.wings):
        area, span, name = wing["area"], wing["span"], wing["name"]
        if area is not None and span is not None and not 1 <= span**2 / area <= 40:
            rule = f"makes an aspect ratio (span squared over area) of {span**2 / area:.3g}, not 1 to 40"
            yield Fault(("wing", i, "span"), rule, "check span, area and their units")
        if name is not None and name in seen:
            yield Fault(("wing", i, "name"), "names two wings", "give each wing a name of its own")
        seen.add(name or "")
    stated = [
        key for key in ("area", "span", "wing_ahead", "lift_slope", "dihedral") if p.has("foil", key)
    ]
    if p.wings and stated:
        rule = "states a wing in [foil] beside the [[wing]] entries"
        yield Fault(
            ("foil", stated[0]), rule, "leave the fuselage in [foil], and make this wing an entry"
        )
    height, length = p.conditions["ride_height"], _length(p)
    if height is not None and length is not None and height >= length:
        rule = f"lifts the whole mast of {length * 1e3:g} mm out of the water"
        yield Fault(("conditions", "ride_height"), rule, "ride lower than the mast is long")
    if p.has("conditions", "ride_height") and p.has("conditions", "wet_fraction"):
        rule = "says again what ride_height says"
        yield Fault(("conditions", "wet_fraction"), rule, "state one of the two")
    stated_water = [k for k in ("water", "water_temperature") if p.has("conditions", k)]
    if p.has("conditions", "water_density") and stated_water:
        rule = f"says again what {stated_water[0]} says"
        yield Fault(("conditions", "water_density"), rule, "state one of the two")


_MANOEUVRES = (
    "discipline", "turn_speed", "turn_radius", "turn_bank", "pump_frequency", "pump_amplitude",
    "strike_speed", "stop_distance",
)  # fmt: skip
"""Keys of [conditions] that ask for load cases from the water."""


def case_names(p: Parts) -> tuple[str, ...]:
    """Load cases from the water that the file asks for: it states a wing, or how it is ridden."""
    asked = p.wings or p.has("foil", "area") or any(p.has("conditions", k) for k in _MANOEUVRES)
    return WATER_CASES if asked else ()


def water_loads(model: MastFile) -> tuple[str, ...]:
    """The same of a checked file."""
    winged = bool(model.wing) or (model.foil is not None and model.foil.area is not None)
    stated = model.conditions.model_fields_set & set(_MANOEUVRES)
    return WATER_CASES if winged or stated else ()


def conditions(model: MastFile) -> Conditions:
    """What the file states, then what is usual in its discipline, then the defaults."""
    table = model.conditions
    usual = USUAL[table.discipline].conditions if table.discipline else Conditions()
    stated = {}
    for field in fields(Conditions):
        key = _KEYS.get(field.name, field.name)
        if key in table.model_fields_set and getattr(table, key) is not None:
            stated[field.name] = getattr(table, key)
    made = replace(usual, **stated)
    # A stated wet fraction is a ride height in other words; a mast shorter than the usual ride height
    # is ridden by the wet fraction.
    own = "ride_height" in stated or "wet_fraction" in table.model_fields_set
    if not own and made.ride_height is not None and made.ride_height >= 0.8 * model.mast.length:
        return replace(made, ride_height=None)
    return replace(made, ride_height=stated.get("ride_height")) if own else made


def speeds(model: MastFile) -> tuple[float, float]:
    """Slowest and fastest [m/s]."""
    table = model.conditions
    if "speed" not in table.model_fields_set and table.discipline:
        return USUAL[table.discipline].speeds
    return table.speed


def density(model: MastFile) -> float:
    """Density of the water [kg/m³]: as stated, or by its kind and temperature."""
    table = model.conditions
    if not table.model_fields_set & {"water", "water_temperature"}:
        return table.water_density
    from mastcheck.water.side import water_of

    return water_of(conditions(model)).density


def quiver(model: MastFile) -> tuple[QuiverFoil, ...]:
    """Fuselage and wings with each of the file's wings."""
    return tuple(QuiverFoil(name=w.name, foil=_with_wing(model.foil, w)) for w in model.wing)


def foil(model: MastFile) -> Foil | None:
    """The foil looked at: that of [foil], or with the first of the wings."""
    several = quiver(model)
    return several[0].foil if several else lone_foil(model)


def notes(model: MastFile) -> Iterator[str]:
    """What was assumed of water and manoeuvres."""
    table, made = model.conditions, conditions(model)
    silent = [
        f.name for f in fields(Conditions)
        if f.name not in ("discipline", "kind", "temperature", "wing_area", "wing_span", "ride_height")
        and _KEYS.get(f.name, f.name) not in table.model_fields_set
    ]  # fmt: skip
    where = f"usual for {table.discipline}" if table.discipline else "the tool's defaults"
    if silent:
        words = ", ".join(name.replace("_", " ") for name in silent)
        yield (
            f"water side: {words} are {where} (common practice, no source): the file does not state them"
        )
    if made.ride_height is not None and "ride_height" not in table.model_fields_set:
        yield f"ride height {made.ride_height * 1e3:g} mm is usual for {table.discipline} (no source)"
    if model.wing:
        yield (
            "wings: the inertia of each is that of a straight bar of its span, at its quarter chord; the"
            " stabiliser's lift is left out"
        )
        yield from _wing_notes(model)
    elif model.foil is None or model.foil.area is None:
        yield (
            f"water side: a wing of {made.wing_area * 1e4:g} cm2 and {made.wing_span * 1e3:g} mm span"
            " assumed for clearance and loads from the water: the file states none"
        )


def _wing_notes(model: MastFile) -> Iterator[str]:
    """What was assumed of the wings because the file is silent."""
    if model.foil is None:
        yield (
            "wings: no fuselage stated ([foil]); its mass, and the stabiliser's, are left out, and"
            " frequencies come out too high"
        )
    level = [w.name for w in model.wing if "dihedral" not in w.model_fields_set]
    if level:
        yield f"wings: level (dihedral 0) assumed of {', '.join(level)}: the file does not state it"
    slope = [w.name for w in model.wing if w.lift_slope is None]
    if slope:
        names = ", ".join(slope)
        yield f"wings: lift slope of {names} from the aspect ratio: the file does not state it"
    if any(case.name == "wingtip-strike" for case in model.load_case):
        yield (
            "wings: wingtip-strike is stated by the file and is the same with each: its arm does not"
            " follow the span"
        )
    else:
        yield "wings: wingtip-strike takes half the span of each wing as its arm, not 0.4 m"


def _with_wing(body: FoilTable | None, wing: WingTable) -> Foil:
    """Fuselage and wing as one rigid body; both lie at the body's depth below the tip."""
    first = (body.mass, body.ahead) if body else (0.0, 0.0)
    mass = first[0] + wing.mass
    ahead = (first[0] * first[1] + wing.mass * wing.ahead) / mass
    apart = first[0] * (first[1] - ahead) ** 2 + wing.mass * (wing.ahead - ahead) ** 2
    bar = wing.mass * wing.span**2 / 12
    return Foil(
        mass=mass,
        ahead=ahead,
        below=body.below if body else 0.0,
        roll_inertia=(body.roll_inertia if body else 0.0) + bar,
        pitch_inertia=(body.pitch_inertia if body else 0.0) + apart,
        yaw_inertia=(body.yaw_inertia if body else 0.0) + apart + bar,
        wing=Wing(
            area=wing.area, span=wing.span, ahead=wing.ahead, dihedral=wing.dihedral,
            lift_slope=wing.lift_slope,
        ),
    )  # fmt: skip


def _length(p: Parts) -> float | None:
    from mastcheck.files.parts import read_part, table
    from mastcheck.files.schema import MastTable

    length = read_part(MastTable, table(p.raw.get("mast")))["length"]
    return None if length is None else float(length)
