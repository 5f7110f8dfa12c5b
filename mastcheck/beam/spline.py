"""A cubic spline through a few points, without the time that ``scipy.interpolate`` takes to import."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


class CubicSpline:
    """Cubic spline by places and values, without a knot at the second place and the last but one.

    Two points give a line, three a parabola. Beyond the ends the outer cubics go on. The same curve as
    ``scipy.interpolate.CubicSpline`` gives (the tests compare them). Slopes at the places solve the
    usual tridiagonal equations (C. de Boor, A Practical Guide to Splines, 1978, chapter IV, from
    memory).

    Args:
        x: places (n,), rising, n at least 2.
        y: values (n, ...) at them.
    """

    def __init__(self, x: FloatArray, y: FloatArray) -> None:
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        h = np.diff(x)
        if len(x) < 2 or len(x) != len(y) or not (h > 0).all():
            raise ValueError("a spline wants two or more rising places, each with a value")
        long = h.reshape(-1, *(1,) * (y.ndim - 1))
        chord = np.diff(y, axis=0) / long
        slope = _slopes(h, long, chord)
        bend = (slope[:-1] + slope[1:] - 2 * chord) / long
        self._x = x
        self._cubics = (bend / long, (chord - slope[:-1]) / long - bend, slope[:-1], y[:-1])

    def __call__(self, at: FloatArray) -> FloatArray:
        """Values (m, ...) at places (m,)."""
        at = np.asarray(at, dtype=float)
        part = np.clip(np.searchsorted(self._x, at, side="right") - 1, 0, len(self._x) - 2)
        a, b, c, d = (k[part] for k in self._cubics)
        s = (at - self._x[part]).reshape(at.shape + (1,) * (d.ndim - at.ndim))
        out: FloatArray = ((a * s + b) * s + c) * s + d
        return out


def _slopes(h: FloatArray, long: FloatArray, chord: FloatArray) -> FloatArray:
    """Slopes (n, ...) at the points, from steps ``h`` (n - 1,) and the slopes of the chords."""
    n = len(h) + 1
    if n == 2:
        return np.concatenate([chord, chord])
    if n == 3:  # one parabola
        middle = (chord[0] * h[1] + chord[1] * h[0]) / (h[0] + h[1])
        return np.stack([2 * chord[0] - middle, middle, 2 * chord[1] - middle])
    k = np.zeros((n, n))
    f = np.empty((n, *chord.shape[1:]))
    inner = np.arange(1, n - 1)
    k[inner, inner - 1], k[inner, inner], k[inner, inner + 1] = h[1:], 2 * (h[:-1] + h[1:]), h[:-1]
    f[1:-1] = 3 * (long[1:] * chord[:-1] + long[:-1] * chord[1:])
    for end, one, two in ((0, 0, 1), (-1, -1, -2)):  # third derivative unbroken at the second point
        both = h[one] + h[two]
        k[end, end], k[end, 1 if end == 0 else -2] = h[two], both
        f[end] = ((h[one] + 2 * both) * h[two] * chord[one] + h[one] ** 2 * chord[two]) / both
    found = np.linalg.solve(k, f.reshape(n, -1))
    return np.asarray(found, dtype=np.float64).reshape(f.shape)
