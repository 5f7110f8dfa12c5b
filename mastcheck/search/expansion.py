"""Polynomial chaos: a polynomial fitted to samples, whose coefficients are the Sobol' indices.

Of independent inputs, uniform on (-1, 1) or standard normal, products of Legendre and Hermite
polynomials are orthogonal, so that each squared coefficient is a share of the variance (Sudret,
*Global sensitivity analysis using polynomial chaos expansions*, Reliability Engineering and System
Safety 93 (2008) 964-979, from memory; tests hold it to the closed form of the Ishigami function).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement
from math import factorial, sqrt

import numpy as np
from numpy.polynomial import hermite_e, legendre
from numpy.typing import NDArray

from mastcheck.scatter import Law

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

LEAST_PER_TERM = 2.0
"""Fewest samples for each coefficient of a fit."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Expansion:
    """A polynomial in k inputs: powers (t, k) of its terms and their coefficients (t,).

    ``error``: share of the variance that is missed when each sample is foretold from all others.
    """

    laws: tuple[Law, ...]
    powers: IntArray
    coefficients: FloatArray
    error: float

    def __call__(self, inputs: FloatArray) -> FloatArray:
        """Values (n,) at inputs (n, k)."""
        return np.asarray(_terms(inputs, self.laws, self.powers) @ self.coefficients)

    @property
    def variance(self) -> float:
        """Variance over the inputs."""
        return float((self.coefficients[self.powers.any(axis=1)] ** 2).sum())

    def first(self) -> FloatArray:
        """First-order Sobol' indices (k,): each input alone."""
        alone = (self.powers > 0).sum(axis=1) == 1
        return np.array([self._share(alone & (p > 0)) for p in self.powers.T])

    def total(self) -> FloatArray:
        """Total Sobol' indices (k,): each input, alone and with others."""
        return np.array([self._share(p > 0) for p in self.powers.T])

    def _share(self, which: NDArray[np.bool_]) -> float:
        return float((self.coefficients[which] ** 2).sum()) / self.variance


def powers_of(inputs: int, degree: int) -> IntArray:
    """Powers (t, k) of all terms up to a total degree, the constant first."""
    out = [
        [which.count(i) for i in range(inputs)]
        for d in range(degree + 1)
        for which in combinations_with_replacement(range(inputs), d)
    ]
    return np.array(out, dtype=np.int64).reshape(-1, inputs)


def fit(
    inputs: FloatArray, values: FloatArray, laws: Sequence[Law], *, degree: int = 2
) -> Expansion | None:
    """Least squares on samples; None where they are too few, or their values do not differ.

    Args:
        inputs: (n, k), uniform ones from -1 to 1, normal ones in standard deviations.
        values: (n,).
        laws: of the k inputs.
        degree: total degree of the polynomial.
    """
    powers = powers_of(inputs.shape[1], degree)
    spread = float(values.var())
    if len(values) < LEAST_PER_TERM * len(powers) or spread <= (1e-12 * abs(values.mean())) ** 2:
        return None
    terms = _terms(inputs, laws, powers)
    q, r = np.linalg.qr(terms)
    coefficients = np.linalg.solve(r, q.T @ values)
    left = values - terms @ coefficients
    # Left out, each sample is foretold with its residual over one minus its leverage.
    foretold = left / np.maximum(1 - (q**2).sum(axis=1), 1e-12)
    return Expansion(
        laws=tuple(laws),
        powers=powers,
        coefficients=coefficients,
        error=float((foretold**2).mean()) / spread,
    )


def _terms(inputs: FloatArray, laws: Sequence[Law], powers: IntArray) -> FloatArray:
    """Orthonormal terms (n, t) at inputs (n, k)."""
    out = np.ones((len(inputs), len(powers)))
    most = int(powers.max(initial=0))
    for i, law in enumerate(laws):
        if law is Law.UNIFORM:
            each = legendre.legvander(inputs[:, i], most) * np.sqrt(2 * np.arange(most + 1) + 1)
        else:
            size = [sqrt(factorial(d)) for d in range(most + 1)]
            each = hermite_e.hermevander(inputs[:, i], most) / np.array(size)
        out *= each[:, powers[:, i]]
    return out
