"""Weighted linear least squares with lower bounds: the one core of every bench fit.

The reading of a bench is linear in compliances, so nothing has to be iterated. Columns are scaled to
unit length before the singular value decomposition; bounds are kept by ``scipy.optimize.lsq_linear``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

RANK = 1e-10
"""Singular values of the scaled columns below this share of the largest count as nil."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LeastSquares:
    """Solution of n weighted equations in p unknowns.

    x (p,); covariance (p, p) for weights taken as exact: multiply by ``variance`` where they are only
    relative; residual (n,) measured less fitted, unweighted; leverage (n,); singular (p,) values of
    the weighted columns, each scaled to unit length; bound (p,): held at its lower bound.
    """

    x: FloatArray
    covariance: FloatArray
    residual: FloatArray
    leverage: FloatArray
    singular: FloatArray
    bound: NDArray[np.bool_]
    weighted: FloatArray

    @property
    def dof(self) -> int:
        """Degrees of freedom, n - p."""
        return len(self.residual) - len(self.x)

    @property
    def variance(self) -> float:
        """Weighted residual variance; NaN without degrees of freedom."""
        return float(self.weighted @ self.weighted) / self.dof if self.dof > 0 else float("nan")

    @property
    def errors(self) -> FloatArray:
        """Standard errors (p,), weights taken as exact."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))


def solve(
    a: FloatArray, b: FloatArray, sigma: FloatArray, lower: FloatArray | None = None
) -> LeastSquares:
    """Least squares of (a x - b) / sigma, x at or above ``lower``.

    Args:
        a: (n, p) columns, n at least p.
        b: (n,) measured.
        sigma: (n,) standard errors of b.
        lower: (p,) bounds, -inf where there is none.

    The covariance is that of the free problem, so that a bound does not make an error small.

    Raises: ValueError when the columns are linearly dependent (nothing would tell them apart).

    >>> fit = solve(np.array([[1.0, 0], [1, 1], [1, 2]]), np.array([1.0, 3, 5]), np.ones(3))
    >>> [round(float(v), 12) for v in fit.x]
    [1.0, 2.0]
    """
    n, p = a.shape
    aw, bw = a / sigma[:, None], b / sigma
    size = np.linalg.norm(aw, axis=0)
    if n < p or (p and size.min() == 0):
        raise ValueError("not enough readings for the unknowns")
    q, r = np.linalg.qr(aw / np.where(size > 0, size, 1.0))
    singular = np.linalg.svd(r, compute_uv=False)
    if p and singular[-1] < RANK * singular[0]:
        raise ValueError("the columns are linearly dependent")
    scaled = np.linalg.solve(r, q.T @ bw)
    # One step of refinement: columns as alike as those of a polynomial lose digits otherwise.
    scaled += np.linalg.solve(r, q.T @ (bw - (aw / size) @ scaled)) if p else 0.0
    inverse = np.linalg.inv(r)
    covariance = (inverse @ inverse.T) / np.outer(size, size)
    x, bound = scaled / size, np.zeros(p, dtype=bool)
    if lower is not None and (x < lower).any():
        from scipy.optimize import lsq_linear

        found = lsq_linear(aw / size, bw, bounds=(lower * size, np.inf), method="bvls")
        x, bound = np.asarray(found.x) / size, np.asarray(found.active_mask) < 0
    residual = b - a @ x
    return LeastSquares(
        x=x,
        covariance=covariance,
        residual=residual,
        leverage=np.einsum("ij,ij->i", q, q),
        singular=singular,
        bound=bound,
        weighted=residual / sigma,
    )


def studentised(fit: LeastSquares) -> FloatArray:
    """Externally studentised residuals (n,): each against the scatter of all the others.

    Source: Cook and Weisberg, Residuals and Influence in Regression, 1982, ch. 2 (from memory).
    A reading that alone fixes an unknown (leverage 1) says nothing about itself: 0.
    """
    room = np.maximum(1 - fit.leverage, 0.0)
    square = float(fit.weighted @ fit.weighted)
    if fit.dof < 2:
        return np.zeros_like(fit.weighted)
    safe = np.where(room > 1e-9, room, 1.0)
    others = np.maximum(square - fit.weighted**2 / safe, 1e-300 + 1e-24 * square) / (fit.dof - 1)
    return np.asarray(np.where(room > 1e-9, fit.weighted / np.sqrt(others * safe), 0.0))
