"""The published values, read from the one data file that the command and the tests share."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from mastcheck.errors import MastcheckError
from mastcheck.verify.units import UNITS

FILE = "verification.toml"
AREAS = (
    "sections", "materials", "laminates", "strength", "plates", "fatigue", "beams", "stability",
    "motion", "bolts", "joints", "water", "tolerances",
)  # fmt: skip
"""In the order in which they are printed."""
NOISE = 1e-12
"""Relative difference that rounding leaves: no tolerance may be below a hundred times this."""


class Known(StrEnum):
    """How the published value was come by."""

    READ = "read"
    RECOMPUTED = "recomputed"
    MEMORY = "from memory"


KNOWN_WORDS = {
    Known.READ: "the number was read in the source named, or in a page that quotes it",
    Known.RECOMPUTED: "its digits were worked out from the equation named, by other means than this"
    " program; the book beside it is named from memory",
    Known.MEMORY: "the number is recalled, and its page was not at hand",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A published value with its source, and the computation that is held against it.

    ``published`` is in ``unit``; ``tolerance`` is relative, or in ``unit`` where ``absolute``; ``why``
    says why it is as wide as that. ``given`` holds what the computation is told.
    """

    id: str
    area: str
    quantity: str
    source: str
    known: Known
    published: float
    unit: str
    tolerance: float
    absolute: bool
    why: str
    computation: str
    given: Mapping[str, Any]

    @property
    def allowed(self) -> float:
        """Greatest difference allowed, in ``unit``."""
        return self.tolerance if self.absolute else self.tolerance * abs(self.published)


@cache
def rows() -> tuple[Row, ...]:
    """Every row of the table, in the order of the data file."""
    return read(files("mastcheck").joinpath("data", FILE).read_text(encoding="utf-8"))


def row(name: str) -> Row:
    """The row of that id.

    Raises: MastcheckError where there is none.
    """
    for found in rows():
        if found.id == name:
            return found
    raise MastcheckError(f"the verification table has no row {name!r}")


def read(text: str) -> tuple[Row, ...]:
    """The rows of a table.

    A ``[[group]]`` holds keys that its ``row``s share; a row's own keys overrule them.

    Raises: MastcheckError for a row that is incomplete, has an unknown key, or repeats an id.
    """
    found = tuple(_row(keys) for keys in _flat(tomllib.loads(text)))
    names = [r.id for r in found]
    for name in names:
        if names.count(name) > 1:
            raise MastcheckError(f"{FILE}: two rows are called {name!r}")
    return found


_TOLERANCES = {"relative", "absolute"}


def _flat(table: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    for group in table["group"]:
        shared = {key: value for key, value in group.items() if key not in ("row", "given")}
        for own in group["row"]:
            # What a computation is told is joined too: a shape of the group, an angle of the row.
            given = {**group.get("given", {}), **own.get("given", {})}
            # One tolerance a row: its own, of whichever kind, in place of the group's.
            left = {
                k: v for k, v in shared.items() if k not in _TOLERANCES or not _TOLERANCES & own.keys()
            }
            yield {**left, **own, "given": given}


_WORDS = ("id", "area", "quantity", "source", "grade", "unit", "why", "computation")
_KEYS = {*_WORDS, "published", "relative", "absolute", "given"}


def _row(keys: Mapping[str, Any]) -> Row:
    name = keys.get("id", "a row without an id")

    def wrong(words: str) -> MastcheckError:
        return MastcheckError(f"{FILE}: {name}: {words}")

    missing = [key for key in _WORDS if not isinstance(keys.get(key), str)]
    if missing:
        raise wrong(f"want words for {', '.join(missing)}")
    if unknown := sorted(set(keys) - _KEYS):
        raise wrong(f"unknown key {', '.join(unknown)}")
    if keys["area"] not in AREAS:
        raise wrong(f"area {keys['area']!r}: want one of {', '.join(AREAS)}")
    if keys["grade"] not in list(Known):
        raise wrong(f"grade {keys['grade']!r}: want one of {', '.join(Known)}")
    if keys["unit"] not in UNITS:
        raise wrong(f"unit {keys['unit']!r}: want one of {', '.join(UNITS)}")
    if ("relative" in keys) == ("absolute" in keys):
        raise wrong("want a relative or an absolute tolerance, one of the two")
    published, absolute = float(keys["published"]), "absolute" in keys
    made = Row(
        **{key: keys[key] for key in _WORDS if key != "grade"},
        known=Known(keys["grade"]),
        published=published,
        tolerance=float(keys["absolute" if absolute else "relative"]),
        absolute=absolute,
        given=MappingProxyType(dict(keys["given"])),
    )
    if not (math.isfinite(published) and made.allowed > 100 * NOISE * abs(published)):
        raise wrong("want a finite value, and a tolerance above what rounding leaves")
    return made
