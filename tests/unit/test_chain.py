"""Matrices of a chain of nodes against the same ones taken whole."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.linalg

from mastcheck.beam.chain import Chain

CASES, NODES, K = 3, 6, 4


@pytest.fixture
def chain() -> Chain:
    rng = np.random.default_rng(5)
    blocks = rng.normal(size=(CASES, NODES - 1, 2 * K, 2 * K))
    blocks = blocks @ np.swapaxes(blocks, -1, -2)
    return Chain.of_elements(blocks).plus(0.3 * rng.normal(size=(CASES, NODES, K, K)))


def test_solve_is_that_of_the_whole_matrix(chain: Chain) -> None:
    loads = np.random.default_rng(6).normal(size=(CASES, NODES, K))
    got = chain.solve(loads)
    whole = np.linalg.solve(chain.dense(), loads.reshape(CASES, -1, 1))
    assert got.reshape(CASES, -1, 1) == pytest.approx(whole, rel=1e-8)


def test_band_is_the_symmetric_part(chain: Chain) -> None:
    whole = chain.dense()
    loads = np.arange(NODES * K, dtype=float)
    for i in range(CASES):
        symmetric = (whole[i] + whole[i].T) / 2 + 50 * np.eye(NODES * K)
        band = chain.banded(i)
        band[-1] += 50
        assert scipy.linalg.solveh_banded(band, loads) == pytest.approx(
            np.linalg.solve(symmetric, loads), rel=1e-8
        )


def test_pivots_tell_definiteness_case_by_case(chain: Chain) -> None:
    """Shifted to just above and just below its lowest eigenvalue, each case on its own."""
    whole = chain.dense()
    lowest = np.linalg.eigvalsh((whole + np.swapaxes(whole, -1, -2)) / 2)[:, 0]
    shift = np.array([-1e-6, 1e-6, -1e-6])  # the second stands, its neighbours do not
    moved = (shift - lowest)[:, None, None, None] * np.eye(K)
    got = chain.plus(moved).positive_definite()
    assert got.tolist() == [False, True, False]


def test_held_rows_are_those_of_unity(chain: Chain) -> None:
    fixed = np.zeros((NODES, K), dtype=bool)
    fixed[0], fixed[-1, 2] = True, True
    whole, rows = chain.held(fixed).dense(), fixed.ravel()
    assert (whole[:, rows][:, :, rows] == np.eye(K + 1)).all()
    assert (whole[:, rows][:, :, ~rows] == 0).all()
    free = np.ix_(range(CASES), ~rows, ~rows)
    assert (whole[free] == chain.dense()[free]).all()


def test_cholesky_is_of_the_symmetric_part(chain: Chain) -> None:
    stiff = chain.plus(50 * np.eye(K))
    whole, loads = stiff.dense()[1], np.arange(NODES * K, dtype=float)
    got = scipy.linalg.cho_solve_banded((stiff.cholesky(1), False), loads)
    assert got == pytest.approx(np.linalg.solve((whole + whole.T) / 2, loads), rel=1e-8)


def test_no_root_and_no_solution_are_said(chain: Chain) -> None:
    with pytest.raises(np.linalg.LinAlgError, match="not positive definite"):
        chain.plus(-50 * np.eye(K)).cholesky()
    nothing = Chain(np.zeros_like(chain.diagonal), np.zeros_like(chain.above))
    with pytest.raises(np.linalg.LinAlgError, match="singular"):
        nothing.solve(np.ones((CASES, NODES, K)))


def test_picked_cases_are_themselves(chain: Chain) -> None:
    which = np.array([False, True, True])
    assert (chain.pick(which).dense() == chain.dense()[which]).all()
