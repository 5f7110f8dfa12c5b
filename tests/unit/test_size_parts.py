"""Parts of sizing: sizes rounded, what governs, where a search ends, and what a change costs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from mastcheck.checks.result import Check, Verdict
from mastcheck.checks.run import check
from mastcheck.errors import MastcheckError
from mastcheck.job import Job
from mastcheck.limit import Limit
from mastcheck.limit import Quantity as Moved
from mastcheck.loadcase import LoadCase
from mastcheck.mast import Construction
from mastcheck.search import size_designs
from mastcheck.search.size import _end_at, _jumps, _prices, _problem, _run, size
from mastcheck.search.size_designs import TARGET
from mastcheck.search.size_limits import Kind, Use, uses
from mastcheck.search.size_rates import rates
from mastcheck.search.size_result import Design, SideStep
from mastcheck.search.size_round import HOPELESS, round_up
from mastcheck.search.size_space import Free, free_sizes
from mastcheck.search.sqp import Ended, Look, Multipliers, Slopes
from mastcheck.search.variables import DesignError
from tests.kept import FOAM
from tests.masts import mast
from tests.sweeps import CARVE, JOB

# Sizes as they can be made


def wall(low: float = 0.001, high: float = 0.005) -> Free:
    return Free(key="wall", low=low, high=high, now=0.002, stated=True)


def design(settings: Mapping[str, float], *, holds: bool = True, mass: float = 1.0) -> Design:
    return Design(settings=settings, mass=mass, uses={}, holds=holds)


def test_sizes_are_rounded_to_the_lightest_that_holds() -> None:
    tried: list[float] = []

    def made(settings: Mapping[str, float]) -> Design:
        tried.append(settings["wall"])
        return design(settings, holds=settings["wall"] >= 0.00245)

    def guess(settings: Mapping[str, float]) -> tuple[float, float]:
        # 2.1 mm is known to be hopeless, 2.2 mm looks as if it might do.
        return settings["wall"], 0.9 if settings["wall"] > 0.00215 else HOPELESS * 1.01

    best = design({"wall": 0.00215})
    assert round_up(made, [wall()], best, 0.0001, guess) is None  # 2.1, 2.2 and 2.3 mm are tried alone
    assert tried == [0.0022, 0.0023]
    found = round_up(made, [wall()], best, 0.0005, guess)
    assert found is not None
    assert found.settings == {"wall": 0.0025}


def test_no_bound_is_passed_by_rounding() -> None:
    made: list[float] = []

    def refuse(settings: Mapping[str, float]) -> Design:
        made.append(settings["wall"])
        return design(settings, holds=False)

    best = design({"wall": 0.00215})
    assert round_up(refuse, [wall(0.0021, 0.0022)], best, 0.0001, lambda s: (s["wall"], 0.9)) is None
    assert made == [0.0021, 0.0022]


# What a size depends on


def limit_check(name: str, used: float | None, verdict: Verdict, case: str = "carve") -> Check:
    return Check(
        name=name, case=case, value=used or 0.0, limit=1.0, unit="", utilisation=used, verdict=verdict
    )


def test_of_one_name_the_worst_counts_and_what_failed_without_a_number_is_over_its_limit() -> None:
    checks = (
        limit_check("slip of plate, bolt 1", 0.4, Verdict.PASS),
        limit_check("slip of plate, bolt 3", 0.7, Verdict.PASS),
        limit_check("slip of plate, bolt 4", 0.2, Verdict.PASS),
        limit_check("edge", None, Verdict.FAIL, case=""),
        limit_check("by a hair", 1.0, Verdict.FAIL, case=""),
        limit_check("reported", None, Verdict.REPORT, case=""),
    )
    found = uses(SimpleNamespace(cases=(), checks=checks))  # type: ignore[arg-type]
    assert found["slip of plate", "carve"].used == 0.7
    assert found["slip of plate", "carve"].kind is Kind.OTHER
    assert found["edge", ""].used == math.inf
    assert found["by a hair", ""].used > 1
    assert ("reported", "") not in found


def use(name: str, used: float) -> Use:
    return Use(name=(name, ""), kind=Kind.OTHER, used=used, value=used, limit=1.0, unit="")


def test_a_check_that_jumps_over_a_step_is_named_with_its_greatest_jump() -> None:
    free = [wall()]

    def at(value: float, jumping: float, smooth: float) -> Design:
        uses = {("jumps", ""): use("jumps", jumping), ("smooth", ""): use("smooth", smooth)}
        return Design(settings={"wall": value}, mass=1.0, uses=uses, holds=True)

    best = at(0.002, 0.90, 0.5)
    # Both are said to go with 1 / wall²; one does.
    steps = [
        SideStep(key="wall", design=at(v, used, 0.5 * (0.002 / v) ** 2), beyond=False)
        for v, used in ((0.00198, 0.80), (0.00202, 1.20))
    ]
    rate = np.array([-2.0])
    end = Ended(
        y=np.log([0.002]), look=Look(f=0.0, c={}), converged=True, blind=False,
        slopes=Slopes(f=np.ones(1), c={("jumps", ""): rate, ("smooth", ""): rate}),
    )  # fmt: skip
    (jump,) = _jumps(free, end, best, steps)
    assert (jump.name, jump.key) == (("jumps", ""), "wall")
    assert (jump.before, jump.after) == (0.90, 1.20)
    # A step that could not be checked shows nothing.
    refused = Design(settings={"wall": 0.001}, mass=math.nan, uses={}, holds=False, refused="too thin")
    assert not _jumps(free, end, best, [SideStep(key="wall", design=refused, beyond=True)])


# Where a search ends


class Thin:
    """A sizer of a wall: its mass is the wall, and it uses (2 mm / wall)² of its one limit.

    ``sound``: whether designs within the limit hold, as far as their self-checks go.
    """

    def __init__(self, *, sound: bool = True) -> None:
        self.free = (wall(),)
        self.sound = sound
        self.known: dict[float, Design] = {}

    @property
    def designs(self) -> tuple[Design, ...]:
        return tuple(self.known.values())

    def design(self, settings: Mapping[str, float]) -> Design:
        value = settings["wall"]
        used = (0.002 / value) ** 2
        holds = self.sound and used <= 1
        return self.known.setdefault(value, design(settings, holds=holds, mass=value))

    def look(self, y: np.ndarray) -> Look:
        self.design({"wall": math.exp(y[0])})
        used = 2 * (math.log(0.002) - float(y[0]))
        return Look(f=float(y[0]), c={("limit", ""): used - math.log(TARGET)})

    def slopes(self, _: np.ndarray) -> Slopes:
        return Slopes(f=np.ones(1), c={("limit", ""): np.array([-2.0])})


def test_from_a_design_that_a_search_passed_by_another_finds_the_lightest() -> None:
    sizer = Thin()
    problem = _problem(sizer, f_counts=True)  # type: ignore[arg-type]
    passed = sizer.design({"wall": 0.0028})
    short = np.log([0.0019])
    ended = Ended(
        y=short, look=sizer.look(short), slopes=sizer.slopes(short), converged=True, blind=False
    )
    found = _end_at(sizer, problem, passed, [ended])  # type: ignore[arg-type]
    assert found is not ended
    assert math.exp(found.y[0]) == pytest.approx(0.002 / math.sqrt(TARGET), rel=1e-3)
    assert sizer.design({"wall": math.exp(found.y[0])}).holds
    # One that ended there itself is taken as it is.
    assert _end_at(sizer, problem, passed, [ended, found]) is found  # type: ignore[arg-type]


def test_where_no_design_holds_for_other_reasons_the_limits_are_met_all_the_same() -> None:
    sizer = Thin(sound=False)
    end = _run(sizer, _problem(sizer, f_counts=True), np.log([0.004]), -math.inf)  # type: ignore[arg-type]
    assert end is not None
    assert end.look.greatest < 1e-3
    assert math.exp(end.y[0]) == pytest.approx(0.002 / math.sqrt(TARGET), rel=1e-3)


def test_a_heavier_rider_costs_what_governs() -> None:
    """A movement grows with the load P as P/(1 - P/P_cr): its rate is its amplification, A.

    P/P_cr grows with the square of the length.
    """
    given = check(JOB)
    A = given.cases[0].amplification
    assert A is not None
    assert 1.05 < A < 1.2
    best = replace(
        size_designs.design_of(given, {"thickness": JOB.mast.stations[0].thickness}), holds=True
    )
    none = np.zeros(1)
    forces = {("side deflection", "carve"): 0.5, ("idle", ""): 0.0}
    pull = Multipliers(forces=forces, low=none, high=none, remainder=0.0)
    prices = {p.key: p for p in _prices(JOB, best, pull)}
    assert prices["rider"].mass / best.mass == pytest.approx(0.5 * A / 88, rel=0.02)
    # A longer mast is heavier by itself, and moves by L³ under the force, by L² under the moment.
    own, square, cube = (0.01 / 0.7 * (1 if k == 1 else k + 2 * (A - 1)) for k in (1, 2, 3))
    assert own + 0.5 * square < prices["length"].mass / best.mass < own + 0.5 * cube
    # What governs and is not there in a neighbour has no rate, and no price is told.
    pull = Multipliers(forces={("gone", ""): 0.5}, low=none, high=none, remainder=0.0)
    assert not _prices(JOB, best, pull)


# Where nothing can be found


def test_bounds_within_which_nothing_can_be_built() -> None:
    free = free_sizes(JOB, [("thickness", (0.3, 0.5))])
    sized = size(JOB, free)
    assert (sized.found, sized.best, sized.result) == (False, None, None)
    assert not sized.given.refused
    assert len(sized.runs) == 2
    for run in sized.runs:
        assert run.end is None
        assert "thicker" in run.start.refused


def test_a_mast_that_cannot_be_checked_tells_why() -> None:
    wide = replace(JOB, mast=mast((0.02, 0.018), (0.02, 0.018), wall=0.00001))
    with pytest.raises(MastcheckError, match="wall"):
        size(wide, free_sizes(wide, [("wall", (0.00001, 0.00002))]))


def test_a_start_around_which_nothing_can_be_built_leads_nowhere(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def none(*_: object) -> None:
        raise DesignError("thickness: no slightly other size can be built")

    monkeypatch.setattr(size_designs, "rates", none)
    sized = size(JOB, free_sizes(JOB, [("thickness", (0.017, 0.019))]))
    assert not sized.found
    assert sized.best is None
    assert [run.end for run in sized.runs] == [None, None]
    assert not any(run.start.refused for run in sized.runs)


@pytest.fixture(scope="module")
def plain() -> Job:
    """A slim mast that stands a push, and buckles under a rider of a tonne."""
    return Job(
        mast=mast((0.10, 0.010), (0.10, 0.010), length=0.9),
        cases=(
            LoadCase(name="push", n=0.5, side_force=0.05),
            LoadCase(name="crush", n=12.0, side_force=0.05),
        ),
        limits=tuple(
            Limit(quantity=Moved.SIDE_DEFLECTION, case=case, maximum=0.02) for case in ("push", "crush")
        ),
    )


def test_a_case_that_buckles_has_rates_of_its_stability_and_none_of_its_movement(plain: Job) -> None:
    result = check(plain)
    assert [case.stable for case in result.cases] == [True, False]
    free = free_sizes(plain, [("thickness", None)])
    found = rates(plain, {"thickness": 0.010}, free, result).used
    assert ("side deflection", "push") in found
    assert ("side deflection", "crush") not in found
    # Buckling goes with EI, and that with t³: what is used of it falls with the cube.
    steady = str(Kind.STABILITY)
    assert found[steady, "crush"] == pytest.approx([-3.0], abs=0.2)


def test_a_core_without_a_strength_has_no_rate_of_one() -> None:
    cored = mast((0.12, 0.018), (0.12, 0.018), wall=0.002)
    cored = replace(
        cored,
        section=replace(cored.section, construction=Construction.SHELL_AND_CORE, core=FOAM),
    )
    made = Job(mast=cored, cases=(CARVE,))
    result = check(made)
    found = rates(made, {"wall": 0.002}, free_sizes(made, [("wall", None)]), result).used
    strengths = [name for name in found if "von Mises" in name[0]]
    assert strengths
    assert all(found[name][0] < 0 for name in strengths), "thicker walls are less used"
    assert not any(FOAM.name in name[0] for name in found)


def test_a_size_that_can_be_moved_neither_way_is_named(
    plain: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    from mastcheck.search import size_rates

    def refuse(*_: object) -> Job:
        raise DesignError("thicker than wide")

    result = check(replace(plain, cases=plain.cases[:1], limits=()))
    monkeypatch.setattr(size_rates, "varied", refuse)
    with pytest.raises(DesignError, match=r"thickness: no slightly other size can be built .thicker"):
        rates(plain, {"thickness": 0.010}, free_sizes(plain, [("thickness", None)]), result)
