"""Faces in compression: plate buckling over a void, wrinkling over a core.

Demand: the greatest compression along the mast in the face, held against the limit of a plate evenly
compressed over the whole cell. For metals that is what the effective section of EN 1999-1-1 comes to:
with one of two equal faces thinned to rho_c t, its section modulus falls to rho_c of the whole.
Shear, and support by webs and solid ends beyond a hinge, are left out.
"""

from __future__ import annotations

import math
import re

import numpy as np
from numpy.typing import NDArray

from mastcheck.laminate import bending
from mastcheck.material import Material
from mastcheck.section.model import SectionModel
from mastcheck.source import Grade, Source
from mastcheck.strength.faces import Face
from mastcheck.strength.finding import Criterion, Finding
from mastcheck.strength.long_plate import plate_force
from mastcheck.strength.stress import StationStress

FloatArray = NDArray[np.float64]

WRINKLING_SOURCE = Source(
    title="wrinkling of a face on a core, 0.5 (Ef Ec Gc)^(1/3); theory gives 0.91",
    place="Hoff and Mautner, J. Aeronaut. Sci. 12 (1945)",
    grade=Grade.MEMORY,
)
METAL_PLATE_SOURCE = Source(
    title="EN 1999-1-1 local buckling of internal parts without welds, effective thickness",
    place="6.1.4 and 6.1.5 (slenderness, shallow curved parts, rho_c)",
    grade=Grade.MEMORY,
)
LAMINATE_PLATE_SOURCE = Source(
    title="long simply supported plate, N = 2 pi²/b² (sqrt(D11 D22) + D12 + 2 D66); less by D16 and D26",
    place="Jones, Mechanics of Composite Materials, ch. 5; Lekhnitskii, Anisotropic Plates; Ritz for the"
    " leaning waves",
    grade=Grade.MEMORY,
)
ISOTROPIC_PLATE_SOURCE = Source(
    title="long simply supported isotropic plate, 4 pi² E / (12 (1 - nu²)) (t/b)²",
    place="Timoshenko and Gere, Theory of Elastic Stability, ch. 9",
    grade=Grade.MEMORY,
)
WRINKLING_FACTOR = 0.5
FOAM_RATIO = 4.5
"""A core whose E is more times its G than this has a grain along the mast."""

METALS = ("alumin", "titanium", "stainless", "steel")
ISOTROPIC_NU = (0.2, 0.45)
"""Poisson's ratios E/(2G) - 1 that let a plain material pass for isotropic; a laminate whose plies
are not listed and whose ratio lies outside has an unknown stiffness across, and is not judged."""

# EN 1999-1-1 Table 6.2 and 6.3, internal parts without welds, from memory: the class 3 limit of
# beta/epsilon, C1 and C2, by buckling class.
_EN_1999 = {"A": (22.0, 32.0, 220.0), "B": (18.0, 29.0, 198.0)}
_EN_CLASSES = {"A": (11.0, 16.0, 22.0), "B": (13.0, 16.5, 18.0)}


def panel_findings(
    section: SectionModel, faces: tuple[Face, ...], found: StationStress, z: float
) -> list[Finding]:
    """Wrinkling over cores and plate buckling over voids; faces without compression are left out.

    ``faces`` are those of the section (``faces.faces``); ``found`` its stresses at station z [m].
    """
    out = []
    for face in faces:
        if face.core is None:
            finding = _buckling(face, section.basis.points, found, z)
        else:
            finding = _wrinkling(face, face.core, section.basis.points, found, z)
        if finding is not None:
            out.append(finding)
    return out


def _wrinkling(
    face: Face, core: Material, points: FloatArray, found: StationStress, z: float
) -> Finding | None:
    sigma, place = face.most_pressed(points, found.stress[:, 0])
    if not sigma < 0:
        return None
    limit = wrinkling_strength(face.material, core)
    return _finding(
        Criterion.WRINKLING, face, -sigma, limit, z, place,
        f"{face.words}, on {core.name}", WRINKLING_SOURCE,
    )  # fmt: skip


def wrinkling_strength(face: Material, core: Material) -> float:
    """Design wrinkling stress [Pa]: 0.5 (Ef Ec Gc)^(1/3) over the core's partial factor.

    Ec acts through the core's depth. A laminate face's knock-down applies too, since heat and water
    soften core and resin alike.
    """
    wrinkles = WRINKLING_FACTOR * math.cbrt(face.E * through_stiffness(core) * core.G)
    return wrinkles * (face.laminate.knock_down if face.laminate else 1.0) / core.gamma_proof


def through_stiffness(core: Material) -> float:
    """E of a core across the mast [Pa]: that stated, or G where it is stiffer along than a foam can be.

    The E stated is along the mast. Wood's across the grain is a tenth or less of it, and near its G.
    """
    return core.E if core.E <= FOAM_RATIO * core.G else core.G


def _buckling(face: Face, points: FloatArray, found: StationStress, z: float) -> Finding | None:
    sigma, place = face.most_pressed(points, found.stress[:, 0])
    if not sigma < 0:
        return None
    limit, words, source = plate_limit(face)
    return _finding(
        Criterion.BUCKLING, face, -sigma, limit, z, place,
        f"{face.words}, {words}", source,
    )  # fmt: skip


def plate_limit(face: Face) -> tuple[float | None, str, Source]:
    """Design plate buckling stress [Pa] of a face (None: cannot be told), its words, its source."""
    m, slender = face.material, face.width / face.wall
    if m.laminate is not None:
        stress = laminate_plate_stress(face) * m.laminate.knock_down / m.laminate.gamma
        return stress, f"b/t {slender:.0f}", LAMINATE_PLATE_SOURCE
    if m.galvanic_group.startswith(METALS):
        if m.proof_strength is None:
            return None, f"b/t {slender:.0f}", METAL_PLATE_SOURCE
        beta, group = metal_slenderness(face), buckling_class(m)
        rho = metal_reduction(beta, m)
        words = f"b/t {slender:.0f}, beta {beta:.0f}, {_class_words(beta, m)} (buckling class {group})"
        return rho * m.proof_strength / m.gamma_proof, words, METAL_PLATE_SOURCE
    if ISOTROPIC_NU[0] <= m.nu <= ISOTROPIC_NU[1]:
        stress = math.pi**2 * m.E / (3 * (1 - m.nu**2)) / slender**2
        return stress / m.gamma_proof, f"b/t {slender:.0f}, taken as isotropic", ISOTROPIC_PLATE_SOURCE
    words = f"b/t {slender:.0f}; its stiffness across the mast is not known: list its plies"
    return None, words, LAMINATE_PLATE_SOURCE


def laminate_plate_stress(face: Face) -> float:
    """Elastic buckling stress [Pa] of a flat long plate of the face's plies, all four edges hinged.

    The bending stiffness is that of the plies free to stretch (``laminate.bending``), which is the
    lower for an unsymmetrical layup; what ties bending to twisting counts (``long_plate``); curvature
    is left out.
    Raises: ValueError when the face is no laminate.
    """
    laminate = face.material.laminate
    if laminate is None:
        raise ValueError(f"{face.material.name} is not a laminate")
    return plate_force(bending(laminate), face.width) / laminate.thickness


def metal_slenderness(face: Face) -> float:
    """Beta of an internal part in even compression, b/t with the allowance for a shallow curve.

    EN 1999-1-1 6.1.4.3 from memory: b/t / sqrt(1 + 0.006 b⁴/(R² t²)).
    """
    b, t, R = face.width, face.wall, face.radius
    return b / t / math.sqrt(1 + 0.006 * b**4 / (R * t) ** 2)


def metal_reduction(beta: float, material: Material) -> float:
    """rho_c, the share of the wall that stays effective: C1/(beta/eps) - C2/(beta/eps)², at most 1."""
    ratio = beta / _epsilon(material)
    bound, C1, C2 = _EN_1999[buckling_class(material)]
    return 1.0 if ratio <= bound else C1 / ratio - C2 / ratio**2


def buckling_class(material: Material) -> str:
    """A for the 6000 series in temper T6, by its name; else B, the lower curve (7075 has no class)."""
    treated = re.search(r"\b6\d{3}[A-Z]?-T6\d*\b", material.name) is not None
    return "A" if treated and material.galvanic_group.startswith("alumin") else "B"


def _epsilon(material: Material) -> float:
    """sqrt(250 MPa/f_o), times the root of E over aluminium's 70 GPa for other metals."""
    proof = material.proof_strength or math.inf
    return math.sqrt(250e6 / proof * material.E / 70e9)


def _class_words(beta: float, material: Material) -> str:
    ratio = beta / _epsilon(material)
    bounds = _EN_CLASSES[buckling_class(material)]
    number = 1 + sum(ratio > bound for bound in bounds)
    return f"class {number}" + (", slender" if number == 4 else "")


def _finding(
    criterion: Criterion,
    face: Face,
    value: float,
    limit: float | None,
    z: float,
    xy: tuple[float, float],
    where: str,
    source: Source,
) -> Finding:
    return Finding(
        criterion=criterion,
        material=face.material.name,
        value=value / 1e6,
        limit=None if limit is None else limit / 1e6,
        unit="MPa",
        utilisation=None if limit is None else value / limit,
        z=z,
        xy=xy,
        where=where,
        source=source,
    )
