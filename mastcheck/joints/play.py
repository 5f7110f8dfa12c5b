"""Play: how far a joint moves before anything pushes back, from stop to stop."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from mastcheck.joint import BaseJoint, BoltedPlate, BoltGroup, Fitted, Joints, TipJoint
from mastcheck.joints.bolts import hole, slack
from mastcheck.joints.chain import BASE, TIP, adapter_places
from mastcheck.joints.fitted import screws_that_hold
from mastcheck.joints.plate import clamped, loose_one, positions

HALF_SPAN = 0.4
"""Half the wing's span where no wing is stated [m]: that of the wingtip strike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """Free movement of one joint, stop to stop [m, rad], at its own place.

    side along y, fore_aft along x; roll, pitch, twist about x, y, z. Tilting in a gap goes with a
    shift by it; twist and shift share one gap, and are not to be had both. ``z`` [m] as in
    ``JointPart``, ``at_tip``: from the tip.
    ``free``: nothing holds it; otherwise preload does, until it gives way. ``why`` in words.
    """

    joint: str
    z: float
    at_tip: bool
    free: bool
    why: str
    side: float = 0.0
    fore_aft: float = 0.0
    roll: float = 0.0
    pitch: float = 0.0
    twist: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LostMotion:
    """Free movement from stop to stop [m, rad], all joints added.

    ``tip_side``, ``tip_fore_aft``: of the mast's tip; ``tip_roll``, ``tip_pitch``, ``tip_twist`` its
    turns; ``wing_up``: of the wing's tip along z, by the roll; ``wing_fore_aft``: along x, by the twist
    and with the mast's tip. ``half_span`` [m].
    """

    tip_side: float
    tip_fore_aft: float
    tip_roll: float
    tip_pitch: float
    tip_twist: float
    wing_up: float
    wing_fore_aft: float
    half_span: float


def plays(joints: Joints) -> tuple[Play, ...]:
    """The play of every joint that has some, board to foil."""
    return tuple(_plays(joints))


def _plays(joints: Joints) -> Iterator[Play]:
    for name, z, length, i in adapter_places(joints):
        group = joints.adapters[i].bolts
        if group is not None and slack(group):
            yield _slack(f"{name} bolts", z - length, group, at_tip=False)
    yield from _of_joint(BASE, joints.base, at_tip=False)
    yield from _of_joint(TIP, joints.tip, at_tip=True)


def _of_joint(name: str, joint: BaseJoint | TipJoint | None, *, at_tip: bool) -> Iterator[Play]:
    if isinstance(joint, BoltedPlate):
        if slack(joint.bolts):
            yield _slack(name, 0.0, joint.bolts, at_tip=at_tip)
        elif joint.loose_screw:
            yield _loose(name, joint.bolts, at_tip=at_tip)
    elif isinstance(joint, Fitted):
        yield from _clearance(name, joint, at_tip=at_tip)


def _slack(name: str, z: float, group: BoltGroup, *, at_tip: bool) -> Play:
    """All bolts slack: the plate shifts by the holes' clearance, or turns till the outermost stop it."""
    gap = hole(group) - group.thread.diameter
    arm = positions(group) - positions(group).mean(axis=0)
    reach = float(np.hypot(*arm.T).max())
    why = f"slack bolts in holes {gap * 1e3:.2g} mm wider than they are; no gap at the face counted"
    return Play(
        joint=name, z=z, at_tip=at_tip, free=True, why=why, side=gap, fore_aft=gap,
        twist=gap / reach if reach > gap else 0.0,
    )  # fmt: skip


def _loose(name: str, group: BoltGroup, *, at_tip: bool) -> Play:
    """One bolt loose: a turn about the others until its hole stops it."""
    gap, gone = hole(group) - group.thread.diameter, loose_one(group)
    at = positions(group)
    rest = np.delete(at, gone, axis=0)
    reach = float(np.hypot(*(at[gone] - rest.mean(axis=0)))) if len(rest) else 0.0
    # Others that are clamped, two or more, hold the turn by friction, one alone hardly.
    held = len(rest) > 1 and clamped(group)
    why = (
        f"bolt {gone + 1} loose in a hole {gap * 1e3:.2g} mm wider than it is, turning about the others"
    )
    return Play(
        joint=name, z=0.0, at_tip=at_tip, free=not held, why=why, twist=gap / reach if reach > 0 else 0.0
    )


def _clearance(name: str, joint: Fitted, *, at_tip: bool) -> Iterator[Play]:
    """A gap at both contacts: across it, and turned in it, opposite ways at the two."""
    gap = joint.clearance or 0.0
    along = joint.clearance_fore_aft or 0.0
    if joint.loose_screw and joint.screws is not None and joint.clearance is None:
        yield _loose(name, joint.screws, at_tip=at_tip)
    if gap == 0.0 and along == 0.0:
        return
    screws = screws_that_hold(joint)
    held = screws is not None and clamped(screws)
    if joint.loose_screw and screws is not None and len(screws.positions) < 2:
        held = False  # one screw alone is not trusted to hold a turn
    why = f"clearance {gap * 1e3:.2g} mm sideways and {along * 1e3:.2g} mm fore and aft"
    why += "; held while the screws' preload lasts" if held else ""
    yield Play(
        joint=name, z=0.0, at_tip=at_tip, free=not held, why=why, side=gap, fore_aft=along,
        roll=2 * gap / joint.engagement, pitch=2 * along / joint.engagement,
        twist=2 * gap / joint.chord,
    )  # fmt: skip


def lost_motion(
    found: Sequence[Play], length: float, *, half_span: float = HALF_SPAN, free_only: bool = True
) -> LostMotion:
    """Free movement at the mast's tip and the wing's tip, the plays of all joints added.

    Args:
        found: from ``plays``.
        length: of the mast [m].
        half_span: of the wing [m].
        free_only: leave out what preload holds.
    """
    side = fore_aft = roll = pitch = twist = 0.0
    for p in found:
        if free_only and not p.free:
            continue
        arm = 0.0 if p.at_tip else length - p.z
        # Tilted from stop to stop in a gap, the mast's end shifts by the gap as well.
        side += p.side + p.roll * arm
        fore_aft += p.fore_aft + p.pitch * arm
        roll, pitch, twist = roll + p.roll, pitch + p.pitch, twist + p.twist
    return LostMotion(
        tip_side=side, tip_fore_aft=fore_aft, tip_roll=roll, tip_pitch=pitch, tip_twist=twist,
        wing_up=roll * half_span, wing_fore_aft=twist * half_span + fore_aft, half_span=half_span,
    )  # fmt: skip
