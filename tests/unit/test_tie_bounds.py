"""Where two values are the same: a billionth of the one that was there, at every size and at nil."""

from __future__ import annotations

import math

import numpy as np
import pytest

from mastcheck.ties import exceeds, greatest


@pytest.mark.parametrize("size", [1e-6, 0.5, 1.0, 3.0, 1e9, -2.0])
def test_more_than_a_billionth_exceeds_at_every_size(size: float) -> None:
    near, far = 0.5e-9 * abs(size), 2e-9 * abs(size)
    assert exceeds(size + far, size)
    assert not exceeds(size + near, size)
    assert not exceeds(size, size)
    assert not exceeds(size - far, size)


def test_anything_above_nil_exceeds_it() -> None:
    assert exceeds(1e-12, 0.0)
    assert not exceeds(0.0, 0.0)
    assert exceeds(0.0, -1e-12)
    assert exceeds(0.0, -math.inf)


def test_nil_may_be_the_greatest() -> None:
    assert greatest(np.array([-1.0, 0.0, 0.0])) == 1
    assert greatest(np.array([-1.0, -1e-12, -2.0])) == 1
