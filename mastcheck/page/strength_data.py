"""What the page judges strength by, as plain data: unit stress fields at the points that can govern.

At any resultants the script finds what ``checks.governing`` finds. Stress of N, Mx and My is linear in x
and y within a material, so its coefficients are held and no field; shear stress comes from Vx, Vy and T
alone, axial stress of warping from B. Numbers of points are held to a 33-millionth of their range.

Where the room is short the picture of the section loses detail; all that can govern stays.
"""

from __future__ import annotations

import json
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.result import MastResult
from mastcheck.page.strength_faces import face_rules
from mastcheck.page.strength_picture import SHEARS, WARPING, Grain, picture, table
from mastcheck.page.strength_points import kept_points
from mastcheck.page.strength_rules import CRITERIA, material_rules
from mastcheck.section.model import SectionModel, StressBasis
from mastcheck.strength.faces import faces
from mastcheck.strength.stress import by_material

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
Data = dict[str, object]

BENDING = (0, 3, 4)
"""Places in ACTIONS of N, Mx and My."""
LINEAR = 1e-6
"""How far bending stress may lie from linear in x and y, of its greatest: rounding leaves 1e-14, and
1e-7 of what comes from a result file, which keeps stress fields in single precision."""


GRAINS: tuple[Grain | None, ...] = (
    Grain(corners=False, size=2),
    Grain(corners=True, size=2),
    Grain(corners=True, size=1),
    None,
)
"""Of the picture, from the fullest to none."""
JUDGED = 3
"""Bytes of each number that is judged by."""


def strength_levels(result: MastResult) -> Iterator[Data]:
    """Strength of a checked mast for ``strength_judge.js``, from its fullest to its leanest picture; SI.

    What is judged is the same in all of them.

    Args:
        result: of the mast.

    Yields:
        ``criteria`` in the order of findings; ``at`` (n,): of each station, its place in ``sections``;
        ``grain``: which of GRAINS was taken; ``sections``: ``_judged`` with the ``picture``, or None.
    """
    different = {id(s): s for s in result.sections}
    place = {key: i for i, key in enumerate(different)}
    kept = [kept_points(s) for s in different.values()]
    judged = [_judged(s, at) for s, at in zip(different.values(), kept, strict=True)]
    for number, grain in enumerate(GRAINS):
        yield {
            "criteria": CRITERIA,
            "at": [place[id(s)] for s in result.sections],
            "grain": number,
            "sections": [
                {**rules, "picture": None if grain is None else picture(section, at, grain)}
                for section, at, rules in zip(different.values(), kept, judged, strict=True)
            ],
        }


def strength_data(result: MastResult, budget_bytes: int) -> Data:
    """The fullest of ``strength_levels`` that takes no more than so many bytes as JSON.

    Raises: ValueError when not even the points that can govern find room.
    """
    size = 0
    for data in strength_levels(result):
        size = len(json.dumps(data, separators=(",", ":")))
        if size <= budget_bytes:
            return data
    raise ValueError(
        f"the stresses of {result.job.mast.name[:60]!r} take {size} bytes, and there is room for"
        f" {max(budget_bytes, 0)}"
    )


def _judged(section: SectionModel, kept: IntArray) -> Data:
    """What one section is judged by.

    Args:
        section: the section.
        kept: ascending indices of the basis points to hold.

    Returns:
        ``chord`` (2,): least and greatest x [m]; ``materials``: ``material_rules`` with the ``table`` of
        the points kept, and ``bending`` (3, 3): axial stress of unit N, Mx, My as a + b x + c y;
        ``faces``: ``face_rules``; ``by``: what its picture shows.
    """
    basis = section.basis
    _as_expected(basis)
    materials = [
        {
            **material_rules(section, material),
            "bending": _linear(basis, at),
            "table": table(basis, np.intersect1d(at, kept), point_size=JUDGED, field_size=JUDGED),
        }
        for material, at in by_material(section)
    ]
    place = np.full(len(basis.points), -1)
    order = np.concatenate([np.intersect1d(at, kept) for _, at in by_material(section)])
    place[order] = np.arange(len(order))
    x = basis.points[:, 0]
    return {
        "chord": [float(x.min()), float(x.max())],
        "materials": materials,
        "faces": [face_rules(section, face, place) for face in faces(section)],
        "by": _shown(section),
    }


def _shown(section: SectionModel) -> str:
    """What a picture shows: utilisation where materials of unlike strength meet or plies are judged."""
    materials = {r.material for r in section.regions}
    judged = any(
        any(lamina.strengths is not None for lamina in m.laminas)
        if m.laminate is not None
        else m.design_strength is not None or m.design_shear_strength is not None
        for m in materials
    )
    mixed = len(materials) > 1 or any(m.laminate is not None for m in materials)
    return "utilisation" if judged and mixed else "von Mises"


def _linear(basis: StressBasis, at: IntArray) -> list[list[float]]:
    """Axial stress of unit N, Mx and My (3, 3) as a + b x + c y, exact at all points of a material."""
    x, y = basis.points[at].T
    size = max(float(np.ptp(basis.points[:, 0])), 1e-12)
    shape = np.column_stack([np.ones(len(at)), x / size, y / size])
    stress = basis.fields[list(BENDING), :, 0][:, at].T
    found, *_ = np.linalg.lstsq(shape, stress, rcond=None)
    if np.abs(shape @ found - stress).max() > LINEAR * np.abs(stress).max():
        raise ValueError("stress of bending is not linear over a material")
    return [[float(v) for v in row] for row in (found / np.array([[1.0], [size], [size]])).T]


def _as_expected(basis: StressBasis) -> None:
    """Raises: ValueError where a force bends or a moment shears, which the page could not show."""
    sheared = basis.fields[[*BENDING, WARPING], :, 1:]
    pulled = basis.fields[list(SHEARS), :, 0]
    if sheared.any() or pulled.any():
        raise ValueError("a unit action has a stress that beam theory gives to another")
