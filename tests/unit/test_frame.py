"""The frame's own contract: where its nodes lie, and answers that do not hang on how they are solved."""

from __future__ import annotations

import numpy as np
import pytest

from mastcheck.beam.buckling import _normalised, buckling
from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.element import ElementIntegrals
from mastcheck.beam.flutter import Flutter, flutter
from mastcheck.beam.loads import Loads, TipLoad
from mastcheck.beam.modes import mass_matrix, modes
from mastcheck.beam.solve import FrameModel
from tests.beams import beam, properties, uniform

LENGTH = 0.8


def warping(length: float = 0.004, *, tip_restrained: bool = True) -> FrameModel:
    """A uniform beam whose restrained warping decays over so much [m], far less than an element."""
    section = properties(EGamma=800.0 * length**2)
    return FrameModel(beam(*[section] * 3, length=LENGTH, tip_restrained=tip_restrained))


def test_nodes_are_finer_where_warping_decays_at_both_held_ends() -> None:
    z = warping().z
    for places in (z, LENGTH - z):
        for share in (1.5, 4.0, 8.0):
            assert np.abs(places - share * 0.004).min() < 1e-12
    assert z == pytest.approx(LENGTH - z[::-1], abs=1e-12)


def test_a_free_tip_needs_no_finer_nodes() -> None:
    z = warping(tip_restrained=False).z
    assert np.abs(z - 1.5 * 0.004).min() < 1e-12
    assert LENGTH - z[-2] == pytest.approx(LENGTH / 40, rel=0.2)


@pytest.mark.parametrize("layer", [0.004, 0.008, 0.024, 0.031])
def test_places_farther_than_two_elements_need_no_node(layer: float) -> None:
    # An element is 20 mm: places at 1.5, 4 and 8 layers are nodes while nearer than 40 mm.
    z = warping(layer).z
    for places in (z, LENGTH - z):
        for share in (1.5, 4.0, 8.0):
            is_node = np.abs(places - share * layer).min() < 1e-9
            assert is_node == (share * layer < 0.040)


def test_kept_places_are_nodes_and_the_same_place_is_one() -> None:
    model = uniform(LENGTH, EGamma=800.0 * 0.5**2)  # its warping asks for no nodes
    apart, same = 2e-7 * LENGTH, 0.5e-7 * LENGTH
    two = FrameModel(model, keep=(0.31, 0.31 + apart)).z
    assert np.isclose(two, 0.31, rtol=0, atol=1e-12).any()
    assert np.isclose(two, 0.31 + apart, rtol=0, atol=1e-12).any()
    assert np.diff(two).min() == pytest.approx(apart, rel=1e-6)
    one = FrameModel(model, keep=(0.31, 0.31 + same)).z
    assert np.diff(one).min() > 1e-3
    ends = FrameModel(model, keep=(same, LENGTH - same)).z
    assert (ends[0], ends[-1]) == (0.0, LENGTH)
    assert np.diff(ends).min() > 1e-3


def test_so_many_elements_as_asked_for() -> None:
    # One warping layer at the base takes elements of its own besides.
    model = uniform(LENGTH, EGamma=800.0 * 0.5**2)
    for count in (10, 40):
        z = FrameModel(model, elements=count).z
        assert z == pytest.approx(np.linspace(0, LENGTH, count + 1))


def test_linear_answers_are_the_dense_ones_and_refuse_nothing() -> None:
    """A base joint that is rigid in all but name beside a tip joint that gives: the sum of both."""
    model = uniform(LENGTH)
    hard, soft = np.diag([1e-30] * 6), np.diag([1e-3, 1e-3, 1e-6, 0.5, 0.5, 0.5])
    alone = FrameModel(model).tip_compliance()
    jointed = FrameModel(model, base_joint=hard, tip_joint=soft).tip_compliance()
    assert jointed == pytest.approx(alone + soft, rel=1e-6, abs=1e-12)


def test_where_rounding_leaves_no_root_the_answer_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    frame = FrameModel(beam(properties(1.2, shear_centre_x=0.01), properties(), properties(0.8)))
    loads = np.random.default_rng(3).normal(size=(4, frame.n, 7))
    by_root = frame.linear(loads)
    dense = np.zeros_like(loads)
    k = frame.k0[np.ix_(frame.free, frame.free)]
    dense.reshape(4, -1)[:, frame.free] = np.linalg.solve(k, loads.reshape(4, -1)[:, frame.free].T).T
    assert by_root == pytest.approx(dense, rel=1e-6, abs=1e-9 * np.abs(dense).max())

    def none(*_: object) -> np.ndarray:
        raise np.linalg.LinAlgError("not positive definite")

    monkeypatch.setattr(type(frame.elastic), "cholesky", none)
    other = FrameModel(beam(properties(1.2, shear_centre_x=0.01), properties(), properties(0.8)))
    assert other._root is None
    assert other.linear(loads) == pytest.approx(by_root, rel=1e-6, abs=1e-9 * np.abs(dense).max())


def test_resultants_of_a_spread_and_a_tip_force_balance_at_the_base() -> None:
    """Statics: the base carries all forces and their moments about the bent shape's own base."""
    state = FrameModel(uniform(LENGTH)).solve([TipLoad(force=(30.0, 20.0, 5.0), moment=(1.0, 2.0, 3.0))])
    n, vx, vy, mx, my, t, _ = state.resultants[0, 0]
    tip = np.array([0.0, 0.0, LENGTH]) + state.displacement[0, -1]
    arm = np.cross(tip, [30.0, 20.0, 5.0]) + np.array([1.0, 2.0, 3.0])
    assert (vx, vy, n) == pytest.approx((30.0, 20.0, 5.0), rel=1e-6)
    assert (mx, my, t) == pytest.approx(tuple(arm), rel=1e-5)


@pytest.mark.parametrize("layer", [0.0004, 0.004, 0.04, 0.2])
@pytest.mark.parametrize("restrained", [False, True])
def test_twist_of_a_bar_whose_ends_may_not_warp(layer: float, restrained: bool) -> None:
    """Vlasov, by hand: each held end takes sqrt(EΓ/GJ) off the length that twists, less if they meet.

    θ GJ/T = L - λ tanh(L/λ) with one end held, L - 2 λ tanh(L/(2 λ)) with both.
    """
    section = properties(EGamma=800.0 * layer**2)
    model = beam(*[section] * 3, length=LENGTH, tip_restrained=restrained)
    ends = 2 if restrained else 1
    twist = (LENGTH - ends * layer * np.tanh(LENGTH / (ends * layer))) / 800.0
    assert tip_compliance(model)[5, 5] == pytest.approx(twist, rel=1e-8)
    assert FrameModel(model).tip_compliance()[5, 5] == pytest.approx(twist, rel=1e-8)


def test_one_element_bends_its_twist_as_a_bar_of_four_decay_lengths() -> None:
    """A bimoment at one end: EΓ φ'' = GJ φ, so φ = coth(L/λ)/sqrt(EΓ GJ) there, 1/sinh at the other."""
    layer = LENGTH / 4
    section = properties(EGamma=800.0 * layer**2)
    one = ElementIntegrals.along(beam(*[section] * 3, length=LENGTH), np.array([0.0, LENGTH]))
    near, far = one.flexibility[0, 6, 6], one.flexibility[0, 6, 7]
    size = 800.0 * layer
    # Polynomials of the fifth degree come within 2e-5 of it; of the fourth, within 3e-4.
    assert near == pytest.approx(1 / np.tanh(4.0) / size, rel=2e-5)
    assert abs(far) == pytest.approx(1 / np.sinh(4.0) / size, rel=2e-3)


def test_six_modes_are_given_unless_others_are_asked_for() -> None:
    model = uniform(LENGTH)
    frame = FrameModel(model)
    six, nine = modes(model, frame), modes(model, frame, count=9)
    assert len(six.frequency) == 6
    assert six.frequency == pytest.approx(nine.frequency[:6])
    assert (np.diff(nine.frequency) > 0).all()


def test_a_pull_is_found_to_flutter_nowhere() -> None:
    model = uniform(LENGTH)
    frame = FrameModel(model)
    found = flutter(frame, TipLoad(force=(0.0, 0.0, 100.0)), mass_matrix(model, frame), up_to=10.0)
    assert found == Flutter(factor=np.inf, frequency=0.0, flutters=False)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_mode_is_turned_to_port_wherever_it_moves_sideways(sign: float) -> None:
    """A fifth of its twist is sideways: that sets the side; a fiftieth is not looked at."""
    for sideways, by_side in ((0.2, True), (0.02, False)):
        u = np.zeros((1, 3, 7))
        u[0, :, 1] = sign * sideways * np.array([0.0, 0.5, 1.0])
        u[0, :, 5] = -sign * np.array([0.0, 0.5, 1.0]) / LENGTH
        turned = _normalised(3.0 * u, LENGTH)[0]
        assert np.abs(turned[:, 5]).max() * LENGTH == pytest.approx(1.0)
        assert turned[-1, 1 if by_side else 5] > 0
        assert turned[-1, 1] * turned[-1, 5] < 0


def test_a_point_past_two_nodes_of_one_place_is_borne_by_the_last() -> None:
    z = np.array([0.0, 0.5, 1.0, 1.0])
    force = np.array([[1.0, 2.0, 3.0]])
    load = Loads(z, [TipLoad(spread=force, spread_at=np.array([[0.0, 0.0, 1.0 + 1e-12]]))], np.ones(1))
    assert load.force[0].tolist() == [[0.0] * 3] * 3 + [[1.0, 2.0, 3.0]]


def test_the_first_order_answer_is_the_compliance_times_the_load() -> None:
    frame = FrameModel(beam(properties(1.2, shear_centre_x=0.01), properties(), properties(0.8)))
    force, moment = (3.0, 20.0, -5.0), (1.0, 0.5, 2.0)
    found = frame.solve_first_order([TipLoad(force=force, moment=moment), TipLoad(force=force)])
    by_hand = [frame.tip_compliance() @ [*force, *m] for m in (moment, (0.0, 0.0, 0.0))]
    assert found == pytest.approx(np.array(by_hand), rel=1e-6, abs=1e-9)


def test_a_tip_free_to_warp_has_no_bimoment_and_a_held_base_has_vlasovs() -> None:
    """By hand, under a torque T: B = T λ tanh(L/λ) at the held end, nothing at the free one."""
    layer = 0.1
    model = beam(*[properties(EGamma=800.0 * layer**2)] * 3, length=LENGTH)
    bimoment = FrameModel(model).solve([TipLoad(moment=(0.0, 0.0, 0.1))]).resultants[0, :, 6]
    held = 0.1 * layer * np.tanh(LENGTH / layer)
    assert abs(bimoment[0]) == pytest.approx(held, rel=1e-3)
    assert abs(bimoment[-1]) < 1e-3 * held


def test_energy_shares_of_a_mode_do_not_hang_on_the_number_of_elements() -> None:
    model = uniform(LENGTH, EGamma=0.3 * 800.0 * LENGTH**2)  # warping counts all along
    load = TipLoad(force=(400.0, 0.0, 0.0), moment=(0.0, 0.0, 0.0))
    shares = []
    for parts in (40, 400):
        frame = FrameModel(model, keep=tuple(np.linspace(0, LENGTH, parts + 1)[1:-1]))
        (share,) = buckling(frame, [load]).share
        assert 0.02 < share[2] < 0.98  # twist is a part of it, and not all
        shares.append(share)
    assert shares[1] == pytest.approx(shares[0], rel=0.01, abs=1e-6)
