"""From regions to a solved section."""

from __future__ import annotations

from typing import Literal

import numpy as np

from mastcheck.section.check import LEAST_SPACING as LEAST_SPACING
from mastcheck.section.check import check_regions
from mastcheck.section.elements import FloatArray
from mastcheck.section.ends import end_correction
from mastcheck.section.kernel import Solution, solve_mesh, stress_basis
from mastcheck.section.mesher import mesh_of
from mastcheck.section.mirror import mirrored
from mastcheck.section.model import Motion, Region, SectionModel, SectionProperties
from mastcheck.section.taper import contraction_moments, fibre_moments

Solver = Literal["fast", "library"]


def solve_section(
    regions: tuple[Region, ...],
    *,
    elements: int | None = None,
    before: Motion | None = None,
    after: Motion | None = None,
    end: bool = False,
    solver: Solver = "fast",
) -> SectionModel:
    """Stiffness and unit stress fields of a cross-section.

    Args:
        regions: touching polygons [m], each of one material, origin on the stacking line.
        elements: triangles to aim for; None takes what the construction needs for 0.1 % of GJ.
        before: the same regions a little nearer the base, for the couplings of a taper.
        after: the same a little nearer the tip; where only one is given it stands for both.
        end: whether to solve for what a fixed end here does to twist.
        solver: "fast", or "library" to mesh and to solve torsion by the open section library.

    Returns:
        Properties, stress basis and mesh size. Fields are resultants at the origin:
        Mx = ∫ y σ, My = -∫ x σ, T = ∫ (x τ_zy - y τ_zx), B = ∫ w_s σ, with w_s the warping
        function about the shear centre.

    Raises:
        GeometryError: regions that are invalid, overlap, leave a gap, are apart, or hold points so
            close that the mesher would crash.
    """
    check_regions(regions)
    if solver == "library":
        from mastcheck.section.library import library_warping

        solution = solve_mesh(*library_warping(regions, elements))
    else:
        solution = solve_mesh(mesh_of(regions, elements))
    return SectionModel(
        regions=regions,
        properties=_properties(solution, regions, before or after, after or before),
        basis=stress_basis(solution),
        elements=len(solution.mesh.triangles),
        end=end_correction(solution, symmetric=mirrored(regions)) if end else None,
    )


def _properties(
    s: Solution, regions: tuple[Region, ...], before: Motion | None, after: Motion | None
) -> SectionProperties:
    """A solution's numbers, its mass, and what taper does to torsion."""
    gauss, mesh = s.gauss, s.mesh
    density, nu = (
        np.array([getattr(r.material, name) for r in regions])[mesh.region] for name in ("density", "nu")
    )
    area = gauss.w.sum(axis=1)
    fibre = [
        fibre_moments(s, regions, motion) if motion is not None else (0.0, 0.0, 0.0)
        for motion in (before, after)
    ]
    return SectionProperties(
        EA=float(s.S[0, 0]),
        EIxx=float(s.S[1, 1]),
        EIyy=float(s.S[2, 2]),
        EIxy=float(-s.S[1, 2]),
        GJ=s.GJ,
        EGamma=s.EGamma,
        shear_flex_xx=float(s.flex[0, 0]),
        shear_flex_yy=float(s.flex[1, 1]),
        shear_flex_xy=float(s.flex[0, 1]),
        centroid_x=float(s.centroid[0]),
        centroid_y=float(s.centroid[1]),
        shear_centre_x=float(s.shear_centre[0]),
        shear_centre_y=float(s.shear_centre[1]),
        mass_per_length=float(density @ area),
        area=float(area.sum()),
        fibre_before=fibre[0],
        fibre_after=fibre[1],
        contraction=contraction_moments(s, nu),
        mass_moments=_mass_moments(gauss.w * density[:, None], gauss.x, gauss.y),
    )


def _mass_moments(
    heavy: FloatArray, x: FloatArray, y: FloatArray
) -> tuple[float, float, float, float, float]:
    hx, hy = heavy * x, heavy * y
    return (
        float(hx.sum()),
        float(hy.sum()),
        float(np.vdot(hy, y)),
        float(np.vdot(hx, x)),
        float(np.vdot(hx, y)),
    )
