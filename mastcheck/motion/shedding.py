"""Vortex shedding at the trailing edge against the modes in water: where a mast may hum."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from mastcheck.drawn import Coordinates, Drawing
from mastcheck.mast import Mast, OutlineKind, Ruled, Station
from mastcheck.motion.vibration import Mode
from mastcheck.motion.water import VISCOSITY, chord_at
from mastcheck.outline import Sides
from mastcheck.roots import root
from mastcheck.section.contours import loops_at
from mastcheck.source import Grade, Source

STROUHAL = 0.2
BAND = (0.15, 0.30)
STROUHAL_SOURCE = Source(
    title="Strouhal number 0.2 (band 0.15 to 0.30) on tail thickness and boundary layer; nearly"
    " independent of speed by Hu et al. 2020, J. Mar. Sci. Eng. 8, 195; the figures themselves",
    grade=Grade.MEMORY,
)
LAYER_SOURCE = Source(
    title="displacement thickness of a turbulent layer on a flat plate, 0.046 c Re^(-1/5), on each face;"
    " 1/7 power law, Schlichting, Boundary-Layer Theory",
    grade=Grade.MEMORY,
)
_PLACES = 5  # places along the wet part that are looked at
_PANELS = 40  # a tail needs few


class Edge(StrEnum):
    """How a trailing edge ends."""

    ROUNDED = "rounded"
    SQUARE = "square"
    SHARP = "sharp"
    UNKNOWN = "not stated"


@dataclass(frozen=True, slots=True, kw_only=True)
class LockIn:
    """Speeds [m/s] at which shedding meets a mode [Hz].

    ``speed``: Strouhal number 0.2 with boundary layer, at the middle of the wet part. ``slowest``:
    0.30 on the thinnest wet tail alone; ``fastest``: 0.15 on the thickest with boundary layer.
    """

    mode: str
    frequency: float
    speed: float
    slowest: float
    fastest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shedding:
    """Shedding at the trailing edge. Where it does not apply, ``why`` says why and the rest is empty.

    thickness: least and greatest of the wet tail [m]; frequency: at the slowest and the fastest
    speed [Hz], Strouhal number 0.2 with boundary layer, at the middle of the wet part.
    """

    edge: Edge
    why: str = ""
    thickness: tuple[float, float] | None = None
    frequency: tuple[float, float] | None = None
    lock_in: tuple[LockIn, ...] = ()


def shedding(
    mast: Mast, modes: Sequence[Mode], *, level: float, speeds: tuple[float, float]
) -> Shedding:
    """Shedding over a range of speeds against the modes in water.

    Args:
        mast: the mast, for its tail and chords.
        modes: its modes in water, lowest first.
        level: z of the waterline [m].
        speeds: slowest and fastest [m/s].
    """
    if level >= mast.length * (1 - 1e-9):
        return Shedding(edge=Edge.UNKNOWN, why="no part of the mast is under water")
    z = np.linspace(level, mast.length, _PLACES)
    tails = [tail(mast, float(place) / mast.length) for place in z]
    blunt = [(edge, h, float(c)) for (edge, h), c in zip(tails, chord_at(mast, z), strict=True) if h > 0]
    if not blunt:
        edge = tails[-1][0]
        why = {
            Edge.SHARP: "the trailing edge is sharp: it sheds no vortices of its own; as built it has"
            " some thickness, and stating it (trailing_edge_radius or _thickness) gives the speeds",
        }.get(edge, "the outline's tail is not cut square, and its radius is not stated")
        return Shedding(edge=edge, why=why)
    edge, h, chord = blunt[len(blunt) // 2]
    return Shedding(
        edge=edge,
        thickness=(min(t for _, t, _ in blunt), max(t for _, t, _ in blunt)),
        frequency=(shedding_frequency(speeds[0], h, chord), shedding_frequency(speeds[1], h, chord)),
        lock_in=tuple(
            LockIn(
                mode=mode.name,
                frequency=mode.frequency,
                speed=lock_in_speed(mode.frequency, h, chord),
                slowest=min(mode.frequency * t / BAND[1] for _, t, _ in blunt),
                fastest=max(lock_in_speed(mode.frequency, t, c, strouhal=BAND[0]) for _, t, c in blunt),
            )
            for mode in modes
        ),
    )


def layers(speed: float, chord: float) -> float:
    """Displacement thickness of both boundary layers at the tail [m].

    >>> round(layers(10.0, 0.12) * 1e3, 3)
    0.699
    """
    return float(2 * 0.37 / 8 * chord * (speed * chord / VISCOSITY) ** -0.2)


def shedding_frequency(
    speed: float, thickness: float, chord: float | None = None, *, strouhal: float = STROUHAL
) -> float:
    """Frequency [Hz] of shedding at a tail; without a ``chord`` no boundary layer is added.

    >>> round(shedding_frequency(10.0, 0.0015), 1)
    1333.3
    """
    layer = 0.0 if chord is None else layers(speed, chord)
    return strouhal * speed / (thickness + layer)


def lock_in_speed(
    frequency: float, thickness: float, chord: float, *, strouhal: float = STROUHAL
) -> float:
    """Speed [m/s] at which shedding, boundary layers included, has a frequency [Hz]."""
    bare = frequency * thickness / strouhal
    most = bare + frequency * layers(bare, chord) / strouhal  # layers are thinner at higher speeds
    return root(
        lambda v: shedding_frequency(v, thickness, chord, strouhal=strouhal) - frequency, bare, most
    )


def tail(mast: Mast, at: float) -> tuple[Edge, float]:
    """How the trailing edge ends at a fraction of the length, and its thickness [m] (0: none)."""
    return _tail(mast, mast.station_at(at))


def _tail(mast: Mast, station: Station) -> tuple[Edge, float]:
    recipe = mast.section
    outline = station.outline or recipe.outline
    if isinstance(outline, Ruled):  # straight lines from tail to tail
        edge, first = _tail(mast, outline.first)
        other, second = _tail(mast, outline.second)
        return edge if first else other, first + outline.share * (second - first)
    radius, blunt = recipe.trailing_edge_radius, recipe.trailing_edge_thickness
    # An ellipse ends in a radius of its own, which a smaller one asked for does not change.
    own = station.thickness**2 / (2 * station.chord) if outline is OutlineKind.ELLIPSE else 0.0
    if isinstance(outline, Coordinates | OutlineKind) and blunt:
        return Edge.SQUARE, blunt
    if isinstance(outline, Coordinates | OutlineKind) and max(radius, own) > 0:
        return Edge.ROUNDED, 2 * max(radius, own)
    if isinstance(outline, OutlineKind):
        return Edge.SHARP, 0.0
    width = _square_width(loops_at(mast, station, _PANELS)[0].sides)
    if width > 1e-6:  # as cut, or the outline's own where that is blunter
        return Edge.SQUARE, width
    if not isinstance(outline, Drawing) and radius:
        return Edge.ROUNDED, 2 * radius
    return Edge.UNKNOWN, 0.0


def _square_width(sides: Sides) -> float:
    """Width of a tail cut square [m]; 0 where it is not: the last facet of an arc is no cut."""
    port, starboard = sides.port, sides.starboard
    width = float(port[-1, 1] - starboard[-1, 1])
    for face in (port, starboard):
        run, rise = face[-1] - face[-2]
        if math.atan2(run, abs(rise)) < math.pi / 4:
            return 0.0
    return width
