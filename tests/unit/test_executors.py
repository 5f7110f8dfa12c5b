"""The same rows wherever they are solved, and whoever dies on the way."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from mastcheck.search.batches import Solved
from mastcheck.search.cluster import Cluster
from mastcheck.search.executors import Executor, ExecutorError, Here, Local
from mastcheck.search.rows import PLACE, Row, is_fault
from tests.sweeps import JOB, PLAN, VARIABLES, Deadly

if TYPE_CHECKING:
    from distributed import LocalCluster

pytestmark = pytest.mark.skipif(os.name == "nt", reason="kills processes the POSIX way")

WHOLE = [(0, PLAN.count)]


def in_order(parts: list[Solved], count: int = PLAN.count) -> list[Row]:
    """The rows by number; each design exactly once."""
    out: dict[int, Row] = {}
    for part in parts:
        for i, row in enumerate(part.rows, part.start):
            assert i not in out, "a design was solved twice"
            out[i] = row
    assert sorted(out) == list(range(count))
    return [out[i] for i in range(count)]


@pytest.fixture(scope="module")
def undisturbed() -> list[Row]:
    """Rows by one worker that nothing happens to."""
    return in_order(list(Local(1).run(PLAN, WHOLE)))


def test_two_workers_give_the_same_bits_as_one(undisturbed: list[Row]) -> None:
    assert in_order(list(Local(2).run(PLAN, WHOLE))) == undisturbed
    assert multiprocessing.active_children() == []


@pytest.mark.skipif(
    os.environ.get("OPENBLAS_NUM_THREADS") != "1", reason="sums shared out between threads differ"
)
def test_this_process_gives_the_same_bits(undisturbed: list[Row]) -> None:
    assert in_order(list(Here().run(PLAN, WHOLE))) == undisturbed


def test_a_killed_worker_loses_and_doubles_nothing(undisturbed: list[Row]) -> None:
    running = Local(2).run(PLAN, WHOLE)
    parts = [next(running)]
    for child in multiprocessing.active_children():
        os.kill(child.pid or 0, signal.SIGKILL)
    parts += running
    assert in_order(parts) == undisturbed


def test_a_design_that_kills_its_worker_costs_only_itself() -> None:
    plan = Deadly(job=JOB, variables=VARIABLES[1:2], parent=os.getpid(), deadly=1)
    rows = in_order(list(Local(1).run(plan, [(0, 3)])), 3)
    assert [is_fault(row) for row in rows] == [False, True, False]
    assert "worker processes died" in str(rows[1][PLACE["reason"]])
    assert multiprocessing.active_children() == []


@pytest.fixture(scope="module")
def cluster() -> Iterator[LocalCluster]:
    """Two worker processes with a scheduler, as started by hand."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as made:
        yield made


def test_a_cluster_gives_the_same_bits(undisturbed: list[Row], cluster: LocalCluster) -> None:
    assert in_order(list(Cluster(cluster.scheduler_address).run(PLAN, WHOLE))) == undisturbed


def test_a_killed_worker_of_a_cluster_loses_and_doubles_nothing(
    undisturbed: list[Row], cluster: LocalCluster
) -> None:
    running = Cluster(cluster.scheduler_address).run(PLAN, WHOLE)
    parts = [next(running)]
    victim = next(iter(cluster.workers.values())).pid
    os.kill(victim, signal.SIGKILL)
    parts += running
    assert in_order(parts) == undisturbed


def test_other_code_on_a_worker_is_refused(
    cluster: LocalCluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("mastcheck.search.cluster.code", lambda: "other")
    with pytest.raises(ExecutorError, match="other code"):
        list(Cluster(cluster.scheduler_address).run(PLAN, WHOLE))


def test_where_no_scheduler_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("mastcheck.search.cluster.PATIENCE", 0.3)
    for address in ("tcp://127.0.0.1:9", "nonsense"):
        running: Executor = Cluster(address)
        with pytest.raises(ExecutorError, match="no scheduler answers"):
            list(running.run(PLAN, WHOLE))


def test_workers_that_cannot_start_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("mastcheck.search.executors._work", _die)
    with pytest.raises(ExecutorError, match="before they begin"):
        list(Local(1).run(PLAN, WHOLE))


def _die(*_: object) -> None:
    os._exit(3)
