"""The closed loops of a mast's outline at any station, in section axes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon, box

from mastcheck.drawn import Coordinates, Drawing
from mastcheck.errors import GeometryError
from mastcheck.mast import Mast, ModifiedNaca, Outline, Ruled, SectionRecipe, Station, outline_name
from mastcheck.material import Material
from mastcheck.outline import MODIFIED, Sides, family_sides

FloatArray = NDArray[np.float64]

RULED_ERROR = 1e-6
"""Points of a ruled contour that lie this near [chords] to the line without them are left out."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Loop:
    """A closed loop by its two faces [m], what fills it (None: void), and the loop around it."""

    sides: Sides
    fill: Material | None
    parent: int | None = None


def loops_at(mast: Mast, station: Station, panels: int) -> tuple[Loop, ...]:
    """Loops of the outline at a station, the outermost first, origin on the stacking line.

    Args:
        mast: the mast, for its recipe and stacking line.
        station: sizes from ``Mast.station_at``.
        panels: straight panels on each side of a built-in contour.

    Returns:
        One loop for a plain outline; those of the drawing where it has more.

    Raises:
        GeometryError: sizes that are no section's, or outlines that cannot be ruled together.
    """
    outline = station.outline or mast.section.outline
    loops = _loops(outline, station, mast.section, panels)
    shift = np.array([mast.taper_about * station.chord, 0.0])
    return tuple(
        Loop(
            sides=Sides(port=loop.sides.port - shift, starboard=loop.sides.starboard - shift),
            fill=loop.fill,
            parent=loop.parent,
        )
        for loop in loops
    )


def _loops(outline: Outline, station: Station, recipe: SectionRecipe, panels: int) -> tuple[Loop, ...]:
    """Loops with the leading edge at x = 0."""
    if isinstance(outline, Ruled):
        a, b = outline.first, outline.second
        first = _loops(a.outline or recipe.outline, a, recipe, panels)
        second = _loops(b.outline or recipe.outline, b, recipe, panels)
        return _ruled(outline, first, second)
    if isinstance(outline, Drawing):
        scale = np.array([station.chord / outline.chord, station.thickness / outline.thickness])
        return tuple(
            Loop(sides=sides_of(loop.points * scale), fill=loop.fill, parent=loop.parent)
            for loop in outline.loops
        )
    if isinstance(outline, Coordinates):
        sides = _finished(outline, station, recipe)
    else:
        shape = {}
        if isinstance(outline, ModifiedNaca):
            shape = {"nose_index": outline.nose_index, "greatest_at": outline.greatest_at}
        sides = family_sides(
            MODIFIED if isinstance(outline, ModifiedNaca) else outline,
            chord=station.chord,
            thickness=station.thickness,
            trailing_edge_radius=recipe.trailing_edge_radius,
            trailing_edge_thickness=recipe.trailing_edge_thickness,
            panels=panels,
            **shape,
        )
    return (Loop(sides=sides, fill=recipe.material),)


def sides_of(ring: FloatArray) -> Sides:
    """A ring (n, 2), either way round, as its two faces from nose to tail.

    The nose is the point of least x (the middle one of a flat nose); the tail is the point of
    greatest x, or the two ends of a square one. Where more lies between two such ends (a cell that
    closes around a channel), it belongs to the starboard face.
    """
    if not Polygon(ring).exterior.is_ccw:
        ring = ring[::-1]
    x = ring[:, 0]
    near = 1e-9 * float(np.ptp(x))
    noses = np.flatnonzero(x <= x.min() + near)
    nose = noses[np.argsort(ring[noses, 1])[len(noses) // 2]]
    turned = np.roll(ring, -int(nose), axis=0)  # nose first, then the starboard face
    tails = np.flatnonzero(turned[:, 0] >= turned[:, 0].max() - near)
    square = len(tails) == int(np.ptp(tails)) + 1
    starboard = turned[: int(tails.min() if square else tails.max()) + 1]
    port = np.concatenate([turned[:1], turned[: int(tails.max()) - len(turned) - 1 : -1]])
    return Sides(port=port, starboard=starboard)


def _finished(outline: Coordinates, station: Station, recipe: SectionRecipe) -> Sides:
    """A coordinate outline at size, its tail rounded or cut square at the stated chord."""
    chord, thickness = station.chord, station.thickness
    radius, blunt = recipe.trailing_edge_radius, recipe.trailing_edge_thickness
    raw = outline.points * (chord, thickness)
    if not radius and not blunt:
        return sides_of(raw)
    stretched = 1.0
    for _ in range(30):
        ring = raw * (stretched, 1.0)
        ring = _rounded(ring, radius) if radius else _cut(ring, blunt)
        width = float(ring[:, 0].max())
        if abs(width - chord) < 1e-9 * chord:
            break
        stretched *= chord / width
    return sides_of(ring)


def _rounded(ring: FloatArray, radius: float) -> FloatArray:
    """The aft half opened by a disc: its tail becomes the circle tangent to both faces."""
    whole = Polygon(ring)
    left, low, right, high = whole.bounds
    if radius >= (high - low) / 2:
        raise GeometryError(
            f"trailing edge radius {radius * 1e3:.6g} mm must be less than half the thickness"
            f" ({(high - low) * 500:.6g} mm)"
        )
    opened = whole.buffer(-radius).buffer(radius, quad_segs=6)
    # The nose is kept; the parts overlap, so that rounding does not leave them apart.
    fore = box(left - 1, low - 1, left + 0.55 * (right - left), high + 1)
    aft = box(left + 0.45 * (right - left), low - 1, right + 1, high + 1)
    return _largest_ring(whole.intersection(fore).union(opened.intersection(whole).intersection(aft)))


def _cut(ring: FloatArray, blunt: float) -> FloatArray:
    """Cut square where the aft half is as thick as the tail asked for."""
    whole = Polygon(ring)
    left, low, right, high = whole.bounds

    def thick(x: float) -> float:
        line = LineString([(x, low - 1), (x, high + 1)])
        return float(whole.intersection(line).length)

    near, far = (left + right) / 2, right - 1e-9 * (right - left)
    if thick(far) >= blunt:
        return ring
    for _ in range(60):
        middle = (near + far) / 2
        near, far = (middle, far) if thick(middle) > blunt else (near, middle)
    return _largest_ring(whole.intersection(box(left - 1, low - 1, near, high + 1)))


def _largest_ring(shape: shapely.Geometry) -> FloatArray:
    """Outer ring (n, 2) of the largest polygon, first point not repeated."""
    pieces = [p for p in shapely.get_parts(shape) if isinstance(p, Polygon)]
    largest = max(pieces, key=lambda p: p.area)
    return np.asarray(shapely.get_coordinates(largest.exterior)[:-1])


def _ruled(ruled: Ruled, first: Sequence[Loop], second: Sequence[Loop]) -> tuple[Loop, ...]:
    """Loop by loop, the points at equal shares of arc length, nose to tail, joined by lines."""
    a, b = ruled.first, ruled.second
    names = [f"{outline_name(s.outline) if s.outline else ''} at {s.at:g} of the length" for s in (a, b)]
    if len(first) != len(second):
        raise GeometryError(
            f"cannot rule a surface from {names[0]} ({len(first)} loops) to {names[1]} ({len(second)}"
            " loops): draw the same loops in both"
        )
    for i, (p, q) in enumerate(zip(first, second, strict=True)):
        same_fill = (p.fill and p.fill.name) == (q.fill and q.fill.name)
        if p.parent != q.parent or not same_fill:
            fills = [loop.fill.name if loop.fill else "void" for loop in (p, q)]
            raise GeometryError(
                f"cannot rule a surface from {names[0]} to {names[1]}: loop {i + 1}, counted from the"
                f" outside and the nose, is {fills[0]} there and {fills[1]} here, or lies in another"
                " loop; draw the same loops, in the same order from nose to tail, in both"
            )
    chord = (1 - ruled.share) * a.chord + ruled.share * b.chord
    return tuple(
        Loop(
            sides=Sides(
                port=_ruled_path(p.sides.port, q.sides.port, ruled.share, chord),
                starboard=_ruled_path(p.sides.starboard, q.sides.starboard, ruled.share, chord),
            ),
            fill=p.fill,
            parent=p.parent,
        )
        for p, q in zip(first, second, strict=True)
    )


def _ruled_path(a: FloatArray, b: FloatArray, share: float, chord: float) -> FloatArray:
    """A path at ``share`` of the way between two; corners of both are kept."""
    u, v = _arc_share(a), _arc_share(b)
    places = np.unique(np.concatenate([u, v]))
    at_a, at_b = (
        np.column_stack([np.interp(places, w, path[:, k]) for k in (0, 1)])
        for w, path in ((u, a), (v, b))
    )
    path = (1 - share) * at_a + share * at_b
    return np.asarray(shapely.get_coordinates(LineString(path).simplify(RULED_ERROR * chord)))


def _arc_share(path: FloatArray) -> FloatArray:
    """(n,) share of the path's length up to each point."""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    return np.asarray(length / length[-1])
