from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from mastcheck.beam.model import BeamModel
from mastcheck.beam.solve import FrameModel
from mastcheck.errors import InputError
from mastcheck.joint import Adapter, Bar, BoltedPlate, Fitted, Given, Joints, OnePiece, Tightening
from mastcheck.joints.assumptions import assumptions
from mastcheck.joints.bolts import load_factor, preload
from mastcheck.joints.chain import (
    base_compliance,
    base_parts,
    carried,
    lever,
    tip_compliance_of,
    tip_parts,
)
from mastcheck.joints.finding import JointCase, JointCriterion, wrench
from mastcheck.joints.findings import joint_findings, utilisations
from mastcheck.joints.loads import bolt_loads
from mastcheck.joints.plate import plate_compliance, remaining
from mastcheck.joints.play import lost_motion, plays
from tests.beams import properties
from tests.masts import ALUMINIUM
from tests.reference.test_bolts import FOUR, group

C = JointCriterion
TIGHT = Tightening(torque=12.0)
GIVEN = Given(compliance=tuple(tuple(float(v) for v in row) for row in np.diag([2e-7] * 3 + [3e-5] * 3)))


def case(base=(0.0,) * 6, tip=(0.0,) * 6, factor=1.5):
    base, tip = np.array(base, dtype=float), np.array(tip, dtype=float)
    return JointCase(
        name="test", base=base, tip=tip, base_strength=factor * base, tip_strength=factor * tip
    )


def found(joints, loads):
    return {(f.joint, f.criterion): f for f in joint_findings(joints, [loads])}


def test_nothing_described_is_clamped():
    assert not base_compliance(Joints()).any()
    assert not tip_compliance_of(None).any()
    assert not tip_compliance_of(OnePiece()).any()
    assert base_parts(Joints()) == tip_parts(Joints(tip=OnePiece())) == ()
    assert assumptions(Joints()) == ()


def test_parts_stand_in_order_at_their_places():
    upper = Adapter(
        length=0.06, body=Bar(along=0.1, across=0.05, material=ALUMINIUM), bolts=group(*FOUR)
    )
    lower = Adapter(length=0.02, body=GIVEN, name="shim", bolts=group(*FOUR))
    parts = base_parts(Joints(base=BoltedPlate(bolts=group(*FOUR)), adapters=(lower, upper)))
    assert [(p.name, round(p.z, 9)) for p in parts] == [
        ("shim bolts", -0.08), ("shim", -0.06), ("adapter 2 bolts", -0.06), ("adapter 2", 0.0),
        ("base joint", 0.0),
    ]  # fmt: skip


def test_adapters_are_as_a_longer_beam():
    # A round bar under a mast of the same bar: base springs and one beam of both lengths agree.
    d, L, more = 0.04, 0.8, 0.0635
    E, G, A, second = ALUMINIUM.E, ALUMINIUM.G, math.pi * d**2 / 4, math.pi * d**4 / 64
    bar = properties(
        EA=E * A, EIxx=E * second, EIyy=E * second, GJ=G * 2 * second, EGamma=1e-9,
        shear_flex_xx=1 / (0.9 * G * A), shear_flex_yy=1 / (0.9 * G * A),
    )  # fmt: skip
    joints = Joints(
        adapters=(Adapter(length=more, body=Bar(along=d, across=d, material=ALUMINIUM, round=True)),)
    )

    def compliance(length, joint=None):
        z = np.linspace(0, length, 3)
        return FrameModel(BeamModel(z, [bar] * 3, [0, length]), base_joint=joint).tip_compliance()

    one, two = compliance(L + more), compliance(L, base_compliance(joints))
    scale = np.sqrt(np.outer(np.diag(one), np.diag(one)))
    assert np.abs((one - two) / scale).max() < 1e-6


def test_compliance_is_symmetric_and_gives_nothing_for_nothing():
    screws = group((-30, 0), (30, 5), tightening=TIGHT)
    socket = Fitted(engagement=0.04, contact_stiffness=5e7, chord=0.1, screws=screws)
    joints = Joints(
        base=BoltedPlate(bolts=group((-40, -30), (60, -10), (10, 45), insert_shear_stiffness=5e6)),
        adapters=(Adapter(length=0.05, body=GIVEN, bolts=group(*FOUR)),),
        tip=socket,
    )
    for c in (base_compliance(joints), tip_compliance_of(socket)):
        size = np.sqrt(np.outer(np.diag(c), np.diag(c)))
        assert np.abs((c - c.T) / size).max() < 1e-12
        assert np.linalg.eigvalsh(c / size).min() > -1e-12


def test_a_wrench_keeps_its_work_when_carried():
    w = np.array([10.0, 20.0, -300.0, 4.0, 5.0, 6.0])
    c = np.diag([1e-7, 2e-7, 1e-8, 1e-5, 2e-5, 3e-5])
    assert w @ carried(c, 0.3) @ w == pytest.approx((lever(0.3) @ w) @ c @ (lever(0.3) @ w))
    # A side force 0.3 m further out rolls the joint by -0.3 m Fy.
    assert lever(0.3) @ [0, 1, 0, 0, 0, 0] == pytest.approx([0, 1, 0, -0.3, 0, 0])


def test_resultants_of_the_beam_as_a_wrench():
    assert wrench(np.arange(7.0)).tolist() == [1, 2, 0, 3, 4, 5]


def test_a_loose_screw_costs_stiffness_and_lets_in_play():
    screws = group((-30, 0), (0, 0), (40, 0), tightening=TIGHT)
    tight, loose = (BoltedPlate(bolts=screws, loose_screw=v) for v in (False, True))
    # The one whose loss leaves least spread: 30 and 40 mm away, the one at 40.
    assert remaining(loose).positions == screws.positions[:2]
    a, b = (np.diag(tip_compliance_of(j)) for j in (tight, loose))
    assert (b[[2, 3, 4]] > a[[2, 3, 4]]).all()
    assert plays(Joints(tip=tight)) == ()
    (play,) = plays(Joints(tip=loose))
    # 1 mm of hole at 40 + 15 mm from the middle of the other two, which are clamped and hold it.
    assert play.twist == pytest.approx(1 / 55)
    assert not play.free
    (alone,) = plays(Joints(tip=replace(loose, bolts=replace(screws, positions=screws.positions[::2]))))
    assert alone.free
    assert alone.twist == pytest.approx(1 / 70)


def test_the_only_screw_cannot_be_loose():
    with pytest.raises(InputError, match="nothing holds"):
        tip_compliance_of(BoltedPlate(bolts=group((0, 0), tightening=TIGHT), loose_screw=True))


def test_clearance_is_lost_motion():
    socket = Fitted(
        engagement=0.05, contact_stiffness=5e7, chord=0.1, clearance=1e-4, clearance_fore_aft=2e-4
    )
    (play,) = plays(Joints(tip=socket))
    assert play.free
    # From one stop to the other: 0.1 mm at both contacts, opposite ways, 50 mm apart.
    assert (play.roll, play.pitch, play.twist) == pytest.approx((4e-3, 8e-3, 2e-3))
    lost = lost_motion([play], 0.75, half_span=0.4)
    assert (lost.wing_up, lost.tip_side) == pytest.approx((1.6e-3, 1e-4))
    assert lost.wing_fore_aft == pytest.approx(0.8e-3 + 2e-4)
    # At the base the same turn moves the tip by the mast's length.
    at_base = plays(Joints(base=socket))
    assert lost_motion(at_base, 0.75).tip_side == pytest.approx(4e-3 * 0.75 + 1e-4)


def test_tight_screws_hold_a_socket_and_loose_ones_do_not():
    screws = group((-30, 0), (30, 0), tightening=TIGHT)
    socket = Fitted(engagement=0.05, contact_stiffness=5e7, chord=0.1, clearance=1e-4, screws=screws)
    assert not plays(Joints(tip=socket))[0].free
    assert plays(Joints(tip=replace(socket, loose_screw=True)))[0].free
    slack = replace(screws, tightening=Tightening(preload=0.0))
    assert plays(Joints(tip=replace(socket, screws=slack)))[0].free
    lost = lost_motion(plays(Joints(tip=socket)), 0.75)
    assert lost.wing_up == 0
    assert lost_motion(plays(Joints(tip=socket)), 0.75, free_only=False).wing_up > 0


def test_a_loose_screw_of_a_socket_without_a_stated_clearance_turns_in_its_hole():
    screws = group((-30, 0), (30, 0), tightening=TIGHT)
    socket = Fitted(engagement=0.05, contact_stiffness=5e7, chord=0.1, screws=screws, loose_screw=True)
    (play,) = plays(Joints(tip=socket))
    assert play.free
    assert play.twist == pytest.approx(1 / 60)  # 1 mm of hole, 60 mm from the other screw
    assert tip_compliance_of(socket)[4, 4] > tip_compliance_of(replace(socket, loose_screw=False))[4, 4]


def test_slack_bolts_shift_by_their_holes():
    slack = group(*FOUR, tightening=Tightening(preload=0.0))
    (play,) = plays(Joints(base=BoltedPlate(bolts=slack)))
    assert (play.side, play.fore_aft) == pytest.approx((1e-3, 1e-3))
    assert play.twist == pytest.approx(1e-3 / math.hypot(0.045, 0.020))


def test_findings_by_hand():
    # 90 N m of pitch at service on rows +-45 mm: 500 N a bolt; 1.5 times that for strength.
    bolts = group(*FOUR, tightening=Tightening(preload=4000.0, scatter=0.25), embedding=0.0)
    seen = found(Joints(base=BoltedPlate(bolts=bolts)), case(base=(0, 400, 0, 0, 90, 0)))
    tension = seen["base joint", C.TENSION]
    assert tension.value == pytest.approx(750)
    assert tension.utilisation == pytest.approx(750 / (0.9 * 800e6 * bolts.thread.stress_area / 1.25))
    assert tension.xy[0] == pytest.approx(-0.045)
    assert seen["base joint", C.SEPARATION].value == pytest.approx(3000 / 500)
    assert seen["base joint", C.SLIP].value == pytest.approx(0.15 * (3000 - 500) / 100)
    shear = seen["base joint", C.SHEAR]
    assert shear.value == pytest.approx(150)
    both = seen["base joint", C.COMBINED]
    assert both.value == pytest.approx(shear.utilisation + tension.utilisation / 1.4)
    work = seen["base joint", C.WORKING]
    assert preload(bolts).greatest == 5000
    assert work.value * 1e6 > (5000 + load_factor(bolts) * 750) / bolts.thread.stress_area
    assert all("from memory" in str(f.source) for f in seen.values())


def test_separation_and_slip_fail_when_the_preload_is_too_low():
    bolts = group(*FOUR, tightening=Tightening(preload=600.0, scatter=0.0), embedding=0.0)
    seen = found(Joints(base=BoltedPlate(bolts=bolts)), case(base=(0, 200, 0, 0, 180, 0)))
    assert seen["base joint", C.SEPARATION].utilisation == pytest.approx(1000 / 600)
    assert seen["base joint", C.SLIP].utilisation == math.inf
    settled = replace(bolts, embedding=None)  # 8 um take all of it
    assert preload(settled).least == 0
    seen = found(Joints(base=BoltedPlate(bolts=settled)), case(base=(0, 0, 0, 0, 180, 0)))
    assert seen["base joint", C.SEPARATION].utilisation == math.inf


def test_what_is_not_stated_is_not_judged():
    seen = found(Joints(base=BoltedPlate(bolts=group(*FOUR))), case(base=(0, 400, 0, 0, 90, 0)))
    kinds = {criterion for _, criterion in seen}
    assert kinds == {C.TENSION, C.SHEAR, C.COMBINED, C.BEARING}
    bearing = seen["base joint", C.BEARING]
    assert (bearing.limit, bearing.utilisation) == (None, None)
    assert "edge distance" in bearing.where
    weak = replace(ALUMINIUM, ultimate_strength=None)
    bolts = group(*FOUR, engagement=0.01, engaged=weak)
    seen = found(Joints(base=BoltedPlate(bolts=bolts)), case(base=(0, 0, 0, 0, 90, 0)))
    assert seen["base joint", C.STRIPPING].utilisation is None


def test_a_compressed_joint_does_not_separate():
    bolts = group(*FOUR, tightening=Tightening(preload=4000.0))
    seen = found(Joints(base=BoltedPlate(bolts=bolts)), case(base=(0, 0, -3000, 0, 0, 0)))
    separation = seen["base joint", C.SEPARATION]
    assert (separation.value, separation.utilisation) == (math.inf, 0.0)
    assert seen["base joint", C.TENSION].value == 0


def test_insert_and_thread_take_their_share():
    bolts = group(
        *FOUR, tightening=Tightening(preload=4000.0, scatter=0.0), embedding=0.0, insert_pull_out=1500.0,
        engagement=0.016, engaged=ALUMINIUM,
    )  # fmt: skip
    seen = found(Joints(base=BoltedPlate(bolts=bolts)), case(base=(0, 0, 0, 0, 90, 0)))
    assert seen["base joint", C.PULL_OUT].utilisation == pytest.approx(750 / 1500)
    whole = 4000 + load_factor(bolts) * 750
    assert seen["base joint", C.INSERT_FORCE].value == pytest.approx(whole)
    assert seen["base joint", C.INSERT_FORCE].utilisation is None
    assert seen["base joint", C.STRIPPING].value == pytest.approx(whole)
    assert "bolt breaks first" in seen["base joint", C.STRIPPING].where


def test_an_adapters_bolts_carry_the_longer_arm():
    adapter = Adapter(length=0.06, body=GIVEN, bolts=group(*FOUR))
    (loads,) = bolt_loads(Joints(adapters=(adapter,)), case(base=(0, 100, 0, -75, 0, 0), factor=1.0))
    assert loads.joint == "adapter 1 bolts"
    assert loads.wrench == pytest.approx([0, 100, 0, -75 - 6, 0, 0])
    assert loads.tension.max() == pytest.approx(81 / (4 * 0.020))
    assert loads.tension[1] < 0  # at +y, where -Mx presses


def test_two_adapters_carry_their_own_arms():
    adapters = tuple(Adapter(length=length, body=GIVEN, bolts=group(*FOUR)) for length in (0.02, 0.06))
    lower, upper = bolt_loads(Joints(adapters=adapters), case(base=(10, 0, 0, 0, 0, 0), factor=1.0))
    assert (lower.wrench[4], upper.wrench[4]) == pytest.approx((0.8, 0.6))


def test_bolts_keep_their_numbers_when_one_is_loose():
    bolts = group((50, 0), (0, 10), (0, -10), tightening=TIGHT)
    joint = BoltedPlate(bolts=bolts, loose_screw=True)
    (loads,) = bolt_loads(Joints(tip=joint), case(tip=(0, 0, 100, 0, 0, 0)))
    assert loads.number == (2, 3)
    assert utilisations(loads).shape == (2,)


def test_screws_of_a_socket_are_pulled_and_not_sheared():
    screws = group((-30, 0), (30, 0), tightening=TIGHT)
    socket = Fitted(engagement=0.04, contact_stiffness=5e7, chord=0.1, screws=screws)
    seen = found(Joints(tip=socket), case(tip=(100, 100, 500, 0, 0, 20)))
    assert ("tip joint screws", C.TENSION) in seen
    assert ("tip joint screws", C.SHEAR) not in seen


def test_moments_that_the_contacts_hold_alone_are_told():
    def said(*places: tuple[float, float]) -> str:
        screws = group(*places, tightening=TIGHT)
        socket = Fitted(engagement=0.04, contact_stiffness=5e7, chord=0.1, screws=screws)
        return " | ".join(assumptions(Joints(tip=socket)))

    words = "the contacts are taken to hold every moment about it"
    assert words in said((-30, 0), (30, 0))
    assert words in said((30, 0))
    assert words not in said((-30, 5), (30, 0), (0, -5))


def test_what_arithmetic_leaves_is_no_force_across_a_bolt():
    bolts = group(*FOUR, tightening=TIGHT)
    seen = found(Joints(base=BoltedPlate(bolts=bolts)), case(base=(1e-12, 2e-12, 0, 0, 90, 0)))
    assert ("base joint", C.SHEAR) not in seen
    assert ("base joint", C.SLIP) not in seen


def test_every_silence_is_named():
    joints = Joints(
        base=BoltedPlate(bolts=group(*FOUR)),
        adapters=(Adapter(length=0.05, body=replace(GIVEN, rigid=("roll", "twist"))),),
    )
    said = " | ".join(assumptions(joints))
    for words in (
        "tip joint: none stated, taken as rigid: a real one is softer",
        "adapter 1: roll, twist not stated, taken as rigid",
        "adapter 1: its own bolts not stated, taken as rigid",
        "base joint: what the bolts go into, along z, not stated, taken as rigid",
        "base joint: what the bolts go into, across them, not stated, taken as rigid",
        "no preload or torque stated",
        "stripping is not judged",
        "prying",
    ):
        assert words in said
    full = replace(joints.base.bolts, insert_stiffness=8e6, insert_shear_stiffness=8e6)
    said = " | ".join(assumptions(replace(joints, base=BoltedPlate(bolts=full))))
    assert "base joint: what the bolts go into" not in said


def test_rigid_in_its_plane_only_where_nothing_is_stated():
    c = plate_compliance(group(*FOUR))
    assert not c[[0, 1, 5]].any()
    assert (np.diag(c)[[2, 3, 4]] > 0).all()
