"""A row of the verification as words: what the terminal and the report print alike.

Nothing here shows a digit finer than a hundredth of the row's tolerance, so that the words are the same
on machines that differ in the last digits of a sum.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from mastcheck.report.display import given, number
from mastcheck.verify.run import SHARE, Outcome
from mastcheck.verify.table import AREAS, KNOWN_WORDS, Known, Row

COLUMNS = (
    "row",
    "quantity",
    "published",
    "computed",
    "unit",
    "difference",
    "tolerance",
    "verdict",
    "source",
)
HELD, FAILED = "held", "FAILED"
_PPM_BELOW = 1e-4
"""Relative tolerance below which differences are told in parts per million."""

NUMBERS = "[n]: the source, and after the dash why the tolerance is as wide as it is"
READING = (
    "Difference: computed less published, over the published value (% or parts per million), or in the "
    "unit. Below a hundredth of the tolerance it is not told apart from rounding.",
    "No published value is from this program, and no tolerance was widened until its row held: each "
    "says why it is as wide as it is. The meshes and elements are those that a check takes.",
)


def published(row: Row) -> str:
    """The published value with all its digits."""
    digits = next(n for n in range(1, 18) if float(f"{row.published:.{n - 1}e}") == row.published)
    return number(row.published, digits)


def computed(outcome: Outcome) -> str:
    """The computed value, to a hundredth of the tolerance."""
    if outcome.shown is None:
        return "none"
    if outcome.shown == outcome.row.published:
        return published(outcome.row)
    return number(outcome.shown, outcome.digits)


def difference(outcome: Outcome) -> str:
    """The difference with its sign, or below what it is."""
    if outcome.shown is None:
        return "–"
    scale, unit = _scale(outcome.row)
    if outcome.negligible:
        return f"below {given(SHARE * outcome.row.tolerance * scale)}{unit}"
    text = number(outcome.difference * scale, 2)
    return f"{text if text.startswith('−') else f'+{text}'}{unit}"


def tolerance(row: Row) -> str:
    """The tolerance, in the terms of the difference."""
    scale, unit = _scale(row)
    return f"{given(row.tolerance * scale)}{unit}"


def _scale(row: Row) -> tuple[float, str]:
    if row.absolute:
        return 1.0, ""
    return (1e6, " ppm") if row.tolerance < _PPM_BELOW else (100.0, " %")


def verdict(outcome: Outcome) -> str:
    """Whether the row held, as a word."""
    return HELD if outcome.held else FAILED


@dataclass(frozen=True, slots=True)
class Sources:
    """Sources with the reasons of their tolerances, numbered from 1 in the order they come."""

    words: tuple[str, ...]
    number: dict[str, int]

    @classmethod
    def of(cls, outcomes: Iterable[Outcome]) -> Sources:
        """Those of some rows."""
        found = dict.fromkeys(source(o.row) for o in outcomes)
        return cls(tuple(found), {words: k for k, words in enumerate(found, start=1)})


def source(row: Row) -> str:
    """Source, grade, and after a dash why the tolerance is as wide as it is."""
    return f"{row.source} ({row.known}) – {row.why}"


def by_area(outcomes: Sequence[Outcome]) -> dict[str, list[Outcome]]:
    """The outcomes of each area that has some, in the areas' order."""
    found = {area: [o for o in outcomes if o.row.area == area] for area in AREAS}
    return {area: each for area, each in found.items() if each}


def answer(outcomes: Sequence[Outcome]) -> str:
    """The result in a sentence."""
    failed = sum(not o.held for o in outcomes)
    some = f"{len(outcomes)} published values computed anew"
    if not failed:
        return f"{some}: all within their tolerances."
    return f"{some}: {failed} outside {'its tolerance' if failed == 1 else 'their tolerances'}."


def failures(outcomes: Sequence[Outcome]) -> list[str]:
    """What failed, a sentence each."""
    return [
        f"{o.row.id}: {o.row.quantity}: published {published(o.row)}, "
        + (f"nothing computed ({o.fault})" if o.fault else f"computed {computed(o)}, {difference(o)}")
        for o in outcomes
        if not o.held
    ]


def grades(outcomes: Sequence[Outcome]) -> list[str]:
    """How the published values were come by, a sentence a grade."""
    count = {known: sum(o.row.known is known for o in outcomes) for known in Known}
    return [f"{count[known]} {known}: {KNOWN_WORDS[known]}" for known in Known if count[known]]
