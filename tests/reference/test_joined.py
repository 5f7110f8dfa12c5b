"""Joints in the whole check: against a rigid lever, against sums, and against M L / k."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

import mastcheck
from mastcheck.beam.compliance import tip_compliance
from mastcheck.checks.result import MastResult
from mastcheck.checks.stations import solve_stations
from mastcheck.job import Job
from mastcheck.joint import Adapter, BoltedPlate, Fitted, Given, Joints, Tightening
from mastcheck.joints.bolts import cone_diameter
from mastcheck.joints.plate import axial_stiffness
from mastcheck.loadcase import LoadCase, Rider
from tests.masts import mast
from tests.reference.test_bolts import FOUR, group

L = 0.75
BOX = group(*FOUR, insert_stiffness=8e6, insert_shear_stiffness=12e6)


def given(*compliance: float) -> Given:
    return Given(compliance=tuple(tuple(map(float, row)) for row in np.diag(compliance)))


SOFT = given(1e-7, 2e-7, 1e-9, 4e-5, 2e-5, 6e-5)


def solved(joints: Joints, *cases: LoadCase) -> MastResult:
    job = Job(mast=mast((0.13, 0.018), (0.11, 0.015)), rider=Rider(mass=80.0), joints=joints)
    return mastcheck.check(replace(job, cases=cases) if cases else job)


def rigid(arm: float) -> np.ndarray:
    """Movement of a point from that of another on the same rigid body, ``arm`` nearer the board.

    u + θ × r with r along z: ux + θy r, uy - θx r (any textbook of rigid bodies).
    """
    out = np.eye(6)
    out[0, 4], out[1, 3] = arm, -arm
    return out


def relative(a: np.ndarray, b: np.ndarray) -> float:
    scale = np.sqrt(np.outer(np.diag(b), np.diag(b)))
    return float(np.abs((a - b) / scale).max())


def test_tip_compliance_is_that_of_the_blade_and_of_joints_on_rigid_levers():
    adapter = Adapter(length=0.06, body=given(1e-8, 1e-8, 1e-10, 3e-6, 1e-6, 2e-6))
    tip = given(2e-7, 1e-7, 1e-9, 3e-5, 1e-5, 5e-5)
    joints = Joints(base=SOFT, adapters=(adapter,), tip=tip)
    got = solved(joints)
    blade = tip_compliance(solve_stations(got.job.mast, None).model)
    expected = blade + np.array(tip.compliance)
    for c, arm in ((SOFT.compliance, L), (adapter.body.compliance, L)):
        lever = rigid(arm)
        expected = expected + lever @ np.array(c) @ lever.T
    assert relative(got.tip_compliance, expected) < 1e-9
    # The frame of the second-order solve has them too: the self-check compares it with the sum.
    assert got.self_checks[0].name.startswith("tip compliance: integral against finite elements")
    assert got.self_checks[0].value < 1e-5


def test_four_boxes_turn_as_springs_at_their_arms():
    # Roll about x: stiffness 4 k y²; the side force at the tip adds L²/k_roll to the side compliance.
    got, clamped = (solved(Joints(base=b)) for b in (BoltedPlate(bolts=BOX), None))
    added = got.tip_compliance[1, 1] - clamped.tip_compliance[1, 1]
    k, y = axial_stiffness(BOX), BOX.positions[0][1]
    assert added == pytest.approx(L**2 / (4 * k * y**2) + 1 / (4 * 12e6), rel=1e-6)


def test_the_parts_of_the_budget_add_up_to_the_movement_of_the_tip():
    tip = Fitted(engagement=0.045, contact_stiffness=6e7, chord=0.1, axial_stiffness=1e8)
    adapter = Adapter(length=0.06, body=SOFT, bolts=BOX)
    got = solved(Joints(base=BoltedPlate(bolts=BOX), adapters=(adapter,), tip=tip))
    assert got.joints is not None
    balanced = [c for c in got.cases if c.tip is not None]
    assert len(got.joints.budgets) == len(balanced) > 3
    for budget, case in zip(got.joints.budgets, balanced, strict=True):
        assert budget.case == case.case.name
        assert budget.parts == ("blade", "adapter 1 bolts", "adapter 1", "base joint", "tip joint")
        t = case.tip
        whole = [t.fore_aft, t.side, t.axial, t.roll, t.pitch, t.twist]
        assert budget.movement.sum(axis=0) == pytest.approx(whole, rel=1e-9, abs=1e-12)
        shares = budget.shares(1)
        assert shares is None or shares.sum() == pytest.approx(1)


def test_the_blades_part_is_what_it_bends_when_clamped():
    # The blade's part is a remainder in the solve; alone, clamped, under the same small load it must
    # move as much. With hardly any thrust the second order is gone.
    light = LoadCase(name="carve", n=1e-4, side_force=1e-2)
    with_, without = solved(Joints(base=SOFT), light), solved(Joints(), light)
    blade = with_.joints.budgets[0].movement[0, 1]
    assert blade == pytest.approx(without.cases[0].tip.side, rel=2e-4)


def test_a_socket_that_is_rigid_along_z_finds_its_balance():
    tip = Fitted(engagement=0.045, contact_stiffness=6e7, chord=0.1)
    assert all(c.stable for c in solved(Joints(tip=tip)).cases)


def test_joints_much_stiffer_than_the_blade_change_nothing():
    stiff = given(*[1e-13] * 3, *[1e-11] * 3)
    adapter = Adapter(length=1e-6, body=stiff)
    got, clamped = solved(Joints(base=stiff, adapters=(adapter,), tip=stiff)), solved(Joints())
    assert relative(got.tip_compliance, clamped.tip_compliance) < 1e-4
    # A joint brings a node of its own beside it, and second order on 40 elements is within some 1e-4.
    for a, b in zip(got.cases, clamped.cases, strict=True):
        assert a.stability_factor == pytest.approx(b.stability_factor, rel=5e-4)
        if b.tip is not None:
            assert a.tip.side == pytest.approx(b.tip.side, rel=5e-4, abs=1e-9)
            assert a.tip.twist == pytest.approx(b.tip.twist, rel=5e-4, abs=1e-9)
            assert a.utilisation == pytest.approx(b.utilisation, rel=5e-4)


@pytest.mark.parametrize("k", [5e3, 5e4])
def test_one_soft_base_moves_the_tip_by_moment_times_length_over_stiffness(k: float):
    """The base turns by M/k, and the mast with it: L M/k at the tip."""
    weight = Rider(mass=80.0).weight
    force = 1e-2 * weight  # 9 N, hardly any thrust: second order is below what is compared
    light = LoadCase(name="carve", n=1e-4, side_force=1e-2)
    got = solved(Joints(base=given(0, 0, 0, 1 / k, 0, 0)), light)
    (budget,) = got.joints.budgets
    moment = got.cases[0].line.resultants[0, 3]
    assert abs(moment) == pytest.approx(force * L, rel=1e-3)
    assert budget.parts == ("blade", "base joint")
    assert budget.movement[1, 1] == pytest.approx(-moment * L / k, rel=1e-6)
    assert abs(budget.movement[1, 3]) == pytest.approx(abs(moment) / k, rel=1e-6)
    c = got.tip_compliance[1, 1]
    assert budget.shares(1)[1] == pytest.approx(L**2 / k / c, rel=1e-3)


def test_screws_on_a_line_hold_the_roll_by_their_cone():
    # Two screws on the x axis: about it each is a disc of k D²/16, the second moment of a disc over
    # its area (any handbook: π D⁴/64 over π D²/4).
    line = group((-30, 0), (30, 0), tightening=Tightening(torque=12.0))
    got, clamped = (solved(Joints(tip=t)) for t in (BoltedPlate(bolts=line), None))
    added = got.tip_compliance[3, 3] - clamped.tip_compliance[3, 3]
    d = cone_diameter(line)
    disc = (math.pi * d**4 / 64) / (math.pi * d**2 / 4)
    assert added == pytest.approx(1 / (2 * axial_stiffness(line) * disc), rel=1e-6)
