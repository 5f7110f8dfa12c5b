"""How far a made blade may lie from the calculated one: stated tolerances, through the section solver.

Common practice, no source, where the mast file states none: every figure is on the test sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from mastcheck.checks.stations import solve_at
from mastcheck.errors import GeometryError
from mastcheck.mast import Mast, Station, Wall
from mastcheck.scatter import Quantity
from mastcheck.scatter import Tolerance as Stated

Limits = Mapping[Quantity, Stated]
"""What a file states, by what scatters."""

THICKNESS = 0.2e-3
"""On the outline's thickness [m]."""
WALL = 0.2e-3
"""On the wall of a hollow or shell [m]."""
PLIES = 0.05
"""On the thickness of cured plies, as a share."""
METAL, LAMINATE = 0.03, 0.10
"""On E and G of plain materials, and of laminates."""

STATED = " (stated)"

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


def tolerance(mast: Mast, stated: Sequence[Stated] = ()) -> Tolerance:
    """Tolerances of a mast's stiffness, by solving its middle section again with each size changed.

    Args:
        mast: the mast.
        stated: what its file says in [tolerances]; it goes before the figures above.
    """
    plain = _stiffness(mast)
    limits = {t.quantity: t for t in stated}
    words, moves = _material(mast, limits)
    for said, change in _changes(mast, limits):
        try:
            other = _stiffness(replace(mast, stations=tuple(change(s) for s in mast.stations)))
        except GeometryError:
            continue
        words.append(said)
        moves.append(tuple(abs(b / a - 1) for a, b in zip(plain, other, strict=True)))
    side, fore_aft, torsion = (sum(m[k] ** 2 for m in moves) ** 0.5 for k in range(3))
    return Tolerance(EI_side=side, EI_fore_aft=fore_aft, GJ=torsion, words=tuple(words))


def _material(mast: Mast, limits: Limits) -> tuple[list[str], list[tuple[float, ...]]]:
    """What E and G do to EI_side, EI_fore_aft and GJ."""
    laminated = bool(mast.stations[0].plies) or mast.section.material.laminate is not None
    both = limits[Quantity.E].limit if Quantity.E in limits else LAMINATE if laminated else METAL
    words = [f"E and G ± {100 * both:.3g} %{STATED if Quantity.E in limits else ''}"]
    moves: list[tuple[float, ...]] = [(both, both, both)]
    if Quantity.G in limits:
        beside = limits[Quantity.G].limit
        words.append(f"G beside that ± {100 * beside:.3g} %{STATED}")
        moves.append((0.0, 0.0, beside))
    return words, moves


def _changes(mast: Mast, limits: Limits) -> Iterator[tuple[str, Callable[[Station], Station]]]:
    """Each size that may be off, in words, and a station with it so."""
    if Quantity.CHORD in limits:
        by, share, said = _limit(limits, Quantity.CHORD, 0.0)
        yield f"chord ± {said}", lambda s: replace(s, chord=s.chord * (1 + share) + by)
    thicker, more, said = _limit(limits, Quantity.THICKNESS, THICKNESS)
    yield (
        f"thickness of the section ± {said}",
        lambda s: replace(s, thickness=s.thickness * (1 + more) + thicker),
    )
    plies = bool(mast.stations[0].plies)
    if any(s.wall is not None for s in mast.stations):
        by_wall, share_wall, said = _limit(limits, Quantity.WALL, WALL)
        yield f"wall ± {said}", lambda s: _walled(s, lambda t: t * (1 + share_wall) + by_wall)
    elif plies:
        found = limits.get(Quantity.WALL)
        stated = found is not None and found.relative
        share_ply = found.limit if found is not None and stated else PLIES
        said = f"{100 * share_ply:.3g} %{STATED if stated else ''}"
        yield f"thickness of the plies ± {said}", lambda s: _plied(s, share_ply)


def _limit(limits: Limits, quantity: Quantity, otherwise: float) -> tuple[float, float, str]:
    """± a length [m] and ± a share of itself, one of them nil, and in words."""
    found = limits.get(quantity)
    if found is not None and found.relative:
        return 0.0, found.limit, f"{100 * found.limit:.3g} %{STATED}"
    if found is not None:
        return found.limit, 0.0, f"{1e3 * found.limit:.3g} mm{STATED}"
    return otherwise, 0.0, f"{1e3 * otherwise:.3g} mm"


def _stiffness(mast: Mast) -> tuple[float, float, float]:
    p = solve_at(mast, _AT).properties
    return p.EIxx, p.EIyy, p.GJ


def _walled(s: Station, thick: Callable[[float], float]) -> Station:
    wall = s.wall
    if isinstance(wall, Wall):
        port, starboard = (tuple((x, thick(t)) for x, t in side) for side in (wall.port, wall.starboard))
        return replace(s, wall=Wall(port=port, starboard=starboard))
    return s if wall is None else replace(s, wall=thick(wall))


def _plied(s: Station, share: float) -> Station:
    return replace(s, plies=tuple(replace(p, thickness=p.thickness * (1 + share)) for p in s.plies))
