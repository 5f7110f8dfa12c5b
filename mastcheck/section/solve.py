"""From regions to a solved section.

Torsion and shear are solved on one mesh of six-node triangles with one factored matrix: their
stiffness is G-weighted, while the load of the shear flow is the E-weighted bending stress, which no
single weighting gives; its moment is then Trefftz's shear centre, exactly. All that extension and
bending need is integrated over the same triangles with the true E.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu
from scipy.spatial import cKDTree

from mastcheck.errors import GeometryError
from mastcheck.section.elements import (
    FloatArray,
    Gauss,
    Mesh,
    at_gauss,
    gauss_points,
    gradients,
    shape_functions,
)
from mastcheck.section.ends import end_correction
from mastcheck.section.mesher import mesh_of
from mastcheck.section.model import (
    ACTIONS,
    Motion,
    Region,
    SectionModel,
    SectionProperties,
    StressBasis,
)
from mastcheck.section.taper import contraction_moments, fibre_moments

Solver = Literal["fast", "library"]

LEAST_SPACING = 1e-6
"""Points nearer than this share of the section's width are refused: the mesher would crash."""


def solve_section(
    regions: tuple[Region, ...],
    *,
    elements: int | None = None,
    before: Motion | None = None,
    after: Motion | None = None,
    end: bool = False,
    solver: Solver = "fast",
) -> SectionModel:
    """Stiffness and unit stress fields of a cross-section.

    Args:
        regions: touching polygons [m], each of one material, origin on the stacking line.
        elements: triangles to aim for; None takes what the construction needs for 0.1 % of GJ.
        before: the same regions a little nearer the base, for the couplings of a taper.
        after: the same a little nearer the tip; where only one is given it stands for both.
        end: whether to solve for what a fixed end here does to twist.
        solver: "fast", or "library" to mesh and to solve torsion by the open section library.

    Returns:
        Properties, stress basis and mesh size. Fields are resultants at the origin:
        Mx = ∫ y σ, My = -∫ x σ, T = ∫ (x τ_zy - y τ_zx), B = ∫ w_s σ, with w_s the warping
        function about the shear centre.

    Raises:
        GeometryError: regions that are invalid, overlap, leave a gap, are apart, or hold points so
            close that the mesher would crash.
    """
    check_regions(regions)
    if solver == "library":
        from mastcheck.section.library import library_warping

        mesh, omega, pole, GJ = library_warping(regions, elements)
        gauss = gauss_points(mesh)
        laplacian = Laplacian(mesh, gauss)
    else:
        mesh = mesh_of(regions, elements)
        gauss = gauss_points(mesh)
        laplacian = Laplacian(mesh, gauss)
        omega, pole, GJ = torsion(mesh, gauss, laplacian)
    weight = gauss.w * mesh.E[:, None]
    centroid, S = _bending(gauss, weight)
    w_s, shear_centre = _warping(mesh, gauss, weight, omega, pole)
    EGamma = float(np.sum(weight * at_gauss(mesh, gauss, w_s) ** 2))
    flow = _shear_functions(mesh, gauss, laplacian, centroid, S)
    tau = np.einsum("mqij,mjk->mqik", gauss.B, flow[mesh.triangles]) * mesh.G[:, None, None, None]
    flex = np.einsum("mq,mqik,mqil->kl", gauss.w / mesh.G[:, None], tau, tau)
    area = gauss.w.sum(axis=1)
    density = np.array([r.material.density for r in regions])[mesh.region]
    nu = np.array([r.material.nu for r in regions])[mesh.region]
    fibre = [
        fibre_moments(mesh, gauss, w_s, regions, motion) if motion is not None else (0.0, 0.0, 0.0)
        for motion in (before or after, after or before)
    ]
    heavy = gauss.w * density[:, None]
    x, y = gauss.x, gauss.y
    moments = [float(np.sum(heavy * f)) for f in (x, y, y**2, x**2, x * y)]
    properties = SectionProperties(
        EA=float(S[0, 0]),
        EIxx=float(S[1, 1]),
        EIyy=float(S[2, 2]),
        EIxy=float(-S[1, 2]),
        GJ=GJ,
        EGamma=EGamma,
        shear_flex_xx=float(flex[0, 0]),
        shear_flex_yy=float(flex[1, 1]),
        shear_flex_xy=float(flex[0, 1]),
        centroid_x=float(centroid[0]),
        centroid_y=float(centroid[1]),
        shear_centre_x=float(shear_centre[0]),
        shear_centre_y=float(shear_centre[1]),
        mass_per_length=float(density @ area),
        area=float(area.sum()),
        fibre_before=fibre[0],
        fibre_after=fibre[1],
        contraction=contraction_moments(mesh, gauss, w_s, shear_centre, nu, GJ),
        mass_moments=(moments[0], moments[1], moments[2], moments[3], moments[4]),
    )
    basis = _stress_basis(mesh, properties, S, omega, pole, w_s, flow)
    fixed = None
    if end:
        fixed = end_correction(
            mesh, gauss, w_s=w_s, flow=flow, S=S, centroid=centroid, shear_centre=shear_centre,
            GJ=GJ, EGamma=EGamma,
        )  # fmt: skip
    return SectionModel(
        regions=regions, properties=properties, basis=basis, elements=len(mesh.triangles), end=fixed
    )


def check_regions(regions: tuple[Region, ...]) -> None:
    """Refuse what would crash or mislead the mesher, which cannot be caught later.

    Args:
        regions: polygons [m] with their materials.

    Raises:
        GeometryError: naming the fault and the region it is in.
    """
    if not regions:
        raise GeometryError("a section needs at least one region")
    for number, region in enumerate(regions):
        _check_region(number, region)
    polygons = [r.polygon for r in regions]
    left, low, right, high = shapely.total_bounds(polygons)
    spacing = LEAST_SPACING * max(right - left, high - low)
    points = np.unique(np.concatenate([_vertices(p) for p in polygons]), axis=0)
    pairs = cKDTree(points).query_pairs(spacing)
    if pairs:
        a, _ = next(iter(sorted(pairs)))
        raise GeometryError(
            f"points nearly coincide at x = {points[a, 0] * 1e3:.6g} mm,"
            f" y = {points[a, 1] * 1e3:.6g} mm:"
            " merge them, or close the gap between the regions"
        )
    whole = shapely.union_all(polygons)
    if sum(p.area for p in polygons) - whole.area > 1e-9 * whole.area:
        raise GeometryError("regions overlap: cut one with the other's own contour")
    if not isinstance(whole, shapely.Polygon):
        least = min(shapely.get_parts(whole), key=lambda part: float(part.area)).representative_point()
        raise GeometryError(
            "regions are apart: a section must be one connected piece, and the part around"
            f" x = {least.x * 1e3:.6g} mm, y = {least.y * 1e3:.6g} mm hangs free:"
            " join it to the rest, or state what fills the gap (in a drawing by [section.layers])"
        )
    for ring in whole.interiors:
        if shapely.Polygon(ring).buffer(-spacing).is_empty:
            raise GeometryError("a gap between regions: let them share the same contour points")
    _check_shared_edges(polygons, spacing)


def _check_region(number: int, region: Region) -> None:
    material, polygon = region.material, region.polygon
    if not isinstance(polygon, shapely.Polygon) or polygon.is_empty or not polygon.is_valid:
        raise GeometryError(
            f"region {number} is not a valid polygon: {shapely.is_valid_reason(polygon)}"
        )
    if not np.isfinite(_vertices(polygon)).all() or polygon.area <= 0:
        raise GeometryError(f"region {number} has no area")
    if not (material.E > 0 and material.G > 0):
        raise GeometryError(f"region {number}: E and G of {material.name} must be positive")
    for ring in (polygon.exterior, *polygon.interiors):
        points = np.array(ring.coords)
        if np.any(np.all(points[1:] == points[:-1], axis=1)):
            raise GeometryError(f"region {number} repeats a point: merge coincident points first")


def _check_shared_edges(polygons: list[shapely.Polygon], spacing: float) -> None:
    """A point on or near another region's edge must be a point of that region too."""
    for i, a in enumerate(polygons):
        points = _vertices(a)
        for j, b in enumerate(polygons):
            if i == j:
                continue
            own = {tuple(p) for p in _vertices(b).tolist()}
            stray = np.array([p for p in points.tolist() if tuple(p) not in own]).reshape(-1, 2)
            if len(stray) and shapely.distance(shapely.points(stray), b.boundary).min() < spacing:
                raise GeometryError(
                    f"regions {i} and {j} touch without sharing points: give both the same points"
                )


def _vertices(polygon: shapely.Polygon) -> FloatArray:
    return np.asarray(shapely.get_coordinates(polygon), dtype=np.float64)


def _bending(gauss: Gauss, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Centroid (2,) [m] and stiffness (3, 3) of (e0, kx, ky) against (N, Mx, My) about it."""
    EA = weight.sum()
    centroid = np.array([np.sum(weight * gauss.x), np.sum(weight * gauss.y)]) / EA
    shape = np.stack([np.ones_like(gauss.x), gauss.y - centroid[1], -(gauss.x - centroid[0])])
    return centroid, np.einsum("mq,imq,jmq->ij", weight, shape, shape)


def _warping(
    mesh: Mesh, gauss: Gauss, weight: FloatArray, omega: FloatArray, pole: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Warping (n,) [m²] about the shear centre, and that centre (2,) [m].

    Moving the pole from p to s adds -(ys - yp) x + (xs - xp) y, so the s that leaves warping
    orthogonal (E-weighted) to 1, x and y is Trefftz's shear centre.
    """
    x, y = gauss.x - pole[0], gauss.y - pole[1]
    size = np.sqrt(np.abs(x).max() ** 2 + np.abs(y).max() ** 2)
    shape = np.stack([np.full_like(x, size), x, y])
    A = np.einsum("mq,imq,jmq->ij", weight, shape, shape)
    b = np.einsum("mq,imq,mq->i", weight, shape, at_gauss(mesh, gauss, omega))
    c, cx, cy = np.linalg.solve(A, -b)
    moved = omega + c * size + cx * (mesh.nodes[:, 0] - pole[0]) + cy * (mesh.nodes[:, 1] - pole[1])
    return moved, np.array([pole[0] + cy, pole[1] - cx])


class Laplacian:
    """∫ G ∇ψ·∇v over the section, factored once for torsion and both shear functions.

    Only gradients matter, so the first node is held.
    """

    def __init__(self, mesh: Mesh, gauss: Gauss) -> None:
        stiff = np.einsum("mq,mqij,mqil->mjl", gauss.w * mesh.G[:, None], gauss.B, gauss.B)
        n = len(mesh.nodes)
        rows = np.repeat(mesh.triangles, 6, axis=1).ravel()
        columns = np.tile(mesh.triangles, (1, 6)).ravel()
        K = coo_matrix((stiff.ravel(), (rows, columns)), shape=(n, n)).tocsc()
        self._mesh = mesh
        self._factor = splu(
            K[1:, 1:],
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )

    def solve(self, load: FloatArray) -> FloatArray:
        """Nodal values (n, k) under element loads (m, 6, k)."""
        f = self.gathered(load)
        return np.concatenate([np.zeros((1, f.shape[1])), self._factor.solve(f[1:])])

    def gathered(self, load: FloatArray) -> FloatArray:
        """Element loads (m, 6, k) summed at the nodes (n, k)."""
        n, k = len(self._mesh.nodes), load.shape[-1]
        at = self._mesh.triangles.ravel()
        flat = load.reshape(-1, k)
        return np.stack([np.bincount(at, flat[:, i], minlength=n) for i in range(k)], axis=1)


def torsion(mesh: Mesh, gauss: Gauss, laplacian: Laplacian) -> tuple[FloatArray, FloatArray, float]:
    """Warping function (n,) [m²] about the area's centroid, that pole (2,) [m], and GJ [N·m²].

    The strain of a unit twist rate is ∇ω + (-(y - yp), x - xp); ω makes its energy least.
    """
    area = gauss.w.sum()
    pole = np.array([np.sum(gauss.w * gauss.x), np.sum(gauss.w * gauss.y)]) / area
    spin = np.stack([gauss.y - pole[1], -(gauss.x - pole[0])], axis=-1)
    weight = gauss.w * mesh.G[:, None]
    load = np.einsum("mq,mqij,mqi->mj", weight, gauss.B, spin)[..., None]
    omega = laplacian.solve(load)[:, 0]
    GJ = float(np.sum(weight * (spin**2).sum(axis=-1)) - laplacian.gathered(load)[:, 0] @ omega)
    return omega, pole, GJ


def _shear_functions(
    mesh: Mesh, gauss: Gauss, laplacian: Laplacian, centroid: FloatArray, S: FloatArray
) -> FloatArray:
    """(n, 2) [m/N] potentials of the shear flow under unit Vx and Vy: tau = G grad(psi).

    Weak form of equilibrium along the mast: ∫ G ∇psi·∇v = ∫ (dσ/dz) v, where the bending stress
    grows by dMx/dz = Vy and dMy/dz = -Vx.
    """
    strain = np.linalg.solve(S, np.array([[0.0, 0.0], [0.0, 1.0], [-1.0, 0.0]]))
    shape = np.stack([np.ones_like(gauss.x), gauss.y - centroid[1], -(gauss.x - centroid[0])])
    growth = np.einsum("imq,ik->mqk", shape, strain) * mesh.E[:, None, None]
    return laplacian.solve(np.einsum("mq,qj,mqk->mjk", gauss.w, gauss.N, growth))


def _stress_basis(
    mesh: Mesh,
    p: SectionProperties,
    S: FloatArray,
    omega: FloatArray,
    pole: FloatArray,
    w_s: FloatArray,
    flow: FloatArray,
) -> StressBasis:
    """Unit fields at the nodes, averaged over the elements of one region that meet there."""
    n = len(mesh.nodes)
    corners = np.array([[1, 0, 0], [0, 1, 0], [0, 0, 1], [0.5, 0.5, 0], [0, 0.5, 0.5], [0.5, 0, 0.5]])
    _, D = shape_functions(corners)
    B, _ = gradients(mesh, D)
    xy = mesh.nodes[mesh.triangles]
    G = mesh.G[:, None, None]
    spin = np.stack([xy[..., 1] - pole[1], -(xy[..., 0] - pole[0])], axis=-1)
    torsion = G / p.GJ * (np.einsum("mqij,mj->mqi", B, omega[mesh.triangles]) - spin)
    shear = np.einsum("mqij,mjk->kmqi", B, flow[mesh.triangles]) * G
    key, inverse = np.unique((mesh.region[:, None] * n + mesh.triangles).ravel(), return_inverse=True)
    node, region = key % n, key // n
    count = np.bincount(inverse)

    def mean(values: FloatArray) -> FloatArray:
        flat = values.reshape(-1, 2)
        return np.stack([np.bincount(inverse, flat[:, k]) for k in (0, 1)], axis=1) / count[:, None]

    E = np.zeros(len(key))
    E[inverse] = np.repeat(mesh.E, 6)
    points = mesh.nodes[node]
    fields = np.zeros((len(ACTIONS), len(key), 3))
    fields[[0, 3, 4], :, 0] = _unit_bending(points, E, p, S)
    torque = mean(torsion)
    # A force at the stacking line also twists: the moment about the shear centre is
    # T - xs Vy + ys Vx.
    fields[1, :, 1:] = mean(shear[0]) + p.shear_centre_y * torque
    fields[2, :, 1:] = mean(shear[1]) - p.shear_centre_x * torque
    fields[5, :, 1:] = torque
    fields[6, :, 0] = E * w_s[node] / p.EGamma
    local = inverse.reshape(mesh.triangles.shape)
    split = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
    triangles = local[:, split].reshape(-1, 3).astype(np.int64)
    return StressBasis(points=points, region=region.astype(np.int64), fields=fields, triangles=triangles)


def _unit_bending(points: FloatArray, E: FloatArray, p: SectionProperties, S: FloatArray) -> FloatArray:
    """(3, n) axial stress of unit N, Mx and My at the stacking line (N is moved to the centroid)."""
    to_centroid = np.array([[1.0, 0.0, 0.0], [-p.centroid_y, 1.0, 0.0], [p.centroid_x, 0.0, 1.0]])
    strain = np.linalg.solve(S, to_centroid)
    shape = np.stack(
        [np.ones(len(points)), points[:, 1] - p.centroid_y, -(points[:, 0] - p.centroid_x)], axis=1
    )
    return np.asarray((E[:, None] * (shape @ strain)).T)
