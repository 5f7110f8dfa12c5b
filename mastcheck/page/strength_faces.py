"""By what faces in compression are judged, as plain numbers that hold for any load.

A face is judged by its greatest compression. Stress along the mast is linear in (1, x, y, w), w being
the stress of a unit bimoment: so where it is least is a corner of the hull of (x, y, w), exactly,
whatever the load. That holds too for places between two points, whose stress is taken between theirs.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.page.blocks import packed, stepped
from mastcheck.page.strength_picture import WARPING
from mastcheck.section.model import SectionModel, StressBasis
from mastcheck.strength.faces import Face
from mastcheck.strength.finding import Criterion
from mastcheck.strength.panels import plate_limit, wrinkling_strength
from mastcheck.strength.stress import by_material

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
Data = dict[str, object]

DIGITS = 3
"""Bytes of each number."""


def face_rules(section: SectionModel, face: Face, place: IntArray) -> Data:
    """A face as the script judges it.

    Args:
        section: the section.
        face: one of its faces.
        place: (n,) of each basis point its place among those held; -1: not held.

    Returns:
        ``criterion``, ``material``, ``where`` in words; ``limit`` [Pa], None where it cannot be told;
        ``of``: its material's place in the order of ``by_material``; where compression can be greatest:
        ``points``, places among those held, and ``further`` (k, 3), ``stepped``: x, y [m] and w
        [Pa per N·m²].
    """
    if face.core is None:
        limit, words, _ = plate_limit(face)
        criterion = Criterion.BUCKLING
    else:
        limit, words = wrinkling_strength(face.material, face.core), f"on {face.core.name}"
        criterion = Criterion.WRINKLING
    cloud, at = pressed(section.basis, face)
    held = (at >= 0) & (place[at] >= 0)
    return {
        "criterion": criterion.value,
        "material": face.material.name,
        "where": f"{face.words}, {words}",
        "limit": limit,
        "of": [material is face.material for material, _ in by_material(section)].index(True),
        "points": packed(place[at[held]], "u16"),
        "further": stepped(cloud[~held], DIGITS),
    }


def pressed(basis: StressBasis, face: Face) -> tuple[FloatArray, IntArray]:
    """Where the compression of a face can be greatest.

    Returns:
        Places (k, 3): x, y [m], w [Pa per N·m²], all of the face where the cloud of them has no volume;
        and (k,) the basis points they are, -1 between two.
    """
    from scipy.spatial import ConvexHull, QhullError

    every = np.column_stack([basis.points, basis.fields[WARPING, :, 0]])
    (a, b), w = face.across.T, face.share[:, None]
    cloud = np.concatenate([every[face.points], (1 - w) * every[a] + w * every[b]])
    at = np.concatenate([face.points, np.full(len(a), -1)])
    size = np.ptp(cloud, axis=0)
    if len(cloud) < 5 or not (size > 0).all():
        return cloud, at
    try:
        corners = np.sort(ConvexHull((cloud - cloud.mean(axis=0)) / size).vertices)
    except QhullError:
        return cloud, at
    return cloud[corners], at[corners]
