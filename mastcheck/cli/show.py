"""Numbers as the terminal shows them; units and rounding are those of the report."""

from __future__ import annotations

import math
from typing import Literal

from mastcheck.report.display import factor
from mastcheck.report.display import number as digits

Units = Literal["metric", "imperial"]
MISSING = "–"
NOISE = 1e-4
"""Movements and places below this [mm, deg] are what arithmetic leaves, and are shown as 0."""


def number(value: float | None, unit: str, units: Units, significant: int = 3) -> str:
    """A value given in a metric unit, in display units, without the unit.

    >>> number(762.0, "mm", "imperial")
    '30.0'
    """
    # A plain hyphen for minus, so that what is piped can be read as numbers again.
    return (
        MISSING if value is None else digits(value * factor(unit, units), significant).replace("−", "-")
    )


def signed(value: float, unit: str, units: Units) -> str:
    """The same with its sign, since the sign says which way.

    >>> signed(12.3, "mm", "metric")
    '+12.3'
    """
    if abs(value) < NOISE:
        return "0"
    shown = number(value, unit, units)
    return f"+{shown}" if shown[0].isdigit() and float(value) > 0 else shown


def percent(value: float | None) -> str:
    """A fraction in percent.

    >>> percent(0.5), percent(float("inf"))
    ('50 %', '∞')
    """
    if value is None:
        return MISSING
    return "∞" if math.isinf(value) else f"{100 * value:.0f} %"
