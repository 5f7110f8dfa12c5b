"""Designs solved on a Dask cluster: many machines, of which any may leave or join at any time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from time import monotonic, perf_counter
from typing import Any

from mastcheck.search.batches import MOST_DEATHS, Batch, Batches, Range, Solved
from mastcheck.search.executors import ExecutorError
from mastcheck.search.plan import Plan, code
from mastcheck.search.rows import Row, solve

PATIENCE = 10.0
"""Seconds to wait for the scheduler."""

JOINING = 60.0
"""Seconds to wait for the first worker."""

AHEAD = 2
"""Batches on their way for each thread of the cluster, so that none waits for work."""

_COUNTED = 2.0  # seconds from one count of the cluster's threads to the next


class Cluster:
    """A Dask scheduler and its workers. What a worker had that dies is done again by another.

    Each worker needs the same version of this package; a worker that has another is refused. Threads
    of one worker share an interpreter: workers with one thread each are quicker.

    Args:
        address: of the scheduler, such as ``tcp://10.0.0.5:8786``.
        cached: see ``rows.solve``; sections are kept where each worker runs.
    """

    def __init__(self, address: str, *, cached: bool = True) -> None:
        self.address = address
        self.cached = cached

    def run(self, plan: Plan, todo: Sequence[Range]) -> Iterator[Solved]:
        """See Executor."""
        with _client(self.address) as client:
            yield from self._run(client, plan, Batches(plan, todo))

    def _run(self, client: Any, plan: Plan, batches: Batches) -> Iterator[Solved]:
        from distributed import as_completed

        under_way: dict[Any, Batch] = {}
        completed = as_completed(loop=client.loop, raise_errors=False)
        width, counted = 0, 0.0
        try:
            while True:
                if monotonic() - counted > _COUNTED:
                    width = AHEAD * max(1, sum(client.nthreads().values()))
                    counted = monotonic()
                while len(under_way) < width and (batch := batches.take()):
                    future = client.submit(
                        _task, plan, batch.start, batch.stop, self.cached, code(), pure=False
                    )
                    under_way[future] = batch
                    completed.add(future)
                if not under_way:
                    return
                future = next(completed)
                batch = under_way.pop(future)
                solved = _taken(future, batch, batches)
                future.release()
                if solved is not None:
                    yield solved
        finally:
            client.cancel(list(under_way), force=True)


def _client(address: str) -> Any:
    """Connected to the scheduler, with a worker at least.

    Raises: ExecutorError.
    """
    try:
        from distributed import Client
        from distributed.comm import get_address_host_port
    except ImportError:
        raise ExecutorError(
            'a cluster needs the extra "cluster": pip install "mastcheck[cluster]"'
        ) from None
    try:
        get_address_host_port(address)  # an address that is none leaves no half-made client behind
        client = Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as fault:
        raise ExecutorError(
            f"no scheduler answers at {address} ({_words(fault)}): start one with dask scheduler, and"
            " name the address that it prints"
        ) from None
    try:
        client.wait_for_workers(1, timeout=JOINING)
    except TimeoutError:
        client.close()
        raise ExecutorError(
            f"no worker has joined {address} in {JOINING:.0f} s: start some with dask worker {address}"
        ) from None
    return client


def _task(plan: Plan, start: int, stop: int, cached: bool, version: str) -> tuple[list[Row], float]:
    """Runs on a worker: rows of a batch, and the seconds they took."""
    if code() != version:
        raise ExecutorError("runs other code of mastcheck, or of the libraries it computes with")
    begun = perf_counter()
    rows = solve(plan, start, stop, cached=cached)
    return rows, perf_counter() - begun


def _taken(future: Any, batch: Batch, batches: Batches) -> Solved | None:
    """What came of a batch; None when it is to be done again.

    Raises: ExecutorError for a fault that doing it again will not mend.
    """
    if future.status == "finished":
        rows, seconds = future.result()
        batches.timed(batch, seconds)
        return Solved(start=batch.start, rows=rows)
    fault: Any = future.exception() if future.status == "error" else None
    if fault is None:  # cancelled or lost: the scheduler has begun anew
        raise ExecutorError("the scheduler has dropped the work: give the command again to go on")
    if type(fault).__name__ == "KilledWorker":
        # The scheduler gave it to several workers, and each died.
        return batches.died(batch, MOST_DEATHS)
    raise ExecutorError(
        f"a worker of the cluster could not do its work ({_words(fault)}): install the same mastcheck,"
        " with the same libraries, on every machine"
    )


def _words(fault: BaseException) -> str:
    text = " ".join(str(fault).split())
    return f"{type(fault).__name__}: {text}"[:200] if text else type(fault).__name__
