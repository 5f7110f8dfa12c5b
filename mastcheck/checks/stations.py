"""Solve as many stations as the tip numbers need, none twice."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.model import BeamModel
from mastcheck.checks.calibration import calibrated
from mastcheck.errors import GeometryError
from mastcheck.mast import Mast, Ruled, Wall
from mastcheck.section.ends import at_tip
from mastcheck.section.model import SectionModel, SectionProperties
from mastcheck.section.solved import section_at

FloatArray = NDArray[np.float64]

CONVERGED = 1e-3  # largest move of a tip compliance term when stations are doubled
STEP = 1e-3  # of the length: how far a section's neighbours are looked for
LEAST_SLENDER = 2.0  # length over chord; from there on an end has room to die away
_LEVELS = (3, 5, 9, 17, 33)  # stations in each interval of the mast file
_FINE = _LEVELS[-1]  # a file with so many stations is as fine as any other becomes: its own come first


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SolvedMast:
    """Stations z (n,) with their sections, the beam through them, and how far they moved the tip.

    The beam and its ``compliance`` (6, 6) have what fixed ends add to them.
    """

    z: FloatArray
    sections: tuple[SectionModel, ...]
    model: BeamModel
    compliance: FloatArray
    change: float


def solve_stations(mast: Mast, progress: Callable[[str, float], None] | None = None) -> SolvedMast:
    """Add stations until no tip number moves by more than 0.1 %.

    Compliance terms are compared relative to the square root of their diagonal terms' product, so
    that a coupling term near zero does not call for stations without end.

    Raises: GeometryError from the section floor, and where sections change too steeply for a beam.
    """
    solved: dict[Hashable, SectionModel] = {}
    fixed = {section_key(mast, fraction) for fraction in _fixed(mast)}
    previous: FloatArray | None = None
    change = float("inf")
    levels = (2, *_LEVELS) if len(mast.stations) >= _FINE else _LEVELS
    for per_interval in levels:
        at = _fractions(mast, per_interval)
        sections = []
        for i, fraction in enumerate(at):
            key = section_key(mast, fraction)
            if key not in solved:
                if progress is not None:
                    progress(f"{mast.name}: section at {fraction:.3f} of the length", i / len(at))
                section = solve_at(mast, fraction, end=key in fixed)
                solved[key] = calibrated(section, mast.calibration) if mast.calibration else section
            sections.append(solved[key])
        z = np.array(at) * mast.length
        model = beam_of(mast, z, sections)
        compliance = tip_compliance(model)
        if not (np.diag(compliance) > 0).all():
            raise GeometryError(
                "the sections change too steeply along the mast for a beam: its tip would move "
                "against a load; put the stations further apart, or make neighbours more alike"
            )
        if previous is not None:
            scale = np.sqrt(np.outer(np.diag(compliance), np.diag(compliance)))
            change = float(np.abs((compliance - previous) / scale).max())
        previous = compliance
        if change < CONVERGED:
            break
    return SolvedMast(z=z, sections=tuple(sections), model=model, compliance=compliance, change=change)


def beam_of(
    mast: Mast,
    z: FloatArray,
    sections: Sequence[SectionModel],
    properties: Sequence[SectionProperties] | None = None,
) -> BeamModel:
    """The beam through solved sections at z (n,) [m], with what its fixed ends add.

    A mast no longer than twice its chord is left without: no beam theory holds for it.

    Args:
        mast: their mast.
        z: places [m], base to tip.
        sections: solved there.
        properties: to take in place of the sections' own.
    """
    restrained = mast.tip_warping == "restrained"
    own = [s.properties for s in sections] if properties is None else properties
    breaks = [s.at * mast.length for s in mast.stations]
    base, tip = sections[0].end, sections[-1].end if restrained else None
    tip = None if tip is None else at_tip(tip)
    if mast.length < LEAST_SLENDER * max(s.chord for s in mast.stations):
        base = tip = None
    return BeamModel(z, own, breaks, tip_restrained=restrained, base_end=base, tip_end=tip)


def solve_at(mast: Mast, fraction: float, *, end: bool = False) -> SectionModel:
    """The section at a fraction of the length, with its taper on both sides; ``end``: of a fixed one."""
    return section_at(mast, fraction, end=end)


def section_key(mast: Mast, fraction: float) -> Hashable:
    """All that ``solve_at`` depends on."""
    before, after = (_differing(mast, fraction, fraction + step) for step in (-STEP, STEP))
    return (
        _sizes(mast, fraction),
        before and _sizes(mast, before),
        after and _sizes(mast, after),
    )


def _fixed(mast: Mast) -> tuple[float, ...]:
    """Fractions of the length where a section is fixed all over."""
    return (0.0, 1.0) if mast.tip_warping == "restrained" else (0.0,)


def _fractions(mast: Mast, per_interval: int) -> list[float]:
    out = [mast.stations[0].at]
    for a, b in pairwise(mast.stations):
        out += [a.at + (b.at - a.at) * i / (per_interval - 1) for i in range(1, per_interval - 1)]
        out.append(b.at)
    return out


def _differing(mast: Mast, fraction: float, other: float) -> float | None:
    """The other fraction where it lies on the mast and its section differs."""
    on_mast = 0 <= other <= 1
    return other if on_mast and _sizes(mast, other) != _sizes(mast, fraction) else None


def _sizes(mast: Mast, fraction: float) -> Hashable:
    """All that a section is made from, so that equal stations are solved once."""
    station = mast.station_at(fraction)
    outline = station.outline or mast.section.outline
    kind: Hashable = outline
    if isinstance(outline, Ruled):
        kind = (id(outline.first.outline), id(outline.second.outline), station.at)
    wall = station.wall if isinstance(station.wall, Wall) else round(station.wall or 0.0, 12)
    plies = tuple(round(ply.thickness, 12) for ply in station.plies)
    return (round(station.chord, 12), round(station.thickness, 12), wall, kind, plies)
