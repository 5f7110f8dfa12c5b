"""The mast as a person describes it: stations, section recipe, length."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import Literal

from mastcheck.material import Material


class OutlineKind(StrEnum):
    """Built-in outline families."""

    NACA_4_DIGIT = "naca-4-digit"
    ELLIPSE = "ellipse"
    LENS = "lens"
    SLAB = "slab"


class Construction(StrEnum):
    """How the outline is filled."""

    SOLID = "solid"
    HOLLOW = "hollow"
    SHELL_AND_CORE = "shell-and-core"


@dataclass(frozen=True, slots=True, kw_only=True)
class Web:
    """A web across the hollow: place as a fraction of the chord, thickness [m]."""

    at: float
    thickness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """Sizes at a fraction ``at`` of the length: chord, thickness, wall [m] (wall None if solid)."""

    at: float
    chord: float
    thickness: float
    wall: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionRecipe:
    """What turns a station's sizes into a cross-section."""

    outline: OutlineKind
    construction: Construction
    material: Material
    core: Material | None = None
    trailing_edge_radius: float = 0.0
    webs: tuple[Web, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mast:
    """A mast from base (z = 0, clamped) to tip (z = length); stations from 0 to 1."""

    name: str
    length: float
    stations: tuple[Station, ...]
    section: SectionRecipe
    taper_about: float = 0.5
    tip_warping: Literal["free", "restrained"] = "free"

    def station_at(self, at: float) -> Station:
        """Sizes at any fraction of the length, linear between stations."""
        for a, b in pairwise(self.stations):
            if at <= b.at:
                t = (at - a.at) / (b.at - a.at)
                wall = None if a.wall is None or b.wall is None else a.wall + t * (b.wall - a.wall)
                return Station(
                    at=at,
                    chord=a.chord + t * (b.chord - a.chord),
                    thickness=a.thickness + t * (b.thickness - a.thickness),
                    wall=wall,
                )
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
