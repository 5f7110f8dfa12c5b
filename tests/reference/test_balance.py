"""The quick way to a second-order shape against the slow one: the load raised step by step."""

from __future__ import annotations

import numpy as np
import pytest

from mastcheck.beam import balance
from mastcheck.beam.balance import CONVERGED, balanced, linear_shape
from mastcheck.beam.buckling import buckling
from mastcheck.beam.kinematics import kinematics
from mastcheck.beam.loads import Loads, TipLoad
from mastcheck.beam.solve import FrameModel
from tests.beams import beam, properties, uniform

JOINT = np.diag([1e-7, 1e-7, 1e-9, 2e-4, 1e-4, 2e-4])
LOADS = (
    TipLoad(lift=1000.0, arm=(0.05, -0.05, 0.0)),
    TipLoad(lift=1000.0, arm=(0.1, 0.02, 0.0), aim=-1.0),
    TipLoad(lift=1000.0, arm=(0.06, -0.04, 0.0), force=(0.0, 60.0, 0.0), moment=(0.0, 0.0, 20.0)),
    TipLoad(force=(0.0, 500.0, 0.0), lift=10.0, arm=(0.0, 0.3, 0.0)),  # bends; twists; buckles late
)
FRAMES = {
    "uniform": lambda: FrameModel(uniform()),
    "tapered": lambda: FrameModel(
        beam(*(properties(s, EIyy=8e3 * s**4, shear_centre_x=0.01) for s in (1.2, 1.0, 0.8)))
    ),
    # Shear as stiff as that of the other beams would drown in rounding in a joint's short neighbour.
    "joints": lambda: FrameModel(
        uniform(EA=1e8, shear_flex_xx=2e-8, shear_flex_yy=6e-8), base_joint=JOINT, tip_joint=JOINT
    ),
}


@pytest.fixture(params=list(FRAMES))
def frame(request) -> FrameModel:
    return FRAMES[request.param]()


def tips(frame: FrameModel, shape: balance.Shape):
    return shape.x[:, -1] - frame.x0[-1]


@pytest.mark.parametrize("share", [0.05, 0.5, 0.9, 0.98])
def test_same_shape_as_by_small_steps(frame: FrameModel, share: float) -> None:
    factor = buckling(frame, LOADS).factor
    load = Loads(frame.z, LOADS, share * factor)
    quick, (slow, residual) = balanced(frame, load), balance._creep(frame, load)
    assert (residual < CONVERGED).all()
    assert quick.stable.all()
    # Both are held to 1e-7 of the load; close to buckling that is more of the movement.
    moved = np.linalg.norm(tips(frame, slow), axis=1)
    assert tips(frame, quick.shape) / moved[:, None] == pytest.approx(
        tips(frame, slow) / moved[:, None], abs=1e-7 / (1 - share) ** 2 + 1e-6
    )


def test_the_linear_shape_is_enough_below_buckling(frame: FrameModel, monkeypatch) -> None:
    """No step of load is taken at half the buckling load, nor at nine tenths of it."""

    def never(*_):
        raise AssertionError("the load was raised in steps")

    monkeypatch.setattr(balance, "_follow", never)
    eccentric = LOADS[:3]  # the fourth bends the mast by more than a radian long before it buckles
    factor = buckling(frame, eccentric).factor
    for share in (0.5, 0.9):
        assert balanced(frame, Loads(frame.z, eccentric, share * factor)).stable.all()


def test_past_buckling_the_shape_goes_on_to_the_same_side() -> None:
    """It is not said to be sound from the start, and is found by steps: the elastica's own branch."""
    frame = FrameModel(uniform())
    load = [TipLoad(lift=1000.0, arm=(0.0, side * 0.005, 0.0)) for side in (1, -1)]
    factor = buckling(frame, load).factor
    _, sound = linear_shape(frame, Loads(frame.z, load, 1.05 * factor))
    assert not sound.any()
    before = balanced(frame, Loads(frame.z, load, 0.99 * factor))
    after = balanced(frame, Loads(frame.z, load, 1.05 * factor))
    assert before.stable.all()
    assert after.stable.all()
    assert (np.sign(tips(frame, after.shape)[:, 1]) == np.sign(tips(frame, before.shape)[:, 1])).all()
    assert (np.abs(tips(frame, after.shape)[:, 1]) > np.abs(tips(frame, before.shape)[:, 1])).all()


def test_linear_shape_has_the_strains_of_its_solution(frame: FrameModel) -> None:
    """Joined end to end, nothing is stretched that is not pulled."""
    load = Loads(frame.z, LOADS, 0.5 * buckling(frame, LOADS).factor)
    shape, sound = linear_shape(frame, load)
    d = kinematics(shape.x, shape.r, shape.phi, frame.span).d
    axial = d[..., 2] * frame.k[:, 2, 2]
    assert sound.all()
    assert np.abs(shape.r - np.eye(3)).max() > 0.05
    assert np.abs(axial).max() < 3 * load.size().max()


def test_spread_forces_keep_their_sum_and_their_moment() -> None:
    """Shared between nodes: about any point, forces and couples come to the same as where they act."""
    frame = FrameModel(uniform())
    rng = np.random.default_rng(3)
    at, force = rng.uniform(0, 0.05, size=(30, 3)), rng.normal(size=(30, 3))
    at[:, 2] = rng.uniform(0, frame.length, size=30)
    at[0, 2], at[1, 2] = 0.0, frame.length
    load = Loads(frame.z, [TipLoad(spread=force, spread_at=at)], np.array([2.0]))
    nodal = load.vector(*frame.unloaded(1)[:2]).reshape(frame.n, -1)
    moment = nodal[:, 3:6].sum(axis=0) + np.cross(frame.x0, nodal[:, :3]).sum(axis=0)
    assert nodal[:, :3].sum(axis=0) == pytest.approx(2 * force.sum(axis=0), abs=1e-12)
    assert moment == pytest.approx(2 * np.cross(at, force).sum(axis=0), abs=1e-12)


def test_whether_it_buckles_is_asked_for_less(frame: FrameModel) -> None:
    """Just above and just below its load a case is told apart, without its factor."""
    factor = buckling(frame, LOADS).factor
    for share, below in ((1.001, True), (0.999, False)):
        loads = [
            TipLoad(
                lift=p.lift * f * share, arm=p.arm, aim=p.aim,
                force=tuple(share * f * v for v in p.force),
                moment=tuple(share * f * v for v in p.moment),
            )
            for p, f in zip(LOADS, factor, strict=True)
        ]  # fmt: skip
        found = buckling(frame, loads, whether=[True] * len(loads))
        assert (found.factor < 1).tolist() == [below] * len(loads)
        assert np.isinf(found.factor).tolist() == [not below] * len(loads)


@pytest.mark.parametrize("share", [1.1, 1.3, 1.6])
@pytest.mark.parametrize("eccentricity", [0.001, 0.005])
def test_a_balance_that_does_not_stand_gives_way_to_one_that_does(share, eccentricity) -> None:
    """Past its load a nearly straight column has both: far to the load's side, hardly to the other.

    Two steps of load lead to the second, on the far side of the load, where no column stays.
    """
    frame = FrameModel(uniform())
    one = [TipLoad(lift=1000.0, arm=(0.0, eccentricity, 0.0))]
    load = Loads(frame.z, one, share * buckling(frame, one).factor)
    two_steps, left = balance._follow(frame, load, balance._FEW_STEPS)
    found = balanced(frame, load)
    assert found.residual[0] < CONVERGED
    assert found.stable[0]
    side = tips(frame, found.shape)[0, 1]
    assert side > 0.3 * frame.length
    if left[0] < CONVERGED:
        assert tips(frame, two_steps)[0, 1] < 0


@pytest.mark.parametrize("force", [100.0, 500.0, 3000.0])
def test_newton_goes_on_while_far_steps_gain_little(force: float) -> None:
    """From the straight shape, each step held to what its tangent reaches: it ends in a balance."""
    frame = FrameModel(uniform())
    load = Loads(frame.z, [TipLoad(force=(0.0, force, 0.0))], np.ones(1))
    shape, left = balance.newton(frame, load, balance.Shape(*frame.unloaded(1)))
    assert left[0] < CONVERGED
    slow, _ = balance._creep(frame, load)
    assert shape.x == pytest.approx(slow.x, abs=1e-5)
