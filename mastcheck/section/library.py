"""The open section library as a second way to a solved section. The only importer of sectionproperties.

The library meshes the regions and solves the warping function with E := G and nu := 0 in every
material, so that its "E-weighted J" is GJ.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from mastcheck.section.elements import FloatArray, Mesh
from mastcheck.section.mesher import MIN_ANGLE, greatest_area
from mastcheck.section.model import Region


def library_warping(
    regions: tuple[Region, ...], elements: int | None = None
) -> tuple[Mesh, FloatArray, FloatArray, float]:
    """Mesh, warping function (n,) [m²], the pole it is about (2,) [m], and GJ [N·m²].

    The library works in section widths and in shares of the greatest G, so that its numbers are near
    one, and similar sections get the same mesh.
    """
    from sectionproperties.analysis.section import Section
    from sectionproperties.pre.geometry import CompoundGeometry, Geometry

    polygons = [r.polygon for r in regions]
    left, low, right, high = shapely.total_bounds(polygons)
    size = max(right - left, high - low)
    origin = np.array([left, low])
    top = max(r.material.G for r in regions)
    materials = _library_materials(regions, top)
    scaled = [shapely.transform(p, lambda c: (c - origin) / size) for p in polygons]
    parts = [Geometry(p, m) for p, m in zip(scaled, materials, strict=True)]
    geometry = CompoundGeometry(parts) if len(parts) > 1 else parts[0]
    greatest = greatest_area(regions, elements) / size**2
    geometry.create_mesh(mesh_sizes=[greatest] * len(parts), min_angle=MIN_ANGLE)
    section = Section(geometry)
    try:
        section.calculate_geometric_properties()
        section.calculate_warping_properties(solver_type="direct")
    finally:
        _clear_library_cache()
    region = np.asarray(section.mesh["triangle_attributes"]).ravel().astype(np.int64)
    mesh = Mesh(
        nodes=np.asarray(section.mesh_nodes) * size + origin,
        triangles=np.asarray(section.mesh_elements, dtype=np.int64),
        region=region,
        E=np.array([r.material.E for r in regions])[region],
        G=np.array([r.material.G for r in regions])[region],
    )
    pole = np.array(section.get_c()) * size + origin
    omega = np.asarray(section.section_props.omega) * size**2
    return mesh, omega, pole, float(section.get_ej()) * top * size**4


def _library_materials(regions: tuple[Region, ...], top: float) -> list[Any]:
    """One library material for each distinct G, the same object reused, or elements are dropped."""
    from sectionproperties.pre.pre import Material

    made: dict[float, Any] = {}
    for region in regions:
        G = region.material.G
        if G not in made:
            made[G] = Material(f"G{len(made)}", G / top, 0.0, 1.0, 1.0, "w")
    return [made[r.material.G] for r in regions]


def _clear_library_cache() -> None:
    """Forget the library's cached shape functions, which grow by 30 MB a section without bound."""
    from sectionproperties.analysis import fea

    for name in ("__shape_function_cached", "shape_function_only"):
        getattr(fea, name).cache_clear()
