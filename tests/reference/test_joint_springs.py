"""Springs at base and tip, and a lift that follows the tip, against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from mastcheck.beam.buckling import buckling
from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.solve import FrameModel
from tests.beams import EI, uniform

L = 0.8
SHEAR = {"shear_flex_xx": 1e-8, "shear_flex_yy": 1e-8}
"""As soft in shear as a real mast: one rigid in shear would drown the comparison in rounding."""


def springs(*, base=None, tip=None):
    made = [np.diag(c) if c is not None else None for c in (base, tip)]
    return FrameModel(uniform(L, **SHEAR), base_joint=made[0], tip_joint=made[1])


def test_compliances_of_joints_add_to_the_blade():
    # Statically determinate: each joint adds its own, carried to the tip by the lever arm.
    base = np.array([2e-7, 3e-7, 1e-8, 4e-5, 2e-5, 6e-5])
    tip = np.array([1e-7, 2e-7, 1e-8, 3e-5, 1e-5, 5e-5])
    carry = np.eye(6)
    carry[4, 0], carry[3, 1] = L, -L  # at the base: My = L Fx, Mx = -L Fy
    expected = tip_compliance(uniform(L, **SHEAR)) + carry.T @ np.diag(base) @ carry + np.diag(tip)
    got = springs(base=base, tip=tip).tip_compliance()
    scale = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))
    assert np.abs((got - expected) / scale).max() < 1e-6


def test_a_joint_of_no_compliance_is_rigid():
    got = springs(base=np.zeros(6), tip=np.zeros(6)).tip_compliance()
    rigid = FrameModel(uniform(L, **SHEAR)).tip_compliance()
    scale = np.sqrt(np.outer(np.diag(rigid), np.diag(rigid)))
    assert np.abs((got - rigid) / scale).max() < 1e-6


@pytest.mark.parametrize("ratio", [0.5, 2.0, 10.0])
def test_a_column_on_a_rotational_spring(ratio):
    # u tan u = k L / EI, P = u^2 EI / L^2 (Timoshenko and Gere, Theory of Elastic Stability, bars
    # with elastically built-in ends; equation from memory, derived again from EI w'' = P (d - w)).
    frame = FrameModel(uniform(L), base_joint=np.diag([0, 0, 0, L / (ratio * EI), 0, 0]))
    u = brentq(lambda u: u * np.tan(u) - ratio, 1e-6, np.pi / 2 - 1e-9)
    expected = u**2 * EI / L**2
    factor = buckling(frame, [TipLoad(lift=1000.0)]).factor[0]
    assert factor * 1000.0 == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("share", [0.5, 2.0, 4.0])
def test_a_lift_that_follows_the_tip_bends_as_the_elastica(share):
    # Past the dead load's buckling load (share 1) a following thrust still stands: Beck's column has
    # no static buckling. EI t'' = -(Fy cos t - Fz sin t), t(0) = 0, t'(L) = 0, integrated from the
    # tip, whose turn is found so that the base does not turn.
    P, H = share * np.pi**2 / 4 * EI / L**2, 30.0

    def base_turn(tip_turn):
        fy, fz = H - P * np.sin(tip_turn), -P * np.cos(tip_turn)
        run = solve_ivp(
            lambda _, v: [v[1], -(fy * np.cos(v[0]) - fz * np.sin(v[0])) / EI, np.sin(v[0])],
            (L, 0.0),
            [tip_turn, 0.0, 0.0],
            rtol=1e-10,
            atol=1e-12,
        )
        return run.y[0, -1], -run.y[2, -1]

    turn = brentq(lambda t: base_turn(t)[0], -1.0, 1.0)
    frame = FrameModel(uniform(L))
    load = TipLoad(lift=P, follower=True, force=(0.0, H, 0.0))
    state = frame.solve([load])
    assert state.converged[0]
    assert state.displacement[0, -1, 1] == pytest.approx(base_turn(turn)[1], rel=2e-3)
    assert -state.rotation[0, -1, 0] == pytest.approx(turn, rel=2e-3)
    assert np.isnan(buckling(frame, [load]).factor[0])
