"""Every combination of what is varied, checked; and which designs none other beats."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.job import Job
from mastcheck.search.batches import Range, Solved, gaps
from mastcheck.search.executors import Executor, Local
from mastcheck.search.front import NOISE, OBJECTIVES, STAND_INS, front
from mastcheck.search.outcome import REFUSED, Outcome
from mastcheck.search.plan import Plan, plan_of
from mastcheck.search.rows import PLACE, Row, holds, is_fault, outcome_of
from mastcheck.search.variables import Variable

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_MOST_REASONS = 200


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Judged:
    """All designs of a plan by what they are set against each other for, in the plan's order.

    ``objectives``: names of the columns of ``values`` (n, k), not a number where there is none.
    ``holds`` (n,): exceeds no limit, and no self-check puts it in doubt. ``front`` (n,): beaten by no
    other design of the same length and rider, among those that hold; where ``none_holds``, among all.
    ``verdicts``: how many of each. ``reasons``: why designs were refused, with how many. ``doubtful``
    and ``faults``: how many a self-check puts in doubt, and how many the program could not solve.
    """

    plan: Plan
    objectives: tuple[str, ...]
    values: FloatArray
    holds: BoolArray
    front: BoolArray
    verdicts: dict[str, int]
    reasons: dict[str, int]
    doubtful: int
    faults: int

    @property
    def none_holds(self) -> bool:
        """Whether every design exceeds a limit, is in doubt or could not be checked."""
        return not self.holds.any()

    @property
    def groups(self) -> NDArray[np.int64]:
        """(n,) which length and rider each design has: designs of one number have the same."""
        return np.arange(len(self.holds), dtype=np.int64) % self.plan.alike


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sweep:
    """All outcomes of a plan in its order, and how they stand to each other."""

    plan: Plan
    outcomes: tuple[Outcome, ...]
    judged: Judged

    @property
    def front(self) -> tuple[Outcome, ...]:
        """The designs that none other beats."""
        return tuple(o for o, on in zip(self.outcomes, self.judged.front, strict=True) if on)


def sweep(
    job: Job,
    variables: Iterable[Variable],
    *,
    executor: Executor | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Sweep:
    """Check every combination of the variables' values.

    Args:
        job: the mast, its rider, cases and limits.
        variables: what is varied, and its values [SI].
        executor: where; by default a process for each core of this machine, which in a script needs
            ``if __name__ == "__main__"`` around the call.
        progress: called with how many designs are done, of how many.

    Returns: a Sweep, held in memory whole; for more designs than that, see ``stream`` and ``judge``.

    Raises: InputError for a key the mast has not, or too many designs; ExecutorError where the
        executor does not work. A bad design is an outcome with a reason.
    """
    plan = plan_of(job, variables)
    rows: list[Row | None] = [None] * plan.count
    done = 0
    for solved in stream(plan, executor or Local()):
        rows[solved.start : solved.stop] = solved.rows
        done += len(solved.rows)
        if progress is not None:
            progress(done, plan.count)
    whole = [row for row in rows if row is not None]
    outcomes = tuple(outcome_of(plan, i, row) for i, row in enumerate(whole))
    return Sweep(plan=plan, outcomes=outcomes, judged=judge(plan, whole))


def stream(plan: Plan, executor: Executor, done: Iterable[Range] = ()) -> Iterator[Solved]:
    """Rows of every design but those done, as they come: each once, in any order."""
    todo = gaps(plan.count, done)
    return executor.run(plan, todo) if todo else iter(())


def judge(plan: Plan, rows: Iterable[Row], objectives: tuple[str, ...] = OBJECTIVES) -> Judged:
    """Set a plan's designs against each other.

    Args:
        plan: what was swept.
        rows: of all its designs, in order; read once, and not kept.
        objectives: an outcome's numbers that are to be small.
    """
    wanted = [*objectives, *(STAND_INS[o] for o in objectives if o in STAND_INS)]
    values = np.full((plan.count, len(wanted)), np.nan)
    fit = np.zeros(plan.count, dtype=bool)
    verdicts: Counter[str] = Counter()
    reasons: Counter[str] = Counter()
    doubtful = faults = 0
    for i, row in enumerate(rows):
        values[i] = [np.nan if row[PLACE[name]] is None else row[PLACE[name]] for name in wanted]
        fit[i] = holds(row)
        verdict, reason = str(row[PLACE["verdict"]]), str(row[PLACE["reason"]])
        verdicts[verdict] += 1
        if verdict == REFUSED and (reason in reasons or len(reasons) < _MOST_REASONS):
            reasons[reason] += 1
        doubtful += bool(row[PLACE["doubtful"]])
        faults += is_fault(row)
    used = [
        name if np.isfinite(values[:, wanted.index(name)]).any() else STAND_INS.get(name, name)
        for name in objectives
    ]
    kept = values[:, [wanted.index(name) for name in used]]
    for column, name in enumerate(used):
        kept[np.abs(kept[:, column]) < NOISE.get(name, 0.0), column] = 0.0
    return Judged(
        plan=plan,
        objectives=tuple(used),
        values=kept,
        holds=fit,
        front=_front(plan, kept, fit),
        verdicts=dict(sorted(verdicts.items())),
        reasons=dict(reasons.most_common()),
        doubtful=doubtful,
        faults=faults,
    )


def _front(plan: Plan, values: FloatArray, fit: BoolArray) -> BoolArray:
    """The front of the designs that hold; of all where none does."""
    among = values.copy()
    if fit.any():
        among[~fit] = np.nan
    return front(among, np.arange(plan.count, dtype=np.int64) % plan.alike)
