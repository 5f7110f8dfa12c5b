"""A mast known from outside: its wall inferred from the mass, and what measuring errors leave open.

Chord, thickness, length and mass can be measured; the wall cannot be seen. ``wall`` finds it;
here sections are solved for the stiffness it gives, at the measured sizes and at their errors.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.wall import PANELS, NoWallError, filled, infer_wall, integrals, with_wall
from mastcheck.errors import GeometryError
from mastcheck.mast import Construction, Mast, OutlineKind, Station
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import solve_section

FloatArray = NDArray[np.float64]

SIZE_ERROR = 1e-3
"""Error [m] of chord, thickness and length, where none is stated."""

MASS_ERROR = 10e-3
"""Error [kg] of the mass, where none is stated."""

MEASURES = ("chord", "thickness", "length", "mass")
"""What is measured, in the order of the errors below."""

PLACES = (("base", 0.0), ("middle", 0.5), ("tip", 1.0))

# The band is a ratio of solves with one coarse contour and mesh, whose errors cancel (measured:
# bounds within 0.02 % of the value of those of the full mesh).
_COARSE_PANELS, _COARSE_ELEMENTS = 40, 150


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A value (SI) and what measuring errors leave open around it.

    ``low`` and ``high`` are the worst corner: every error at its full size, all at once, in the
    directions that hurt most. ``spread`` is the root of the sum of squares of the four errors'
    effects one at a time, as a share of the value.
    """

    value: float
    low: float
    high: float
    spread: float

    @property
    def shares(self) -> tuple[float, float]:
        """Worst corner below and above the value, as shares of it (the first is negative or 0)."""
        return self.low / self.value - 1, self.high / self.value - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class StiffnessBands:
    """Stiffness [N·m²] of the section at a fraction ``at`` of the length."""

    place: str
    at: float
    EI_side: Band
    EI_fore_aft: Band
    GJ: Band


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """Largest change, as a share, that one measure's error alone makes (of the three sections)."""

    measure: str
    wall: float
    EI_side: float
    EI_fore_aft: float
    GJ: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A mast inferred from measurements.

    ``mast`` has the inferred wall. ``weighed`` is the blade's mass as measured, ``mass`` as
    calculated from the mast [kg]: the same but for a solid one, where nothing is inferred and
    ``wall`` is None. ``core_share`` is the core's part of the volume. ``clamped`` says that some
    corner of the band was past what any wall can give; then the nearest possible stands for it.
    """

    mast: Mast
    weighed: float
    size_error: float
    mass_error: float
    mass: Band
    wall: Band | None
    core_share: Band | None
    sections: tuple[StiffnessBands, ...]
    effects: tuple[Effect, ...]
    clamped: bool

    @property
    def mass_agrees(self) -> bool:
        """Whether calculated and weighed mass agree within the measuring errors."""
        low, high = self.weighed - self.mass_error, self.weighed + self.mass_error
        return self.mass.low <= high and low <= self.mass.high


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherOutline:
    """What the mass means with another outline: wall [m] (None for solid), and EI_side and GJ of the
    middle section as ratios to those of the stated outline (None: no wall gives the mass).
    """

    outline: OutlineKind
    wall: float | None = None
    EI_side: float | None = None
    GJ: float | None = None


def measure(
    mast: Mast,
    mass: float,
    *,
    size_error: float = SIZE_ERROR,
    mass_error: float = MASS_ERROR,
    progress: Callable[[str, float], None] | None = None,
) -> Measured:
    """Infer the wall from the mass, and the bands that measuring errors leave.

    The error of a chord or a thickness is taken at all stations in the same direction, as a
    caliper read wrongly would give it; errors of single readings do less.

    Args:
        mast: outline, sizes, construction and materials; walls of its stations are ignored.
        mass: mass of the blade alone [kg].
        size_error: error of chord, thickness and length [m].
        mass_error: error of the mass [kg].
        progress: told what is being solved and the fraction done.

    Raises: NoWallError, GeometryError and ValueError as ``infer_wall``.
    """
    solid = mast.section.construction is Construction.SOLID
    found = mast if solid else with_wall(mast, infer_wall(mast, mass))
    solver = _Solver()
    values = solver.numbers(found, PANELS, None)
    names = tuple(_variants(size_error, mass_error))
    rows, clamped = [], False
    for i, (words, by) in enumerate(names):
        if progress is not None:
            progress(f"{mast.name}: {words}", i / len(names))
        varied, past = _fitted(_varied(mast, by), mass + by[3])
        clamped = clamped or past
        rows.append(solver.numbers(varied, _COARSE_PANELS, _COARSE_ELEMENTS))
    table = np.array(rows)
    plain, singles, corners = table[0], table[1:9].reshape(4, 2, -1), table[1:]
    scale = np.where(plain == 0, 1.0, plain)
    alone = np.abs(singles - plain).max(axis=1) / scale
    bands = [
        Band(
            value=float(values[k]),
            low=float(values[k] * min(1.0, (corners[:, k] / scale[k]).min())),
            high=float(values[k] * max(1.0, (corners[:, k] / scale[k]).max())),
            spread=float(np.sqrt(np.sum(alone[:, k] ** 2))),
        )
        for k in range(len(values))
    ]
    per_place = [bands[3 + 3 * i : 6 + 3 * i] for i in range(len(PLACES))]
    return Measured(
        mast=found,
        weighed=mass,
        size_error=size_error,
        mass_error=mass_error,
        mass=bands[0],
        wall=None if solid else bands[1],
        core_share=bands[2] if mast.section.construction is Construction.SHELL_AND_CORE else None,
        sections=tuple(
            StiffnessBands(place=place, at=at, EI_side=side, EI_fore_aft=fore, GJ=twist)
            for (place, at), (side, fore, twist) in zip(PLACES, per_place, strict=True)
        ),
        effects=tuple(
            Effect(
                measure=name,
                wall=float(row[1]),
                EI_side=float(row[3::3].max()),
                EI_fore_aft=float(row[4::3].max()),
                GJ=float(row[5::3].max()),
            )
            for name, row in zip(MEASURES, alone, strict=True)
        ),
        clamped=clamped,
    )


def other_outlines(mast: Mast, mass: float) -> tuple[OtherOutline, ...]:
    """What the same sizes and mass come to with each of the other built-in outlines.

    Args:
        mast: a solid, hollow or shell-and-core mast; walls of its stations are ignored.
        mass: mass of the blade alone [kg].

    Raises: NoWallError, GeometryError and ValueError as ``infer_wall`` for the mast's own outline.
    """
    own = _middle(mast, mass)
    out = []
    for kind in OutlineKind:
        if kind is mast.section.outline:
            continue
        other = replace(mast, section=replace(mast.section, outline=kind))
        try:
            found = _middle(other, mass)
        except (NoWallError, GeometryError):
            out.append(OtherOutline(outline=kind))
            continue
        wall, side, twist = (float(v) for v in (found[0], found[1] / own[1], found[2] / own[2]))
        out.append(OtherOutline(outline=kind, wall=wall or None, EI_side=side, GJ=twist))
    return tuple(out)


def _middle(mast: Mast, mass: float) -> tuple[float, float, float]:
    """Wall (0: solid), EI_side and GJ of the middle section."""
    if mast.section.construction is not Construction.SOLID:
        mast = with_wall(mast, infer_wall(mast, mass, panels=_COARSE_PANELS))
    side, _, twist = _Solver().stiffness(mast, 0.5, _COARSE_PANELS, _COARSE_ELEMENTS)
    return _uniform_wall(mast.stations[0]), side, twist


class _Solver:
    """Numbers of masts, each distinct section solved once."""

    def __init__(self) -> None:
        self._known: dict[tuple[object, ...], tuple[float, float, float]] = {}

    def numbers(self, mast: Mast, panels: int, elements: int | None) -> FloatArray:
        """(12,): mass, wall, core share, then EI_side, EI_fore_aft and GJ at each place."""
        mass, volume, core = integrals(mast, panels)
        wall = _uniform_wall(mast.stations[0])
        stiffness = [self.stiffness(mast, at, panels, elements) for _, at in PLACES]
        return np.array([mass, wall, core / volume, *(v for three in stiffness for v in three)])

    def stiffness(
        self, mast: Mast, at: float, panels: int, elements: int | None
    ) -> tuple[float, float, float]:
        """EI_side, EI_fore_aft and GJ [N·m²] at a fraction of the length."""
        s = mast.station_at(at)
        sizes = tuple(round(v, 10) for v in (s.chord, s.thickness, _uniform_wall(s)))
        key = (mast.section.construction, panels, sizes)
        if key not in self._known:
            p = solve_section(regions_at(mast, at, panels=panels), elements=elements).properties
            self._known[key] = (p.EIxx, p.EIyy, float(p.GJ))
        return self._known[key]


def _uniform_wall(station: Station) -> float:
    """The station's wall [m], 0 where it has none."""
    return station.wall if isinstance(station.wall, float) else 0.0


def _variants(size: float, mass: float) -> Iterator[tuple[str, tuple[float, float, float, float]]]:
    """Errors of chord, thickness, length [m] and mass [kg]: none, one at a time, then the corners.

    The section depends on length and mass by the mass per length alone, through the wall, so of
    their four corners the two that pull the same way bound the others.
    """
    yield "as measured", (0.0, 0.0, 0.0, 0.0)
    full = (size, size, size, mass)
    for i, name in enumerate(MEASURES):
        for sign in (1.0, -1.0):
            one = [0.0] * 4
            one[i] = sign * full[i]
            yield f"error of {name}", (one[0], one[1], one[2], one[3])
    for a, b, c in product((1.0, -1.0), repeat=3):
        yield "all errors at once", (a * size, b * size, -c * size, c * mass)


def _varied(mast: Mast, by: tuple[float, float, float, float]) -> Mast:
    chord, thickness, length, _ = by
    stations = tuple(
        replace(s, chord=s.chord + chord, thickness=s.thickness + thickness) for s in mast.stations
    )
    return replace(mast, length=mast.length + length, stations=stations)


def _fitted(mast: Mast, mass: float) -> tuple[Mast, bool]:
    """The mast with the wall for a mass, or the nearest possible, and whether it was past that."""
    if mast.section.construction is Construction.SOLID:
        return mast, False
    try:
        return with_wall(mast, infer_wall(mast, mass, panels=_COARSE_PANELS)), False
    except NoWallError as error:
        if mass < error.reach.lightest:
            return with_wall(mast, error.reach.least_wall), True
        # Filled, the wall counts as half of the least thickness.
        return with_wall(filled(mast), min(s.thickness for s in mast.stations) / 2), True
