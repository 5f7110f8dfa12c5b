"""Physics that needs no table."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.kinematics import deformation, rotation_matrix, rotation_vector
from mastcheck.beam.solve import FrameModel, TipLoad
from tests.beams import beam, properties

offset = st.floats(-0.02, 0.02)


@settings(max_examples=40, deadline=None)
@given(
    r=st.floats(0.4, 1.6),
    xc=offset,
    xs=offset,
    yc=offset,
    eixy=st.floats(-3000, 3000),
    held=st.booleans(),
)
def test_compliance_is_symmetric_positive_and_found_twice(r, xc, xs, yc, eixy, held) -> None:
    """Reciprocity, positive definiteness, and the integral against the finite elements."""
    sections = [
        properties(
            size,
            centroid_x=xc * size,
            shear_centre_x=xs,
            centroid_y=yc,
            EIxy=eixy * size**4,
            EGamma=0.2 * size**6,
            shear_flex_xx=1e-7,
            shear_flex_yy=2e-7,
        )
        for size in np.linspace(1, r, 5)
    ]
    model = beam(*sections, tip_restrained=held)
    c, fe = tip_compliance(model), FrameModel(model).tip_compliance()
    scale = np.sqrt(np.outer(np.diag(c), np.diag(c)))
    assert np.abs((c - c.T) / scale).max() < 1e-10
    assert np.linalg.eigvalsh(c).min() > 0
    assert np.abs((c - fe) / scale).max() < 1e-4


@settings(max_examples=20, deadline=None)
@given(st.lists(st.floats(-1, 1), min_size=3, max_size=3))
def test_rotation_vector_round_trip(v) -> None:
    assert rotation_vector(rotation_matrix(np.array(v))) == pytest.approx(v, abs=1e-12)


def test_deformations_do_not_see_rigid_motion() -> None:
    rng = np.random.default_rng(7)
    x = np.cumsum(rng.normal(size=(4, 3)), axis=0)
    r = rotation_matrix(0.05 * rng.normal(size=(4, 3)))
    turn, move = rotation_matrix(np.array([0.4, -1.1, 2.0])), np.array([3.0, -1.0, 2.0])
    span, phi = np.ones(3), rng.normal(size=4)
    before, _ = deformation(x, r, phi, span)
    after, _ = deformation(x @ turn.T + move, turn @ r, phi, span)
    assert after == pytest.approx(before, abs=1e-10)


def test_gradient_is_the_derivative_of_the_deformation() -> None:
    rng = np.random.default_rng(3)
    x = np.array([[0.0, 0, 0], [0.02, 0.01, 1.0]])
    r = rotation_matrix(0.1 * rng.normal(size=(2, 3)))
    phi, span = np.zeros(2), np.ones(1)
    _, g = deformation(x, r, phi, span)
    h = 1e-6
    for node in range(2):
        for dof in range(6):
            ends = []
            for sign in (h, -h):
                xx, rr = x.copy(), r.copy()
                if dof < 3:
                    xx[node, dof] += sign
                else:
                    spin = np.zeros(3)
                    spin[dof - 3] = sign
                    rr[node] = rotation_matrix(spin) @ rr[node]
                ends.append(deformation(xx, rr, phi, span)[0][0])
            assert g[0, :, 7 * node + dof] == pytest.approx((ends[0] - ends[1]) / (2 * h), abs=1e-6)


def test_base_reaction_balances_the_loads_on_the_bent_shape() -> None:
    """Global equilibrium of the second-order solution: base moment = sum of arm x force."""
    frame = FrameModel(
        beam(*[properties(1 - 0.3 * t, shear_centre_x=-0.005) for t in np.linspace(0, 1, 5)])
    )
    load = TipLoad(lift=1500, arm=(0.06, -0.05, 0), force=(50, 130, 0), moment=(0, 0, 20))
    state = frame.solve([load])
    tip = state.displacement[0, -1] + np.array([0, 0, frame.length])
    wing = tip + rotation_matrix(state.rotation[0, -1]) @ np.array(load.arm)
    force, thrust = np.array(load.force), np.array([0, 0, -load.lift])
    moment = np.cross(wing, thrust) + np.cross(tip, force) + np.array(load.moment)
    got = state.resultants[0, 0]
    assert got[[1, 2, 0]] == pytest.approx(force + thrust, rel=1e-5)
    assert got[3:6] == pytest.approx(moment, rel=1e-5, abs=1e-4)


def test_mirrored_loads_give_mirrored_shapes() -> None:
    frame = FrameModel(
        beam(*[properties(1 - 0.3 * t, shear_centre_x=-0.005) for t in np.linspace(0, 1, 5)])
    )
    port, starboard = (
        TipLoad(
            lift=900, arm=(0.06, -0.05 * s, 0), aim=-1.0, force=(0, 130 * s, 0), moment=(0, 0, 20 * s)
        )
        for s in (1, -1)
    )
    d = frame.solve([port, starboard]).displacement[:, -1]
    assert d[1] == pytest.approx(d[0] * [1, -1, 1], rel=1e-6)
