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

from mastcheck.section.elements import Mesh, at_gauss, slopes
from mastcheck.section.kernel import Solution
from mastcheck.section.model import Motion, Region

FloatArray = NDArray[np.float64]

_EDGES = np.array([[0, 1, 3], [1, 2, 4], [2, 0, 5]])
"""Corner, corner and middle node of a triangle's edges."""

_AT = 0.5 + np.array([-0.5, 0.0, 0.5]) * np.sqrt(0.6)
_WEIGHT = np.array([5.0, 8.0, 5.0]) / 18
"""Gauss points of an edge. Not its ends: at a corner of the contour the speed is two-valued."""

_REACH = 2e-3
"""Share of the section's width within which a moved contour is looked for first."""

_ON_EDGE = np.stack([(1 - _AT) * (1 - 2 * _AT), _AT * (2 * _AT - 1), 4 * _AT * (1 - _AT)], axis=1)
"""(k, 3) quadratic shape functions of an edge's nodes there."""


def fibre_moments(
    s: Solution, regions: tuple[Region, ...], motion: Motion
) -> tuple[float, float, float]:
    """H (3,) [N·m per unit of e0; N·m² per unit of κ]: torque that bending strains carry by taper.

    Args:
        s: the solved section.
        regions: its regions.
        motion: the regions a small step further along z.
    """
    mesh, gauss = s.mesh, s.gauss
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
        p = np.swapaxes(np.swapaxes(mesh.nodes[nodes], 1, 2) @ _ON_EDGE.T, 1, 2)
        warp = s.w_s[nodes] @ _ON_EDGE.T
        speed = _outward(p, [r.polygon for r in there]) / motion.step
        weight = length[:, None] * _WEIGHT * warp * speed
        h -= E * _moments(weight, p[..., 0], p[..., 1])
        growth = (other_E - E) / motion.step
        if growth:
            w = gauss.w[inside] * at_gauss(mesh, s.w_s)[inside]
            h -= growth * _moments(w, gauss.x[inside], gauss.y[inside])
    return float(h[0]), float(h[1]), float(h[2])


def contraction_moments(s: Solution, nu: FloatArray) -> tuple[float, float, float]:
    """Q (3,) [-, m, m]: how contraction in the section's plane works on varying torsion.

    Args:
        s: the solved section.
        nu: Poisson's ratio of each triangle (m,).
    """
    x, y = s.gauss.x, s.gauss.y
    by_x, by_y = slopes(s.mesh, s.gauss, s.w_s[:, None])
    weight = s.gauss.w * (s.mesh.G * nu)[:, None]
    gx = weight * (by_x[0] - (y - s.shear_centre[1]))
    gy = weight * (by_y[0] + (x - s.shear_centre[0]))
    half = (x**2 - y**2) / 2
    Q = np.array(
        [
            np.vdot(gx, x) + np.vdot(gy, y),
            np.vdot(gx, x * y) - np.vdot(gy, half),
            -np.vdot(gx, half) - np.vdot(gy, x * y),
        ]
    )
    Q /= -s.GJ
    return float(Q[0]), float(Q[1]), float(Q[2])


def _moments(weight: FloatArray, x: FloatArray, y: FloatArray) -> FloatArray:
    """(3,) integrals of the axial strain for unit e0, κx and κy."""
    return np.array([weight.sum(), np.vdot(weight, y), -np.vdot(weight, x)])


def _contour(mesh: Mesh, inside: NDArray[np.bool_]) -> tuple[NDArray[np.int64], FloatArray]:
    """Nodes (e, 3) of the edges around the chosen triangles, and the lengths (e,) of them [m]."""
    edges = mesh.triangles[inside][:, _EDGES].reshape(-1, 3)
    # The middle node names the edge: triangles on both sides share it.
    once = np.bincount(edges[:, 2], minlength=len(mesh.nodes)) == 1
    outer = edges[once[edges[:, 2]]]
    step = mesh.nodes[outer[:, 1]] - mesh.nodes[outer[:, 0]]
    return outer, np.hypot(step[:, 0], step[:, 1])


def _outward(p: FloatArray, polygons: list[shapely.Polygon]) -> FloatArray:
    """(e, k) distance [m] by which a contour passes its earlier points p (e, k, 2), outward."""
    other: BaseGeometry = polygons[0] if len(polygons) == 1 else shapely.union_all(polygons)
    boundary = shapely.boundary(other)
    distance = _near(p, boundary)
    far = ~np.isfinite(distance)
    distance[far] = shapely.distance(shapely.points(p[far]), boundary)
    shapely.prepare(other)
    within = shapely.contains_xy(other, p[..., 0].ravel(), p[..., 1].ravel()).reshape(distance.shape)
    signed: FloatArray = np.where(within, distance, -distance)
    return signed


def _near(p: FloatArray, boundary: BaseGeometry) -> FloatArray:
    """(e, k) distances [m] to a boundary; infinite where it is not found within ``_REACH``.

    Every line of the boundary that comes so near is looked at, so what is found is the least.
    """
    left, low, right, high = shapely.total_bounds(boundary)
    reach = _REACH * max(right - left, high - low)
    lines = np.concatenate(
        [np.hstack([c[:-1], c[1:]]) for c in map(shapely.get_coordinates, shapely.get_parts(boundary))]
    )
    tree = shapely.STRtree(shapely.linestrings(lines.reshape(-1, 2, 2)))
    least, most = p.min(axis=1) - reach, p.max(axis=1) + reach
    edge, line = tree.query(shapely.box(least[:, 0], least[:, 1], most[:, 0], most[:, 1]))
    start, along = lines[line, None, :2], lines[line, None, 2:] - lines[line, None, :2]
    away = p[edge] - start
    share = (away * along).sum(axis=-1) / (along**2).sum(axis=-1)
    away -= np.clip(share, 0.0, 1.0)[..., None] * along
    found = np.full(p.shape[:2], np.inf)
    np.minimum.at(found, edge, np.hypot(away[..., 0], away[..., 1]))
    found[found > reach] = np.inf
    return found
