"""The stress picture of a section for the page: coarse numbers, to look at and never to judge by."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.page.blocks import packed, stepped
from mastcheck.section.model import SectionModel, StressBasis
from mastcheck.strength.stress import by_material

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
Data = dict[str, object]

SHEARS = (1, 2, 5)
"""Places in ACTIONS of Vx, Vy and T: what gives shear stress."""
WARPING = 6
"""Place in ACTIONS of the bimoment."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grain:
    """How fine a picture is: all mesh nodes or the triangles' ``corners`` alone; ``size``: bytes of each
    number of a unit field.
    """

    corners: bool
    size: int


def picture(section: SectionModel, kept: IntArray, grain: Grain) -> Data:
    """Triangles of a section's picture, and the points it needs beside those that are judged.

    Args:
        section: the section.
        kept: ascending indices of the basis points that are judged.
        grain: how fine.

    Returns:
        ``parts``: of each material in the order of ``by_material`` the ``table`` of further points;
        ``triangles`` (m, 3): places of points, material by material, of each those judged first.
    """
    basis = section.basis
    triangles = _corners(basis) if grain.corners else basis.triangles
    further = np.setdiff1d(triangles, kept)
    place = np.full(len(basis.points), -1)
    parts: list[Data] = []
    end = 0
    for _, at in by_material(section):
        extra = np.intersect1d(at, further)
        here = np.concatenate([np.intersect1d(at, kept), extra])
        place[here] = end + np.arange(len(here))
        end += len(here)
        parts.append(table(basis, extra, point_size=2, field_size=grain.size))
    return {"parts": parts, "triangles": packed(place[triangles], "u16")}


def table(basis: StressBasis, at: IntArray, *, point_size: int, field_size: int) -> Data:
    """Points and unit fields of one material, in steps of its own: stiffnesses differ.

    Args:
        basis: of the section.
        at: the points.
        point_size: bytes of a coordinate.
        field_size: bytes of a stress.

    Returns:
        ``points`` (p, 2) [m] and ``fields`` (p, 7), ``stepped``: sigma of B, then tau_zx of Vx, Vy and
        T, then tau_zy of the same [Pa per unit]. The rest is nil, or linear in x and y.
    """
    fields = basis.fields[:, at]
    columns = [fields[WARPING, :, 0], *(fields[k, :, axis] for axis in (1, 2) for k in SHEARS)]
    return {
        "points": stepped(basis.points[at], point_size),
        "fields": stepped(np.column_stack(columns), field_size),
    }


def _corners(basis: StressBasis) -> IntArray:
    """Triangles (m, 3) between the corner nodes of the mesh; all of them for another mesh."""
    rows = basis.triangles.reshape(-1, 12) if len(basis.triangles) % 4 == 0 else None
    if rows is None or not (np.sort(rows[:, 9:]) == np.sort(rows[:, [1, 5, 6]])).all():
        return basis.triangles
    return rows[:, [0, 4, 8]]
