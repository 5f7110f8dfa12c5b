"""How a section changes with its sizes: central differences of slightly changed sections.

Stiffness, couplings and stresses of a section have no closed derivative, so a few neighbours are
solved, at each station of the mast file and half way between. Between those, rates are interpolated
in a form that changes slowly along a taper (a share of the property per share of the size). A taper's
coupling depends on the slopes of the sizes as well: that part is linear in the slopes, and is solved by
moving each size alone.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.sensitivity_result import SIZES, Kind
from mastcheck.checks.stations import section_key, solve_at
from mastcheck.mast import Mast, Station, Wall
from mastcheck.section.model import Motion, Region, SectionModel, SectionProperties
from mastcheck.section.regions import regions_at
from mastcheck.section.solved import solved_regions

FloatArray = NDArray[np.float64]

STEP = {Kind.CHORD: 0.03, Kind.THICKNESS: 0.03, Kind.WALL: 0.05}
"""Change of a size, as a share of it: a cube's rate errs by a third of its square, 0.03 %; the noise of
two meshes, up to 0.01 % of GJ in a thin tube, by more if it were smaller."""
_MOVE = 1e-3  # of a size, for the part of the coupling that is linear in its slope
_NUDGE = 0.02  # share by which E is moved both ways, for what is not linear in it
_STIFFER = 0.5  # share by which E is raised: Q is linear in E at fixed G

SCALARS = (
    "EA", "EIxx", "EIyy", "EIxy", "GJ", "EGamma", "shear_flex_xx", "shear_flex_yy", "shear_flex_xy",
    "centroid_x", "centroid_y", "shear_centre_x", "shear_centre_y", "mass_per_length",
)  # fmt: skip


def sizes_of(mast: Mast) -> tuple[Kind, ...]:
    """The sizes that the mast's stations state."""
    walled = any(s.wall is not None or s.plies for s in mast.stations)
    return SIZES if walled else SIZES[:2]


def size_at(mast: Mast, kind: Kind, at: float) -> float:
    """A size at a fraction of the length [m]; of a wall that varies around the section, the least."""
    station = mast.station_at(at)
    if kind is Kind.CHORD:
        return station.chord
    if kind is Kind.THICKNESS:
        return station.thickness
    if station.plies:
        return _plies(station)
    wall = station.wall
    return wall.least if isinstance(wall, Wall) else float(wall or 0.0)


def moved(mast: Mast, kind: Kind, amount: float, *, at: float, station: int | None = None) -> Mast:
    """The mast with a size changed by an amount [m] at one station, or (None) at all of them.

    ``at``: the fraction of the length where plies, thicker in proportion, are to make up the amount.
    """
    share = amount / size_at(mast, kind, at) if kind is Kind.WALL else 0.0
    stations = tuple(
        _moved(s, kind, amount, share) if station in (None, i) else s
        for i, s in enumerate(mast.stations)
    )
    return replace(mast, stations=stations)


def _moved(station: Station, kind: Kind, amount: float, share: float) -> Station:
    if kind is Kind.CHORD:
        return replace(station, chord=station.chord + amount)
    if kind is Kind.THICKNESS:
        return replace(station, thickness=station.thickness + amount)
    if station.plies:
        plies = tuple(replace(p, thickness=p.thickness * (1 + share)) for p in station.plies)
        return replace(station, plies=plies)
    wall = station.wall
    if isinstance(wall, Wall):
        port, starboard = (
            tuple((x, t + amount) for x, t in side) for side in (wall.port, wall.starboard)
        )
        return replace(station, wall=Wall(port=port, starboard=starboard))
    return replace(station, wall=None if wall is None else wall + amount)


def _plies(station: Station) -> float:
    return sum(p.thickness for p in station.plies)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SectionRates:
    """Rates of one place's section by its k sizes [per m], slopes of the sizes held.

    ``scalars`` (k,) by name; ``fibre_before``, ``fibre_after``, ``contraction`` (3, k); ``slope``
    (3, k): the fibre torque by each size's slope along z; ``by_E`` (3,): contraction by a share of E,
    G held; ``end`` (6, 6, k) and ``end_by_E`` (6, 6): of what a fixed end adds, None where nothing is
    known of it; ``neighbours``: the sections a step above and below, and the distance between them [m].
    """

    scalars: dict[str, FloatArray]
    fibre_before: FloatArray
    fibre_after: FloatArray
    contraction: FloatArray
    slope: FloatArray
    by_E: FloatArray
    end: FloatArray | None
    end_by_E: FloatArray | None
    neighbours: tuple[tuple[SectionModel, SectionModel, float], ...]


def section_rates(mast: Mast, at: float, base: SectionModel) -> SectionRates:
    """Rates of the section at a fraction of the length, which is ``base`` when solved."""
    sizes = sizes_of(mast)
    slope, by_E = _linear_parts(mast, at, base, sizes)
    neighbours = []
    for kind in sizes:
        step = STEP[kind] * size_at(mast, kind, at)
        above, below = (
            solve_at(moved(mast, kind, sign * step, at=at), at, end=base.end is not None)
            for sign in (1, -1)
        )
        neighbours.append((above, below, 2 * step))

    def rate(name: str) -> FloatArray:
        each = [
            (np.asarray(getattr(a.properties, name)) - np.asarray(getattr(b.properties, name))) / width
            for a, b, width in neighbours
        ]
        return np.stack(each, axis=-1)

    before, after = rate("fibre_before"), rate("fibre_after")
    if mast.stations[0].plies:
        # Plies made thicker in proportion also steepen their taper: that part is the slope's.
        wall = sizes.index(Kind.WALL)
        for side, fibre in ((-1, before), (1, after)):
            fibre[:, wall] -= slope[:, wall] * _steeper(mast, at, side)
    return SectionRates(
        scalars={name: rate(name) for name in SCALARS},
        fibre_before=before,
        fibre_after=after,
        contraction=rate("contraction"),
        slope=slope,
        by_E=by_E,
        end=_end_rate(neighbours),
        end_by_E=None if base.end is None else _end_by_E(regions_at(mast, at)),
        neighbours=tuple(neighbours),
    )


def _end_rate(neighbours: list[tuple[SectionModel, SectionModel, float]]) -> FloatArray | None:
    """Rates (6, 6, k) of what a fixed end adds; None where a neighbour does not tell."""
    each = [
        (above.end - below.end) / width
        for above, below, width in neighbours
        if above.end is not None and below.end is not None
    ]
    return np.stack(each, axis=-1) if each and len(each) == len(neighbours) else None


def _end_by_E(regions: tuple[Region, ...]) -> FloatArray | None:
    """Rate (6, 6) of what a fixed end adds by a share of E, G held; ν goes with it."""
    above, below = (solved_regions(_stiffer(regions, s * _NUDGE), end=True).end for s in (1, -1))
    return None if above is None or below is None else (above - below) / (2 * _NUDGE)


def _linear_parts(
    mast: Mast, at: float, base: SectionModel, sizes: tuple[Kind, ...]
) -> tuple[FloatArray, FloatArray]:
    """Fibre torque by the slope of each size (3, k), and contraction by a share of E (3,)."""
    regions = _stiffer(regions_at(mast, at))
    motions = []
    for kind in sizes:
        step = _MOVE * size_at(mast, kind, at)
        there = regions_at(moved(mast, kind, step, at=at), at)
        motions.append(Motion(regions=_stiffer(there), step=step))
    columns: list[tuple[float, float, float]] = []
    contraction = base.properties.contraction
    for i in range(0, len(motions), 2):  # two motions to a solve
        pair = motions[i : i + 2]
        found = solved_regions(regions, before=pair[0], after=pair[-1]).properties
        columns += [found.fibre_before, found.fibre_after][: len(pair)]
        contraction = found.contraction
    slope = np.array(columns).T / (1 + _STIFFER)
    return slope, (np.array(contraction) - np.array(base.properties.contraction)) / _STIFFER


def _stiffer(regions: tuple[Region, ...], share: float = _STIFFER) -> tuple[Region, ...]:
    """The regions with an E greater by a share, the same G."""
    return tuple(replace(r, material=replace(r.material, E=r.material.E * (1 + share))) for r in regions)


def _steeper(mast: Mast, at: float, side: int) -> float:
    """Relative slope [1/m] of the plies' thickness on one side of a fraction of the length."""
    other = min(max(at + side * 1e-3, 0.0), 1.0)
    if other == at:
        return 0.0
    here, there = (_plies(mast.station_at(a)) for a in (at, other))
    return (there - here) / here / ((other - at) * mast.length)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class RatesAlong:
    """``SectionRates`` at the n solved stations: scalars (n, k), couplings (n, 3, k), by_E (n, 3)."""

    scalars: dict[str, FloatArray]
    fibre_before: FloatArray
    fibre_after: FloatArray
    contraction: FloatArray
    slope: FloatArray
    by_E: FloatArray
    places: dict[int, SectionRates]


def rates_along(
    mast: Mast,
    z: FloatArray,
    sections: tuple[SectionModel, ...],
    progress: Callable[[float], None] | None = None,
) -> RatesAlong:
    """Rates at all solved stations z (n,), from those at the mast file's and half way between."""
    fractions = z / mast.length
    cache: dict[Hashable, SectionRates] = {}
    places: dict[int, SectionRates] = {}
    spans = [_inside(fractions, a.at, b.at) for a, b in pairwise(mast.stations)]
    wanted = sorted({i for span in spans for i in (span[0], span[len(span) // 2], span[-1])})
    for count, i in enumerate(wanted):
        at = float(fractions[i])
        key = section_key(mast, at)
        if key not in cache:
            cache[key] = section_rates(mast, at, sections[i])
        places[i] = cache[key]
        if progress is not None:
            progress((count + 1) / len(wanted))
    k = len(sizes_of(mast))
    n = len(z)
    out = RatesAlong(
        scalars={name: np.zeros((n, k)) for name in SCALARS},
        fibre_before=np.zeros((n, 3, k)),
        fibre_after=np.zeros((n, 3, k)),
        contraction=np.zeros((n, 3, k)),
        slope=np.zeros((n, 3, k)),
        by_E=np.zeros((n, 3)),
        places=places,
    )
    for span in spans:
        _fill(out, mast, fractions, sections, span)
    return out


def _inside(fractions: FloatArray, lo: float, hi: float) -> list[int]:
    return [int(i) for i in np.flatnonzero((fractions > lo - 1e-9) & (fractions < hi + 1e-9))]


def _fill(
    out: RatesAlong,
    mast: Mast,
    fractions: FloatArray,
    sections: tuple[SectionModel, ...],
    span: list[int],
) -> None:
    """Interpolate over one interval of the mast file, by the parabola through its three places."""
    first, last = span[0], span[-1]
    nodes = [first, span[len(span) // 2], last]
    own = [out.places[i] for i in nodes]
    weights = _lagrange(fractions[nodes], fractions[span])
    references = [
        _references(sections[i].properties, mast.station_at(float(fractions[i]))) for i in span
    ]
    sizes = np.array([[_slow(mast, kind, float(fractions[i])) for kind in sizes_of(mast)] for i in span])
    where = [span.index(i) for i in nodes]

    def along(values: list[FloatArray], names: tuple[str, ...], by: FloatArray | None) -> FloatArray:
        """(len(span), names[, k]) from values (names[, k]) at the three places."""
        ref = np.array([[r[name] for name in names] for r in references])
        at = np.stack(values)
        scale = ref if by is None else ref[:, :, None] / by[:, None, :]
        return np.asarray(np.einsum("sn,n...->s...", weights, at / scale[where]) * scale)

    for name in SCALARS:
        out.scalars[name][span] = along([r.scalars[name][None] for r in own], (name,), sizes)[:, 0]
    fibre = ("fibre_e", "fibre_x", "fibre_y")
    sides = [own[0].fibre_after, (own[1].fibre_before + own[1].fibre_after) / 2, own[2].fibre_before]
    both = along(sides, fibre, sizes)
    out.fibre_after[span[:-1]] = both[:-1]
    out.fibre_before[span[1:]] = both[1:]
    contraction = ("contraction_e", "contraction_x", "contraction_y")
    out.contraction[span] = along([r.contraction for r in own], contraction, sizes)
    out.slope[span] = along([r.slope for r in own], fibre, np.ones_like(sizes))
    out.by_E[span] = along([r.by_E for r in own], contraction, None)


def _lagrange(nodes: FloatArray, at: FloatArray) -> FloatArray:
    """Weights (m, 3) of the parabola through three nodes at m places."""
    columns = []
    for j in range(3):
        others = np.delete(nodes, j)
        columns.append(np.prod((at[:, None] - others) / (nodes[j] - others), axis=1))
    return np.stack(columns, axis=1)


def _slow(mast: Mast, kind: Kind, at: float) -> float:
    """A size that scales with the section, by which rates are made comparable along a taper."""
    station = mast.station_at(at)
    return station.chord if kind is Kind.CHORD else station.thickness


def _references(p: SectionProperties, station: Station) -> dict[str, float]:
    """What each property is compared with, so that it changes slowly along a taper."""
    c, t = station.chord, station.thickness
    own = {
        name: getattr(p, name)
        for name in ("EA", "EIxx", "EIyy", "GJ", "EGamma", "shear_flex_xx", "shear_flex_yy")
    }
    return own | {
        "mass_per_length": p.mass_per_length,
        "EIxy": float(np.sqrt(p.EIxx * p.EIyy)),
        "shear_flex_xy": float(np.sqrt(p.shear_flex_xx * p.shear_flex_yy)),
        "centroid_x": c, "shear_centre_x": c, "centroid_y": t, "shear_centre_y": t,
        "fibre_e": p.EA * t, "fibre_x": p.EIxx, "fibre_y": p.EIyy,
        "contraction_e": 1.0, "contraction_x": t, "contraction_y": t,
    }  # fmt: skip
