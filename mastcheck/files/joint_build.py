"""The joints that a checked mast file describes, and what was assumed of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from mastcheck.errors import InputError, Problem
from mastcheck.files.bolt_data import property_classes, threads
from mastcheck.files.joint_rules import pattern
from mastcheck.files.joint_schema import (
    TERMS,
    AdapterTable,
    BaseJointTable,
    BoltsTable,
    FittedTable,
    StiffnessTable,
    TipJointTable,
)
from mastcheck.files.schema import MastFile
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
    Tightening,
    TipJoint,
)
from mastcheck.joints.chain import base_parts, tip_parts
from mastcheck.material import Material

_Materials = Mapping[str, Material]


def joints(
    model: MastFile, materials: _Materials, chords: tuple[float, float], file: str = ""
) -> Joints:
    """The joints of a checked file.

    Args:
        model: the checked file.
        materials: the shipped materials and the file's own.
        chords: of the mast at base and tip [m], for a head or socket that states none.
        file: its name as printed.

    Raises: InputError for bolts that would fold about their own line.
    """
    found = Joints(
        base=None if model.base_joint is None else _base(model.base_joint, materials, chords[0]),
        adapters=tuple(_adapter(a, materials) for a in model.adapter),
        tip=None if model.tip_joint is None else _tip(model.tip_joint, materials, chords[1]),
    )
    _must_stand(found, file)
    return found


def _must_stand(found: Joints, file: str) -> None:
    """Refuse what has no stiffness."""
    alone = (
        ("adapter", Joints(adapters=found.adapters)),
        ("base_joint", Joints(base=found.base)),
        ("tip_joint", Joints(tip=found.tip)),
    )
    problems = []
    for key, part in alone:
        try:
            base_parts(part)
            tip_parts(part)
        except InputError as error:
            first = error.problems[0]
            problems.append(
                Problem(
                    key=f"{key}.{first.key}", found="", rule=first.rule, remedy=first.remedy, file=file
                )
            )
    if problems:
        raise InputError(tuple(problems))


def _base(table: BaseJointTable, materials: _Materials, chord: float) -> BaseJoint:
    if table.kind == "given":
        return _given(table)
    if table.kind == "bolted-plate" and table.bolts is not None:
        return BoltedPlate(bolts=_bolts(table.bolts, materials))
    return _fitted(table, materials, chord)


def _tip(table: TipJointTable, materials: _Materials, chord: float) -> TipJoint:
    if table.kind == "given":
        return _given(table)
    if table.kind == "one-piece":
        return OnePiece()
    if table.kind == "flange" and table.bolts is not None:
        return BoltedPlate(bolts=_bolts(table.bolts, materials), loose_screw=table.loose_screw)
    return _fitted(table, materials, chord, loose=table.loose_screw)


def _fitted(table: FittedTable, materials: _Materials, chord: float, *, loose: bool = False) -> Fitted:
    if table.engagement is None or table.contact_stiffness is None:  # the rules have refused this before
        raise ValueError("the joint has no engagement or contact stiffness")
    return Fitted(
        engagement=table.engagement,
        contact_stiffness=table.contact_stiffness,
        chord=chord if table.chord is None else table.chord,
        contact_stiffness_fore_aft=table.contact_stiffness_fore_aft,
        clearance=table.clearance,
        clearance_fore_aft=table.clearance_fore_aft,
        axial_stiffness=table.axial_stiffness,
        screws=None if table.bolts is None else _bolts(table.bolts, materials),
        loose_screw=loose,
    )


def _given(table: StiffnessTable) -> Given:
    """A compliance as stated, or the inverse of six stiffnesses; none stated, none there."""
    if table.compliance is not None:
        return Given(compliance=table.compliance)
    terms = [getattr(table, key) for key in TERMS]
    diagonal = np.diag([0.0 if k is None else 1 / k for k in terms])
    return Given(
        compliance=tuple(tuple(float(v) for v in row) for row in diagonal),
        rigid=tuple(
            key.removesuffix("_stiffness").replace("_", "-")
            for key, k in zip(TERMS, terms, strict=True)
            if k is None
        ),
    )


def _adapter(table: AdapterTable, materials: _Materials) -> Adapter:
    body: Bar | Given
    if table.section is None or table.material is None:
        body = _given(table)
    else:
        round_ = table.section == "round"
        along, across = (table.diameter, table.diameter) if round_ else (table.along, table.across)
        body = Bar(
            along=along or 0.0, across=across or 0.0, material=materials[table.material], round=round_
        )
    return Adapter(
        length=table.length,
        body=body,
        name=table.name or "",
        bolts=None if table.bolts is None else _bolts(table.bolts, materials),
    )


def _bolts(table: BoltsTable, materials: _Materials) -> BoltGroup:
    how = None
    if table.preload is not None or table.torque is not None:
        how = Tightening(
            preload=table.preload, torque=table.torque, friction=table.friction, scatter=table.scatter
        )
    return BoltGroup(
        thread=threads()[table.size],
        property_class=property_classes()[table.property_class],
        positions=pattern(dict(table)),
        plate_thickness=table.plate_thickness,
        plate=materials[table.plate_material],
        tightening=how,
        head=Head(table.head),
        head_diameter=table.head_diameter,
        hole=table.hole,
        edge_distance=table.edge_distance,
        slip_friction=table.slip_friction,
        embedding=table.embedding,
        face=table.face,
        engagement=table.thread_engagement,
        engaged=None if table.thread_material is None else materials[table.thread_material],
        insert_stiffness=table.insert_stiffness,
        insert_shear_stiffness=table.insert_shear_stiffness,
        insert_pull_out=table.insert_pull_out,
    )


def notes(model: MastFile, found: Joints) -> Iterator[str]:
    """What was assumed of the joints."""
    from mastcheck.joints.assumptions import assumptions

    for name, table, joint in (
        ("base joint", model.base_joint, found.base),
        ("tip joint", model.tip_joint, found.tip),
    ):
        if table is not None and isinstance(joint, Fitted) and table.chord is None:
            chord = joint.chord * 1e3
            yield f"{name}: contacts {chord:g} mm from nose to tail assumed, the mast's chord there"
    yield from assumptions(found)
