"""Tables of the mast file about water, manoeuvres, and what hangs at the tip."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from mastcheck.conditions import Discipline, WaterKind
from mastcheck.files.fields import choice, number, quantity, quantity_range, refuse, text
from mastcheck.files.tables import Table
from mastcheck.fluid import COLDEST, WARMEST
from mastcheck.units import Dimension

_INERTIA = quantity(Dimension.INERTIA, "0 kg m2", "100 kg m2")
_OFFSET = quantity(Dimension.LENGTH, "-2 m", "2 m")
_AREA = quantity(Dimension.AREA, "10 cm2", "3 m2")
_SPAN = quantity(Dimension.LENGTH, "50 mm", "5 m")
_DIHEDRAL = quantity(Dimension.ANGLE, "-90 deg", "90 deg")
_SPEED = quantity(Dimension.SPEED, "0.1 m/s", "50 m/s")
_TEMPERATURE = re.compile(r"\s*([+-]?[0-9]{1,4}(?:\.[0-9]{0,9})?)\s*°?\s*(C|F|K)\s*")


def read_temperature(value: object) -> float:
    """A temperature of liquid water [°C].

    Raises: PydanticCustomError naming the rule.

    >>> read_temperature("59 °F")
    15.0
    """
    found = _TEMPERATURE.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        raise refuse("must be a temperature with its unit", 'write "15 °C", or °F or K')
    degrees = float(found[1])
    celsius = {"C": degrees, "F": (degrees - 32) / 1.8, "K": degrees - 273.15}[found[2]]
    if not COLDEST <= celsius <= WARMEST:
        raise refuse(f"must be from {COLDEST:g} °C to {WARMEST:g} °C", "check the number and its unit")
    return celsius


def _temperature() -> tuple[BeforeValidator, WithJsonSchema]:
    described = f"A temperature with its unit (°C, °F or K), from {COLDEST:g} °C to {WARMEST:g} °C."
    return (
        BeforeValidator(read_temperature),
        WithJsonSchema({"type": "string", "description": described, "pattern": _TEMPERATURE.pattern}),
    )


_PRICE = re.compile(r"\s*([0-9]{1,9}(?:\.[0-9]{1,4})?)\s*([A-Z]{3})\s*")


def read_price(value: object) -> tuple[float, str]:
    """An amount and its currency's three letters.

    Raises: PydanticCustomError naming the rule.

    >>> read_price("320 EUR")
    (320.0, 'EUR')
    """
    found = _PRICE.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        raise refuse("must be an amount and a currency's three letters", 'write "320 EUR"')
    return float(found[1]), found[2]


def price_text() -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a price."""
    described = "A price: an amount and the three letters of its currency."
    return (
        BeforeValidator(read_price),
        WithJsonSchema({"type": "string", "description": described, "pattern": _PRICE.pattern}),
    )


class ConditionsTable(Table):
    """Water around the mast, how fast the mast goes through it, and the manoeuvres.

    What is not stated is taken from the discipline, or else is common practice. ``turn_bank`` is the
    mast's lean from upright; not stated: the lean that needs no side force of the mast.
    """

    wet_fraction: Annotated[float, *number(0.0, 1.0)] = 0.6
    speed: Annotated[tuple[float, float], *quantity_range(Dimension.SPEED, "0.1 m/s", "50 m/s")] = (
        3.0,
        12.0,
    )
    water_density: Annotated[float, *quantity(Dimension.DENSITY, "900 kg/m3", "1300 kg/m3")] = 1026.0
    discipline: Annotated[Discipline, choice(Discipline)] | None = None
    water: Annotated[WaterKind, choice(WaterKind)] = WaterKind.SEA
    water_temperature: Annotated[float, *_temperature()] = 15.0
    ride_height: Annotated[float, *quantity(Dimension.LENGTH, "0 m", "10 m")] | None = None
    roughness: Annotated[float, *quantity(Dimension.LENGTH, "0 mm", "5 mm")] | None = None
    board_width: Annotated[float, *quantity(Dimension.LENGTH, "50 mm", "2 m")] | None = None
    wave_height: Annotated[float, *quantity(Dimension.LENGTH, "0 m", "5 m")] | None = None
    fuselage_width: Annotated[float, *quantity(Dimension.LENGTH, "1 mm", "300 mm")] | None = None
    turn_speed: Annotated[float, *_SPEED] | None = None
    turn_radius: Annotated[float, *quantity(Dimension.LENGTH, "0.5 m", "1000 m")] | None = None
    turn_bank: Annotated[float, *quantity(Dimension.ANGLE, "0 deg", "80 deg")] | None = None
    pump_frequency: Annotated[float, *quantity(Dimension.FREQUENCY, "0.05 Hz", "5 Hz")] | None = None
    pump_amplitude: Annotated[float, *quantity(Dimension.LENGTH, "0 m", "1 m")] | None = None
    strike_speed: Annotated[float, *_SPEED] | None = None
    stop_distance: Annotated[float, *quantity(Dimension.LENGTH, "10 mm", "20 m")] | None = None


class FoilTable(Table):
    """What hangs at the tip: fuselage and wings as one body, and the front wing.

    ``ahead`` and ``wing_ahead`` (of the wing's quarter chord) are from the stacking line at the tip,
    ``below`` from the tip. Inertias about the body's own centre of mass. Beside ``[[wing]]`` it is
    the fuselage with its stabiliser alone.
    """

    mass: Annotated[float, *quantity(Dimension.MASS, "1 g", "50 kg")]
    ahead: Annotated[float, *_OFFSET] = 0.0
    below: Annotated[float, *_OFFSET] = 0.0
    roll_inertia: Annotated[float, *_INERTIA] = 0.0
    pitch_inertia: Annotated[float, *_INERTIA] = 0.0
    yaw_inertia: Annotated[float, *_INERTIA] = 0.0
    area: Annotated[float, *_AREA] | None = None
    span: Annotated[float, *_SPAN] | None = None
    wing_ahead: Annotated[float, *_OFFSET] | None = None
    lift_slope: Annotated[float, *number(0.1, 10.0)] | None = None
    dihedral: Annotated[float, *_DIHEDRAL] = 0.0


class WingTable(Table):
    """One wing of several that the mast is ridden with; ``ahead``: its quarter chord, of the stacking
    line at the tip.
    """

    name: Annotated[str, *text(80)]
    area: Annotated[float, *_AREA]
    span: Annotated[float, *_SPAN]
    mass: Annotated[float, *quantity(Dimension.MASS, "1 g", "50 kg")]
    ahead: Annotated[float, *_OFFSET]
    dihedral: Annotated[float, *_DIHEDRAL] = 0.0
    lift_slope: Annotated[float, *number(0.1, 10.0)] | None = None
