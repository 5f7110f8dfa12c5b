"""Rules of the walls: where they are needed, and how thick they may be."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from mastcheck.files.limits import MOST_WALL_POINTS
from mastcheck.files.locate import Place
from mastcheck.files.parts import WALL_KEYS, Part, Parts, law_at, mm
from mastcheck.files.problems import Fault
from mastcheck.files.walls import FACES, Face, written_wall
from mastcheck.mast import Construction


def faults(p: Parts) -> Iterator[Fault]:
    """All faults of the walls."""
    yield from _wall_points(p)
    yield from _idle_walls(p)
    construction = p.section["construction"]
    if construction not in (Construction.HOLLOW, Construction.SHELL_AND_CORE):
        return
    if p.laminated:
        remedy = "remove it; the plies make the wall"
        for place in _wall_places(p):
            yield Fault(place, "a laminated section is as thick as its plies", remedy)
        return
    for i, station in enumerate(p.stations):
        laws: list[tuple[Place, list[tuple[float, float]]]] = []
        for face in FACES:
            found = written_wall(station, p.section, i, face)
            if found is not None:
                place, points = found
                laws.append((place, [(point.at, point.wall) for point in points]))
            elif not _is_written(p, i, face):
                yield _no_wall(p, i, face)
                return
        thickness = station["thickness"]
        if len(laws) < 2 or thickness is None:
            continue
        (place, port), (_, starboard) = laws
        places = sorted({x for x, _ in (*port, *starboard)})
        least = min(law_at(port, x) + law_at(starboard, x) for x in places)
        if least >= thickness:
            yield _too_thick(p, i, place, port == starboard)


def _no_wall(p: Parts, i: int, face: Face) -> Fault:
    """What to add where a face has no wall."""
    other: Face = "starboard" if face == "port" else "port"
    construction = p.section["construction"]
    if _is_written(p, i, other):
        key = f"wall_{face}"
        return Fault(
            ("section", key), f"{construction} needs a wall on both faces", f'add {key} = "3 mm"'
        )
    return Fault(("section", "wall"), f"{construction} needs a wall", 'add wall = "3 mm"')


def _too_thick(p: Parts, i: int, place: Place, same: bool) -> Fault:
    thickness = p.stations[i]["thickness"]
    where = f"the thickness of mast.station[{i}]"
    bound = (
        f"must be less than half {where}, {mm(thickness / 2)}"
        if same
        else f"the walls of both faces together must somewhere be less than {where}, {mm(thickness)}"
    )
    return Fault(
        place, f"leaves nothing hollow: {bound}", 'make it thinner, or write construction = "solid"'
    )


def _is_written(p: Parts, i: int, face: Face) -> bool:
    """Whether a wall is written for the face, be it faulty."""
    keys = (f"wall_{face}", "wall")
    return any(p.has("mast", "station", i, key) or p.has("section", key) for key in keys)


def _wall_places(p: Parts) -> Iterator[Place]:
    """Where walls are written."""
    for key in WALL_KEYS:
        if p.has("section", key):
            yield ("section", key)
        for i in range(len(p.stations)):
            if p.has("mast", "station", i, key):
                yield ("mast", "station", i, key)


def _wall_points(p: Parts) -> Iterator[Fault]:
    """Points of a wall run from nose to tail."""
    for place in _wall_places(p):
        part: Part = p.section if place[0] == "section" else p.stations[int(place[2])]
        points = part[str(place[-1])]
        if points is None:
            continue
        if not 1 <= len(points) <= MOST_WALL_POINTS:
            rule = f"has {len(points)} points, and 1 to {MOST_WALL_POINTS} are read"
            yield Fault(place, rule, 'write [{ at = 0.0, wall = "3 mm" }, { at = 1.0, wall = "2 mm" }]')
            continue
        for j, (a, b) in enumerate(pairwise(point.at for point in points)):
            if b - a < 1e-3:
                rule = f"must be at least 0.001 above the point before it, which is at {a:g}"
                yield Fault((*place, j + 1, "at"), rule, "put the points in order, nose to tail")


def _idle_walls(p: Parts) -> Iterator[Fault]:
    """A wall of both faces that each face overrides."""
    levels: list[Place] = [("section",), *(("mast", "station", i) for i in range(len(p.stations)))]
    for level in levels:
        if all(p.has(*level, key) for key in WALL_KEYS):
            rule = "has no effect beside wall_port and wall_starboard"
            yield Fault((*level, "wall"), rule, "remove one of the three")
