"""What can be read of a mast file, faulty or not, so that one fault does not hide the others."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from mastcheck.files.locate import Place
from mastcheck.files.problems import value_at
from mastcheck.files.schema import (
    LaminaTable,
    MaterialTable,
    PlyTable,
    SectionTable,
    StationTable,
    WallPointTable,
)
from mastcheck.files.water_schema import ConditionsTable, FoilTable, WingTable
from mastcheck.limit import Quantity

# A table as far as it can be read: every key of its type, None where absent or faulty.
Part = Mapping[str, Any]

WALL_KEYS = ("wall", "wall_port", "wall_starboard")

WallLaw = list[WallPointTable]


@dataclass(frozen=True, slots=True)
class Parts:
    """The readable parts of a raw file, and the raw file to ask what was written at all."""

    raw: Mapping[str, Any]
    stations: tuple[Part, ...]
    section: Part
    foil: Part
    conditions: Part
    wings: tuple[Part, ...]
    plies: tuple[Part, ...]
    materials: Mapping[str, Part]
    laminas: Mapping[str, Part]
    cases: tuple[str | None, ...]
    limits: tuple[tuple[Place, str], ...]

    def has(self, *path: str | int) -> bool:
        """Whether something is written at a key path, faulty or not; an empty list is nothing."""
        return value_at(self.raw, path) not in (None, [])

    def has_in_section(self, *keys: str) -> Iterator[str]:
        """Those of the keys that are written in [section]."""
        return (key for key in keys if self.has("section", key))

    @property
    def laminated(self) -> bool:
        """Whether the section is laid up of plies."""
        return self.has("section", "ply")


def parts(raw: Mapping[str, Any]) -> Parts:
    """The readable parts of a raw file."""
    stations = items(table(raw.get("mast")).get("station"))
    section = table(raw.get("section"))
    return Parts(
        raw=raw,
        stations=tuple(read_part(StationTable, s) for s in stations),
        section=read_part(SectionTable, section),
        foil=read_part(FoilTable, raw.get("foil")),
        conditions=read_part(ConditionsTable, raw.get("conditions")),
        wings=tuple(read_part(WingTable, w) for w in items(raw.get("wing"))),
        plies=tuple(read_part(PlyTable, ply) for ply in items(section.get("ply"))),
        materials={name: read_part(MaterialTable, m) for name, m in table(raw.get("material")).items()},
        laminas={name: read_part(LaminaTable, m) for name, m in table(raw.get("lamina")).items()},
        cases=tuple(_text(table(c).get("name")) for c in items(raw.get("load_case"))),
        limits=tuple(_limits(table(raw.get("limits")))),
    )


def table(value: object) -> Mapping[str, Any]:
    """The value where it is a table, else an empty one."""
    return value if isinstance(value, Mapping) else {}


def items(value: object) -> list[Any]:
    """The value where it is a list, else an empty one."""
    return value if isinstance(value, list) else []


def mm(metres: float) -> str:
    """A length for a message."""
    return f"{metres * 1000:g} mm"


def law_at(law: Iterable[tuple[float, float]], x: float) -> float:
    """A wall [m] at a chord fraction: linear between its points, constant beyond them."""
    points = tuple(law)
    before = points[0]
    for point in points:
        if x <= point[0]:
            share = (x - before[0]) / (point[0] - before[0]) if point[0] > before[0] else 1.0
            return before[1] + share * (point[1] - before[1])
        before = point
    return before[1]


def _limits(raw: Mapping[str, Any]) -> Iterator[tuple[Place, str]]:
    """Place and case name of each limit that names a case."""
    for quantity in Quantity:
        value = raw.get(quantity)
        lone = isinstance(value, Mapping)
        for i, entry in enumerate([value] if lone else items(value)):
            name = _text(table(entry).get("case"))
            if name is not None:
                yield ("limits", str(quantity), *(() if lone else (i,))), name


def read_part(model: type[BaseModel], raw: object) -> Part:
    """A table key by key; its faults are reported by the check of the whole file."""
    known = table(raw)
    return {key: _value(model, key, known) for key in model.model_fields}


def _value(model: type[BaseModel], key: str, known: Mapping[str, Any]) -> Any:
    """The value of a key in SI units, None where absent or faulty."""
    if key not in known:
        return None
    try:
        return _adapter(model, key).validate_python(known[key])
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


def _text(value: object) -> str | None:
    return value if isinstance(value, str) else None
