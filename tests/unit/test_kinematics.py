"""An element's movements against differences of them."""

from __future__ import annotations

import numpy as np
import pytest

from mastcheck.beam.kinematics import DOFS, kinematics, rotation_matrix, stress_blocks

SPAN = np.array([0.02, 0.03, 0.001])
STEP = 1e-5


@pytest.fixture(params=[0.02, 0.1], ids=["slightly bent", "well bent"])
def shape(request):
    """Four nodes anywhere, each turned against the last by about so many radians."""
    rng = np.random.default_rng(8)
    turns = rotation_matrix(request.param * rng.normal(size=(4, 3)))
    r = [rotation_matrix(rng.normal(size=3))]
    for turn in turns[1:]:
        r.append(r[-1] @ turn)
    x = np.cumsum(0.02 * rng.normal(size=(4, 3)), axis=0)
    return x, np.stack(r), rng.normal(size=4)


def moved(shape, element: int, dof: int, step: float):
    """The shape with one degree of freedom of an element's two nodes moved."""
    x, r, phi = (a.copy() for a in shape)
    node, k = element + dof // DOFS, dof % DOFS
    if k < 3:
        x[node, k] += step
    elif k < 6:
        r[node] = rotation_matrix(step * np.eye(3)[k - 3]) @ r[node]
    else:
        phi[node] += step
    return kinematics(x, r, phi, SPAN)


@pytest.mark.parametrize("element", range(3))
def test_gradient_is_that_of_the_deformations(shape, element: int) -> None:
    found = kinematics(*shape, SPAN).gradient[element]
    numeric = np.stack(
        [
            (moved(shape, element, dof, STEP).d - moved(shape, element, dof, -STEP).d)[element]
            / (2 * STEP)
            for dof in range(2 * DOFS)
        ],
        axis=1,
    )
    assert found == pytest.approx(numeric, abs=3e-6)  # its series errs by 1e-6 at 0.3 rad


@pytest.mark.parametrize("element", range(3))
def test_stress_stiffness_is_the_slope_of_the_gradient(shape, element: int) -> None:
    """Its symmetric part: of finite turns the other half only tells the order in which they are made."""
    f = np.random.default_rng(9).normal(size=(3, 8))
    found = stress_blocks(kinematics(*shape, SPAN), f)[element]

    def forces(dof: int, step: float):
        return moved(shape, element, dof, step).gradient[element].T @ f[element]

    slopes = [(forces(dof, STEP) - forces(dof, -STEP)) / (2 * STEP) for dof in range(2 * DOFS)]
    numeric = np.stack(slopes, axis=1)
    assert found == pytest.approx((numeric + numeric.T) / 2, abs=1e-6 * np.abs(numeric).max())


def test_cases_do_not_mix(shape) -> None:
    x, r, phi = shape
    both = kinematics(np.stack([x, 2 * x]), np.stack([r, r[::-1]]), np.stack([phi, -phi]), SPAN)
    second = kinematics(2 * x, r[::-1], -phi, SPAN)
    f = np.random.default_rng(10).normal(size=(2, 3, 8))
    assert both.d[1] == pytest.approx(second.d, abs=1e-15)
    assert both.gradient[1] == pytest.approx(second.gradient, abs=1e-15)
    assert stress_blocks(both, f)[1] == pytest.approx(stress_blocks(second, f[1]), abs=1e-14)
