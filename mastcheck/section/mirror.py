"""Whether a section is its own mirror image about its chord line."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from mastcheck.section.model import Region

FloatArray = NDArray[np.float64]

NEAR = 1e-7
"""Share of the width by which a point may miss its image: ten times the grid that points are put on."""


def mirrored(regions: tuple[Region, ...]) -> bool:
    """Whether every material fills the same at y as at -y.

    The edges around each material are compared, end points and all: a set of edges tells, by the
    count of crossings, what is inside it.
    """
    left, low, right, high = shapely.total_bounds([r.polygon for r in regions])
    near = NEAR * max(right - left, high - low)
    edges: dict[tuple[float, ...], list[FloatArray]] = {}
    for region in regions:
        m = region.material
        own = edges.setdefault((m.E, m.G, m.density), [])
        for ring in (region.polygon.exterior, *region.polygon.interiors):
            points = shapely.get_coordinates(ring)
            own.append(np.hstack([points[:-1], points[1:]]))
    return all(_even(np.concatenate(own), near) for own in edges.values())


def _even(edges: FloatArray, near: float) -> bool:
    """Whether edges (n, 4) between (x, y) and (x, y) are their own image about y = 0."""
    images = edges * (1.0, -1.0, 1.0, -1.0)
    # Directed edges: the image of a ring runs the other way round.
    images = images[:, [2, 3, 0, 1]]
    middles, image_middles = (shapely.points((e[:, :2] + e[:, 2:]) / 2) for e in (edges, images))
    image, place = shapely.STRtree(middles).query(image_middles, predicate="dwithin", distance=near)
    same = np.abs(images[image] - edges[place]).max(axis=1) <= near
    n = len(edges)
    return len(np.unique(image[same])) == n and len(np.unique(place[same])) == n
