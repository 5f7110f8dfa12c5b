"""Stress in a section under forces and moments together, and what it uses of a material's strength.

A row's ``load`` names resultants with their units, ``"N 5 kN, Mx 300 N m"``; its shape is one of
``shapes``. ``at`` is a point of the section; without it the greatest of all points of the mesh counts.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, box

from mastcheck.errors import MastcheckError
from mastcheck.material import Material
from mastcheck.section.model import ACTIONS, Region, SectionModel
from mastcheck.section.solve import solve_section
from mastcheck.source import PRACTICE
from mastcheck.strength.faces import faces
from mastcheck.strength.finding import Criterion, Finding
from mastcheck.strength.panels import panel_findings
from mastcheck.strength.stress import material_findings, station_stress, von_mises
from mastcheck.units import Dimension, parse
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.sections import solved
from mastcheck.verify.shapes import shape

FloatArray = NDArray[np.float64]

_MOMENTS = ("Mx", "My", "T")


def resultants(given: Given) -> FloatArray:
    """The row's ``load`` as resultants (7,) in the order of ACTIONS [N, N·m].

    Raises: MastcheckError for a name that is no resultant of this table.
    """
    out = np.zeros(len(ACTIONS))
    for part in given.words("load").split(","):
        name, _, size = part.strip().partition(" ")
        if name not in ACTIONS[:-1]:
            raise MastcheckError(f"given.load = {part!r}: want one of {', '.join(ACTIONS[:-1])}")
        dimension = Dimension.MOMENT if name in _MOMENTS else Dimension.FORCE
        out[ACTIONS.index(name)] = parse(size, dimension)
    return out


def stress_at(section: SectionModel, stress: FloatArray, at: FloatArray) -> FloatArray:
    """Stress (3,) at a point (2,) [m], between the mesh points around it, from stress (p, 3) at all.

    Raises: MastcheckError where the point is not in the section.
    """
    triangles = section.basis.triangles
    a, b, c = np.moveaxis(section.basis.points[triangles], 1, 0) - at
    # Of each triangle's area, by the corner opposite.
    shares = np.column_stack([_turn(b, c), _turn(c, a), _turn(a, b)])
    shares /= shares.sum(axis=1)[:, None]
    k = int(shares.min(axis=1).argmax())
    # A point of the outline may lie off its straight panels by a ten-thousandth of the size.
    if shares[k].min() < -0.05:
        raise MastcheckError(f"the point {at} is not in the section")
    found: FloatArray = shares[k] @ stress[triangles[k]]
    return found


def _turn(u: FloatArray, v: FloatArray) -> FloatArray:
    """Product u × v (n,) of vectors (n, 2)."""
    out: FloatArray = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return out


def _stress(given: Given) -> FloatArray:
    """Stress (1, 3) at ``at``, or (p, 3) at all points [Pa]."""
    section = solved(given)
    stress = station_stress(section, resultants(given)).stress
    place = given.words("at", "everywhere")
    if place == "everywhere":
        return stress
    at = np.array([parse(word, Dimension.LENGTH) for word in place.split(",")])
    return stress_at(section, stress, at)[None]


def _von_mises(given: Given) -> float:
    return float(von_mises(_stress(given)).max())


def _shear(given: Given) -> float:
    """Shear stress [Pa]."""
    stress = _stress(given)
    return float(np.hypot(stress[:, 1], stress[:, 2]).max())


def _shear_over_mean(given: Given) -> float:
    """Shear stress at a point over force by area."""
    force = resultants(given)[1:3]
    return _shear(given) * solved(given).properties.area / float(np.hypot(*force))


def _metal(given: Given) -> float:
    """Share of its strength that a metal of the table uses, in the shape."""
    material = given.shipped.materials[given.words("material")]
    section = solve_section((Region(polygon=shape(given), material=material),))
    return station_stress(section, resultants(given)).greatest


def _plain(name: str, given: Given) -> Material:
    return Material(
        name=name, density=1000.0, source=PRACTICE,
        E=given.of(Dimension.STRESS, f"{name}_E"), G=given.of(Dimension.STRESS, f"{name}_G"),
    )  # fmt: skip


def _coaxial(given: Given) -> float:
    """Greatest stress along a round bar in a sleeve [Pa], in the one that ``of`` names."""
    circle = np.linspace(0, 2 * np.pi, 160, endpoint=False)
    rim = np.column_stack([np.cos(circle), np.sin(circle)])
    inner, outer = rim * given.length("inner"), rim * given.length("outer")
    core, skin = _plain("core", given), _plain("skin", given)
    section = solve_section(
        (
            Region(polygon=Polygon(outer, [inner]), material=skin),
            Region(polygon=Polygon(inner), material=core),
        )
    )
    stress = station_stress(section, resultants(given)).stress[:, 0]
    part = ("skin", "core").index(given.words("of"))
    return float(stress[section.basis.region == part].max())


def _sandwich(given: Given) -> SectionModel:
    """Two faces on a core, both as wide; the core's strength stated."""
    w, c, t = (given.length(key) for key in ("width", "core", "face"))
    core = replace(_plain("core", given), shear_strength=1.1e6, gamma_proof=1.5)
    skin = _plain("skin", given)
    return solve_section(
        (
            Region(polygon=box(-w / 2, c / 2, w / 2, c / 2 + t), material=skin),
            Region(polygon=box(-w / 2, -c / 2 - t, w / 2, -c / 2), material=skin),
            Region(polygon=box(-w / 2, -c / 2, w / 2, c / 2), material=core),
        )
    )


def _sandwich_finding(given: Given) -> Finding:
    section = _sandwich(given)
    stress = station_stress(section, resultants(given))
    found = [
        *material_findings(section, stress, 0.0),
        *panel_findings(section, faces(section), stress, 0.0),
    ]
    wanted = {"core shear": Criterion.CORE_SHEAR, "wrinkling": Criterion.WRINKLING}[given.words("of")]
    return max((f for f in found if f.criterion is wanted), key=lambda f: f.value)


def _sandwich_used(given: Given) -> float:
    """Share of the limit."""
    used = _sandwich_finding(given).utilisation
    if used is None:
        raise MastcheckError("the criterion has no limit")
    return used


COMPUTATIONS: dict[str, Compute] = {
    "von Mises stress": _von_mises,
    "shear stress": _shear,
    "shear stress over the mean": _shear_over_mean,
    "share of a metal's strength": _metal,
    "stress along a bar of two materials": _coaxial,
    "share of a sandwich's limit": _sandwich_used,
}
