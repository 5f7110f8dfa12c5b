"""Three invented masts, each drawn as one polygon that the beam and the solid share.

The outline is a drawing of straight panels (the four-digit thickness law's points), so that neither
side smooths it: the beam's section and the solid's mesh have the same corners. What a panelled
outline loses against a smooth one is then lost by both.
"""

from __future__ import annotations

from mastcheck.drawn import Drawing, DrawnLoop
from mastcheck.mast import Construction, Mast, SectionRecipe, Station
from mastcheck.outline import contour
from tests.masts import ALUMINIUM

PANELS = 24


def drawing(chord: float, thickness: float, panels: int = PANELS) -> Drawing:
    """The four-digit outline as a drawing of straight panels, ``panels`` a side."""
    ring = contour("naca-4-digit", chord=chord, thickness=thickness, panels=panels)
    width, height = (float(ring[:, k].max() - ring[:, k].min()) for k in (0, 1))
    loop = DrawnLoop(points=ring, parent=None, fill=ALUMINIUM)
    return Drawing(loops=(loop,), chord=width, thickness=height, file="panelled four-digit outline")


def blade(
    name: str,
    base: tuple[float, float],
    tip: tuple[float, float],
    *,
    wall: float | None = None,
    about: float = 0.5,
    length: float = 0.75,
) -> Mast:
    """A mast from (chord, thickness) [m] at base and tip; solid unless a wall [m] is given."""
    return Mast(
        name=name,
        length=length,
        stations=tuple(
            Station(at=at, chord=chord, thickness=thickness, wall=wall)
            for at, (chord, thickness) in ((0.0, base), (1.0, tip))
        ),
        section=SectionRecipe(
            outline=drawing(*base),
            construction=Construction.SOLID if wall is None else Construction.HOLLOW,
            material=ALUMINIUM,
        ),
        taper_about=about,
    )


UNIFORM = blade("uniform", (0.120, 0.015), (0.120, 0.015))
TAPERED = blade("tapered", (0.150, 0.018), (0.090, 0.012))
HOLLOW = blade("hollow", (0.140, 0.018), (0.090, 0.013), wall=0.0025, about=0.0)
MASTS = {mast.name: mast for mast in (UNIFORM, TAPERED, HOLLOW)}
