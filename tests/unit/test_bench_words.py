"""A bench fit in words: what the readings say, what they cannot, and what to look at first."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, cast

import pytest

from mastcheck.bench.fit import BenchFit, Status, Unknown
from mastcheck.bench.noise import ClassNoise
from mastcheck.bench.readings import GRAVITY, Direction, Gauge, GaugeKind, Load, Phase, Reading
from mastcheck.bench.suggest import Suggestion
from mastcheck.bench.summary import Part, Softness
from mastcheck.report import bench_words as say


def part(name: str, share: float, interval: float | None = 0.01) -> Part:
    return Part(name=name, share=share, interval=interval, status=Status.FITTED)


def side(softer: float | None, *parts: Part, held: tuple[str, ...] = ()) -> Softness:
    return Softness(
        direction="side",
        softer=softer,
        interval=None if softer is None else 0.02,
        parts=parts,
        held=held,
    )


def a_fit(**parts: Any) -> BenchFit:
    """As much of a fit as words are made of."""
    noise = {"stated": False, "classes": ()} | parts.pop("noise", {})
    whole = {"unknowns": (), "second_order": False, "dof": 12} | parts
    return cast("BenchFit", SimpleNamespace(noise=SimpleNamespace(**noise), **whole))


@pytest.mark.parametrize(
    ("held", "why"),
    [
        ((), "not looked into, no reading shows it"),
        (("EI_side",), "these readings are too few or too coarse to say anything"),
    ],
)
def test_a_direction_without_a_fit_says_which_it_lacks(held: tuple[str, ...], why: str) -> None:
    assert say.softness_words(side(None, held=held)) == f"side bending: {why}"


def test_what_is_within_its_error_is_as_calculated() -> None:
    said = say.softness_words(side(0.015, part("EI_side", 0.01), part("base_roll", 0.005)))
    assert said == "side bending: as calculated within ± 2.0 %"


def test_two_that_cancel_are_not_passed_over() -> None:
    """A soft joint behind a stiff blade: the sum is as calculated, and neither of them is."""
    said = say.softness_words(side(0.0, part("EI_side", -0.10), part("base_roll", 0.10)))
    assert said.startswith("side bending: as calculated within ± 2.0 %: ")
    assert "the blade explains −10 (± 1.0) of it" in said
    assert "the base joint 10 (± 1.0)" in said
    assert "check" not in said


def test_a_softer_mast_is_looked_at_where_most_of_it_comes_from() -> None:
    said = say.softness_words(side(0.12, part("EI_side", 0.02), part("base_roll", 0.10)))
    assert said.startswith("measured 12 % (± 2.0) softer in side bending than calculated: ")
    assert said.endswith(say.CHECK_FIRST["the base joint"])
    wall = say.softness_words(side(0.12, part("EI_side", 0.12), part("base_roll", 0.005)))
    assert "the base joint is as calculated within ± 1.0" in wall
    assert wall.endswith(say.CHECK_FIRST["the blade"])


@pytest.mark.parametrize("held", [(), ("base_roll",)])
def test_a_stiffer_mast_is_a_doubt_about_the_bench(held: tuple[str, ...]) -> None:
    said = say.softness_words(side(-0.12, part("EI_side", -0.12), held=held))
    assert said.startswith("measured 12 % (± 2.0) stiffer in side bending than calculated")
    assert said.endswith("; check the load, its place, the length that was clamped and the units")
    assert ("cannot tell the blade from the base joint" in said) == bool(held)


def test_what_cannot_be_told_apart_is_put_on_one_and_said() -> None:
    said = say.softness_words(side(0.12, part("EI_side", 0.12), held=("base_roll",)))
    assert "all of it is put on the blade, with the base joint as calculated" in said
    assert said.endswith(say.CHECK_FIRST["the blade"])
    same = say.softness_words(side(0.01, part("EI_side", 0.01), held=("base_roll",)))
    assert same.startswith("side bending: as calculated within ± 2.0 %: these readings cannot tell")
    assert same.endswith("as calculated")


def unknown(name: str, status: Status) -> Unknown:
    return Unknown(name=name, nominal=1.0, value=1.0, status=status)


def test_every_unknown_that_was_held_is_named_with_what_would_show_it() -> None:
    found = a_fit(
        unknowns=(
            unknown("EI_side", Status.FITTED),
            unknown("GJ", Status.AT_BOUND),
            unknown("base_roll", Status.NOT_SEPARATED),
            unknown("base_pitch", Status.NOT_SEEN),
            unknown("base_twist", Status.NOT_SEPARATED),
            unknown("tip_twist", Status.NOT_SEEN),
            unknown("tip_roll", Status.NOT_SEEN),
            unknown("tip_pitch", Status.NOT_SEEN),
        )
    )
    hung = Load(direction=Direction.SIDE, z=0.75, arm=0.3)
    gauges = (Gauge(kind=GaugeKind.SIDE, z=0.075), Gauge(kind=GaugeKind.TWIST, z=0.75))
    more = Suggestion(
        name="base_roll", load=hung, amount=10 * GRAVITY, gauges=gauges, before=0.2,
        after=0.012, enough=True,
    )  # fmt: skip
    said = list(say.suggestion_words(found, (more,), "metric"))
    assert said == [
        "base joint in roll: cannot be told from the others by these readings; held as calculated. To"
        " separate it, hang 10 kg at the tip on an arm of 300 mm and read the side gauge at z = 75 mm"
        " and twist gauge at z = 750 mm, four times each with as many zeros: its error would be 1.2 %"
        " of the tip's movement",
        "base joint in twist: cannot be told from the others by these readings; held as calculated;"
        " finer gauges or larger weights are needed",
        "base joint in pitch: no reading shows it; held as calculated; --plan gives weights and places",
        "tip joint in twist: no reading shows it; held as calculated; hang a weight on the foil on"
        " an arm and read the twist of foil and blade tip",
        "tip joint in roll and tip joint in pitch: held as calculated; no weight hung at the tip bends"
        " it",
    ]
    assert not list(say.suggestion_words(a_fit(unknowns=found.unknowns[:2]), (), "metric"))


def test_errors_say_where_they_come_from() -> None:
    classes = (
        ClassNoise(kind=GaugeKind.SIDE, paired=False, size=0.15e-3, found=True),
        ClassNoise(kind=GaugeKind.TWIST, paired=False, size=math.radians(0.05), found=False),
        ClassNoise(kind=GaugeKind.TWIST, paired=True, size=0.02e-3, found=True),
    )
    said = list(say.noise_words(a_fit(noise={"classes": classes}, second_order=True), "metric"))
    assert said[:4] == [
        "standard error of side gauges: 0.15 mm, from the scatter about the fit",
        "standard error of twist gauges: 0.050°, assumed: too few readings to tell",
        "standard error of twist gauges in pairs: 0.020 mm, from the scatter about the fit",
        "an assumed error stands where the scatter alone would claim less",
    ]
    assert "12 degrees of freedom" in said[4]
    assert said[5].startswith("predictions are corrected for second order")


def test_stated_errors_are_said_to_be_stated() -> None:
    said = list(say.noise_words(a_fit(noise={"stated": True}, dof=1), "metric"))
    assert said[0].startswith("readings are weighted by their stated errors")
    assert "1 degree of freedom)" in said[1]
    assert len(said) == 2


def reading(load: Load, amount: float) -> Reading:
    gauge = Gauge(kind=GaugeKind.SIDE, z=0.75)
    return Reading(load=load, amount=amount, gauge=gauge, value=0.0, phase=Phase.LOADING)


@pytest.mark.parametrize(
    ("units", "said"),
    [
        ("metric", "10 kg at z = 750 mm, 300 mm out"),
        ("imperial", "22.05 lb at z = 29.53 in, 11.81 in out"),
    ],
)
def test_a_load_keeps_its_arm_in_any_units(units: Any, said: str) -> None:
    hung = Load(direction=Direction.SIDE, z=0.75, arm=0.3)
    assert say.load_text(reading(hung, 10 * GRAVITY), units) == said


def test_a_torque_is_told_as_one() -> None:
    turned = Load(direction=Direction.TORQUE, z=0.75, arm=0.0)
    assert say.load_text(reading(turned, 12.5), "metric") == "12.5 N·m at z = 750 mm"
    assert say.load_text(reading(turned, 0.0), "metric") == "no load"
