"""The six-node triangles of a meshed section: shape functions, gradients, Gauss points.

The mesher's triangles have straight sides, so a triangle's area coordinates have constant gradients,
and everything is a product of these with tables of the one reference triangle: plain matrix products
over all triangles at once.
"""

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
    """At the six Gauss points of each triangle: weights w (m, q) [m²], places x and y (m, q) [m].

    ``by_x`` and ``by_y`` (m, 3) [1/m]: gradients of the area coordinates.
    """

    w: FloatArray
    x: FloatArray
    y: FloatArray
    by_x: FloatArray
    by_y: FloatArray


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


_A, _B = 0.445948490915965, 0.091576213509771
GAUSS = np.array([np.roll([1 - 2 * g, g, g], k) for g in (_A, _B) for k in range(3)])
"""Area coordinates (6, 3) of the six-point rule, exact to degree four (Cowper 1973, from memory)."""

GAUSS_WEIGHTS = np.array([0.223381589678011] * 3 + [0.109951743655322] * 3)
"""Its weights (6,), shares of the triangle's area."""

NODES = np.array([[1, 0, 0], [0, 1, 0], [0, 0, 1], [0.5, 0.5, 0], [0, 0.5, 0.5], [0.5, 0, 0.5]])
"""Area coordinates (6, 3) of a triangle's nodes."""

N, D = shape_functions(GAUSS)
"""Shape functions (q, 6) at the Gauss points, and their derivatives by area coordinate (q, 3, 6)."""


def gauss_points(mesh: Mesh) -> Gauss:
    """Gauss points of a mesh: the rule is exact for warping squared."""
    p = mesh.nodes[mesh.triangles[:, :3]]
    x, y = p[..., 0], p[..., 1]
    by_x = y[:, [1, 2, 0]] - y[:, [2, 0, 1]]
    by_y = x[:, [2, 0, 1]] - x[:, [1, 2, 0]]
    twice = np.sum(x * by_x, axis=1)
    return Gauss(
        w=np.outer(twice / 2, GAUSS_WEIGHTS),
        x=x @ GAUSS.T,
        y=y @ GAUSS.T,
        by_x=by_x / twice[:, None],
        by_y=by_y / twice[:, None],
    )


def at_gauss(mesh: Mesh, nodal: FloatArray) -> FloatArray:
    """Nodal values (n,) at the Gauss points (m, q)."""
    return np.asarray(nodal[mesh.triangles] @ N.T)


def slopes(
    mesh: Mesh, gauss: Gauss, nodal: FloatArray, table: FloatArray = D
) -> tuple[FloatArray, FloatArray]:
    """Slopes by x and by y, (k, m, q) each, of nodal values (n, k).

    Args:
        mesh: the mesh.
        gauss: its Gauss points.
        nodal: values at the nodes.
        table: derivatives (q, 3, 6) by area coordinate at q places of the reference triangle.
    """
    m, q = len(mesh.triangles), len(table)
    flat = np.ascontiguousarray(table.transpose(2, 1, 0)).reshape(6, 3 * q)
    by_area = (nodal.T[:, mesh.triangles].reshape(-1, 6) @ flat).reshape(-1, m, 3, q)
    a, b, c = by_area[:, :, 0], by_area[:, :, 1], by_area[:, :, 2]
    along = [g[:, :1] * a + g[:, 1:2] * b + g[:, 2:] * c for g in (gauss.by_x, gauss.by_y)]
    return along[0], along[1]
