"""What is said of joints that state everything, and of single bolts and bolts on a line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from mastcheck.joint import BoltedPlate, Fitted, Head, Joints, Tightening
from mastcheck.joints.assumptions import assumptions
from mastcheck.joints.bolts import bearing_resistance, cone_diameter, head_diameter
from mastcheck.joints.plate import bolt_tension
from tests.masts import ALUMINIUM
from tests.reference.test_bolts import FOUR, MM, group

STATED = {
    "head_diameter": 13 * MM, "hole": 8.6 * MM, "edge_distance": 20 * MM, "slip_friction": 0.2,
    "embedding": 6e-6, "engagement": 16 * MM, "engaged": ALUMINIUM, "insert_stiffness": 8e6,
    "insert_shear_stiffness": 8e6,
    "tightening": Tightening(torque=12.0, friction=(0.1, 0.16), scatter=0.1),
}  # fmt: skip
LINE = ((-45, 0), (0, 0), (45, 0))


def said(**joints) -> list[str]:
    return [
        line for line in assumptions(Joints(**joints)) if line.startswith(("base joint", "tip joint"))
    ]


def of_base(*positions, **changes) -> str:
    lines = said(base=BoltedPlate(bolts=group(*positions, **(STATED | changes))))
    return " | ".join(line for line in lines if line.startswith("base joint"))


def test_of_bolts_that_state_everything_nothing_is_assumed() -> None:
    words = of_base(*FOUR)
    assert "assumed" not in words
    assert "not stated" not in words
    assert "A4-80" in words  # whose strengths are from a standard
    assert "preload from" in words


@pytest.mark.parametrize(
    ("missing", "words"),
    [
        ("head_diameter", "head 13 mm (cap screw, ISO 4762) assumed, from memory"),
        ("hole", "hole 9 mm (ISO 273 medium) assumed, from memory"),
        ("slip_friction", "slip friction 0.15 assumed (common practice, no source)"),
        ("embedding", "faces settle by 8 µm assumed"),
        ("engagement", "thread engaged not stated; stripping is not judged"),
        ("edge_distance", "edge distance not stated; bearing is reported, not judged"),
        ("tightening", "separation and slip are not judged"),
    ],
)
def test_each_silence_is_told_by_itself(missing: str, words: str) -> None:
    assert words in of_base(*FOUR, **{missing: None})
    assert words not in of_base(*FOUR)


def test_what_is_taken_of_tightening_is_told() -> None:
    by_torque = of_base(*FOUR, tightening=Tightening(torque=12.0))
    by_preload = of_base(*FOUR, tightening=Tightening(preload=6000.0))
    assert "friction 0." in by_torque
    assert "torque ±" in by_torque
    assert "preload ±" in by_preload
    assert "countersunk, twice the bolt" in of_base(*FOUR, head=Head.COUNTERSUNK, head_diameter=None)


def test_slack_bolts_are_told_as_slack_and_nothing_else() -> None:
    words = of_base(*FOUR, tightening=Tightening(preload=0.0))
    assert "base joint: slack, as stated" in words
    assert "preload from" not in words
    assert "friction" not in words


def test_what_holds_bolts_on_a_line_is_told() -> None:
    cone = cone_diameter(group(*LINE, **STATED))
    assert f"held by the width of the clamped cone, {cone * 1e3:.3g} mm" in of_base(*LINE)
    assert "held by the width of the face, 120 x 30 mm" in of_base(*LINE, face=(120 * MM, 30 * MM))
    assert "on one line" not in of_base(*FOUR)
    # Three of which one is loose leave two, and two are on a line. Without the third they spread least.
    corner = group((-45, -20), (-45, 20), (45, 0), **STATED)
    whole, loose = (said(base=BoltedPlate(bolts=corner, loose_screw=on)) for on in (False, True))
    assert not any("on one line" in line for line in whole)
    assert any("on one line" in line for line in loose)
    assert any("bolt 3 taken as loose" in line for line in loose)


def test_a_socket_that_states_everything_is_told_by_its_contacts_alone() -> None:
    socket = Fitted(
        engagement=0.06, contact_stiffness=2e7, chord=0.1, contact_stiffness_fore_aft=3e7,
        clearance=0.0, clearance_fore_aft=0.0, axial_stiffness=1e8,
    )  # fmt: skip
    (line,) = (line for line in said(tip=socket) if line.startswith("tip joint"))
    assert "two contacts 60 mm apart" in line
    less = " | ".join(said(tip=replace(socket, contact_stiffness_fore_aft=None, clearance=None)))
    assert "as stiff fore and aft as sideways assumed" in less
    assert "clearance sideways not stated" in less


# Single bolts


def test_one_bolt_holds_moments_by_the_edge_of_what_it_clamps() -> None:
    wrench = np.array([0.0, 0.0, 100.0, 3.0, -4.0, 0.0])
    alone = group((0, 0), **STATED)
    D = cone_diameter(alone)
    assert bolt_tension(alone, wrench) == pytest.approx([100 + 7 / (D / 2)])
    # Where the far edge begins to lift: an eighth of a disc's diameter.
    assert bolt_tension(alone, wrench, opening=True) == pytest.approx([100 + 7 / (D / 8)])
    # A face of 40 by 20 mm: the moment about x is held across it, along y.
    faced = replace(alone, face=(40 * MM, 20 * MM))
    assert bolt_tension(faced, wrench) == pytest.approx([100 + 3 / 0.010 + 4 / 0.020])
    # Beside the stacking line the pull along z has an arm: 100 N at y = 30 mm is 3 N m about x.
    beside = replace(alone, positions=((0.0, 0.03),))
    (pull,) = bolt_tension(beside, np.array([0.0, 0.0, 100.0, 3.0, 0.0, 0.0]))
    assert pull == pytest.approx(100)


def test_a_bolt_alone_has_no_neighbour_to_share_its_bearing_with() -> None:
    alone, far, near = (
        group(*at, **STATED) for at in (((0, 0),), ((-90, 0), (90, 0)), ((-8, 0), (8, 0)))
    )
    assert bearing_resistance(alone) == bearing_resistance(far)
    assert bearing_resistance(near) < bearing_resistance(alone)


def test_a_head_is_as_wide_as_it_is_stated() -> None:
    assert head_diameter(group((0, 0), head_diameter=15 * MM)) == 15 * MM
    assert head_diameter(group((0, 0), head_diameter=15 * MM, head=Head.COUNTERSUNK)) == 15 * MM
    assert head_diameter(group((0, 0), head=Head.COUNTERSUNK)) == pytest.approx(16 * MM)
