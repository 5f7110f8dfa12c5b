"""Invented masts for tests, built in Python."""

from __future__ import annotations

from mastcheck.mast import Construction, Mast, OutlineKind, SectionRecipe, Station
from mastcheck.material import Material
from mastcheck.source import Grade, Source

ALUMINIUM = Material(
    name="test aluminium",
    E=70e9,
    G=70e9 / (2 * 1.33),
    density=2700.0,
    proof_strength=250e6,
    ultimate_strength=290e6,
    source=Source(title="invented for a test", grade=Grade.ASSUMED),
    galvanic_group="aluminium",
)


def mast(
    base: tuple[float, float] = (0.150, 0.018),
    tip: tuple[float, float] = (0.090, 0.012),
    *,
    length: float = 0.75,
    wall: float | None = None,
    outline: OutlineKind = OutlineKind.NACA_4_DIGIT,
    material: Material = ALUMINIUM,
) -> Mast:
    """A mast from (chord, thickness) at base and tip; solid unless a wall is given."""
    return Mast(
        name="test mast",
        length=length,
        stations=tuple(
            Station(at=at, chord=chord, thickness=thickness, wall=wall)
            for at, (chord, thickness) in ((0.0, base), (1.0, tip))
        ),
        section=SectionRecipe(
            outline=outline,
            construction=Construction.SOLID if wall is None else Construction.HOLLOW,
            material=material,
        ),
    )
