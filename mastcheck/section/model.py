"""What a solved section is: properties, and the stress field of each unit action."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from mastcheck.material import Material

FloatArray = NDArray[np.float64]

ACTIONS = ("N", "Vx", "Vy", "Mx", "My", "T", "B")
"""Resultants at the stacking line in mast axes, and the bimoment B about the shear centre."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Region:
    """A polygon [m, in section axes, origin on the stacking line] of one material."""

    polygon: Polygon
    material: Material


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Motion:
    """The regions a small step [m] further along z (negative: toward the base)."""

    regions: tuple[Region, ...]
    step: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionProperties:
    """Stiffness of a section, SI. Centroidal bending stiffness; x aft along the chord, y to port.

    EA [N]; EIxx about the chordwise axis (EI_side), EIyy (EI_fore_aft), EIxy [N·m²]; GJ
    [N·m²]; EGamma about Trefftz's shear centre [N·m⁴]; shear flexibilities [1/N]; centroid and
    shear centre from the stacking line [m]; area [m²]; mass per length [kg/m].
    ``fibre_before`` and ``fibre_after`` [N·m; N·m², N·m²]: torque carried by unit strains
    (e0, κx, κy) through the taper on the base's and the tip's side; ``contraction`` [-; m, m]:
    their work on varying torsion by Poisson's ratio (``section.taper``). ``mass_moments``: ∫ρx,
    ∫ρy [kg] and ∫ρy², ∫ρx², ∫ρxy [kg·m] dA about the stacking line.
    """

    EA: float
    EIxx: float
    EIyy: float
    EIxy: float
    GJ: float
    EGamma: float
    shear_flex_xx: float
    shear_flex_yy: float
    shear_flex_xy: float
    centroid_x: float
    centroid_y: float
    shear_centre_x: float
    shear_centre_y: float
    mass_per_length: float
    area: float
    fibre_before: tuple[float, float, float] = (0.0, 0.0, 0.0)
    fibre_after: tuple[float, float, float] = (0.0, 0.0, 0.0)
    contraction: tuple[float, float, float] = (0.0, 0.0, 0.0)
    mass_moments: tuple[float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class StressBasis:
    """Stress of unit actions at mesh nodes (a node on an interface appears once per material).

    points (n, 2) [m]; region (n,) index into the section's regions; fields (7, n, 3):
    sigma_zz, tau_zx, tau_zy [Pa] per unit of each of ACTIONS [N, N·m, N·m²];
    triangles (m, 3) indices into points, for drawing.
    """

    points: FloatArray
    region: NDArray[np.int64]
    fields: FloatArray
    triangles: NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SectionModel:
    """A solved section: its regions, properties and stress basis; elements in its mesh.

    ``end``: compliance (6, 6) that a base fixed all over adds to the beam's (``section.ends``); None
    where it was not asked for or cannot be had.
    """

    regions: tuple[Region, ...]
    properties: SectionProperties
    basis: StressBasis
    elements: int
    end: FloatArray | None = None
