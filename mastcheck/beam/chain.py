"""Matrices of a chain of nodes, each joined to the next: block tridiagonal, many cases at once.

A mast's tangent couples a node to its neighbours only. Eliminating node by node from the base costs a
loop over nodes of small solves, all cases in one, where a dense solve grows with the cube of the
nodes. The pivots of that elimination have as many negative eigenvalues, counted over all nodes, as the
matrix itself (Haynsworth's inertia additivity): so it also tells whether a shape is stable.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
        """Solution (c, n, k) for loads (c, n, k)."""
        out = loads.copy()
        n = self.diagonal.shape[1]
        carried = np.empty_like(self.above)
        pivot = self.diagonal[:, 0]
        for i in range(n - 1):
            right = np.concatenate([self.above[:, i], out[:, i, :, None]], axis=-1)
            solved = np.linalg.solve(pivot, right)
            carried[:, i], out[:, i] = solved[..., :-1], solved[..., -1]
            below = np.swapaxes(self.above[:, i], -1, -2)
            pivot = self.diagonal[:, i + 1] - below @ carried[:, i]
            out[:, i + 1] -= (below @ out[:, i, :, None])[..., 0]
        out[:, -1] = np.linalg.solve(pivot, out[:, -1, :, None])[..., 0]
        for i in range(n - 2, -1, -1):
            out[:, i] -= (carried[:, i] @ out[:, i + 1, :, None])[..., 0]
        return out

    def positive_definite(self) -> NDArray[np.bool_]:
        """Whether each case's symmetric part is positive definite (c,)."""
        # Scaled to unit diagonal: short elements and mixed dimensions would drown the signs in rounding.
        by = 1 / np.sqrt(np.maximum(np.abs(np.einsum("cnii->cni", self.diagonal)), 1e-300))
        symmetric = (self.diagonal + np.swapaxes(self.diagonal, -1, -2)) / 2
        symmetric = symmetric * by[..., :, None] * by[..., None, :]
        above = self.above * by[:, :-1, :, None] * by[:, 1:, None, :]
        out = np.ones(len(symmetric), dtype=bool)
        pivot = symmetric[:, 0]
        for i in range(symmetric.shape[1]):
            values, vectors = np.linalg.eigh(pivot)
            out &= values[:, 0] > 0
            if i == symmetric.shape[1] - 1:
                break
            # Past a pivot that is not positive the answer stands; go on with unity, for the others.
            safe = np.where(out[:, None], values, 1.0)
            root = np.swapaxes(vectors, -1, -2) @ above[:, i] / np.sqrt(safe)[:, :, None]
            pivot = symmetric[:, i + 1] - np.swapaxes(root, -1, -2) @ root
            pivot = np.where(out[:, None, None], pivot, np.eye(pivot.shape[-1]))
        return out

    def banded(self, case: int = 0) -> FloatArray:
        """One case's symmetric part in LAPACK's upper banded storage (2k, n k)."""
        n, k = self.diagonal.shape[1:3]
        out = np.zeros((2 * k, n * k))
        for i in range(k):
            for j in range(k):
                if j >= i:
                    both = self.diagonal[case, :, i, j] + self.diagonal[case, :, j, i]
                    out[2 * k - 1 + i - j, j::k] = both / 2
                out[k - 1 + i - j, k + j :: k] = self.above[case, :, i, j]
        return out

    def dense(self) -> FloatArray:
        """The full matrices (c, n k, n k)."""
        c, n, k = self.diagonal.shape[:3]
        out = np.zeros((c, n, k, n, k))
        own, first = np.arange(n), np.arange(n - 1)
        out[:, own, :, own, :] = np.swapaxes(self.diagonal, 0, 1)
        out[:, first, :, first + 1, :] = np.swapaxes(self.above, 0, 1)
        out[:, first + 1, :, first, :] = np.swapaxes(np.swapaxes(self.above, 0, 1), -1, -2)
        return out.reshape(c, n * k, n * k)
