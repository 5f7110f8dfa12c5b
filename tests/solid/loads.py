"""Nodal forces of unit resultants on an end face, and what they do work on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tests.solid.mesh import Solid

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# Six-point rule of a triangle, exact to the fourth degree (Cowper 1973, from memory; the unit loads'
# resultants are tested). Tractions times quadratic shape functions are of the third.
_G = ((0.445948490915965, 0.223381589678011), (0.091576213509771, 0.109951743655322))
POINTS = np.array([np.roll([1 - 2 * g, g, g], k) for g, _ in _G for k in range(3)])
WEIGHTS = np.repeat([w for _, w in _G], 3)


def shapes(L: FloatArray) -> FloatArray:
    """(q, 6) shape functions at area coordinates (q, 3): corners, then edges 12, 23, 31."""
    a, b, c = L.T
    return np.stack(
        [a * (2 * a - 1), b * (2 * b - 1), c * (2 * c - 1), 4 * a * b, 4 * b * c, 4 * c * a], 1
    )


def face_points(solid: Solid, face: IntArray) -> tuple[FloatArray, FloatArray]:
    """Points (t, q, 2) [m] and weights (t, q) [m²] of a rule over an end face."""
    corner = solid.nodes[face[:, :3], :2]
    a, b = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
    return np.einsum("qk,tkx->tqx", POINTS, corner), area[:, None] * WEIGHTS


def nodal(solid: Solid, face: IntArray, traction: FloatArray) -> tuple[IntArray, FloatArray]:
    """Nodes (n,) of a face and their forces (n, 3, k) [N] from tractions (t, q, 3, k) [Pa]."""
    _, w = face_points(solid, face)
    each = np.einsum("tq,qi,tqxk->tixk", w, shapes(POINTS), traction)
    nodes, inverse = np.unique(face, return_inverse=True)
    out = np.zeros((len(nodes), *traction.shape[2:]))
    np.add.at(out, inverse.reshape(face.shape), each)
    return nodes, out


def unit_loads(solid: Solid, face: IntArray) -> tuple[IntArray, FloatArray]:
    """Nodes (n,) and nodal forces (n, 3, 6) of unit Fx, Fy, Fz, Mx, My, Mz at the stacking line.

    Each is Saint-Venant's own traction (axial stress linear over the face; shear by the warping and
    flexure functions, solved here on the face's triangles), so that the end is free: it warps and
    contracts as the blade behind it does, and a torque does no work on the contraction of bending.
    """
    p, w = face_points(solid, face)
    local = np.unique(face, return_inverse=True)[1].reshape(face.shape)
    x, y = p[..., 0], p[..., 1]
    one = np.stack([np.ones_like(x), y, -x], axis=-1)
    # Axial traction linear in (1, y, -x), of resultants N, Mx, My.
    linear = one @ np.linalg.inv(np.einsum("tq,tqi,tqj->ij", w, one, one))
    B = _gradients(solid.nodes[face[:, :3], :2])
    turn = np.stack([-y, x], axis=-1)
    torsion = np.einsum("tq,tqxi,tqx->ti", w, B, -turn)
    # Growth of the axial stress along z by a unit Vx (dMy/dz = -Vx) and Vy (dMx/dz = Vy).
    growth = np.stack([-linear[..., 2], linear[..., 1]], axis=-1)
    flexure = np.einsum("tq,qi,tqk->tik", w, shapes(POINTS), growth)
    potential = _solve(w, B, local, np.concatenate([torsion[..., None], flexure], axis=2))
    slope = np.einsum("tqxi,tik->tqxk", B, potential[local])
    slope[..., 0] += turn
    torque = np.einsum("tq,tqk->k", w, x[..., None] * slope[:, :, 1] - y[..., None] * slope[:, :, 0])
    twist = slope[..., :1] / torque[0]
    across = slope[..., 1:] - twist * torque[1:]
    t = np.zeros((*x.shape, 3, 6))
    t[..., :2, :2], t[..., 2, 2:5], t[..., :2, 5] = across, linear, twist[..., 0]
    found, forces = nodal(solid, face, t)
    return found, forces


def _gradients(corner: FloatArray) -> FloatArray:
    """(t, q, 2, 6) gradients of the shape functions at the rule's points; straight-sided triangles."""
    x, y = corner[..., 0], corner[..., 1]
    dy = np.roll(y, -1, axis=1) - np.roll(y, -2, axis=1)
    dx = np.roll(x, -2, axis=1) - np.roll(x, -1, axis=1)
    grad = np.stack([dy, dx], axis=1) / np.sum(x * dy, axis=1)[:, None, None]
    slopes = []
    for a, b, c in POINTS:
        slopes.append(
            [
                [4 * a - 1, 0, 0, 4 * b, 0, 4 * c],
                [0, 4 * b - 1, 0, 4 * a, 4 * c, 0],
                [0, 0, 4 * c - 1, 0, 4 * b, 4 * a],
            ]
        )
    return np.asarray(np.einsum("txk,qki->tqxi", grad, np.array(slopes)))


def _solve(w: FloatArray, B: FloatArray, local: IntArray, load: FloatArray) -> FloatArray:
    """(n, k) potentials of Poisson's equation with free edges; the first node is held."""
    n = int(local.max()) + 1
    k = np.zeros((n, n))
    f = np.zeros((n, load.shape[2]))
    for nodes, block, part in zip(local, np.einsum("tq,tqxi,tqxj->tij", w, B, B), load, strict=True):
        k[np.ix_(nodes, nodes)] += block
        f[nodes] += part
    out = np.zeros_like(f)
    out[1:] = np.linalg.solve(k[1:, 1:], f[1:])
    return out


def resultants(solid: Solid, nodes: IntArray, forces: FloatArray) -> FloatArray:
    """(6, k) sums Fx, Fy, Fz, Mx, My, Mz about the face's stacking-line point of forces (n, 3, k)."""
    arm = solid.nodes[nodes] * (1.0, 1.0, 0.0)
    total = forces.sum(axis=0)
    moment = np.cross(arm[:, None, :], np.swapaxes(forces, 1, 2)).sum(axis=0).T
    return np.concatenate([total, moment])
