"""The designs still to be solved, handed out in batches, and taken back when a worker dies."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

from mastcheck.search.plan import Plan
from mastcheck.search.rows import Row, faulty

SECONDS = 1.0
"""Work in a batch: much more than the few milliseconds that sending it costs."""

LONGEST = 10.0
"""Most work [s] in a batch that is kept whole because its designs have the same sections."""

MOST_ROWS = 500
"""Most designs in a batch, however quick they are."""

FIRST = 4
"""Most designs in a batch before it is known how long one takes."""

MOST_DEATHS = 3
"""How many workers one design may take with it before it is given up."""

Range = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Designs from ``start`` to before ``stop``; ``deaths``: of workers that had it."""

    start: int
    stop: int
    deaths: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """Rows of the designs from ``start`` on."""

    start: int
    rows: list[Row]

    @property
    def stop(self) -> int:
        """The design after the last."""
        return self.start + len(self.rows)


def gaps(count: int, done: Iterable[Range]) -> list[Range]:
    """What is left of ``count`` designs when the ranges are done.

    >>> gaps(10, [(6, 8), (0, 3)])
    [(3, 6), (8, 10)]
    """
    out, at = [], 0
    for start, stop in sorted(done):
        if start > at:
            out.append((at, start))
        at = max(at, stop)
    if at < count:
        out.append((at, count))
    return out


class Batches:
    """Batches of about a second of work; designs with the same sections are kept together."""

    def __init__(self, plan: Plan, todo: Iterable[Range]) -> None:
        self._plan = plan
        self._todo = deque(todo)
        self._again: deque[Batch] = deque()
        self._pace: float | None = None

    def take(self) -> Batch | None:
        """The next batch; None when all are handed out."""
        if self._again:
            return self._again.popleft()
        if not self._todo:
            return None
        start, end = self._todo.popleft()
        stop = min(end, start + self._size(start))
        if stop < end:
            self._todo.appendleft((stop, end))
        return Batch(start=start, stop=stop)

    def timed(self, batch: Batch, seconds: float) -> None:
        """Note how long a batch took."""
        pace = seconds / (batch.stop - batch.start)
        self._pace = pace if self._pace is None else (self._pace + pace) / 2

    def died(self, batch: Batch, deaths: int = 1) -> Solved | None:
        """Take a batch back whose worker died.

        It is handed out again in halves, so that a design that takes its worker with it is soon
        alone; one that did so MOST_DEATHS times is given up, and its row returned.
        """
        deaths += batch.deaths
        middle = (batch.start + batch.stop) // 2
        if middle > batch.start:
            self._again.append(Batch(start=batch.start, stop=middle))
            self._again.append(Batch(start=middle, stop=batch.stop))
            return None
        if deaths < MOST_DEATHS:
            self._again.append(Batch(start=batch.start, stop=batch.stop, deaths=deaths))
            return None
        words = f"{deaths} worker processes died of it"
        return Solved(start=batch.start, rows=[faulty(self._plan, batch.start, words)])

    def _size(self, start: int) -> int:
        """How many designs to hand out from ``start`` on."""
        alike = self._plan.alike
        if self._pace is None:
            return min(alike - start % alike, FIRST)
        wanted = max(1, min(MOST_ROWS, int(SECONDS / max(self._pace, 1e-9))))
        if alike <= MOST_ROWS and alike * self._pace <= LONGEST:
            wanted = max(wanted, alike)
        end = (start + wanted) // alike * alike
        return end - start if end > start else min(wanted, alike - start % alike)
