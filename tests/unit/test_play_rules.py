"""Free play: whose it is, how far it goes, and whether anything holds it; each by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from mastcheck.joint import Adapter, Bar, BoltedPlate, Fitted, Joints, Tightening
from mastcheck.joints.adapter import bar_compliance
from mastcheck.joints.play import lost_motion, plays
from tests.masts import ALUMINIUM
from tests.reference.test_bolts import FOUR, group
from tests.unit.test_joints import GIVEN

SLACK, TIGHT = Tightening(preload=0.0), Tightening(torque=12.0)


def test_slack_bolts_of_an_adapter_play_at_its_board_end() -> None:
    """M8 in holes of 9 mm, the mast's end of the adapter 50 mm above the base and its own 60 mm more."""
    lower = Adapter(length=0.06, body=GIVEN, bolts=group(*FOUR, tightening=SLACK))
    upper = Adapter(length=0.05, body=GIVEN, name="shim", bolts=group(*FOUR, tightening=TIGHT))
    (play,) = plays(Joints(adapters=(lower, upper)))
    assert (play.joint, play.z, play.at_tip) == ("adapter 1 bolts", pytest.approx(-0.11), False)
    assert play.free
    assert (play.side, play.fore_aft) == pytest.approx((1e-3, 1e-3))
    assert play.twist == pytest.approx(1e-3 / (0.045**2 + 0.020**2) ** 0.5)
    assert (play.roll, play.pitch) == (0.0, 0.0)
    assert play.why.startswith("slack bolts in holes 1 mm wider than they are")
    # It shifts the tip by as much, and turns the wing.
    lost = lost_motion([play], 0.75, half_span=0.4)
    assert lost.tip_side == pytest.approx(1e-3)
    assert lost.wing_fore_aft == pytest.approx(play.twist * 0.4 + 1e-3)


def test_bolts_within_their_own_gap_of_the_middle_stop_no_turn() -> None:
    """One bolt alone, or two nearer to one another than their holes are wide: no stop can be told."""
    for places in (((0, 0),), ((-0.4, 0), (0.4, 0))):
        (play,) = plays(Joints(base=BoltedPlate(bolts=group(*places, tightening=SLACK))))
        assert play.twist == 0.0
        assert play.side == pytest.approx(1e-3)


def test_a_loose_bolt_is_named_by_its_number() -> None:
    screws = group((-30, 0), (0, 0), (40, 0), tightening=TIGHT)
    (play,) = plays(Joints(base=BoltedPlate(bolts=screws, loose_screw=True)))
    assert play.why.startswith("bolt 3 loose in a hole 1 mm wider than it is")
    (free,) = plays(Joints(base=BoltedPlate(bolts=replace(screws, tightening=None), loose_screw=True)))
    assert (play.free, free.free) == (False, True)


@pytest.mark.parametrize(("along", "words"), [(0.14495e-3, "0.14"), (0.14505e-3, "0.15")])
def test_clearances_are_told_to_two_figures(along: float, words: str) -> None:
    socket = Fitted(
        engagement=0.05, contact_stiffness=5e7, chord=0.1, clearance=0.25e-3, clearance_fore_aft=along
    )
    (play,) = plays(Joints(tip=socket))
    assert play.why == f"clearance 0.25 mm sideways and {words} mm fore and aft"
    assert (play.side, play.fore_aft) == (0.25e-3, along)
    assert play.pitch == pytest.approx(2 * along / 0.05)
    assert play.at_tip
    assert play.z == 0.0


def test_an_adapter_bends_fore_and_aft_by_its_other_side() -> None:
    """E I about y: across · along³/12."""
    c = bar_compliance(Bar(along=0.15, across=0.06, material=ALUMINIUM), 0.0635)
    ei = ALUMINIUM.E * 0.06 * 0.15**3 / 12
    assert c[4, 4] == pytest.approx(0.0635 / ei)
    assert c[0, 4] == pytest.approx(0.0635**2 / (2 * ei))
    assert c[0, 0] == pytest.approx(0.0635**3 / (3 * ei) + 0.0635 / (5 / 6 * ALUMINIUM.G * 0.15 * 0.06))
    assert c[2, 2] == pytest.approx(0.0635 / (ALUMINIUM.E * 0.15 * 0.06))
