"""Rules of the mast file that join several keys. Each returns the faults it finds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Annotated, Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from mastcheck.files.locate import Place
from mastcheck.files.problems import Fault, nearest
from mastcheck.files.schema import MaterialTable, SectionTable, StationTable
from mastcheck.limit import Quantity
from mastcheck.loadcase import STANDARD_CASES
from mastcheck.mast import Construction

# A table as far as it can be read: every key of its type, None where absent or faulty.
Part = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Parts:
    """What can be read of a file, faulty or not."""

    stations: tuple[Part, ...]
    section: Part
    materials: Mapping[str, Part]
    cases: tuple[str | None, ...]
    limits: tuple[tuple[Place, str], ...]


def parts(raw: Mapping[str, Any]) -> Parts:
    """The readable parts of a raw file, so that one fault does not hide the others."""
    stations = _items(_table(raw.get("mast")).get("station"))
    materials = _table(raw.get("material"))
    return Parts(
        stations=tuple(_read(StationTable, s) for s in stations),
        section=_read(SectionTable, raw.get("section")),
        materials={name: _read(MaterialTable, m) for name, m in materials.items()},
        cases=tuple(_text(_table(c).get("name")) for c in _items(raw.get("load_case"))),
        limits=tuple(_limits(_table(raw.get("limits")))),
    )


def faults(p: Parts, shipped: frozenset[str]) -> list[Fault]:
    """All faults of the joint rules; ``shipped`` are the names of the known materials."""
    return [
        *_stations(p),
        *_fillings(p),
        *_walls(p),
        *_section_materials(p, shipped),
        *_own_materials(p),
        *_cases(p),
    ]


def _stations(p: Parts) -> Iterator[Fault]:
    place = ("mast", "station")
    if len(p.stations) < 2:
        rule = f"needs two stations or more, has {len(p.stations)}"
        yield Fault(place, rule, "add [[mast.station]] tables at 0.0 (base) and 1.0 (tip)")
        return
    if p.stations[0]["at"] not in (0, None):
        yield Fault((*place, 0, "at"), "the first station must be at 0 (base)", "write at = 0.0")
    if p.stations[-1]["at"] not in (1, None):
        end = (*place, len(p.stations) - 1, "at")
        yield Fault(end, "the last station must be at 1 (tip)", "write at = 1.0")
    for i, (a, b) in enumerate(pairwise(s["at"] for s in p.stations)):
        # Sections a hair apart say nothing a builder could make, and upset interpolation.
        if a is not None and b is not None and b - a < 1e-3:
            rule = f"must be at least 0.001 above the station before it, which is at {a:g}"
            yield Fault((*place, i + 1, "at"), rule, "put the stations in order, base to tip")
    for i, s in enumerate(p.stations):
        chord, thickness = s["chord"], s["thickness"]
        if chord is not None and thickness is not None and thickness >= chord:
            rule = f"must be less than the chord, {_mm(chord)}"
            yield Fault((*place, i, "thickness"), rule, "check which is which")


def _fillings(p: Parts) -> Iterator[Fault]:
    """Keys that a construction needs or has no use for."""
    construction, core, webs = (p.section[key] for key in ("construction", "core", "webs"))
    if construction is None:
        return
    if construction is Construction.SHELL_AND_CORE and core is None:
        yield Fault(("section", "core"), "shell-and-core needs a core", 'add core = "PVC foam 80"')
    if construction is not Construction.SHELL_AND_CORE and core is not None:
        remedy = 'remove it, or write construction = "shell-and-core"'
        yield Fault(("section", "core"), f"{construction} has no core", remedy)
    if construction is Construction.SOLID and webs:
        remedy = 'remove them, or write construction = "hollow"'
        yield Fault(("section", "webs"), "a solid section has no webs", remedy)
    chords = [s["chord"] for s in p.stations if s["chord"] is not None]
    for i, web in enumerate(webs or ()):
        if chords and web.thickness >= min(chords) / 4:
            rule = f"must be less than a quarter of the least chord, {_mm(min(chords) / 4)}"
            yield Fault(("section", "webs", i, "thickness"), rule, "make it thinner")


def _walls(p: Parts) -> Iterator[Fault]:
    construction = p.section["construction"]
    if construction is Construction.SOLID:
        yield from _superfluous_walls(p)
    yield from _radii(p)
    if construction in (Construction.SOLID, None):
        return
    for i, station in enumerate(p.stations):
        own = station["wall"] is not None
        wall = station["wall"] if own else p.section["wall"]
        place: Place = ("mast", "station", i, "wall") if own else ("section", "wall")
        if wall is None:
            yield Fault(place, f"{construction} needs a wall", 'add wall = "3 mm"')
            return
        if station["thickness"] is not None and wall >= station["thickness"] / 2:
            half = _mm(station["thickness"] / 2)
            bound = f"must be less than half the thickness of mast.station[{i}], {half}"
            rule = f"leaves nothing hollow: {bound}"
            yield Fault(place, rule, 'make it thinner, or write construction = "solid"')


def _superfluous_walls(p: Parts) -> Iterator[Fault]:
    rule, remedy = "a solid section has no wall", 'remove it, or write construction = "hollow"'
    if p.section["wall"] is not None:
        yield Fault(("section", "wall"), rule, remedy)
    for i, station in enumerate(p.stations):
        if station["wall"] is not None:
            yield Fault(("mast", "station", i, "wall"), rule, remedy)


def _radii(p: Parts) -> Iterator[Fault]:
    radius = p.section["trailing_edge_radius"]
    for i, station in enumerate(p.stations):
        thickness = station["thickness"]
        if radius is not None and thickness is not None and radius >= thickness / 2:
            half = _mm(thickness / 2)
            rule = f"must be less than half the thickness of mast.station[{i}], {half}"
            yield Fault(("section", "trailing_edge_radius"), rule, "make it smaller")


def _section_materials(p: Parts, shipped: frozenset[str]) -> Iterator[Fault]:
    known = sorted(shipped | set(p.materials))
    for key in ("material", "core"):
        name = p.section[key]
        if name is not None and name not in known:
            remedy = nearest(
                name, known, f"write a [material.NAME] table, or one of: {', '.join(known)}"
            )
            yield Fault(("section", key), "unknown material", remedy)


def _own_materials(p: Parts) -> Iterator[Fault]:
    for name, m in p.materials.items():
        rule = "exactly one of G and nu is needed"
        if m["G"] is None and m["nu"] is None:
            yield Fault(("material", name, "G"), rule, "add one of them")
        if m["G"] is not None and m["nu"] is not None:
            yield Fault(("material", name, "nu"), rule, "remove one of them")
        proof, ultimate = m["proof_strength"], m["ultimate_strength"]
        if proof is not None and ultimate is not None and ultimate < proof:
            rule = "must not be below proof_strength"
            yield Fault(("material", name, "ultimate_strength"), rule, "check which is which")


def _cases(p: Parts) -> Iterator[Fault]:
    for i, name in enumerate(p.cases):
        if name is not None and name in p.cases[:i]:
            yield Fault(("load_case", i, "name"), "two load cases of this name", "rename or remove one")
    known = [c.name for c in STANDARD_CASES] + [c for c in p.cases if c is not None]
    for path, name in p.limits:
        if name not in known:
            remedy = nearest(name, known, "load cases: " + ", ".join(known))
            yield Fault((*path, "case"), "unknown load case", remedy)


def _limits(raw: Mapping[str, Any]) -> Iterator[tuple[Place, str]]:
    """Place and case name of each limit that names a case."""
    for quantity in Quantity:
        value = raw.get(quantity)
        lone = isinstance(value, Mapping)
        for i, entry in enumerate([value] if lone else _items(value)):
            name = _text(_table(entry).get("case"))
            if name is not None:
                yield ("limits", str(quantity), *(() if lone else (i,))), name


def _read(model: type[BaseModel], raw: object) -> Part:
    """A table key by key; its faults are reported by the check of the whole file."""
    table = _table(raw)
    return {key: _value(model, key, table) for key in model.model_fields}


def _value(model: type[BaseModel], key: str, table: Mapping[str, Any]) -> Any:
    """The value of a key in SI units, None where absent or faulty."""
    if key not in table:
        return None
    try:
        return _adapter(model, key).validate_python(table[key])
    except ValidationError:
        return None


@cache
def _adapter(model: type[BaseModel], key: str) -> TypeAdapter[Any]:
    """What reads one key of a table alone."""
    field = model.model_fields[key]
    # As Any, since the annotation is known to the running program only.
    kind: Any = field.annotation
    annotated: Any = Annotated
    return TypeAdapter(annotated[(kind, *field.metadata)] if field.metadata else kind)


def _table(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _items(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _text(value: object) -> str | None:
    return value if isinstance(value, str) else None


def _mm(metres: float) -> str:
    return f"{metres * 1000:g} mm"
