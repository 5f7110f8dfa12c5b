"""The six-node triangles of a meshed section: shape functions, gradients, Gauss points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Nodes (n, 2) [m], six-node triangles (m, 6), region (m,), E and G (m,) [Pa]."""

    nodes: FloatArray
    triangles: IntArray
    region: IntArray
    E: FloatArray
    G: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Gauss:
    """At Gauss points: weights (m, q) [m²], x and y (m, q) [m], N (q, 6), B (m, q, 2, 6) [1/m]."""

    w: FloatArray
    x: FloatArray
    y: FloatArray
    N: FloatArray
    B: FloatArray


def shape_functions(L: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Shape functions (q, 6) and their derivatives by area coordinate (q, 3, 6) at L (q, 3)."""
    a, b, c = L.T
    zero = np.zeros_like(a)
    N = np.stack([a * (2 * a - 1), b * (2 * b - 1), c * (2 * c - 1), 4 * a * b, 4 * b * c, 4 * a * c], 1)
    D = np.stack(
        [
            np.stack([4 * a - 1, zero, zero, 4 * b, zero, 4 * c], 1),
            np.stack([zero, 4 * b - 1, zero, 4 * a, 4 * c, zero], 1),
            np.stack([zero, zero, 4 * c - 1, zero, 4 * b, 4 * a], 1),
        ],
        1,
    )
    return N, D


def gradients(mesh: Mesh, D: FloatArray) -> tuple[FloatArray, FloatArray]:
    """B (m, q, 2, 6) [1/m] and areas (m,) [m²]; the mesher's triangles have straight sides."""
    p = mesh.nodes[mesh.triangles[:, :3]]
    x, y = p[..., 0], p[..., 1]
    dy = np.roll(y, -1, axis=1) - np.roll(y, -2, axis=1)
    dx = np.roll(x, -2, axis=1) - np.roll(x, -1, axis=1)
    twice = np.sum(x * dy, axis=1)
    grad = np.stack([dy, dx], axis=1) / twice[:, None, None]
    return np.einsum("mia,qaj->mqij", grad, D), twice / 2


def gauss_points(mesh: Mesh) -> Gauss:
    """Six-point rule, exact to the fourth degree (Cowper 1973, from memory): warping squared."""
    g1, w1 = 0.445948490915965, 0.223381589678011
    g2, w2 = 0.091576213509771, 0.109951743655322
    L = np.array([np.roll([1 - 2 * g, g, g], k) for g in (g1, g2) for k in range(3)])
    N, D = shape_functions(L)
    B, area = gradients(mesh, D)
    xy = np.einsum("qj,mjk->mqk", N, mesh.nodes[mesh.triangles])
    w = area[:, None] * np.array([w1] * 3 + [w2] * 3)
    return Gauss(w=w, x=xy[..., 0], y=xy[..., 1], N=N, B=B)


def at_gauss(mesh: Mesh, gauss: Gauss, nodal: FloatArray) -> FloatArray:
    """Nodal values (n,) at the Gauss points (m, q)."""
    return np.asarray(nodal[mesh.triangles] @ gauss.N.T)
