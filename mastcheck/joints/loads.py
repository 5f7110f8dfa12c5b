"""What every bolt of a mast's joints carries in one case: for verdicts and for the drawing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.joint import BaseJoint, BoltedPlate, BoltGroup, Fitted, Joints, TipJoint
from mastcheck.joints.chain import BASE, TIP, adapter_places, lever
from mastcheck.joints.finding import JointCase
from mastcheck.joints.fitted import screw_tension, screws_that_hold
from mastcheck.joints.plate import bolt_shear, bolt_tension, loose_one, remaining

FloatArray = NDArray[np.float64]

_NOISE = 1e-6
"""A force across a bolt below this [N] is left by the iteration to second order."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BoltLoads:
    """Loads on the n bolts of one joint that hold, in one case [N].

    ``group``: these bolts. ``number`` (n,): of each in the order of the file, from 1. ``wrench`` (6,)
    and ``service_wrench`` (6,): on the joint, about the stacking line at its place, at loads times the
    strength factor and at service loads. ``tension`` (n,) and ``shear`` (n, 2): without preload, at
    loads times the strength factor; ``service_tension``, ``service_shear``: at service loads.
    ``opening`` (n,): the load whose reaching the preload lifts the face's edge, at service loads.
    """

    joint: str
    group: BoltGroup
    number: tuple[int, ...]
    wrench: FloatArray
    service_wrench: FloatArray
    tension: FloatArray
    shear: FloatArray
    service_tension: FloatArray
    service_shear: FloatArray
    opening: FloatArray


def bolt_loads(joints: Joints, case: JointCase) -> tuple[BoltLoads, ...]:
    """Loads on the bolts of every joint that has some, board to foil."""
    return tuple(_bolt_loads(joints, case))


def _bolt_loads(joints: Joints, case: JointCase) -> Iterator[BoltLoads]:
    for name, z, length, i in adapter_places(joints):
        group = joints.adapters[i].bolts
        if group is not None:
            carry = lever(length - z)
            strength, service = carry @ case.base_strength, carry @ case.base
            yield _plate(f"{name} bolts", group, _numbers(group, loose=False), strength, service)
    for name, joint, strength, service, towards in (
        (BASE, joints.base, case.base_strength, case.base, -1),
        (TIP, joints.tip, case.tip_strength, case.tip, 1),
    ):
        yield from _end(name, joint, strength, service, towards)


def _end(
    name: str,
    joint: BaseJoint | TipJoint | None,
    strength: FloatArray,
    service: FloatArray,
    towards: int,
) -> Iterator[BoltLoads]:
    """Bolts of a base or tip joint, if it has some."""
    if isinstance(joint, BoltedPlate):
        numbers = _numbers(joint.bolts, loose=joint.loose_screw)
        yield _plate(name, remaining(joint), numbers, strength, service)
    elif isinstance(joint, Fitted) and joint.screws is not None:
        group = screws_that_hold(joint)
        loaded = screw_tension(joint, strength, towards=towards)
        at_service = screw_tension(joint, service, towards=towards)
        if group is None or loaded is None or at_service is None:
            return
        none = np.zeros((len(loaded), 2))  # the contacts hold what goes across
        yield BoltLoads(
            joint=f"{name} screws", group=group,
            number=_numbers(joint.screws, loose=joint.loose_screw),
            wrench=strength, service_wrench=service, tension=loaded, shear=none,
            service_tension=at_service, service_shear=none, opening=at_service,
        )  # fmt: skip


def _plate(
    name: str, group: BoltGroup, number: tuple[int, ...], strength: FloatArray, service: FloatArray
) -> BoltLoads:
    return BoltLoads(
        joint=name,
        group=group,
        number=number,
        wrench=strength,
        service_wrench=service,
        tension=bolt_tension(group, strength),
        shear=_across(group, strength),
        service_tension=bolt_tension(group, service),
        service_shear=_across(group, service),
        opening=bolt_tension(group, service, opening=True),
    )


def _across(group: BoltGroup, wrench: FloatArray) -> FloatArray:
    """Force across each bolt (n, 2) [N], without what arithmetic alone leaves."""
    force = bolt_shear(group, wrench)
    return np.where(np.abs(force) < _NOISE, 0.0, force)


def _numbers(group: BoltGroup, *, loose: bool) -> tuple[int, ...]:
    gone = loose_one(group) if loose else None
    return tuple(i + 1 for i in range(len(group.positions)) if i != gone)
