"""Cross-section regions of a mast at any station: valid polygons on a fixed grid."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, box, set_precision
from shapely.geometry.base import BaseGeometry

from mastcheck.errors import GeometryError
from mastcheck.mast import Construction, Mast, SectionRecipe, Station, Web
from mastcheck.outline import contour
from mastcheck.section.model import Region

FloatArray = NDArray[np.float64]

GRID = 1e-9
"""Grid [m] every point is put on, so that shared edges are shared to the last bit."""

MIN_SPACING = 2e-5
"""Least distance between neighbouring points, over the chord. Coincident points (below 1e-12 of
the chord) crash the mesher's whole process; this is far above, and under the finest panel's 2.5e-4."""

BLUNT = 0.1
"""Sharp tips of the void are blunted to this share of the wall, each side of the chord line.

No die or laminate has a knife-edged inner corner. Measured on a 120 x 14.4 mm blade with a 2.5 mm
wall: from 0.05 to 0.2 GJ rises 1.2 % and the peak torsion stress at the tip falls by half, so that
peak is a property of the inner radius assumed here, not of the blade."""

TINY_VOID = 0.5
"""A void piece smaller than this many wall-squares is taken as filled."""


def regions_at(mast: Mast, at: float, *, panels: int = 100) -> tuple[Region, ...]:
    """Regions of the cross-section at a fraction of the length, origin on the stacking line.

    Solid and hollow sections are one region; shell-and-core is the skin (with any webs, which are
    skin material) followed by one region for each core cell, sharing the skin's ring points exactly.

    Args:
        mast: the mast.
        at: fraction of the length, 0 base to 1 tip.
        panels: straight panels on each side of the contour.

    Returns:
        Regions with polygons in section axes [m], x aft and y to port.

    Raises:
        GeometryError: sizes that are no section's, a wall that leaves no void, a missing wall or core.
    """
    station = mast.station_at(at)
    recipe = mast.section
    points = contour(
        recipe.outline,
        chord=station.chord,
        thickness=station.thickness,
        trailing_edge_radius=recipe.trailing_edge_radius,
        panels=panels,
    )
    shift = np.array([mast.taper_about * station.chord, 0.0])
    spacing = MIN_SPACING * station.chord
    outer = clean_ring(points - shift, spacing)
    if recipe.construction is Construction.SOLID:
        return (Region(polygon=valid_polygon(outer), material=recipe.material),)
    holes = _void_rings(outer, station, recipe, float(shift[0]), spacing)
    skin = Region(polygon=valid_polygon(outer, holes), material=recipe.material)
    if recipe.construction is Construction.HOLLOW:
        return (skin,)
    if recipe.core is None:
        raise GeometryError('construction = "shell-and-core" needs a core material; state core = "..."')
    core = recipe.core
    return (skin, *(Region(polygon=valid_polygon(ring), material=core) for ring in holes))


def clean_ring(points: FloatArray, spacing: float) -> FloatArray:
    """Ring points on the grid with neighbours at least ``spacing`` apart; near ones are merged.

    Args:
        points: (n, 2) ring [m], first point not repeated.
        spacing: least distance between neighbours [m].

    Returns:
        (m, 2) ring [m], m <= n.
    """
    kept: list[FloatArray] = []
    for point in np.round(np.asarray(points, float) / GRID) * GRID:
        if not kept or float(np.hypot(*(point - kept[-1]))) >= spacing:
            kept.append(point)
    while len(kept) > 1 and float(np.hypot(*(kept[-1] - kept[0]))) < spacing:
        kept.pop()
    return np.array(kept)


def valid_polygon(outer: FloatArray, holes: tuple[FloatArray, ...] = ()) -> Polygon:
    """The polygon of an outer ring and holes [m].

    Raises: GeometryError when it is not a valid, non-empty polygon.
    """
    if len(outer) < 3 or any(len(h) < 3 for h in holes):
        raise GeometryError("a contour needs three points that do not coincide")
    polygon = Polygon(outer, holes)
    if not polygon.is_valid or polygon.area <= 0:
        raise GeometryError("the section's contour crosses itself; check chord, thickness and wall")
    return polygon


def _void_rings(
    outer: FloatArray, station: Station, recipe: SectionRecipe, shift: float, spacing: float
) -> tuple[FloatArray, ...]:
    """Rings (n, 2) [m] of the void cells inside the walls and between the webs, nose to tail."""
    wall = station.wall
    if wall is None:
        raise GeometryError(
            f'construction = "{recipe.construction}" needs a wall; state wall = "..." or use "solid"'
        )
    if wall < 0.01 * station.thickness:
        raise GeometryError(
            f"wall {wall * 1e3:.6g} mm is under 1 % of the thickness {station.thickness * 1e3:.6g} mm;"
            " check its unit"
        )
    void = _opened(Polygon(outer), wall, BLUNT * wall)
    for web in recipe.webs:
        void = void.difference(_web_box(web, station, shift))
    if recipe.webs:
        void = _opened(void, 0.0, BLUNT * wall)  # a web may leave a sliver at a tip
    cells = [cell for cell in _polygons(void) if cell.area > TINY_VOID * wall**2]
    if not cells:
        raise GeometryError(
            f"wall {wall * 1e3:.6g} mm leaves no void in a half-thickness of"
            f' {station.thickness * 500:.6g} mm; use construction = "solid" or a thinner wall'
        )
    rings = [clean_ring(np.array(c.exterior.coords)[:-1], spacing) for c in cells]
    return tuple(sorted(rings, key=lambda ring: float(ring[:, 0].min())))


def _opened(shape: BaseGeometry, inset: float, blunt: float) -> BaseGeometry:
    """The shape inset, its tips blunted: shrunk too far, then grown back with clipped corners."""
    mitre = {"join_style": "mitre", "mitre_limit": 5.0}
    shrunk = shape.buffer(-(inset + blunt), **mitre)
    return set_precision(shrunk.buffer(blunt, join_style="mitre", mitre_limit=1.02), GRID)


def _web_box(web: Web, station: Station, shift: float) -> BaseGeometry:
    if not 0 < web.at < 1 or not 0 < web.thickness < station.chord:
        raise GeometryError(
            f"web at {web.at:.6g} of the chord, {web.thickness * 1e3:.6g} mm thick,"
            " is not inside the blade"
        )
    x = web.at * station.chord - shift
    return box(x - web.thickness / 2, -station.thickness, x + web.thickness / 2, station.thickness)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return list(shape.geoms) if isinstance(shape, MultiPolygon) else []
