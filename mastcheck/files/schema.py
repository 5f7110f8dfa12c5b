"""The mast file as pydantic types: keys, units and ranges. Nothing past the door sees these.

Values arrive in SI units. Rules that join several keys live in ``rules.py``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from difflib import get_close_matches
from enum import StrEnum
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetJsonSchemaHandler, WithJsonSchema
from pydantic_core import CoreSchema, PydanticCustomError

from mastcheck.mast import Construction, OutlineKind
from mastcheck.units import Dimension, UnitError, parse

_WITH_UNIT = r"^\s*[+-]?[0-9.]+([eE][+-]?[0-9]+)?\s*[^0-9\s.,].*$"


def refuse(rule: str, remedy: str = "") -> PydanticCustomError:
    """An error carrying our own rule and remedy through pydantic."""
    # The template is fixed, so that braces in the texts are never read as fields.
    return PydanticCustomError("mastcheck", "{rule}", {"rule": rule, "remedy": remedy})


def read_quantity(value: object, dimension: Dimension, low: str, high: str) -> float:
    """A quantity in SI units within bounds given as text.

    Raises: PydanticCustomError naming the rule.
    """
    try:
        number = parse(value, dimension)
    except UnitError as error:
        raise refuse(error.rule, error.remedy) from None
    if not parse(low, dimension) <= number <= parse(high, dimension):
        raise refuse(f"must be from {low} to {high}", "check the number and its unit")
    return number


def quantity(dimension: Dimension, low: str, high: str) -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a quantity from ``low`` to ``high``."""
    described = f"A quantity with its unit ({dimension}), from {low} to {high}."
    return (
        BeforeValidator(lambda value: read_quantity(value, dimension, low, high)),
        WithJsonSchema({"type": "string", "description": described, "pattern": _WITH_UNIT}),
    )


def read_number(value: object, low: float, high: float, above: bool) -> float:
    """A plain number within bounds; ``above`` leaves out the lower one.

    Raises: PydanticCustomError naming the rule.
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refuse("must be a plain number", "write it without quotes and without a unit")
    # Python compares integers of any size with floats exactly; float() of them could overflow.
    inside = low < value <= high if above else low <= value <= high
    if not inside or (isinstance(value, float) and math.isnan(value)):
        bounds = f"above {low:g} and at most {high:g}" if above else f"from {low:g} to {high:g}"
        raise refuse(f"must be {bounds}", "check the number")
    return float(value)


def number(low: float, high: float, *, above: bool = False) -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a plain number."""
    bound = "exclusiveMinimum" if above else "minimum"
    return (
        BeforeValidator(lambda value: read_number(value, low, high, above)),
        WithJsonSchema({"type": "number", bound: low, "maximum": high}),
    )


def read_choice(value: object, choices: tuple[str, ...]) -> str:
    """One of a few words.

    Raises: PydanticCustomError with the nearest word.
    """
    if value not in choices or not isinstance(value, str):
        near = get_close_matches(value, choices, n=1, cutoff=0.5) if isinstance(value, str) else []
        remedy = f'did you mean "{near[0]}"?' if near else ""
        raise refuse("must be one of " + ", ".join(f'"{choice}"' for choice in choices), remedy)
    return value


def choice(kind: type[StrEnum]) -> BeforeValidator:
    """Annotation of an enumeration's value."""
    words = tuple(str(member) for member in kind)
    return BeforeValidator(lambda value: kind(read_choice(value, words)))


def words(*choices: str) -> BeforeValidator:
    """Annotation of a Literal's value."""
    return BeforeValidator(lambda value: read_choice(value, choices))


def read_text(value: object, longest: int) -> str:
    """One line of printable text, since names reach terminals and reports.

    Raises: PydanticCustomError naming the rule.
    """
    if not isinstance(value, str):
        raise refuse("must be text", "put it in quotes")
    if not value.strip() or len(value) > longest or not value.isprintable():
        raise refuse(
            f"must be one line of 1 to {longest} printable characters", "shorten it or fill it in"
        )
    return value


def text(longest: int) -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a line of text."""
    return (
        BeforeValidator(lambda value: read_text(value, longest)),
        WithJsonSchema({"type": "string", "minLength": 1, "maxLength": longest}),
    )


class OneOrMore:
    """Schema of a table that may also be a list of such tables."""

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """One item or the array of them."""
        array = handler(core)
        return {"anyOf": [array["items"], array]}


def as_list(value: object) -> object:
    """A lone table as a list of one."""
    return [value] if isinstance(value, Mapping) else value


_WALL = quantity(Dimension.LENGTH, "0.1 mm", "500 mm")
_STRESS = quantity(Dimension.STRESS, "0.01 MPa", "20 GPa")
_MODULUS = quantity(Dimension.STRESS, "0.1 MPa", "2000 GPa")
_OFFSET = quantity(Dimension.LENGTH, "-2 m", "2 m")
_FORCE = quantity(Dimension.FORCE, "-100 kN", "100 kN")
_MOMENT = quantity(Dimension.MOMENT, "-100 kN m", "100 kN m")
_DEFLECTION = quantity(Dimension.LENGTH, "0.001 mm", "10 m")
_ROTATION = quantity(Dimension.ANGLE, "0.001 deg", "180 deg")
_FRACTION = number(0.0, 1.0)
_GAMMA = number(1.0, 10.0)
_NAME = text(80)
_LINE = text(500)


class Table(BaseModel):
    """A TOML table: unknown keys are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class StationTable(Table):
    """Sizes at a fraction of the length, base to tip."""

    at: Annotated[float, *_FRACTION]
    chord: Annotated[float, *quantity(Dimension.LENGTH, "10 mm", "1 m")]
    thickness: Annotated[float, *quantity(Dimension.LENGTH, "1 mm", "1 m")]
    wall: Annotated[float, *_WALL] | None = None


class MastTable(Table):
    """Name, length and stations."""

    name: Annotated[str, *_NAME]
    length: Annotated[float, *quantity(Dimension.LENGTH, "50 mm", "10 m")]
    note: Annotated[str, *_LINE] | None = None
    taper_about: Annotated[float, *_FRACTION] = 0.5
    tip_warping: Annotated[Literal["free", "restrained"], words("free", "restrained")] = "free"
    station: Annotated[list[StationTable], Field(json_schema_extra={"minItems": 2})]


class WebTable(Table):
    """A web across the hollow or the core; ``at`` is a fraction of the chord."""

    at: Annotated[float, *number(0.01, 0.99)]
    thickness: Annotated[float, *_WALL]


class SectionTable(Table):
    """What fills the outline."""

    outline: Annotated[OutlineKind, choice(OutlineKind)]
    construction: Annotated[Construction, choice(Construction)]
    material: Annotated[str, *_NAME]
    wall: Annotated[float, *_WALL] | None = None
    core: Annotated[str, *_NAME] | None = None
    trailing_edge_radius: Annotated[float, *quantity(Dimension.LENGTH, "0 mm", "100 mm")] = 0.0
    webs: list[WebTable] = []


class RiderTable(Table):
    """Rider and gear."""

    mass: Annotated[float, *quantity(Dimension.MASS, "10 kg", "300 kg")] = 80.0
    gear_mass: Annotated[float, *quantity(Dimension.MASS, "0 kg", "200 kg")] = 8.0
    rider_height: Annotated[float, *quantity(Dimension.LENGTH, "0.1 m", "3 m")] = 1.0
    stance_width: Annotated[float, *quantity(Dimension.LENGTH, "0 m", "2 m")] = 0.45


class ConditionsTable(Table):
    """Water around the mast."""

    wet_fraction: Annotated[float, *_FRACTION] = 0.6


class LengthLimitTable(Table):
    """Largest deflection in a named case."""

    case: Annotated[str, *_NAME]
    max: Annotated[float, *_DEFLECTION]


class AngleLimitTable(Table):
    """Largest rotation in a named case."""

    case: Annotated[str, *_NAME]
    max: Annotated[float, *_ROTATION]


LengthLimits = Annotated[list[LengthLimitTable], BeforeValidator(as_list), OneOrMore()]
AngleLimits = Annotated[list[AngleLimitTable], BeforeValidator(as_list), OneOrMore()]


class LimitsTable(Table):
    """Limits at the tip, absolute values; each one table or a list of them."""

    side_deflection: LengthLimits = []
    fore_aft_deflection: LengthLimits = []
    roll: AngleLimits = []
    pitch: AngleLimits = []
    twist: AngleLimits = []


class MaterialTable(Table):
    """A material of the file's own; exactly one of ``G`` and ``nu``."""

    model_config = ConfigDict(
        json_schema_extra={"oneOf": [{"required": ["G"]}, {"required": ["nu"]}]},
    )

    E: Annotated[float, *_MODULUS]
    G: Annotated[float, *_MODULUS] | None = None
    nu: Annotated[float, *number(-1.0, 0.5, above=True)] | None = None
    density: Annotated[float, *quantity(Dimension.DENSITY, "1 kg/m3", "25000 kg/m3")]
    source: Annotated[str, *_LINE]
    proof_strength: Annotated[float, *_STRESS] | None = None
    ultimate_strength: Annotated[float, *_STRESS] | None = None
    gamma_proof: Annotated[float, *_GAMMA] = 1.10
    gamma_ultimate: Annotated[float, *_GAMMA] = 1.25
    galvanic_group: Annotated[str, *_NAME] = ""
    note: Annotated[str, *_LINE] = ""


class LoadCaseTable(Table):
    """A load case. With a standard name, keys left out keep the standard values."""

    name: Annotated[str, *_NAME]
    n: Annotated[float, *number(-20.0, 20.0)] = 0.0
    offset: Annotated[float, *_OFFSET] = 0.0
    roll_offset: Annotated[float, *_OFFSET] = 0.0
    side_force: Annotated[float, *number(-20.0, 20.0)] = 0.0
    side_spread: Annotated[bool, Field(strict=True)] = False
    feet_twist: Annotated[float, *number(-20.0, 20.0)] = 0.0
    force: tuple[Annotated[float, *_FORCE], Annotated[float, *_FORCE], Annotated[float, *_FORCE]] = (
        0.0,
        0.0,
        0.0,
    )
    moment: tuple[Annotated[float, *_MOMENT], Annotated[float, *_MOMENT], Annotated[float, *_MOMENT]] = (
        0.0,
        0.0,
        0.0,
    )
    lift: Annotated[Literal["through-rider", "dead"], words("through-rider", "dead")] = "dead"
    strength_factor: Annotated[float, *number(0.0, 10.0, above=True)] = 1.5


class MastFile(Table):
    """The whole mast file."""

    model_config = ConfigDict(title="mastcheck mast file")

    mast: MastTable
    section: SectionTable
    rider: RiderTable = RiderTable()
    conditions: ConditionsTable = ConditionsTable()
    limits: LimitsTable = LimitsTable()
    material: dict[Annotated[str, *_NAME], MaterialTable] = {}
    load_case: list[LoadCaseTable] = []


# Tables by key path, list places and material names left out: for hints on unknown keys.
TABLES: dict[tuple[str, ...], type[Table]] = {
    (): MastFile,
    ("mast",): MastTable,
    ("mast", "station"): StationTable,
    ("section",): SectionTable,
    ("section", "webs"): WebTable,
    ("rider",): RiderTable,
    ("conditions",): ConditionsTable,
    ("limits",): LimitsTable,
    **{("limits", key): LengthLimitTable for key in ("side_deflection", "fore_aft_deflection")},
    **{("limits", key): AngleLimitTable for key in ("roll", "pitch", "twist")},
    ("material",): MaterialTable,
    ("load_case",): LoadCaseTable,
}
