"""The shipped materials, read from package data: every number with its source and grade."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from mastcheck.errors import InputError, Problem
from mastcheck.files.problems import nearest
from mastcheck.laminate import Lamina
from mastcheck.material import Material
from mastcheck.source import Grade, Source
from mastcheck.units import Dimension, UnitError, parse, shown

DATA = Path(__file__).resolve().parents[1] / "data"
FILE = "materials.toml"


class Kind(StrEnum):
    """What an entry describes."""

    METAL = "metal"
    LAMINA = "lamina"
    LAMINATE = "laminate"
    CORE = "core"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatAffectedZone:
    """What welding leaves of a metal: strengths [Pa] and their ratios to the parent metal's."""

    proof_strength: float
    ultimate_strength: float
    rho_o: float
    rho_u: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A material or lamina with what describes it, and a source for each group of its numbers.

    ``thickness_above`` and ``thickness_to`` [m]: the strengths hold above the first, up to the second;
    ``elongation`` and ``fibre_volume`` are fractions; ``compressive_strength`` [Pa] is a core's.
    ``strengths`` covers strengths, elongation, heat-affected zone and buckling class, ``gammas`` the
    partial factors; both are None where there is no strength. ``note`` is the table's own, without the
    sources that the note of ``content`` repeats for reports.
    """

    kind: Kind
    content: Material | Lamina
    standard: str
    elastic: Source
    density: Source
    strengths: Source | None = None
    gammas: Source | None = None
    temper: str = ""
    form: str = ""
    thickness_above: float | None = None
    thickness_to: float | None = None
    elongation: float | None = None
    haz: HeatAffectedZone | None = None
    buckling_class: str = ""
    fibre_volume: float | None = None
    compressive_strength: float | None = None
    note: str = ""

    @property
    def name(self) -> str:
        """The name under which a mast file asks for it."""
        return self.content.name


@cache
def entries() -> tuple[Entry, ...]:
    """Every shipped entry, in the order of the data file."""
    return read((DATA / FILE).read_text(encoding="utf-8"))


@cache
def library() -> Mapping[str, Material]:
    """Every shipped material by name, in SI units."""
    return MappingProxyType({e.name: e.content for e in entries() if isinstance(e.content, Material)})


@cache
def laminas() -> Mapping[str, Lamina]:
    """Every shipped lamina by name, in SI units."""
    return MappingProxyType({e.name: e.content for e in entries() if isinstance(e.content, Lamina)})


def read(text: str, file: str = FILE) -> tuple[Entry, ...]:
    """The entries of a materials table.

    Raises: InputError with every unknown, missing or ill-formed key, each with its place.
    """
    raw = tomllib.loads(text)
    problems: list[Problem] = []
    found: dict[str, Entry] = {}
    for group, tables in raw.items():
        if group not in _KEYS:
            problems.append(_problem(file, group, "unknown table", nearest(group, _KEYS)))
            continue
        for name, table in tables.items():
            reader = _Reader(file=file, place=f"{group}.{name}", table=table, problems=problems)
            if name in found:
                reader.complain("", "this name is taken by the other kind of table")
            entry = reader.entry(name, lamina=group == "lamina")
            if entry is not None:
                found[name] = entry
    if problems:
        raise InputError(tuple(problems))
    return tuple(found.values())


_STRESS, _LENGTH, _DENSITY = Dimension.STRESS, Dimension.LENGTH, Dimension.DENSITY
_PLY_STRENGTHS = ("Xt", "Xc", "Yt", "Yc", "S12")
_STRENGTHS = ("proof_strength", "ultimate_strength", "shear_strength")
_HAZ = {
    "haz_proof": "proof_strength",
    "haz_ultimate": "ultimate_strength",
    "rho_o_haz": "rho_o",
    "rho_u_haz": "rho_u",
}
_SOURCES = ("strengths_from", "elastic_from", "density_from", "gamma_from")
_TEXTS = ("standard", "temper", "form", "buckling_class", "galvanic_group", "note")
_QUANTITIES = {
    **dict.fromkeys(
        ("E", "G", "E1", "E2", "G12", *_STRENGTHS, *_PLY_STRENGTHS, "compressive_strength"), _STRESS
    ),
    **dict.fromkeys(("haz_proof", "haz_ultimate"), _STRESS),
    **dict.fromkeys(("thickness_above", "thickness_to"), _LENGTH),
    "density": _DENSITY,
}
_NUMBERS = {  # with the least and the greatest value that can be meant
    "nu": (-1.0, 0.5),
    "nu12": (0.0, 1.0),
    "elongation": (0.0, 1.0),
    "fibre_volume": (0.0, 1.0),
    "rho_o_haz": (0.0, 1.0),
    "rho_u_haz": (0.0, 1.0),
    "gamma": (1.0, 10.0),
    "gamma_proof": (1.0, 10.0),
    "gamma_ultimate": (1.0, 10.0),
}
_COMMON = ("standard", "form", "density", "galvanic_group", "note", *_SOURCES)
_KEYS = {
    "material": (
        *("kind", "temper", "thickness_above", "thickness_to", "E", "G", "nu", *_STRENGTHS),
        *("gamma_proof", "gamma_ultimate", "elongation", "buckling_class", "compressive_strength"),
        *_HAZ,
        *_COMMON,
    ),
    "lamina": ("E1", "E2", "G12", "nu12", "gamma", "fibre_volume", *_PLY_STRENGTHS, *_COMMON),
}
_REQUIRED = {
    "material": ("kind", "standard", "E", "density", "elastic_from"),
    "lamina": ("standard", "E1", "E2", "G12", "nu12", "density", "elastic_from"),
}


def _problem(file: str, key: str, rule: str, remedy: str = "", found: str = "") -> Problem:
    return Problem(file=file, key=key, found=found, rule=rule, remedy=remedy)


@dataclass(frozen=True, kw_only=True)
class _Reader:
    """Reads one table, noting every fault in ``problems``."""

    file: str
    place: str
    table: Mapping[str, Any]
    problems: list[Problem]

    def complain(self, key: str, rule: str, remedy: str = "") -> None:
        """Note a fault at a key of this table ("": at the table)."""
        found = shown(self.table[key]) if key in self.table else ""
        place = f"{self.place}.{key}" if key else self.place
        self.problems.append(_problem(self.file, place, rule, remedy, found))

    def entry(self, name: str, *, lamina: bool) -> Entry | None:
        """The entry, or None when something is wrong."""
        before = len(self.problems)
        group = "lamina" if lamina else "material"
        self._check_keys(group)
        values = {key: self._value(key) for key in self.table if key in _KEYS[group]}
        if len(self.problems) == before:
            self._check_rules(values, lamina=lamina)
        if len(self.problems) > before:
            return None
        content = _lamina(name, values) if lamina else _material(name, values)
        plain = {k: values[k] for k in _DESCRIPTIVE if k in values}
        haz = {field: values[key] for key, field in _HAZ.items() if key in values}
        return Entry(
            kind=Kind.LAMINA if lamina else values["kind"],
            content=content,
            strengths=values.get("strengths_from"),
            elastic=values["elastic_from"],
            density=values.get("density_from", values["elastic_from"]),
            gammas=values.get("gamma_from"),
            haz=HeatAffectedZone(**haz) if haz else None,
            **plain,
        )

    def _check_keys(self, group: str) -> None:
        """Unknown and missing keys."""
        for key in self.table:
            if key not in _KEYS[group]:
                self.complain(key, "unknown key", nearest(key, _KEYS[group]))
        for key in _REQUIRED[group]:
            if key not in self.table:
                self.complain(key, "this key is required")

    def _check_rules(self, values: Mapping[str, Any], *, lamina: bool) -> None:
        """Rules that join several keys."""
        if not lamina and ("G" in values) == ("nu" in values):
            self.complain("G", "exactly one of G and nu is wanted")
        plies = [key for key in _PLY_STRENGTHS if key in values]
        if plies and len(plies) < len(_PLY_STRENGTHS):
            self.complain("Xt", "all five ply strengths or none are wanted")
        haz = [key for key in _HAZ if key in values]
        if haz and len(haz) < len(_HAZ):
            self.complain("haz_proof", "all four figures of the heat-affected zone or none are wanted")
        strong = any(key in values for key in (*_STRENGTHS, *_PLY_STRENGTHS))
        for key in ("strengths_from", "gamma_from"):
            if strong != (key in values):
                self.complain(key, "goes with strengths, and strengths with it")
        least, greatest = values.get("thickness_above", 0.0), values.get("thickness_to", float("inf"))
        if not least < greatest:
            self.complain("thickness_to", "must be more than thickness_above")

    def _value(self, key: str) -> Any:
        """A value of the data file in SI; None with the fault noted."""
        value = self.table[key]
        if key in _QUANTITIES:
            return self._quantity(key)
        if key in _SOURCES:
            return self._source(key)
        if key in _NUMBERS:
            low, high = _NUMBERS[key]
            if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
                self.complain(key, f"must be a number from {low:g} to {high:g}")
                return None
            return float(value)
        if key == "kind":
            kinds = [str(kind) for kind in Kind if kind is not Kind.LAMINA]
            if value not in kinds:
                self.complain(key, "must be one of " + ", ".join(kinds))
                return None
            return Kind(value)
        if not isinstance(value, str) or not value.strip() or not value.isprintable():
            self.complain(key, "must be a line of text")
            return None
        return value

    def _quantity(self, key: str) -> float | None:
        try:
            value = parse(self.table[key], _QUANTITIES[key])
        except UnitError as error:
            self.complain(key, error.rule, error.remedy)
            return None
        if value <= 0:
            self.complain(key, "must be more than 0")
            return None
        return value

    def _source(self, key: str) -> Source | None:
        table = self.table[key]
        if not isinstance(table, dict) or not {"source", "grade"} <= set(table) <= {
            *("source", "place", "grade"),
        }:
            self.complain(key, "must be a table of source, place (may be left out) and grade")
            return None
        if table["grade"] not in list(Grade):
            self.complain(key, "unknown grade", "known: " + ", ".join(Grade))
            return None
        return Source(title=table["source"], place=table.get("place", ""), grade=Grade(table["grade"]))


_DESCRIPTIVE = (
    *("standard", "temper", "form", "thickness_above", "thickness_to", "elongation"),
    *("buckling_class", "fibre_volume", "compressive_strength", "note"),
)


def _material(name: str, values: Mapping[str, Any]) -> Material:
    """One entry as a Material [Pa, kg/m³]; G from nu where nu is given."""
    G = values["G"] if "G" in values else values["E"] / (2 * (1 + values["nu"]))
    keys = (*_STRENGTHS, "gamma_proof", "gamma_ultimate", "thickness_to", "galvanic_group")
    return Material(
        name=name,
        E=values["E"],
        G=G,
        density=values["density"],
        source=values.get("strengths_from", values["elastic_from"]),
        note=_full_note(values),
        **{key: values[key] for key in keys if key in values},
    )


def _lamina(name: str, values: Mapping[str, Any]) -> Lamina:
    """One entry as a Lamina [Pa, kg/m³]."""
    keys = ("E1", "E2", "G12", "nu12", "density", *_PLY_STRENGTHS, "gamma", "galvanic_group")
    return Lamina(
        name=name,
        source=values.get("strengths_from", values["elastic_from"]),
        note=_full_note(values),
        **{key: values[key] for key in keys if key in values},
    )


def _full_note(values: Mapping[str, Any]) -> str:
    """The entry's note, then the sources that a material's one ``source`` leaves out.

    Reports print a material's source and note: this way every number in them names its own.
    """
    said = [values.get("note", "")]
    main = values.get("strengths_from", values["elastic_from"])
    density = values.get("density_from", values["elastic_from"])
    groups = {"elastic constants": values["elastic_from"], "density": density}
    if "gamma_from" in values:
        groups["partial factors"] = values["gamma_from"]
    sources: dict[Source, list[str]] = {}
    for group, source in groups.items():
        if source != main:
            sources.setdefault(source, []).append(group)
    for source, named in sources.items():
        words = " and ".join(named)
        said.append(f"{words[0].upper()}{words[1:]}: {source}.")
    return " ".join(part for part in said if part)
