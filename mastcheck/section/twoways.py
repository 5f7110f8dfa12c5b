"""One section by the fast kernel and by the open library, on the library's own triangles.

The kernel weights extension and bending by E and torsion and shear by G in one pass; the library has
one weight a run. So the kernel's own answer is compared, as it is used, with an E-weighted run of the
library for extension and bending and with a G-weighted run for torsion; and each weight's run with the
kernel under that same weight (ν = 0) for all of it, shear among it. Where E and G of all materials keep
one proportion the runs are one, and the kernel's own answer is compared in everything.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mastcheck.section.elements import FloatArray, Mesh
from mastcheck.section.kernel import solve_mesh, stress_basis
from mastcheck.section.library import LibrarySection, library_section
from mastcheck.section.model import Region

_PROPERTIES = (
    "area", "EA", "EIxx", "EIyy", "EIxy", "GJ", "EGamma", "shear_flex_xx", "shear_flex_yy",
    "shear_flex_xy", "centroid_x", "centroid_y", "shear_centre_x", "shear_centre_y",
)  # fmt: skip
_ACTIONS = ("N", "Vx", "Vy", "Mx", "My", "T")
_BY_E = ("area", "EA", "EIxx", "EIyy", "EIxy", "centroid_x", "centroid_y", "N", "Mx", "My")
_BY_G = ("GJ", "T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A quantity solved two ways: what weighted the library's run, and the relative difference.

    Of a property that may be nil, over what it is compared with (the section's width, the root of the
    product of the two that it couples); of a stress field, the greatest over the field's greatest.
    """

    name: str
    weight: str
    value: float


def differences(regions: tuple[Region, ...], elements: int | None = None) -> tuple[Difference, ...]:
    """Every property, and the stress of every unit action, by the kernel and by the library.

    Args:
        regions: regions that have passed ``check_regions``.
        elements: triangles to aim for; None takes what the construction needs.
    """
    E, G = (np.array([getattr(r.material, name) for r in regions]) for name in ("E", "G"))
    by_E = library_section(regions, "E", elements)
    if np.allclose(E / E.max(), G / G.max(), rtol=1e-12, atol=0.0):
        return _compared(by_E, _own(by_E.mesh), "E", _PROPERTIES + _ACTIONS)
    by_G = library_section(regions, "G", elements)
    both = _own(replace(by_E.mesh, G=by_G.mesh.G))
    return (
        *_compared(by_E, both, "E", _BY_E),
        *_compared(by_G, both, "G", _BY_G),
        *_compared(by_E, _own(by_E.mesh), "E, nu = 0", _PROPERTIES + _ACTIONS),
        *_compared(by_G, _own(by_G.mesh), "G, nu = 0", _PROPERTIES + _ACTIONS),
    )


def _own(mesh: Mesh) -> tuple[dict[str, float], FloatArray]:
    """Properties and unit fields (6, n, 3) by the kernel, as those of a ``LibrarySection``."""
    s = solve_mesh(mesh)
    (cx, cy), (xs, ys) = s.centroid, s.shear_centre
    values = (
        s.gauss.w.sum(), s.S[0, 0], s.S[1, 1], s.S[2, 2], -s.S[1, 2], s.GJ, s.EGamma,
        s.flex[0, 0], s.flex[1, 1], s.flex[0, 1], cx, cy, xs, ys,
    )  # fmt: skip
    N, Vx, Vy, Mx, My, T, _ = stress_basis(s).fields
    # From the stacking line to the centroid, and to the shear centre.
    fields = np.stack([N + cy * Mx - cx * My, Vx - ys * T, Vy + xs * T, Mx, My, T])
    return {name: float(v) for name, v in zip(_PROPERTIES, values, strict=True)}, fields


def _compared(
    library: LibrarySection,
    own: tuple[dict[str, float], FloatArray],
    weight: str,
    names: tuple[str, ...],
) -> tuple[Difference, ...]:
    properties, fields = own
    found = []
    for name in names:
        if name in _ACTIONS:
            a, b = library.fields[_ACTIONS.index(name)], fields[_ACTIONS.index(name)]
            value = float(np.abs(b - a).max() / np.abs(a).max())
        else:
            value = abs(properties[name] - library.properties[name]) / _scale(name, library.properties)
        found.append(Difference(name=name, weight=weight, value=value))
    return tuple(found)


def _scale(name: str, p: dict[str, float]) -> float:
    """What a property's difference is compared with; lengths are in widths of the section."""
    match name:
        case "EIxy":
            return float(np.sqrt(p["EIxx"] * p["EIyy"]))
        case "shear_flex_xy":
            return float(np.sqrt(p["shear_flex_xx"] * p["shear_flex_yy"]))
        case "centroid_x" | "centroid_y" | "shear_centre_x" | "shear_centre_y":
            return 1.0
        case _:
            return abs(p[name])
