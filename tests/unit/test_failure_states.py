"""Strains that a laminate is judged under: both signs of shear, and with its coupling free; by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from mastcheck.failure import (
    allowable_strains,
    max_strain_indices,
    max_strain_ratio,
    ply_response,
    states,
    tsai_wu_ratio,
    wall_strains,
)
from mastcheck.laminate import Ply, abd
from tests.unit.test_strength import CARBON, layup

EPS, GAMMA = np.array([1e-3, -2e-3, 0.0]), np.array([4e-4, -3e-4, 5e-4])


def test_a_balanced_wall_is_judged_under_shear_of_either_sign() -> None:
    found = states(layup("[0/±45/90]s"), EPS, GAMMA)
    assert found.shape == (2, 3, 3)
    for at, sign in enumerate((1, -1)):
        assert found[at, :, 0] == pytest.approx(EPS)
        assert found[at, :, 2] == pytest.approx(sign * np.abs(GAMMA))


def test_no_hoop_force_is_left_in_a_wall() -> None:
    """A ε along the hoop is nil: N_s = A12 ε_z + A22 ε_s + A26 γ."""
    for code in ("[0/±45/90]s", "[20]8"):
        wall = layup(code)
        hoop = wall_strains(wall, EPS, GAMMA) @ abd(wall)[0][1]
        assert np.abs(hoop).max() < 1e-9 * np.abs(abd(wall)[0][1, 1] * EPS).max()


def test_an_unbalanced_wall_is_also_judged_with_its_coupling_free() -> None:
    """Held: the beam's own strains. Free: its forces, N = K11 ε and S = K66 γ without coupling, on the
    whole wall, whose stiffness without hoop force is that of abd with the hoop condensed out.
    """
    wall = layup("[20]8")
    found = states(wall, EPS, GAMMA)
    assert found.shape == (4, 3, 3)
    A = abd(wall)[0]
    K = A[np.ix_([0, 2], [0, 2])] - np.outer(A[[0, 2], 1], A[1, [0, 2]]) / A[1, 1]
    for at, sign in enumerate((1, -1)):
        held, free = found[at], found[2 + at]
        assert held[:, [0, 2]] == pytest.approx(np.column_stack([EPS, sign * np.abs(GAMMA)]))
        force = np.column_stack([K[0, 0] * EPS, K[1, 1] * sign * np.abs(GAMMA)])
        assert free[:, [0, 2]] @ K == pytest.approx(force, rel=1e-9, abs=1e-9 * np.abs(force).max())


def test_a_ply_across_the_wall_takes_its_strains_the_other_way_about() -> None:
    """At 90° direction 1 lies along s; shear turns its sign (any textbook of laminates)."""
    strains = np.array([[1e-3, 2e-4, 3e-4]])
    across = ply_response(Ply(lamina=CARBON, angle=math.pi / 2, thickness=1e-3), strains)
    assert across.strain[0] == pytest.approx([2e-4, 1e-3, -3e-4])
    assert across.stress[0, 2] == pytest.approx(-3e-4 * CARBON.G12)


def test_each_direction_alone_reaches_its_strength() -> None:
    """X/E, Y/E and S/G in tension and compression; Tsai-Wu meets each strength alone."""
    Xt, Xc, Yt, Yc, S = CARBON.strengths
    tension, compression = allowable_strains(CARBON)
    assert tension == pytest.approx([Xt / CARBON.E1, Yt / CARBON.E2, S / CARBON.G12])
    assert compression == pytest.approx([Xc / CARBON.E1, Yc / CARBON.E2, S / CARBON.G12])
    alone = np.vstack([np.diag(tension), -np.diag(compression)])
    assert max_strain_ratio(CARBON, alone / 4) == pytest.approx(np.full(6, 4.0))
    assert max_strain_indices(CARBON, alone / 4) == pytest.approx(np.tile(np.eye(3) / 4, (2, 1)))
    stress = np.vstack([np.diag([Xt, Yt, S]), -np.diag([Xc, Yc, S])])
    assert tsai_wu_ratio(CARBON, stress / 4) == pytest.approx(np.full(6, 4.0))
    nothing = np.zeros((1, 3))
    assert max_strain_ratio(CARBON, nothing)[0] == tsai_wu_ratio(CARBON, nothing)[0] == math.inf
