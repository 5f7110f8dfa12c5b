"""Buildability of a laminated skin: the bond at the tail, ply drops, plies caught half-way."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from shapely import Polygon

from mastcheck.checks.process import SAME, Note
from mastcheck.checks.process import mm as _mm
from mastcheck.mast import Mast, Station, Wall, Zone
from mastcheck.section import measure

BOND_LENGTH = 10e-3  # m
BOND_THICKNESS = 1.0e-3  # m: two skins of 0.4 mm and 0.2 mm of adhesive
PLY_DROP = 1 / 20  # thickness over length


def layup_notes(
    mast: Mast, at: float, station: Station, shape: Polygon, inside: tuple[Polygon, ...]
) -> Iterator[Note]:
    """What a laminator would ask: ``shape`` is the outline [m], ``inside`` its cells, nose to tail."""
    yield from _bond(shape, inside)
    yield from _ply_drops(mast, at, station)
    yield from _part_plies(mast, station)


def _bond(shape: Polygon, inside: tuple[Polygon, ...]) -> Iterator[Note]:
    """Length and thickness of the tail behind the last cell, where two skins meet."""
    if not inside:
        return
    start, tail = max(cell.bounds[2] for cell in inside), shape.bounds[2]
    length = tail - start
    if length < BOND_LENGTH - SAME:
        yield Note(
            name="bond-length",
            text=f"the skins meet over {_mm(length)} at the tail; a bond land of {_mm(BOND_LENGTH)} is"
            " common",
            found=length,
            practice=BOND_LENGTH,
            unit="m",
            beyond=True,
        )
    thick = measure.thickness_at(shape, (start + tail) / 2)
    if thick < BOND_THICKNESS - SAME:
        yield Note(
            name="bond-thickness",
            text=f"the tail is {_mm(thick)} thick in the middle of its bond; two skins and the adhesive"
            f" need about {_mm(BOND_THICKNESS)}",
            found=thick,
            practice=BOND_THICKNESS,
            unit="m",
            beyond=True,
        )


def _ply_drops(mast: Mast, at: float, station: Station) -> Iterator[Note]:
    """Slopes of the skin's thickness along the chord and along the mast."""
    recipe = mast.section
    skin = zone_thickness(station)
    for zone, width in (
        (Zone.NOSE, recipe.nose_to * station.chord),
        (Zone.TAIL, (1 - recipe.tail_from) * station.chord),
    ):
        drop = abs(skin[zone] - skin[Zone.FACES])
        if station.plies and drop > PLY_DROP * width + SAME:
            yield _slope(
                "ply-drop-chord",
                f"{zone} and faces differ by {_mm(drop)} and the {zone} is {_mm(width)} long",
                drop / width,
            )
    if isinstance(station.wall, Wall):
        laws = (("port", station.wall.port), ("starboard", station.wall.starboard))
        for face, law in laws:
            for (x, a), (u, b) in pairwise(law):
                run = (u - x) * station.chord
                if abs(b - a) > PLY_DROP * run + SAME:
                    yield _slope(
                        "ply-drop-chord",
                        f"the {face} wall goes from {_mm(a)} to {_mm(b)} over {_mm(run)} of chord",
                        abs(b - a) / run,
                    )
    for before, after in pairwise(mast.stations):
        if before.at <= at <= after.at:
            yield from _drop_along(before, after, mast.length)


def _drop_along(a: Station, b: Station, length: float) -> Iterator[Note]:
    """The steepest change of skin thickness between two stations."""
    run = (b.at - a.at) * length
    changes = []
    if a.plies:
        before, after = zone_thickness(a), zone_thickness(b)
        changes = [(abs(after[z] - before[z]), f"the skin of the {z}") for z in before]
    elif a.wall is not None and b.wall is not None:
        walls = [w if isinstance(w, Wall) else Wall.uniform(w) for w in (a.wall, b.wall)]
        changes = [
            (abs(walls[1].greatest - walls[0].greatest), "the wall"),
            (abs(walls[1].least - walls[0].least), "the wall"),
        ]
    change, what = max(changes, default=(0.0, ""))
    if change > PLY_DROP * run + SAME:
        words = f"{what} changes by {_mm(change)} over {_mm(run)} of the mast, {a.at:g} to {b.at:g}"
        yield _slope("ply-drop-along", words, change / run)


def _slope(name: str, words: str, slope: float) -> Note:
    return Note(
        name=name,
        text=f"{words}, 1:{1 / slope:.0f}: plies are dropped at 1:{1 / PLY_DROP:.0f} at most",
        found=slope,
        practice=PLY_DROP,
        beyond=True,
    )


def zone_thickness(station: Station) -> dict[Zone, float]:
    """Thickness of the plies in each zone of the skin [m]."""
    return {
        zone: sum(p.thickness for p in station.plies if zone in p.zones)
        for zone in (Zone.NOSE, Zone.FACES, Zone.TAIL)
    }


def _part_plies(mast: Mast, station: Station) -> Iterator[Note]:
    """Plies caught half-way through a drop, thinner here than they come."""
    full = [max(s.plies[i].thickness for s in mast.stations) for i in range(len(station.plies))]
    part = [
        (i, ply, whole)
        for i, (ply, whole) in enumerate(zip(station.plies, full, strict=True))
        if SAME < ply.thickness < whole - SAME
    ]
    if part:
        i, ply, whole = min(part, key=lambda item: item[1].thickness / item[2])
        yield Note(
            name="part-ply",
            text=f"{len(part)} of {len(station.plies)} plies are thinner here than at their thickest"
            f" station (ply {i + 1} from outside, {ply.lamina.name}: {_mm(ply.thickness)} of"
            f" {_mm(whole)}): a real ply is whole or ends in a step",
            found=ply.thickness,
            practice=whole,
            unit="m",
            beyond=True,
        )
