"""How one value of the mast file is read: pydantic annotations that check unit, range and words.

Values arrive in SI units. Every refusal carries its own rule and remedy.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from difflib import get_close_matches
from enum import StrEnum
from pathlib import PurePath

from pydantic import BeforeValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

from mastcheck.mast import Zone
from mastcheck.units import Dimension, UnitError, parse

WITH_UNIT = r"^\s*[+-]?[0-9.]+([eE][+-]?[0-9]+)?\s*[^0-9\s.,].*$"


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
        WithJsonSchema({"type": "string", "description": described, "pattern": WITH_UNIT}),
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


def whole(low: int, high: int) -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a whole number."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise refuse(f"must be a whole number from {low} to {high}", "check the number")
        return value

    return (
        BeforeValidator(read),
        WithJsonSchema({"type": "integer", "minimum": low, "maximum": high}),
    )


def one_of(*choices: str) -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a text that is one of a few words."""
    return (words(*choices), WithJsonSchema({"type": "string", "enum": list(choices)}))


def quantity_or_list(
    dimension: Dimension, low: str, high: str, least: str
) -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a quantity from ``low`` to ``high``, or a list of them from ``least`` on."""

    def read(value: object) -> float | tuple[float, ...]:
        if not isinstance(value, list):
            return read_quantity(value, dimension, low, high)
        return tuple(entry(i, v) for i, v in enumerate(value))

    def entry(i: int, value: object) -> float:
        try:
            return read_quantity(value, dimension, least, high)
        except PydanticCustomError as error:
            context = error.context or {}
            raise refuse(f"entry {i + 1} {context['rule']}", context["remedy"]) from None

    one = {"type": "string", "pattern": WITH_UNIT}
    described = (
        f"A quantity with its unit ({dimension}), from {low} to {high}; or a list of them, one for each"
        f' station, "{least}" where it is left out.'
    )
    both = [one, {"type": "array", "items": one}]
    return (BeforeValidator(read), WithJsonSchema({"description": described, "anyOf": both}))


def quantity_range(dimension: Dimension, low: str, high: str) -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a range: two quantities, the lesser first, or one that is both."""

    def read(value: object) -> tuple[float, float]:
        ends = value if isinstance(value, list) else [value, value]
        if len(ends) != 2:
            example = f'write ["{low}", "{high}"]'
            raise refuse(f"must be one {dimension}, or a list of two, the lesser first", example)
        first, last = (read_quantity(end, dimension, low, high) for end in ends)
        return first, last

    one = {"type": "string", "pattern": WITH_UNIT}
    described = (
        f"A quantity with its unit ({dimension}), from {low} to {high}, or two, the lesser first."
    )
    both = [one, {"type": "array", "items": one, "minItems": 2, "maxItems": 2}]
    return (BeforeValidator(read), WithJsonSchema({"description": described, "anyOf": both}))


OUTLINE_SUFFIXES = (".dxf", ".csv", ".dat", ".txt")
"""Files that may hold an outline."""


def outline_file() -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of an outline file's name, relative to the mast file's folder."""

    def read(value: object) -> str:
        name = read_text(value, 500)
        if PurePath(name).suffix.lower() not in OUTLINE_SUFFIXES:
            raise refuse(
                "must end in .dxf (a drawing), or .csv, .dat or .txt (coordinates)",
                "name a drawing or a list of coordinates, beside the mast file",
            )
        return name

    described = "A drawing (.dxf) or coordinates (.csv, .dat, .txt), relative to the mast file's folder."
    return (
        BeforeValidator(read),
        WithJsonSchema({"type": "string", "description": described, "maxLength": 500}),
    )


def laminate_code() -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a standard laminate code, read as angles [deg] from the outside in."""

    def read(value: object) -> tuple[float, ...]:
        from mastcheck.laminate import parse_code

        code = read_text(value, 200)
        try:
            return parse_code(code)
        except UnitError as error:
            raise refuse(error.rule, error.remedy) from None

    described = 'A laminate code, angles in degrees from the outside in, such as "[0/±45/90]2s".'
    return (
        BeforeValidator(read),
        WithJsonSchema({"type": "string", "description": described, "maxLength": 200}),
    )


def cycles_by_case() -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a table of cycles by load case."""

    def read(value: object) -> object:
        if not isinstance(value, Mapping) or not value:
            raise refuse(
                "must be a table of load cases with their cycles", "write { carve = 1e6, pump = 1e6 }"
            )
        return value

    described = "Cycles to bear, by load case: { carve = 1e6, pump = 1e6 }."
    count = {"type": "number", "minimum": 1, "maximum": 1e10}
    return (
        BeforeValidator(read),
        WithJsonSchema(
            {
                "type": "object",
                "description": described,
                "additionalProperties": count,
                "minProperties": 1,
            }
        ),
    )


def detail_category() -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of a detail category, strength [MPa] at 2 million cycles and slope."""

    def read(value: object) -> str:
        from mastcheck.strength.fatigue import category

        name = read_text(value, 20)
        if category(name) is None:
            raise refuse(
                "must be a detail category: MPa at 2 million cycles (10 to 200), a hyphen, its slope"
                " (3 to 12)",
                'write detail = "90-7", or delta_sigma_c, m1 and source for a curve of your own',
            )
        return name

    described = 'Detail category of EN 1999-1-3, such as "90-7": MPa at 2 million cycles, and slope.'
    pattern = r"^\s*[0-9]{1,3}(\.[0-9])?-[0-9]{1,2}([.,][0-9])?\s*$"
    return (
        BeforeValidator(read),
        WithJsonSchema({"type": "string", "description": described, "pattern": pattern}),
    )


_SKIN = (Zone.NOSE, Zone.FACES, Zone.TAIL)
_REGIONS = ("skin", *(str(zone) for zone in Zone))


def zones() -> tuple[BeforeValidator, WithJsonSchema]:
    """Annotation of the zones of a ply: one word or a list of them; "skin" is nose, faces, tail."""

    def read(value: object) -> tuple[Zone, ...]:
        listed = value if isinstance(value, list) else [value]
        if not listed:
            raise refuse("must name a region", 'write region = "skin"')
        found = [z for word in listed for z in zones_of(read_choice(word, _REGIONS))]
        return tuple(dict.fromkeys(found))

    def zones_of(word: str) -> tuple[Zone, ...]:
        return _SKIN if word == "skin" else (Zone(word),)

    one = {"type": "string", "enum": list(_REGIONS)}
    both = [one, {"type": "array", "items": one, "minItems": 1}]
    return (BeforeValidator(read), WithJsonSchema({"anyOf": both}))
