"""What sections that are scaled copies of one another have in common, so that one solve does for all.

Every section of a built-in outline family, or of a list of coordinates, is solved at one reference
chord; of its taper only the direction is watched; and one of a single metal is solved for a reference
metal. Its own numbers are exact multiples (``section.scaling``). So it is whether or not anything is
kept: a result must not depend on what was solved before it. Sizes are rounded, and the section is
solved from the rounded ones, so that equal keys mean equal bits.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from mastcheck.drawn import Coordinates, Drawing
from mastcheck.errors import GeometryError
from mastcheck.mast import (
    Construction,
    Mast,
    ModifiedNaca,
    OutlineKind,
    Ruled,
    SectionRecipe,
    SkinPly,
    Station,
    Wall,
)
from mastcheck.material import Material
from mastcheck.outline import CHORD_RANGE
from mastcheck.section.identity import code_version, digest
from mastcheck.section.model import Motion, SectionModel
from mastcheck.section.regions import _laminates as laminates_at
from mastcheck.section.regions import regions_at
from mastcheck.section.scaling import Scale
from mastcheck.section.slope import direction, moved, slope_of, steepest
from mastcheck.section.solve import solve_section
from mastcheck.source import Grade, Source

REFERENCE = 0.125
"""Chord [m] at which sections are solved: like a mast's own, so that the grid is as fine for it."""

MOVE = 4e-4
"""How far a section is watched moving along its taper, as a share of the size that changes most."""

STEP = 1e-3
"""The same along a ruled surface, as a fraction of the length."""

DIGITS = 13
"""Digits of a size: what arithmetic adds to a ratio is below them, what anyone can make far above."""

_NU = 0.3
_METAL = Material(
    name="reference", E=1e11, G=1e11 / (2 * (1 + _NU)), density=1e3,
    source=Source(title="reference", grade=Grade.ASSUMED),
)  # fmt: skip


_Sides = tuple[tuple[Station, Station] | None, tuple[Station, Station] | None]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Likeness:
    """A section at the size it is solved at, and the factors to its own.

    ``before`` and ``after``: the same, moved along its taper by -``step`` and ``step`` [m, at that
    size]; None where it does not taper. ``materials``: those that its regions may be of.
    """

    here: Station
    before: Station | None
    after: Station | None
    step: float
    recipe: SectionRecipe
    taper_about: float
    end: bool
    scale: Scale
    materials: tuple[Material, ...]

    def key(self) -> str:
        """Hash of all that its numbers depend on, the code among it."""
        return digest(
            "section", code_version(), self.here, self.before, self.after, self.step, self.recipe,
            self.taper_about, self.end,
        )  # fmt: skip

    def solve(self) -> tuple[SectionModel, tuple[int, ...]]:
        """The solved section, and the place of each region's material in the list of them.

        Raises: GeometryError.
        """
        mast = Mast(name="", length=1.0, stations=(), section=self.recipe, taper_about=self.taper_about)
        regions = regions_at(_uniform(mast, self.here), 0.0)
        motions, fault = [], None
        for station, step in ((self.before, -self.step), (self.after, self.step)):
            try:
                there = None if station is None else regions_at(_uniform(mast, station), 0.0)
            except GeometryError as error:  # the last section there is: the other side stands for both
                there, fault = None, error
            motions.append(None if there is None else Motion(regions=there, step=step))
        if fault is not None and motions == [None, None]:
            raise fault
        model = solve_section(regions, before=motions[0], after=motions[1], end=self.end)
        known = _materials(self.recipe, self.here)
        places = tuple(next(i for i, m in enumerate(known) if m == r.material) for r in regions)
        return model, places


def likeness(
    mast: Mast, at: float, *, taper: bool = True, end: bool = False, own_size: bool = False
) -> Likeness:
    """The section at a fraction of the length, as the one it is a scaled copy of.

    Args:
        mast: the mast.
        at: fraction of the length.
        taper: whether to watch it moving along its taper.
        end: whether to solve for what a fixed end here does.
        own_size: keep its own size, where the reference size cannot be built.
    """
    station, recipe = mast.station_at(at), mast.section
    sides = _intervals(mast, at)
    outline = station.outline or recipe.outline
    if isinstance(outline, Ruled) or any(_is_ruled(pair, recipe) for pair in sides if pair):
        return _ruled(mast, at, station, taper=taper, end=end)
    chord = _rounded(station.chord)
    family = isinstance(outline, (OutlineKind, ModifiedNaca, Coordinates))
    similar = family and not own_size and CHORD_RANGE[0] <= chord <= CHORD_RANGE[1]
    size = chord / REFERENCE if similar else 1.0
    here = replace(_scaled_station(station, size), at=0.0, outline=None)
    (before, after), slopes = _neighbours(station, here, sides) if taper else ((None, None), (0.0, 0.0))
    recipe, factors = _like_material(replace(recipe, outline=outline), station, end=end)
    return Likeness(
        here=here,
        before=before,
        after=after,
        step=MOVE * here.chord,
        recipe=_scaled_recipe(recipe, size),
        taper_about=mast.taper_about,
        end=end,
        scale=replace(factors, size=size, before=slopes[0] / mast.length, after=slopes[1] / mast.length),
        materials=_materials(mast.section, station),
    )


def _neighbours(
    station: Station, here: Station, sides: _Sides
) -> tuple[tuple[Station | None, Station | None], tuple[float, float]]:
    """``here`` moved toward base and tip, and how steep the mast is there [m per unit of its fraction].

    A section at the mast's end is taken to go on beyond it.
    """
    slopes = [None if pair is None else slope_of(*pair) for pair in sides]
    there: list[Station | None] = [None, None]
    steep = [0.0, 0.0]
    for i, sign in ((0, -1), (1, 1)):
        slope = slopes[i if sides[i] else 1 - i]
        rate = 0.0 if slope is None else station.chord * steepest(station, slope)
        if slope is not None and rate:
            there[i] = moved(here, direction(slope, rate), sign * MOVE * here.chord)
            steep[i] = rate
    return (there[0], there[1]), (steep[0], steep[1])


def _like_material(recipe: SectionRecipe, station: Station, *, end: bool) -> tuple[SectionRecipe, Scale]:
    """The recipe with what does not enter put at a reference, and the factors from that."""
    if station.plies:
        return replace(recipe, material=_METAL, knock_down=1.0), Scale()  # neither is in the stiffness
    if not _one_material(recipe):
        return recipe, Scale()
    metal = recipe.material
    nu = _rounded(metal.nu) if end else _NU
    like = replace(_METAL, G=_METAL.E / (2 * (1 + nu)))
    return replace(recipe, material=like), Scale(
        E=metal.E / like.E,
        G=metal.G / like.G,
        density=metal.density / like.density,
        nu=metal.nu / like.nu if like.nu else 1.0,
    )


def _ruled(mast: Mast, at: float, station: Station, *, taper: bool, end: bool) -> Likeness:
    """Beside or on a ruled surface: its own size, and the sections a step away."""
    here = replace(station, at=0.0)
    there: list[Station | None] = [None, None]
    per_length = [1 / mast.length, 1 / mast.length]
    for i, other in ((0, at - STEP), (1, at + STEP)):
        if taper and 0 <= other <= 1:
            found = replace(mast.station_at(other), at=0.0)
            there[i] = None if found == here else found
            per_length[i] = 0.0 if found == here else 1 / mast.length
    return Likeness(
        here=here,
        before=there[0],
        after=there[1],
        step=STEP,
        recipe=mast.section,
        taper_about=mast.taper_about,
        end=end,
        scale=Scale(before=per_length[0], after=per_length[1]),
        materials=_materials(mast.section, station),
    )


def _uniform(mast: Mast, station: Station) -> Mast:
    return replace(mast, stations=(station, replace(station, at=1.0)))


def _intervals(mast: Mast, at: float) -> _Sides:
    """The mast file's stations around a place, on either side of it; None beyond an end."""
    before = after = None
    for a, b in pairwise(mast.stations):
        if a.at < at <= b.at:
            before = (a, b)
        if a.at <= at < b.at:
            after = (a, b)
    return before, after


def _is_ruled(pair: tuple[Station, Station], recipe: SectionRecipe) -> bool:
    a, b = (s.outline or recipe.outline for s in pair)
    return a is not b and a != b


def _one_material(recipe: SectionRecipe) -> bool:
    plain = recipe.construction in (Construction.SOLID, Construction.HOLLOW)
    lined = any(channel.material is not None for channel in recipe.channels)
    metal = recipe.material
    return plain and not lined and metal.E > 0 and metal.G > 0


def _materials(recipe: SectionRecipe, station: Station) -> tuple[Material, ...]:
    """All that a region of the section may be of, in an order that sizes do not change."""
    found: list[Material | None] = [*_laminates(station, recipe)]
    found += [recipe.material, recipe.core, *(channel.material for channel in recipe.channels)]
    outline = station.outline or recipe.outline
    ends = (outline.first.outline, outline.second.outline) if isinstance(outline, Ruled) else (outline,)
    found += [loop.fill for o in ends if isinstance(o, Drawing) for loop in o.loops]
    return tuple(m for m in found if m is not None)


@lru_cache(maxsize=256)
def _laminates(station: Station, recipe: SectionRecipe) -> tuple[Material, ...]:
    """Those of the skin, zone by zone; none where it has no plies."""
    return tuple(laminates_at(station, recipe).values())


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS - 1}e}")


def _scaled_station(station: Station, size: float) -> Station:
    """All lengths over a size."""
    wall = station.wall
    if isinstance(wall, Wall):
        port, starboard = (
            tuple((x, _rounded(t / size)) for x, t in face) for face in (wall.port, wall.starboard)
        )
        wall = Wall(port=port, starboard=starboard)
    elif wall is not None:
        wall = _rounded(wall / size)
    return replace(
        station,
        chord=_rounded(station.chord / size),
        thickness=_rounded(station.thickness / size),
        wall=wall,
        plies=tuple(_scaled_ply(ply, size) for ply in station.plies),
    )


def _scaled_ply(ply: SkinPly, size: float) -> SkinPly:
    return replace(ply, thickness=_rounded(ply.thickness / size))


def _scaled_recipe(recipe: SectionRecipe, size: float) -> SectionRecipe:
    """All its lengths over a size."""

    def over(value: float) -> float:
        return _rounded(value / size)

    return replace(
        recipe,
        trailing_edge_radius=over(recipe.trailing_edge_radius),
        trailing_edge_thickness=over(recipe.trailing_edge_thickness),
        webs=tuple(
            replace(web, thickness=None if web.thickness is None else over(web.thickness))
            for web in recipe.webs
        ),
        channels=tuple(
            replace(c, bore=over(c.bore), boss=over(c.boss), offset=over(c.offset))
            for c in recipe.channels
        ),
    )
