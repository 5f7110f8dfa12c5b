"""A solved section made larger, stiffer or heavier: every number goes with an exact power.

Lengths scale the geometry; E, G and density are scaled only where the whole section is of one
material, so that each number holds one of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.material import Material
from mastcheck.section.entry import Entry
from mastcheck.section.model import ACTIONS, Region, SectionModel, SectionProperties, StressBasis

FloatArray = NDArray[np.float64]

_UNIT_STRESS = {"N": -2, "Vx": -2, "Vy": -2, "Mx": -3, "My": -3, "T": -3, "B": -4}
"""Powers of the size in the stress of each unit action: 1/m², 1/m³ and 1/m⁴."""

_END = np.array([[-1] * 3 + [-2] * 3] * 3 + [[-2] * 3 + [-3] * 3] * 3)
"""Powers of the size in a compliance of displacements and rotations by forces and moments."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Factors from one section to a similar one.

    ``size`` of all lengths; ``E``, ``G``, ``density`` of the one material's, and ``nu`` of Poisson's
    ratio; ``before`` and ``after``: of the slopes by which it tapers on the base's and the tip's side.
    Where ``end`` is known, ν must be the same.
    """

    size: float = 1.0
    E: float = 1.0
    G: float = 1.0
    density: float = 1.0
    nu: float = 1.0
    before: float = 1.0
    after: float = 1.0


def scaled(entry: Entry, by: Scale, materials: Sequence[Material]) -> SectionModel:
    """The similar section, of the given materials.

    Args:
        entry: the solved section.
        by: factors to the other.
        materials: the other's, in the order that the entry's regions refer to.
    """
    s = by.size
    b = entry.basis
    powers = np.array([s ** _UNIT_STRESS[action] for action in ACTIONS])
    return SectionModel(
        regions=tuple(
            Region(polygon=polygon, material=materials[i])
            for polygon, i in zip(entry.polygons(s), entry.material, strict=True)
        ),
        properties=scaled_properties(entry.properties, by),
        basis=StressBasis(
            points=b.points * s,
            region=b.region,
            fields=b.fields * powers[:, None, None],
            triangles=b.triangles,
        ),
        elements=entry.elements,
        end=None if entry.end is None else entry.end * s ** _END.astype(float) / by.E,
    )


def scaled_properties(p: SectionProperties, by: Scale) -> SectionProperties:
    """Properties of the similar section."""
    s, E, G, density = by.size, by.E, by.G, by.density

    def fibre(torque: tuple[float, float, float], slope: float) -> tuple[float, float, float]:
        e, x, y = torque
        return e * E * s**3 * slope, x * E * s**4 * slope, y * E * s**4 * slope

    e, x, y = p.contraction
    first, second = density * s**3, density * s**4
    m = p.mass_moments
    return SectionProperties(
        EA=p.EA * E * s**2,
        EIxx=p.EIxx * E * s**4,
        EIyy=p.EIyy * E * s**4,
        EIxy=p.EIxy * E * s**4,
        GJ=p.GJ * G * s**4,
        EGamma=p.EGamma * E * s**6,
        shear_flex_xx=p.shear_flex_xx / G / s**2,
        shear_flex_yy=p.shear_flex_yy / G / s**2,
        shear_flex_xy=p.shear_flex_xy / G / s**2,
        centroid_x=p.centroid_x * s,
        centroid_y=p.centroid_y * s,
        shear_centre_x=p.shear_centre_x * s,
        shear_centre_y=p.shear_centre_y * s,
        mass_per_length=p.mass_per_length * density * s**2,
        area=p.area * s**2,
        fibre_before=fibre(p.fibre_before, by.before),
        fibre_after=fibre(p.fibre_after, by.after),
        contraction=(e * by.nu, x * by.nu * s, y * by.nu * s),
        mass_moments=(m[0] * first, m[1] * first, m[2] * second, m[3] * second, m[4] * second),
    )
