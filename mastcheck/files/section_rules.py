"""Rules of the section that join several keys: outlines, what fills them, webs, tails, channels."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePath
from typing import Literal

import numpy as np

from mastcheck.errors import GeometryError
from mastcheck.files.limits import MOST_CHANNELS, MOST_WEBS
from mastcheck.files.locate import Place
from mastcheck.files.parts import WALL_KEYS, Part, Parts, mm
from mastcheck.files.problems import Fault
from mastcheck.mast import Construction
from mastcheck.outline import MODIFIED, family_sides

_SHAPE_KEYS = ("nose_index", "greatest_thickness_at")
_DRAWING_KEYS = ("unit", "nose", "gap_tolerance", "chord_error", "layers")
_TAIL_KEYS = ("trailing_edge_radius", "trailing_edge_thickness")
_SOLID_ENDS = ("nose_solid_to", "tail_solid_from")
_NO_PLACE: dict[Construction, tuple[str, ...]] = {
    Construction.SOLID: (*WALL_KEYS, "core", "webs", *_SOLID_ENDS, "ply"),
    Construction.HOLLOW: ("core",),
    Construction.SHELL_AND_CORE: (),
    Construction.DRAWN: (*WALL_KEYS, "core", "webs", *_SOLID_ENDS, "ply", "channels"),
}
_CALLED = {"webs": "webs", "channels": "channels", "ply": "plies", "core": "core"}

Shape = tuple[Literal["outline", "file"], str]


def faults(p: Parts) -> Iterator[Fault]:
    """All faults of the section but its materials, walls and plies."""
    yield from _outlines(p)
    yield from _keys_of_outlines(p)
    yield from _sizes(p)
    yield from _fillings(p)
    yield from _webs(p)
    yield from _tails(p)
    yield from _channels(p)


def shape(p: Parts, i: int) -> Shape | None:
    """The outline of a station, its own or the section's: the key and its word; None if faulty."""
    own = next(_written(p.stations[i]), None)
    if own or any(p.has("mast", "station", i, key) for key in ("file", "outline")):
        return own
    return next(_written(p.section), None)


def _written(part: Part) -> Iterator[Shape]:
    """The file and the outline that a table names, as far as they can be read."""
    if part["file"] is not None:
        yield ("file", part["file"])
    if part["outline"] is not None:
        yield ("outline", part["outline"])


def is_drawing(shape: Shape | None) -> bool:
    """Whether an outline is a drawing."""
    return shape is not None and shape[0] == "file" and PurePath(shape[1]).suffix.lower() == ".dxf"


def _shapes(p: Parts) -> list[Shape | None]:
    return [shape(p, i) for i in range(len(p.stations))]


def _outlines(p: Parts) -> Iterator[Fault]:
    """Exactly one of outline and file in [section]; one at most at a station."""
    if p.has("section"):
        given = list(p.has_in_section("outline", "file"))
        if len(given) == 2:
            rule = "exactly one of outline and file is needed, both are given"
            yield Fault(("section", "file"), rule, "remove one of them")
        if not given:
            rule = "exactly one of outline and file is needed"
            remedy = 'add outline = "naca-4-digit", or file = "die.dxf"'
            yield Fault(("section", "outline"), rule, remedy)
    for i in range(len(p.stations)):
        if p.has("mast", "station", i, "outline") and p.has("mast", "station", i, "file"):
            rule = "a station has an outline or a file of its own, not both"
            yield Fault(("mast", "station", i, "file"), rule, "remove one of them")


def _keys_of_outlines(p: Parts) -> Iterator[Fault]:
    """Keys that belong to one kind of outline only."""
    shapes = [*_shapes(p), *_written(p.section)]
    if ("outline", MODIFIED) not in shapes:
        for key in p.has_in_section(*_SHAPE_KEYS):
            remedy = f'remove it, or write outline = "{MODIFIED}"'
            yield Fault(("section", key), f"belongs to the outline {MODIFIED} only", remedy)
    nose = p.section["nose_index"]
    if nose is not None and 8 < nose < 9:
        rule = "must be from 0 to 8, or 9 (the blunt nose that has a law of its own)"
        yield Fault(("section", "nose_index"), rule, "write 8 or 9")
    if not any(is_drawing(s) for s in shapes):
        for key in p.has_in_section(*_DRAWING_KEYS):
            remedy = 'remove it, or name a drawing: file = "die.dxf"'
            yield Fault(("section", key), "belongs to a drawing (.dxf) only", remedy)
        return
    for key in _TAIL_KEYS:
        if p.section[key]:
            rule = "a drawing has its own tail"
            yield Fault(("section", key), rule, "remove it, and draw the tail as it is made")
    seen: set[str] = set()
    for layer in p.section["layers"] or {}:
        if layer.casefold() in seen:
            rule = "two layers of this name (a drawing does not tell capitals apart)"
            yield Fault(("section", "layers", layer), rule, "remove one of them")
        seen.add(layer.casefold())
    if p.section["construction"] not in (Construction.DRAWN, None):
        for layer, word in (p.section["layers"] or {}).items():
            if word != "ignore":
                rule = f'has no effect with construction = "{p.section["construction"]}"'
                remedy = 'write "ignore" or remove it, or write construction = "drawn"'
                yield Fault(("section", "layers", layer), rule, remedy)


def _sizes(p: Parts) -> Iterator[Fault]:
    """Chord and thickness, which only a drawing may leave out, and then both."""
    for i, outline in enumerate(_shapes(p)):
        place: Place = ("mast", "station", i)
        absent = [key for key in ("chord", "thickness") if not p.has(*place, key)]
        if not absent or outline is None:
            continue
        if not is_drawing(outline):
            for key in absent:
                yield Fault((*place, key), "this key is required", f"add {key} to mast.station[{i}]")
        elif len(absent) == 1:
            rule = "chord and thickness are given together for a drawing, or both left out"
            yield Fault((*place, absent[0]), rule, "add it, or leave out both for the drawn size")


def _fillings(p: Parts) -> Iterator[Fault]:
    """Keys that a construction needs or has no use for."""
    construction = p.section["construction"]
    if construction is None:
        return
    if construction is Construction.SHELL_AND_CORE and not p.has("section", "core"):
        yield Fault(("section", "core"), "shell-and-core needs a core", 'add core = "PVC foam 80"')
    for key in p.has_in_section(*_NO_PLACE[construction]):
        yield Fault(("section", key), *_no_place(construction, key))
    if construction in (Construction.SOLID, Construction.DRAWN):
        for i in range(len(p.stations)):
            for key in WALL_KEYS:
                if p.has("mast", "station", i, key):
                    yield Fault(("mast", "station", i, key), *_no_place(construction, key))
    ends = [
        p.section[key] if p.has("section", key) else end
        for key, end in zip(_SOLID_ENDS, (0.0, 1.0), strict=True)
    ]
    if None not in ends and ends[0] >= ends[1]:
        place = next(iter(p.has_in_section(*reversed(_SOLID_ENDS))))
        rule = f"leaves nothing hollow: solid to {ends[0]:g} and from {ends[1]:g} of the chord"
        yield Fault(("section", place), rule, "keep nose_solid_to below tail_solid_from")
    if construction is Construction.DRAWN:
        yield from _drawn(p)


def _no_place(construction: Construction, key: str) -> tuple[str, str]:
    """Rule and remedy for a key that the construction has no use for."""
    what = "wall" if key in WALL_KEYS else _CALLED.get(key, key)
    it = "them" if what.endswith("s") else "it"
    if construction is Construction.DRAWN:
        filled = 'write construction = "hollow", and draw the outline alone'
        return "a drawn section is all in its drawing", f"remove {it}, or {filled}"
    if key == "core":
        return f"{construction} has no core", 'remove it, or write construction = "shell-and-core"'
    rule = "is solid all over" if key in _SOLID_ENDS else f"has no {what}"
    return f"a solid section {rule}", f'remove {it}, or write construction = "hollow"'


def _drawn(p: Parts) -> Iterator[Fault]:
    """Every outline of a drawn section is a drawing."""
    for i, outline in enumerate(_shapes(p)):
        if outline is None or is_drawing(outline):
            continue
        own = p.stations[i][outline[0]] is not None
        place: Place = ("mast", "station", i, outline[0]) if own else ("section", "construction")
        rule = "a drawn section needs a drawing (.dxf)"
        remedy = 'name one, file = "die.dxf", or write construction = "solid" or "hollow"'
        yield Fault(place, rule, remedy)
        if not own:
            return


def _webs(p: Parts) -> Iterator[Fault]:
    webs = p.section["webs"] or ()
    if len(webs) > MOST_WEBS:
        rule = f"has {len(webs)} webs, and at most {MOST_WEBS} are read"
        yield Fault(("section", "webs"), rule, "a mast has a few: check the file")
        return
    chords = [s["chord"] for s in p.stations if s["chord"] is not None]
    for i, web in enumerate(webs):
        place: Place = ("section", "webs", i, "thickness")
        if web.thickness is None:
            if not p.laminated:
                yield Fault(place, "a web needs a thickness", 'add thickness = "2.5 mm"')
        elif p.laminated:
            rule = "a laminated web is as thick as its plies"
            yield Fault(place, rule, 'remove it; plies with region = "webs" make the web')
        elif chords and web.thickness >= min(chords) / 4:
            rule = f"must be less than a quarter of the least chord, {mm(min(chords) / 4)}"
            yield Fault(place, rule, "make it thinner")


def _tails(p: Parts) -> Iterator[Fault]:
    """A tail is round or square, and fits every station."""
    radius, square = (p.section[key] for key in _TAIL_KEYS)
    if radius and square:
        rule = "a tail is rounded or cut square, not both"
        yield Fault(("section", "trailing_edge_thickness"), rule, "remove this or trailing_edge_radius")
        return
    for i, station in enumerate(p.stations):
        thickness = station["thickness"]
        if thickness is None:
            continue
        if radius is not None and radius >= thickness / 2:
            rule = f"must be less than half the thickness of mast.station[{i}], {mm(thickness / 2)}"
            yield Fault(("section", "trailing_edge_radius"), rule, "make it smaller")
        if square is not None and square >= thickness:
            rule = f"must be less than the thickness of mast.station[{i}], {mm(thickness)}"
            yield Fault(("section", "trailing_edge_thickness"), rule, "make it smaller")


def _channels(p: Parts) -> Iterator[Fault]:
    channels = p.section["channels"] or ()
    if len(channels) > MOST_CHANNELS:
        rule = f"has {len(channels)} channels, and at most {MOST_CHANNELS} are read"
        yield Fault(("section", "channels"), rule, "a mast has a few: check the file")
        return
    for j, channel in enumerate(channels):
        place: Place = ("section", "channels", j)
        if channel.boss is not None and channel.bore >= channel.boss:
            rule = f"must be less than the boss around it, {mm(channel.boss)}"
            yield Fault((*place, "bore"), rule, "boss is the outer diameter: check which is which")
            continue
        if channel.material is not None and channel.boss is None:
            rule = "is the boss's, and the channel has no boss"
            yield Fault((*place, "material"), rule, 'add boss = "10 mm", or remove it')
        for i in range(len(p.stations)):
            half = _half_thickness(p, i, channel.at)
            if half is None:
                continue
            thick = mm(round(2 * half, 5))
            there = f"mast.station[{i}], which is {thick} thick at {channel.at:g} of the chord"
            if abs(channel.offset) + channel.bore / 2 >= half:
                remedy = "make it smaller, lessen its offset, or put it where the blade is thicker"
                yield Fault((*place, "bore"), f"leaves the blade at {there}", remedy)
                break
            if channel.boss is not None and channel.boss >= 2 * half:
                remedy = "make it smaller, or put it where the blade is thicker"
                yield Fault((*place, "boss"), f"is wider than the blade at {there}", remedy)
                break


def _half_thickness(p: Parts, i: int, at: float) -> float | None:
    """Half thickness [m] of station ``i`` at a chord fraction; half the greatest if drawn."""
    outline, chord, thickness = shape(p, i), p.stations[i]["chord"], p.stations[i]["thickness"]
    if outline is None or chord is None or thickness is None:
        return None
    if outline[0] == "file":
        return float(thickness) / 2
    nose, greatest = (
        p.section[key] if p.section[key] is not None else default
        for key, default in zip(_SHAPE_KEYS, (6.0, 0.3), strict=True)
    )
    try:
        face = family_sides(
            outline[1],
            chord=chord,
            thickness=thickness,
            trailing_edge_radius=p.section["trailing_edge_radius"] or 0.0,
            trailing_edge_thickness=p.section["trailing_edge_thickness"] or 0.0,
            nose_index=nose,
            greatest_at=greatest,
        ).port
    except GeometryError:
        return None  # sizes that other rules, or the section itself, will name
    return float(np.interp(at * chord, face[:, 0], face[:, 1]))
