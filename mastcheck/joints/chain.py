"""The chain of joints from the board to the foil: each part's own 6 × 6 at its own place, and sums.

A mast is statically determinate, so compliances add: each part's, carried to the point asked for by
the lever between them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import assert_never

import numpy as np
from numpy.typing import NDArray

from mastcheck.joint import BaseJoint, BoltedPlate, Fitted, Given, Joints, OnePiece, TipJoint
from mastcheck.joints.adapter import adapter_compliance
from mastcheck.joints.fitted import fitted_compliance
from mastcheck.joints.plate import plate_compliance, remaining

FloatArray = NDArray[np.float64]

BASE, TIP = "base joint", "tip joint"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class JointPart:
    """A part of the chain: compliance (6, 6) for loads at its own place, order Fx Fy Fz Mx My Mz.

    ``name``: "adapter 1 bolts", "adapter 1", "base joint", "tip joint". ``z`` [m] from the mast's base
    (0; adapters lie at negative z) for parts on the base side, from its tip (0) for the tip joint.
    """

    name: str
    z: float
    compliance: FloatArray


def base_parts(joints: Joints) -> tuple[JointPart, ...]:
    """The parts from the board to the mast's base, in that order."""
    return tuple(_base_parts(joints))


def _base_parts(joints: Joints) -> Iterator[JointPart]:
    for name, z, length, i in adapter_places(joints):
        adapter = joints.adapters[i]
        if adapter.bolts is not None:
            bolts = plate_compliance(adapter.bolts)
            yield JointPart(name=f"{name} bolts", z=z - length, compliance=bolts)
        yield JointPart(name=name, z=z, compliance=adapter_compliance(adapter))
    if joints.base is not None:
        yield JointPart(name=BASE, z=0.0, compliance=joint_compliance(joints.base, towards=-1))


def adapter_places(joints: Joints) -> Iterator[tuple[str, float, float, int]]:
    """Name, z of the mast end [m], length [m] and place in the list of each adapter."""
    for i, adapter in enumerate(joints.adapters):
        beyond = sum(a.length for a in joints.adapters[i + 1 :])
        yield adapter.name or f"adapter {i + 1}", -beyond, adapter.length, i


def tip_parts(joints: Joints) -> tuple[JointPart, ...]:
    """The tip joint, z = 0 at the mast's tip; none where mast and foil are rigidly joined."""
    if joints.tip is None or isinstance(joints.tip, OnePiece):
        return ()
    return (JointPart(name=TIP, z=0.0, compliance=tip_compliance_of(joints.tip)),)


def base_compliance(joints: Joints) -> FloatArray:
    """Compliance (6, 6) of everything on the base side for loads at the mast's base point.

    Zero where nothing is described (clamped).
    """
    out = np.zeros((6, 6))
    for part in base_parts(joints):
        out += carried(part.compliance, -part.z)
    return out


def tip_compliance_of(joint: TipJoint | None) -> FloatArray:
    """Compliance (6, 6) of the tip joint for loads at the mast's tip point; zero where rigid."""
    return np.zeros((6, 6)) if joint is None else joint_compliance(joint, towards=1)


def joint_compliance(joint: BaseJoint | TipJoint, *, towards: int) -> FloatArray:
    """Compliance (6, 6) of one joint for loads at the mast's end; ``towards``: -1 base, +1 tip."""
    match joint:
        case BoltedPlate():
            return plate_compliance(remaining(joint))
        case Fitted():
            return fitted_compliance(joint, towards=towards)
        case Given():
            return np.array(joint.compliance, dtype=float)
        case OnePiece():
            return np.zeros((6, 6))
        case _:
            assert_never(joint)


def lever(dz: float) -> FloatArray:
    """Wrench (6, 6) at a point from the same wrench dz [m] further from the board."""
    out = np.eye(6)
    out[3, 1], out[4, 0] = -dz, dz
    return out


def carried(compliance: FloatArray, dz: float) -> FloatArray:
    """A compliance (6, 6) for loads at a point dz [m] further from the board."""
    t = lever(dz)
    out: FloatArray = t.T @ compliance @ t
    return out
