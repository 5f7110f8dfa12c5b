"""Which of equal places is named."""

from __future__ import annotations

import math

import numpy as np
import pytest

from mastcheck.ties import exceeds, greatest


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([1.0, 2.0, 2.0 + 4e-16], 1),
        ([2.0, 2.0 + 1e-8], 1),  # more than rounding
        ([-3.0, -3.0 + 1e-13, -4.0], 0),
        ([0.0, 0.0], 0),
        ([1.0, math.inf, math.inf], 1),
        ([1.0, math.nan, 3.0], 1),  # as argmax has it: no number is not passed over
    ],
)
def test_first_of_the_greatest(values: list[float], expected: int) -> None:
    assert greatest(np.array(values)) == expected


def test_an_end_less_value_exceeds_and_is_not_exceeded() -> None:
    assert exceeds(math.inf, 1.0)
    assert not exceeds(math.inf, math.inf)
    assert not exceeds(1.0, math.inf)
    assert not exceeds(1.0 + 1e-12, 1.0)


def test_nothing_has_no_greatest() -> None:
    with pytest.raises(ValueError, match="empty"):
        greatest(np.array([]))
