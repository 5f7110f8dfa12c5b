"""What is said of a sized mast: nothing unproved is called proved, nothing refused is hidden."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pytest

from mastcheck.checks.result import SelfCheck, Verdict
from mastcheck.report import size
from mastcheck.search.size_limits import Kind, Use
from mastcheck.search.size_result import AtBound, Design, Governing, Jump, Price, Run, SideStep, Sized
from mastcheck.search.size_space import Free
from tests.reports import UNKNOWN, make_mast

WALL = Free(key="wall", low=1e-3, high=5e-3, now=2.5e-3, stated=True)
TURN = Free(key="ply_2_angle", low=-math.pi / 2, high=math.pi / 2, now=0.0, stated=False)
CHORD = Free(key="base_chord", low=0.07, high=0.28, now=0.14, stated=False)
SIDE = Use(
    name=("side", "carve"), kind=Kind.MOVEMENT, used=0.998, value=9.98, limit=10.0, unit="mm"
)  # fmt: skip


def use(used: float, name: tuple[str, str] = ("side", "carve"), **others: Any) -> Use:
    return dataclasses.replace(SIDE, name=name, used=used, value=10 * used, **others)


def design(mass: float, *uses: Use, holds: bool = True, refused: str = "", **settings: float) -> Design:
    return Design(
        settings={"wall": 2.5e-3, **settings}, mass=mass, uses={u.name: u for u in uses}, holds=holds,
        refused=refused,
    )  # fmt: skip


GIVEN = design(1.0, use(0.7))
BEST = design(0.9, SIDE, wall=2e-3)
LOST = design(math.nan, holds=False, refused="the wall is too thick")


def sized(**changes: Any) -> Sized:
    """A wall sized to its limit, but for the changes."""
    result = make_mast()
    whole = Sized(
        job=result.job, free=(WALL,), given=GIVEN, best=BEST, result=result, found=True,
        governing=(Governing(use=SIDE, force=0.5),), at_bounds=(), remainder=0.001, blocked="", steps=(),
        jumps=(), prices=(), runs=(Run(start=GIVEN, end=BEST, converged=True),), rounded=None, checks=12,
    )  # fmt: skip
    return dataclasses.replace(whole, **changes)


def over(used: float = 1.25, **changes: Any) -> Sized:
    """Nothing within the bounds that holds."""
    worst = use(used)
    nearest = design(1.4, worst, holds=False, wall=5e-3)
    return sized(
        best=nearest, found=False, governing=(Governing(use=worst, force=1.0),), **changes
    )  # fmt: skip


def test_the_lightest_is_said_with_what_it_saves() -> None:
    said = size.headline(sized(), "metric")
    assert said == "Lightest mast that meets its limits: 900 g, 100 g (10.0 %) lighter than as given."
    heavier = sized(given=dataclasses.replace(GIVEN, mass=0.8, holds=False))
    said = size.headline(heavier, "metric")
    assert said.endswith("100 g (12.5 %) heavier than as given, which does not meet them.")


def test_a_mass_in_pounds_stays_the_same_mass() -> None:
    # 0.9 kg / 0.45359237 kg = 1.98416 lb
    assert size.headline(sized(), "imperial").startswith(
        "Lightest mast that meets its limits: 1.984 lb, 0.2205 lb (10.0 %) lighter"
    )


def test_a_mast_that_could_not_be_checked_as_given_is_not_compared_with() -> None:
    said = size.headline(sized(given=LOST), "metric")
    assert said == "Lightest mast that meets its limits: 900 g."
    assert [row[1] for row in size.sizes_table(sized(given=LOST), "metric")[1]] == ["2.500 mm", "–", "–"]


@pytest.mark.parametrize(
    "doubt", [{"remainder": 0.02}, {"jumps": (Jump(name=SIDE.name, key="wall", before=0.9, after=1.3),)}]
)
def test_what_may_not_be_the_least_is_not_called_the_lightest(doubt: dict[str, Any]) -> None:
    said = size.headline(sized(**doubt), "metric")
    assert said.startswith("A mast that meets its limits, NOT proved to be the lightest: 900 g")


def test_nothing_that_could_be_checked_is_said_without_numbers() -> None:
    none = sized(best=None, result=None, found=False, governing=(), runs=())
    assert size.headline(none, "metric") == "No mast within these bounds could be checked."
    assert size.limits_table(none, "metric") == ([], [])
    assert list(size.proof(none, "metric")) == []
    steps = (SideStep(key="wall", design=LOST, beyond=False),)
    assert size.steps_table(dataclasses.replace(none, steps=steps), "metric")[1] == []
    assert size.cautions(none) == (size.LOCAL,)


def test_what_is_in_the_way_is_named() -> None:
    assert size.headline(over(), "metric") == (
        "No mast within these bounds meets its limits. In the way: side (carve), 125.0 % used at best."
    )
    heads, rows = size.limits_table(over(), "metric")
    assert heads[-1] == "share"
    assert rows == [["side (carve)", "12.50 mm", "10.00 mm", "125.0 %", "100 %"]]
    assert size.sizes_table(over(), "metric")[0] == ["", "as given", "nearest", "from", "to"]


def test_a_mast_within_its_limits_that_does_not_stand_is_not_said_to_hold() -> None:
    unstable = over(0.8, result=make_mast(unstable=True))
    assert size.headline(unstable, "metric") == (
        "No mast within these bounds holds: touchdown finds no stable balance."
    )
    failed = SelfCheck(name="warping", value=0.1, limit=0.01, verdict=Verdict.FAIL)
    doubted = over(0.8, result=dataclasses.replace(make_mast(), self_checks=(failed,)))
    assert size.headline(doubted, "metric") == (
        "No mast within these bounds holds: a self-check fails (warping), so that its numbers are in"
        " doubt."
    )
    assert size.headline(over(0.8, result=None), "metric").endswith("none could be checked.")


def test_a_limit_failed_without_a_number_is_endless() -> None:
    endless = dataclasses.replace(use(1.0, ("stability", "carve"), unit=""), used=math.inf)
    endless = dataclasses.replace(endless, value=math.inf)
    none = over()
    none = dataclasses.replace(
        none, best=design(1.4, endless, holds=False), governing=(Governing(use=endless, force=1.0),)
    )
    assert "In the way: buckling or flutter (carve), ∞ used" in size.headline(none, "metric")
    assert size.limits_table(none, "metric")[1] == [
        ["buckling or flutter (carve)", "∞", "10.00", "∞", "100 %"]
    ]


def test_a_limit_shows_what_one_per_cent_more_of_it_saves() -> None:
    near = use(0.95, ("twist", "pump"))
    far = use(0.5, ("twist", "carve"))
    shown = sized(best=design(0.9, SIDE, near, far))
    heads, rows = size.limits_table(shown, "metric")
    assert heads[-1] == "1 % more saves"
    # 0.5 % of 900 g for each per cent of the limit; the near one governs nothing.
    assert [(r[0], r[-1]) for r in rows] == [("side (carve)", "4.5 g"), ("twist (pump)", "–")]
    assert size.limits_table(shown, "imperial")[1][0][-1] == "0.16 oz"  # 4.5 g / 28.3495 g


def test_each_step_says_why_it_fails_or_that_it_holds() -> None:
    lighter = BEST.mass - 0.009
    outcomes = {
        "holds, 97.0 % used at most": design(lighter, use(0.97)),
        "holds": design(lighter),
        "fails: side (carve), 101.2 %": design(lighter, use(1.012), holds=False),
        "fails: no stable balance, or a self-check": design(lighter, use(0.9), holds=False),
        "cannot be built: the wall is too thick": LOST,
    }
    steps = tuple(
        SideStep(key="wall", design=dataclasses.replace(d, settings={"wall": 1.98e-3}), beyond=False)
        for d in outcomes.values()
    )
    rows = size.steps_table(sized(steps=steps), "metric")[1]
    assert [row[-1] for row in rows] == list(outcomes)
    assert {tuple(row[:3]) for row in rows} == {("wall", "-1 %", "1.980 mm")}
    assert [row[3] for row in rows] == ["-9.0 g"] * 4 + ["–"]
    outside = tuple(dataclasses.replace(step, beyond=True) for step in steps[:1])
    row = size.steps_table(sized(steps=outside), "metric")[1][0]
    assert row[-1] == "holds, 97.0 % used at most; beyond the bounds"


@pytest.mark.parametrize("rest", [0.0, 2e-16, -2e-16])
def test_a_turned_ply_weighs_what_it_weighed(rest: float) -> None:
    best = design(0.9, SIDE, ply_2_angle=math.radians(12))
    turned = design(0.9 + rest, use(0.9), ply_2_angle=math.radians(13))
    step = SideStep(key="ply_2_angle", design=turned, beyond=False)
    rows = size.steps_table(sized(free=(TURN,), best=best, steps=(step,)), "metric")[1]
    assert rows == [["ply_2_angle", "+1°", "13.0°", "0 g", "holds, 90.0 % used at most"]]


def test_the_proof_takes_back_what_a_lighter_step_disproves() -> None:
    lighter = SideStep(key="wall", design=design(0.89, use(0.97)), beyond=False)
    said = list(size.proof(sized(steps=(lighter,)), "metric"))
    assert said[0].startswith("NOT proved: a step of wall alone is lighter and holds")
    # Beyond the bounds it was not asked for, and a mast that fails is no answer.
    for other in (
        dataclasses.replace(lighter, beyond=True),
        SideStep(key="wall", design=design(0.89, use(1.1), holds=False), beyond=False),
    ):
        said = list(size.proof(sized(steps=(other,)), "metric"))
        assert said[0].startswith("no size can be made lighter by a step alone")


@pytest.mark.parametrize(
    ("remainder", "ends"),
    [(0.0199, "no small change of them all is lighter"), (0.02, "NOT proved to be the least")],
)
def test_a_slope_left_over_is_no_proof(remainder: float, ends: str) -> None:
    together = list(size.proof(sized(remainder=remainder), "metric"))[1]
    assert f"all but {100 * remainder:.1f} % of the slope" in together
    assert ends in together


def test_a_jump_and_what_cannot_be_built_are_said() -> None:
    jump = Jump(name=("von Mises", "carve"), key="wall", before=0.9, after=1.3)
    said = list(size.proof(sized(jumps=(jump,), blocked="the wall fills the nose"), "metric"))
    assert "von Mises (carve) JUMPS from 90 % to 130 % over a step of wall" in said[-2]
    assert said[-1] == "the search was stopped by what cannot be built: the wall fills the nose"


def test_an_end_at_a_bound_says_what_lies_beyond() -> None:
    low = AtBound(key="wall", upper=False, force=0.4)
    high = AtBound(key="ply_2_angle", upper=True, force=0.4)
    idle = AtBound(key="wall", upper=True, force=0.0)
    free = (WALL, TURN)
    said = list(size.proof(sized(free=free, at_bounds=(low, high, idle)), "metric"))[2:]
    assert said == [
        "wall ends at its lower bound, 1.000 mm: 1 % beyond it would save 3.6 g",  # 0.4 % of 900 g
        "ply_2_angle ends at its upper bound, 90.0°; a mast beyond it would be lighter",
        "wall ends at its upper bound, 5.000 mm",
    ]
    stopped = list(size.proof(over(free=free, at_bounds=(low,)), "metric"))
    assert stopped == [
        "wall ends at its lower bound, 1.000 mm, and is stopped there: what is in the way would be eased"
        " beyond it"
    ]


def test_a_demand_is_priced_by_its_step() -> None:
    prices = (Price(key="rider", step=5.0, mass=0.02), Price(key="length", step=0.01, mass=-0.004))
    assert list(size.prices(sized(prices=prices), "metric")) == [
        "each 5.0 kg of rider more costs about 20 g",
        "each 10 mm of length more saves about 4.0 g",
    ]


def test_starts_say_where_each_of_them_ended() -> None:
    other = design(1.0, SIDE, wall=4e-3)
    failed = design(1.4, use(1.25), holds=False)
    unsettled = Run(start=other, end=design(0.9, SIDE), converged=False)
    runs = (
        Run(start=GIVEN, end=BEST, converged=True),
        unsettled,
        Run(start=other, end=failed, converged=False),
        Run(start=other, end=design(1.4, holds=False), converged=False),
        Run(start=dataclasses.replace(LOST, settings={"wall": 5e-3}), end=None, converged=False),
        Run(start=other, end=None, converged=False),
    )
    first, agreed = size.starts(sized(runs=runs), "metric")
    assert first == (
        "12 designs checked, searched from the mast as given: 900 g;"
        " from wall 4.000 mm: 900 g (not converged);"
        " from wall 4.000 mm: no mast that holds, side (carve) 125.0 %;"
        " from wall 4.000 mm: no mast that holds;"
        " from wall 5.000 mm: no design there could be checked (the wall is too thick);"
        " from wall 4.000 mm: no design there could be checked (no neighbours)"
    )
    assert agreed.startswith("all that met the limits end within")


def test_starts_that_do_not_agree_are_a_doubt() -> None:
    runs = (
        Run(start=GIVEN, end=BEST, converged=True),
        Run(start=GIVEN, end=design(0.9 * (1 + 1.01 * size.AGREE), SIDE), converged=True),
    )
    assert list(size.starts(sized(runs=runs), "metric"))[1].startswith("the starts do NOT end")
    # One that holds agrees with nothing, and says nothing of it.
    assert len(list(size.starts(sized(), "metric"))) == 1


def test_remarks_say_what_nobody_stated() -> None:
    said = list(size.remarks(sized(free=(WALL, TURN, CHORD))))
    assert "bounds of base_chord assumed: 0.5 to 2 times the size as given" in said
    assert "bounds of ply_2_angle assumed: -90° to 90°" in said
    assert "sizes are not rounded to what can be made: ask for --round 0.1mm" in said
    assert not any("assumed" in words for words in size.remarks(sized()))
    assert list(size.remarks(sized(free=(TURN,), result=None))) == [
        "bounds of ply_2_angle assumed: -90° to 90°"
    ]


def test_remarks_say_what_was_not_judged() -> None:
    mystery = make_mast(material=UNKNOWN)
    said = list(size.remarks(sized(result=mystery)))
    assert "not judged, for want of a limit or a strength: von Mises stress, EN AW-6082-T6" in said
    loose = dataclasses.replace(mystery, job=dataclasses.replace(mystery.job, limits=()))
    words = "no limit on movement is set ([limits]): sized for strength and stability alone"
    assert words in list(size.remarks(sized(result=loose)))
    assert (words in said) == (mystery.job.limits == ())


def test_remarks_say_at_which_end_a_shop_would_ask() -> None:
    # The hand-made sections have thin tails, past practice.
    said = [words for words in size.remarks(sized()) if words.startswith("buildability")]
    assert len(said) == len(set(said)) > 0
    assert all(words.startswith("buildability at the ") for words in said)


def test_a_mast_found_is_cautioned_to_have_no_reserve() -> None:
    whole = sized()
    assert whole.result is not None
    assert size.cautions(whole) == (size.NO_RESERVE, size.LOCAL, *whole.result.cautions)
    assert size.NO_RESERVE not in size.cautions(over())
