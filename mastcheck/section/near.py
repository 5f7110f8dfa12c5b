"""Pairs of points that nearly coincide."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def near_pairs(points: FloatArray, spacing: float) -> NDArray[np.int64]:
    """Pairs (k, 2) of indices, the lower first and in rising order, of points no further apart.

    Points in order of x are compared with the next, the next but one and so on, as long as any x is
    so near; along a contour that is soon over.

    Args:
        points: (n, 2) [m].
        spacing: greatest distance [m].
    """
    order = np.lexsort((points[:, 1], points[:, 0]))
    x, y = points[order, 0], points[order, 1]
    found = [np.empty((0, 2), dtype=np.int64)]
    for ahead in range(1, len(points)):
        dx = x[ahead:] - x[:-ahead]
        close = np.flatnonzero(dx <= spacing)
        if not len(close):
            break
        close = close[np.hypot(dx[close], y[close + ahead] - y[close]) <= spacing]
        found.append(np.sort(np.stack([order[close], order[close + ahead]], axis=1), axis=1))
    pairs = np.concatenate(found)
    return np.asarray(pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))])
