"""Matrices of a chain of nodes, each joined to the next: block tridiagonal, many cases at once.

A mast's tangent couples a node to its neighbours only: a narrow band, which LAPACK solves in a time
that grows with the nodes, where a dense solve grows with their cube. Cholesky's decomposition of the
same band tells whether a shape is stable.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lapack

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """Matrices of c cases at n nodes with k degrees of freedom each.

    diagonal (c, n, k, k); above (c, n - 1, k, k): node i's rows, node i + 1's columns. Below the
    diagonal stand the transposes: only a node's own block may be unsymmetric.
    """

    diagonal: FloatArray
    above: FloatArray

    @classmethod
    def of_elements(cls, blocks: FloatArray) -> Chain:
        """Sum of symmetric element matrices (c, n - 1, 2k, 2k)."""
        k = blocks.shape[-1] // 2
        diagonal = np.zeros((blocks.shape[0], blocks.shape[1] + 1, k, k))
        diagonal[:, :-1] += blocks[..., :k, :k]
        diagonal[:, 1:] += blocks[..., k:, k:]
        return cls(diagonal, blocks[..., :k, k:].copy())

    def plus(self, nodal: FloatArray) -> Chain:
        """With blocks (c, n, k, k) of the nodes themselves added."""
        return Chain(self.diagonal + nodal, self.above)

    def pick(self, which: NDArray[np.bool_]) -> Chain:
        """The chosen cases."""
        return Chain(self.diagonal[which], self.above[which])

    def held(self, fixed: NDArray[np.bool_], unit: FloatArray | None = None) -> Chain:
        """With the degrees of freedom fixed (n, k) held: their rows and columns those of unity.

        ``unit`` (n, k): what each is to be multiplied by on both sides, so that degrees of freedom of
        different size compare; by default nothing.
        """
        by = np.where(fixed, 0.0, 1.0 if unit is None else unit)
        diagonal = self.diagonal * by[:, :, None] * by[:, None, :]
        diagonal = diagonal + np.eye(by.shape[1]) * fixed[:, :, None]
        return Chain(diagonal, self.above * by[:-1, :, None] * by[1:, None, :])

    def solve(self, loads: FloatArray) -> FloatArray:
        """Solution (c, n, k) for loads (c, n, k).

        Raises: LinAlgError for a singular matrix.
        """
        c, n, k = loads.shape
        below = above = 2 * k - 1
        band = np.zeros((c, n, k, 2 * below + above + 1))
        middle = below + above
        for j in range(k):
            band[:, :, j, middle - j : middle - j + k] = self.diagonal[..., j]
            band[:, 1:, j, middle - j - k : middle - j] = self.above[..., j]
            band[:, :-1, j, middle - j + k : middle - j + 2 * k] = self.above[..., j, :]
        out = np.empty((c, n * k))
        for case, (matrix, load) in enumerate(zip(band, loads.reshape(c, -1), strict=True)):
            *_, out[case], info = lapack.dgbsv(
                below, above, matrix.reshape(n * k, -1).T, load, overwrite_ab=True
            )
            if info:
                raise np.linalg.LinAlgError("singular matrix")
        return out.reshape(c, n, k)

    def positive_definite(self) -> NDArray[np.bool_]:
        """Whether each case's symmetric part is positive definite (c,)."""
        # Scaled to unit diagonal: short elements and mixed dimensions would drown the signs in rounding.
        by = 1 / np.sqrt(np.maximum(np.abs(np.einsum("cnii->cni", self.diagonal)), 1e-300))
        diagonal = self.diagonal * by[..., :, None] * by[..., None, :]
        above = self.above * by[:, :-1, :, None] * by[:, 1:, None, :]
        return np.array([self._root(band)[1] for band in Chain(diagonal, above)._upper()], dtype=bool)

    def cholesky(self, case: int = 0) -> FloatArray:
        """Cholesky's root of one case's symmetric part, in LAPACK's upper banded storage (2k, n k).

        Raises: LinAlgError where it is not positive definite.
        """
        root, found = self._root(self.banded(case))
        if not found:
            raise np.linalg.LinAlgError("not positive definite")
        return root

    def banded(self, case: int = 0) -> FloatArray:
        """One case's symmetric part in LAPACK's upper banded storage (2k, n k)."""
        one = slice(case, case + 1)
        band: FloatArray = Chain(self.diagonal[one], self.above[one])._upper()[0]
        return band

    def _upper(self) -> FloatArray:
        """Symmetric parts in LAPACK's upper banded storage (c, 2k, n k), columns contiguous."""
        c, n, k = self.diagonal.shape[:3]
        symmetric = (self.diagonal + np.swapaxes(self.diagonal, -1, -2)) / 2
        band = np.zeros((c, n, k, 2 * k))
        for j in range(k):
            band[:, :, j, 2 * k - 1 - j :] = symmetric[..., : j + 1, j]
            band[:, 1:, j, k - 1 - j : 2 * k - 1 - j] = self.above[..., j]
        return np.swapaxes(band.reshape(c, n * k, 2 * k), -1, -2)

    @staticmethod
    def _root(band: FloatArray) -> tuple[FloatArray, bool]:
        """Cholesky's root of an upper banded matrix, and whether there is one."""
        root, info = lapack.dpbtrf(band)
        return root, info == 0

    def dense(self) -> FloatArray:
        """The full matrices (c, n k, n k)."""
        c, n, k = self.diagonal.shape[:3]
        out = np.zeros((c, n, k, n, k))
        own, first = np.arange(n), np.arange(n - 1)
        out[:, own, :, own, :] = np.swapaxes(self.diagonal, 0, 1)
        out[:, first, :, first + 1, :] = np.swapaxes(self.above, 0, 1)
        out[:, first + 1, :, first, :] = np.swapaxes(np.swapaxes(self.above, 0, 1), -1, -2)
        return out.reshape(c, n * k, n * k)
