"""Cross-sections: the tool's own finite elements, on the meshes that a check takes."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import shapely
from shapely import Polygon

from mastcheck.material import Material
from mastcheck.section.model import ACTIONS, Region, SectionModel
from mastcheck.section.solve import solve_section
from mastcheck.source import PRACTICE
from mastcheck.units import Dimension
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.shapes import METAL, shape


@lru_cache
def _solved(wkb: bytes) -> SectionModel:
    """The solved section of a shape; several rows ask for one."""
    return solve_section((Region(polygon=shapely.from_wkb(wkb), material=METAL),))


def solved(given: Given) -> SectionModel:
    """The solved section of the shape that the row names, of ``METAL``."""
    return _solved(shape(given).wkb)


def _area(given: Given) -> float:
    return solved(given).properties.area


def _side(given: Given) -> float:
    """Second moment of area about the chord's direction [m⁴]: EIxx over E."""
    return solved(given).properties.EIxx / METAL.E


def _fore_aft(given: Given) -> float:
    """Second moment of area about the thickness' direction [m⁴]: EIyy over E."""
    return solved(given).properties.EIyy / METAL.E


def _torsion(given: Given) -> float:
    """Torsion constant J [m⁴]."""
    return solved(given).properties.GJ / METAL.G


def _warping(given: Given) -> float:
    """Warping constant Γ about the shear centre [m⁶]."""
    return solved(given).properties.EGamma / METAL.E


def _torsion_stress(given: Given) -> float:
    """Greatest shear stress per torque [1/m³], of all points of the mesh."""
    tau = solved(given).basis.fields[ACTIONS.index("T"), :, 1:]
    return float(np.hypot(tau[:, 0], tau[:, 1]).max())


def _shear_centre(given: Given) -> float:
    """Place of the shear centre behind the drawing's origin [m]."""
    return solved(given).properties.shear_centre_x


def _shear_centre_ahead(given: Given) -> float:
    """Shear centre ahead of the centroid [m]."""
    p = solved(given).properties
    return p.centroid_x - p.shear_centre_x


def _rectangle_torsion(given: Given) -> float:
    """k₁ in J = k₁ b a³, a the short side."""
    a, b = sorted((given.length("width"), given.length("height")))
    return _torsion(given) / (b * a**3)


def _rectangle_stress(given: Given) -> float:
    """k₂ in τ = T/(k₂ b a²), a the short side."""
    a, b = sorted((given.length("width"), given.length("height")))
    return 1 / (_torsion_stress(given) * b * a**2)


def _over_chord(given: Given) -> float:
    """Area over c², I or J over c⁴, by ``of``."""
    what, power = {
        "area": (_area, 2), "side": (_side, 4), "fore-aft": (_fore_aft, 4), "torsion": (_torsion, 4),
    }[given.words("of")]  # fmt: skip
    return what(given) / given.length("chord") ** power


def _centroid(given: Given) -> float:
    """Centroid from the nose, over the chord."""
    p, c = solved(given).properties, given.length("chord")
    nose = float(shape(given).bounds[0])
    return (p.centroid_x - nose) / c


def _coaxial(given: Given) -> float:
    """GJ or EI [N·m²] of a round bar in a sleeve of another material, by ``of``."""
    core, skin = (
        Material(
            name=name,
            E=given.of(Dimension.STRESS, f"{name}_E"),
            G=given.of(Dimension.STRESS, f"{name}_G"),
            density=1000.0,
            source=PRACTICE,
        )
        for name in ("core", "skin")
    )
    angle = np.linspace(0, 2 * math.pi, 160, endpoint=False)
    round_ = np.column_stack([np.cos(angle), np.sin(angle)])
    a, b = given.length("inner"), given.length("outer")
    inner = round_ * a
    regions = (
        Region(polygon=Polygon(b * round_, [inner]), material=skin),
        Region(polygon=Polygon(inner), material=core),
    )
    p = solve_section(regions).properties
    return {"EI": p.EIxx, "GJ": p.GJ}[given.words("of")]


COMPUTATIONS: dict[str, Compute] = {
    "area": _area,
    "second moment, side": _side,
    "second moment, fore-aft": _fore_aft,
    "torsion constant": _torsion,
    "warping constant": _warping,
    "greatest torsion stress": _torsion_stress,
    "shear centre": _shear_centre,
    "shear centre ahead of the centroid": _shear_centre_ahead,
    "torsion factor of a rectangle": _rectangle_torsion,
    "stress factor of a rectangle": _rectangle_stress,
    "over the chord's power": _over_chord,
    "centroid over the chord": _centroid,
    "bar of two materials": _coaxial,
}
