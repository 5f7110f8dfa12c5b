"""Buildability notes: what a shop would ask about a section. Notes, never verdicts.

Every number of practice in here is common practice recalled from memory, with no source. A note
gives the number found beside the number of practice, and the process it was held against, which is
guessed from construction and material.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shapely import Polygon

from mastcheck.checks.layup_notes import layup_notes
from mastcheck.checks.process import (
    BASIS,
    SAME,
    Note,
    Process,
    guess_process,
    is_hard_alloy,
    one_section,
)
from mastcheck.checks.process import mm as _mm
from mastcheck.job import Job
from mastcheck.mast import Mast, Station, Wall
from mastcheck.material import Material
from mastcheck.section import measure
from mastcheck.section.model import SectionModel

WALLS = ((0.050, 1.0, 1.2), (0.100, 1.2, 1.5), (0.150, 1.6, 2.0), (0.200, 2.0, 2.5), (0.250, 2.5, 3.0))
"""Thinnest wall of a 6000-series die [mm], open and hollow, up to a circumscribing circle [m]."""
WALLS_BEYOND = (3.0, 4.0)
HARD_ALLOY = 1.5  # walls of the harder series over those of the 6000 series
LARGEST_CIRCLE = 0.200  # m; larger dies need the few large presses
MOST_CELLS = 2
TONGUE = 3.0  # area of an open gap over its squared mouth
WALL_JUMP = 2.0  # greatest over least wall of a die
MACHINED_WALL = 1.0e-3
LAMINATED_WALL = 0.6e-3
ONE_PLY = 0.2e-3  # m, of common cloth, where no plies are stated
ABOUT = 0.99
"""Walls and radii just at practice are not past it: panels, and tips of voids grown back, cost 0.5 %."""
AROUND_BORE = 0.5  # of the bore
BORE_FIT = 0.15e-3
SCREWS = ((3, 2.5, 3.4), (4, 3.3, 4.5), (5, 4.2, 5.5), (6, 5.0, 6.6), (8, 6.8, 9.0), (10, 8.5, 11.0))
"""M size, tapping drill (coarse thread), medium clearance hole [mm]: the ISO series, from memory."""


EDGE_RADIUS = {Process.EXTRUSION: 0.4e-3, Process.MACHINING: 0.2e-3, Process.LAYUP: 0.5e-3}
"""Sharpest edge [m] that fills in a die, survives handling, or that cloth goes around."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Made:
    """A section as built: outline, thinnest walls and webs [m], closed cells."""

    mast: Mast
    station: Station
    shape: Polygon
    walls: tuple[measure.Gap, ...]
    webs: tuple[measure.Gap, ...]
    cells: int


def notes(mast: Job | Mast, at: float, section: SectionModel) -> tuple[Note, ...]:
    """What to ask the shop about a section.

    Args:
        mast: the mast, or the job it is part of.
        at: fraction of the length.
        section: the solved section there; its polygons are what is measured.

    Returns:
        The process guessed, then what is worth knowing or past common practice.
    """
    mast = mast.mast if isinstance(mast, Job) else mast
    shape = measure.outer_shape(section.regions)
    inside = measure.cells(section.regions, mast.section.core)
    process, why = guess_process(mast, hollow=bool(inside))
    station = mast.station_at(at)
    first = Note(
        name="process",
        text=f"taken for {process} ({why}); if it is made otherwise, other numbers hold"
        if process is not Process.OTHER
        else f"how it is made could not be guessed ({why}): only general notes are given",
        basis="guessed from construction and material",
    )
    out = [first]
    holes = measure.bores(section.regions)
    made = _Made(
        mast=mast,
        station=station,
        shape=shape,
        walls=measure.walls(shape, inside),
        webs=measure.webs(inside, holes),
        cells=len(inside),
    )
    if process is Process.EXTRUSION:
        out += _die(made, section.properties.mass_per_length)
    else:
        out += _thin_walls(made, process)
    out += _edges(process, shape)
    out += _bores(holes)
    if process is Process.LAYUP:
        out += layup_notes(mast, at, station, shape, inside)
    return tuple(out)


def thinnest_die_wall(circle: float, material: Material, *, hollow: bool) -> float:
    """Thinnest extruded wall of practice [m] for a circumscribing circle [m].

    >>> from mastcheck.source import PRACTICE
    >>> alloy = Material(name="EN AW-6082-T6", E=70e9, G=27e9, density=2700.0, source=PRACTICE)
    >>> thinnest_die_wall(0.12, alloy, hollow=True)
    0.002
    """
    pairs = (pair for limit, *pair in WALLS if circle <= limit)
    open_wall, hollow_wall = next(pairs, list(WALLS_BEYOND))
    wall = (hollow_wall if hollow else open_wall) / 1000
    return wall * (HARD_ALLOY if is_hard_alloy(material) else 1.0)


def _die(made: _Made, mass_per_length: float) -> Iterator[Note]:
    """Circle, mass, taper, walls, webs, cells and tongue of an extrusion die."""
    material = made.mast.section.material
    circle = measure.circumscribing_diameter(made.shape)
    yield Note(
        name="die",
        text=f"die: circumscribing circle {_mm(circle)}, {mass_per_length:.3g} kg/m;"
        f" most presses take up to {_mm(LARGEST_CIRCLE)}",
        found=circle,
        practice=LARGEST_CIRCLE,
        unit="m",
        beyond=circle > LARGEST_CIRCLE + SAME,
    )
    if not one_section(made.mast):
        yield Note(
            name="taper",
            text="the section changes along the mast, and a die makes one section only: machine the "
            "taper into a longer wall, or take another process",
            beyond=True,
        )
    if made.cells and is_hard_alloy(material):
        yield Note(
            name="alloy",
            text=f"{material.name}: hollow dies that weld the metal around a mandrel are made for the "
            "6000 series; 2000, 5000 and 7000 alloys seldom extrude hollow",
            beyond=True,
        )
    least = thinnest_die_wall(circle, material, hollow=made.cells > 0)
    yield from _gaps("wall", made.walls, least, f"of a die of {_mm(circle)}")
    yield from _gaps("web", made.webs, least, f"of a die of {_mm(circle)}")
    yield from _jump(made)
    if made.cells > MOST_CELLS:
        yield Note(
            name="cells",
            text=f"{made.cells} closed cells, each with a mandrel of its own; up to {MOST_CELLS} are"
            " common",
            found=made.cells,
            practice=MOST_CELLS,
            beyond=True,
        )
    tongue = measure.tongue_ratio(made.shape)
    if tongue > TONGUE:
        yield Note(
            name="tongue",
            text=f"an open gap's area is {tongue:.1f} times its squared mouth; a die's tongue breaks"
            f" beyond about {TONGUE:g}",
            found=tongue,
            practice=TONGUE,
            beyond=True,
        )


def _thin_walls(made: _Made, process: Process) -> Iterator[Note]:
    """Walls and webs against the least of machining or layup."""
    if process is Process.OTHER:
        return
    least = MACHINED_WALL if process is Process.MACHINING else LAMINATED_WALL
    yield from _gaps("wall", made.walls, least, f"of {process}")
    yield from _gaps("web", made.webs, least, f"of {process}")
    wall = made.station.wall
    wall = wall.least if isinstance(wall, Wall) else wall
    if process is Process.LAYUP and not made.station.plies and wall and wall < ONE_PLY - SAME:
        yield Note(
            name="one-ply",
            text=f"wall {_mm(wall)} is thinner than one ply of common cloth, {_mm(ONE_PLY)}",
            found=wall,
            practice=ONE_PLY,
            unit="m",
            beyond=True,
        )


def _gaps(name: str, gaps: tuple[measure.Gap, ...], least: float, whose: str) -> Iterator[Note]:
    """A note on the thinnest of several walls or webs, where it is under practice."""
    thinnest = min(gaps, key=lambda gap: gap.thickness, default=None)
    if thinnest is not None and thinnest.thickness < ABOUT * least:
        yield Note(
            name=name,
            text=f"{name} {_mm(thinnest.thickness)} at x = {_mm(thinnest.x)}: the thinnest {name}"
            f" {whose} is about {_mm(least)}",
            found=thinnest.thickness,
            practice=least,
            unit="m",
            beyond=True,
        )


def _jump(made: _Made) -> Iterator[Note]:
    """Greatest wall or web over the least: metal runs faster through the thick one."""
    found = [gap.thickness for gap in (*made.walls, *made.webs)]
    if isinstance(made.station.wall, Wall):
        found += [made.station.wall.least, made.station.wall.greatest]
    if not found:
        return
    ratio = max(found) / min(found)
    if ratio > WALL_JUMP * (1 + 1e-3):
        yield Note(
            name="wall-jump",
            text=f"walls and webs differ by {ratio:.1f} to 1 ({_mm(min(found))} to {_mm(max(found))});"
            f" a die runs true up to about {WALL_JUMP:g} to 1",
            found=ratio,
            practice=WALL_JUMP,
            beyond=True,
        )


def _edges(process: Process, shape: Polygon) -> Iterator[Note]:
    """Nose and tail against the sharpest edge of the process."""
    least = EDGE_RADIUS.get(process)
    if least is None:
        return
    for end in ("nose", "tail"):
        radius = measure.edge_radius(shape, end)
        if radius < ABOUT * least:
            sharp = "sharp" if radius < 5e-5 else f"radius {_mm(radius)}"
            yield Note(
                name=f"{end}-edge",
                text=f"{end} edge {sharp} as built: the sharpest radius of {process} is about"
                f" {_mm(least)}",
                found=radius,
                practice=least,
                unit="m",
                beyond=True,
            )


def _bores(holes: tuple[measure.Bore, ...]) -> Iterator[Note]:
    """Screw holes against screw sizes, and the material left around them."""
    for bore in holes:
        fits = [
            (abs(size / 1000 - bore.diameter), size / 1000, f"M{m} {use} ({size:g} mm)")
            for m, tapped, clear in SCREWS
            for size, use in ((tapped, "tapped"), (clear, "clearance"))
        ]
        miss, size, screw = min(fits)
        place = f"bore {_mm(bore.diameter)} at x = {_mm(bore.x)}"
        fit = "suits" if miss <= BORE_FIT else "suits no common screw; nearest is"
        yield Note(
            name="bore",
            text=f"{place}: {fit} {screw}",
            basis=f"{BASIS}; screw sizes from memory of the ISO coarse series",
            found=bore.diameter,
            practice=size,
            unit="m",
            beyond=miss > BORE_FIT,
        )
        least = AROUND_BORE * bore.diameter
        if bore.around < least - SAME:
            yield Note(
                name="around-bore",
                text=f"{place}: {_mm(bore.around)} of material around it; half the bore,"
                f" {_mm(least)}, is common",
                found=bore.around,
                practice=least,
                unit="m",
                beyond=True,
            )
