"""Rules of bolts at and beside their bounds, each by hand for an M8 of A4-80 in aluminium.

Sizes: ISO 68-1 (d2 = d - 3/4 H, d3 = d - 17/12 H, H = P √3/2) and ISO 898-1, A_s = π/4 (d - 0.938194
P)²; forms of VDI 2230 and EN 1999-1-1, from memory, as in ``tests/reference/test_bolts.py``.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from mastcheck.joint import Adapter, BoltedPlate, Fitted, Head, Joints, OnePiece, Tightening
from mastcheck.joints.bolts import (
    CONE,
    bearing_resistance,
    load_factor,
    preload,
    strip_resistance,
)
from mastcheck.joints.chain import base_compliance, base_parts, tip_compliance_of
from mastcheck.joints.finding import JointCriterion as C
from mastcheck.joints.findings import utilisations
from mastcheck.joints.fitted import fitted_compliance, screws_that_hold
from mastcheck.joints.loads import bolt_loads
from mastcheck.joints.plate import (
    axial_stiffness,
    bolt_shear,
    bolt_tension,
    loose_one,
    plate_compliance,
)
from tests.masts import ALUMINIUM
from tests.reference.test_bolts import FOUR, MM, group
from tests.unit.test_joints import GIVEN, case, found

PITCH_DIAMETER, ROOT = (8 - k * 1.25 * math.sqrt(3) / 2 for k in (3 / 4, 17 / 12))  # mm
AREA, ROD = math.pi / 4 * (8 - 0.938194 * 1.25) ** 2 * 1e-6, (PITCH_DIAMETER + ROOT) / 2 * MM
TORSION = 5000 * (1.25 / (2 * math.pi) + 0.577 * 0.20 * PITCH_DIAMETER) * MM
"""Of 5 kN with the greater friction: 5000 N on 0.198944 + 0.829507 mm."""
TENSION, SHEAR = 0.9 * 800e6 * AREA / 1.25, 0.5 * 800e6 * AREA / 1.25
CLAMPED = Tightening(preload=4000.0, scatter=0.25)


def base(**changes):
    return Joints(base=BoltedPlate(bolts=group(*FOUR, **changes)))


# One bolt.


def test_the_torsion_that_goes_with_a_stated_preload():
    """P/2π + 0.577 μ d2 times the greatest preload: the greater friction twists more."""
    known = preload(group(*FOUR, tightening=CLAMPED))
    assert known.greatest == 5000
    assert known.torsion == pytest.approx(TORSION, rel=1e-9)
    assert pytest.approx(5000 * 1.028451e-3, rel=1e-6) == TORSION


def test_a_countersunk_head_counts_half_its_depth_out_of_the_bearing():
    """A cone of 90° from 16 to 8 mm is 4 mm deep: 8 of 10 mm bear."""
    cap = group((-45, 0), (45, 0), edge_distance=14 * MM)
    sunk = replace(cap, head=Head.COUNTERSUNK)
    assert bearing_resistance(sunk) == pytest.approx(0.8 * bearing_resistance(cap))


def test_stripping_needs_both_the_length_and_the_material_engaged():
    assert strip_resistance(group(*FOUR, engaged=ALUMINIUM)) is None
    assert strip_resistance(group(*FOUR, engagement=16 * MM)) is None
    weak = replace(ALUMINIUM, ultimate_strength=None)
    assert strip_resistance(group(*FOUR, engagement=16 * MM, engaged=weak)) is None


# Groups.


def test_one_bolt_holds_a_torque_by_the_disc_it_clamps():
    """k D²/8, the polar second moment of a disc over its area; and a force of T/(D/2) on its rim."""
    D = 13 * MM + 2 * 10 * MM * CONE
    one = group((0, 0), tightening=CLAMPED, insert_shear_stiffness=5e6)
    c = plate_compliance(one)
    assert c[5, 5] == pytest.approx(8 / (5e6 * D**2))
    assert c[0, 0] == pytest.approx(1 / 5e6)
    (across,) = bolt_shear(one, np.array([0.0, 0, 0, 0, 0, 3.0]))
    assert across == pytest.approx([2 * 3.0 / D, 0.0])


def test_bolts_on_a_line_hold_what_bends_along_it_by_their_arms():
    """60 N m of pitch on two at +-30 mm: 60 · 30/(2 · 30²) = 1 kN, ahead pulled and aft pressed."""
    line = group((-30, 0), (30, 0), tightening=CLAMPED)
    assert bolt_tension(line, np.array([0, 0, 0, 0, 60.0, 0])) == pytest.approx([1000, -1000])


def test_a_force_beside_the_centroid_twists_the_group_about_it():
    """Centroid at (20, -10) mm: 100 N along x and 300 N along y at the stacking line twist by -7 N m."""
    g = group((50, -40), (-10, -40), (50, 20), (-10, 20), insert_shear_stiffness=5e6)
    at = np.array(g.positions) - [0.02, -0.01]
    shear = bolt_shear(g, np.array([100.0, 300, 0, 0, 0, 0]))
    torque = float((at[:, 0] * shear[:, 1] - at[:, 1] * shear[:, 0]).sum())
    assert torque == pytest.approx(-(0.02 * 300 + 0.01 * 100))
    assert shear.sum(axis=0) == pytest.approx([100, 300])


# Sockets.


def test_screws_that_hold_are_all_but_the_loose_one():
    for places, loose, left in (
        (((0, 0),), False, 1), (((0, 0),), True, None), (((-30, 0), (30, 0)), True, 1),
        (((-30, 0), (0, 0), (40, 0)), True, 2), (((-30, 0), (0, 0), (40, 0)), False, 3),
    ):  # fmt: skip
        socket = Fitted(
            engagement=0.04, contact_stiffness=5e7, chord=0.1, screws=group(*places), loose_screw=loose
        )
        held = screws_that_hold(socket)
        assert (None if held is None else len(held.positions)) == left
    assert screws_that_hold(replace(socket, screws=None)) is None


def test_an_axial_stiffness_holds_a_socket_along_it():
    socket = Fitted(engagement=0.04, contact_stiffness=5e7, chord=0.1, axial_stiffness=3e7)
    assert fitted_compliance(socket, towards=1)[2, 2] == pytest.approx(1 / 3e7)


def test_a_box_lies_on_the_boards_side_of_the_base_and_a_socket_on_the_foils_of_the_tip():
    """A roll of the end moves it by M/(k e), opposite ways; it turns by 2 M/(k e²) either way."""
    fitted = Fitted(engagement=0.045, contact_stiffness=6e7, chord=0.1)
    at_base, at_tip = base_compliance(Joints(base=fitted)), tip_compliance_of(fitted)
    for c, towards in ((at_base, -1), (at_tip, 1)):
        assert c[1, 3] == pytest.approx(towards / (6e7 * 0.045))
        assert c[3, 3] == pytest.approx(2 / (6e7 * 0.045**2))
    (part,) = base_parts(Joints(base=fitted))
    assert part.compliance == pytest.approx(at_base)


def test_one_piece_adds_nothing_to_six_movements():
    for c in (tip_compliance_of(OnePiece()), tip_compliance_of(None), base_compliance(Joints())):
        assert c.shape == (6, 6)
        assert not c.any()


@pytest.mark.parametrize("end", ["base", "tip"])
def test_screws_of_a_box_and_of_a_socket_share_a_pitch_alike(end):
    """Contacts k e²/2 about their middle, screws 2 k_s 0.03² beside them: any textbook of springs."""
    screws = group((-30, 0), (30, 0), tightening=CLAMPED)
    fitted = Fitted(engagement=0.045, contact_stiffness=6e7, chord=0.1, screws=screws)
    wrench = (0, 0, 0, 0, 100.0, 0)
    (loads,) = bolt_loads(Joints(**{end: fitted}), case(**{end: wrench}, factor=1.5))
    ks = axial_stiffness(screws)
    pull = 100 * ks * 0.03 / (6e7 * 0.045**2 / 2 + 2 * ks * 0.03**2)
    assert loads.service_tension == pytest.approx([pull, -pull])
    assert loads.tension == pytest.approx([1.5 * pull, -1.5 * pull])
    assert loads.opening == pytest.approx(loads.service_tension)
    assert loads.shear.shape == loads.service_shear.shape == (2, 2)
    alone = replace(fitted, screws=group((-30, 0), tightening=CLAMPED), loose_screw=True)
    assert bolt_loads(Joints(**{end: alone}), case(**{end: wrench})) == ()


@pytest.mark.parametrize(("end", "towards"), [("base", -1), ("tip", 1)])
def test_a_side_load_tips_a_box_about_its_far_contact(end, towards):
    """2 k u + k t e θ = F and k t e u + (k e² + s) θ = 0, with t = -1 where the contacts lie on the
    board's side of the end, +1 on the foil's, and s = 2 k_s 0.03² of the screws.
    """
    screws = group((-30, 0), (30, 0), tightening=CLAMPED)
    k, e = 6e7, 0.045
    fitted = Fitted(engagement=e, contact_stiffness=k, chord=0.1, screws=screws)
    (loads,) = bolt_loads(Joints(**{end: fitted}), case(**{end: (100.0, 0, 0, 0, 0, 0)}))
    ks = axial_stiffness(screws)
    held = k * e**2 + 2 * ks * 0.03**2
    turn = np.linalg.solve([[2 * k, towards * k * e], [towards * k * e, held]], [100.0, 0.0])[1]
    assert loads.service_tension == pytest.approx([ks * 0.03 * turn, -ks * 0.03 * turn])
    assert turn * towards < 0


def test_the_edge_of_a_face_lifts_long_before_it_tips():
    """Bolts on one line, 40 N m about it on a face 16 mm wide: 8 mm to tip, a sixth of 16 to lift."""
    line = group((-30, 0), (30, 0), face=(0.1, 0.016), tightening=CLAMPED)
    (loads,) = bolt_loads(Joints(base=BoltedPlate(bolts=line)), case(base=(0, 0, 0, 40.0, 0, 0)))
    assert loads.service_tension == pytest.approx([2500, 2500])
    assert loads.tension == pytest.approx([3750, 3750])
    assert loads.opening == pytest.approx([7500, 7500])


def test_a_tenth_of_a_newton_across_a_bolt_is_a_force():
    seen = found(base(), case(base=(0, 0.4, 0, 0, 0, 0), factor=1.0))
    assert seen["base joint", C.SHEAR].value == pytest.approx(0.1)


def test_the_only_bolt_is_the_loose_one():
    assert loose_one(group((10, 5))) == 0


def test_an_adapter_has_all_its_bolts():
    adapter = Adapter(length=0.06, body=GIVEN, bolts=group(*FOUR))
    (loads,) = bolt_loads(Joints(adapters=(adapter,)), case(base=(0, 100, 0, 0, 0, 0)))
    assert loads.number == (1, 2, 3, 4)


# What is judged.

PITCH = (0, 400.0, 0, 0, 90.0, 0)
"""500 N of pull on each bolt ahead and 100 N across every one at service; for strength 1.5 times."""


def test_the_greatest_utilisation_of_each_bolt():
    """The pair ahead is pulled and sheared, the pair aft sheared alone."""
    (loads,) = bolt_loads(base(), case(base=PITCH))
    across, pull = 150 / SHEAR, 750 / TENSION
    ahead, aft = max(pull, across + pull / 1.4), across
    assert utilisations(loads) == pytest.approx([ahead, ahead, aft, aft], rel=1e-9)


def test_sums_and_factors_are_held_to_one():
    seen = found(base(tightening=CLAMPED, embedding=0.0), case(base=PITCH))
    for criterion in (C.COMBINED, C.SEPARATION, C.SLIP):
        assert seen["base joint", criterion].limit == 1.0
    both, apart, slip = (seen["base joint", c] for c in (C.COMBINED, C.SEPARATION, C.SLIP))
    assert both.utilisation == both.value
    assert apart.utilisation == pytest.approx(500 / 3000)
    assert slip.utilisation == pytest.approx(100 / (0.15 * 2500))


def test_a_small_load_has_its_factor_too():
    """Half a newton on 3000 N."""
    seen = found(base(tightening=CLAMPED, embedding=0.0), case(base=(0, 0, 0, 0, 0.09, 0)))
    assert seen["base joint", C.SEPARATION].value == pytest.approx(6000)


def test_a_pressed_joint_pulls_on_no_thread_and_no_insert():
    joints = base(engagement=12 * MM, engaged=ALUMINIUM, insert_pull_out=1500.0)
    seen = found(joints, case(base=(0, 0, -3000.0, 0, 0, 0)))
    for criterion in (C.TENSION, C.STRIPPING, C.PULL_OUT):
        one = seen["base joint", criterion]
        assert (one.value, one.utilisation) == (0.0, 0.0)


def test_bearing_is_used_by_force_over_resistance():
    seen = found(base(edge_distance=14 * MM), case(base=PITCH))["base joint", C.BEARING]
    assert seen.utilisation == pytest.approx(150 / (2.5 * 14 / 27 * 290e6 * 8e-3 * 10e-3 / 1.25))
    # Less than a newton is a resistance too: k1 = 2.8 e/d0 - 1.7 of 1e-4.
    least = found(base(edge_distance=1.7001 / 2.8 * 9 * MM), case(base=PITCH))["base joint", C.BEARING]
    limit = 1e-4 * 1.7001 / 2.8 / 3 * 290e6 * 8e-3 * 10e-3 / 1.25
    assert limit < 1
    assert (least.limit, least.utilisation) == pytest.approx((limit, 150 / limit), rel=1e-6)
    # With no metal left about the hole it is nil, and nothing bears.
    none = found(base(edge_distance=5 * MM), case(base=PITCH))["base joint", C.BEARING]
    assert (none.limit, none.utilisation) == (0.0, math.inf)


def test_stress_of_a_bolt_at_work_and_when_tightened():
    """Greatest preload and its share of the load in tension, half the torsion of tightening."""
    joints = base(tightening=CLAMPED, embedding=0.0)
    seen = found(joints, case(base=PITCH))
    pull = 5000 + load_factor(joints.base.bolts) * 750
    for criterion, force, left, share in (
        (C.TIGHTENING, 5000.0, TORSION, 0.9), (C.WORKING, pull, TORSION / 2, 1.0)
    ):  # fmt: skip
        stress = math.hypot(force / AREA, math.sqrt(3) * 16 * left / (math.pi * ROD**3)) / 1e6
        one = seen["base joint", criterion]
        assert one.value == pytest.approx(stress, rel=1e-9)
        assert one.limit == pytest.approx(share * 600)
        assert one.utilisation == pytest.approx(stress / (share * 600), rel=1e-9)


def test_whether_bolt_or_thread_gives_way_first():
    """800 MPa on 36.6085 mm² against 16.8285 mm²/mm of thread at 290/√3 MPa: equal at 10.394 mm, and
    0.8 pitches (1 mm) that do not carry.
    """
    for engaged, words in ((11.5, "the bolt breaks first"), (11.3, "it strips before the bolt breaks")):
        seen = found(base(engagement=engaged * MM, engaged=ALUMINIUM), case(base=PITCH))
        one = seen["base joint", C.STRIPPING]
        assert one.where.endswith(words)
        limit = 16.8285e-3 * (engaged - 1) * MM * 290e6 / math.sqrt(3) / 1.25
        assert one.limit == pytest.approx(limit, rel=1e-5)
        assert one.utilisation == pytest.approx(750 / limit, rel=1e-5)
    # A tenth of a micrometre that carries is a resistance, less than what does not carry is none.
    least = found(base(engagement=1.0001 * MM, engaged=ALUMINIUM), case(base=PITCH))
    limit = 16.8285e-3 * 0.0001 * MM * 290e6 / math.sqrt(3) / 1.25
    assert limit < 1
    assert least["base joint", C.STRIPPING].utilisation == pytest.approx(750 / limit, rel=1e-5)
    none = found(base(engagement=0.9 * MM, engaged=ALUMINIUM), case(base=PITCH))
    assert none["base joint", C.STRIPPING].utilisation == math.inf
