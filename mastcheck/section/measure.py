"""Sizes measured on a section as it is built: walls, webs, bores, edge radii, circumscribing circle."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Literal

import shapely
from shapely import LinearRing, LineString, Polygon

from mastcheck.material import Material
from mastcheck.section.model import Region

EDGE_REACH = 2e-5
"""An edge's radius is that of the largest disc inside that comes this near to its end [m]: below what
a hand or a gauge finds on an edge. It makes radii come out up to 7 µm too large, a knife edge's too."""

PANELLED = 0.01
"""Further reach, over the radius: what twelve straight panels cut off a half circle, and a little."""

ROUND = 0.95
"""Least 4π area / perimeter² of a round hole: 1 for a circle, 0.91 for a hexagon."""

SOFT = 0.1
"""A region below this share of the stiffest one's E is a filling, no skin."""

LARGEST_BORE = 0.013
"""Round holes up to this diameter [m] are taken as screw holes: an M12's clearance hole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A thickness between two boundaries [m], and the middle of the place it was found at [m]."""

    thickness: float
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """A round hole: diameter, the least material around it, and its centre, all [m]."""

    diameter: float
    around: float
    x: float
    y: float


def outer_shape(regions: tuple[Region, ...]) -> Polygon:
    """The section's outline, filled."""
    return _outer_shape(tuple(r.polygon for r in regions))


@lru_cache(maxsize=512)
def _outer_shape(polygons: tuple[Polygon, ...]) -> Polygon:
    whole = shapely.union_all(polygons)
    return Polygon(max(shapely.get_parts(whole), key=lambda p: p.area).exterior)


def circumscribing_diameter(shape: Polygon) -> float:
    """Diameter of the least circle around a shape [m], as dies are sized."""
    return 2 * float(shapely.minimum_bounding_radius(shape))


@lru_cache(maxsize=1024)
def edge_radius(shape: Polygon, end: Literal["nose", "tail"]) -> float:
    """Radius of the nose or the tail as built [m].

    That of the largest disc inside the shape that comes within ``EDGE_REACH`` of its end (and a
    hundredth of the radius, for arcs drawn as panels): nearly nil for a knife edge, half the height
    of a square-cut tail, or a little more where its faces open quickly.

    >>> round(edge_radius(Polygon([(0, -0.001), (0.1, -0.001), (0.1, 0.001), (0, 0.001)]), "tail"), 6)
    0.001
    """
    left, low, right, high = shape.bounds

    def reaches(radius: float) -> bool:
        core = shape.buffer(-radius, join_style="mitre", mitre_limit=100.0)
        if core.is_empty:
            return False
        gap = core.bounds[0] - left if end == "nose" else right - core.bounds[2]
        return bool(gap - radius <= EDGE_REACH + PANELLED * radius)

    near, far = 0.0, (high - low) / 2
    for _ in range(32):
        middle = (near + far) / 2
        near, far = (middle, far) if reaches(middle) else (near, middle)
    return near


def bores(regions: tuple[Region, ...]) -> tuple[Bore, ...]:
    """Round holes of screw size, nose to tail, each with the least material of its own region around."""
    found = []
    for region in regions:
        rings = list(region.polygon.interiors)  # one object for each, not a new one at every turn
        for ring in rings:
            if not _is_bore(ring) or _filled(ring, regions):
                continue
            others = [region.polygon.exterior, *(r for r in rings if r is not ring)]
            hole = Polygon(ring)
            found.append(
                Bore(
                    diameter=2 * math.sqrt(hole.area / math.pi),
                    around=min(float(ring.distance(other)) for other in others),
                    x=hole.centroid.x,
                    y=hole.centroid.y,
                )
            )
    return tuple(sorted(found, key=lambda bore: (bore.x, bore.y)))


def cells(regions: tuple[Region, ...], core: Material | None = None) -> tuple[Polygon, ...]:
    """Voids and core-filled cells inside the skin, nose to tail; screw holes are none.

    A core is the recipe's, or any region softer than a tenth of the stiffest (a drawn foam island).
    """
    stiffest = max(r.material.E for r in regions)
    parts = shapely.get_parts(
        shapely.union_all(
            [r.polygon for r in regions if r.material != core and SOFT * stiffest < r.material.E]
        )
    )
    skin = max(parts, key=lambda p: shapely.area(shapely.envelope(p)))
    found = [Polygon(ring) for ring in skin.interiors if not _is_bore(ring) or _filled(ring, regions)]
    return tuple(sorted(found, key=lambda cell: cell.bounds[0]))


def walls(shape: Polygon, inside: tuple[Polygon, ...]) -> tuple[Gap, ...]:
    """The thinnest wall between each cell and the outside."""
    return tuple(_gap(cell.exterior, shape.exterior) for cell in inside)


def webs(inside: tuple[Polygon, ...], holes: tuple[Bore, ...] = ()) -> tuple[Gap, ...]:
    """The thinnest place of the web between each cell and the next one aft; a bore's boss is none."""
    gaps = [_gap(a.exterior, b.exterior) for a, b in pairwise(inside)]

    def at_boss(gap: Gap) -> bool:
        return any(
            math.hypot(gap.x - hole.x, gap.y - hole.y) <= hole.diameter / 2 + hole.around
            for hole in holes
        )

    return tuple(gap for gap in gaps if not at_boss(gap))


def thickness_at(shape: Polygon, x: float) -> float:
    """Thickness of a filled shape across the chord at x [m]."""
    _, low, _, high = shape.bounds
    return float(shape.intersection(LineString([(x, low - 1), (x, high + 1)])).length)


def tongue_ratio(shape: Polygon) -> float:
    """Greatest area over squared mouth of the open gaps in an outline: how slender a die's tongue is."""
    hull = shape.convex_hull
    ratios = [0.0]
    for part in shapely.get_parts(hull.difference(shape)):
        mouth = float(part.boundary.intersection(hull.boundary).length)
        if mouth > 0:
            ratios.append(float(part.area) / mouth**2)
    return max(ratios)


def _gap(a: LinearRing, b: LinearRing) -> Gap:
    line = shapely.shortest_line(a, b)
    middle = line.centroid
    return Gap(thickness=float(line.length), x=float(middle.x), y=float(middle.y))


def _is_bore(ring: LinearRing) -> bool:
    hole = Polygon(ring)
    roundness = 4 * math.pi * hole.area / ring.length**2
    return roundness > ROUND and 2 * math.sqrt(hole.area / math.pi) <= LARGEST_BORE


def _filled(ring: LinearRing, regions: tuple[Region, ...]) -> bool:
    hole = Polygon(ring)
    return any(r.polygon.intersection(hole).area > 1e-6 * hole.area for r in regions)
