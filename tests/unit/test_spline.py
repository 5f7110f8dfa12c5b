"""The spline against scipy's, which is written by others."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import interpolate

from mastcheck.beam.spline import CubicSpline


@pytest.mark.parametrize("columns", [(), (3,)])
@settings(derandomize=True, deadline=None)
@given(
    steps=st.lists(st.floats(0.05, 1.0), min_size=1, max_size=20),
    seed=st.integers(0, 1000),
)
def test_the_curve_is_scipy_s(columns: tuple[int, ...], steps: list[float], seed: int) -> None:
    x = np.concatenate([[0.0], np.cumsum(steps)])
    y = np.random.default_rng(seed).normal(size=(len(x), *columns))
    at = np.concatenate([x, np.linspace(-0.02, x[-1] + 0.02, 41)])  # the ends' cubics go on beyond them
    wanted = interpolate.CubicSpline(x, y)(at)
    scale = np.abs(wanted).max()
    np.testing.assert_allclose(CubicSpline(x, y)(at), wanted, rtol=0, atol=1e-12 * scale)


def test_a_cubic_is_itself() -> None:
    x = np.array([0.0, 0.3, 0.4, 0.9, 1.0])
    at = np.linspace(-0.1, 1.1, 30)
    np.testing.assert_allclose(
        CubicSpline(x, 2 * x**3 - x**2 + 0.5)(at), 2 * at**3 - at**2 + 0.5, rtol=1e-12, atol=1e-13
    )


@pytest.mark.parametrize("x", [[0.0], [0.0, 1.0, 1.0], [1.0, 0.0]])
def test_places_must_rise(x: list[float]) -> None:
    with pytest.raises(ValueError, match="rising places"):
        CubicSpline(np.array(x), np.zeros(len(x)))
