"""The shipped materials, read from package data."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from mastcheck.material import Material
from mastcheck.source import Grade, Source
from mastcheck.units import Dimension, parse

DATA = Path(__file__).resolve().parents[1] / "data"


@cache
def library() -> MappingProxyType[str, Material]:
    """Every shipped material by name, in SI units."""
    tables = tomllib.loads((DATA / "materials.toml").read_text(encoding="utf-8"))["material"]
    return MappingProxyType({name: _material(name, table) for name, table in tables.items()})


def _material(name: str, table: dict[str, Any]) -> Material:
    """One entry as a Material [Pa, kg/m³]; G from nu where nu is given."""
    modulus = parse(table["E"], Dimension.STRESS)
    shear = modulus / (2 * (1 + table["nu"])) if "nu" in table else parse(table["G"], Dimension.STRESS)
    strengths: dict[str, Any] = {
        key: parse(table[key], Dimension.STRESS)
        for key in ("proof_strength", "ultimate_strength")
        if key in table
    }
    plain = ("gamma_proof", "gamma_ultimate", "galvanic_group", "note")
    others = {key: table[key] for key in plain if key in table}
    source = Source(title=table["source"], grade=Grade(table["grade"]), place=table.get("place", ""))
    return Material(
        name=name,
        E=modulus,
        G=shear,
        density=parse(table["density"], Dimension.DENSITY),
        source=source,
        **strengths,
        **others,
    )
