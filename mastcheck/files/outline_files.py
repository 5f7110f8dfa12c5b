"""The outline files that a mast file names: each read once, however many stations share it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from mastcheck.drawn import Coordinates, Drawing
from mastcheck.errors import InputError, Problem
from mastcheck.files.locate import Place
from mastcheck.files.problems import Fault, nearest
from mastcheck.mast import Construction
from mastcheck.material import Material
from mastcheck.units import Dimension, parse, shown

if TYPE_CHECKING:
    from mastcheck.files.parts import Parts


@dataclass(frozen=True, slots=True)
class OutlineFiles:
    """What the named files hold, by name as written, and what is wrong with them.

    One file under two names is one object. ``hashes``: name as first written and SHA-256 of each
    file, in order of first use: the section's, then the stations' from base to tip. ``faults`` are
    those of the names in the mast file, ``problems`` those inside the outline files.
    """

    by_name: Mapping[str, Coordinates | Drawing]
    hashes: tuple[tuple[str, str], ...] = ()
    faults: tuple[Fault, ...] = ()
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Folder:
    """The mast file's folder, which names are relative to; ``closed``: nothing outside it is read."""

    path: Path
    closed: bool = True


def read(p: Parts, folder: Folder, materials: Mapping[str, Material]) -> OutlineFiles:
    """Read every outline file that the section and the stations name.

    Args:
        p: what could be read of the mast file.
        folder: where they are, and whether they must be.
        materials: known materials by name.
    """
    by_path: dict[Path, Coordinates | Drawing | None] = {}
    by_name: dict[str, Coordinates | Drawing] = {}
    hashes: list[tuple[str, str]] = []
    faults: list[Fault] = []
    problems: list[Problem] = []
    for place, name in _named(p):
        # Links and ".." are followed first: what counts is where the file really lies.
        path = _resolved(folder.path / name)
        if path not in by_path:
            by_path[path] = None
            if fault := _outside(place, path, folder) or _absent(place, path):
                faults.append(fault)
                continue
            try:
                outline = _read(p, path, name, materials)
            except InputError as error:
                problems += error.problems
                continue
            by_path[path] = outline
            hashes.append((name, outline.sha256))
        found = by_path[path]
        if found is not None:
            by_name[name] = found
    return OutlineFiles(by_name, tuple(hashes), tuple(faults), tuple(problems))


def combined_sha256(content: bytes, hashes: Sequence[tuple[str, str]]) -> str:
    """SHA-256 (hexadecimal) of a mast file's bytes, followed by those of its outline files.

    Without outline files it is that of the bytes alone. With them it is that of the bytes and then
    the hexadecimal SHA-256 of each, in order of first use.
    """
    return hashlib.sha256(content + "".join(sha for _, sha in hashes).encode()).hexdigest()


def with_drawn_sizes(p: Parts, files: OutlineFiles) -> Parts:
    """The parts with chord and thickness [m] as drawn where a station states neither."""
    stations = []
    for i, station in enumerate(p.stations):
        drawing = files.by_name.get(str(_file_of(p, i)))
        silent = not any(p.has("mast", "station", i, key) for key in ("chord", "thickness"))
        if silent and isinstance(drawing, Drawing):
            station = {**station, "chord": drawing.chord, "thickness": drawing.thickness}
        stations.append(station)
    return replace(p, stations=tuple(stations))


def loop_faults(p: Parts, files: OutlineFiles) -> Iterator[Fault]:
    """Faults of drawings that their construction cannot take."""
    construction = p.section["construction"]
    first: tuple[str, int] | None = None
    for place, name in _named(p):
        drawing = files.by_name.get(name)
        if not isinstance(drawing, Drawing) or construction is None:
            continue
        count = len(drawing.loops)
        if construction is not Construction.DRAWN:
            if count > 1:
                rule = f'has {count} loops, and construction = "{construction}" fills an outline of one'
                remedy = 'write construction = "drawn", or draw the outline alone'
                yield Fault(place, rule, remedy)
        elif first is not None and count != first[1]:
            rule = f"has {count} loops, and {first[0]} has {first[1]}"
            yield Fault(place, rule, "draw the same loops in each, so that they can be ruled together")
        first = first or (name, count)


def refilled(files: OutlineFiles, material: Material) -> OutlineFiles:
    """The files with the outermost loop of each drawing of this material."""
    new: dict[int, Coordinates | Drawing] = {}
    for outline in files.by_name.values():
        if isinstance(outline, Drawing):
            first, *others = outline.loops
            loops = (replace(first, fill=material), *others)
            new[id(outline)] = replace(outline, loops=loops)
    by_name = {name: new.get(id(outline), outline) for name, outline in files.by_name.items()}
    return replace(files, by_name=by_name)


def _file_of(p: Parts, i: int) -> str | None:
    """The outline file of a station, its own or the section's."""
    if p.has("mast", "station", i, "outline"):
        return None
    own: str | None = p.stations[i]["file"]
    common: str | None = p.section["file"]
    return own or common


def _named(p: Parts) -> Iterator[tuple[Place, str]]:
    """Place and name of each outline file, in order of first use."""
    if p.section["file"] is not None:
        yield ("section", "file"), p.section["file"]
    for i, station in enumerate(p.stations):
        if station["file"] is not None:
            yield ("mast", "station", i, "file"), station["file"]


def _resolved(path: Path) -> Path:
    """Where a path leads; one that leads nowhere (a NUL in it, links in a ring) stays as it is."""
    try:
        return path.resolve()
    except (OSError, ValueError, RuntimeError):
        return path.absolute()


def _outside(place: Place, path: Path, folder: Folder) -> Fault | None:
    """What is wrong with a file that lies outside the mast file's folder."""
    home = _resolved(folder.path)
    if not folder.closed or (path.is_relative_to(home) and ".." not in path.parts):
        return None
    rule = f"leads to {shown(str(path), 200)}, outside the mast file's folder"
    return Fault(place, rule, "copy it beside the mast file, or give --allow-outside to read it there")


def _absent(place: Place, path: Path) -> Fault | None:
    """What is wrong where there is no such file."""
    try:
        if path.is_file():
            return None
        if path.exists():
            return Fault(place, "is no file", "name a drawing or a list of coordinates")
        others = sorted(other.name for other in path.parent.iterdir() if other.suffix == path.suffix)
    except (OSError, ValueError):
        others = []
    remedy = nearest(path.name, others[:200], "names are relative to the mast file's folder")
    return Fault(place, "there is no such file", remedy)


def _read(p: Parts, path: Path, name: str, materials: Mapping[str, Material]) -> Coordinates | Drawing:
    """One outline file.

    Raises: InputError with every problem of it.
    """
    if path.suffix.lower() != ".dxf":
        from mastcheck.files.coordinates import read_coordinates

        return read_coordinates(path, label=name)
    from mastcheck.files.drawing import Fill, read_drawing

    section = p.section
    # An unknown name has its own fault, and a laminated skin is no single material yet; then any
    # material will do to read on, since nothing is built, or ``build`` puts the laminate in.
    any_material = next(iter(materials.values()))

    def fill(word: str) -> Fill:
        if word in ("void", "ignore"):
            return "ignore" if word == "ignore" else None
        return materials.get(word, any_material)

    unit = section["unit"]
    given = {"nose": "nose", "chord_error": "chord_error", "gap": "gap_tolerance"}
    return read_drawing(
        path,
        label=name,
        material=materials.get(section["material"], any_material),
        fills={layer: fill(word) for layer, word in (section["layers"] or {}).items()},
        unit=None if unit is None else parse(f"1 {unit}", Dimension.LENGTH),
        **{key: section[ours] for key, ours in given.items() if section[ours] is not None},
    )
