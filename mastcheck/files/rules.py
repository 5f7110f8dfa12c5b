"""Rules of the mast file that join several keys. Each returns the faults it finds.

Those of the section are in ``section_rules.py`` and ``wall_rules.py``, those of plies in
``ply_rules.py``.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import pairwise

from mastcheck.files import (
    fatigue_rules,
    foil_rules,
    joint_rules,
    ply_rules,
    section_rules,
    tolerance_rules,
    wall_rules,
    water_build,
)
from mastcheck.files.locate import Place
from mastcheck.files.parts import Parts, mm
from mastcheck.files.problems import Fault, listed, nearest
from mastcheck.loadcase import STANDARD_CASES
from mastcheck.mast import Construction


def faults(p: Parts, materials: Collection[str], laminas: Collection[str]) -> list[Fault]:
    """All faults of the joint rules.

    Args:
        p: what could be read of the file.
        materials: names of the shipped materials.
        laminas: names of the shipped laminas.
    """
    return [
        *_stations(p),
        *section_rules.faults(p),
        *wall_rules.faults(p),
        *ply_rules.faults(p),
        *_section_materials(p, materials, laminas),
        *ply_rules.unknown_laminas(p, laminas, materials),
        *_own_materials(p),
        *_cases(p),
        *foil_rules.faults(p),
        *water_build.faults(p),
        *fatigue_rules.faults(p, materials),
        *joint_rules.faults(p, materials),
        *tolerance_rules.faults(p),
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
            rule = f"must be less than the chord, {mm(chord)}"
            yield Fault((*place, i, "thickness"), rule, "check which is which")


def _section_materials(
    p: Parts, materials: Collection[str], laminas: Collection[str]
) -> Iterator[Fault]:
    """Materials that the section names, and the one that it must name."""
    known = sorted({*materials, *p.materials})
    remedy = f"write a [material.NAME] table, or one of: {listed(known)}"
    for place, name in _named(p):
        if name in known:
            continue
        if name in laminas or name in p.laminas:
            rule = "is a lamina, and a material is needed here"
            yield Fault(place, rule, "lay it up in [[section.ply]] tables, or name a material")
        else:
            yield Fault(place, "unknown material", nearest(name, known, remedy))
    if not p.has("section"):
        return
    if p.laminated and p.section["construction"] not in (Construction.SOLID, Construction.DRAWN):
        if p.has("section", "material"):
            rule = "a laminated section is made of its plies"
            yield Fault(("section", "material"), rule, "remove it, or the [[section.ply]] tables")
    elif not p.has("section", "material"):
        yield Fault(("section", "material"), "this key is required", "add material to section")


def _named(p: Parts) -> Iterator[tuple[Place, str]]:
    """Where the section names a material."""
    for key in ("material", "core"):
        if p.section[key] is not None:
            yield ("section", key), p.section[key]
    for i, channel in enumerate(p.section["channels"] or ()):
        if channel.material is not None:
            yield ("section", "channels", i, "material"), channel.material
    for layer, word in (p.section["layers"] or {}).items():
        if word not in ("void", "ignore"):
            yield ("section", "layers", layer), word


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
    known += water_build.case_names(p)
    for path, name in p.limits:
        if name not in known:
            remedy = nearest(name, known, "load cases: " + listed(known))
            yield Fault((*path, "case"), "unknown load case", remedy)
