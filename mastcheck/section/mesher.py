"""Regions to six-node triangles, by the constrained Delaunay mesher alone."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon

from mastcheck.errors import GeometryError
from mastcheck.section.elements import Mesh
from mastcheck.section.model import Region

ELEMENTS = {"solid": 300, "hollow": 700, "cells": 1200, "composite": 1000}
"""Triangles asked of the mesher, beyond those the contour's own panels force (measured: J to 0.1 %)."""

SLENDER = 4.0
"""Triangles asked of a solid or open section, over its perimeter² / area: a thin limb is a strip of
squares, and its torsion lives in the few triangles across it."""

MIN_ANGLE = 25.0
"""Least angle of the mesh [deg]; the sharp tail keeps its own."""

MEAN_SHARE = 0.55
"""A triangle's mean area over the greatest that the mesher is allowed."""

MOST_TRIANGLES = 100_000
"""Triangles of one section, about: its solution would take minutes, and its memory gigabytes."""

_MIDDLES = [5, 3, 4]
"""The mesher numbers a triangle's middle nodes by the corner they face; ours follow the edges."""


def mesh_of(regions: tuple[Region, ...], elements: int | None = None) -> Mesh:
    """The mesh of regions that have passed ``check_regions``; nothing else may reach the mesher.

    It works in widths of the section, so that similar sections get the same mesh.

    Args:
        regions: touching polygons [m].
        elements: triangles to aim for; None takes what the construction needs.

    Raises: GeometryError where that is more than MOST_TRIANGLES, before any work is done.
    """
    import cytriangle

    polygons = [r.polygon for r in regions]
    left, low, right, high = shapely.total_bounds(polygons)
    size, origin = max(right - left, high - low), np.array([left, low])
    number: dict[tuple[float, float], int] = {}
    segments: dict[tuple[int, int], None] = {}
    for ring in (r for p in polygons for r in (p.exterior, *p.interiors)):
        points = ((shapely.get_coordinates(ring)[:-1] - origin) / size).tolist()
        place = [number.setdefault((x, y), len(number)) for x, y in points]
        for a, b in zip(place, [*place[1:], place[0]], strict=True):
            segments[min(a, b), max(a, b)] = None
    # Each panel of a contour has a triangle on it, and about one more beside that.
    count = 2 * len(segments) + (elements or _elements(regions))
    if count > MOST_TRIANGLES:
        raise GeometryError(
            f"the section needs a mesh of about {count:,} triangles, and at most {MOST_TRIANGLES:,} are"
            " solved: draw it with fewer points (a larger chord_error), or check that no part of it"
            " is as thin as foil"
        )
    greatest = greatest_area(regions, elements) / size**2
    inside = [(p.representative_point().x, p.representative_point().y) for p in polygons]
    given = {
        "vertices": [list(point) for point in number],
        "segments": [list(pair) for pair in segments],
        "regions": [
            [(x - left) / size, (y - low) / size, i, greatest] for i, (x, y) in enumerate(inside)
        ],
    }
    whole = polygons[0] if len(polygons) == 1 else shapely.union_all(polygons)
    holes = [Polygon(ring).representative_point() for ring in whole.interiors]
    if holes:
        given["holes"] = [[(h.x - left) / size, (h.y - low) / size] for h in holes]
    # B, P: without the markers and segments that would be written out, and are not read.
    made = cytriangle.triangulate(given, f"pq{MIN_ANGLE:.1f}Aao2BP")
    region = np.asarray(made["triangle_attributes"]).ravel().astype(np.int64)
    triangles = np.asarray(made["triangles"], dtype=np.int64)
    triangles[:, 3:] = triangles[:, _MIDDLES]
    return Mesh(
        nodes=np.asarray(made["vertices"], dtype=np.float64) * size + origin,
        triangles=triangles,
        region=region,
        E=np.array([r.material.E for r in regions])[region],
        G=np.array([r.material.G for r in regions])[region],
    )


def greatest_area(regions: tuple[Region, ...], elements: int | None) -> float:
    """Greatest area of a triangle [m²] for the number aimed for."""
    area = sum(r.polygon.area for r in regions)
    return float(area / (MEAN_SHARE * (elements or _elements(regions))))


def _elements(regions: tuple[Region, ...]) -> int:
    """Triangles that the kind of section needs."""
    if len(regions) > 1:
        return ELEMENTS["composite"]
    polygon = regions[0].polygon
    if polygon.interiors:
        return ELEMENTS["hollow" if len(polygon.interiors) == 1 else "cells"]
    return max(ELEMENTS["solid"], int(SLENDER * polygon.length**2 / polygon.area))
