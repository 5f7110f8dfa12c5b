"""Cross-section regions of a mast at any station: valid polygons on a fixed grid."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from mastcheck.errors import GeometryError
from mastcheck.laminate import Laminate, Ply
from mastcheck.mast import Channel, Construction, Mast, SectionRecipe, Station, Zone
from mastcheck.material import Material, laminate_material
from mastcheck.section.contours import Loop, loops_at
from mastcheck.section.model import Region
from mastcheck.section.near import near_pairs
from mastcheck.section.voids import GRID, Blade, Hollow, bores, disc, hollow, polygons, zone_bands

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
Part = tuple[BaseGeometry, Material]

SETTLE = 8
"""Times that near points of a net are joined: joining one may bring it near to another."""

MIN_SPACING = 2e-5
"""Least distance between neighbouring points, over the chord. Coincident points (below 1e-12 of
the chord) crash the mesher's whole process; this is far above, and under the finest panel's 2.5e-4."""


def regions_at(mast: Mast, at: float, *, panels: int = 100) -> tuple[Region, ...]:
    """Regions of the cross-section at a fraction of the length, origin on the stacking line.

    Solid and hollow sections of one material are one region. Cores follow the skin, one region for
    each cell; a laminated skin is one region for each zone whose plies differ; a drawn section is
    one region for each filled loop. Neighbours share their points exactly.

    Args:
        mast: the mast.
        at: fraction of the length, 0 base to 1 tip.
        panels: straight panels on each side of a built-in contour.

    Returns:
        Regions with polygons in section axes [m], x aft and y to port.

    Raises:
        GeometryError: sizes that are no section's, a wall that leaves no void, a missing wall or core.
    """
    station = mast.station_at(at)
    recipe = mast.section
    loops = loops_at(mast, station, panels)
    spacing = MIN_SPACING * station.chord
    rings = [clean_ring(loop.sides.ring(), spacing) for loop in loops]
    if recipe.construction is Construction.DRAWN:
        return _drawn(loops, rings)
    if len(loops) > 1:
        raise GeometryError(
            f'the drawing has {len(loops)} loops, which construction = "{recipe.construction}" cannot'
            ' fill: write construction = "drawn", or draw the outline alone'
        )
    blade = Blade(
        outer=valid_polygon(rings[0]),
        sides=loops[0].sides,
        chord=station.chord,
        thickness=station.thickness,
        nose_x=-mast.taper_about * station.chord,
        recipe=recipe,
    )
    if recipe.construction is Construction.SOLID:
        holes = [clean_ring(_ring(bore), spacing) for bore in bores(blade)]
        if all(channel.material is None for channel in recipe.channels):
            return (Region(polygon=valid_polygon(rings[0], holes), material=recipe.material),)
        return _arranged(_solid_parts(blade), station.chord)
    laminates = _laminates(station, recipe)
    void = _hollow(blade, station, laminates)
    if len(set(laminates.values())) > 1 or any(c.material for c in recipe.channels) or _islands(void):
        return _arranged(_parts(blade, void, laminates), station.chord)
    skin = laminates.get(Zone.FACES, recipe.material)
    cells = [clean_ring(_ring(cell), spacing) for cell in void.cells]
    holes = [clean_ring(_ring(bore), spacing) for bore in bores(blade, void.cells)]
    region = Region(polygon=valid_polygon(rings[0], [*cells, *holes]), material=skin)
    if recipe.construction is Construction.HOLLOW:
        return (region,)
    core = _core(recipe)
    return (region, *(Region(polygon=valid_polygon(cell), material=core) for cell in cells))


def clean_ring(points: FloatArray, spacing: float) -> FloatArray:
    """Ring points on the grid with neighbours at least ``spacing`` apart; near ones are merged.

    Args:
        points: (n, 2) ring [m], first point not repeated.
        spacing: least distance between neighbours [m].

    Returns:
        (m, 2) ring [m], m <= n.
    """
    rounded = np.round(np.asarray(points, float) / GRID) * GRID
    step = rounded - np.roll(rounded, 1, axis=0)
    if np.hypot(step[:, 0], step[:, 1]).min() >= spacing:
        return rounded
    kept: list[FloatArray] = []
    for point in rounded:
        if not kept or float(np.hypot(*(point - kept[-1]))) >= spacing:
            kept.append(point)
    while len(kept) > 1 and float(np.hypot(*(kept[-1] - kept[0]))) < spacing:
        kept.pop()
    return np.array(kept)


def valid_polygon(outer: FloatArray, holes: Sequence[FloatArray] = ()) -> Polygon:
    """The polygon of an outer ring and holes [m].

    Raises: GeometryError when it is not a valid, non-empty polygon.
    """
    if len(outer) < 3 or any(len(h) < 3 for h in holes):
        raise GeometryError("a contour needs three points that do not coincide")
    polygon = Polygon(outer, holes)
    if not polygon.is_valid or polygon.area <= 0:
        raise GeometryError("the section's contour crosses itself; check chord, thickness and wall")
    return polygon


def cut_to(regions: Sequence[Region], shape: Polygon) -> tuple[Region, ...]:
    """What of the regions lies inside a shape [m], their common edges sharing every point again.

    Raises: GeometryError when a polygon left is not valid.
    """
    left, _, right, _ = shape.bounds
    return _arranged([(r.polygon.intersection(shape), r.material) for r in regions], right - left)


def _drawn(loops: Sequence[Loop], rings: Sequence[FloatArray]) -> tuple[Region, ...]:
    """One region for each filled loop, less the loops inside it."""
    out = []
    for i, (loop, ring) in enumerate(zip(loops, rings, strict=True)):
        if loop.fill is not None:
            inside = [r for r, other in zip(rings, loops, strict=True) if other.parent == i]
            out.append(Region(polygon=valid_polygon(ring, inside), material=loop.fill))
    return tuple(out)


def _hollow(blade: Blade, station: Station, laminates: dict[Zone, Material]) -> Hollow:
    """The hollow inside a stated wall, or inside the plies."""
    recipe = blade.recipe
    if not laminates:
        if station.wall is None:
            raise GeometryError(
                f'construction = "{recipe.construction}" needs a wall; state wall = "..." or use "solid"'
            )
        return hollow(blade, station.wall, None)
    thick = {zone: _thickness(material) for zone, material in laminates.items()}
    skin: dict[Zone, float] = {zone: t for zone, t in thick.items() if zone is not Zone.WEBS}
    wall: float | dict[Zone, float] = skin
    if len(set(skin.values())) == 1:
        wall = skin[Zone.FACES]
    return hollow(blade, wall, thick.get(Zone.WEBS))


def _laminates(station: Station, recipe: SectionRecipe) -> dict[Zone, Material]:
    """The laminate of each zone, homogenised; zones of equal plies share one material."""
    if not station.plies:
        return {}
    zones = [zone for zone in Zone if zone is not Zone.WEBS or recipe.webs]
    plies: dict[Zone, tuple[Ply, ...]] = {}
    for zone in zones:
        plies[zone] = tuple(
            Ply(lamina=p.lamina, angle=p.angle, thickness=p.thickness)
            for p in station.plies
            if zone in p.zones and p.thickness > 0
        )
        if not plies[zone]:
            raise GeometryError(f"no ply is left in the {zone} at {station.at:.6g} of the length")
    out: dict[Zone, Material] = {}
    for zone in zones:
        alike = [z for z in zones if plies[z] == plies[zone]]
        if alike[0] in out:
            out[zone] = out[alike[0]]
            continue
        name = f"laminate of {', '.join(alike)}" if len(alike) < len(zones) else "laminate"
        out[zone] = _homogenised(name, Laminate(plies=plies[zone], knock_down=recipe.knock_down))
    return out


@lru_cache(maxsize=256)
def _homogenised(name: str, laminate: Laminate) -> Material:
    """A laminate's material, kept: a section's neighbours along z often have the same plies."""
    return laminate_material(name, laminate)


def _thickness(material: Material) -> float:
    if material.laminate is None:
        raise GeometryError(f"{material.name} has no plies")
    return material.laminate.thickness


def _core(recipe: SectionRecipe) -> Material:
    if recipe.core is None:
        raise GeometryError('construction = "shell-and-core" needs a core material; state core = "..."')
    return recipe.core


def _islands(void: Hollow) -> bool:
    """Whether a boss stands free inside a cell."""
    return any(len(cell.interiors) for cell in void.cells)


def _solid_parts(blade: Blade) -> list[Part]:
    """A solid blade with channels, some lined with a material of their own."""
    holes = shapely.union_all(bores(blade))
    parts: list[Part] = []
    body: BaseGeometry = blade.outer.difference(holes)
    for channel in blade.recipe.channels:
        if channel.material is not None:
            lining = _lining(blade, channel).difference(holes)
            body = body.difference(lining)
            parts.append((lining, channel.material))
    return [(body, blade.recipe.material), *parts]


def _lining(blade: Blade, channel: Channel) -> BaseGeometry:
    """A channel's boss inside the outline, its bore not yet taken out."""
    return disc(channel, channel.boss, blade).intersection(blade.outer)


def _parts(blade: Blade, void: Hollow, laminates: dict[Zone, Material]) -> list[Part]:
    """Skin by zones, webs, bosses and cores as disjoint parts, in the order they are listed."""
    recipe = blade.recipe
    if recipe.construction is Construction.HOLLOW and _islands(void):
        ring = next(cell.interiors[0] for cell in void.cells if len(cell.interiors))
        x, y = ring.centroid.x * 1e3, ring.centroid.y * 1e3
        raise GeometryError(
            f"a channel's boss hangs free in the hollow at x = {x + 0.0:.4g} mm, y = {y:.4g} mm, where"
            f" the blade is {blade.chord * 1e3:.4g} mm wide: let it touch a wall or a web"
        )
    holes = shapely.union_all(bores(blade, void.cells))
    cells = shapely.union_all(void.cells)
    solid = blade.outer.difference(cells).difference(holes)
    lined: list[Part] = []
    for channel in recipe.channels:
        material = channel.material or (laminates.get(Zone.WEBS) if laminates else None)
        if material is not None and channel.boss > 0:
            lining = _lining(blade, channel)
            # A boss of the skin's own material is cut from the hollow only, not from the skin.
            lining = lining if channel.material else lining.intersection(void.inner)
            lined.append((lining.difference(holes), material))
    rest: BaseGeometry = solid.difference(shapely.union_all([part for part, _ in lined]))
    parts: list[Part] = []
    if laminates:
        # A web ends at the skin; corners rounded beside it, and tips filled, are the skin's.
        strips = void.inner.intersection(shapely.union_all(void.webs))
        # Where edges nearly coincide, stray lines are left, which the next cut would not take.
        within = shapely.MultiPolygon(polygons(rest.intersection(strips)))
        rest = rest.difference(within)
        merged: dict[Material, list[BaseGeometry]] = {}
        for zone, band in zone_bands(blade):
            merged.setdefault(laminates[zone], []).append(rest.intersection(band))
        parts += [(shapely.union_all(pieces), material) for material, pieces in merged.items()]
        if recipe.webs:
            parts.append((within, laminates[Zone.WEBS]))
    else:
        parts.append((rest, recipe.material))
    parts += lined
    if recipe.construction is Construction.SHELL_AND_CORE:
        core = _core(recipe)
        parts += [(cell.difference(holes), core) for cell in void.cells]
    return parts


def _arranged(parts: Sequence[Part], chord: float) -> tuple[Region, ...]:
    """The parts as regions whose common edges share every point.

    All edges are joined at their crossings; each face of that net belongs to the part its middle
    lies in. Faces of one material that touch are one region again.
    """
    # Differences leave stray lines beside their polygons.
    solids = [(shapely.MultiPolygon(polygons(shape)), material) for shape, material in parts]
    net = shapely.union_all([shapely.boundary(shape) for shape, _ in solids], grid_size=GRID)
    net = _spaced(net, MIN_SPACING * chord)
    faces = [f for f in polygons(shapely.polygonize([net])) if f.area > GRID * f.length]
    by_material: dict[Material, list[Polygon]] = {}
    middles = [face.representative_point() for face in faces]
    for shape, material in solids:
        shapely.prepare(shape)
        own = [f for f, middle in zip(faces, middles, strict=True) if shape.contains(middle)]
        by_material.setdefault(material, []).extend(own)
    # A guard on the geometry library: joining near points moves edges by less than their spacing.
    stated = sum(shape.area for shape, _ in solids)
    made = sum(f.area for own in by_material.values() for f in own)
    if abs(made - stated) > MIN_SPACING * chord * net.length:
        raise GeometryError(
            f"the section's parts could not be joined ({made * 1e6:.6g} of {stated * 1e6:.6g} mm²):"
            " change a size by a thousandth, and report it with the mast file"
        )
    return tuple(
        Region(polygon=polygon, material=material)
        for material, own in by_material.items()
        for polygon in polygons(shapely.coverage_union_all(own))
    )


def _spaced(net: BaseGeometry, spacing: float) -> BaseGeometry:
    """The net of edges with points nearer than ``spacing`` to each other, or to an edge, made one."""
    for _ in range(SETTLE):
        along, line = shapely.get_coordinates(shapely.get_parts(net), return_index=True)
        ends = np.stack([along[:-1], along[1:]], axis=1)[line[1:] == line[:-1]]
        points, place = np.unique(ends.reshape(-1, 2), axis=0, return_inverse=True)
        home = np.arange(len(points))
        for a, b in near_pairs(points, spacing).tolist():
            home[b] = home[a] if home[a] != a else a
        pairs = np.unique(np.sort(home[place.reshape(-1, 2)], axis=1), axis=0)
        pairs = pairs[pairs[:, 0] != pairs[:, 1]]
        split = _split(points, np.unique(home), pairs, spacing)
        if np.array_equal(split, pairs) and (home == np.arange(len(points))).all():
            break
        net = shapely.union_all(shapely.linestrings(points[split]), grid_size=GRID)
    return net


def _split(points: FloatArray, kept: IntArray, pairs: IntArray, spacing: float) -> IntArray:
    """Edges (n, 2) between points, cut at every other kept point that lies nearer than ``spacing``."""
    tree = shapely.STRtree(shapely.linestrings(points[pairs]))
    at, edge = tree.query(shapely.points(points[kept]), predicate="dwithin", distance=spacing)
    point = kept[at]
    inside = (point != pairs[edge, 0]) & (point != pairs[edge, 1])
    point, edge = point[inside], edge[inside]
    out = [np.delete(pairs, edge, axis=0)]
    for e in np.unique(edge):
        a, b = pairs[e]
        inner = point[edge == e]
        along = (points[inner] - points[a]) @ (points[b] - points[a])
        chain = np.array([a, *inner[np.argsort(along)], b])
        out.append(np.sort(np.stack([chain[:-1], chain[1:]], axis=1), axis=1))
    return np.unique(np.concatenate(out), axis=0)


def _ring(polygon: Polygon) -> FloatArray:
    return np.asarray(shapely.get_coordinates(polygon.exterior)[:-1])
