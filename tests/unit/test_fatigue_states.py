"""Fatigue: which states a case's range is taken of, which curve judges what, and how rows are made."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from mastcheck.beam.loads import TipLoad
from mastcheck.beam.solve import BeamState
from mastcheck.checks import fatigue as module
from mastcheck.checks.fatigue import (
    assess,
    cycle_loads,
    fatigue_checks,
    judging_curve,
    mirrored,
    stands,
)
from mastcheck.checks.result import Verdict
from mastcheck.checks.stations import SolvedMast, solve_stations
from mastcheck.strength.fatigue import Fatigue, FatigueRange, FatigueResult, FatigueWorst, point_ranges
from tests.masts import ALUMINIUM
from tests.reference.test_fatigue import BAR, CURVE, LENGTH, SIDE, _frame, _job
from tests.unit.test_strength import layup

AFT = replace(SIDE, name="aft", force=(40.0, 0.0, 0.0))


@pytest.fixture(scope="module")
def bar() -> SolvedMast:
    return solve_stations(BAR)


@pytest.mark.parametrize("alternating", [True, False])
def test_each_case_has_the_range_of_its_own_states(bar: SolvedMast, alternating: bool) -> None:
    """Three cases at once and each alone: the same ranges, at the point they share."""
    cases = (SIDE, replace(SIDE, name="half", force=(0.0, 5.0, 0.0)), AFT)
    names = tuple((case.name, 1e5) for case in cases)
    job = _job(Fatigue(cycles=names, curve=CURVE, alternating=alternating), *cases)
    loads = cycle_loads(job)
    assert len(loads) == (6 if alternating else 3)
    state = _frame(bar).solve(loads)
    (worst,) = assess(job, bar, state, range(len(loads))).worst
    section = bar.sections[int(np.argmin(np.abs(bar.z - worst.z)))]
    place = int(np.argmin(np.abs(section.basis.points - np.array(worst.xy)).sum(axis=1)))
    each = 2 if alternating else 1
    for i, (found, (name, _)) in enumerate(zip(worst.ranges, names, strict=True)):
        assert found.case == name
        k = int(np.argmin(np.abs(state.z - worst.z)))
        own = [np.zeros(7), *state.resultants[each * i : each * (i + 1), k]]
        assert found.range == pytest.approx(point_ranges(section, own)[place], rel=1e-9)


def test_a_case_is_unstable_by_its_own_states_alone(bar: SolvedMast) -> None:
    cycles = (("push", 1e5), ("aft", 1e5), ("half", 1e5))
    job = _job(Fatigue(cycles=cycles), SIDE)
    assert assess(job, bar, None, [0, 1, 2, None, 4, 5]).unstable == ("aft",)
    assert assess(job, bar, None, [None, 1, 2, 3, 4, None]).unstable == ("push", "half")
    once = replace(job, fatigue=Fatigue(cycles=cycles, alternating=False))
    assert assess(once, bar, None, [0, None, 2]).unstable == ("aft",)
    assert assess(once, bar, None, [0, 1, None]).unstable == ("half",)


def test_a_state_must_be_found_and_be_stable(bar: SolvedMast) -> None:
    job = _job(Fatigue(cycles=(("push", 1e5),), alternating=False), SIDE)
    state = _frame(bar).solve(cycle_loads(job))
    assert assess(job, bar, state, [0]).unstable == ()
    for changed in ({"converged": [False]}, {"stable": [False]}):
        answers = {"converged": [True], "stable": [True]} | changed
        weak = cast("BeamState", SimpleNamespace(**answers))
        assert assess(job, bar, weak, [0]).unstable == ("push",)


def test_the_worst_point_lies_where_the_damage_is_greatest(bar: SolvedMast) -> None:
    """Bending of a cantilever: at the base, and one row for the one material."""
    job = _job(Fatigue(cycles=(("push", 1e5),), curve=CURVE), replace(SIDE, force=(0, 200.0, 0)))
    (worst,) = assess(job, bar, _frame(bar).solve(cycle_loads(job)), (0, 1)).worst
    assert worst.z == 0 < LENGTH
    assert worst.damage == pytest.approx(1e5 / float(CURVE.cycles(np.array(worst.greatest.range))))
    assert worst.greatest.life == pytest.approx(1e5 / worst.damage)


def test_which_materials_a_curve_judges() -> None:
    """By its own name; a category by the metal; else what the mast itself is made of."""
    metal, recipe = ALUMINIUM, BAR.section
    # As read from another file: the name is equal, and not the same text in memory.
    again = replace(metal, name="".join(list(metal.name)))
    steel = replace(metal, name="steel", galvanic_group="stainless steel")
    laminate = replace(metal, name="skin", laminate=layup("[0/90]s"))
    for material, in_metal, in_laminate, of_aluminium, of_steel in (
        (again, True, False, True, False),
        (steel, False, False, False, True),
        (laminate, False, True, True, False),
    ):

        def judged(curve, recipe=recipe, material=material):
            found = judging_curve(Fatigue(cycles=(), curve=curve), recipe, material)
            assert found in (None, curve)
            return found is not None

        assert judged(CURVE) is in_metal
        assert judged(CURVE, replace(recipe, material=laminate)) is in_laminate
        assert judged(replace(CURVE, aluminium_only=True)) is of_aluminium
        assert judged(replace(CURVE, material="".join(["st", "eel"]))) is of_steel
        assert not judged(None)


def test_rows_of_damage_and_of_a_range(bar: SolvedMast) -> None:
    job = _job(Fatigue(cycles=(("push", 1e5),), curve=CURVE), SIDE)
    result = assess(job, bar, _frame(bar).solve(cycle_loads(job)), (0, 1))
    (worst,) = result.worst

    def row(**changed):
        (found,) = fatigue_checks(replace(result, worst=(replace(worst, **changed),)))
        return found

    for damage, verdict in (
        (0.0, Verdict.PASS), (1.0, Verdict.PASS), (1.0 + 1e-12, Verdict.FAIL)
    ):  # fmt: skip
        told = row(damage=damage, used=0.7)
        assert (told.value, told.limit, told.utilisation, told.verdict) == (damage, 1.0, 0.7, verdict)
        assert (told.name, told.case) == ("fatigue, sum of damage, test aluminium", "push")
    told = row(damage=None, used=None)
    assert told.value == worst.greatest.range / 1e6
    assert (told.limit, told.unit, told.verdict) == (None, "MPa", Verdict.REPORT)
    assert told.name == "fatigue, stress range, test aluminium"
    (told,) = fatigue_checks(FatigueResult(fatigue=result.fatigue, unstable=("push", "aft")))
    assert (told.case, told.limit, told.utilisation, told.verdict) == (
        "push, aft", 1.0, None, Verdict.FAIL,
    )  # fmt: skip
    assert told.value == np.inf
    assert fatigue_checks(None) == ()


def test_a_given_wrench_has_its_mirror_image() -> None:
    """In the x-z plane a force turns its y about, and a moment its x and z (any book of mechanics)."""
    case = replace(SIDE, force=(1.0, 2.0, 3.0), moment=(4.0, 5.0, 6.0))
    other = mirrored(case)
    assert other.force == (1.0, -2.0, 3.0)
    assert other.moment == (-4.0, 5.0, -6.0)


def test_a_load_stands_below_its_buckling_load(monkeypatch: pytest.MonkeyPatch, bar: SolvedMast) -> None:
    factors = [0.5, 1.0, 1.0 + 1e-9, 1.5, np.inf]
    asked: list[list[TipLoad]] = []

    def buckling(_: object, loads: list[TipLoad]) -> SimpleNamespace:
        asked.append(loads)
        return SimpleNamespace(factor=np.array(factors))

    monkeypatch.setattr(module, "buckling", buckling)
    loads = [TipLoad(lift=1.0 + k, follower=k == 1) for k in range(5)]
    assert stands(_frame(bar), loads) == [False, False, True, True, True]
    # A lift that follows is held to the factor of one that keeps its direction.
    (still,) = asked
    assert [(load.lift, load.follower) for load in still] == [(1.0 + k, False) for k in range(5)]


def test_the_worst_of_each_material_and_what_is_judged_first(
    monkeypatch: pytest.MonkeyPatch, bar: SolvedMast
) -> None:
    """Of equals the one nearer the base; a sum of damage before a range that is only reported."""

    def at(_: object, __: object, ___: object, z: float) -> list[FatigueWorst]:
        def worst(material: str, damage: float | None, size: float) -> FatigueWorst:
            one = FatigueRange(case="push", cycles=1.0, range=size, life=None)
            return FatigueWorst(
                material=material, damage=damage, used=damage, z=z, xy=(0.0, 0.0), ranges=(one,)
            )

        top = z == bar.z[-1]
        return [
            worst("plain", None, 9e7), worst("little", 0.1, 1e6), worst("much", 0.4 + 0.1 * top, 1e6),
            worst("other", None, 8e7),
        ]  # fmt: skip

    monkeypatch.setattr(module, "_station", at)
    job = _job(Fatigue(cycles=(("push", 1.0),), alternating=False), SIDE)
    found = assess(job, bar, _frame(bar).solve(cycle_loads(job)), [0]).worst
    assert [w.material for w in found] == ["much", "little", "plain", "other"]
    assert [w.z for w in found] == [bar.z[-1], 0.0, 0.0, 0.0]
