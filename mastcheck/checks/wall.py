"""The uniform wall with which a mast weighs what it weighs, from areas alone.

Mass grows with the wall, so one wall gives the mass; no section is solved.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from mastcheck.errors import GeometryError, MastcheckError
from mastcheck.mast import Construction, Mast
from mastcheck.section.regions import regions_at

LEAST_WALL = 1e-4
"""Thinnest wall [m] taken, as for ``section.wall`` of the mast file."""

LEAST_SHARE = 0.01 * (1 + 1e-9)
"""Thinnest wall over the thickness taken: below it ``regions_at`` refuses it as a slip of the unit."""

# Lobatto's five-point rule on (-1, 1), exact to the seventh degree (Abramowitz and Stegun 25.4.32,
# from memory). Areas between stations are smooth, so it holds the mass within 0.001 % (measured
# on hollow blades of all four families); and it has the stations among its points, where a wall
# first leaves no void.
_LOBATTO = (
    (-1.0, 1 / 10),
    (-((3 / 7) ** 0.5), 49 / 90),
    (0.0, 32 / 45),
    ((3 / 7) ** 0.5, 49 / 90),
    (1.0, 1 / 10),
)

PANELS = 100
"""Straight panels on each side of the contour."""

_MEASURED_TO = 1e-5  # a mass met within this share of itself is met; a jump in mass misses by more


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Masses [kg] that uniform walls [m] can give; ``solid`` is the mass without any void."""

    least_wall: float
    lightest: float
    greatest_wall: float
    heaviest: float
    solid: float

    def nearest(self, mass: float) -> float:
        """The possible mass nearest to one that no wall gives [kg]."""
        return min((self.lightest, self.heaviest, self.solid), key=lambda m: abs(m - mass))


class NoWallError(MastcheckError):
    """No uniform wall gives this mass; ``reach`` says which masses are possible."""

    def __init__(self, mass: float, reach: Reach) -> None:
        self.mass = mass
        self.reach = reach
        super().__init__(
            f"no uniform wall gives {mass:.4g} kg; the nearest possible is {reach.nearest(mass):.4g} kg"
        )


def blade_mass(mast: Mast, *, panels: int = PANELS) -> float:
    """Mass of the blade [kg] from the areas of its regions; no section is solved.

    Args:
        mast: a mast with its walls.
        panels: straight panels on each side of the contour.

    Raises: GeometryError from the section floor.
    """
    return integrals(mast, panels)[0]


def with_wall(mast: Mast, wall: float) -> Mast:
    """The mast with this wall [m] at every station."""
    return replace(mast, stations=tuple(replace(s, wall=wall) for s in mast.stations))


def infer_wall(mast: Mast, mass: float, *, panels: int = PANELS) -> float:
    """The uniform wall [m] with which a hollow or shell-and-core mast weighs ``mass`` [kg].

    Args:
        mast: the mast; walls of its stations are ignored.
        mass: mass of the blade alone [kg].
        panels: straight panels on each side of the contour.

    Raises:
        NoWallError: where no uniform wall gives that mass.
        GeometryError: sizes that are no section's.
        ValueError: a solid mast has no wall, and a core as dense as its skin tells nothing of it.
    """
    from scipy.optimize import brentq

    core = mast.section.core
    if mast.section.construction not in (Construction.HOLLOW, Construction.SHELL_AND_CORE):
        raise ValueError(f"a {mast.section.construction} mast has no wall to infer")
    if core is not None and core.density >= mast.section.material.density:
        raise ValueError(f"{core.name} is not lighter than {mast.section.material.name}")
    solid = blade_mass(filled(mast), panels=panels)

    def excess(wall: float) -> float:
        try:
            return blade_mass(with_wall(mast, wall), panels=panels) - mass
        except GeometryError:
            return solid - mass  # no void left somewhere: as heavy as it can be

    low, high = _least_wall(mast), min(s.thickness for s in mast.stations) / 2
    if not excess(low) <= 0 < solid - mass:
        raise NoWallError(mass, _reach(mast, solid, panels))
    wall = float(brentq(excess, low, high, xtol=1e-9, rtol=1e-9))
    if abs(excess(wall)) > _MEASURED_TO * mass:  # the jump from the last void to none
        raise NoWallError(mass, _reach(mast, solid, panels))
    return wall


def filled(mast: Mast) -> Mast:
    """The mast without any void or core."""
    section = replace(mast.section, construction=Construction.SOLID, core=None)
    return replace(mast, section=section)


def integrals(mast: Mast, panels: int) -> tuple[float, float, float]:
    """Mass [kg], volume and core volume [m³] of the blade."""
    total = np.zeros(3)
    for a, b in pairwise(mast.stations):
        half = (b.at - a.at) / 2
        for x, weight in _LOBATTO:
            at = min(a.at + half * (x + 1), b.at)
            regions = regions_at(mast, at, panels=panels)
            areas = np.array([r.polygon.area for r in regions])
            density = np.array([r.material.density for r in regions])
            core = np.array([r.material is mast.section.core for r in regions])
            total += half * weight * np.array([areas @ density, areas.sum(), areas @ core])
    mass, volume, core_volume = (mast.length * total).tolist()
    return mass, volume, core_volume


def _least_wall(mast: Mast) -> float:
    return max(LEAST_WALL, LEAST_SHARE * max(s.thickness for s in mast.stations))


def _reach(mast: Mast, solid: float, panels: int) -> Reach:
    """What uniform walls can give; the greatest wall by halving, to a thousandth of itself."""
    least = low = _least_wall(mast)
    lightest = heaviest = blade_mass(with_wall(mast, low), panels=panels)
    high = min(s.thickness for s in mast.stations) / 2
    while high - low > 1e-3 * high:
        middle = (low + high) / 2
        try:
            heaviest, low = blade_mass(with_wall(mast, middle), panels=panels), middle
        except GeometryError:
            high = middle
    return Reach(least_wall=least, lightest=lightest, greatest_wall=low, heaviest=heaviest, solid=solid)
