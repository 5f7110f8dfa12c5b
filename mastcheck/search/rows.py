"""A design's outcome as a plain row of values, for tables, journals and wires between processes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import fields

from mastcheck.search.outcome import REFUSED, Outcome, outcome
from mastcheck.search.plan import Plan
from mastcheck.section.store import without

Value = float | str | bool | None
Row = Sequence[Value]

COLUMNS: tuple[str, ...] = tuple(f.name for f in fields(Outcome) if f.name != "settings")
"""What a row holds, in order."""

PLACE = {name: i for i, name in enumerate(COLUMNS)}
"""Place in a row by name."""

FAULT = "internal fault"
"""How the reason begins of a design at which the program failed, whatever the design is like."""

HOLDS = ("pass", "report")
"""Verdicts of designs that exceed no limit."""


def solve(plan: Plan, start: int, stop: int, *, cached: bool = True) -> list[Row]:
    """Rows of the designs from ``start`` to before ``stop``. Never raises for a design.

    ``cached``: whether sections kept before are used, and those solved here kept.
    """
    with without(when=not cached):
        return [_row(plan, number) for number in range(start, stop)]


def _row(plan: Plan, number: int) -> Row:
    settings = plan.settings(number)
    try:
        return row_of(outcome(plan.job, settings))
    except Exception as fault:  # one design must not end a sweep of a million
        return faulty(plan, number, f"{type(fault).__name__}: {' '.join(str(fault).split())}")


def faulty(plan: Plan, number: int, words: str) -> Row:
    """The row of a design that the program could not solve."""
    reason = f"{FAULT}: {words}"
    return row_of(Outcome(settings=plan.settings(number), verdict=REFUSED, reason=reason))


def row_of(found: Outcome) -> Row:
    """The outcome's values but for its settings, which its number tells."""
    return [_plain(getattr(found, name)) for name in COLUMNS]


def outcome_of(plan: Plan, number: int, row: Row) -> Outcome:
    """The outcome again."""
    return Outcome(
        settings=plan.settings(number),
        **dict(zip(COLUMNS, row, strict=True)),  # type: ignore[arg-type]  # each by its own column
    )


def holds(row: Row) -> bool:
    """Whether a design exceeds no limit and its self-checks do not put it in doubt."""
    return row[PLACE["verdict"]] in HOLDS and not row[PLACE["doubtful"]]


def is_fault(row: Row) -> bool:
    """Whether the program failed, rather than the design."""
    return str(row[PLACE["reason"]]).startswith(FAULT)


def _plain(value: object) -> Value:
    """A Python value: numpy's own are not for text; what is not a number is missing."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, str):
        return str(value)
    number = float(value)  # type: ignore[arg-type]  # each by its own column
    return None if math.isnan(number) else number + 0.0
