"""Sharp edges: radii of nose and tail as built, and what rounding them would do to the section.

No published least radius applies to a foil mast, so only the mast file's own is held against them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import scale, translate
from shapely.geometry.polygon import orient

from mastcheck.checks.edge_result import KNIFE, Change, EdgeRadii, EdgeResult, Rounding
from mastcheck.checks.result import Check, Verdict
from mastcheck.drawn import Coordinates
from mastcheck.errors import GeometryError
from mastcheck.job import Job
from mastcheck.mast import Construction, Mast
from mastcheck.section.contours import loops_at
from mastcheck.section.measure import edge_radius, outer_shape
from mastcheck.section.model import Region, SectionModel
from mastcheck.section.regions import cut_to, regions_at
from mastcheck.section.solved import solved_regions

FLAT = 1e-6
"""Points this near [chords] to the line without them are left out of a rounded contour."""

PANELS = 100
"""Panels on each side of a built-in contour, as everywhere."""

EDGES = {"nose": "leading edge", "tail": "trailing edge"}

_STRETCHES = 30


def edges(job: Job, z: Sequence[float], sections: Sequence[SectionModel]) -> EdgeResult:
    """Measure the edges, and solve the sharpest section again with them rounded, if need be.

    Args:
        job: the mast and its limit on edge radii, if any.
        z: (n,) stations from the base [m], the mast file's among them.
        sections: (n) solved there.

    Returns:
        Radii at every station where there is a limit, else at those of the mast file.
    """
    limit = job.edge_radius
    own = [s.at * job.mast.length for s in job.mast.stations]
    known: dict[int, EdgeRadii] = {}
    radii = []
    for at, section in zip(map(float, z), sections, strict=True):
        if limit is None and min(abs(at - place) for place in own) > 1e-9:
            continue
        if id(section) not in known:
            shape = outer_shape(section.regions)
            # A gauge rests on a square tail's two corners and reads half its thickness: they are sharp.
            square = job.mast.section.trailing_edge_thickness > 0
            tail = 0.0 if square else edge_radius(shape, "tail")
            known[id(section)] = EdgeRadii(z=at, nose=edge_radius(shape, "nose"), tail=tail)
        radii.append(replace(known[id(section)], z=at))
    found = EdgeResult(radii=tuple(radii), limit=limit)
    if limit is None or not found.sharp:
        return found
    sharpest = min(range(len(radii)), key=lambda i: radii[i].least)
    rounding, fault = _effect(job.mast, radii[sharpest].z, sections[sharpest], limit)
    return replace(found, rounding=rounding, not_computed=fault)


def edge_cautions(found: EdgeResult) -> Iterator[str]:
    """A caution for edges under the limit, with what rounding them costs or gains."""
    if found.limit is None or not found.sharp:
        return
    ends = " and ".join(
        f"{EDGES[end]} {_mm(r) if (r := found.least(end)) >= KNIFE else 'sharp'}" for end in found.sharp
    )
    text = (
        f"Sharp edges: {ends} at the worst place, under the mast file's safe radius of"
        f" {_mm(found.limit)}: they can cut whoever falls on them."
    )
    effect = found.rounding
    if effect is None:
        yield f"{text} What rounding them would change was not computed: {found.not_computed}."
        return
    ways = []
    if effect.filed is not None:
        ways.append(f"filed round, {_mm(effect.shorter)} comes off the chord: {effect.filed.words}")
    if effect.redrawn is not None:
        ways.append(f"redrawn with that radius at the same chord: {effect.redrawn.words}")
    yield f"{text} Changes of the section at z = {effect.z * 1e3:.0f} mm: {'; '.join(ways)}."


def edge_checks(found: EdgeResult) -> tuple[Check, ...]:
    """Least radius of each edge against the mast file's; nothing where none is set."""
    limit = found.limit
    if limit is None:
        return ()
    return tuple(
        Check(
            name=f"{name} radius, at least",
            case="",
            value=found.least(end) * 1e3,
            limit=limit * 1e3,
            unit="mm",
            utilisation=limit / found.least(end) if found.least(end) > 0 else None,
            verdict=Verdict.FAIL if end in found.sharp else Verdict.PASS,
        )
        for end, name in EDGES.items()
    )


def filed_regions(regions: tuple[Region, ...], radius: float) -> tuple[tuple[Region, ...], float]:
    """A section with its edges filed to a radius [m], and how much of its chord that takes [m].

    The outline is opened by a disc: what no disc of that radius inside it reaches is taken off.

    Raises: GeometryError where the section cannot hold that radius, or filing opens a hollow.
    """
    outline = outer_shape(regions)
    opened = _opened(outline, radius)
    return _cut(regions, opened), _width(outline) - _width(opened)


def redrawn_regions(
    mast: Mast, at: float, regions: tuple[Region, ...], radius: float
) -> tuple[Region, ...]:
    """The section at a fraction of the length, redrawn with no edge sharper than ``radius`` [m].

    The outline is stretched along the chord so that, opened by a disc, it measures the same from nose
    to tail. Walls, webs and cores are then built in it as they are in the mast; what a drawing has
    inside is stretched with it.

    Args:
        mast: the mast.
        at: fraction of the length.
        regions: those of the section there, as built.
        radius: least radius of nose and tail [m].

    Raises: GeometryError where the section cannot hold that radius, or rounding opens a hollow.
    """
    if mast.section.construction is Construction.DRAWN:
        outline = outer_shape(regions)
        factor = _stretch(outline, radius)
        left = outline.bounds[0]
        longer = tuple(replace(r, polygon=_stretched(r.polygon, factor, left)) for r in regions)
        opened = _opened(_stretched(outline, factor, left), radius)
        return tuple(
            replace(r, polygon=translate(r.polygon, left - opened.bounds[0]))
            for r in _cut(longer, opened)
        )
    station = mast.station_at(at)
    shape = Polygon(loops_at(mast, station, PANELS)[0].sides.ring())
    opened = _opened(_stretched(shape, _stretch(shape, radius), shape.bounds[0]), radius)
    ring = np.asarray(orient(opened).exterior.coords)[:-1]
    ring = np.roll(ring, -int(ring[:, 0].argmax()), axis=0) - (ring[:, 0].min(), 0.0)
    outline = replace(station, outline=Coordinates(points=ring / (station.chord, station.thickness)))
    recipe = replace(mast.section, trailing_edge_radius=0.0, trailing_edge_thickness=0.0)
    stations = replace(outline, at=0.0), replace(outline, at=1.0)
    return regions_at(replace(mast, stations=stations, section=recipe), 0.0)


def _effect(mast: Mast, z: float, section: SectionModel, radius: float) -> tuple[Rounding | None, str]:
    """Both ways of rounding, and why none could be built where none could."""
    filed = redrawn = None
    shorter, fault = 0.0, ""
    try:
        regions, shorter = filed_regions(section.regions, radius)
        filed = _change(section, regions)
    except GeometryError as error:
        fault = str(error)
    try:
        redrawn = _change(section, redrawn_regions(mast, z / mast.length, section.regions, radius))
    except GeometryError as error:
        fault = fault or str(error)
    if filed is None and redrawn is None:
        return None, fault
    return Rounding(z=z, radius=radius, shorter=shorter, filed=filed, redrawn=redrawn), ""


def _change(section: SectionModel, regions: tuple[Region, ...]) -> Change:
    before, after = section.properties, solved_regions(regions).properties
    return Change(
        EI_side=after.EIxx / before.EIxx - 1,
        EI_fore_aft=after.EIyy / before.EIyy - 1,
        GJ=after.GJ / before.GJ - 1,
        mass=after.mass_per_length / before.mass_per_length - 1,
    )


def _cut(regions: tuple[Region, ...], shape: Polygon) -> tuple[Region, ...]:
    """The regions inside a shape that must leave every hollow closed."""
    whole = shapely.union_all([r.polygon for r in regions])
    hollows = [Polygon(ring) for part in shapely.get_parts(whole) for ring in part.interiors]
    if not all(shape.contains(hollow) for hollow in hollows):
        raise GeometryError("rounding would open a hollow")
    return cut_to(regions, shape)


def _stretch(shape: Polygon, radius: float) -> float:
    """How far to stretch a shape along x so that, opened by a disc, it is as wide as before."""
    factor = 1.0
    for _ in range(_STRETCHES):
        ratio = _width(shape) / _width(_opened(_stretched(shape, factor, 0.0), radius))
        if abs(ratio - 1) < 1e-9:
            break
        factor *= ratio
    return factor


def _opened(shape: Polygon, radius: float) -> Polygon:
    """A shape opened by a disc.

    Raises: GeometryError where nothing, or more than one piece, is left.
    """
    _, low, _, high = shape.bounds
    if 2 * radius >= high - low:
        raise GeometryError(
            f"a radius of {_mm(radius)} is half the thickness, {_mm(high - low)}, or more"
        )
    opened = shape.buffer(-radius, quad_segs=16).buffer(radius, quad_segs=16)
    pieces = [p for p in shapely.get_parts(opened.simplify(FLAT * _width(shape))) if p.area > 0]
    if len(pieces) != 1:
        raise GeometryError(f"rounding to {_mm(radius)} takes the section apart")
    found: Polygon = pieces[0]
    return found


def _stretched(shape: Polygon, factor: float, about: float) -> Polygon:
    return scale(shape, factor, 1.0, origin=(about, 0.0))


def _width(shape: Polygon) -> float:
    left, _, right, _ = shape.bounds
    return float(right - left)


def _mm(metres: float) -> str:
    """A radius in millimetres, to a hundredth.

    >>> _mm(0.0010003)
    '1 mm'
    """
    return f"{round(metres * 1e3, 2) + 0.0:g} mm"
