"""How a station's sizes change along the mast: rates, their direction, and the station moved by them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mastcheck.mast import Station, Wall

UNIFORM = 1e-9
"""A size that changes by less over the whole length [m] does not change."""

_PLACES = 10  # decimals of a direction: tapers that differ by less are one


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """Rates of a station's sizes: per unit of the length's fraction [m], or a direction [-]."""

    chord: float
    thickness: float
    wall: float | Wall | None
    plies: tuple[float, ...]


def slope_of(a: Station, b: Station) -> Slope | None:
    """Rates between two stations; None where nothing changes."""
    span = b.at - a.at
    wall: float | Wall | None = None
    if isinstance(a.wall, Wall) or isinstance(b.wall, Wall):
        first, second = (w if isinstance(w, Wall) else Wall.uniform(w or 0.0) for w in (a.wall, b.wall))
        wall = Wall(
            port=_face_slope(first.port, second.port, span),
            starboard=_face_slope(first.starboard, second.starboard, span),
        )
    elif a.wall is not None and b.wall is not None:
        wall = (b.wall - a.wall) / span
    out = Slope(
        chord=(b.chord - a.chord) / span,
        thickness=(b.thickness - a.thickness) / span,
        wall=wall,
        plies=tuple((q.thickness - p.thickness) / span for p, q in zip(a.plies, b.plies, strict=True)),
    )
    return out if any(abs(rate) > UNIFORM for rate in _rates(out)) else None


def _face_slope(
    a: tuple[tuple[float, float], ...], b: tuple[tuple[float, float], ...], span: float
) -> tuple[tuple[float, float], ...]:
    places = sorted({x for x, _ in (*a, *b)})
    return tuple((x, (_law(b, x) - _law(a, x)) / span) for x in places)


def _law(law: tuple[tuple[float, float], ...], x: float) -> float:
    places, values = zip(*law, strict=True)
    return float(np.interp(x, places, values))


def _rates(slope: Slope) -> list[float]:
    wall = slope.wall
    if isinstance(wall, Wall):
        walls = [rate for _, rate in (*wall.port, *wall.starboard)]
    else:
        walls = [] if wall is None else [wall]
    return [slope.chord, slope.thickness, *walls, *slope.plies]


def steepest(station: Station, slope: Slope) -> float:
    """Greatest rate of a size as a share of that size [per unit of the fraction]."""

    def share(rate: float, size: float) -> float:
        return abs(rate) / size if size > 0 else 0.0  # no size is the builder's to refuse

    shares = [share(slope.chord, station.chord), share(slope.thickness, station.thickness)]
    if isinstance(slope.wall, Wall):
        own = station.wall if isinstance(station.wall, Wall) else Wall.uniform(station.wall or 0.0)
        faces = ((slope.wall.port, own.port), (slope.wall.starboard, own.starboard))
        shares += [share(rate, _law(law, x)) for rates, law in faces for x, rate in rates]
    elif slope.wall is not None and isinstance(station.wall, float):
        shares.append(share(slope.wall, station.wall))
    laminate = sum(ply.thickness for ply in station.plies)
    return max([*shares, *(share(rate, laminate) for rate in slope.plies)])


def direction(slope: Slope, by: float) -> Slope:
    """The slope over its size, rounded, so that tapers of one direction are one."""

    def unit(rate: float) -> float:
        return round(rate / by, _PLACES) + 0.0

    wall = slope.wall
    if isinstance(wall, Wall):
        port, starboard = (
            tuple((x, unit(rate)) for x, rate in face) for face in (wall.port, wall.starboard)
        )
        wall = Wall(port=port, starboard=starboard)
    elif wall is not None:
        wall = unit(wall)
    return Slope(
        chord=unit(slope.chord),
        thickness=unit(slope.thickness),
        wall=wall,
        plies=tuple(unit(rate) for rate in slope.plies),
    )


def moved(station: Station, by: Slope, step: float) -> Station:
    """The station with each size moved by its rate times a step [m]."""
    wall = station.wall
    if isinstance(by.wall, Wall):
        own = wall if isinstance(wall, Wall) else Wall.uniform(wall or 0.0)
        port, starboard = (
            tuple(
                (x, _law(law, x) + step * _law(rates, x)) for x in sorted({x for x, _ in (*law, *rates)})
            )
            for law, rates in ((own.port, by.wall.port), (own.starboard, by.wall.starboard))
        )
        wall = Wall(port=port, starboard=starboard)
    elif by.wall is not None and isinstance(wall, float):
        wall = wall + step * by.wall
    return replace(
        station,
        chord=station.chord + step * by.chord,
        thickness=station.thickness + step * by.thickness,
        wall=wall,
        plies=tuple(
            replace(p, thickness=max(p.thickness + step * rate, 0.0))
            for p, rate in zip(station.plies, by.plies, strict=True)
        ),
    )
