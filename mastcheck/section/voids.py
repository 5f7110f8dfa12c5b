"""What is hollow inside an outline: walls, webs, solid nose and tail, screw channels."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon, box, set_precision
from shapely.geometry.base import BaseGeometry

from mastcheck.errors import GeometryError
from mastcheck.mast import Channel, SectionRecipe, Wall, Web, Zone
from mastcheck.outline import Sides
from mastcheck.section.fillets import CLIP, filleted

FloatArray = NDArray[np.float64]
ZoneWalls = dict[Zone, float]

GRID = 1e-9
"""Grid [m] every point is put on, so that shared edges are shared to the last bit."""

BLUNT = 0.1
"""Inner radius of the void's corners, at its tips and beside webs, as a share of the least wall.

No die or laminate has a knife-edged inner corner. Measured on a 120 x 14.4 mm blade with a 2.5 mm
wall: from 0.05 to 0.2 GJ rises 1.2 % and the peak torsion stress at the tip falls by half, so that
peak is a property of the inner radius assumed here, not of the blade."""

TINY_VOID = 0.5
"""A void piece smaller than this many wall-squares is taken as filled."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Blade:
    """A station's outline with its sizes: leading edge at ``nose_x`` [m] in section axes."""

    outer: Polygon
    sides: Sides
    chord: float
    thickness: float
    nose_x: float
    recipe: SectionRecipe

    def x(self, fraction: float) -> float:
        """Place of a chord fraction [m]."""
        return self.nose_x + fraction * self.chord

    def band(self, start: float, end: float) -> Polygon:
        """Everything between two chord fractions, over the whole height."""
        high = 2 * self.thickness
        left = self.x(start) if start > 0 else self.nose_x - self.chord
        right = self.x(end) if end < 1 else self.nose_x + 2 * self.chord
        return box(left, -high, right, high)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Hollow:
    """The void before webs and bosses, its cells after them (nose to tail), and the webs' strips."""

    inner: BaseGeometry
    cells: tuple[Polygon, ...]
    webs: tuple[Polygon, ...]


def hollow(blade: Blade, wall: float | Wall | ZoneWalls, web_thickness: float | None) -> Hollow:
    """The hollow inside a blade's walls.

    Args:
        blade: the outline.
        wall: one wall [m], a law by face and chord fraction, or one for each zone of a laminate.
        web_thickness: thickness of webs that state none of their own [m].

    Returns:
        Void, cells and webs in section axes.

    Raises:
        GeometryError: a wall that leaves no void, or webs and channels that do not fit.
    """
    least = _least(wall)
    if least < 0.01 * blade.thickness:
        raise GeometryError(
            f"wall {least * 1e3:.6g} mm is under 1 % of the thickness {blade.thickness * 1e3:.6g} mm;"
            f" make it {10 * blade.thickness:.6g} mm or more, or check its unit"
        )
    recipe = blade.recipe
    blunt = BLUNT * least
    if isinstance(wall, float):
        inner = _opened(blade.outer, wall, blunt)
    else:
        inner = _opened(blade.outer.difference(_walls(blade, wall)), 0.0, blunt)
    if recipe.nose_solid_to > 0 or recipe.tail_solid_from < 1:
        band = blade.band(recipe.nose_solid_to, recipe.tail_solid_from)
        inner = _opened(inner.intersection(band), 0.0, blunt)
    webs = tuple(_web(web, blade, web_thickness) for web in recipe.webs)
    void = inner
    for web in webs:
        void = void.difference(web)
    bosses = tuple(disc(c, c.boss, blade) for c in recipe.channels if c.boss > 0)
    void = void.difference(shapely.union_all(bosses)) if bosses else void
    if webs or bosses:
        # A web may leave a sliver at a tip. What is opened keeps the points it had, to the last bit.
        void = shapely.snap(_opened(void, 0.0, blunt), inner, 10 * GRID)
    cells = [filleted(cell, blunt) for cell in polygons(void) if cell.area > TINY_VOID * least**2]
    if not cells:
        raise GeometryError(
            f"wall {least * 1e3:.6g} mm leaves no void in a half-thickness of"
            f' {blade.thickness * 500:.6g} mm; use construction = "solid" or a thinner wall'
        )
    cells.sort(key=lambda cell: float(cell.bounds[0]))
    _check_walls(blade, cells, least)
    return Hollow(inner=inner, cells=tuple(cells), webs=webs)


def _check_walls(blade: Blade, cells: list[Polygon], least: float) -> None:
    """Nothing hollow nearer to the outside than the thinnest wall: a guard on the geometry library."""
    thin = min(float(blade.outer.exterior.distance(cell)) for cell in cells)
    if thin < 0.98 * least:
        raise GeometryError(
            f"the wall could not be built ({thin * 1e3:.4g} mm where {least * 1e3:.4g} mm is stated):"
            " change a size by a thousandth, and report it with the mast file"
        )


def bores(blade: Blade, cells: tuple[Polygon, ...] = ()) -> tuple[Polygon, ...]:
    """Screw holes of a blade, each inside its outline and clear of the cells.

    Raises: GeometryError naming the channel that does not fit.
    """
    out: list[Polygon] = []
    for number, channel in enumerate(blade.recipe.channels, start=1):
        bore = disc(channel, channel.bore, blade)
        what = f"channel {number} (bore {channel.bore * 1e3:.6g} mm at {channel.at:g} of the chord)"
        if not blade.outer.contains(bore):
            raise GeometryError(f"{what} breaks through the outline: move it, or make it smaller")
        if any(cell.intersects(bore) for cell in cells):
            raise GeometryError(f"{what} opens into the hollow: give it a boss wider than the bore")
        if any(bore.intersects(other) for other in out):
            raise GeometryError(f"{what} meets another channel: move them apart")
        out.append(bore)
    return tuple(out)


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """The polygons of a shape."""
    return [p for p in shapely.get_parts(shape) if isinstance(p, Polygon) and not p.is_empty]


def zone_bands(blade: Blade) -> tuple[tuple[Zone, Polygon], ...]:
    """The skin's zones, nose to tail, each with the band of the chord it spans."""
    a, b = blade.recipe.nose_to, blade.recipe.tail_from
    bands = ((Zone.NOSE, 0.0, a), (Zone.FACES, a, b), (Zone.TAIL, b, 1.0))
    return tuple((zone, blade.band(start, end)) for zone, start, end in bands if end > start)


def _least(wall: float | Wall | ZoneWalls) -> float:
    if isinstance(wall, Wall):
        return wall.least
    return wall if isinstance(wall, float) else min(wall.values())


def _law(blade: Blade, wall: Wall | ZoneWalls) -> Callable[[bool, float, float], float]:
    """Wall [m] from (port face?, chord fraction, chord fraction of the panel's middle)."""
    if isinstance(wall, Wall):
        port, starboard = (np.array(face).T for face in (wall.port, wall.starboard))

        def by_face(is_port: bool, x: float, _: float) -> float:
            return float(np.interp(x, *(port if is_port else starboard)))

        return by_face
    a, b = blade.recipe.nose_to, blade.recipe.tail_from

    def by_zone(_: bool, __: float, middle: float) -> float:
        return wall[Zone.NOSE if middle < a else Zone.TAIL if middle > b else Zone.FACES]

    return by_zone


def _knots(blade: Blade, wall: Wall | ZoneWalls, is_port: bool) -> list[float]:
    """Chord fractions where the wall's law bends or steps."""
    if isinstance(wall, Wall):
        return [x for x, _ in (wall.port if is_port else wall.starboard)]
    return [blade.recipe.nose_to, blade.recipe.tail_from]


def _walls(blade: Blade, wall: Wall | ZoneWalls) -> BaseGeometry:
    """The union of all panels, each thick by the wall behind it."""
    law = _law(blade, wall)
    pieces: list[Polygon] = []
    for is_port, path in ((True, blade.sides.port), (False, blade.sides.starboard)):
        path = _with_places(path, [blade.x(x) for x in _knots(blade, wall, is_port)])
        inward = 1.0 if is_port else -1.0
        pieces += _panels(blade, path, inward, partial(law, is_port))
    top, bottom = blade.sides.port[-1], blade.sides.starboard[-1]
    if not np.allclose(top, bottom, rtol=0, atol=GRID):  # a square tail has a wall too
        pieces += _panels(blade, np.array([top, bottom]), 1.0, partial(law, True))
    # On the grid: in free floating point the union has been seen to lose whole panels.
    return shapely.union_all(pieces, grid_size=GRID)


def _panels(
    blade: Blade, path: FloatArray, inward: float, wall: Callable[[float, float], float]
) -> Iterator[Polygon]:
    """Each panel's strip inside the outline, and the wedge between it and the one before."""
    last: FloatArray | None = None
    for a, b in pairwise(path):
        along = (b - a) / np.hypot(*(b - a))
        normal = inward * np.array([along[1], -along[0]])
        middle = ((a + b)[0] / 2 - blade.nose_x) / blade.chord
        start, end = (p + normal * wall((p[0] - blade.nose_x) / blade.chord, middle) for p in (a, b))
        yield Polygon([a, b, end, start])
        if last is not None:
            wedge = Polygon([a, last, start])
            if wedge.area > 0:
                yield wedge
        last = end


def _with_places(path: FloatArray, places: list[float]) -> FloatArray:
    """The path (nose to tail) with points at the given x where it passes them."""
    for x in places:
        before, after = path[:-1, 0], path[1:, 0]
        for i in np.flatnonzero((before - x) * (after - x) < 0)[:1]:
            share = (x - before[i]) / (after[i] - before[i])
            path = np.insert(path, i + 1, path[i] + share * (path[i + 1] - path[i]), axis=0)
    return path


def _opened(shape: BaseGeometry, inset: float, blunt: float) -> BaseGeometry:
    """The shape inset, its tips clipped: shrunk too far, then grown back with clipped corners.

    Those that are left at the end are rounded (``section.fillets``).
    """
    shrunk = shape.buffer(-(inset + blunt), join_style="mitre", mitre_limit=5.0)
    return set_precision(shrunk.buffer(blunt, join_style="mitre", mitre_limit=CLIP), GRID)


def _web(web: Web, blade: Blade, of_plies: float | None) -> Polygon:
    thickness = web.thickness if web.thickness is not None else of_plies
    if thickness is None or not 0 < web.at < 1 or not 0 < thickness < blade.chord:
        stated = "no thickness" if thickness is None else f"{thickness * 1e3:.6g} mm thick"
        raise GeometryError(f"web at {web.at:.6g} of the chord, {stated}, is not inside the blade")
    if abs(web.lean) > MOST_LEAN:
        raise GeometryError(
            f"web at {web.at:.6g} of the chord leans {np.degrees(web.lean):.6g} degrees;"
            f" {np.degrees(MOST_LEAN):.0f} at most"
        )
    reach = 2 * blade.thickness / np.cos(web.lean)
    x, dx, dy = blade.x(web.at), reach * np.sin(web.lean), reach * np.cos(web.lean)
    return LineString([(x - dx, -dy), (x + dx, dy)]).buffer(thickness / 2, cap_style="flat")


MOST_LEAN = np.radians(60.0)
"""A web that leans further than this [rad] runs along the faces rather than between them."""


def disc(channel: Channel, diameter: float, blade: Blade) -> Polygon:
    """A circle of that diameter [m] around a channel's axis."""
    centre = Point(blade.x(channel.at), channel.offset)
    return centre.buffer(diameter / 2, quad_segs=CIRCLE)


CIRCLE = 16
"""Panels in a quarter of a screw channel."""
