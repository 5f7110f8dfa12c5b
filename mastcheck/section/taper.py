"""What a taper does to torsion: the two couplings of bending and twist that plain beam theory drops.

Inclined fibres. Where the outline moves along z, its traction-free sides are inclined, and a bending
stress σ along them drags a shear stress with it. That shear has a torque about the shear centre but
does no work on torsion, so it twists nothing. By the reciprocal theorem the torque is ∫ σ ∂w_s/∂z dA,
w_s being the warping function about the shear centre, watched at a fixed point of the section while z
moves on. With σ = E (e0 + κx y - κy x) it is h · (e0, κx, κy), where

    h = ∫ E b ∂w_s/∂z dA,   b = (1, y, -x).

w_s is orthogonal (E-weighted) to 1, x and y at every z, so ∫ E b w_s dA stays nil. Its derivative has
a part from ∂w_s/∂z, one from the moving contours and one from E where it changes along z; hence

    h = - Σ_regions ( E ∮ b w_s s_n ds + dE/dz ∫ b w_s dA ),

s_n being the outward speed of the region's contour per unit z. Only what is left of the torque,
T_t = T_s - h · (e0, κx, κy), twists the section; the same h takes twist rate into bending strain.

Contraction. Where torsion varies along z, its changing shear stress G γ φ is held in balance by
stresses in the section's plane, and these work on the contraction -ν (e0 + κx y - κy x) that bending
brings. The in-plane displacements of that contraction are û = (x, y), (x y, (y² - x²)/2) and
-((x² - y²)/2, x y), times -ν. By virtual work the cross term of two states is

    ∫ [ ε_a · (T_b Q)' + ε_b · (T_a Q)' ] dz,   Q = -(1/GJ) ∫ G ν γ · û dA,

with γ = ∇w_s + (-(y - ys), x - xs), the shear strain of a unit twist rate. Where ν changes from one
region to the next, û is taken region by region, which is exact for one ν only.

Derived for this project; the proof is the inclined strip's closed form and the solid models.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mastcheck.section.elements import Gauss, Mesh, at_gauss
from mastcheck.section.model import Motion, Region

FloatArray = NDArray[np.float64]

_EDGES = np.array([[0, 1, 3], [1, 2, 4], [2, 0, 5]])
"""Corner, corner and middle node of a triangle's edges."""

_AT = 0.5 + np.array([-0.5, 0.0, 0.5]) * np.sqrt(0.6)
_WEIGHT = np.array([5.0, 8.0, 5.0]) / 18
"""Gauss points of an edge. Not its ends: at a corner of the contour the speed is two-valued."""

_ON_EDGE = np.stack([(1 - _AT) * (1 - 2 * _AT), _AT * (2 * _AT - 1), 4 * _AT * (1 - _AT)], axis=1)
"""(k, 3) quadratic shape functions of an edge's nodes there."""


def fibre_moments(
    mesh: Mesh, gauss: Gauss, w_s: FloatArray, regions: tuple[Region, ...], motion: Motion
) -> tuple[float, float, float]:
    """H (3,) [N·m per unit of e0; N·m² per unit of κ]: torque that bending strains carry by taper.

    Args:
        mesh: the section's mesh.
        gauss: its Gauss points.
        w_s: warping function about the shear centre at the nodes (n,) [m²].
        regions: the section's regions.
        motion: the regions a small step further along z.
    """
    h = np.zeros(3)
    for name in dict.fromkeys(r.material.name for r in regions):
        # Regions of one material are taken together: an edge between two of them moves nothing.
        here = [i for i, r in enumerate(regions) if r.material.name == name]
        there = [r for r in motion.regions if r.material.name == name]
        if not there:
            continue  # it ends here: its last trace is too thin to carry anything
        E, other_E = regions[here[0]].material.E, there[0].material.E
        inside = np.isin(mesh.region, here)
        nodes, length = _contour(mesh, inside)
        p = np.einsum("kn,enx->ekx", _ON_EDGE, mesh.nodes[nodes])
        warp = w_s[nodes] @ _ON_EDGE.T
        speed = _outward(p, shapely.union_all([r.polygon for r in there])) / motion.step
        b = _strain_shapes(p)
        h -= E * np.einsum("k,e,ek,ek,eki->i", _WEIGHT, length, warp, speed, b)
        growth = (other_E - E) / motion.step
        if growth:
            w = at_gauss(mesh, gauss, w_s)[inside]
            at = _strain_shapes(np.stack([gauss.x[inside], gauss.y[inside]], axis=-1))
            h -= growth * np.einsum("mq,mq,mqi->i", gauss.w[inside], w, at)
    return float(h[0]), float(h[1]), float(h[2])


def contraction_moments(
    mesh: Mesh, gauss: Gauss, w_s: FloatArray, shear_centre: FloatArray, nu: FloatArray, GJ: float
) -> tuple[float, float, float]:
    """Q (3,) [-, m, m]: how contraction in the section's plane works on varying torsion.

    Args:
        mesh: the section's mesh.
        gauss: its Gauss points.
        w_s: warping function about the shear centre at the nodes (n,) [m²].
        shear_centre: (2,) [m].
        nu: Poisson's ratio of each triangle (m,).
        GJ: torsional stiffness [N·m²].
    """
    x, y = gauss.x, gauss.y
    gamma = np.einsum("mqij,mj->mqi", gauss.B, w_s[mesh.triangles])
    gamma[..., 0] -= y - shear_centre[1]
    gamma[..., 1] += x - shear_centre[0]
    half = (x**2 - y**2) / 2
    moved = np.array([[x, y], [x * y, -half], [-half, -x * y]])
    weight = gauss.w * (mesh.G * nu)[:, None]
    Q = -np.einsum("mq,mqk,ikmq->i", weight, gamma, moved) / GJ
    return float(Q[0]), float(Q[1]), float(Q[2])


def _strain_shapes(p: FloatArray) -> FloatArray:
    """(..., 3) axial strain at points (..., 2) [m] for unit e0, κx and κy."""
    return np.stack([np.ones(p.shape[:-1]), p[..., 1], -p[..., 0]], axis=-1)


def _contour(mesh: Mesh, inside: NDArray[np.bool_]) -> tuple[NDArray[np.int64], FloatArray]:
    """Nodes (e, 3) of the edges around the chosen triangles, and the lengths (e,) of them [m]."""
    edges = mesh.triangles[inside][:, _EDGES].reshape(-1, 3)
    key = np.sort(edges[:, :2], axis=1)
    _, index, count = np.unique(key, axis=0, return_index=True, return_counts=True)
    outer = edges[index[count == 1]]
    step = mesh.nodes[outer[:, 1]] - mesh.nodes[outer[:, 0]]
    return outer, np.hypot(step[:, 0], step[:, 1])


def _outward(p: FloatArray, other: BaseGeometry) -> FloatArray:
    """(...,) distance [m] by which a contour passes its earlier points p (..., 2), outward."""
    flat = p.reshape(-1, 2)
    distance = shapely.distance(shapely.points(flat), shapely.boundary(other))
    within = shapely.contains_xy(other, flat[:, 0], flat[:, 1])
    signed: FloatArray = np.where(within, distance, -distance).reshape(p.shape[:-1])
    return signed
