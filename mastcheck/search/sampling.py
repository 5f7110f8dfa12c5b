"""A seeded Latin hypercube of masts, each checked whole.

Every sample is one check of a mast that is off by so much of each tolerance. The same seed gives the
same samples, to the last digit, however many worker processes they are shared out to.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.result import MastResult
from mastcheck.checks.run import check
from mastcheck.errors import MastcheckError
from mastcheck.job import Job
from mastcheck.scatter import Tolerance, in_limits, standard_values
from mastcheck.search.changed import changed
from mastcheck.search.executors import ExecutorError
from mastcheck.search.headline import Headline, headlines
from mastcheck.search.quiet import quiet_start
from mastcheck.search.size_limits import Name, uses

FloatArray = NDArray[np.float64]

DEFAULT_SEED = 1
_BATCH = 4
_PER_WORKER = 3
"""Batches waiting at each worker."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """What one sample came to. ``refused``: why it could not be checked.

    ``exceeded``: limits that it exceeds; ``unstable``: its unstable load cases; ``failed``: whether it
    exceeds any limit at all, or has an unstable case.
    """

    values: dict[Headline, float]
    exceeded: frozenset[Name]
    unstable: frozenset[str]
    failed: bool
    refused: str = ""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Samples:
    """n samples and the inputs (n, k) they were made with, as ``scatter.standard_values`` has them."""

    inputs: FloatArray
    samples: tuple[Sample, ...]

    def values(self, head: Headline) -> tuple[FloatArray, FloatArray]:
        """Inputs (m, k) and values (m,) of a headline number, of the samples that have it."""
        have = [i for i, s in enumerate(self.samples) if head in s.values]
        return self.inputs[have], np.array([self.samples[i].values[head] for i in have])


def draw(tolerances: Sequence[Tolerance], count: int, seed: int) -> FloatArray:
    """Standard values (n, k) of a Latin hypercube: each of n equally likely slices is met once."""
    from scipy.stats import qmc

    generator = np.random.default_rng(seed)
    chance = qmc.LatinHypercube(len(tolerances), rng=generator).random(count)
    columns = [standard_values(t, c) for t, c in zip(tolerances, chance.T, strict=True)]
    return np.column_stack(columns)


def sample(
    job: Job,
    tolerances: tuple[Tolerance, ...],
    count: int,
    *,
    seed: int = DEFAULT_SEED,
    workers: int | None = None,
    progress: Callable[[str, float], None] | None = None,
) -> Samples:
    """Check ``count`` masts. In a script with workers, call it under ``if __name__ == "__main__"``.

    Args:
        job: the mast as it is stated.
        tolerances: what scatters.
        count: how many.
        seed: of the draw; the same gives the same samples.
        workers: processes, of one thread each; None: one for each core; 0: this process alone, in which
            sums that are shared out to threads may end in other digits.
        progress: called with what is being done and the share done (0 to 1).

    Raises: ExecutorError where worker processes do not work.
    """
    inputs = draw(tolerances, count, seed)
    columns = [in_limits(t, c) for t, c in zip(tolerances, inputs.T, strict=True)]
    amounts = np.column_stack(columns)
    batches = [amounts[i : i + _BATCH] for i in range(0, count, _BATCH)]

    def tell(done: int) -> None:
        if progress is not None:
            progress(
                f"{job.mast.name}: {min(done * _BATCH, count)} of {count} samples", done / len(batches)
            )

    team = min(os.cpu_count() or 1 if workers is None else workers, len(batches))
    if team == 0:
        found = []
        for i, batch in enumerate(batches):
            found.append(_solve(job, tolerances, batch))
            tell(i + 1)
    else:
        found = _shared(job, tolerances, batches, team, tell)
    return Samples(inputs=inputs, samples=tuple(s for part in found for s in part))


def _shared(
    job: Job,
    tolerances: tuple[Tolerance, ...],
    batches: list[FloatArray],
    team: int,
    tell: Callable[[int], None],
) -> list[list[Sample]]:
    """The batches' samples, in their order, from worker processes."""
    found: list[list[Sample]] = [[] for _ in batches]
    waiting: dict[Future[list[Sample]], int] = {}
    ahead = enumerate(batches)
    pool = ProcessPoolExecutor(
        team, mp_context=get_context("spawn"), initializer=_begin, initargs=(job, tolerances)
    )
    try:
        done = 0
        with quiet_start():
            for i, batch in [next(ahead) for _ in range(min(_PER_WORKER * team, len(batches)))]:
                waiting[pool.submit(_solve_here, batch)] = i
        while waiting:
            ready, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in ready:
                found[waiting.pop(future)] = future.result()
                done += 1
                if (more := next(ahead, None)) is not None:
                    waiting[pool.submit(_solve_here, more[1])] = more[0]
            tell(done)
    except BrokenProcessPool:
        raise ExecutorError(
            "a worker process ended before its samples were done: try --workers 1; in a script, put the"
            ' call under if __name__ == "__main__"'
        ) from None
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
    return found


_given: list[tuple[Job, tuple[Tolerance, ...]]] = []
"""What a worker process was begun with."""


def _begin(job: Job, tolerances: tuple[Tolerance, ...]) -> None:
    _given[:] = [(job, tolerances)]


def _solve_here(amounts: FloatArray) -> list[Sample]:
    ((job, tolerances),) = _given
    return _solve(job, tolerances, amounts)


def _solve(job: Job, tolerances: tuple[Tolerance, ...], amounts: FloatArray) -> list[Sample]:
    """Samples off by amounts (n, k), in limits. Never raises for a mast.

    Sections are not kept: no other sample has the same.
    """
    out = []
    for row in amounts:
        try:
            out.append(judged(check(changed(job, tolerances, row.tolist()), cache=False)))
        except MastcheckError as fault:
            reason = " ".join(str(fault).split())
            nothing = frozenset[str]()
            out.append(
                Sample(values={}, exceeded=frozenset(), unstable=nothing, failed=True, refused=reason)
            )
    return out


def judged(result: MastResult) -> Sample:
    """What is kept of a whole check."""
    exceeded = frozenset(name for name, use in uses(result).items() if use.used > 1)
    unstable = frozenset(c.case.name for c in result.cases if not c.stable)
    return Sample(
        values=headlines(result),
        exceeded=exceeded,
        unstable=unstable,
        failed=bool(exceeded or unstable) or result.failed,
    )
