"""The joints of the mast file as pydantic types. Rules that join several keys are in ``joint_rules``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from mastcheck.files.bolt_data import property_classes, threads
from mastcheck.files.fields import (
    WITH_UNIT,
    number,
    one_of,
    quantity,
    read_number,
    read_quantity,
    refuse,
    text,
    words,
)
from mastcheck.files.tables import Table
from mastcheck.units import Dimension

Annotation = tuple[BeforeValidator, WithJsonSchema]

_QUANTITY = {"type": "string", "pattern": WITH_UNIT}
_NAME = text(80)
_LENGTH = quantity(Dimension.LENGTH, "0.1 mm", "2 m")
_SIZE = quantity(Dimension.LENGTH, "1 mm", "500 mm")
_GAP = quantity(Dimension.LENGTH, "0 mm", "10 mm")
_STIFFNESS = quantity(Dimension.STIFFNESS, "1 N/mm", "10000 kN/mm")
_TURNING = quantity(Dimension.ROTATIONAL_STIFFNESS, "0.1 N m/deg", "10000 kN m/deg")
_PLACE = ("-1 m", "1 m")

TERMS = (
    "fore_aft_stiffness", "side_stiffness", "axial_stiffness",
    "roll_stiffness", "pitch_stiffness", "twist_stiffness",
)  # fmt: skip
"""Diagonal terms of a given joint, in the order Fx Fy Fz Mx My Mz."""


def pair(dimension: Dimension, low: str, high: str) -> Annotation:
    """Annotation of two quantities."""

    def read(value: object) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            raise refuse(
                "must be a list of two: along x (aft), across y (to port)", 'write ["80 mm", "20 mm"]'
            )
        first, second = (read_quantity(v, dimension, low, high) for v in value)
        return first, second

    both = {"type": "array", "items": _QUANTITY, "minItems": 2, "maxItems": 2}
    described = f"Two quantities ({dimension}), along x and y, from {low} to {high}."
    return BeforeValidator(read), WithJsonSchema({"description": described, **both})


def places() -> Annotation:
    """Annotation of places ((x, y), ...) [m] from the stacking line."""

    def read(value: object) -> tuple[tuple[float, float], ...]:
        example = 'write [["-45 mm", "-20 mm"], ["45 mm", "-20 mm"]]: x aft, y to port'
        if not isinstance(value, list) or not 1 <= len(value) <= 100:
            raise refuse("must be a list of 1 to 100 places", example)
        out = []
        for i, entry in enumerate(value):
            if not isinstance(entry, list) or len(entry) != 2:
                raise refuse(f"entry {i + 1} must be two lengths", example)
            x, y = (read_quantity(v, Dimension.LENGTH, *_PLACE) for v in entry)
            out.append((x, y))
        return tuple(out)

    one = {"type": "array", "items": _QUANTITY, "minItems": 2, "maxItems": 2}
    described = "Places of the bolts from the stacking line: [[x aft, y to port], ...]."
    return BeforeValidator(read), WithJsonSchema(
        {"type": "array", "items": one, "description": described}
    )


def lengths() -> Annotation:
    """Annotation of a list of lengths that may be negative [m]."""

    def read(value: object) -> tuple[float, ...]:
        if not isinstance(value, list) or not 1 <= len(value) <= 20:
            raise refuse("must be a list of 1 to 20 lengths", 'write ["-45 mm", "45 mm"]')
        return tuple(read_quantity(v, Dimension.LENGTH, *_PLACE) for v in value)

    return BeforeValidator(read), WithJsonSchema({"type": "array", "items": _QUANTITY})


def friction_range() -> Annotation:
    """Annotation of a friction, or its least and greatest."""

    def read(value: object) -> tuple[float, float]:
        ends = value if isinstance(value, list) else [value, value]
        if len(ends) != 2:
            raise refuse("must be one number, or the least and the greatest", "write [0.10, 0.16]")
        low, high = (read_number(v, 0.01, 1.0, above=False) for v in ends)
        if low > high:
            raise refuse("the least comes first", "change the two about")
        return low, high

    one = {"type": "number", "minimum": 0.01, "maximum": 1}
    both = [one, {"type": "array", "items": one, "minItems": 2, "maxItems": 2}]
    return BeforeValidator(read), WithJsonSchema({"anyOf": both})


def matrix() -> Annotation:
    """Annotation of a compliance (6, 6), SI."""

    def read(value: object) -> tuple[tuple[float, ...], ...]:
        remedy = "order Fx Fy Fz Mx My Mz; m and rad per N and N m"
        if not isinstance(value, list) or len(value) != 6:
            raise refuse("must be six rows of six numbers", remedy)
        rows = []
        for i, row in enumerate(value):
            if not isinstance(row, list) or len(row) != 6:
                raise refuse(f"row {i + 1} must be six numbers", remedy)
            rows.append(tuple(read_number(v, -1.0, 1.0, above=False) for v in row))
        return tuple(rows)

    row = {"type": "array", "items": {"type": "number"}, "minItems": 6, "maxItems": 6}
    described = "Compliance in SI units, rows and columns Fx Fy Fz Mx My Mz."
    return (
        BeforeValidator(read),
        WithJsonSchema(
            {"type": "array", "items": row, "minItems": 6, "maxItems": 6, "description": described}
        ),
    )


class BoltsTable(Table):
    """Equal bolts through a plate. Exactly one of ``positions``, and ``rows`` (x) with ``columns`` (y).

    At most one of ``preload`` and ``torque``.
    """

    size: Annotated[str, *one_of(*threads())]
    property_class: Annotated[str, *one_of(*property_classes())]
    positions: Annotated[tuple[tuple[float, float], ...], *places()] | None = None
    rows: Annotated[tuple[float, ...], *lengths()] | None = None
    columns: Annotated[tuple[float, ...], *lengths()] | None = None
    plate_thickness: Annotated[float, *quantity(Dimension.LENGTH, "0.5 mm", "200 mm")]
    plate_material: Annotated[str, *_NAME]
    preload: Annotated[float, *quantity(Dimension.FORCE, "0 N", "200 kN")] | None = None
    torque: Annotated[float, *quantity(Dimension.MOMENT, "0 N m", "500 N m")] | None = None
    friction: Annotated[tuple[float, float], *friction_range()] | None = None
    scatter: Annotated[float, *number(0.0, 0.9)] | None = None
    head: Annotated[Literal["cap", "countersunk"], words("cap", "countersunk")] = "cap"
    head_diameter: Annotated[float, *_SIZE] | None = None
    hole: Annotated[float, *_SIZE] | None = None
    edge_distance: Annotated[float, *_SIZE] | None = None
    slip_friction: Annotated[float, *number(0.01, 1.0)] | None = None
    embedding: Annotated[float, *quantity(Dimension.LENGTH, "0 mm", "0.2 mm")] | None = None
    face: Annotated[tuple[float, float], *pair(Dimension.LENGTH, "1 mm", "1 m")] | None = None
    thread_engagement: Annotated[float, *_SIZE] | None = None
    thread_material: Annotated[str, *_NAME] | None = None
    insert_stiffness: Annotated[float, *_STIFFNESS] | None = None
    insert_shear_stiffness: Annotated[float, *_STIFFNESS] | None = None
    insert_pull_out: Annotated[float, *quantity(Dimension.FORCE, "1 N", "500 kN")] | None = None


class StiffnessTable(Table):
    """What a given joint or adapter states: stiffnesses (those left out are rigid), or a compliance."""

    fore_aft_stiffness: Annotated[float, *_STIFFNESS] | None = None
    side_stiffness: Annotated[float, *_STIFFNESS] | None = None
    axial_stiffness: Annotated[float, *_STIFFNESS] | None = None
    roll_stiffness: Annotated[float, *_TURNING] | None = None
    pitch_stiffness: Annotated[float, *_TURNING] | None = None
    twist_stiffness: Annotated[float, *_TURNING] | None = None
    compliance: Annotated[tuple[tuple[float, ...], ...], *matrix()] | None = None


class AdapterTable(StiffnessTable):
    """A piece between board and mast, beyond the mast's length; listed from the board to the mast.

    Of a section and a material, or of given stiffness. ``along`` x and ``across`` y.
    """

    length: Annotated[float, *_LENGTH]
    name: Annotated[str, *_NAME] | None = None
    section: Annotated[Literal["rectangular", "round"], words("rectangular", "round")] | None = None
    along: Annotated[float, *_SIZE] | None = None
    across: Annotated[float, *_SIZE] | None = None
    diameter: Annotated[float, *_SIZE] | None = None
    material: Annotated[str, *_NAME] | None = None
    bolts: BoltsTable | None = None


class FittedTable(StiffnessTable):
    """An end held in a box or socket; ``axial_stiffness`` is of a given joint and of these."""

    engagement: Annotated[float, *_LENGTH] | None = None
    contact_stiffness: Annotated[float, *_STIFFNESS] | None = None
    contact_stiffness_fore_aft: Annotated[float, *_STIFFNESS] | None = None
    chord: Annotated[float, *_LENGTH] | None = None
    clearance: Annotated[float, *_GAP] | None = None
    clearance_fore_aft: Annotated[float, *_GAP] | None = None
    bolts: BoltsTable | None = None


class BaseJointTable(FittedTable):
    """What holds the base: a bolted plate, a tapered head wedged in a box, or a given stiffness."""

    kind: Annotated[
        Literal["bolted-plate", "wedged-head", "given"], words("bolted-plate", "wedged-head", "given")
    ]


class TipJointTable(FittedTable):
    """What holds the foil: a socket, a bolted flange, one piece, or a given stiffness."""

    kind: Annotated[
        Literal["socket", "flange", "one-piece", "given"],
        words("socket", "flange", "one-piece", "given"),
    ]
    loose_screw: Annotated[bool, Field(strict=True)] = False
