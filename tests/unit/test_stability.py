"""Which factor a case is held to, how far flutter is looked for, and with which masses."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from mastcheck.beam.flutter import Flutter
from mastcheck.beam.kinematics import DOFS
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.solve import FrameModel
from mastcheck.checks import stability as module
from mastcheck.checks.stability import Stability, stability
from mastcheck.checks.stations import SolvedMast, solve_stations
from mastcheck.foil import Foil, Wing
from mastcheck.job import Job
from mastcheck.loadcase import Lift, LoadCase
from mastcheck.motion.water import foil_inertia, wing_added_inertia
from tests.masts import mast

MAST = mast()
LIFTS = {
    Lift.DEAD: TipLoad(lift=2000.0, arm=(0.05, 0.0, 0.0)),
    Lift.THROUGH_RIDER: TipLoad(lift=2000.0, arm=(0.05, 0.0, 0.0), aim=-1.0),
    Lift.FOLLOWER: TipLoad(lift=2000.0, arm=(0.05, 0.0, 0.0), follower=True),
}


@pytest.fixture(scope="module")
def solved() -> SolvedMast:
    return solve_stations(MAST)


@pytest.fixture(scope="module")
def frame(solved: SolvedMast) -> FrameModel:
    return FrameModel(solved.model)


def case(lift: Lift, strength_factor: float = 1.5) -> LoadCase:
    return LoadCase(name=str(lift), n=1.0, lift=lift, strength_factor=strength_factor)


Ask = Callable[..., Stability]


@pytest.fixture
def ask(solved: SolvedMast, frame: FrameModel) -> Ask:
    def asked(*cases: LoadCase, foil: Foil | None = None) -> Stability:
        by_lift = {lift: [load] * len(cases) for lift, load in LIFTS.items()}
        return stability(Job(mast=MAST, cases=cases, foil=foil), solved, frame, by_lift)

    return asked


def flutters_at(monkeypatch: pytest.MonkeyPatch, *factors: float) -> list[dict[str, object]]:
    """Flutter at the given factors, in turn, in place of a search; what it was asked."""
    asked: list[dict[str, object]] = []

    def given(_: FrameModel, load: TipLoad, mass: np.ndarray, *, up_to: float) -> Flutter:
        asked.append({"load": load, "mass": mass, "up_to": up_to})
        return Flutter(factor=factors[(len(asked) - 1) % len(factors)], frequency=1.0, flutters=True)

    monkeypatch.setattr(module, "flutter", given)
    return asked


def stands_by(monkeypatch: pytest.MonkeyPatch, *answers: bool) -> list[float]:
    """Whether the bent shape stands, in turn; the load multiples it was asked at."""
    asked: list[float] = []

    def given(_: FrameModel, load: TipLoad, share: float, mass: np.ndarray) -> bool:
        del load, mass
        asked.append(share)
        return answers[(len(asked) - 1) % len(answers)]

    monkeypatch.setattr(module, "stands", given)
    return asked


def test_each_case_is_held_to_its_own_lift(ask: Ask) -> None:
    found = ask(case(Lift.DEAD), case(Lift.THROUGH_RIDER))
    dead, aimed = found.factors[Lift.DEAD][0], found.factors[Lift.THROUGH_RIDER][1]
    # Drawn toward a point above the base, the lift leans against the bend: it holds the mast.
    assert 1.5 < dead < aimed
    assert found.buckling.tolist() == [dead, aimed]
    assert found.flutter == (None, None)
    assert found.shaky == frozenset()
    assert all(mode is not None for mode in found.modes)


def test_a_following_lift_is_held_to_the_lesser_of_dead_lift_and_flutter(
    ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    dead = float(ask(case(Lift.DEAD)).factors[Lift.DEAD][0])
    stands_by(monkeypatch, True)
    for at, least in (((9 * dead, 0.5 * dead), 0.5 * dead), ((7 * dead, 8 * dead), dead)):
        flutters_at(monkeypatch, *at)
        found = ask(case(Lift.FOLLOWER))
        # In air and in water: the lower of the two.
        assert found.flutter == (min(at),)
        assert found.factors[Lift.FOLLOWER].tolist() == pytest.approx([least])
        assert found.buckling.tolist() == pytest.approx([dead])


@pytest.mark.parametrize(("asked_for", "need"), [(1.5, 1.5), (0.5, 1.0)])
def test_flutter_is_looked_for_far_beyond_the_load(
    ask: Ask, monkeypatch: pytest.MonkeyPatch, asked_for: float, need: float
) -> None:
    # Ten times the factor asked for, or thirty times the dead lift's, whichever is more.
    stands_by(monkeypatch, True)
    asked = flutters_at(monkeypatch, np.inf)
    found = ask(case(Lift.FOLLOWER, asked_for))
    dead = float(found.factors[Lift.DEAD][0])
    assert [a["up_to"] for a in asked] == pytest.approx([max(10 * need, 30 * dead)] * 2)
    assert all(a["load"] is LIFTS[Lift.FOLLOWER] for a in asked)


def test_without_buckling_flutter_is_looked_for_to_ten_times_the_factor(
    monkeypatch: pytest.MonkeyPatch, solved: SolvedMast, frame: FrameModel
) -> None:
    stands_by(monkeypatch, True)
    asked = flutters_at(monkeypatch, np.inf)
    # A pull stiffens: nothing buckles under it.
    pull = TipLoad(force=(0.0, 0.0, 100.0))
    by_lift = {lift: [pull] for lift in LIFTS}
    found = stability(Job(mast=MAST, cases=(case(Lift.FOLLOWER, 2.0),)), solved, frame, by_lift)
    assert np.isinf(found.factors[Lift.DEAD][0])
    assert [a["up_to"] for a in asked] == [20.0] * 2


@pytest.mark.parametrize(
    ("answers", "shaky"),
    [((True,), False), ((False,), True), ((True, False), True), ((True, True, True, False), True)],
)
def test_the_bent_shape_must_stand_at_both_loads_in_air_and_in_water(
    ask: Ask, monkeypatch: pytest.MonkeyPatch, answers: tuple[bool, ...], shaky: bool
) -> None:
    flutters_at(monkeypatch, 50.0)
    asked = stands_by(monkeypatch, *answers)
    found = ask(case(Lift.DEAD), case(Lift.FOLLOWER))
    assert found.shaky == (frozenset({1}) if shaky else frozenset())
    assert set(asked) <= {1.0, 1.5}
    assert len(asked) == (4 if answers == (True,) else answers.index(False) + 1)


def test_the_bent_shape_is_not_asked_for_beyond_the_load_that_flutters(
    ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    # There is none to look at, and the case fails already.
    asked = stands_by(monkeypatch, False)
    for factor in (1.2, 1.5):
        flutters_at(monkeypatch, factor)
        found = ask(case(Lift.FOLLOWER))
        assert found.shaky == frozenset()
        assert asked == []


def test_what_hangs_at_the_tip_moves_with_the_last_node(
    ask: Ask, monkeypatch: pytest.MonkeyPatch, frame: FrameModel
) -> None:
    wing = Wing(area=0.12, span=0.9, ahead=0.06)
    foil = Foil(mass=2.0, ahead=0.05, below=0.02, yaw_inertia=0.03, wing=wing)
    stands_by(monkeypatch, True)
    asked = flutters_at(monkeypatch, 50.0)
    ask(case(Lift.FOLLOWER))
    ask(case(Lift.FOLLOWER), foil=foil)
    bare_dry, bare_wet, dry, wet = (np.asarray(a["mass"]) for a in asked)
    tip = slice(DOFS * (frame.n - 1), DOFS * (frame.n - 1) + 6)
    for more, less, hung in (
        (dry, bare_dry, foil_inertia(foil)),
        (wet, bare_wet, foil_inertia(foil) + wing_added_inertia(foil, 1026.0)),
    ):
        added = more - less
        assert added[tip, tip] == pytest.approx(hung)
        added[tip, tip] = 0
        assert not added.any()
    # Water moves with the wet part, and with none of the dry one.
    assert np.trace(bare_wet[tip, tip][:3, :3]) > np.trace(bare_dry[tip, tip][:3, :3])
    assert bare_wet[:DOFS, :DOFS] == pytest.approx(bare_dry[:DOFS, :DOFS])
