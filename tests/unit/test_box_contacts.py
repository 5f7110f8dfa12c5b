"""Mixed metals of a base box and its screws, and of films that fail where water stands."""

from __future__ import annotations

from dataclasses import replace

import pytest

from mastcheck.checks.assembly import joint_contacts, not_stated, part_of
from mastcheck.checks.galvanic import Risk, _line, mixed_metals, pairs
from mastcheck.joint import Adapter, Bar, BoltGroup, Fitted, Given, Joints, OnePiece
from tests.unit.test_galvanic import (
    ALUMINIUM,
    CARBON,
    NYLON,
    STAINLESS,
    TITANIUM,
    bolts,
    lined,
    sections,
)


def box(screws: BoltGroup | None) -> Fitted:
    return Fitted(engagement=0.05, contact_stiffness=1e7, chord=0.1, screws=screws)


def touching(joints: Joints) -> set[tuple[str, ...]]:
    skin = part_of("mast skin", CARBON)
    return {tuple(sorted((a.name, b.name))) for a, b in joint_contacts(joints, [skin])}


def test_a_box_touches_its_screws_and_the_mast_in_it() -> None:
    found = touching(Joints(base=box(bolts(plate=STAINLESS, engaged=NYLON))))
    assert found == {
        ("base box", "base screws"),
        ("base box", "mast skin"),
        ("base screws", "thread of the base screws"),
        ("base box", "thread of the base screws"),
    }


def test_an_adapter_meets_the_mast_where_a_box_stands_between_neither() -> None:
    riser = Adapter(
        length=0.06, name="riser", body=Bar(along=0.1, across=0.05, material=ALUMINIUM)
    )  # fmt: skip
    found = touching(Joints(base=box(None), adapters=(riser,), tip=OnePiece()))
    assert found == {("mast skin", "riser")}


@pytest.mark.parametrize(
    ("joints", "silent"),
    [
        (Joints(base=box(None), tip=OnePiece()), ("base box",)),
        (
            Joints(base=box(bolts()), tip=OnePiece()),
            ("thread of the base box screws",),
        ),
        (Joints(base=box(bolts(engaged=NYLON)), tip=OnePiece()), ()),
        (Joints(tip=OnePiece()), ("base plate and screws",)),
        (
            Joints(
                adapters=(Adapter(length=0.06, body=Given(compliance=((0.0,) * 6,) * 6)),),
                tip=OnePiece(),
            ),
            ("adapter 1", "adapter 1 screws", "base joint"),
        ),
    ],
)
def test_what_has_no_stated_material_is_named(joints: Joints, silent: tuple[str, ...]) -> None:
    assert not_stated(joints) == silent


def test_a_film_that_fails_in_a_crevice_is_told_with_both_voltages() -> None:
    """Stainless steel beside carbon: passive in the open, active where water stands."""
    job = replace(
        lined(lining=None),
        joints=Joints(base=box(bolts(plate=STAINLESS, engaged=NYLON)), tip=OnePiece()),
    )
    (found,) = [p for p in pairs(job, sections(job)) if p.risk is Risk.CREVICE]
    assert found.crevice_volts is not None
    # Active it lies lower, and is driven by more.
    assert found.crevice_volts[0] > found.volts[0]
    said = _line([found])
    assert f"risk {Risk.CREVICE}" in said
    assert "in the open stainless steel bears it (" in said
    assert "where water stands its film fails (" in said
    assert said in mixed_metals(job, sections(job))


def test_a_metal_as_noble_as_carbon_is_driven_by_nothing_that_matters() -> None:
    job = replace(
        lined(lining=None),
        joints=Joints(base=box(bolts(plate=TITANIUM, engaged=NYLON)), tip=OnePiece()),
    )
    (found,) = [
        p for p in pairs(job, sections(job)) if {q.name for q in p.parts} == {"base box", "mast skin"}
    ]
    assert found.risk is Risk.LOW
    assert "where water stands" not in _line([found])
