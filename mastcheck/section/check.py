"""Regions refused before the mesher sees them: it would crash, which cannot be caught later."""

from __future__ import annotations

import numpy as np
import shapely

from mastcheck.errors import GeometryError
from mastcheck.section.elements import FloatArray
from mastcheck.section.model import Region
from mastcheck.section.near import near_pairs

LEAST_SPACING = 1e-6
"""Points nearer than this share of the section's width are refused: the mesher would crash."""


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
    # Rounded neighbours share their points to the last bit: each is taken once.
    points = _vertices(polygons)
    points = np.unique(points[:, 0] + 1j * points[:, 1]).view(np.float64).reshape(-1, 2)
    pairs = near_pairs(points, spacing)
    if len(pairs):
        a = pairs[0, 0]
        raise GeometryError(
            f"points nearly coincide at x = {points[a, 0] * 1e3:.6g} mm,"
            f" y = {points[a, 1] * 1e3:.6g} mm:"
            " merge them, or close the gap between the regions"
        )
    # Regions whose every common edge has the same two points are quick to join, and cannot overlap.
    matched = len(polygons) == 1 or bool(shapely.coverage_is_valid(polygons, gap_width=spacing))
    whole = _joined(polygons, matched)
    if not isinstance(whole, shapely.Polygon):
        least = min(shapely.get_parts(whole), key=lambda part: float(part.area)).representative_point()
        raise GeometryError(
            "regions are apart: a section must be one connected piece, and the part around"
            f" x = {least.x * 1e3:.6g} mm, y = {least.y * 1e3:.6g} mm hangs free:"
            " join it to the rest, or state what fills the gap (in a drawing by [section.layers])"
        )
    for ring in whole.interiors:
        hole = shapely.Polygon(ring)
        if hole.area <= spacing * ring.length and hole.buffer(-spacing).is_empty:
            raise GeometryError("a gap between regions: let them share the same contour points")
    if not matched:
        _check_shared_edges(polygons, spacing)


def _joined(polygons: list[shapely.Polygon], matched: bool) -> shapely.Geometry:
    """All regions as one shape. Raises GeometryError where they overlap."""
    if len(polygons) == 1:
        return polygons[0]
    if matched:
        parts = shapely.get_parts(shapely.coverage_union_all(polygons))
        return parts[0] if len(parts) == 1 else shapely.MultiPolygon(list(parts))
    whole = shapely.union_all(polygons)
    if sum(p.area for p in polygons) - whole.area > 1e-9 * whole.area:
        raise GeometryError("regions overlap: cut one with the other's own contour")
    return whole


def _check_region(number: int, region: Region) -> None:
    material, polygon = region.material, region.polygon
    if not isinstance(polygon, shapely.Polygon) or polygon.is_empty or not polygon.is_valid:
        raise GeometryError(
            f"region {number} is not a valid polygon: {shapely.is_valid_reason(polygon)}"
        )
    if not np.isfinite(_vertices([polygon])).all() or polygon.area <= 0:
        raise GeometryError(f"region {number} has no area")
    if not (material.E > 0 and material.G > 0):
        raise GeometryError(f"region {number}: E and G of {material.name} must be positive")
    for ring in (polygon.exterior, *polygon.interiors):
        points = shapely.get_coordinates(ring)
        if np.any(np.all(points[1:] == points[:-1], axis=1)):
            raise GeometryError(f"region {number} repeats a point: merge coincident points first")


def _check_shared_edges(polygons: list[shapely.Polygon], spacing: float) -> None:
    """A point on or near another region's edge must be a point of that region too."""
    for i, a in enumerate(polygons):
        points = _vertices([a])
        for j, b in enumerate(polygons):
            if i == j:
                continue
            own = {tuple(p) for p in _vertices([b]).tolist()}
            stray = np.array([p for p in points.tolist() if tuple(p) not in own]).reshape(-1, 2)
            if len(stray) and shapely.distance(shapely.points(stray), b.boundary).min() < spacing:
                raise GeometryError(
                    f"regions {i} and {j} touch without sharing points: give both the same points"
                )


def _vertices(polygons: list[shapely.Polygon]) -> FloatArray:
    return np.asarray(shapely.get_coordinates(polygons), dtype=np.float64)
