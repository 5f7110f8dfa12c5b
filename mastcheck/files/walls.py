"""Which wall holds at a station: its own before the section's, a face's before that of both."""

from __future__ import annotations

from typing import Literal

from mastcheck.files.locate import Place
from mastcheck.files.parts import Part, WallLaw
from mastcheck.mast import Wall

Law = tuple[tuple[float, float], ...]
Face = Literal["port", "starboard"]
FACES: tuple[Face, Face] = ("port", "starboard")


def written_wall(station: Part, section: Part, i: int, face: Face) -> tuple[Place, WallLaw] | None:
    """The place and the points of the wall of one face of station ``i``; None where none is written."""
    sources: tuple[tuple[Part, Place], ...] = (
        (station, ("mast", "station", i)),
        (section, ("section",)),
    )
    for source, place in sources:
        for key in (f"wall_{face}", "wall"):
            if source[key]:
                return (*place, key), source[key]
    return None


def wall_of(station: Part, section: Part) -> float | Wall | None:
    """The wall of a station [m]: a plain number where it is the same everywhere."""
    port, starboard = (_law(written_wall(station, section, 0, face)) for face in FACES)
    if port is None or starboard is None:
        return None
    walls = {wall for _, wall in (*port, *starboard)}
    return walls.pop() if len(walls) == 1 else Wall(port=port, starboard=starboard)


def _law(written: tuple[Place, WallLaw] | None) -> Law | None:
    return tuple((point.at, point.wall) for point in written[1]) if written else None
