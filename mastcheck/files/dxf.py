"""Sections as DXF: a template for filing, or a die query."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import shapely
from shapely import LinearRing, Polygon

from mastcheck.errors import GeometryError
from mastcheck.material import Material
from mastcheck.section.model import Region

VOID = "VOID"
OUTLINE = "OUTLINE"
NOTES = "NOTES"
ZONE = "ZONE "
"""Layers of voids, of the outline and the zones of a section that cannot be nested, and of text."""

LEGAL_LENGTH = 200
_ILLEGAL = frozenset('<>/\\":;?*=|`,')
_SAME = 2e-9
"""Rings nearer than this [m] throughout are one ring: twice the grid that sections are built on."""

_DECIMALS = 7
"""Of a millimetre: 0.1 nm, under the grid that sections are built on."""

Loops = list[tuple[str, LinearRing]]


def section_dxf(regions: Sequence[Region], *, name: str) -> bytes:
    """A section as a DXF file (R2010) in millimetres, closed polylines on named layers.

    A section whose regions nest is written loop by loop: the outline on the layer of its material,
    each loop inside on the layer of what fills it, voids on ``VOID``. A shared edge is written once.
    Layers bear the materials' names (``layer_name``), so that a reader given fills by material name
    has the very same section again, moved to the drawing's axes.

    Regions that touch side by side (a skin in zones) are no nested loops. Then the outline is
    written on ``OUTLINE``, the voids on ``VOID``, and the zones, for information, on layers that begin
    with ``ZONE``. Read back as it is, such a file is refused, since its loops touch; with the zones'
    layers ignored it is the outline with its voids, of one material. ``is_nested`` tells which.

    The same regions give the same bytes.

    Args:
        regions: regions of one section [m].
        name: written under the section.

    Raises:
        GeometryError: regions that do not hang together, or two materials whose names are one layer.
    """
    layers = _layers(regions)
    parts = _parts(regions)
    loops = _nested(parts, layers) or _side_by_side(parts, layers)
    return _written(loops, name)


def is_nested(regions: Sequence[Region]) -> bool:
    """Whether ``section_dxf`` writes these regions as loops that are the section when read back.

    Raises: GeometryError as ``section_dxf``.
    """
    return bool(_nested(_parts(regions), _layers(regions)))


def layer_name(text: str) -> str:
    """A text as a DXF layer's name: without the characters that layer names must not have.

    >>> layer_name("PVC foam 80")
    'PVC foam 80'
    >>> layer_name("cedar/balsa")
    'cedar_balsa'
    """
    kept = "".join("_" if c in _ILLEGAL or not c.isprintable() else c for c in text)
    return kept.strip()[:LEGAL_LENGTH].strip() or "_"


def _layers(regions: Sequence[Region]) -> dict[str, str]:
    """Layer of each material, by its name.

    Raises: GeometryError for names that a layer cannot tell apart.
    """
    layers: dict[str, str] = {}
    taken = {VOID.casefold(): VOID}
    for material in dict.fromkeys(region.material.name for region in regions):
        layer = layer_name(material)
        if layer.casefold() in taken:
            raise GeometryError(
                f"in a DXF file {material!r} and {taken[layer.casefold()]!r} would share the layer"
                f" {layer!r}; give the material another name"
            )
        taken[layer.casefold()] = material
        layers[material] = layer
    return layers


def _parts(regions: Sequence[Region]) -> list[tuple[Polygon, Material]]:
    """Regions of one material that touch, made one.

    Raises: GeometryError where no outline holds them all.
    """
    if not regions:
        raise GeometryError("a section without regions cannot be drawn")
    by_material: dict[str, tuple[Material, list[Polygon]]] = {}
    for region in regions:
        by_material.setdefault(region.material.name, (region.material, []))[1].append(region.polygon)
    return [
        (polygon, material)
        for material, polygons in by_material.values()
        for polygon in _polygons(shapely.union_all(polygons))
    ]


def _nested(parts: list[tuple[Polygon, Material]], layers: dict[str, str]) -> Loops:
    """Loops of parts that lie in one another, outermost first; none where they lie side by side."""
    whole = shapely.union_all([polygon for polygon, _ in parts])
    outline = max((p.exterior for p in _polygons(whole)), key=lambda ring: Polygon(ring).area)
    holes = [hole for polygon, _ in parts for hole in polygon.interiors]
    filled: set[int] = set()
    outer: Loops = []
    inner: Loops = []
    for polygon, material in parts:
        layer = layers[material.name]
        if _same(polygon.exterior, outline):
            outer.append((layer, polygon.exterior))
            continue
        match = [k for k, hole in enumerate(holes) if _same(hole, polygon.exterior)]
        others = [p for p, _ in parts if p is not polygon]
        if not match and shapely.distance(polygon, shapely.union_all(others)) <= _SAME:
            return []  # it touches a neighbour along a part of its edge only
        filled.update(match)
        inner.append((layer, polygon.exterior))
    if len(outer) != 1 or not all(Polygon(outline).covers(p) for p, _ in parts):
        return []
    return outer + inner + [(VOID, hole) for k, hole in enumerate(holes) if k not in filled]


def _side_by_side(parts: list[tuple[Polygon, Material]], layers: dict[str, str]) -> Loops:
    """The outline and voids of all parts together, and the parts for information.

    Raises: GeometryError where the parts do not hang together.
    """
    whole = shapely.union_all([polygon for polygon, _ in parts])
    if not isinstance(whole, Polygon):
        raise GeometryError("the section's regions do not hang together; its outline cannot be drawn")
    zones = [
        (layer_name(ZONE + layers[material.name]), ring)
        for polygon, material in parts
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    return [(OUTLINE, whole.exterior), *((VOID, ring) for ring in whole.interiors), *zones]


def _same(a: LinearRing, b: LinearRing) -> bool:
    near = np.abs(np.subtract(a.bounds, b.bounds)).max() <= _SAME
    return bool(near and shapely.hausdorff_distance(a, b) <= _SAME)


def _polygons(shape: Any) -> Iterator[Polygon]:
    return (part for part in shapely.get_parts(shape) if isinstance(part, Polygon))


def _ring_mm(ring: LinearRing) -> list[tuple[float, float]]:
    """Points [mm], counter-clockwise from the aftmost, the first not repeated."""
    points = np.round(np.array(ring.coords)[:-1, :2] * 1e3, _DECIMALS) + 0.0  # no -0
    if not ring.is_ccw:
        points = points[::-1]
    begin = int(np.lexsort((-points[:, 1], -points[:, 0]))[0])
    return [(float(x), float(y)) for x, y in np.roll(points, -begin, axis=0)]


def _written(loops: Loops, name: str) -> bytes:
    """The file of the loops and the name, without dates, versions or random numbers."""
    import ezdxf
    from ezdxf.filemanagement import new

    options: Any = ezdxf.options  # type: ignore[attr-defined]  # the library lists no exports
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # else dates and random marks are written
    try:
        doc = new("R2010", units=4)
        space = doc.modelspace()
        for layer in dict.fromkeys([*(layer for layer, _ in loops), NOTES]):
            if layer not in doc.layers:
                doc.layers.add(layer)
        rings = [(layer, _ring_mm(ring)) for layer, ring in loops]
        for layer, points in rings:
            space.add_lwpolyline(points, close=True, dxfattribs={"layer": layer})
        low, high = (f([p for _, points in rings for p in points], axis=0) for f in (np.min, np.max))
        text = "".join(c if c.isprintable() else " " for c in name)
        note = space.add_text(text, height=2.5, dxfattribs={"layer": NOTES})
        note.set_placement((float(low[0]), float(low[1]) - 6.0))
        middle, width = (low + high) / 2, float(high[0] - low[0])
        doc.set_modelspace_vport(height=0.6 * width, center=(float(middle[0]), float(middle[1])))
        for kind in sorted(doc.entitydb.dxf_types_in_use()):
            doc.classes.add_class(kind)  # in order, or the library adds them in that of a set
        out = io.StringIO()
        doc.write(out)
        return out.getvalue().encode(doc.output_encoding, errors="dxfreplace")
    finally:
        options.write_fixed_meta_data_for_testing = before
