"""Which designs none other beats, against trying every pair."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from mastcheck.search.front import front

_FEW = st.sampled_from([0.0, 1.0, 2.0, 3.0, float("nan")])
_MANY = st.floats(-1e3, 1e3)
_ROWS = st.integers(1, 4).flatmap(
    lambda k: st.lists(st.lists(st.one_of(_FEW, _MANY), min_size=k, max_size=k), max_size=40)
)


def by_every_pair(values: np.ndarray, groups: np.ndarray) -> list[bool]:
    """The definition itself."""

    def beats(a: int, b: int) -> bool:
        return bool(
            groups[a] == groups[b] and (values[a] <= values[b]).all() and (values[a] < values[b]).any()
        )

    valid = ~np.isnan(values).any(axis=1)
    n = range(len(values))
    return [bool(valid[b]) and not any(valid[a] and beats(a, b) for a in n) for b in n]


@given(_ROWS, st.integers(1, 3))
def test_front_is_what_trying_every_pair_gives(rows: list[list[float]], count: int) -> None:
    values = np.array(rows, dtype=float) if rows else np.zeros((0, 3))
    groups = np.arange(len(rows)) % count
    assert front(values, groups).tolist() == by_every_pair(values, groups)
    one = np.zeros(len(rows), dtype=np.int64)
    assert front(values).tolist() == by_every_pair(values, one)


def test_equal_designs_stand_together_and_a_missing_number_never_stands() -> None:
    values = np.array([[1.0, 2.0], [1.0, 2.0], [0.0, np.nan], [1.0, 3.0]])
    assert front(values).tolist() == [True, True, False, False]


def test_a_large_front_in_reasonable_time() -> None:
    """A hundred thousand designs, three numbers each; spot checks by definition."""
    rng = np.random.default_rng(1)
    values = rng.random((100_000, 3))
    on = front(values)
    kept = values[on]
    for i in rng.integers(0, len(values), 200):
        beaten = ((kept <= values[i]).all(axis=1) & (kept < values[i]).any(axis=1)).any()
        assert beaten != on[i]
