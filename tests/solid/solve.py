"""What a solid blade answers: tip compliance, frequencies, buckling load, stress at mid-span."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mastcheck.material import Material
from tests.solid import calculix
from tests.solid.loads import unit_loads
from tests.solid.mesh import Solid

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

UNIT = (100.0, 100.0, 1000.0, 10.0, 10.0, 10.0)
"""Loads of the steps [N, N·m], so that printed digits are of use; results are per unit."""


ALL = tuple(range(6))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FreeTip:
    """A blade with a free tip under unit tip loads; those that were not asked for are NaN.

    compliance (6, 6); points (p, 3) [m] at half length; stress (p, 3, 6) there, sigma_zz, tau_zx,
    tau_zy [Pa] per unit load.
    """

    compliance: FloatArray
    points: FloatArray
    stress: FloatArray


def free_tip(folder: Path, solid: Solid, material: Material, columns: Sequence[int] = ALL) -> FreeTip:
    """The blade with a tip that is free to warp: loads are tractions on its face.

    Movement is what each unit load does work on: the mean over the face, weighted as the traction.
    Stress is taken at the points of integration of the middle layer's own middle, so the layers must
    be odd in number.
    """
    layers = len(solid.levels) - 1
    per = len(solid.wedges) // layers
    if layers % 2 == 0:
        raise ValueError("an odd number of layers has one in the middle")
    first = layers // 2 * per
    nodes, unit = unit_loads(solid, solid.face)
    lines = calculix.model_lines(solid, material)
    lines += ["*ELSET, ELSET=MIDDLE", *(f"{e + 1}," for e in range(first, first + per))]
    for k in columns:
        lines += ["*STEP", "*STATIC", *calculix.nodal_loads(nodes, unit[..., k] * UNIT[k])]
        lines += ["*NODE PRINT, NSET=TIP", "U", "*EL PRINT, ELSET=MIDDLE", "S, COORD", "*END STEP"]
    path = calculix.run(folder, "free", lines)
    compliance = np.full((6, 6), np.nan)
    for k, (found, u) in zip(columns, calculix.displacements(path, "TIP"), strict=True):
        assert (found == nodes).all()
        compliance[:, k] = np.einsum("nxi,nx->i", unit, u) / UNIT[k]
    place = calculix.tables(path, "global coordinates", "MIDDLE")[0][:, 2:5]
    middle = np.abs(place[:, 2] - solid.levels[-1] / 2) < 1e-3 * solid.levels[-1] / layers
    stress = np.full((int(middle.sum()), 3, 6), np.nan)
    for k, table in zip(columns, calculix.tables(path, "stresses", "MIDDLE"), strict=True):
        stress[..., k] = table[middle][:, [4, 6, 7]] / UNIT[k]
    return FreeTip(compliance=compliance, points=place[middle], stress=stress)


def rigid_tip(
    folder: Path, solid: Solid, material: Material, columns: Sequence[int] = ALL
) -> FloatArray:
    """Compliance (6, 6) with the tip face as one rigid body: it neither warps nor contracts."""
    at = np.array([0.0, 0.0, solid.levels[-1]])
    n = len(solid.nodes)
    lines = calculix.model_lines(solid, material, rigid_tip=at)
    for k in columns:
        node, dof = (n + 1, k + 1) if k < 3 else (n + 2, k - 2)
        lines += ["*STEP", "*STATIC", "*CLOAD, OP=NEW", f"{node}, {dof}, {UNIT[k]:.12e}"]
        lines += ["*NODE PRINT, NSET=REF", "U", "*NODE PRINT, NSET=TURN", "U", "*END STEP"]
    path = calculix.run(folder, "rigid", lines)
    moved, turned = (calculix.displacements(path, name) for name in ("REF", "TURN"))
    out = np.full((6, 6), np.nan)
    for k, (_, u), (_, turn) in zip(columns, moved, turned, strict=True):
        out[:, k] = np.concatenate([u[0], turn[0]]) / UNIT[k]
    return out


def frequencies(folder: Path, solid: Solid, material: Material, modes: int = 4) -> FloatArray:
    """Lowest natural frequencies [Hz], tip free."""
    lines = [*calculix.model_lines(solid, material), "*STEP", "*FREQUENCY", f"{modes}", "*END STEP"]
    return calculix.frequencies(calculix.run(folder, "frequency", lines))


def buckling_load(folder: Path, solid: Solid, material: Material) -> float:
    """Least axial force [N] at the tip's stacking line, of fixed direction, that buckles the blade."""
    nodes, unit = unit_loads(solid, solid.face)
    lines = [*calculix.model_lines(solid, material), "*STEP", "*BUCKLE", "1"]
    lines += [*calculix.nodal_loads(nodes, -1000.0 * unit[..., 2]), "*END STEP"]
    return 1000.0 * float(calculix.buckling_factors(calculix.run(folder, "buckle", lines))[0])


def large_deflection(folder: Path, solid: Solid, material: Material, push: float, off: float) -> float:
    """Side movement [m] of the tip under a force along the mast that keeps its direction.

    The force [N] pushes toward the base at a point ``off`` [m] to port of the stacking line: axial
    traction on the tip's face, which goes with the face. Geometrically nonlinear, in increments.
    """
    nodes, unit = unit_loads(solid, solid.face)
    force = -push * (unit[..., 2] + off * unit[..., 3])
    lines = [*calculix.model_lines(solid, material), "*STEP, NLGEOM", "*STATIC", "0.25, 1."]
    lines += calculix.nodal_loads(nodes, force)
    lines += ["*NODE PRINT, NSET=TIP, FREQUENCY=99", "U", "*END STEP"]
    found, u = calculix.displacements(calculix.run(folder, "large", lines), "TIP")[-1]
    assert (found == nodes).all()
    return float(np.einsum("nx,nx->", unit[..., 1], u))
