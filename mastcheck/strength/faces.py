"""Faces over the cells of a section, read off its regions: what may buckle or wrinkle.

A cell is a void inside the section, or a core region. The face over it, port or starboard, is the
wall from the cell out to the section's skin.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from mastcheck.material import Material
from mastcheck.section.model import SectionModel
from mastcheck.strength.stress import by_material, is_core
from mastcheck.ties import greatest

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SAMPLES = 40
"""Places across a cell at which its edge and the wall over it are measured."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Face:
    """One material of one face over a cell, conservative for a plate held at the cell's two ends.

    ``side``: "port" or "starboard"; ``material`` of the face, ``core`` what fills the cell (None:
    void). ``width`` [m]: the cell's whole extent along the chord. ``wall`` [m]: the least wall
    over the cell's middle half. ``radius`` [m]: of its curvature there, infinite where flat or
    hollow-cheeked. ``points``: indices of its basis points. ``start``, ``end``: the cell's ends as
    fractions of the chord. ``across`` (k, 2): basis points beside each other on either side of an
    end of the cell; ``share`` (k,): how far from the first to the second the end lies.
    """

    side: str
    material: Material
    core: Material | None
    width: float
    wall: float
    radius: float
    points: IntArray
    start: float
    end: float
    across: IntArray = field(default_factory=lambda: np.empty((0, 2), dtype=np.int64))
    share: FloatArray = field(default_factory=lambda: np.empty(0))

    def most_pressed(self, points: FloatArray, sigma: FloatArray) -> tuple[float, tuple[float, float]]:
        """The least stress along the mast [Pa] in the face, and where in the section [m].

        The stress often grows toward an end of the cell. There it is taken between the points on
        either side, so that it does not hang on how near to the end a point of the mesh happens to lie.

        Args:
            points: (p, 2) all basis points of the section [m].
            sigma: (p,) stress along the mast there [Pa].
        """
        a, b, w = *self.across.T, self.share
        values = np.concatenate([sigma[self.points], (1 - w) * sigma[a] + w * sigma[b]])
        places = np.concatenate(
            [points[self.points], (1 - w)[:, None] * points[a] + w[:, None] * points[b]]
        )
        k = greatest(-values)
        return float(values[k]), (float(places[k, 0]), float(places[k, 1]))

    @property
    def words(self) -> str:
        """The face in words."""
        filling = "void" if self.core is None else "core"
        return (
            f"{self.side} face over the {filling} from {self.start:.0%} to {self.end:.0%} of the chord"
        )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Side:
    """One side of a cell: its edge (k,) [m], and what of a face does not depend on its material."""

    side: int
    core: Material | None
    edge_x: FloatArray
    edge_y: FloatArray
    x0: float
    x1: float
    wall: float
    radius: float
    start: float
    end: float


def faces(section: SectionModel) -> tuple[Face, ...]:
    """Every face over every cell of a section, one for each material that forms its middle half."""
    stiffest = max(r.material.E for r in section.regions)
    sides = _sides(tuple((r.polygon, r.material) for r in section.regions))
    across = {ends: _across(section, ends) for ends in {(side.x0, side.x1) for side in sides}}
    return tuple(
        face
        for side in sides
        for face in _side_faces(section, side, stiffest, *across[side.x0, side.x1])
    )


@lru_cache(maxsize=512)
def _sides(regions: tuple[tuple[Polygon, Material], ...]) -> tuple[_Side, ...]:
    """Both sides of every cell between regions; measured once, however often a section comes up."""
    stiffest = max(material.E for _, material in regions)
    whole = shapely.union_all([polygon for polygon, _ in regions])
    cells: list[tuple[Polygon, Material | None]] = [(Polygon(ring), None) for ring in whole.interiors]
    cells += [
        (Polygon(polygon.exterior), material)
        for polygon, material in regions
        if is_core(material, stiffest)
    ]
    return tuple(_side(whole, cell, core, side) for cell, core in cells for side in (1, -1))


def _side(whole: Polygon, cell: Polygon, core: Material | None, side: int) -> _Side:
    x0, _, x1, _ = cell.bounds
    edge_x = np.linspace(x0, x1, SAMPLES + 1)[1:-1]
    edge_y = _edge(cell, edge_x, side)
    middle = np.abs(edge_x - (x0 + x1) / 2) <= (x1 - x0) / 4
    chord = whole.bounds[2] - whole.bounds[0]
    return _Side(
        side=side,
        core=core,
        edge_x=edge_x,
        edge_y=edge_y,
        x0=x0,
        x1=x1,
        wall=_wall(whole, cell, edge_x[middle], edge_y[middle]),
        radius=_radius(edge_x, edge_y, side),
        start=(x0 - whole.bounds[0]) / chord,
        end=(x1 - whole.bounds[0]) / chord,
    )


def _side_faces(
    section: SectionModel, of: _Side, stiffest: float, across: IntArray, share: FloatArray
) -> Iterator[Face]:
    x, y = section.basis.points.T
    x0, x1 = of.x0, of.x1
    # A point of the face lies on or outside the cell's edge; the edge is straight between samples.
    slack = 0.02 * float(np.ptp(of.edge_y)) + 1e-6
    over = of.side * (y - np.interp(x, of.edge_x, of.edge_y)) > -slack
    inside = (x > x0) & (x < x1) & over
    here = over[across].all(axis=1)
    for material, at in by_material(section):
        points = at[inside[at]]
        in_middle = np.abs(x[points] - (x0 + x1) / 2) <= (x1 - x0) / 4
        if is_core(material, stiffest) or not in_middle.any():
            continue
        own = here & np.isin(across[:, 0], at)
        yield Face(
            side="port" if of.side > 0 else "starboard",
            material=material,
            core=of.core,
            width=x1 - x0,
            wall=of.wall,
            radius=of.radius,
            points=points,
            start=of.start,
            end=of.end,
            across=across[own],
            share=share[own],
        )


def _across(section: SectionModel, ends: tuple[float, float]) -> tuple[IntArray, FloatArray]:
    """Pairs (k, 2) of neighbouring basis points with an end of a cell between, and its share (k,)."""
    x, triangles = section.basis.points[:, 0], section.basis.triangles
    pairs, shares = [], []
    for end in ends:
        aft = x > end
        count = aft[triangles].sum(axis=1)
        edges = triangles[(count == 1) | (count == 2)][:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
        edges = edges[aft[edges[:, 0]] < aft[edges[:, 1]]]  # from fore to aft
        a, b = x[edges].T
        pairs.append(edges)
        shares.append((end - a) / (b - a))
    return np.concatenate(pairs), np.concatenate(shares)


def _edge(cell: Polygon, x: FloatArray, side: int) -> FloatArray:
    """The cell's outermost y [m] on one side (1 port, -1 starboard) at each x."""
    _, low, _, high = cell.bounds
    lines = np.array([LineString([(v, low - 1.0), (v, high + 1.0)]) for v in x])
    bounds = shapely.bounds(shapely.intersection(lines, cell))
    return np.asarray(bounds[:, 3] if side > 0 else bounds[:, 1], dtype=np.float64)


def _wall(whole: Polygon, cell: Polygon, x: FloatArray, y: FloatArray) -> float:
    """Least distance [m] from the cell's edge to the skin, or to another cell beside it."""
    others = [whole.exterior, *(r for r in whole.interiors if not cell.boundary.contains(r))]
    return float(shapely.distance(shapely.points(x, y), shapely.union_all(others)).min())


def _radius(x: FloatArray, y: FloatArray, side: int) -> float:
    """Radius [m] of the circle through the edge at a quarter, half and three quarters of the cell."""
    at = x[0] + (x[-1] - x[0]) * np.array([0.25, 0.5, 0.75])
    a, m, b = np.interp(at, x, y)
    rise = side * (m - (a + b) / 2)
    half = (at[2] - at[0]) / 2
    return float((half**2 + rise**2) / (2 * rise)) if rise > 1e-6 * half else float("inf")
