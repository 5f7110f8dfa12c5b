"""Natural frequencies against closed forms and tables; numbers recomputed from the equations named."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from mastcheck.beam.model import BeamModel
from mastcheck.beam.modes import modes
from mastcheck.beam.solve import FrameModel
from tests.beams import EI, EIYY, GJ, properties, uniform
from tests.published import published

L = 0.8


def side(model, **kw):
    """Circular frequencies [rad/s] of the modes that move sideways."""
    m = modes(model, FrameModel(model, elements=60), count=16, **kw)
    sideways = np.abs(m.displacement[..., 1]).max(axis=1) > 0.05
    return 2 * np.pi * m.frequency[sideways]


def test_uniform_cantilever():
    # Euler-Bernoulli: (beta L)^2 = 3.51601527, 22.03449156, 61.69721441 (any vibration handbook).
    omega = side(uniform(L)) * np.sqrt(1.0 * L**4 / EI)
    assert omega[:3] == pytest.approx(
        [published("VB-01a"), published("VB-01b"), published("VB-01c")], rel=1e-3
    )


def test_fore_aft_is_as_stiff_as_it_is():
    m = modes(uniform(L), FrameModel(uniform(L)), count=8)
    fore_aft = np.abs(m.displacement[..., 0]).max(axis=1) > 0.5
    omega = 2 * np.pi * m.frequency[fore_aft][0] * np.sqrt(L**4 / EIYY)
    assert omega == pytest.approx(published("VB-01a"), rel=1e-3)


@pytest.mark.parametrize(
    ("ratio", "first"),
    [
        (0.1, 2.967838),
        (0.5, published("VB-02a")),
        (1.0, published("VB-02b")),
        (5.0, 0.756937),
        (10.0, 0.541375),
    ],
)
def test_cantilever_with_a_tip_mass(ratio, first):
    # (beta L)^2 of 1 + cos cosh - (M/m) beta L (sin cosh - cos sinh) = 0, recomputed.
    tip = np.diag([1.0, 1.0, 1.0, 0, 0, 0]) * ratio * L
    omega = side(uniform(L), tip=tip)[0] * np.sqrt(L**4 / EI)
    assert omega == pytest.approx(first, rel=1e-3)


def scaled(r):
    """A similar taper: sizes fall linearly to r, mass as size squared, EI and GJ as its fourth power."""
    s = np.linspace(1.0, r, 5)
    z = np.linspace(0.0, L, 5)
    return BeamModel(z, [properties(x, mass_per_length=x**2) for x in s], [0.0, L])


@pytest.mark.parametrize(
    ("r", "expected"),
    [(0.7, (published("VB-06a"), published("VB-06b"), 54.0163)), (0.5, (4.625150, 19.547622, 48.5789))],
)
def test_similar_taper(r, expected):
    # Ritz solutions with 8 terms (r = 1 returns the uniform cantilever's values).
    omega = side(scaled(r))[:3] * np.sqrt(L**4 / EI)
    assert omega == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("ratio", [0.0, 0.1, 0.5, 1.0, 5.0])
def test_torsion_with_a_tip_inertia(ratio):
    # lambda tan lambda = m / (tip inertia): lambda = omega L sqrt(Ip/GJ).
    inertia = 2e-3  # kg m
    bar = uniform(L, mass_moments=(0.0, 0.0, inertia / 2, inertia / 2, 0.0))
    tip = np.zeros((6, 6))
    tip[5, 5] = ratio * inertia * L
    m = modes(bar, FrameModel(bar, elements=60), tip=tip, count=8)
    twist = np.abs(m.rotation[..., 2]).max(axis=1) * L > 0.99
    found = 2 * np.pi * m.frequency[twist][0] * L * np.sqrt(inertia / GJ)
    exact = np.pi / 2
    if ratio:
        exact = brentq(lambda x: x * np.tan(x) - 1 / ratio, 1e-6, np.pi / 2 - 1e-9)
    # Warping held at the root is worth k L ~ 1e-5 here; elements 1e-4.
    assert found == pytest.approx(exact, rel=1e-3)


def test_water_slows_by_the_mass_it_adds():
    def added(z):
        out = np.zeros((*z.shape, 6, 6))
        out[..., 1, 1] = 3.0
        return out

    dry, wet = side(uniform(L))[0], side(uniform(L), added=added)[0]
    assert wet / dry == pytest.approx(0.5, rel=1e-6)  # (1 kg/m of its own + 3 of water)


def test_a_mass_off_the_axis_couples_bending_and_twist():
    # Rigid body on a massless cantilever: two modes of (side, roll, twist) from the 6 x 6 compliance,
    # an independent small eigenproblem.
    light = uniform(L, mass_per_length=1e-9)
    m, arm = 5.0, 0.1
    tip = np.zeros((6, 6))
    tip[:3, :3] = m * np.eye(3)
    skew = np.array([[0, 0, 0], [0, 0, -arm], [0, arm, 0]])
    tip[:3, 3:], tip[3:, :3] = -m * skew, m * skew
    tip[3:, 3:] = -m * skew @ skew + np.diag([1e-3, 1e-3, 1e-3])
    frame = FrameModel(light)
    found = modes(light, frame, tip=tip, count=6).frequency
    values = np.linalg.eigvals(frame.tip_compliance() @ tip)
    exact = np.sort(1 / (2 * np.pi * np.sqrt(values.real)))
    assert found == pytest.approx(exact, rel=1e-4)
