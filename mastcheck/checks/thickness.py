"""Walls thicker than a material's strengths hold for."""

from __future__ import annotations

from mastcheck.mast import Construction, Mast, Station, Wall
from mastcheck.section.regions import regions_at


def beyond_range(mast: Mast) -> dict[str, tuple[float, float]]:
    """Materials whose strengths are stated for thinner walls: name, thickest wall and bound [m].

    The wall is the nominal one a standard's range speaks of: the stated wall of a hollow, the whole
    thickness of a solid, and the mean wall of a drawn section with voids (twice its area over the
    length of its outline and voids).
    """
    material = mast.section.material
    bound = material.thickness_to
    if bound is None:
        return {}
    thickest = max(_wall(mast, station) for station in mast.stations)
    return {material.name: (thickest, bound)} if thickest > bound * (1 + 1e-9) else {}


def _wall(mast: Mast, station: Station) -> float:
    construction = mast.section.construction
    if construction is Construction.DRAWN:
        skin = regions_at(mast, station.at)[0].polygon
        return 2 * skin.area / skin.length if skin.interiors else station.thickness
    if construction is Construction.SOLID or station.wall is None:
        return station.thickness
    return station.wall.greatest if isinstance(station.wall, Wall) else station.wall
