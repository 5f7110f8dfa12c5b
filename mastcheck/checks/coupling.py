"""Unbalanced and unsymmetrical layups: what this beam model does not carry, and how much it may matter.

The beam's EA, EI and GJ hold the coupled strain of each wall at nil. In a mast nothing holds it: a
wall that carries no shear force is free to shear. A closed tube whose walls are all alike then
stretches, bends and twists more by the one factor 1/(1 - K16²/(K11 K66)), and buckles that much
sooner; walls that differ do so by less than the largest of their factors.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from mastcheck.laminate import membrane
from mastcheck.material import Material
from mastcheck.section.model import SectionModel

NAMED = 1.05
"""A ratio above this is named, and every limit on movement and buckling judged with it."""

UNSYMMETRICAL = 0.01
"""A layup whose B is above this share of the root of A and D is named as unsymmetrical."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupling:
    """The largest twist ratio of a mast's walls, its normalised coupling term, and whose it is."""

    ratio: float
    term: float
    material: str


def materials_of(sections: Iterable[SectionModel]) -> tuple[Material, ...]:
    """Every material of the sections, each object once, in the order they are met."""
    return tuple({id(r.material): r.material for s in sections for r in s.regions}.values())


def worst_coupling(sections: Iterable[SectionModel]) -> Coupling | None:
    """The walls of largest twist ratio; None where none passes NAMED."""
    worst: Coupling | None = None
    for material in materials_of(sections):
        if material.laminate is None:
            continue
        m = membrane(material.laminate)
        if m.twist_ratio > max(NAMED, worst.ratio if worst else 0.0):
            worst = Coupling(ratio=m.twist_ratio, term=m.coupling, material=material.name)
    return worst


def unsymmetrical(sections: Iterable[SectionModel]) -> dict[str, float]:
    """Names of unsymmetrical walls with the largest size of their B (see ``laminate.membrane``)."""
    out: dict[str, float] = {}
    for material in materials_of(sections):
        if material.laminate is None:
            continue
        size = membrane(material.laminate).unsymmetry
        if size > max(UNSYMMETRICAL, out.get(material.name, 0.0)):
            out[material.name] = size
    return out
