"""The open section library as a second way to a solved section. The only importer of sectionproperties.

The library weights everything by E, and takes shear stiffness from it and ν. With ν := 0 its shear
centre is Trefftz's, its shear flow does not depend on ν, and a second run with G in the place of E
gives torsion as it is. It works in section widths and in shares of the greatest modulus, so that its
numbers are near one, and similar sections get the same mesh.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import shapely

from mastcheck.section.elements import (
    GAUSS,
    GAUSS_WEIGHTS,
    FloatArray,
    IntArray,
    Mesh,
    shape_functions,
)
from mastcheck.section.kernel import Torsion
from mastcheck.section.mesher import MIN_ANGLE, greatest_area
from mastcheck.section.model import Region

if TYPE_CHECKING:
    from sectionproperties.analysis.section import Section

Weight = Literal["E", "G"]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LibrarySection:
    """A section as the library alone solves it, in section widths and shares of the greatest modulus.

    ``mesh``: its triangles; E is the weight's share, G half of it (ν = 0), and a region is what has
    one pair of moduli.
    ``properties``: as the fields of ``SectionProperties``, about the section's lower left corner; EGamma
    with what the library's rule of integration leaves out of it.
    ``fields`` (6, n, 3): sigma_zz, tau_zx, tau_zy under unit N, Vx, Vy, Mx, My and T about the
    centroid, Vx and Vy through the shear centre, at the nodes of each region of the mesh in turn, as
    ``StressBasis.points``.
    """

    mesh: Mesh
    properties: dict[str, float]
    fields: FloatArray


def library_warping(regions: tuple[Region, ...], elements: int | None = None) -> tuple[Mesh, Torsion]:
    """Mesh, and torsion as the library solves it.

    Args:
        regions: regions that have passed ``check_regions``.
        elements: triangles to aim for; None takes what the construction needs.
    """
    shares, top = _shares(regions, "G")
    section, _ = _solved(regions, shares, elements)
    left, low, right, high = shapely.total_bounds([r.polygon for r in regions])
    size, origin = max(right - left, high - low), np.array([left, low])
    region = np.asarray(section.mesh["triangle_attributes"]).ravel().astype(np.int64)
    mesh = Mesh(
        nodes=np.asarray(section.mesh_nodes) * size + origin,
        triangles=np.asarray(section.mesh_elements, dtype=np.int64),
        region=region,
        E=np.array([r.material.E for r in regions])[region],
        G=np.array([r.material.G for r in regions])[region],
    )
    return mesh, Torsion(
        omega=np.asarray(section.section_props.omega) * size**2,
        pole=np.array(section.get_c()) * size + origin,
        GJ=float(section.get_ej()) * top * size**4,
    )


def library_section(
    regions: tuple[Region, ...], weight: Weight = "E", elements: int | None = None
) -> LibrarySection:
    """All that the library gives of a section, weighted by E or by G.

    Args:
        regions: regions that have passed ``check_regions``.
        weight: the modulus to take.
        elements: triangles to aim for; None takes what the construction needs.
    """
    shares, _ = _shares(regions, weight)
    section, materials = _solved(regions, shares, elements)
    number = np.asarray(section.mesh["triangle_attributes"]).ravel().astype(np.int64)
    E = np.array(shares)[number]
    mesh = Mesh(
        nodes=np.asarray(section.mesh_nodes),
        triangles=np.asarray(section.mesh_elements, dtype=np.int64),
        region=_kinds(regions)[number],
        E=E,
        G=E / 2,
    )
    return LibrarySection(
        mesh=mesh, properties=_properties(section, mesh), fields=_unit_fields(section, mesh, materials)
    )


def _kinds(regions: tuple[Region, ...]) -> IntArray:
    """Number of each region's pair of moduli, in the order they first come."""
    pairs = [(r.material.E, r.material.G) for r in regions]
    return np.array([list(dict.fromkeys(pairs)).index(pair) for pair in pairs], dtype=np.int64)


def _solved(
    regions: tuple[Region, ...], shares: list[float], elements: int | None
) -> tuple[Section, list[Any]]:
    """The library's section, and its material for each of ``_kinds``."""
    from sectionproperties.analysis.section import Section
    from sectionproperties.pre.geometry import CompoundGeometry, Geometry
    from sectionproperties.pre.pre import Material

    polygons = [r.polygon for r in regions]
    left, low, right, high = shapely.total_bounds(polygons)
    size, origin = max(right - left, high - low), np.array([left, low])
    # One object for each kind, used again: of equal but distinct ones the library drops elements.
    kinds = _kinds(regions)
    materials = [
        Material(f"kind {i}", shares[list(kinds).index(i)], 0.0, 1.0, 1.0, "w")
        for i in range(int(kinds.max()) + 1)
    ]
    scaled = [shapely.transform(p, lambda c: (c - origin) / size) for p in polygons]
    parts = [Geometry(p, materials[kind]) for p, kind in zip(scaled, kinds, strict=True)]
    geometry = CompoundGeometry(parts) if len(parts) > 1 else parts[0]
    greatest = greatest_area(regions, elements) / size**2
    geometry.create_mesh(mesh_sizes=[greatest] * len(parts), min_angle=MIN_ANGLE)
    section = Section(geometry)
    try:
        section.calculate_geometric_properties()
        section.calculate_warping_properties(solver_type="direct")
    finally:
        _clear_library_cache()
    return section, materials


def _shares(regions: tuple[Region, ...], weight: Weight) -> tuple[list[float], float]:
    """Each region's modulus over the greatest, and that one [Pa]."""
    moduli = [r.material.E if weight == "E" else r.material.G for r in regions]
    top = max(moduli)
    return [modulus / top for modulus in moduli], top


def _properties(section: Section, mesh: Mesh) -> dict[str, float]:
    ixx, iyy, ixy = section.get_eic()
    (cx, cy), (sx, sy) = section.get_c(), section.get_sc_t()
    props = section.section_props
    # With ν = 0 a shear stiffness G A is half of the library's E-weighted shear area.
    flex = {
        f"shear_flex_{at}": 2 / float(getattr(props, f"a_s{at[-1]}" if at != "xy" else "a_sxy"))
        for at in ("xx", "yy", "xy")
    }
    return {
        "area": float(section.get_area()),
        "EA": float(section.get_ea()),
        "EIxx": float(ixx),
        "EIyy": float(iyy),
        "EIxy": float(ixy),
        "GJ": float(section.get_ej()) / 2,
        "EGamma": float(section.get_egamma()) + _left_out(section, mesh),
        **flex,
        "centroid_x": float(cx),
        "centroid_y": float(cy),
        "shear_centre_x": float(sx),
        "shear_centre_y": float(sy),
    }


def _left_out(section: Section, mesh: Mesh) -> float:
    """What the library's rule of four points leaves out of ∫ E ω², which is of the fourth degree.

    Measured: 1e-6 to 2e-5 of EΓ. About its elasticity centre, which at ν = 0 is Trefftz's to 1e-10,
    nothing else parts it from ours.
    """
    from sectionproperties.analysis.fea import gauss_points

    rule = np.array(gauss_points(n=4))
    omega = np.asarray(section.section_props.omega)
    corners = mesh.nodes[mesh.triangles[:, :3]]
    (ax, ay), (bx, by) = (corners[:, i].T - corners[:, 0].T for i in (1, 2))
    weight = mesh.E * (ax * by - ay * bx) / 2

    def integral(points: FloatArray, shares: FloatArray) -> float:
        values = omega[mesh.triangles] @ shape_functions(points)[0].T
        return float(weight @ (values**2 @ shares))

    return integral(GAUSS, GAUSS_WEIGHTS) - integral(rule[:, 1:], rule[:, 0] / rule[:, 0].sum())


_NAMES = (
    ("sig_zz_n",), ("sig_zx_vx", "sig_zy_vx"), ("sig_zx_vy", "sig_zy_vy"), ("sig_zz_mxx",),
    ("sig_zz_myy",), ("sig_zx_mzz", "sig_zy_mzz"),
)  # fmt: skip


def _unit_fields(section: Section, mesh: Mesh, materials: list[Any]) -> FloatArray:
    """(6, n, 3) unit stresses at the nodes of each region in turn."""
    try:
        post = section.calculate_stress(n=1, vx=1, vy=1, mxx=1, myy=1, mzz=1)
    finally:
        _clear_library_cache()
    blocks = []
    for number, material in enumerate(materials):
        found = next(g.stress_result for g in post.material_groups if g.material.name == material.name)
        nodes = np.unique(mesh.triangles[mesh.region == number])
        block = np.zeros((len(_NAMES), len(nodes), 3))
        for action, names in enumerate(_NAMES):
            for name in names:
                part = 0 if name.startswith("sig_zz") else 1 if name.startswith("sig_zx") else 2
                block[action, :, part] = getattr(found, name)[nodes]
        blocks.append(block)
    return np.concatenate(blocks, axis=1)


def _clear_library_cache() -> None:
    """Forget the library's cached shape functions, which grow by 30 MB a section without bound."""
    from sectionproperties.analysis import fea

    for name in ("__shape_function_cached", "shape_function_only"):
        getattr(fea, name).cache_clear()
