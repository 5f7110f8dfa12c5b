"""The bounds of the fatigue rules: names of categories, defaults, and what bears no range."""

from __future__ import annotations

import numpy as np
import pytest

from mastcheck.source import Grade, Source
from mastcheck.strength.fatigue import GAMMA, KNEE, REFERENCE, DetailCurve, category, damage, used

TEST = Source(title="invented for a test", grade=Grade.ASSUMED)


def curve(gamma: float = 1.0) -> DetailCurve:
    return DetailCurve(name="71-3.4", delta_sigma_c=71e6, m1=3.4, m2=5.4, gamma=gamma, source=TEST)


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("71-3.4", (71e6, 3.4)),
        ("71-3,4", (71e6, 3.4)),
        (" 45-4.3 ", (45e6, 4.3)),
        # Both bounds of both numbers are themselves names.
        ("10-3", (10e6, 3.0)),
        ("200-12", (200e6, 12.0)),
        ("9.9-3.4", None),
        ("200.1-3.4", None),
        ("71-2.9", None),
        ("71-12.1", None),
        ("71", None),
        ("71-3.44", None),
        ("-71-3.4", None),
    ],
)
def test_names_of_categories(name: str, found: tuple[float, float] | None) -> None:
    assert category(name) == found


def test_the_factor_where_none_is_stated_is_that_of_a_part_whose_loss_is_grave() -> None:
    # EN 1993-1-9 Table 3.1, safe life, high consequence of failure, from memory.
    assert GAMMA == 1.35


def test_a_curve_of_ones_own_is_not_for_aluminium_alone() -> None:
    assert not curve().aluminium_only
    assert curve().material == ""


@pytest.mark.parametrize("cycles", [1e4, REFERENCE, KNEE * 0.999, KNEE, KNEE * 1.001, 1e8])
def test_the_curve_and_its_inverse_agree_on_both_slopes(cycles: float) -> None:
    for gamma in (1.0, 1.35):
        at = curve(gamma).range_at(cycles)
        assert float(curve(gamma).cycles(np.array(at))) == pytest.approx(cycles, rel=1e-9)
        assert at == pytest.approx(curve().range_at(cycles) / gamma)
    assert curve().range_at(REFERENCE) == pytest.approx(71e6)


def test_no_range_uses_nothing_and_lasts_for_ever() -> None:
    assert used(curve(), np.zeros(3), np.full(3, 1e6)) == 0.0
    assert np.isinf(curve().cycles(np.zeros(2))).all()
    assert damage(curve(), np.zeros((2, 1)), np.full(2, 1e9)).tolist() == [0.0]


def test_a_case_without_range_changes_nothing_beside_one_that_has() -> None:
    alone = used(curve(), np.array([40e6]), np.array([1e6]))
    beside = used(curve(), np.array([0.0, 40e6, 0.0]), np.array([1e9, 1e6, 1e9]))
    assert beside == pytest.approx(alone)
    assert alone == pytest.approx(40e6 / curve().range_at(1e6))


def test_used_is_one_where_the_damages_sum_to_one() -> None:
    ranges, cycles = np.array([60e6, 30e6, 20e6]), np.array([1e5, 2e6, 2e7])
    size = 1 / used(curve(), ranges, cycles)
    assert damage(curve(), size * ranges[:, None], cycles)[0] == pytest.approx(1.0, rel=1e-6)
    assert size > 0
