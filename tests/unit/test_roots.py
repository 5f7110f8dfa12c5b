"""Roots against scipy's (Brent), an independent method."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from mastcheck.roots import root

CURVES = {
    "cubic": (lambda x: x**3 - 2 * x - 5, 2.0, 3.0),
    "steep": (lambda x: math.exp(20 * x) - 3, 0.0, 1.0),
    "kinked": (lambda x: x - 0.2 if x < 0.5 else 4 * x - 1.7, 0.0, 1.0),
    "root at an end": (lambda x: x, 0.0, 1.0),
    "falling": (lambda x: 1 / x - 7, 0.01, 1.0),
}


@pytest.mark.parametrize("name", CURVES)
def test_a_root_is_scipy_s(name: str) -> None:
    f, a, b = CURVES[name]
    assert root(f, a, b) == pytest.approx(brentq(f, a, b, xtol=1e-15, rtol=1e-15), abs=1e-15, rel=1e-14)


def test_a_flat_root_is_found_as_well_as_may_be() -> None:
    # Brent's method gives up here; of a cube's root rounding hides the last two thirds of the digits.
    assert root(lambda x: (x - 0.3) ** 3, 0.0, 1.0) == pytest.approx(0.3, abs=1e-5)


@settings(derandomize=True, deadline=None)
@given(at=st.floats(0.01, 0.99), power=st.floats(0.3, 3.0))
def test_few_evaluations_find_it(at: float, power: float) -> None:
    count = 0

    def f(x: float) -> float:
        nonlocal count
        count += 1
        return x**power - at**power

    assert root(f, 0.0, 1.0) == pytest.approx(at, rel=1e-13)
    assert count <= 60


def test_a_search_cut_short_ends_at_the_nearest_it_has_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: dict[float, float] = {}

    def f(x: float) -> float:
        seen[x] = x**3 - 2 * x - 5
        return seen[x]

    monkeypatch.setattr("mastcheck.roots.MOST", 3)
    found = root(f, 2.0, 3.0)
    assert len(seen) == 5
    assert abs(seen[found]) == min(map(abs, seen.values()))
    assert found != pytest.approx(brentq(f, 2.0, 3.0), rel=1e-9)


def test_no_change_of_sign_is_told() -> None:
    with pytest.raises(ValueError, match="no change of sign"):
        root(lambda x: x * x + 1, -1.0, 1.0)
