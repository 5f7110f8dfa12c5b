"""The fast kernel: a meshed section solved with one factored matrix, and its unit stress fields.

Torsion and both shear functions have one matrix, G-weighted; the load of the shear flow is the
E-weighted bending stress, which no single weighting gives, and its moment is then Trefftz's shear
centre, exactly. All that extension and bending need is integrated over the same triangles with E.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mastcheck.section.elements import (
    GAUSS_WEIGHTS,
    NODES,
    D,
    FloatArray,
    Gauss,
    IntArray,
    Mesh,
    N,
    at_gauss,
    gauss_points,
    shape_functions,
    slopes,
)
from mastcheck.section.factor import factored
from mastcheck.section.model import ACTIONS, StressBasis


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Solution:
    """A solved mesh.

    ``S`` (3, 3): stiffness of (e0, κx, κy) against (N, Mx, My) about the ``centroid`` (2,) [m].
    ``omega`` (n,) [m²]: warping function about the ``pole`` (2,) [m]; ``w_s`` (n,) [m²]: about the
    ``shear_centre`` (2,) [m]. ``flow`` (n, 2) [m/N]: potentials of the shear flow under unit Vx and
    Vy, tau = G grad(flow). ``flex`` (2, 2) [1/N]: shear flexibility. GJ [N·m²], EGamma [N·m⁴].
    """

    mesh: Mesh
    gauss: Gauss
    S: FloatArray
    centroid: FloatArray
    omega: FloatArray
    pole: FloatArray
    w_s: FloatArray
    shear_centre: FloatArray
    flow: FloatArray
    flex: FloatArray
    GJ: float
    EGamma: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Torsion:
    """A warping function (n,) [m²], the pole it is about (2,) [m], and GJ [N·m²]."""

    omega: FloatArray
    pole: FloatArray
    GJ: float


def solve_mesh(mesh: Mesh, torsion: Torsion | None = None) -> Solution:
    """Stiffness, warping and shear flow of a meshed section.

    Args:
        mesh: its mesh.
        torsion: what another solver found for torsion, to be taken in place of our own.
    """
    gauss = gauss_points(mesh)
    weight = gauss.w * mesh.E[:, None]
    centroid, S = _bending(gauss, weight)
    area = gauss.w.sum()
    pole = np.array([np.vdot(gauss.w, gauss.x), np.vdot(gauss.w, gauss.y)]) / area
    twisting, energy = _torsion_load(mesh, gauss, pole)
    load = np.column_stack([twisting, _shear_load(mesh, gauss, centroid, S)])
    found = factored(mesh.nodes, mesh.triangles, _stiffness(mesh, gauss))(load)
    if torsion is None:
        torsion = Torsion(omega=found[:, 0], pole=pole, GJ=float(energy - twisting @ found[:, 0]))
    flow = found[:, 1:]
    flex = load[:, 1:].T @ flow  # ∫ G grad·grad, by the equation that the flow solves
    w_s, shear_centre = _warping(mesh, gauss, weight, torsion)
    return Solution(
        mesh=mesh,
        gauss=gauss,
        S=S,
        centroid=centroid,
        omega=torsion.omega,
        pole=torsion.pole,
        w_s=w_s,
        shear_centre=shear_centre,
        flow=flow,
        flex=(flex + flex.T) / 2,
        GJ=torsion.GJ,
        EGamma=float(np.vdot(weight, at_gauss(mesh, w_s) ** 2)),
    )


def _bending(gauss: Gauss, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Centroid (2,) [m] and stiffness (3, 3) of (e0, kx, ky) against (N, Mx, My) about it."""
    centroid = np.array([np.vdot(weight, gauss.x), np.vdot(weight, gauss.y)]) / weight.sum()
    shape = np.stack(
        [np.ones(weight.size), (gauss.y - centroid[1]).ravel(), (centroid[0] - gauss.x).ravel()]
    )
    return centroid, (shape * weight.ravel()) @ shape.T


def _stiffness(mesh: Mesh, gauss: Gauss) -> FloatArray:
    """∫ G ∇N_i·∇N_j over each triangle, (m, 6, 6)."""
    scale = (gauss.w.sum(axis=1) * mesh.G)[:, None, None]
    by_x, by_y = gauss.by_x, gauss.by_y
    dots = scale * (by_x[:, :, None] * by_x[:, None] + by_y[:, :, None] * by_y[:, None])
    return np.asarray((dots.reshape(-1, 9) @ _REFERENCE).reshape(-1, 6, 6))


_REFERENCE = np.einsum("q,qai,qbj->abij", GAUSS_WEIGHTS, D, D).reshape(9, 36)
"""∫ ∂N_i/∂L_a ∂N_j/∂L_b over a triangle of unit area."""


def _torsion_load(mesh: Mesh, gauss: Gauss, pole: FloatArray) -> tuple[FloatArray, float]:
    """Load (n,) that the twist of rigid sections lays on warping, and the energy it has without.

    The strain of a unit twist rate is ∇ω + (-(y - yp), x - xp); ω makes its energy least.
    """
    weight = gauss.w * mesh.G[:, None]
    sx, sy = gauss.y - pole[1], pole[0] - gauss.x
    each = np.zeros((len(weight), 6))
    for spin, by in ((sx, gauss.by_x), (sy, gauss.by_y)):
        table = ((weight * spin) @ D.reshape(len(D), 18)).reshape(-1, 3, 6)
        each += by[:, :1] * table[:, 0] + by[:, 1:2] * table[:, 1] + by[:, 2:] * table[:, 2]
    load = np.bincount(mesh.triangles.ravel(), each.ravel(), minlength=len(mesh.nodes))
    return np.asarray(load, dtype=np.float64), float(np.vdot(weight, sx**2 + sy**2))


def _shear_load(mesh: Mesh, gauss: Gauss, centroid: FloatArray, S: FloatArray) -> FloatArray:
    """Load (n, 2) of the shear flow under unit Vx and Vy.

    Weak form of equilibrium along the mast: ∫ G ∇psi·∇v = ∫ (dσ/dz) v, where the bending stress
    grows by dMx/dz = Vy and dMy/dz = -Vx.
    """
    strain = np.linalg.solve(S, np.array([[0.0, 0.0], [0.0, 1.0], [-1.0, 0.0]]))
    weight = gauss.w * mesh.E[:, None]
    x, y = weight * (gauss.x - centroid[0]), weight * (gauss.y - centroid[1])
    at, n = mesh.triangles.ravel(), len(mesh.nodes)
    columns = []
    for e0, kx, ky in strain.T:
        each = (e0 * weight + kx * y - ky * x) @ N
        columns.append(np.bincount(at, each.ravel(), minlength=n))
    return np.stack(columns, axis=1)


def _warping(
    mesh: Mesh, gauss: Gauss, weight: FloatArray, torsion: Torsion
) -> tuple[FloatArray, FloatArray]:
    """Warping (n,) [m²] about the shear centre, and that centre (2,) [m].

    Moving the pole from p to s adds -(ys - yp) x + (xs - xp) y, so the s that leaves warping
    orthogonal (E-weighted) to 1, x and y is Trefftz's shear centre.
    """
    pole = torsion.pole
    x, y = (gauss.x - pole[0]).ravel(), (gauss.y - pole[1]).ravel()
    size = np.sqrt(np.abs(x).max() ** 2 + np.abs(y).max() ** 2)
    shape = np.stack([np.full_like(x, size), x, y])
    weighted = shape * weight.ravel()
    c, cx, cy = np.linalg.solve(weighted @ shape.T, -(weighted @ at_gauss(mesh, torsion.omega).ravel()))
    away = mesh.nodes - pole
    moved = torsion.omega + c * size + cx * away[:, 0] + cy * away[:, 1]
    return moved, np.array([pole[0] + cy, pole[1] - cx])


def stress_basis(solution: Solution) -> StressBasis:
    """Unit fields at the nodes, averaged over the elements of one region that meet there."""
    s, mesh = solution, solution.mesh
    place, node, region = _by_region(mesh)
    count = np.bincount(place, minlength=len(node))
    _, corners = shape_functions(NODES)
    nodal = np.column_stack([s.flow, s.omega])
    by_x, by_y = slopes(mesh, s.gauss, nodal, corners)
    mean = np.array(
        [
            [np.bincount(place, one.ravel(), minlength=len(node)) / count for one in by]
            for by in (by_x, by_y)
        ]
    )  # (2, 3, nodes)
    E, G = (np.zeros(int(mesh.region.max()) + 1) for _ in range(2))
    E[mesh.region], G[mesh.region] = mesh.E, mesh.G
    E, G = E[region], G[region]
    points = mesh.nodes[node]
    spin = np.stack([-(points[:, 1] - s.pole[1]), points[:, 0] - s.pole[0]])
    torque = G / s.GJ * (mean[:, 2] + spin)
    fields = np.zeros((len(ACTIONS), len(node), 3))
    fields[[0, 3, 4], :, 0] = _unit_bending(points, E, s.centroid, s.S)
    # A force at the stacking line also twists: the moment about the shear centre is
    # T - xs Vy + ys Vx.
    fields[1, :, 1:] = (G * mean[:, 0] + s.shear_centre[1] * torque).T
    fields[2, :, 1:] = (G * mean[:, 1] - s.shear_centre[0] * torque).T
    fields[5, :, 1:] = torque.T
    fields[6, :, 0] = E * s.w_s[node] / s.EGamma
    triangles = place.reshape(mesh.triangles.shape)[:, _SPLIT].reshape(-1, 3)
    return StressBasis(points=points, region=region, fields=fields, triangles=triangles)


_SPLIT = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""A six-node triangle as four of three nodes."""


def _by_region(mesh: Mesh) -> tuple[IntArray, IntArray, IntArray]:
    """Nodes taken once for each region they belong to.

    Returns:
        Of each triangle's nodes (6 m,) the place in the list of those, and their nodes and regions.
    """
    n = len(mesh.nodes)
    key = (mesh.region[:, None] * n + mesh.triangles).ravel()
    used = np.zeros((int(mesh.region.max()) + 1) * n, dtype=bool)
    used[key] = True
    keys = np.flatnonzero(used)
    order = np.cumsum(used) - 1
    return order[key].astype(np.int64), (keys % n).astype(np.int64), (keys // n).astype(np.int64)


def _unit_bending(points: FloatArray, E: FloatArray, centroid: FloatArray, S: FloatArray) -> FloatArray:
    """(3, n) axial stress of unit N, Mx and My at the stacking line (N is moved to the centroid)."""
    to_centroid = np.array([[1.0, 0.0, 0.0], [-centroid[1], 1.0, 0.0], [centroid[0], 0.0, 1.0]])
    strain = np.linalg.solve(S, to_centroid)
    shape = np.stack([np.ones(len(points)), points[:, 1] - centroid[1], centroid[0] - points[:, 0]])
    return np.asarray(E * (strain.T @ shape))
