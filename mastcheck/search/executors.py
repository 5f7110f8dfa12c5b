"""Where designs are solved: in this process, or in worker processes of this machine.

All give the same rows, bit for bit, in whatever order they come: a design is solved by itself, and
worker processes use one thread each, since sums that are shared out between threads end in other digits.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator, Sequence
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from time import perf_counter
from typing import TYPE_CHECKING, Protocol

from mastcheck.errors import MastcheckError
from mastcheck.search.batches import Batch, Batches, Range, Solved
from mastcheck.search.plan import Plan
from mastcheck.search.quiet import quiet_start
from mastcheck.search.rows import Row, solve

if TYPE_CHECKING:
    from multiprocessing.context import SpawnProcess

_STILLBORN = 3
"""How many workers in a row may die before they are ready."""


class ExecutorError(MastcheckError):
    """Designs cannot be solved where they were to be."""


class Executor(Protocol):
    """A place to solve designs in."""

    def run(self, plan: Plan, todo: Sequence[Range]) -> Iterator[Solved]:
        """Rows of all designs in the ranges, each once, in any order.

        Raises: ExecutorError where the place does not work.
        """


class Here:
    """This process, one design after the other. ``cached``: see ``rows.solve``."""

    def __init__(self, *, cached: bool = True) -> None:
        self.cached = cached

    def run(self, plan: Plan, todo: Sequence[Range]) -> Iterator[Solved]:
        """See Executor."""
        batches = Batches(plan, todo)
        while batch := batches.take():
            start = perf_counter()
            rows = solve(plan, batch.start, batch.stop, cached=self.cached)
            batches.timed(batch, perf_counter() - start)
            yield Solved(start=batch.start, rows=rows)


class Local:
    """Worker processes of this machine. One that dies is replaced, and what it had is done again.

    A pool of the standard library gives up everything when one of its processes dies, and does not
    say which task it died of; with a pipe to each worker both are known.
    """

    def __init__(self, workers: int | None = None, *, cached: bool = True) -> None:
        self.workers = max(1, workers or os.cpu_count() or 1)
        self.cached = cached

    def run(self, plan: Plan, todo: Sequence[Range]) -> Iterator[Solved]:
        """See Executor. In a script, call it under ``if __name__ == "__main__"``."""
        batches = Batches(plan, todo)
        waiting = sum(stop - start for start, stop in todo)
        team = _Team(plan, self.cached)
        try:
            team.grow(min(self.workers, waiting))
            while waiting:
                for worker in team.idle():
                    if batch := batches.take():
                        worker.give(batch)
                for batch, rows, seconds in team.news():
                    if rows is None:
                        solved = batches.died(batch)
                    else:
                        batches.timed(batch, seconds)
                        solved = Solved(start=batch.start, rows=rows)
                    if solved is not None:
                        waiting -= len(solved.rows)
                        yield solved
        finally:
            team.end()


class _Worker:
    """A process that solves batches, one at a time, sent to it through a pipe."""

    def __init__(self, plan: Plan, cached: bool) -> None:
        spawn = get_context("spawn")
        self.connection, theirs = spawn.Pipe()
        self.process: SpawnProcess = spawn.Process(
            target=_work, args=(theirs, plan, cached), daemon=True
        )
        with quiet_start():
            self.process.start()
        # Held by the worker alone, so that its death ends what is read from it.
        theirs.close()
        self.ready = False
        self.batch: Batch | None = None

    def give(self, batch: Batch) -> None:
        """Send a batch; to one that has just died it is as good as lost, and is taken back later."""
        self.batch = batch
        try:
            self.connection.send((batch.start, batch.stop))
        except OSError:
            return

    def end(self) -> None:
        """End the process at once: what it has not sent is not counted."""
        self.process.kill()
        self.process.join()
        self.connection.close()


class _Team:
    """The worker processes there are."""

    def __init__(self, plan: Plan, cached: bool) -> None:
        self._plan, self._cached = plan, cached
        self._workers: list[_Worker] = []
        self._stillborn = 0

    def grow(self, count: int) -> None:
        """Start workers."""
        for _ in range(count):
            self._workers.append(_Worker(self._plan, self._cached))

    def idle(self) -> list[_Worker]:
        """Workers that wait for a batch."""
        return [w for w in self._workers if w.ready and w.batch is None]

    def news(self) -> list[tuple[Batch, list[Row] | None, float]]:
        """Wait for workers to finish a batch (its rows and seconds) or to die of it (no rows)."""
        by_connection: dict[object, _Worker] = {w.connection: w for w in self._workers}
        out: list[tuple[Batch, list[Row] | None, float]] = []
        for connection in wait([w.connection for w in self._workers]):
            worker = by_connection[connection]
            try:
                message = worker.connection.recv()
            except (EOFError, OSError):
                self._replace(worker)
                if worker.batch is not None:
                    out.append((worker.batch, None, 0.0))
                continue
            if worker.batch is None:
                worker.ready, self._stillborn = True, 0
            else:
                rows, seconds = message
                out.append((worker.batch, rows, seconds))
                worker.batch = None
        return out

    def end(self) -> None:
        """End all."""
        for worker in self._workers:
            worker.end()

    def _replace(self, worker: _Worker) -> None:
        worker.end()
        self._workers.remove(worker)
        if not worker.ready:
            self._stillborn += 1
            if self._stillborn >= _STILLBORN:
                raise ExecutorError(
                    f"worker processes end before they begin (exit status {worker.process.exitcode}):"
                    ' in a script, put the call under if __name__ == "__main__"'
                )
        self.grow(1)


def _work(connection: Connection, plan: Plan, cached: bool) -> None:
    """A worker's life: it ends when its parent closes the pipe, or dies."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to answer
    try:
        connection.send(None)
        while True:
            start, stop = connection.recv()
            begun = perf_counter()
            rows = solve(plan, start, stop, cached=cached)
            connection.send((rows, perf_counter() - begun))
    except (EOFError, OSError):
        return
