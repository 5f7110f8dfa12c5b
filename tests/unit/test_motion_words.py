"""Motion in words: what hung at the tip, and which speeds there are none of."""

from __future__ import annotations

import dataclasses
import math

import pytest

from mastcheck.checks.result import MastResult
from mastcheck.foil import Foil, Wing
from mastcheck.motion.divergence import Divergence
from mastcheck.motion.result import MotionResult
from mastcheck.motion.shedding import Edge, LockIn, Shedding
from mastcheck.report.motion import (
    basis_words,
    divergence_words,
    lock_in_table,
    motion_json,
    motion_sections,
    shedding_words,
)
from tests.reports import make_mast

FOIL = Foil(mass=2.2, ahead=-0.05, below=0.02, yaw_inertia=0.1)
WING = Wing(area=0.15, span=0.95, ahead=0.18, dihedral=math.radians(3), lift_slope=4.0)
NONE = Shedding(edge=Edge.UNKNOWN, why="the edge is not stated")
STILL = MotionResult(
    foil=None, waterline=0.3, water_density=1025.0, speeds=(4.0, 10.0), in_air=(), in_water=(),
    shedding=NONE, divergence=Divergence(twist=math.inf, pitch=None), twist_speed=math.inf,
    pitch_speed=None, basis=(),
)  # fmt: skip


def told(margin: float | None = None, **changes: object) -> MastResult:
    mast = make_mast()
    return dataclasses.replace(
        mast,
        job=dataclasses.replace(mast.job, divergence_margin=margin),
        motion=dataclasses.replace(STILL, **changes),
    )


def test_what_hangs_at_the_tip_is_described_with_and_without_a_wing() -> None:
    (bare,) = basis_words(STILL, "metric")
    assert bare == (
        "Bare mast, nothing at its tip; wet from z = 300 mm to the tip, water of 1025 kg/m³, speeds 4 to"
        " 10 m/s."
    )
    (body,) = basis_words(dataclasses.replace(STILL, foil=FOIL), "metric")
    assert body.startswith("At the tip 2.2 kg, centre 50 mm behind the stacking line and 20 mm below")
    assert "wing" not in body
    winged = dataclasses.replace(FOIL, ahead=0.05, wing=WING)
    (whole,) = basis_words(dataclasses.replace(STILL, foil=winged), "metric")
    assert "50 mm ahead of the stacking line" in whole
    assert "wing 0.15 m², span 950 mm, its quarter chord 180 mm ahead, dihedral 3°" in whole
    assert "lift slope 4.00 per rad" in whole


def test_a_mast_that_lift_turns_back_does_not_diverge() -> None:
    assert divergence_words(make_mast(), "metric") == []
    assert divergence_words(told(), "metric") == [
        "Divergence in twist, by the side force of the wet strut: none, lift turns it back."
    ]
    found = motion_json(told().motion)
    assert found is not None
    assert found["divergence"]["over_fastest"] == math.inf


@pytest.mark.parametrize(
    ("margin", "said"),
    [(None, "no margin is asked for: not judged."), (1.5, "1.5 is asked for.")],
)
def test_the_lower_of_two_divergence_speeds_is_held_against_the_fastest(
    margin: float | None, said: str
) -> None:
    words = divergence_words(told(margin, twist_speed=30.0, pitch_speed=18.0), "metric")
    assert words[1].endswith("fore-aft bending: 18.0 m/s.")
    assert words[2] == f"The lower is 1.80 times the fastest, 10.0 m/s; {said}"
    assert motion_json(None) is None


def test_shedding_that_does_not_apply_says_why() -> None:
    assert shedding_words(STILL, "metric") == (
        "Shedding at the trailing edge: not applicable; the edge is not stated."
    )
    assert lock_in_table(STILL, "metric") is None


def lock(frequency: float, speed: float) -> LockIn:
    return LockIn(
        mode="first twist", frequency=frequency, speed=speed, slowest=0.7 * speed, fastest=1.4 * speed
    )


@pytest.mark.parametrize(("highest", "past"), [(400.0, False), (300.0, True)])
def test_shedding_past_the_modes_listed_is_said(highest: float, past: bool) -> None:
    shed = Shedding(
        edge=Edge.SQUARE, thickness=(0.002, 0.003), frequency=(120.0, 350.0),
        lock_in=(lock(100.0, 3.0), lock(highest, 9.0)),
    )  # fmt: skip
    found = dataclasses.replace(STILL, shedding=shed)
    said = shedding_words(found, "metric")
    assert "Trailing edge square, 2.00 mm to 3.00 mm thick. Shedding from 120 to 350 Hz" in said
    assert (f"Past {highest:.0f} Hz it meets modes higher than those listed." in said) == past
    even = dataclasses.replace(shed, thickness=(0.002, 0.002))
    assert "square, 2.00 mm thick" in shedding_words(dataclasses.replace(STILL, shedding=even), "metric")


def test_whether_a_mode_is_met_within_the_speeds() -> None:
    shed = Shedding(
        edge=Edge.SQUARE, thickness=(0.002, 0.002), frequency=(120.0, 350.0),
        lock_in=(lock(50.0, 3.0), lock(100.0, 7.0), lock(400.0, 20.0)),
    )  # fmt: skip
    table = lock_in_table(dataclasses.replace(STILL, shedding=shed), "metric")
    assert table is not None
    # Bands of 2.1 to 4.2, 4.9 to 9.8 and 14 to 28 m/s, against 4 to 10 m/s.
    assert [row[-1] for row in table["rows"]] == ["its band only", "yes", "no"]


def test_masts_side_by_side_keep_to_frequencies() -> None:
    shed = Shedding(
        edge=Edge.SQUARE, thickness=(0.002, 0.002), frequency=(120.0, 350.0), lock_in=(lock(400.0, 9.0),)
    )
    one = told(shedding=shed)
    assert motion_sections([make_mast()], "metric") == []
    (alone,) = motion_sections([one], "metric")
    assert alone["shedding"] is not None
    beside = motion_sections([make_mast(), one], "metric")
    assert [s["letter"] for s in beside] == ["B"]
    assert beside[0]["shedding"] is None
