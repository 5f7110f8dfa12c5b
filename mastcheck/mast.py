"""The mast as a person describes it: stations, section recipe, length."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from mastcheck.drawn import Coordinates, Drawing
from mastcheck.laminate import Lamina
from mastcheck.material import Material

FloatArray = NDArray[np.float64]


class OutlineKind(StrEnum):
    """Built-in outline families."""

    NACA_4_DIGIT = "naca-4-digit"
    ELLIPSE = "ellipse"
    LENS = "lens"
    SLAB = "slab"


@dataclass(frozen=True, slots=True, kw_only=True)
class ModifiedNaca:
    """NACA four-digit-modified outline: nose index (6: the plain family's nose radius) and the
    chord fraction of greatest thickness.
    """

    nose_index: float = 6.0
    greatest_at: float = 0.3


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ruled:
    """Between two stations of different outlines: the straight-ruled surface at ``share`` of the way."""

    first: Station
    second: Station
    share: float


Outline = OutlineKind | ModifiedNaca | Coordinates | Drawing | Ruled


class Construction(StrEnum):
    """How the outline is filled; ``drawn`` takes voids, islands and materials from the drawing."""

    SOLID = "solid"
    HOLLOW = "hollow"
    SHELL_AND_CORE = "shell-and-core"
    DRAWN = "drawn"


class Zone(StrEnum):
    """Parts of a laminated section that may have plies of their own."""

    NOSE = "nose"
    FACES = "faces"
    TAIL = "tail"
    WEBS = "webs"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """Walls of the two faces, nose to tail: (chord fraction, wall [m]) points, linear between."""

    port: tuple[tuple[float, float], ...]
    starboard: tuple[tuple[float, float], ...]

    @classmethod
    def uniform(cls, wall: float) -> Wall:
        """The same wall everywhere [m]."""
        return cls(port=((0.0, wall),), starboard=((0.0, wall),))

    @property
    def least(self) -> float:
        """The thinnest wall [m]."""
        return min(t for _, t in (*self.port, *self.starboard))

    @property
    def greatest(self) -> float:
        """The thickest wall [m]."""
        return max(t for _, t in (*self.port, *self.starboard))

    def blend(self, other: Wall, share: float) -> Wall:
        """The wall at ``share`` of the way to another."""
        return Wall(
            port=_blend(self.port, other.port, share),
            starboard=_blend(self.starboard, other.starboard, share),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Web:
    """A web across the hollow: chord fraction where it meets the chord line, thickness [m] (None:
    that of its plies), and lean [rad], positive with the port end aft.
    """

    at: float
    thickness: float | None
    lean: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """A round hole along the whole mast for a screw: chord fraction, bore [m], the boss around it
    [m] (0: none, drilled), its place off the chord line [m, to port], and the boss's material
    (None: the skin's).
    """

    at: float
    bore: float
    boss: float = 0.0
    offset: float = 0.0
    material: Material | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SkinPly:
    """A ply of the skin, from the outside in: lamina, angle [rad], thickness [m], where it lies."""

    lamina: Lamina
    angle: float
    thickness: float
    zones: tuple[Zone, ...] = (Zone.NOSE, Zone.FACES, Zone.TAIL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """Sizes at a fraction ``at`` of the length: chord, thickness, wall [m].

    ``wall`` is None where solid, drawn or laminated. ``outline`` None takes the recipe's. ``plies``
    (outside in) are empty where not laminated; all stations of a mast list the same plies, and their
    thickness (0: dropped here) is linear between stations.
    """

    at: float
    chord: float
    thickness: float
    wall: float | Wall | None = None
    outline: Outline | None = None
    plies: tuple[SkinPly, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionRecipe:
    """What turns a station's sizes into a cross-section.

    ``trailing_edge_radius`` or ``trailing_edge_thickness`` [m] rounds or squares off the tail, at
    the stated chord. Hollows end at ``nose_solid_to`` and begin no later than ``tail_solid_from``
    (chord fractions). Plies of the nose and tail zones end at ``nose_to`` and start at
    ``tail_from``. ``knock_down`` multiplies ply strengths. With plies, ``material`` is the face
    laminate at the base, homogenised.
    """

    outline: Outline
    construction: Construction
    material: Material
    core: Material | None = None
    trailing_edge_radius: float = 0.0
    trailing_edge_thickness: float = 0.0
    webs: tuple[Web, ...] = ()
    channels: tuple[Channel, ...] = ()
    nose_solid_to: float = 0.0
    tail_solid_from: float = 1.0
    nose_to: float = 0.10
    tail_from: float = 0.85
    knock_down: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """Stiffness of the blade over the calculated one, from a bench; ``source`` names the readings."""

    factor_EI_side: float = 1.0
    factor_EI_fore_aft: float = 1.0
    factor_GJ: float = 1.0
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mast:
    """A mast from base (z = 0, clamped) to tip (z = length); stations from 0 to 1."""

    name: str
    length: float
    stations: tuple[Station, ...]
    section: SectionRecipe
    taper_about: float = 0.5
    tip_warping: Literal["free", "restrained"] = "free"
    calibration: Calibration | None = None

    def station_at(self, at: float) -> Station:
        """Sizes and outline at any fraction of the length; a wall, a ply or a size is linear between."""
        for a, b in pairwise(self.stations):
            if at <= b.at:
                return _between(a, b, at, self.section.outline)
        return replace(self.stations[-1], at=at)

    def with_length(self, length: float, trim: Literal["base", "tip"] | None = None) -> Mast:
        """The mast at another length.

        Without ``trim`` the stations stay at their fractions, so a taper stretches. With it the
        mast is cut at that end as one cuts an extrusion, which can only shorten it.

        Raises: ValueError when a trim would have to lengthen the mast.
        """
        if trim is None:
            return replace(self, length=length)
        if length > self.length:
            raise ValueError("a trim can only shorten a mast")
        keep = length / self.length
        lo, hi = (1 - keep, 1.0) if trim == "base" else (0.0, keep)
        inner = [s for s in self.stations if lo < s.at < hi]
        cut = [self.station_at(lo), *inner, self.station_at(hi)]
        stations = tuple(replace(s, at=(s.at - lo) / (hi - lo)) for s in cut)
        stations = (replace(stations[0], at=0.0), *stations[1:-1], replace(stations[-1], at=1.0))
        return replace(self, length=length, stations=stations)


def outline_name(outline: Outline) -> str:
    """An outline in words, for tables and messages."""
    match outline:
        case OutlineKind():
            return str(outline)
        case ModifiedNaca():
            return (
                f"naca-4-digit-modified (nose index {outline.nose_index:g},"
                f" thickest at {outline.greatest_at:g})"
            )
        case Ruled():
            a, b = outline.first.outline, outline.second.outline
            return f"ruled from {outline_name(a) if a else ''} to {outline_name(b) if b else ''}"
        case _:
            return outline.file or "points"


def _between(a: Station, b: Station, at: float, common: Outline) -> Station:
    """Linear between two stations; ruled where their outlines differ."""
    t = (at - a.at) / (b.at - a.at)
    first, second = a.outline or common, b.outline or common
    outline = a.outline
    if first is not second and first != second:
        outline = Ruled(first=replace(a, outline=first), second=replace(b, outline=second), share=t)
        if t in (0.0, 1.0):
            outline = first if t == 0 else second
    return Station(
        at=at,
        chord=a.chord + t * (b.chord - a.chord),
        thickness=a.thickness + t * (b.thickness - a.thickness),
        wall=_wall_between(a.wall, b.wall, t),
        outline=outline,
        plies=tuple(
            replace(p, thickness=p.thickness + t * (q.thickness - p.thickness))
            for p, q in zip(a.plies, b.plies, strict=True)
        ),
    )


def _wall_between(a: float | Wall | None, b: float | Wall | None, t: float) -> float | Wall | None:
    if a is None or b is None:
        return None
    if isinstance(a, Wall) or isinstance(b, Wall):
        first = a if isinstance(a, Wall) else Wall.uniform(a)
        return first.blend(b if isinstance(b, Wall) else Wall.uniform(b), t)
    return a + t * (b - a)


def _blend(
    a: tuple[tuple[float, float], ...], b: tuple[tuple[float, float], ...], t: float
) -> tuple[tuple[float, float], ...]:
    """Two piecewise-linear laws blended on the places of both."""
    places = sorted({x for x, _ in (*a, *b)})
    walls = (1 - t) * _law_at(a, places) + t * _law_at(b, places)
    return tuple(zip(places, walls.tolist(), strict=True))


def _law_at(law: tuple[tuple[float, float], ...], places: list[float]) -> FloatArray:
    x, wall = np.array(law).T
    return np.asarray(np.interp(places, x, wall))
