"""A blade as quadratic wedges: gmsh's triangles of the base section, carried along the mast.

The section is meshed once, by gmsh, with the polygon's own edges as mesh edges. Along the mast the
contours are those of ``regions_at``: each boundary node keeps its place on its contour (its share of
the arc between nose and tail), and the nodes inside follow by harmonic interpolation. For a section
that only scales, that is the scaling itself, and the solid is exactly the ruled one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

from mastcheck.mast import Mast
from mastcheck.section.contours import sides_of
from mastcheck.section.regions import regions_at

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

_EDGES = ((0, 1), (1, 2), (2, 0))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Triangles:
    """Corner nodes (n, 2) [m]; triangles (m, 3), counter-clockwise; edges (e, 2) and the edges of
    each triangle (m, 3); rings of boundary corner nodes, the outer one first.
    """

    nodes: FloatArray
    triangles: IntArray
    edges: IntArray
    sides: IntArray
    rings: tuple[IntArray, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Solid:
    """Nodes (n, 3) [m] and 15-node wedges (m, 15) in the order of C3D15, layer by layer.

    ``levels``: z of the wedges' ends [m]; ``root`` and ``tip``: nodes of the end faces; ``face``
    (t, 6): six-node triangles of the tip face; ``root_face`` the same of the root.
    """

    nodes: FloatArray
    wedges: IntArray
    levels: FloatArray
    root: IntArray
    tip: IntArray
    face: IntArray
    root_face: IntArray


def solid(mast: Mast, *, size: float, layers: int, finest: float) -> Solid:
    """The mast as wedges.

    Args:
        mast: a mast of one material.
        size: greatest edge of the section's triangles at the base [m].
        layers: wedges along the mast.
        finest: height of the wedges at both ends [m]; they grow toward the middle.
    """
    base = triangles(regions_at(mast, 0.0)[0].polygon, size)
    levels = graded(mast.length, layers, finest)
    both = np.sort(np.concatenate([levels, (levels[1:] + levels[:-1]) / 2]))
    corner = carried(mast, base, both / mast.length)
    n, e = len(base.nodes), len(base.edges)
    # Corner nodes stand on every level and half way between; edge nodes on the levels alone.
    parts, first_corner, first_edge, total = [], [], [], 0
    for k, z in enumerate(both):
        first_corner.append(total)
        parts.append(np.column_stack([corner[k], np.full(n, z)]))
        total += n
        if k % 2 == 0:
            first_edge.append(total)
            parts.append(np.column_stack([corner[k][base.edges].mean(axis=1), np.full(e, z)]))
            total += e
    low, mid, high = (np.array(first_corner[i::2][:layers]) for i in (0, 1, 2))
    foot, head = np.array(first_edge[:-1]), np.array(first_edge[1:])
    tri, side = base.triangles[None], base.sides[None]
    at = [low, high], [foot, head]
    wedges = np.concatenate(
        [
            *(start[:, None, None] + tri for start in at[0]),
            *(start[:, None, None] + side for start in at[1]),
            mid[:, None, None] + tri,
        ],
        axis=2,
    ).reshape(-1, 15)
    ends = [
        np.concatenate([c + base.triangles, s + base.sides], axis=1)
        for c, s in ((first_corner[0], first_edge[0]), (first_corner[-1], first_edge[-1]))
    ]
    return Solid(
        nodes=np.concatenate(parts),
        wedges=wedges,
        levels=levels,
        root=np.unique(ends[0]),
        tip=np.unique(ends[1]),
        face=ends[1],
        root_face=ends[0],
    )


def graded(length: float, layers: int, finest: float) -> FloatArray:
    """(layers + 1,) places, spaced ``finest`` at both ends and growing over six layers to even ones.

    >>> graded(1.0, 4, 0.1)
    array([0. , 0.1, 0.5, 0.9, 1. ])
    """
    step = np.minimum(np.minimum(np.arange(layers), np.arange(layers)[::-1]), 6).astype(float)

    def excess(growth: float) -> float:
        return float(np.sum(growth**step)) * finest - length

    growth = brentq(excess, 1e-3, length / finest)
    places = np.concatenate([[0.0], np.cumsum(finest * growth**step)])
    return np.asarray(places / places[-1] * length)


def triangles(polygon: shapely.Polygon, size: float) -> Triangles:
    """gmsh's mesh of a polygon; each of its edges is one edge of the mesh, or several equal ones."""
    import gmsh  # type: ignore[import-untyped,unused-ignore]

    rings = [np.asarray(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
    gmsh.initialize(readConfigFiles=False, interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("General.NumThreads", 1)
        gmsh.option.setNumber("Mesh.MeshSizeExtendFromBoundary", 1)
        gmsh.option.setNumber("Mesh.Algorithm", 6)  # frontal Delaunay
        loops: list[int] = []
        curves: list[list[int]] = []
        for ring in rings:
            # Lengths in millimetres: the mesher's own tolerances suit numbers near one.
            points = [gmsh.model.geo.addPoint(1e3 * x, 1e3 * y, 0.0, 1e3 * size) for x, y in ring]
            lines = [
                gmsh.model.geo.addLine(a, b)
                for a, b in zip(points, points[1:] + points[:1], strict=True)
            ]
            for line, step in zip(lines, np.roll(ring, -1, axis=0) - ring, strict=True):
                parts = max(1, math.ceil(float(np.hypot(*step)) / size - 1e-6))
                gmsh.model.geo.mesh.setTransfiniteCurve(line, parts + 1)
            loops.append(gmsh.model.geo.addCurveLoop(lines))
            curves.append(lines)
        gmsh.model.geo.addPlaneSurface(loops)
        gmsh.model.geo.synchronize()
        gmsh.model.mesh.generate(2)
        gmsh.model.mesh.optimize("Laplace2D")
        tags, xyz, _ = gmsh.model.mesh.getNodes()
        _, _, connected = gmsh.model.mesh.getElements(2)
        on = [
            np.concatenate(
                [gmsh.model.mesh.getNodes(1, line, includeBoundary=True)[0] for line in lines]
            )
            for lines in curves
        ]
    finally:
        gmsh.finalize()
    place = np.zeros(int(tags.max()) + 1, dtype=np.int64)
    place[tags] = np.arange(len(tags))
    nodes = xyz.reshape(-1, 3)[:, :2] / 1e3
    tri = place[connected[0]].reshape(-1, 3)
    a, b, c = (nodes[tri[:, k]] for k in range(3))
    turn = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    tri[turn < 0] = tri[turn < 0][:, ::-1]
    pairs = np.sort(np.stack([tri[:, e] for e in _EDGES], axis=1), axis=2)
    edges, inverse = np.unique(pairs.reshape(-1, 2), axis=0, return_inverse=True)
    area = float(np.abs(turn).sum() / 2)
    if abs(area - polygon.area) > 1e-9 * polygon.area:
        raise AssertionError(f"the mesh covers {area} m², the polygon {polygon.area} m²")
    return Triangles(
        nodes=nodes,
        triangles=tri.astype(np.int64),
        edges=edges.astype(np.int64),
        sides=inverse.reshape(-1, 3).astype(np.int64),
        rings=tuple(np.unique(place[ring]) for ring in on),
    )


def carried(mast: Mast, base: Triangles, at: FloatArray) -> FloatArray:
    """(len(at), n, 2) places of the base section's corner nodes at fractions ``at`` of the length."""
    spread = _harmonic(base)
    first = mast.station_at(0.0)
    boundary = np.concatenate(base.rings)
    out = []
    for fraction in at:
        station = mast.station_at(float(fraction))
        scale = np.array([station.chord / first.chord, station.thickness / first.thickness])
        nodes = base.nodes * scale
        polygon = regions_at(mast, float(fraction))[0].polygon
        own = regions_at(mast, 0.0)[0].polygon
        moved = [
            _on_ring(base.nodes[ring], was, now)
            for ring, was, now in zip(base.rings, _rings(own), _rings(polygon), strict=True)
        ]
        off = np.concatenate(moved) - nodes[boundary]
        out.append(nodes + spread @ off)
    return np.array(out)


def _rings(polygon: shapely.Polygon) -> list[FloatArray]:
    return [np.asarray(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]


def _on_ring(points: FloatArray, was: FloatArray, now: FloatArray) -> FloatArray:
    """Points of the ring ``was``, at the same share of the arc of each face of the ring ``now``."""
    out = np.full_like(points, np.nan)
    before, after = sides_of(was), sides_of(now)
    for old, new in ((before.port, after.port), (before.starboard, after.starboard)):
        line, other = shapely.LineString(old), shapely.LineString(new)
        place = shapely.points(points)
        near = shapely.distance(place, line) < 1e-9
        share = shapely.line_locate_point(line, place[near], normalized=True)
        out[near] = shapely.get_coordinates(
            shapely.line_interpolate_point(other, share, normalized=True)
        )
    if np.isnan(out).any():
        raise AssertionError("a boundary node lies on neither face of its contour")
    return out


def _harmonic(base: Triangles) -> FloatArray:
    """(n, b) discrete harmonic extension of values at the boundary nodes, in ring order."""
    boundary = np.concatenate(base.rings)
    n = len(base.nodes)
    i, j = base.edges.T
    w = 1 / np.hypot(*(base.nodes[i] - base.nodes[j]).T)
    k = coo_matrix((np.tile(-w, 2), (np.r_[i, j], np.r_[j, i])), shape=(n, n)).tocsc()
    k -= coo_matrix((np.asarray(k.sum(axis=1)).ravel(), (np.arange(n), np.arange(n))), shape=(n, n))
    inside = np.setdiff1d(np.arange(n), boundary)
    out = np.zeros((n, len(boundary)))
    out[boundary, np.arange(len(boundary))] = 1.0
    if len(inside):
        k = k.tocsr()
        out[inside] = splu(k[inside][:, inside].tocsc()).solve(-k[inside][:, boundary].toarray())
    return out
