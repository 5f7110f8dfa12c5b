"""What is taken of joints where nothing was stated, in words that every result prints."""

from __future__ import annotations

from collections.abc import Iterator

from mastcheck.joint import (
    Adapter,
    Bar,
    BaseJoint,
    BoltedPlate,
    BoltGroup,
    Fitted,
    Given,
    Head,
    Joints,
    OnePiece,
    TipJoint,
)
from mastcheck.joints.bolts import (
    EMBEDDING,
    FRICTION,
    PRELOAD_SCATTER,
    SLIP_FRICTION,
    TORQUE_SCATTER,
    cone_diameter,
    head_diameter,
    hole,
    preload,
    slack,
)
from mastcheck.joints.chain import BASE, TIP
from mastcheck.joints.fitted import screws_that_hold
from mastcheck.joints.plate import line_of, loose_one, remaining

_SOFTER = "taken as rigid: a real one is softer"
_PRACTICE = "(common practice, no source)"


def assumptions(joints: Joints) -> tuple[str, ...]:
    """Every assumption about the joints, board to foil; none where no joint is described."""
    return tuple(_assumptions(joints)) if joints.stated else ()


def _assumptions(joints: Joints) -> Iterator[str]:
    for i, adapter in enumerate(joints.adapters):
        yield from _adapter(adapter.name or f"adapter {i + 1}", adapter)
    if joints.base is None:
        yield f"{BASE}: none stated, {_SOFTER}"
    if joints.tip is None:
        yield f"{TIP}: none stated, {_SOFTER}"
    elif isinstance(joints.tip, OnePiece):
        yield f"{TIP}: mast and foil made as one piece, taken as rigid there"
    for name, joint in ((BASE, joints.base), (TIP, joints.tip)):
        yield from _joint(name, joint)
    if _has_bolts(joints):
        yield (
            "bolts: plates taken as rigid, which makes the joint stiffer than it is; prying, bending and"
            " fatigue of bolts, heads pulling through the plate, and what a preload loses with time"
            " (creep of boxes, salt) are left out: retighten"
        )


def _has_bolts(joints: Joints) -> bool:
    ends = (joints.base, joints.tip)
    return any(a.bolts is not None for a in joints.adapters) or any(
        isinstance(j, BoltedPlate) or (isinstance(j, Fitted) and j.screws is not None) for j in ends
    )


def _adapter(name: str, adapter: Adapter) -> Iterator[str]:
    if isinstance(adapter.body, Bar):
        yield (
            f"{name}: a straight member on the stacking line, bending and shearing (Timoshenko), free to"
            " warp; thrust on it is not followed to second order; its own strength and weight are left"
            " out"
        )
    else:
        yield from _given(name, adapter.body)
    if adapter.bolts is None:
        yield f"{name}: its own bolts not stated, {_SOFTER}"
    else:
        yield from _bolts(f"{name} bolts", adapter.bolts, adapter.bolts, loose=False)


def _joint(name: str, joint: BaseJoint | TipJoint | None) -> Iterator[str]:
    if isinstance(joint, BoltedPlate):
        yield from _bolts(name, joint.bolts, remaining(joint), loose=joint.loose_screw)
    elif isinstance(joint, Given):
        yield from _given(name, joint)
    elif isinstance(joint, Fitted):
        yield from _fitted(name, joint)


def _given(name: str, joint: Given) -> Iterator[str]:
    if joint.rigid:
        yield f"{name}: {', '.join(joint.rigid)} not stated, {_SOFTER}"


def _fitted(name: str, joint: Fitted) -> Iterator[str]:
    yield (
        f"{name}: two contacts {joint.engagement * 1e3:g} mm apart, each springing at nose and tail;"
        " their pressure is not judged"
    )
    if joint.contact_stiffness_fore_aft is None:
        yield f"{name}: contact as stiff fore and aft as sideways assumed"
    missing = [
        words
        for words, value in (
            ("sideways", joint.clearance), ("fore and aft", joint.clearance_fore_aft)
        )
        if value is None
    ]  # fmt: skip
    if missing:
        where = " and ".join(missing)
        yield f"{name}: clearance {where} not stated, no play counted: a real one has some"
    held = screws_that_hold(joint)
    if joint.axial_stiffness is None and held is None:
        yield f"{name}: along z not stated, {_SOFTER}"
    if joint.screws is not None:
        yield from _bolts(f"{name} screws", joint.screws, held, loose=joint.loose_screw, shared=True)
        yield f"{name} screws: the contacts are taken to hold all that goes across them"
        if held is not None and line_of(held) is not None:
            yield (
                f"{name} screws: one, or all on one line: the contacts are taken to hold every moment "
                "about it; where a floor bears on the mast's end, the screws are pulled more than stated"
            )


def _bolts(
    name: str, group: BoltGroup, held: BoltGroup | None, *, loose: bool, shared: bool = False
) -> Iterator[str]:
    """``shared``: contacts beside the bolts hold all but the pull along z."""
    if loose:
        yield f"{name}: bolt {loose_one(group) + 1} taken as loose, as asked: the one that costs most"
    if group.insert_stiffness is None:
        yield f"{name}: what the bolts go into, along z, not stated, {_SOFTER}"
    if group.insert_shear_stiffness is None and not shared:
        yield f"{name}: what the bolts go into, across them, not stated, {_SOFTER}"
    yield from _sizes(name, group, shared=shared)
    yield from _tightening(name, group, shared=shared)
    if held is not None and line_of(held) is not None and not shared:
        edge = (
            f"the clamped cone, {cone_diameter(held) * 1e3:.3g} mm" if held.face is None
            else f"the face, {held.face[0] * 1e3:g} x {held.face[1] * 1e3:g} mm"
        )  # fmt: skip
        yield f"{name}: bolts on one line; a moment about it is held by the width of {edge}"


def _sizes(name: str, group: BoltGroup, *, shared: bool) -> Iterator[str]:
    assumed = []
    if group.head_diameter is None:
        kind = "countersunk, twice the bolt" if group.head is Head.COUNTERSUNK else "cap screw, ISO 4762"
        assumed.append(f"head {head_diameter(group) * 1e3:g} mm ({kind})")
    if group.hole is None:
        assumed.append(f"hole {hole(group) * 1e3:g} mm (ISO 273 medium)")
    if assumed:
        yield f"{name}: {', '.join(assumed)} assumed, from memory"
    yield f"{name}: {group.property_class.name}: {group.property_class.source}"
    if group.insert_pull_out is not None:
        yield f"{name}: pull-out of an insert as stated, with no partial factor on it"
    if group.engagement is None or group.engaged is None:
        yield f"{name}: thread engaged not stated; stripping is not judged"
    if group.edge_distance is None and not shared:
        yield f"{name}: edge distance not stated; bearing is reported, not judged"


def _tightening(name: str, group: BoltGroup, *, shared: bool) -> Iterator[str]:
    how = group.tightening
    force = preload(group)
    if how is None or force is None:
        yield (
            f"{name}: no preload or torque stated; nothing is taken to be clamped, separation and slip"
            " are not judged"
        )
        return
    if slack(group):
        yield f"{name}: slack, as stated"
        return
    assumed = []
    if how.friction is None:
        assumed.append(f"friction {FRICTION[0]:g} to {FRICTION[1]:g}")
    if how.scatter is None:
        scatter = PRELOAD_SCATTER if how.torque is None else TORQUE_SCATTER
        assumed.append(f"{'preload' if how.torque is None else 'torque'} ±{scatter * 100:g} %")
    if group.slip_friction is None and not shared:
        assumed.append(f"slip friction {SLIP_FRICTION:g}")
    if assumed:
        yield f"{name}: {', '.join(assumed)} assumed {_PRACTICE}"
    if group.embedding is None:
        yield f"{name}: faces settle by {EMBEDDING * 1e6:g} µm assumed (VDI 2230, from memory)"
    yield f"{name}: preload from {force.least:.0f} N (settled) to {force.greatest:.0f} N"
