"""The shipped threads and strength classes of bolts, read from package data."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Any

from mastcheck.files.materials import DATA
from mastcheck.joint import PropertyClass, Thread
from mastcheck.source import Grade, Source
from mastcheck.units import Dimension, parse

FILE = "bolts.toml"
_TOLERANCES = ("deviation", "major", "bolt_pitch", "minor", "nut_pitch")


@cache
def _raw() -> Mapping[str, Any]:
    return tomllib.loads((DATA / FILE).read_text(encoding="utf-8"))


@cache
def threads() -> Mapping[str, Thread]:
    """Coarse threads by name, "M4" to "M12" [m]."""
    source = _source(_raw()["thread_from"])
    return MappingProxyType({name: _thread(name, t, source) for name, t in _raw()["thread"].items()})


@cache
def property_classes() -> Mapping[str, PropertyClass]:
    """Strength classes by name, such as "8.8" and "A4-70" [Pa]."""
    return MappingProxyType({name: _property_class(name, t) for name, t in _raw()["class"].items()})


def _thread(name: str, table: Mapping[str, Any], source: Source) -> Thread:
    keys = ("diameter", "pitch", "head_diameter", "hole")
    sizes = {key: parse(table[key], Dimension.LENGTH) for key in keys}
    tolerances = zip(_TOLERANCES, (t * 1e-6 for t in table["tolerances"]), strict=True)
    return Thread(name=name, source=source, **sizes, **dict(tolerances))


def _property_class(name: str, table: Mapping[str, Any]) -> PropertyClass:
    def stress(key: str) -> float:
        return parse(table[key], Dimension.STRESS)

    return PropertyClass(
        name=name,
        ultimate=stress("ultimate"),
        yield_strength=stress("yield_strength"),
        proof=stress("proof") if "proof" in table else None,
        E=stress("E"),
        shear_factor=table["shear_factor"],
        galvanic_group=table["galvanic_group"],
        source=_source(table["from"]),
    )


def _source(table: Mapping[str, str]) -> Source:
    return Source(title=table["source"], place=table.get("place", ""), grade=Grade(table["grade"]))
