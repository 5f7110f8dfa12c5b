"""The table of the mast file about tolerances: what is not stated is assumed for the likely process."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from mastcheck.errors import MastcheckError
from mastcheck.files.fields import read_quantity, refuse
from mastcheck.files.tables import Table
from mastcheck.scatter import Quantity, Tolerance
from mastcheck.source import Grade, Source
from mastcheck.units import Dimension, parse

Limit = tuple[float, bool]
"""± so much: metres, or (True) a share of itself."""

MOST_PERCENT = 30.0
_PERCENT = re.compile(r"\s*\+?([0-9]{1,9}(?:\.[0-9]{0,15})?|\.[0-9]{1,15})\s*%\s*")
_LENGTH = r"\s*\+?[0-9.]+([eE][+-]?[0-9]+)?\s*[^0-9\s.,%].*"


def read_share(value: object, example: str) -> float:
    """A tolerance stated as a share of itself, such as "3 %".

    Raises: PydanticCustomError naming the rule.

    >>> read_share("2.5 %", "")
    0.025
    """
    found = _PERCENT.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        raise refuse("must be a percentage of itself, either way", f"write {example}")
    percent = float(found[1])
    if percent > MOST_PERCENT:
        raise refuse(
            f"must be from 0 % to {MOST_PERCENT:g} %", "check the number; it is ± so much, either way"
        )
    return percent / 100


def _share(example: str) -> tuple[BeforeValidator, WithJsonSchema]:
    described = f"± a percentage of itself, from 0 % to {MOST_PERCENT:g} %, such as {example}."
    return (
        BeforeValidator(lambda value: (read_share(value, example), True)),
        WithJsonSchema({"type": "string", "description": described, "pattern": f"^{_PERCENT.pattern}$"}),
    )


def _size(most: str, example: str) -> tuple[BeforeValidator, WithJsonSchema]:
    def read(value: object) -> Limit:
        if isinstance(value, str) and "%" in value:
            return read_share(value, example), True
        if isinstance(value, str) and _is_negative(value):
            raise refuse("must be from 0 mm to " + most, "write it without a sign: it is either way")
        return read_quantity(value, Dimension.LENGTH, "0 mm", most), False

    described = (
        f"± a length with its unit, from 0 mm to {most}, or ± a percentage of itself, such as {example}."
    )
    pattern = f"^({_PERCENT.pattern}|{_LENGTH})$"
    return (
        BeforeValidator(read),
        WithJsonSchema({"type": "string", "description": described, "pattern": pattern}),
    )


def _is_negative(text: str) -> bool:
    try:
        return parse(text, Dimension.LENGTH) < 0
    except MastcheckError:
        return False


class TolerancesTable(Table):
    """What masts and rides differ by from the stated numbers, ± each; 0 for what does not scatter.

    A size is off by as much at every station. ``E``: the elastic constants of all materials together, G
    among them. ``G``: what G scatters beside that. ``load``: all forces and moments of every load case.
    """

    wall: Annotated[Limit, *_size("20 mm", '"0.25 mm" or "5 %"')] | None = None
    chord: Annotated[Limit, *_size("100 mm", '"0.9 mm" or "1 %"')] | None = None
    thickness: Annotated[Limit, *_size("50 mm", '"0.4 mm" or "2 %"')] | None = None
    length: Annotated[Limit, *_size("100 mm", '"1 mm" or "0.2 %"')] | None = None
    E: Annotated[Limit, *_share('"3 %"')] | None = None
    G: Annotated[Limit, *_share('"3 %"')] | None = None
    load: Annotated[Limit, *_share('"10 %"')] | None = None


STATED = Source(title="[tolerances]", grade=Grade.USER)


def tolerances(table: TolerancesTable | None) -> tuple[Tolerance, ...]:
    """Those that a file states, in the order of ``Quantity``."""
    if table is None:
        return ()
    found = []
    for quantity in Quantity:
        limit: Limit | None = getattr(table, quantity)
        if limit is not None:
            size, relative = limit
            found.append(Tolerance(quantity=quantity, limit=size, relative=relative, source=STATED))
    return tuple(found)
