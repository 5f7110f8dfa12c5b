"""Designs that no other design beats: lighter, stiffer or both, at the same length and rider."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

OBJECTIVES = ("mass_kg", "twist_deg", "side_mm", "drag_N")
"""What is to be small: names of an outcome's numbers; drag at the fastest speed."""

STAND_INS = {"twist_deg": "twist_deg_per_10Nm", "side_mm": "side_mm_per_100N"}
"""What takes an objective's place where no design has it (a mast file without load cases)."""

NOISE = {"twist_deg": 1e-4, "side_mm": 1e-4}
"""Movements below these are what arithmetic leaves, and count as none."""


def front(values: FloatArray, groups: NDArray[np.int64] | None = None) -> BoolArray:
    """Which rows are beaten by no other row of their group.

    One row beats another when no value of it is greater and one is less; equal rows do not beat each
    other. A row with a value that is no number is never on the front, and beats none.

    Args:
        values: (n, k), each to be small.
        groups: (n,) the group of each row; all one group when None.

    Returns: (n,).
    """
    out = np.zeros(len(values), dtype=bool)
    valid = np.flatnonzero(~np.isnan(values).any(axis=1))
    if groups is None:
        out[valid[_unbeaten(values[valid])]] = True
        return out
    order = valid[np.argsort(groups[valid], kind="stable")]
    starts = np.flatnonzero(np.diff(groups[order])) + 1
    for rows in np.split(order, starts):
        out[rows[_unbeaten(values[rows])]] = True
    return out


def _unbeaten(values: FloatArray) -> NDArray[np.int64]:
    """Places of the rows of one group that are not beaten, (m,).

    Rows are taken by the sum of their ranks, so that whatever beats a row comes before it; each drops
    what it beats at once. The work is the front's size times what is left, and most rows go early.
    """
    if not len(values):
        return np.zeros(0, dtype=np.int64)
    # Equal rows stand or fall together. They come out sorted, so that ties rank in the right order.
    distinct, inverse = np.unique(values, axis=0, return_inverse=True)
    inverse = np.asarray(inverse).ravel()
    ranks = np.argsort(np.argsort(distinct, axis=0, kind="stable"), axis=0, kind="stable")
    left = np.argsort(ranks.sum(axis=1), kind="stable")
    kept: list[int] = []
    while len(left):
        best = distinct[left[0]]
        kept.append(int(left[0]))
        rest = left[1:]
        left = rest[(distinct[rest] < best).any(axis=1)]
    on_front = np.zeros(len(distinct), dtype=bool)
    on_front[kept] = True
    return np.flatnonzero(on_front[inverse])
