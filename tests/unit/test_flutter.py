"""Flutter on few elements: closed forms, and the whole eigenproblem beside the reduced one.

``tests/reference/test_stability.py`` has Beck's column on fine meshes; here everything is quick. Beck's
20.05 EI/L²: Bolotin, Nonconservative Problems of the Theory of Elastic Stability (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import scipy.linalg
from numpy.typing import NDArray

from mastcheck.beam.buckling import buckling, load_stiffness
from mastcheck.beam.flutter import Flutter, flutter, stands
from mastcheck.beam.kinematics import DOFS, rotation_vector
from mastcheck.beam.loads import Loads, TipLoad
from mastcheck.beam.modes import mass_matrix
from mastcheck.beam.solve import FrameModel
from tests.beams import EI, beam, properties, uniform
from tests.published import published

FloatArray = NDArray[np.float64]

L = 0.8
FOLLOWS = TipLoad(lift=EI / L**2, follower=True)
DEAD = TipLoad(lift=EI / L**2)


def column(elements: int) -> tuple[FrameModel, FloatArray]:
    model = uniform()
    frame = FrameModel(model, elements=elements)
    return frame, mass_matrix(model, frame)


def growing(k: FloatArray, m: FloatArray) -> bool:
    """Whether K u = ω² M u has a solution that grows; every mode of the mesh counts."""
    scale = 1 / np.sqrt(np.abs(np.diag(k)))
    both = np.outer(scale, scale)
    periods = np.linalg.eigvals(np.linalg.solve(k * both, m * both))
    real = periods[np.abs(periods) > 1e-9 * np.abs(periods).max()]
    return bool((real.real < 0).any() or (np.abs(real.imag) > 1e-6 * np.abs(real)).any())


def least(grows: Callable[[float], bool], low: float, high: float) -> float:
    """The bound between what does not grow and what does."""
    assert not grows(low)
    assert grows(high)
    while high - low > 1e-8 * high:
        middle = (low + high) / 2
        low, high = (low, middle) if grows(middle) else (middle, high)
    return low


def test_becks_column_on_few_elements() -> None:
    """20.0510 EI/L² at 11.0156 sqrt(EI/m)/L²; the error falls with the square, from 1e-3 at 40."""
    frame, mass = column(20)
    found = flutter(frame, FOLLOWS, mass, up_to=30.0)
    assert found.flutters
    assert found.factor == pytest.approx(published("ST-30a"), rel=4e-3)
    omega = 2 * np.pi * found.frequency * L**2 / np.sqrt(EI)
    assert omega == pytest.approx(published("ST-30b"), rel=4e-3)


def test_where_the_search_ends_does_not_move_the_flutter() -> None:
    """Found in the first step, in the last one, or not at all where it lies beyond."""
    frame, mass = column(12)
    usual = flutter(frame, FOLLOWS, mass, up_to=30.0)
    for up_to in (usual.factor * 240 * 1.02, usual.factor * 1.0001):
        found = flutter(frame, FOLLOWS, mass, up_to=up_to)
        assert found.factor == pytest.approx(usual.factor, rel=1e-8)
        assert found.frequency == pytest.approx(usual.frequency, rel=1e-3)
        assert found.flutters
    never = Flutter(factor=np.inf, frequency=0.0, flutters=False)
    assert flutter(frame, FOLLOWS, mass, up_to=usual.factor * 0.9999) == never


def test_a_dead_lift_diverges_where_it_buckles() -> None:
    """The dynamic criterion is then the static one (any textbook): ω² is nil at the buckling load."""
    frame, mass = column(12)
    found = flutter(frame, DEAD, mass, up_to=5.0)
    assert found.factor == pytest.approx(float(buckling(frame, [DEAD]).factor[0]), rel=1e-6)
    assert (found.frequency, found.flutters) == (0.0, False)


SKEW = [
    properties(
        1 - 0.3 * t, shear_centre_x=-0.01, centroid_x=0.004, EIxy=1500.0 * (1 - 0.3 * t) ** 4,
        EIyy=8000.0 * (1 - 0.3 * t) ** 4, EGamma=2.0, shear_flex_xx=1e-7, shear_flex_yy=2e-7,
    )
    for t in (0.0, 0.5, 1.0)
]  # fmt: skip


@pytest.mark.parametrize(
    "load",
    [
        TipLoad(lift=900.0, arm=(0.06, 0.0, 0.0), follower=True, force=(0, 60.0, 0)),
        TipLoad(lift=900.0, arm=(0.0, -0.03, 0.0), follower=True, moment=(0, 0, 30.0)),
        TipLoad(lift=900.0, arm=(0.06, -0.05, 0.0), aim=-1.0),
    ],
    ids=["eccentric", "torque", "dead"],
)
def test_the_reduced_problem_is_the_whole_one(load: TipLoad) -> None:
    """On so few nodes, thirty free movements, no mode is left out: against them and the twist rates."""
    model = beam(*SKEW)
    frame = FrameModel(model, elements=2, base_joint=np.diag([1e-8, 1e-8, 1e-9, 2e-5, 1e-5, 3e-5]))
    mass = mass_matrix(model, frame)
    last = DOFS * (frame.n - 1)
    mass[last : last + 6, last : last + 6] += np.diag([0.5, 0.5, 0.5, 1e-2, 4e-3, 1e-2])
    # Turns have a mass of their own too: what has none has no frequency, and is not among the modes.
    turns = np.flatnonzero(np.isin(np.arange(len(mass)) % DOFS, (3, 4, 5)))
    mass[turns, turns] += 1e-4
    x, r, _ = frame.unloaded(1)
    loads = Loads(frame.z, [load], np.ones(1))
    stress = load_stiffness(frame, loads).plus(loads.unsymmetric(r, x)).dense()[0]
    free = np.ix_(frame.free, frame.free)
    found = flutter(frame, load, mass, up_to=20.0)
    exact = least(
        lambda f: growing((frame.k0 + f * stress)[free], mass[free]),
        0.98 * found.factor, 1.02 * found.factor,
    )  # fmt: skip
    assert found.factor == pytest.approx(exact, rel=1e-6)
    assert found.flutters == load.follower
    # No lower: what lies below, on a coarse scale, does not grow either.
    for share in np.linspace(0.05, 0.98, 12):
        assert not growing((frame.k0 + share * found.factor * stress)[free], mass[free])
    if load.follower:
        own = scipy.linalg.eigvals((frame.k0 + found.factor * stress)[free], mass[free])
        omega = np.sqrt(own[np.isfinite(own)].real.clip(0))
        assert np.abs(omega / (2 * np.pi * found.frequency) - 1).min() < 1e-3


def test_bent_shapes_stand_up_to_the_flutter_load_and_no_further() -> None:
    """Hardly bent, the shape flutters where the straight one does, and a dead load where it buckles."""
    frame, mass = column(12)
    for load in (FOLLOWS, DEAD):
        at = flutter(frame, load, mass, up_to=30.0).factor
        assert stands(frame, load, 0.99 * at, mass)
        assert not stands(frame, load, 1.01 * at, mass)


def test_what_hangs_on_a_bent_tip_turns_with_it() -> None:
    """Three bodies on arms, on a tip turned by 100°: as they lie in space the mast stands; as they lay
    before it bent it would not. Their inertia is built here from each one's place in space.
    """

    def bodies(turned: FloatArray) -> FloatArray:
        out = np.zeros((6, 6))
        for m, arm in ((0.3, (0.1, 0, 0.05)), (0.2, (-0.15, 0.1, -0.05)), (0.1, (0, -0.2, 0.1))):
            x, y, z = turned @ np.array(arm)
            moves = np.hstack([np.eye(3), -np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])])
            out += m * moves.T @ moves
        return out

    frame, mass = column(10)
    tip = slice(DOFS * (frame.n - 1), DOFS * (frame.n - 1) + 6)
    load = replace(FOLLOWS, force=(0.0, 0.5 * EI / L**2, 0.0), moment=(0.0, 0.0, 0.3 * EI / L))
    bent = frame.equilibrium([load], [6.0])
    turned = bent.r[0, -1]
    assert np.degrees(np.linalg.norm(rotation_vector(turned))) > 100
    free = np.ix_(frame.free, frame.free)
    for lies, expected in ((turned, False), (np.eye(3), True)):
        whole = mass.copy()
        whole[tip, tip] += bodies(lies)
        assert growing(bent.tangent.dense()[0][free], whole[free]) is expected
    mass[tip, tip] += bodies(np.eye(3))
    assert stands(frame, load, 6.0, mass)


def test_a_load_without_a_balance_does_not_stand(monkeypatch: pytest.MonkeyPatch) -> None:
    frame, mass = column(4)
    assert stands(frame, DEAD, 1.0, mass)
    found = frame.equilibrium([DEAD], [1.0])
    found.converged[0] = False
    monkeypatch.setattr(frame, "equilibrium", lambda *_: found)
    assert not stands(frame, DEAD, 1.0, mass)


def test_a_heavier_mast_flutters_at_the_same_load_and_slower() -> None:
    """By dimensions: the load does not know the mass, and the frequency goes with its inverse root."""
    frame, mass = column(8)
    usual, heavy = (flutter(frame, FOLLOWS, by * mass, up_to=30.0) for by in (1.0, 1e10))
    assert heavy.flutters
    assert heavy.factor == pytest.approx(usual.factor, rel=1e-7)
    assert heavy.frequency == pytest.approx(usual.frequency / 1e5, rel=1e-3)
