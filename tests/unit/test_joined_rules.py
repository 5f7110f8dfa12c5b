"""What a check says of joints: which cases, which loads, whose movement, and which verdict."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from mastcheck.checks.joined import joint_cautions, joint_checks, solve_joints
from mastcheck.checks.joint_result import JointsResult
from mastcheck.checks.result import MastResult, Verdict
from mastcheck.foil import Foil, Wing
from mastcheck.joint import Adapter, BoltedPlate, Fitted, Joints, Tightening
from mastcheck.joints.finding import JointCriterion, JointFinding
from mastcheck.joints.findings import STATED
from mastcheck.joints.play import lost_motion
from mastcheck.loadcase import LoadCase
from tests.reference.test_bolts import FOUR, group
from tests.reference.test_joined import BOX, L, given, solved

PUSH = LoadCase(name="push", force=(0.0, 10.0, 0.0))
TIGHT = Tightening(preload=4000.0)


@pytest.fixture(scope="module")
def pushed() -> MastResult:
    """10 N sideways at the tip: a soft adapter under a stiff one, boxes, and a bolted tip."""
    stiff = given(*[1e-13] * 3, *[1e-11] * 3)
    adapters = (
        Adapter(length=0.05, body=given(0, 0, 0, 1e-4, 0, 0)),
        Adapter(length=0.06, body=stiff, bolts=BOX),
    )
    tip = BoltedPlate(bolts=group(*FOUR, tightening=TIGHT))
    return solved(Joints(base=BoltedPlate(bolts=BOX), adapters=adapters, tip=tip), PUSH)


def test_a_part_moves_the_tip_by_its_turn_and_its_distance(pushed: MastResult) -> None:
    """An adapter whose mast end lies 60 mm before the base turns by M/k, M = F (L + 60 mm), and moves
    the tip by as much times L + 60 mm; rolling, +Mx moves it to -y.
    """
    assert pushed.joints is not None
    (budget,) = pushed.joints.budgets
    roll = 10.0 * (L + 0.06) * 1e-4
    part = budget.movement[budget.parts.index("adapter 1")]
    assert part[1] == pytest.approx(roll * (L + 0.06), rel=1e-4)
    assert part[3] == pytest.approx(-roll, rel=1e-4)


def test_tip_and_base_are_given_the_loads_at_their_own_places(pushed: MastResult) -> None:
    """Shear is the same all along; the moment is F L at the base and nil where the load is."""
    assert pushed.joints is not None
    ((_, loads),) = pushed.joints.bolts
    seen = {one.joint: one for one in loads}
    for name, arm in (("tip joint", 0.0), ("base joint", L), ("adapter 2 bolts", L + 0.06)):
        got = seen[name].service_wrench
        assert got[1] == pytest.approx(10.0, rel=1e-4)
        assert got[3] == pytest.approx(-10.0 * arm, rel=1e-3, abs=1e-3)


def test_a_case_without_a_balance_is_left_out_and_those_after_it_are_not(pushed: MastResult) -> None:
    (case,) = pushed.cases
    lost = replace(case, line=None)
    weak = replace(case, strength_line=None)
    found = solve_joints(pushed.job, [lost, weak, case])
    assert found is not None
    assert [b.case for b in found.budgets] == [name for name, _ in found.bolts] == ["push"]


def test_only_a_tip_with_a_loose_screw_is_in_doubt(pushed: MastResult) -> None:
    screws = group((-30, 0), (30, 0), tightening=TIGHT)
    socket = Fitted(engagement=0.045, contact_stiffness=6e7, chord=0.1, screws=screws)
    for tip, doubtful in (
        (None, ()), (given(1e-7, 1e-7, 1e-9, 1e-5, 1e-5, 1e-5), ()), (socket, ()),
        (replace(socket, loose_screw=True), ("tip joint",)),
    ):  # fmt: skip
        job = replace(pushed.job, joints=Joints(base=BoltedPlate(bolts=BOX), tip=tip))
        found = solve_joints(job, pushed.cases)
        assert found is not None
        assert found.doubtful == doubtful


def judged(used: float | None, *, doubtful: bool) -> Verdict:
    finding = JointFinding(
        joint="tip joint screws", criterion=JointCriterion.TENSION, case="push", bolt=2, xy=(0.0, 0.0),
        value=3.0, limit=None if used is None else 4.0, unit="N", utilisation=used, where="",
        source=STATED,
    )  # fmt: skip
    result = JointsResult(
        budgets=(), findings=(finding,), bolts=(), plays=(), lost=lost_motion((), L),
        doubtful=("tip joint",) if doubtful else (),
    )  # fmt: skip
    (check,) = joint_checks(result)
    assert (check.name, check.case) == ("tip joint screws: bolt tension, bolt 2", "push")
    assert (check.value, check.utilisation) == (3.0, used)
    return check.verdict


def test_a_bolt_passes_up_to_one_and_where_it_is_not_in_doubt() -> None:
    assert judged(None, doubtful=False) is Verdict.REPORT
    assert judged(None, doubtful=True) is Verdict.REPORT
    for used, plain, doubted in (
        (0.5, Verdict.PASS, Verdict.REPORT), (1.0, Verdict.PASS, Verdict.REPORT),
        (1.0 + 1e-12, Verdict.FAIL, Verdict.FAIL), (np.inf, Verdict.FAIL, Verdict.FAIL),
    ):  # fmt: skip
        assert judged(used, doubtful=False) is plain
        assert judged(used, doubtful=True) is doubted
    assert joint_checks(None) == ()


@pytest.mark.parametrize(("up", "words"), [(1.4495, ["1.4", "0.92"]), (1.4505, ["1.5", "0.93"])])
def test_play_is_told_in_millimetres(pushed: MastResult, up: float, words: list[str]) -> None:
    """A gap c and one of 0.2 mm, contacts 50 mm apart and 100 mm long, half a span of 350 mm: a roll of
    2 c/50 lifts the wing's tip by 14 c, a turn of 2 c/100 and 0.2 mm move it by 7 c + 0.2 mm.
    """
    socket = Fitted(
        engagement=0.05, contact_stiffness=5e7, chord=0.1, clearance=up * 1e-3 / 14,
        clearance_fore_aft=2e-4,
    )  # fmt: skip
    foil = Foil(mass=1.5, wing=Wing(area=0.1, span=0.7, ahead=0.1))
    job = replace(pushed.job, joints=Joints(tip=socket), foil=foil)
    said = joint_cautions(job, solve_joints(job, ()))
    assert said[0].startswith("Play in the tip joint: clearance 0.1 mm sideways and 0.2 mm fore and aft")
    assert re.findall(r"([\d.]+) mm", said[1]) == [*words, "0.1", "350"]
    assert f"given for {job.mast.name}," in said[1]
    held = replace(job, joints=Joints(tip=replace(socket, clearance=None, clearance_fore_aft=None)))
    assert joint_cautions(held, solve_joints(held, ())) == ()
    assert joint_cautions(job, None) == ()
