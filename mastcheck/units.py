"""Quantities with units: a strict parser that turns ``"750 mm"`` into SI once, at the edge."""

from __future__ import annotations

import math
import re
from difflib import get_close_matches
from enum import StrEnum
from fractions import Fraction

from mastcheck.errors import MastcheckError, escaped


class Dimension(StrEnum):
    """Kinds of quantity the tool reads."""

    LENGTH = "length"
    MASS = "mass"
    FORCE = "force"
    MOMENT = "moment"
    STRESS = "stress or modulus"
    DENSITY = "density"
    ANGLE = "angle"
    AREA = "area"
    SPEED = "speed"
    FREQUENCY = "frequency"
    INERTIA = "moment of inertia"
    STIFFNESS = "stiffness"
    ROTATIONAL_STIFFNESS = "rotational stiffness"


class UnitError(MastcheckError):
    """A quantity that cannot be read: the text found, the rule it breaks, the remedy."""

    def __init__(self, found: str, rule: str, remedy: str) -> None:
        self.found = found
        self.rule = rule
        self.remedy = remedy
        super().__init__(f"{found}: {rule}; {remedy}")


_EXAMPLE = {
    Dimension.LENGTH: "750 mm",
    Dimension.MASS: "85 kg",
    Dimension.FORCE: "200 N",
    Dimension.MOMENT: "20 N m",
    Dimension.STRESS: "70 GPa",
    Dimension.DENSITY: "1550 kg/m3",
    Dimension.ANGLE: "2 deg",
    Dimension.AREA: "0.12 m2",
    Dimension.SPEED: "8 m/s",
    Dimension.FREQUENCY: "1.2 Hz",
    Dimension.INERTIA: "0.05 kg m2",
    Dimension.STIFFNESS: "15 kN/mm",
    Dimension.ROTATIONAL_STIFFNESS: "500 N m/deg",
}
_INCH = Fraction(254, 10000)
_FOOT = 12 * _INCH
_POUND = Fraction(45359237, 100000000)
_POUND_FORCE = _POUND * Fraction(980665, 100000)
# pi is no rational, but the double nearest to pi/180 taken as a fraction keeps one rounding.
_DEGREE = Fraction(math.pi) / 180
_UNITS: dict[str, tuple[Dimension, Fraction]] = {
    "mm": (Dimension.LENGTH, Fraction(1, 1000)),
    "cm": (Dimension.LENGTH, Fraction(1, 100)),
    "m": (Dimension.LENGTH, Fraction(1)),
    "in": (Dimension.LENGTH, _INCH),
    "ft": (Dimension.LENGTH, _FOOT),
    "g": (Dimension.MASS, Fraction(1, 1000)),
    "kg": (Dimension.MASS, Fraction(1)),
    "lb": (Dimension.MASS, _POUND),
    "N": (Dimension.FORCE, Fraction(1)),
    "kN": (Dimension.FORCE, Fraction(1000)),
    "lbf": (Dimension.FORCE, _POUND_FORCE),
    "N m": (Dimension.MOMENT, Fraction(1)),
    "kN m": (Dimension.MOMENT, Fraction(1000)),
    "N mm": (Dimension.MOMENT, Fraction(1, 1000)),
    "lbf ft": (Dimension.MOMENT, _POUND_FORCE * _FOOT),
    "lbf in": (Dimension.MOMENT, _POUND_FORCE * _INCH),
    "Pa": (Dimension.STRESS, Fraction(1)),
    "kPa": (Dimension.STRESS, Fraction(10**3)),
    "MPa": (Dimension.STRESS, Fraction(10**6)),
    "GPa": (Dimension.STRESS, Fraction(10**9)),
    "psi": (Dimension.STRESS, _POUND_FORCE / _INCH**2),
    "ksi": (Dimension.STRESS, 1000 * _POUND_FORCE / _INCH**2),
    "kg/m3": (Dimension.DENSITY, Fraction(1)),
    "g/cm3": (Dimension.DENSITY, Fraction(1000)),
    "lb/ft3": (Dimension.DENSITY, _POUND / _FOOT**3),
    "lb/in3": (Dimension.DENSITY, _POUND / _INCH**3),
    "deg": (Dimension.ANGLE, _DEGREE),
    "rad": (Dimension.ANGLE, Fraction(1)),
    "m2": (Dimension.AREA, Fraction(1)),
    "cm2": (Dimension.AREA, Fraction(1, 10**4)),
    "mm2": (Dimension.AREA, Fraction(1, 10**6)),
    "in2": (Dimension.AREA, _INCH**2),
    "ft2": (Dimension.AREA, _FOOT**2),
    "m/s": (Dimension.SPEED, Fraction(1)),
    "km/h": (Dimension.SPEED, Fraction(10, 36)),
    "kn": (Dimension.SPEED, Fraction(1852, 3600)),
    "mph": (Dimension.SPEED, 5280 * _FOOT / 3600),
    "ft/s": (Dimension.SPEED, _FOOT),
    "Hz": (Dimension.FREQUENCY, Fraction(1)),
    "kg m2": (Dimension.INERTIA, Fraction(1)),
    "kg cm2": (Dimension.INERTIA, Fraction(1, 10**4)),
    "lb ft2": (Dimension.INERTIA, _POUND * _FOOT**2),
    "lb in2": (Dimension.INERTIA, _POUND * _INCH**2),
    "N/m": (Dimension.STIFFNESS, Fraction(1)),
    "kN/m": (Dimension.STIFFNESS, Fraction(1000)),
    "N/mm": (Dimension.STIFFNESS, Fraction(1000)),
    "kN/mm": (Dimension.STIFFNESS, Fraction(10**6)),
    "lbf/in": (Dimension.STIFFNESS, _POUND_FORCE / _INCH),
    "N m/rad": (Dimension.ROTATIONAL_STIFFNESS, Fraction(1)),
    "kN m/rad": (Dimension.ROTATIONAL_STIFFNESS, Fraction(1000)),
    "N m/deg": (Dimension.ROTATIONAL_STIFFNESS, 1 / _DEGREE),
    "kN m/deg": (Dimension.ROTATIONAL_STIFFNESS, 1000 / _DEGREE),
    "lbf ft/deg": (Dimension.ROTATIONAL_STIFFNESS, _POUND_FORCE * _FOOT / _DEGREE),
}
_SPELLINGS = {
    "Nm": "N m",
    "kNm": "kN m",
    "Nmm": "N mm",
    "kgm2": "kg m2",
    **{f"{k}Nm/{a}": f"{k}N m/{a}" for k in ("", "k") for a in ("rad", "deg")},
    "°": "deg",
    '"': "in",
}
# "3 lb 2 oz", "5 1/2 in": a number of its own behind a blank or in front, and letters after it.
_SECOND_NUMBER = re.compile(r"""(?:^|\s)[0-9][0-9./]{0,40}\s*[A-Za-z"'°]""")
# Digits and exponent are bounded, so that exact arithmetic cannot be made to run for ever; and no two
# parts of the pattern may take the same blank, or a long run of them would.
_QUANTITY = re.compile(
    r"([+-]?(?:[0-9]{1,40}\.?[0-9]{0,40}|\.[0-9]{1,40})(?:[eE][+-]?[0-9]{1,2})?)\s*(.*)",
    re.DOTALL,
)


def parse(text: object, dimension: Dimension) -> float:
    """The quantity in SI units, rounded once.

    Args:
        text: a number and its unit, such as ``"750 mm"``.
        dimension: the kind of quantity wanted.

    Returns: metres, kilograms, newtons, newton metres, pascals, kg/m³, radians, m², m/s, hertz,
        kg·m², N/m or N·m/rad.

    Raises: UnitError for a bare number, an unknown unit, or a unit of another dimension.

    >>> parse("750 mm", Dimension.LENGTH)
    0.75
    """
    wanted = f"an {dimension}" if dimension in (Dimension.ANGLE, Dimension.AREA) else f"a {dimension}"
    example = f'write {wanted} with its unit, such as "{_EXAMPLE[dimension]}"'
    if isinstance(text, bool) or not isinstance(text, str):
        kind = "a bare number has no unit" if type(text) in (int, float) else f"is not {wanted}"
        raise UnitError(shown(text), kind, example)
    match = _QUANTITY.fullmatch(text.strip())
    if match is None:
        raise UnitError(shown(text), "does not start with a finite number", example)
    number, spelled = match.groups()
    if not spelled:
        raise UnitError(shown(text), "a bare number has no unit", example)
    unit = _canonical(spelled)
    if unit not in _UNITS:
        raise UnitError(shown(text), _unknown_rule(spelled), _unknown_remedy(unit, dimension, example))
    actual, factor = _UNITS[unit]
    if actual is not dimension:
        rule = f"{unit} is a unit of {actual}, and {wanted} is wanted"
        raise UnitError(shown(text), rule, example)
    return float(Fraction(number) * factor)


def shown(value: object, width: int = 60) -> str:
    """A value as printed in a message: quoted, escaped, one line, at most ``width`` characters."""
    if isinstance(value, int) and abs(value) > 10**30:
        return "a very large integer"  # Python itself may refuse to print it
    text = f'"{escaped(value)}"' if isinstance(value, str) else escaped(str(value))
    return text if len(text) <= width else text[: width - 3] + "..."


def _canonical(unit: str) -> str:
    """One spelling for each unit: ``N·m``, ``N*m``, ``Nm`` are ``N m``; ``m³``, ``m^3`` are ``m3``."""
    plain = unit.replace("³", "3").replace("^3", "3").replace("²", "2").replace("^2", "2")
    plain = " ".join(re.sub(r"[·⋅*]", " ", plain).split())
    plain = re.sub(r"\s*/\s*", "/", plain)
    return _SPELLINGS.get(plain, plain)


def _unknown_rule(unit: str) -> str:
    if unit.startswith(","):
        return "a decimal comma is not read"
    if _SECOND_NUMBER.search(unit):
        return "is more than one number with one unit"
    return f"unknown unit {shown(unit, 24)}"


def _unknown_remedy(unit: str, dimension: Dimension, example: str) -> str:
    """The nearest unit of the wanted dimension, by spelling without regard to case."""
    if unit.startswith(","):
        return "use a decimal point"
    if _SECOND_NUMBER.search(unit):
        return "write one decimal number with one unit"
    wanted = {u.lower(): u for u, (d, _) in _UNITS.items() if d is dimension}
    near = get_close_matches(unit.lower(), wanted, n=1, cutoff=0.5)
    if near:
        return f'did you mean "{wanted[near[0]]}"?'
    return f"{example}; units known: {', '.join(wanted.values())}"
