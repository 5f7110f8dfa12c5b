"""Invented masts whose sections are kept, and a hash over every bit of a solved one."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np

from mastcheck.laminate import Lamina
from mastcheck.mast import Construction, Mast, OutlineKind, SectionRecipe, SkinPly, Station, Zone
from mastcheck.material import Material
from mastcheck.section.identity import digest
from mastcheck.section.model import SectionModel
from mastcheck.source import PRACTICE

PROFILES = Path(__file__).parents[1] / "profiles"
METAL = Material(name="metal", E=70e9, G=26e9, density=2700.0, source=PRACTICE)
LINER = Material(name="liner", E=110e9, G=42e9, density=4430.0, source=PRACTICE)
FOAM = Material(name="foam", E=100e6, G=40e6, density=80.0, source=PRACTICE)
CLOTH = Lamina(
    name="cloth", E1=60e9, E2=60e9, G12=4e9, nu12=0.05, density=1500.0, source=PRACTICE
)  # fmt: skip
TAPE = replace(CLOTH, name="tape", E1=120e9, E2=8e9, nu12=0.3)


def plies(of: float = 1.0) -> tuple[SkinPly, ...]:
    return (
        SkinPly(lamina=CLOTH, angle=math.pi / 4, thickness=0.0006 * of),
        SkinPly(lamina=TAPE, angle=0.0, thickness=0.0012 * of, zones=(Zone.FACES,)),
        SkinPly(lamina=CLOTH, angle=0.1, thickness=0.0007 * of),
    )


def mast(construction: str = "hollow", ratio: float = 0.75, **recipe: object) -> Mast:
    """A tapered mast; ``ratio`` of its tip's sizes to its base's."""
    walled = construction in ("hollow", "shell-and-core")
    stations = tuple(
        Station(
            at=at,
            chord=0.12 * k,
            thickness=0.0156 * k,
            wall=0.0025 * k if walled else None,
            plies=plies(k) if construction == "laminated" else (),
        )
        for at, k in ((0.0, 1.0), (1.0, ratio))
    )
    kind = "shell-and-core" if construction == "laminated" else construction
    made = SectionRecipe(
        outline=OutlineKind.NACA_4_DIGIT, construction=Construction(kind), material=METAL, core=FOAM
    )
    return Mast(name="m", length=0.75, stations=stations, section=replace(made, **recipe))


ALL = ("solid", "hollow", "shell-and-core", "laminated")


def numbers(model: SectionModel) -> str:
    """A hash over every bit of a solved section."""
    rings = tuple(r.polygon.wkb for r in model.regions)
    basis = model.basis
    arrays = (basis.points, basis.region, basis.fields, basis.triangles)
    end = np.zeros(0) if model.end is None else model.end
    return digest(model.properties, rings, tuple(r.material for r in model.regions), *arrays, end)
