"""Bolts and bolt groups, with the threads and strength classes that ship."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.errors import MastcheckError
from mastcheck.joint import Bar, BoltGroup
from mastcheck.joints.adapter import torsion_constant
from mastcheck.joints.bolts import shear_resistance, strip_areas, tension_resistance, torque_arm
from mastcheck.joints.plate import bolt_shear, bolt_tension
from mastcheck.units import Dimension
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.shapes import METAL

FloatArray = NDArray[np.float64]
_FOUR = ((-45, -20), (-45, 20), (45, -20), (45, 20))


def _group(given: Given, positions: tuple[tuple[float, float], ...] = _FOUR) -> BoltGroup:
    return BoltGroup(
        thread=given.shipped.threads[given.words("size", "M8")],
        property_class=given.shipped.classes[given.words("class", "A4-80")],
        positions=tuple((x * 1e-3, y * 1e-3) for x, y in positions),
        plate_thickness=0.010,
        plate=METAL,
    )


def _stress_area(given: Given) -> float:
    """A_s [m²]."""
    return given.shipped.threads[given.words("size")].stress_area


def _diameter(given: Given) -> float:
    """Pitch or root diameter [m]."""
    t = given.shipped.threads[given.words("size")]
    return {"pitch": t.pitch_diameter, "root": t.root_diameter}[given.words("of")]


def _class_stress(given: Given) -> float:
    """A strength of the class [Pa]."""
    c = given.shipped.classes[given.words("class")]
    found = {"ultimate": c.ultimate, "yield": c.yield_strength, "proof": c.proof}[given.words("of")]
    if found is None:
        raise MastcheckError(f"{c.name} states no such strength")
    return found


def _load(given: Given) -> float:
    """A strength of the class over the stress area [N]."""
    return _class_stress(given) * _stress_area(given)


def _torque(given: Given) -> float:
    """Tightening torque of a preload [N·m]."""
    thread = given.shipped.threads[given.words("size")]
    bearing = given.length("bearing")
    return given.of(Dimension.FORCE, "preload") * torque_arm(thread, given.number("friction"), bearing)


def _strip(given: Given) -> float:
    """Shear area of a thread per length engaged [m²/m]."""
    external, internal = strip_areas(given.shipped.threads[given.words("size")])
    return {"bolt": external, "nut": internal}[given.words("of")]


def _tension(given: Given) -> float:
    """Resistance of one bolt in tension [N], for the printed stress area where one is given."""
    group = _group(given)
    printed = given.of(Dimension.AREA, "area")
    return tension_resistance(group) / group.thread.stress_area * printed


def _shear(given: Given) -> float:
    """Resistance of one bolt in shear [N], likewise."""
    group = _group(given)
    printed = given.of(Dimension.AREA, "area")
    return shear_resistance(group) / group.thread.stress_area * printed


def _eccentric(given: Given) -> float:
    """Greatest or least force on four bolts at (±75, ±60) mm, 16 kN at 425 mm [N]."""
    group = _group(given, ((-75, -60), (-75, 60), (75, -60), (75, 60)))
    force: FloatArray = bolt_shear(group, np.array([0, 16e3, 0, 0, 0, 16e3 * 0.425]))
    size = np.hypot(force[:, 0], force[:, 1])
    return float({"greatest": size.max(), "least": size.min()}[given.words("of")])


def _base_plate(given: Given) -> float:
    """Pull on a bolt of four at ±45 mm under 1500 N·m [N]."""
    return float(bolt_tension(_group(given), np.array([0, 0, 0, 0, 1500.0, 0])).max())


def _bar_torsion(given: Given) -> float:
    """k₁ of a rectangular adapter by its sides' ratio: J over b a³."""
    a, ratio = 0.02, given.number("ratio")
    return torsion_constant(Bar(along=ratio * a, across=a, material=METAL)) / (ratio * a**4)


COMPUTATIONS: dict[str, Compute] = {
    "stress area": _stress_area,
    "thread diameter": _diameter,
    "bolt strength": _class_stress,
    "bolt load": _load,
    "tightening torque": _torque,
    "strip area": _strip,
    "tension resistance": _tension,
    "shear resistance": _shear,
    "bolts under an eccentric force": _eccentric,
    "base plate under a moment": _base_plate,
    "torsion factor of an adapter": _bar_torsion,
}
