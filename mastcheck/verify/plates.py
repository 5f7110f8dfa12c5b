"""Thin faces in compression: plates over a void, and wrinkling over a core."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from shapely import box

from mastcheck.errors import MastcheckError
from mastcheck.laminate import bending
from mastcheck.material import Material, laminate_material
from mastcheck.section.model import Region
from mastcheck.section.solve import solve_section
from mastcheck.source import PRACTICE
from mastcheck.strength.faces import Face, faces
from mastcheck.strength.long_plate import plate_force
from mastcheck.strength.panels import (
    laminate_plate_stress,
    metal_reduction,
    metal_slenderness,
    panel_findings,
    plate_limit,
    wrinkling_strength,
)
from mastcheck.strength.stress import station_stress
from mastcheck.units import Dimension
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.laminates import layup
from mastcheck.verify.strength import resultants

_NU = 0.3
PLAIN = Material(
    name="plain", E=70e9, G=70e9 / (2 * (1 + _NU)), density=2700.0, source=PRACTICE, gamma_proof=1.0
)


def _face(material: Material, width: float, wall: float, radius: float = math.inf) -> Face:
    return Face(
        side="port", material=material, core=None, width=width, wall=wall, radius=radius,
        points=np.array([0]), start=0.0, end=1.0,
    )  # fmt: skip


def _limit(face: Face) -> float:
    limit, _, _ = plate_limit(face)
    if limit is None:
        raise MastcheckError("the face is not judged")
    return limit


def _factor(given: Given) -> float:
    """Factor k in σ = k π² E/(12 (1 - ν²)) (t/b)² of a plain face, or of one of isotropic plies."""
    width, wall = 0.100, 0.002
    unit = math.pi**2 * PLAIN.E / (12 * (1 - _NU**2)) * (wall / width) ** 2
    if given.words("of") == "plain":
        return _limit(_face(PLAIN, width, wall)) / unit
    some = next(iter(given.shipped.laminas.values()))
    ply = replace(some, E1=PLAIN.E, E2=PLAIN.E, nu12=_NU, G12=PLAIN.G)
    laminate = layup(ply, "[30/-45/90]s", wall / 6)
    return laminate_plate_stress(_face(laminate_material("plies", laminate), width, wall)) / unit


def _laminate(given: Given) -> float:
    """Force per width at which a laminate face buckles [N/m]."""
    laminate = layup(
        given.shipped.laminas[given.words("lamina")], given.words("layup"), given.length("ply")
    )
    return plate_force(bending(laminate), given.length("width"))


def _metal(given: Given) -> Material:
    return given.shipped.materials[given.words("material")]


def _reduction(given: Given) -> float:
    """rho_c at a slenderness ``beta`` over epsilon, of a metal with 250 MPa and 70 GPa, or another."""
    metal = replace(_metal(given), proof_strength=250e6, E=70e9)
    return metal_reduction(given.number("beta"), metal)


def _metal_limit(given: Given) -> float:
    """Stress that a flat face of a metal may bear [Pa]."""
    return _limit(_face(_metal(given), given.length("width"), given.length("wall")))


def _curved(given: Given) -> float:
    """Slenderness beta of a shallow curved part."""
    width, wall, radius = (given.length(key) for key in ("width", "wall", "radius"))
    return metal_slenderness(_face(PLAIN, width, wall, radius))


def _tube(given: Given) -> float:
    """Share of a tube's plate buckling limit, found from its section: outside ``width`` x ``height``."""
    w, h, t = (given.length(key) for key in ("width", "height", "wall"))
    ring = box(-w / 2, -h / 2, w / 2, h / 2).difference(
        box(-w / 2 + t, -h / 2 + t, w / 2 - t, h / 2 - t)
    )
    section = solve_section((Region(polygon=ring, material=PLAIN),))
    stress = station_stress(section, resultants(given))
    found = panel_findings(section, faces(section), stress, 0.0)
    return max(f.utilisation or 0.0 for f in found)


def _wrinkling(given: Given) -> float:
    """Stress at which a face wrinkles [Pa], no partial factor."""
    core = replace(PLAIN, E=given.of(Dimension.STRESS, "core_E"), G=given.of(Dimension.STRESS, "core_G"))
    return wrinkling_strength(replace(PLAIN, E=given.of(Dimension.STRESS, "face_E")), core)


COMPUTATIONS: dict[str, Compute] = {
    "plate factor": _factor,
    "plate of a laminate": _laminate,
    "plate, share that stays effective": _reduction,
    "plate of a metal": _metal_limit,
    "slenderness of a curved plate": _curved,
    "share of a tube's plate limit": _tube,
    "wrinkling stress": _wrinkling,
}
