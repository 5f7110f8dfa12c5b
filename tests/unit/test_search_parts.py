"""Parts of a search: batches of designs, a cluster's answers, and the quadratic steps."""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from mastcheck.search import sqp
from mastcheck.search.batches import FIRST, LONGEST, Batch, Batches
from mastcheck.search.cluster import Cluster, _taken
from mastcheck.search.executors import ExecutorError
from mastcheck.search.rows import PLACE, is_fault
from mastcheck.search.sqp import Look, Problem, Slopes, search
from mastcheck.search.variables import Variable
from tests.sweeps import PLAN

# Batches, and what a cluster answers

MANY = replace(
    PLAN,
    variables=(
        Variable(key="thickness", values=(0.016, 0.02)),
        Variable(key="rider", values=tuple(float(kg) for kg in range(60, 76))),
    ),
)
"""16 riders on each of two sections."""


def test_designs_of_one_section_are_kept_together_while_that_is_quick() -> None:
    assert (MANY.alike, MANY.count) == (16, 32)
    batches = Batches(MANY, [(0, MANY.count)])
    first = batches.take()
    assert first == Batch(start=0, stop=FIRST)
    # Quick: all that share the section that is begun, though they are more than a second's work.
    batches.timed(first, FIRST * 0.5 * LONGEST / MANY.alike)
    assert batches.take() == Batch(start=FIRST, stop=MANY.alike)


def test_slow_designs_are_handed_out_one_by_one_whatever_they_share() -> None:
    batches = Batches(MANY, [(0, MANY.count)])
    first = batches.take()
    assert first is not None
    batches.timed(first, FIRST * 2 * LONGEST / MANY.alike)
    second = batches.take()
    assert second is not None
    assert second.stop - second.start == 1


def answer(status: str, fault: BaseException | None = None) -> SimpleNamespace:
    return SimpleNamespace(status=status, exception=lambda: fault)


class KilledWorker(Exception):  # noqa: N818 - the cluster's own name for it
    pass


def test_work_that_a_scheduler_lost_is_told() -> None:
    for status in ("cancelled", "lost"):
        with pytest.raises(ExecutorError, match="the scheduler has dropped the work"):
            _taken(answer(status), Batch(start=0, stop=4), Batches(PLAN, []))


def test_work_that_killed_its_workers_is_halved_and_a_single_design_given_up() -> None:
    batches = Batches(PLAN, [])
    assert _taken(answer("error", KilledWorker()), Batch(start=4, stop=8), batches) is None
    assert [batches.take(), batches.take()] == [Batch(start=4, stop=6), Batch(start=6, stop=8)]
    assert batches.take() is None
    alone = _taken(answer("error", KilledWorker()), Batch(start=5, stop=6), batches)
    assert alone is not None
    (row,) = alone.rows
    assert is_fault(row)
    assert "worker processes died" in str(row[PLACE["reason"]])


def test_a_fault_of_a_worker_is_told_in_its_words() -> None:
    fault = ImportError("no module\nnamed shapely")
    with pytest.raises(ExecutorError, match=r"ImportError: no module named shapely.*same mastcheck"):
        _taken(answer("error", fault), Batch(start=0, stop=1), Batches(PLAN, []))


def test_without_the_extra_a_cluster_is_told_how_to_have_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ExecutorError, match=r'pip install "mastcheck\[cluster\]"'):
        list(Cluster("tcp://127.0.0.1:9").run(PLAN, [(0, 1)]))


def test_a_cluster_that_no_worker_joins_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    distributed = pytest.importorskip("distributed")
    monkeypatch.setattr("mastcheck.search.cluster.JOINING", 0.2)
    with (
        distributed.LocalCluster(
            n_workers=0, processes=True, dashboard_address=None, silence_logs=50
        ) as made,
        pytest.raises(ExecutorError, match=r"no worker has joined .* start some with dask worker"),
    ):
        list(Cluster(made.scheduler_address).run(PLAN, [(0, 1)]))


# The quadratic steps


def parabola(low: float, *, blind: float = math.inf) -> Problem:
    """Least (y - 3)² / 2 from ``low`` on, unseen beyond ``blind``; y must be 1 at least."""

    def look(y: np.ndarray) -> Look | None:
        if y[0] > blind:
            return None
        return Look(f=float((y[0] - 3) ** 2 / 2), c={("at least", ""): 1 - float(y[0])})

    def slopes(y: np.ndarray) -> Slopes:
        return Slopes(f=y - 3, c={("at least", ""): np.array([-1.0])})

    return Problem(look=look, slopes=slopes, low=np.array([low]), high=np.array([10.0]))


def test_a_search_ends_at_the_least() -> None:
    found = search(parabola(-2.0), np.array([-1.0]))
    assert found is not None
    assert found.converged
    assert found.y[0] == pytest.approx(3.0, abs=0.02)


def test_a_start_that_cannot_be_seen_is_no_start() -> None:
    assert search(parabola(-2.0, blind=2.0), np.array([2.5])) is None


def test_a_search_that_meets_what_it_cannot_see_ends_before_it() -> None:
    found = search(parabola(-2.0, blind=2.0), np.array([0.0]))
    assert found is not None
    assert found.blind
    assert 1.99 < found.y[0] <= 2.0


def test_a_search_cut_short_has_not_converged(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqp, "_MOST_STEPS", 2)
    found = search(parabola(-2.0), np.array([-1.0]))
    assert found is not None
    assert not found.converged
    # Two steps, each no longer than twice the one before.
    assert -1.0 < found.y[0] <= -1.0 + 3 * sqp.RADIUS


def test_a_constraint_that_is_new_says_nothing_of_the_curvature() -> None:
    old, new = ("old", ""), ("new", "")
    behind = Slopes(f=np.array([1.0, 0.0]), c={old: np.array([0.0, 1.0])})
    ahead = Slopes(f=np.array([1.5, 0.0]), c={old: np.array([0.0, 3.0]), new: np.array([9.0, 9.0])})
    change = sqp._lagrangian(ahead, behind, {old: 0.5, new: 4.0})
    assert change == pytest.approx([0.5, 1.0])


def test_the_curvature_learns_from_a_step_and_stays_positive() -> None:
    b, s = np.diag([1.0, 2.0]), np.array([0.3, -0.1])
    q = np.array([0.9, 0.4])
    assert sqp._updated(b, s, q) @ s == pytest.approx(q)  # the secant equation
    hollow = sqp._updated(b, s, -q)
    assert (np.linalg.eigvalsh(hollow) > 0).all()
    assert np.array_equal(sqp._updated(b, np.zeros(2), q), b)
