"""A published composite box beam whose walls couple stretch and twist.

Its outside is 0.953 x 0.530 in, its walls 0.030 in of six plies at 15 degrees. What the tool solves is
the section before coupling; what couples is named by ``twist_ratio``, and is held here as well.
"""

from __future__ import annotations

from functools import cache

from shapely import Polygon, box

from mastcheck.laminate import Lamina, Laminate, Membrane, membrane
from mastcheck.material import laminate_material
from mastcheck.section.model import Region, SectionProperties
from mastcheck.section.solve import solve_section
from mastcheck.source import Grade, Source
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.laminates import layup
from mastcheck.verify.units import UNITS

_INCH = 0.0254
_PSI = UNITS["lb"] / _INCH**2
WIDTH, HEIGHT, WALL = 0.953 * _INCH, 0.530 * _INCH, 0.030 * _INCH
PLY = Lamina(
    name="box", E1=20.59e6 * _PSI, E2=1.42e6 * _PSI, G12=0.87e6 * _PSI, nu12=0.30, density=1600.0,
    source=Source(title="the box beam's own constants", grade=Grade.STANDARD),
)  # fmt: skip


def _wall() -> Laminate:
    return layup(PLY, "[15]6", 0.005 * _INCH)


def _membrane() -> Membrane:
    return membrane(_wall())


@cache
def _solved() -> SectionProperties:
    x, y = WIDTH / 2, HEIGHT / 2
    ring = Polygon(box(-x, -y, x, y).exterior, [box(-x + WALL, -y + WALL, x - WALL, y - WALL).exterior])
    return solve_section(
        (Region(polygon=ring, material=laminate_material("15 degree wall", _wall())),)
    ).properties


def _extension(_: Given) -> float:
    """EA [N]."""
    return _solved().EA


def _torsion(_: Given) -> float:
    """GJ before coupling [N·m²]."""
    return _solved().GJ


def _free_torsion(_: Given) -> float:
    """GJ where the box may stretch as it twists [N·m²]."""
    return _solved().GJ / _membrane().twist_ratio


def _side(_: Given) -> float:
    """EI about the wide way, shear let go [N·m²]."""
    return _solved().EIxx / _membrane().twist_ratio


def _fore_aft(_: Given) -> float:
    """EI about the high way, shear let go [N·m²]."""
    return _solved().EIyy / _membrane().twist_ratio


def _coupling(_: Given) -> float:
    """Torque per stretch [N·m]: twice the area inside the mid-line times K16."""
    return _membrane().K16 * 2 * (WIDTH - WALL) * (HEIGHT - WALL)


def _twist_ratio(_: Given) -> float:
    """How much further the box twists free to stretch than held."""
    return _membrane().twist_ratio


COMPUTATIONS: dict[str, Compute] = {
    "box: extension": _extension,
    "box: torsion": _torsion,
    "box: torsion, free to stretch": _free_torsion,
    "box: bending, side": _side,
    "box: bending, fore-aft": _fore_aft,
    "box: coupling": _coupling,
    "box: twist free over held": _twist_ratio,
}
