"""Every published value computed anew, and held against its tolerance."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from mastcheck.errors import MastcheckError
from mastcheck.verify.catalogue import COMPUTATIONS
from mastcheck.verify.given import Given, Shipped
from mastcheck.verify.table import Row
from mastcheck.verify.units import from_si

SHARE = 0.01
"""Of the tolerance: a smaller difference is not told apart from none, and no finer digit is shown.

Processors differ in the last digits of a sum. What is printed is rounded far above that, so that it
reads the same on every machine.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A row and what was computed for it, in the row's unit; ``fault`` where nothing could be."""

    row: Row
    computed: float
    fault: str = ""

    @property
    def difference(self) -> float:
        """Computed less published: in the unit, or over the published value where that is compared."""
        gap = self.computed - self.row.published
        return gap if self.row.absolute else gap / abs(self.row.published)

    @property
    def held(self) -> bool:
        """Whether the difference is within the tolerance; nothing computed holds nothing."""
        return abs(self.difference) <= self.row.tolerance

    @property
    def negligible(self) -> bool:
        """Whether the difference is below ``SHARE`` of the tolerance."""
        return abs(self.difference) < SHARE * self.row.tolerance

    @property
    def digits(self) -> int:
        """Significant figures of ``computed`` that a hundredth of the tolerance leaves."""
        if not math.isfinite(self.computed) or self.computed == 0:
            return 1
        step = SHARE * self.row.allowed
        return max(1, math.floor(math.log10(abs(self.computed))) - math.floor(math.log10(step)) + 1)

    @property
    def shown(self) -> float | None:
        """``computed`` rounded to its ``digits``; None where there is none."""
        if not math.isfinite(self.computed):
            return None
        return float(f"{self.computed:.{self.digits - 1}e}")


def compute(row: Row, shipped: Shipped) -> Outcome:
    """One row. A computation that fails is an outcome that does not hold, with its words."""
    try:
        value = COMPUTATIONS[row.computation](Given(values=row.given, shipped=shipped))
        return Outcome(row=row, computed=from_si(value, row.unit))
    except (ArithmeticError, LookupError, MastcheckError, RuntimeError, TypeError, ValueError) as error:
        # On a machine where a library fails, that is what this command is for to say.
        return Outcome(row=row, computed=math.nan, fault=f"{type(error).__name__}: {error}")


def run(
    rows: Sequence[Row], shipped: Shipped, progress: Callable[[int], None] | None = None
) -> tuple[Outcome, ...]:
    """All rows in turn; ``progress`` is told how many are done."""

    def each() -> Iterator[Outcome]:
        for done, row in enumerate(rows, start=1):
            yield compute(row, shipped)
            if progress is not None:
                progress(done)

    return tuple(each())
