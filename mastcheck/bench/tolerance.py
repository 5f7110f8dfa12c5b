"""How far a made blade may lie from the calculated one: stated tolerances, through the section solver.

Common practice, no source: every figure is stated on the test sheet.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from mastcheck.checks.stations import solve_at
from mastcheck.errors import GeometryError
from mastcheck.mast import Mast, Station, Wall

THICKNESS = 0.2e-3
"""On the outline's thickness [m]."""
WALL = 0.2e-3
"""On the wall of a hollow or shell [m]."""
PLIES = 0.05
"""On the thickness of cured plies, as a share."""
METAL, LAMINATE = 0.03, 0.10
"""On E and G of plain materials, and of laminates."""

_AT = 0.5  # of the length: the section that stands for all


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """Relative tolerance of each stiffness, all causes by the root of their squares; in words."""

    EI_side: float
    EI_fore_aft: float
    GJ: float
    words: tuple[str, ...]

    def of(self, direction: str) -> float:
        """That of side, fore-aft or twist."""
        return {"side": self.EI_side, "fore-aft": self.EI_fore_aft, "twist": self.GJ}[direction]


def tolerance(mast: Mast) -> Tolerance:
    """Tolerances of a mast's stiffness, by solving its middle section again with each size changed."""
    plain = _stiffness(mast)
    laminated = bool(mast.stations[0].plies) or mast.section.material.laminate is not None
    material = LAMINATE if laminated else METAL
    words = [f"E and G ± {material:.0%}"]
    moves: list[tuple[float, ...]] = [(material,) * 3]
    changes: list[tuple[str, Callable[[Station], Station]]] = [
        (f"thickness of the section ± {1e3 * THICKNESS:g} mm", _thicker)
    ]
    if any(s.wall is not None for s in mast.stations):
        changes.append((f"wall ± {1e3 * WALL:g} mm", _walled))
    if laminated and mast.stations[0].plies:
        changes.append((f"thickness of the plies ± {PLIES:.0%}", _plied))
    for said, change in changes:
        try:
            other = _stiffness(replace(mast, stations=tuple(change(s) for s in mast.stations)))
        except GeometryError:
            continue
        words.append(said)
        moves.append(tuple(abs(b / a - 1) for a, b in zip(plain, other, strict=True)))
    side, fore_aft, torsion = (sum(m[k] ** 2 for m in moves) ** 0.5 for k in range(3))
    return Tolerance(EI_side=side, EI_fore_aft=fore_aft, GJ=torsion, words=tuple(words))


def _stiffness(mast: Mast) -> tuple[float, float, float]:
    p = solve_at(mast, _AT).properties
    return p.EIxx, p.EIyy, p.GJ


def _thicker(s: Station) -> Station:
    return replace(s, thickness=s.thickness + THICKNESS)


def _walled(s: Station) -> Station:
    wall = s.wall
    if isinstance(wall, Wall):
        port, starboard = (tuple((x, t + WALL) for x, t in side) for side in (wall.port, wall.starboard))
        return replace(s, wall=Wall(port=port, starboard=starboard))
    return s if wall is None else replace(s, wall=wall + WALL)


def _plied(s: Station) -> Station:
    return replace(s, plies=tuple(replace(p, thickness=p.thickness * (1 + PLIES)) for p in s.plies))
