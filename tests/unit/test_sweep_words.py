"""How the designs of a sweep fared, in words: no number is lost, and no doubt is passed over."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from mastcheck.cli.sweep import MOST_SHOWN, _chosen
from mastcheck.cli.sweep_tables import _fared, _front_heading
from mastcheck.report.front_figure import _LINES, _entries, _look, _thinned
from mastcheck.search.plan import plan_of
from mastcheck.search.sweep import Judged
from mastcheck.search.variables import Variable
from tests.sweeps import JOB, PLAN


def judged(**changes: Any) -> Judged:
    """Twelve designs of which four hold and two are the best."""
    n = PLAN.count
    holds = np.arange(n) < 4
    whole = Judged(
        plan=PLAN, objectives=("mass", "side"), values=np.ones((n, 2)), holds=holds,
        front=np.arange(n) < 2, verdicts={"pass": 4, "fail": 8}, reasons={}, doubtful=0, faults=0,
    )  # fmt: skip
    return dataclasses.replace(whole, **changes)


def test_what_holds_and_what_fails_is_counted() -> None:
    said = _fared(judged(), 2)
    assert said[0] == "4 of 12 designs exceed no limit"
    assert said[1].startswith("best: no other design at the same ")
    assert said[2:] == ["8 exceed a limit or are past a buckling load"]


def test_what_is_only_reported_is_not_passed_as_judged() -> None:
    said = _fared(judged(verdicts={"report": 3, "pass": 1, "fail": 8}), 2)
    assert said[0] == (
        "4 of 12 designs exceed no limit; of 3 a part is reported, not judged, for want of a limit or a"
        " strength"
    )


def test_best_that_are_not_shown_are_counted() -> None:
    assert "1 of the 2 best are shown, evenly; front = true marks all in the table" in _fared(
        judged(), 1
    )


def test_doubts_faults_and_refusals_are_told_apart() -> None:
    reasons = {f"reason {i}": 12 - i for i in range(7)}
    said = _fared(judged(doubtful=2, faults=1, verdicts={"refused": 5}, reasons=reasons), 2)
    assert "2 are in doubt, since a self-check failed: not counted as holding" in said
    assert any(words.startswith("1 could not be solved for a fault of the program") for words in said)
    last = said[-1]
    assert last.startswith("5 could not be checked: 12 × reason 0; 11 × reason 1")
    assert last.endswith("; and other reasons, in the table")


def test_the_heading_says_whether_any_holds() -> None:
    none = np.zeros(PLAN.count, bool)
    assert _front_heading(judged()) == "The best designs, of those that hold"
    assert _front_heading(judged(holds=none)).startswith("No design holds. The best of those")
    assert _front_heading(judged(holds=none, front=none)) == "No design could be checked"


MANY = plan_of(JOB, (Variable(key="chord", values=tuple(np.linspace(0.1, 0.15, 3 * MOST_SHOWN))),))


def test_of_a_long_front_an_even_choice_is_shown_with_both_ends() -> None:
    n = MANY.count
    mass = np.arange(n, dtype=float)[::-1]  # the last is the lightest
    long = judged(
        plan=MANY, values=np.column_stack([mass, mass]), holds=np.ones(n, bool), front=np.ones(n, bool)
    )
    chosen = _chosen(long)
    assert len(chosen) == MOST_SHOWN
    assert (chosen[0], chosen[-1]) == (n - 1, 0)
    steps = -np.diff(chosen)
    assert steps.min() >= 2
    assert steps.max() <= 4
    assert _chosen(dataclasses.replace(long, front=np.arange(n) < 3)) == [2, 1, 0]


def conditions(count: int) -> Judged:
    """One design at so many riders, each the best at its own."""
    plan = plan_of(JOB, (Variable(key="rider", values=tuple(np.linspace(60.0, 90.0, count))),))
    every = np.ones(count, bool)
    return judged(plan=plan, values=np.ones((count, 2)), holds=every, front=every)


@pytest.mark.parametrize("count", [1, 2, _LINES, _LINES + 1])
def test_the_key_names_each_condition_while_lines_can_be_told_apart(count: int) -> None:
    found = conditions(count)
    words = [text for _, text in _entries(found, "metric")][2:]
    if count == 1:
        assert words == ["none is better"]
    elif count <= _LINES:
        assert len(set(words)) == count
        assert (words[0], words[-1]) == ("none is better at 60 kg", "none is better at 90 kg")
        assert len({str(_look(found, i)) for i in range(count)}) == count
    else:
        assert words == ["none is better at the same length and rider"]
        assert {_look(found, i)["linestyle"] for i in range(count)} == {"none"}


def test_points_that_the_eye_cannot_tell_apart_are_drawn_once() -> None:
    low, high = np.zeros(2), np.ones(2)
    chance = np.random.default_rng(3)
    at = chance.random((60_000, 2)) * 0.01  # all in one corner
    at[777] = (0.9, 0.9)
    kept = _thinned(at, np.arange(len(at)), low, high)
    assert len(kept) < len(at)
    assert 777 in kept
    assert (np.diff(kept) > 0).all()
    few = np.array([5, 9])
    assert (_thinned(at, few, low, high) == few).all()
