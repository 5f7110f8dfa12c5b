"""Bolts and bolt groups against standards, a published example and closed forms.

Sources: ISO 898-1 and ISO 3506-1 (strengths read in reproductions of their tables; stress areas and
proof loads as printed there, from memory); ISO 68-1 (thread geometry); VDI 2230 part 1, EN 1999-1-1 and
FED-STD-H28/2 (forms, from memory); Shigley's Mechanical Engineering Design, bolted joint under an
eccentric load in shear (16 kN, four bolts; inputs read, printed answers from memory and computed again).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad

from mastcheck.errors import InputError
from mastcheck.files.bolt_data import property_classes, threads
from mastcheck.joint import Bar, BoltGroup, Fitted, Head, Tightening
from mastcheck.joints.adapter import bar_compliance, torsion_constant
from mastcheck.joints.bolts import (
    CONE,
    bearing_resistance,
    bolt_resilience,
    bolt_stress,
    clamped_resilience,
    load_factor,
    preload,
    shear_resistance,
    strip_areas,
    strip_resistance,
    tension_resistance,
    torque_arm,
)
from mastcheck.joints.fitted import fitted_compliance, screw_tension
from mastcheck.joints.plate import axial_stiffness, bolt_shear, bolt_tension, plate_compliance
from tests.masts import ALUMINIUM
from tests.published import published

MM = 1e-3


def group(*positions, size="M8", name="A4-80", **changes):
    values = {
        "thread": threads()[size], "property_class": property_classes()[name],
        "positions": tuple((x * MM, y * MM) for x, y in positions),
        "plate_thickness": 10 * MM, "plate": ALUMINIUM,
    }  # fmt: skip
    return BoltGroup(**(values | changes))


FOUR = ((-45, -20), (-45, 20), (45, -20), (45, 20))


@pytest.mark.parametrize(
    ("size", "exact", "printed"),
    [("M5", 14.1826, 14.2), ("M6", 20.1234, 20.1), ("M8", 36.6085, 36.6), ("M10", 57.9896, 58.0)],
)
def test_stress_area(size, exact, printed):
    # ISO 898-1: A_s = pi/4 (d - 0.938194 P)^2; the table's figures have three digits.
    area = threads()[size].stress_area * 1e6
    assert area == pytest.approx(exact, rel=1e-5)
    assert area == pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize(
    ("size", "d2", "d3"), [("M6", 5.35048, published("BT-02b")), ("M8", published("BT-02a"), 6.46641)]
)
def test_thread_geometry(size, d2, d3):  # ISO 68-1
    t = threads()[size]
    assert (t.pitch_diameter / MM, t.root_diameter / MM) == pytest.approx((d2, d3), rel=1e-5)


@pytest.mark.parametrize(
    ("name", "m6", "m8"), [("8.8", 11600, 21200), ("10.9", 16700, 30400), ("12.9", 19500, 35500)]
)
def test_proof_loads(name, m6, m8):  # ISO 898-1, as printed
    for size, load in (("M6", m6), ("M8", m8)):
        found = property_classes()[name].proof * threads()[size].stress_area
        assert found == pytest.approx(load, rel=0.01)


@pytest.mark.parametrize(
    ("name", "ultimate", "least_yield", "ratio"),
    [("8.8", 800, 640, 0.91), ("10.9", 1040, 940, 0.88), ("12.9", 1220, 1100, 0.88)],
)
def test_steel_classes(name, ultimate, least_yield, ratio):  # ISO 898-1
    cls = property_classes()[name]
    assert (cls.ultimate, cls.yield_strength) == (ultimate * 1e6, least_yield * 1e6)
    assert cls.proof / cls.yield_strength == pytest.approx(ratio, abs=0.006)  # 580/640 prints as 0.91


@pytest.mark.parametrize(
    ("name", "size", "ultimate", "proof"),
    [
        ("A4-70", "M6", published("BT-05a"), 9056), ("A4-80", "M6", 16099, 12074),
        ("A4-70", "M8", 25626, 16474), ("A4-80", "M8", 29287, published("BT-05b")),
    ],
)  # fmt: skip
def test_stainless_loads(name, size, ultimate, proof):  # ISO 3506-1
    cls, area = property_classes()[name], threads()[size].stress_area
    assert (cls.ultimate * area, cls.yield_strength * area) == pytest.approx((ultimate, proof), rel=1e-4)
    assert property_classes()[name.replace("A4", "A2")].ultimate == cls.ultimate


def test_torque_of_thread_and_head():
    # VDI 2230: 10 kN, M8, friction 0.12, D_km 11 mm; with 1/cos 30 in place of 0.577 x 2 it is 13.5694.
    torque = 10e3 * torque_arm(threads()["M8"], 0.12, 11 * MM)
    assert torque == pytest.approx(published("BT-07"), rel=1e-4)
    assert torque == pytest.approx(13.5694, rel=3e-4)


def test_preload_from_torque_comes_back():
    # Without scatter and settling the torque of 10 kN gives 10 kN; D_km is (13 + 9)/2.
    how = Tightening(torque=13.5664, friction=(0.12, 0.12), scatter=0.0)
    found = preload(group(*FOUR, tightening=how, embedding=0.0))
    assert (found.least, found.greatest) == pytest.approx((10e3, 10e3), rel=1e-4)


def test_scatter_widens_the_preload_and_settling_lowers_it():
    how = Tightening(torque=13.5664, friction=(0.08, 0.16), scatter=0.1)
    g = group(*FOUR, tightening=how, embedding=5e-6)
    t = g.thread
    found = preload(g)
    loss = 5e-6 / (bolt_resilience(g) + clamped_resilience(g))
    assert found.least == pytest.approx(0.9 * 13.5664 / torque_arm(t, 0.16, 11 * MM) - loss)
    assert found.greatest == pytest.approx(1.1 * 13.5664 / torque_arm(t, 0.08, 11 * MM))


def test_a_countersunk_head_takes_more_torque():
    # A cone of 90 degrees presses with F/sin 45 on its face.
    t = threads()["M8"]
    cap, sunk = (torque_arm(t, 0.12, 11 * MM, head=h) for h in (Head.CAP, Head.COUNTERSUNK))
    assert sunk - cap == pytest.approx(0.12 * 5.5 * MM * (1 / math.sin(math.pi / 4) - 1))


@pytest.mark.parametrize(
    ("size", "external", "internal"),
    [("M8", published("BT-11a"), 16.8285), ("M6", 8.64576, published("BT-12"))],
)
def test_strip_areas(size, external, internal):  # FED-STD-H28/2, 6g in 6H, per mm engaged
    found = np.array(strip_areas(threads()[size])) / MM
    assert found == pytest.approx([external, internal], rel=1e-5)


@pytest.mark.parametrize("size", ["M4", "M5", "M6", "M8", "M10", "M12"])
def test_tolerances_follow_the_standards_rules(size):
    # ISO 965-1 from memory: es = 15 + 11 P, Td = 180 P^(2/3) - 3.15/sqrt(P), Td2 = 90 P^0.4 d^0.1,
    # TD2 = 1.32 Td2 (micrometres, d the geometric mean of its range), then rounded to R 40.
    t = threads()[size]
    P, d = t.pitch / MM, {"M4": 3.97, "M5": 3.97}.get(size, 7.92 if t.diameter < 11e-3 else 15.84)
    td2 = 90 * P**0.4 * d**0.1
    td1 = 230 * P**0.7 if P >= 1 else 433 * P - 190 * P**1.22
    rule = [15 + 11 * P, 180 * P ** (2 / 3) - 3.15 / math.sqrt(P), td2, td1, 1.32 * td2]
    found = [v * 1e6 for v in (t.deviation, t.major, t.bolt_pitch, t.minor, t.nut_pitch)]
    assert found == pytest.approx(rule, rel=0.06)


@pytest.mark.parametrize(("size", "area"), [("M6", 20.1), ("M8", 36.6)])
def test_resistances(size, area):
    # EN 1999-1-1: 0.9 and 0.5 of f_ub A_s over 1.25, with the printed areas, A4-80: to their last digit.
    g = group(*FOUR, size=size)
    assert tension_resistance(g) == pytest.approx(0.9 * 800 * area / 1.25, rel=2e-3)
    assert shear_resistance(g) == pytest.approx(0.5 * 800 * area / 1.25, rel=2e-3)
    per_area = tension_resistance(g) / g.thread.stress_area * area * 1e-6
    assert per_area == pytest.approx({20.1: 11577.6, 36.6: 21081.6}[area], rel=1e-9)
    assert shear_resistance(g) * per_area / tension_resistance(g) == pytest.approx(
        {20.1: 6432, 36.6: 11712}[area], rel=1e-9
    )


def test_countersunk_and_8_8_resistances():  # EN 1999-1-1: k2 = 0.63, alpha_v = 0.6
    g = group(*FOUR, name="8.8", head=Head.COUNTERSUNK)
    area = g.thread.stress_area
    assert tension_resistance(g) == pytest.approx(0.63 * 800e6 * area / 1.25)
    assert shear_resistance(g) == pytest.approx(0.6 * 800e6 * area / 1.25)


def test_bearing():
    # Hand: e 14, d0 9, fu 290: alpha = 14/27, k1 = min(2.8 x 14/9 - 1.7, 2.5) = 2.5; d 8, t 10.
    g = group((-45, 0), (45, 0), edge_distance=14 * MM)
    assert bearing_resistance(g) == pytest.approx(2.5 * 14 / 27 * 290e6 * 8e-3 * 10e-3 / 1.25)
    # Bolts 20 mm apart: alpha = 20/27 - 1/4 = 0.4907 governs, k1 = 1.4 x 20/9 - 1.7 = 1.4111.
    close = group((-10, 0), (10, 0), edge_distance=14 * MM)
    expected = (1.4 * 20 / 9 - 1.7) * (20 / 27 - 0.25) * 290e6 * 8e-3 * 10e-3 / 1.25
    assert bearing_resistance(close) == pytest.approx(expected)


def test_stripping_is_of_the_softer_thread():
    g = group(*FOUR, engagement=16 * MM, engaged=ALUMINIUM)
    force, which = strip_resistance(g)
    # Internal 16.8285 mm2/mm over 16 mm less 0.8 pitches of 1.25 mm.
    assert force == pytest.approx(16.8285e-3 * (16 - 1) * MM * 290e6 / math.sqrt(3) / 1.25, rel=1e-5)
    assert which == "thread in test aluminium"
    hard = replace(ALUMINIUM, ultimate_strength=2000e6)
    force, which = strip_resistance(replace(g, engaged=hard))
    assert force == pytest.approx(12.1612e-3 * 15 * MM * 800e6 / math.sqrt(3) / 1.25, rel=1e-5)
    assert which == "thread of the bolt"


def test_stress_of_tension_and_torsion():
    # By hand for M8: 10 kN on 36.6085 mm2 and 5 N m on a rod of (7.18810 + 6.46641)/2 = 6.827255 mm.
    tension, rod = 10e3 / 36.6085, 6.827255
    shear = 5e3 / (math.pi * rod**3 / 16)
    found = bolt_stress(group(*FOUR), 10e3, 5.0) / 1e6
    assert found == pytest.approx(math.hypot(tension, math.sqrt(3) * shear), rel=1e-5)


@pytest.mark.parametrize("grip", [2, 10, 40])
def test_the_clamped_cone_is_its_integral(grip):
    g = group(*FOUR, plate_thickness=grip * MM)

    def slice_(z):
        return 1 / (math.pi / 4 * ((13 * MM + 2 * z * CONE) ** 2 - (9 * MM) ** 2) * ALUMINIUM.E)

    assert clamped_resilience(g) == pytest.approx(quad(slice_, 0, grip * MM)[0], rel=1e-8)


def test_stiffness_of_the_clamped_plate_by_shigley():
    # Shigley, frusta: k = 0.5774 pi E d / ln[(1.155 t + D - d)(D + d)/((1.155 t + D + d)(D - d))].
    t, D, d = 10.0, 13.0, 9.0
    ratio = (1.155 * t + D - d) * (D + d) / ((1.155 * t + D + d) * (D - d))
    k = 0.5774 * math.pi * 70e3 * d / math.log(ratio)  # N/mm
    assert 1 / clamped_resilience(group(*FOUR)) == pytest.approx(k * 1e3, rel=1e-3)


def test_springs_beside_and_behind_one_another():
    # Preloaded: bolt and plate side by side, the insert behind both. Without: bolt and insert in line.
    slack = group(*FOUR, insert_stiffness=8e6)
    tight = replace(slack, tightening=Tightening(preload=10e3))
    bolt, plate = bolt_resilience(slack), clamped_resilience(slack)
    assert 1 / axial_stiffness(slack) == pytest.approx(bolt + 1 / 8e6)
    assert 1 / axial_stiffness(tight) == pytest.approx(1 / (1 / bolt + 1 / plate) + 1 / 8e6)
    assert load_factor(tight) == pytest.approx((1 / bolt) / (1 / bolt + 1 / plate))


def test_bolt_resilience_by_hand():
    # VDI 2230, M8 in aluminium: 0.4 d and 0.33 d on 50.2655 mm2, grip + 0.5 d on the root, 32.8411 mm2.
    root = math.pi / 4 * 6.46641**2
    by_hand = 3.2 / (193e3 * 50.2655) + 14 / (193e3 * root) + 2.64 / (70e3 * 50.2655)  # mm/N
    assert bolt_resilience(group(*FOUR)) == pytest.approx(by_hand * 1e-3, rel=1e-5)


def test_four_bolts_under_an_eccentric_shear():
    # Shigley: 16 kN at 425 mm from the centroid of four bolts at (+-75, +-60): 21.0 and 14.8 kN.
    g = group((-75, -60), (-75, 60), (75, -60), (75, 60))
    shear = bolt_shear(g, np.array([0, 16e3, 0, 0, 0, 16e3 * 0.425]))
    size = np.sort(np.hypot(*shear.T)) / 1e3
    assert size == pytest.approx(
        [published("BT-08b"), published("BT-08b"), published("BT-08a"), published("BT-08a")], rel=1e-5
    )
    assert size[[0, -1]] == pytest.approx([14.8, 21.0], abs=0.05)
    assert shear.sum(axis=0) == pytest.approx([0, 16e3])


def test_base_plate_under_a_moment():
    # Rows at +-45 mm of two bolts, 1500 N m: M y / sum y^2 = 8333.33 N. +My stretches the bolts ahead.
    g = group(*FOUR)
    found = bolt_tension(g, np.array([0, 0, 0, 0, 1500, 0]))
    assert found == pytest.approx([8333.333333, 8333.333333, -8333.333333, -8333.333333], rel=1e-9)
    # Tipping on an edge, rows 15 and 105 mm from it: M y/sum y^2 = 7000 N. The centroid is the worse.
    assert found.max() > 1500e3 * 105 / (2 * 15**2 + 2 * 105**2)


def test_moments_split_by_the_square_of_the_arms():
    # Rolling +Mx pulls at +y; with 800 N along z each has 200 more.
    found = bolt_tension(group(*FOUR), np.array([0, 0, 800, 60, 0, 0]))
    assert found == pytest.approx([200 - 750, 200 + 750, 200 - 750, 200 + 750])


def test_bolts_balance_any_wrench():
    rng = np.random.default_rng(3)
    g = group((-40, -30), (60, -10), (10, 45), (-5, 20))
    at = np.array(g.positions)
    for w in rng.normal(size=(5, 6)) * 100:
        tension, shear = bolt_tension(g, w), bolt_shear(g, w)
        total = [
            *shear.sum(axis=0), tension.sum(), at[:, 1] @ tension, -at[:, 0] @ tension,
            at[:, 0] @ shear[:, 1] - at[:, 1] @ shear[:, 0],
        ]  # fmt: skip
        assert total == pytest.approx(w)


def test_bolts_on_one_line_hang_on_the_edge_of_the_face():
    g = group((-30, 0), (30, 0), face=(0.1, 0.016), tightening=Tightening(preload=10e3))
    w = np.array([0, 0, 0, 40.0, 0, 0])
    # Tipping: 40 N m over 8 mm, shared by two. Lifting begins at P b/6: a third of that arm.
    assert bolt_tension(g, w) == pytest.approx([2500, 2500])
    assert bolt_tension(g, w, opening=True) == pytest.approx([7500, 7500])


def test_four_bolts_as_springs():
    # Closed forms: n k, k sum y^2, k sum x^2; in the plane n k and k sum r^2.
    g = group(*FOUR, insert_stiffness=8e6, insert_shear_stiffness=5e6)
    c, k = plate_compliance(g), axial_stiffness(g)
    expected = [
        1 / (4 * 5e6), 1 / (4 * 5e6), 1 / (4 * k), 1 / (4 * k * 0.020**2), 1 / (4 * k * 0.045**2),
        1 / (4 * 5e6 * (0.020**2 + 0.045**2)),
    ]  # fmt: skip
    assert np.diag(c) == pytest.approx(expected)
    assert np.abs(c - np.diag(np.diag(c))).max() < 1e-18


def test_bolts_off_the_stacking_line_turn_about_their_own_centre():
    # Shifted by 30 mm aft: a force along z at the stacking line has an arm of 30 mm to the centroid.
    plain = group(*FOUR, insert_shear_stiffness=5e6)
    moved = replace(plain, positions=tuple((x + 0.03, y) for x, y in plain.positions))
    a, b = plate_compliance(plain), plate_compliance(moved)
    assert b[2, 2] == pytest.approx(a[2, 2] + 0.03**2 * a[4, 4])
    assert b[1, 1] == pytest.approx(a[1, 1] + 0.03**2 * a[5, 5])
    assert b[3:, 3:] == pytest.approx(a[3:, 3:], abs=1e-18)


def test_bolts_on_one_line_need_a_preload():
    with pytest.raises(InputError, match="fold"):
        plate_compliance(group((-30, 0), (30, 0)))
    tight = group((-30, 0), (30, 0), tightening=Tightening(preload=10e3))
    D = 13 * MM + 2 * 10 * MM * CONE
    c = plate_compliance(tight)
    assert c[3, 3] == pytest.approx(1 / (2 * axial_stiffness(tight) * D**2 / 16))
    assert c[3, 3] > 10 * c[4, 4]


@pytest.mark.parametrize("towards", [-1, 1])
def test_two_contacts(towards):
    # Statics: a force at the mast's end goes to the first contact alone; a moment to both, M/e each.
    e, k = 0.045, 60e6
    c = fitted_compliance(Fitted(engagement=e, contact_stiffness=k, chord=0.11), towards=towards)
    assert c[1, 1] == pytest.approx(1 / k)
    assert c[3, 3] == pytest.approx(2 / (k * e**2))
    assert c[1, 3] == pytest.approx(towards / (k * e))
    assert c[0, 4] == pytest.approx(-towards / (k * e))
    # Half springs at nose and tail of two contacts: T = 2 k b^2/4 theta.
    assert c[5, 5] == pytest.approx(1 / (2 * k * 0.11**2 / 4))
    assert c[2, 2] == 0


def test_screws_of_a_socket_share_with_its_contacts():
    screws = group((-30, 0), (30, 0), tightening=Tightening(preload=10e3))
    joint = Fitted(engagement=0.045, contact_stiffness=60e6, chord=0.11, screws=screws)
    c, ks = fitted_compliance(joint, towards=1), axial_stiffness(screws)
    assert c[2, 2] == pytest.approx(1 / (2 * ks))
    # Pitch: contacts k e^2/2 about their middle and screws 2 ks 0.03^2 side by side.
    pitch = 60e6 * 0.045**2 / 2 + 2 * ks * 0.03**2
    assert c[4, 4] == pytest.approx(1 / pitch)
    pull = screw_tension(joint, np.array([0, 0, 0, 0, 100.0, 0]), towards=1)
    assert pull == pytest.approx([100 * ks * 0.03 / pitch, -100 * ks * 0.03 / pitch])


@pytest.mark.parametrize(
    ("ratio", "k1"),
    [(1, 0.14058), (1.5, 0.19576), (2, 0.22868), (4, 0.28081), (10, 0.31233)],
)
def test_torsion_of_a_rectangle(ratio, k1):  # Timoshenko and Goodier, Theory of Elasticity, table
    bar = Bar(along=ratio * 0.02, across=0.02, material=ALUMINIUM)
    assert torsion_constant(bar) == pytest.approx(k1 * ratio * 0.02**4, rel=5e-5)


def test_an_adapter_is_a_cantilever():
    # Timoshenko: L^3/3EI + L/(5/6 G A); a round bar with 9/10 and GJ = G pi d^4/32.
    L, E, G = 0.0635, ALUMINIUM.E, ALUMINIUM.G
    c = bar_compliance(Bar(along=0.15, across=0.06, material=ALUMINIUM), L)
    Ix, A = 0.15 * 0.06**3 / 12, 0.15 * 0.06
    assert c[1, 1] == pytest.approx(L**3 / (3 * E * Ix) + L / (5 / 6 * G * A))
    assert (c[3, 3], c[1, 3]) == pytest.approx((L / (E * Ix), -(L**2) / (2 * E * Ix)))
    rod = bar_compliance(Bar(along=0.04, across=0.04, material=ALUMINIUM, round=True), L)
    assert rod[5, 5] == pytest.approx(L / (G * math.pi * 0.04**4 / 32))
    assert rod[0, 0] == pytest.approx(
        L**3 / (3 * E * math.pi * 0.04**4 / 64) + L / (0.9 * G * math.pi * 0.02**2)
    )
