"""Fatigue: ranges by beam theory and by eigenvalues, the curve by its formula, Miner's sum by hand.

Curve: EN 1999-1-3, 6.2.1, from memory: N = 2e6 (Δσ_C / (γ Δσ))^m1 to 5e6 cycles, then slope m2 from
Δσ_D = Δσ_C (2/5)^(1/m1). The standard's cut-off at 1e8 is left out on purpose.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from mastcheck.beam.solve import FrameModel
from mastcheck.checks.fatigue import fatigue_checks, mirrored, solve_fatigue
from mastcheck.checks.result import Verdict
from mastcheck.checks.stations import SolvedMast, solve_stations
from mastcheck.job import Job
from mastcheck.loadcase import STANDARD_CASES, LoadCase
from mastcheck.mast import OutlineKind
from mastcheck.source import Grade, Source
from mastcheck.strength.fatigue import DetailCurve, Fatigue, damage, normal_range, point_ranges, used
from tests.masts import ALUMINIUM, mast

CHORD, THICK, LENGTH, FORCE = 0.100, 0.020, 0.8, 10.0
BAR = mast((CHORD, THICK), (CHORD, THICK), length=LENGTH, outline=OutlineKind.ELLIPSE)
# A solid ellipse: I = pi a b³ / 4 with half axes a and b.
INERTIA = math.pi * (CHORD / 2) * (THICK / 2) ** 3 / 4
SIDE = LoadCase(name="push", force=(0.0, FORCE, 0.0))
TWIST = LoadCase(name="turn", moment=(0.0, 0.0, 5.0))
CURVE = DetailCurve(
    name="test curve",
    delta_sigma_c=125e6,
    m1=7.0,
    m2=9.0,
    gamma=1.0,
    source=Source(title="invented for a test", grade=Grade.ASSUMED),
)


@pytest.fixture(scope="module")
def bar() -> SolvedMast:
    return solve_stations(BAR)


def _frame(solved: SolvedMast) -> FrameModel:
    return FrameModel(solved.model, keep=[float(z) for z in solved.z])


def _job(fatigue: Fatigue, *cases: LoadCase) -> Job:
    return Job(mast=BAR, cases=cases, fatigue=fatigue)


@pytest.mark.parametrize(("alternating", "times"), [(True, 2.0), (False, 1.0)])
def test_reversed_bending_of_a_bar(bar: SolvedMast, alternating: bool, times: float) -> None:
    """Range 2 M c / I for a reversed tip force, M c / I from no load; beam theory."""
    job = _job(Fatigue(cycles=(("push", 1e6),), alternating=alternating), SIDE)
    result = solve_fatigue(job, bar, _frame(bar))
    assert result is not None
    (worst,) = result.worst
    stress = FORCE * LENGTH * (THICK / 2) / INERTIA
    # The contour is a polygon of 100 panels a side, and its nodes are where stress is read.
    assert worst.greatest.range == pytest.approx(times * stress, rel=2e-3)
    assert worst.z == 0
    assert abs(worst.xy[1]) == pytest.approx(THICK / 2, rel=1e-3)
    assert worst.damage is None


def test_reversed_torque_of_a_bar(bar: SolvedMast) -> None:
    """Pure shear: the range of normal stress on the 45° plane is that of the shear, 2 · 2T/(π a b²)."""
    torque = np.zeros(7)
    torque[5] = 5.0
    shear = 2 * 5.0 / (math.pi * (CHORD / 2) * (THICK / 2) ** 2)
    ranges = point_ranges(bar.sections[2], [torque, -torque])
    assert ranges.max() == pytest.approx(2 * shear, rel=5e-3)
    # On the whole mast the base, which cannot warp, adds axial stress.
    job = _job(Fatigue(cycles=(("turn", 1e6),)), TWIST)
    result = solve_fatigue(job, bar, _frame(bar))
    assert result is not None
    assert result.worst[0].greatest.range > ranges.max()
    assert result.worst[0].z == 0


def test_fore_aft_bending_is_not_lost_by_the_mirror(bar: SolvedMast) -> None:
    """A load alike on both sides has a mirror image equal to itself: its range is that from no load."""
    aft = LoadCase(name="aft", force=(FORCE, 0.0, 0.0))
    both = solve_fatigue(_job(Fatigue(cycles=(("aft", 1e6),)), aft), bar, _frame(bar))
    zero = solve_fatigue(_job(Fatigue(cycles=(("aft", 1e6),), alternating=False), aft), bar, _frame(bar))
    assert both is not None
    assert zero is not None
    assert both.worst[0].greatest.range == pytest.approx(zero.worst[0].greatest.range, rel=1e-9)
    inertia = math.pi * (CHORD / 2) ** 3 * (THICK / 2) / 4
    assert zero.worst[0].greatest.range == pytest.approx(
        FORCE * LENGTH * (CHORD / 2) / inertia, rel=3e-3
    )


def test_the_range_is_the_greatest_eigenvalue_of_the_difference() -> None:
    """Against eigenvalues of the whole 3 × 3 tensor of the difference."""
    for delta in np.random.default_rng(3).normal(size=(50, 3)) * 1e8:
        s, x, y = delta
        tensor = np.array([[0.0, 0.0, x], [0.0, 0.0, y], [x, y, s]])
        assert normal_range(delta) == pytest.approx(np.abs(np.linalg.eigvalsh(tensor)).max(), rel=1e-12)


def test_points_of_the_curve() -> None:
    """125 MPa at 2e6; 125 · 20^(1/7) = 191.7659 MPa at 1e5; 125 · (2/5)^(1/7) = 109.6633 MPa at 5e6."""
    at = np.array([125e6, 191.7659e6, 109.6633e6])
    assert CURVE.cycles(at) == pytest.approx([2e6, 1e5, 5e6], rel=1e-4)
    # Past the knee: half the knee's range lives 2^9 times as long.
    assert float(CURVE.cycles(np.array(CURVE.knee / 2))) == pytest.approx(5e6 * 512, rel=1e-12)
    assert float(CURVE.cycles(np.array(0.0))) == math.inf
    for cycles in (1e4, 2e6, 5e6, 1e9):
        assert float(CURVE.cycles(np.array(CURVE.range_at(cycles)))) == pytest.approx(cycles, rel=1e-9)


def test_the_partial_factor_multiplies_the_range() -> None:
    factored = replace(CURVE, gamma=1.35)
    assert float(factored.cycles(np.array(100e6))) == pytest.approx(
        float(CURVE.cycles(np.array(135e6))), rel=1e-12
    )


def test_damage_is_summed_at_one_point() -> None:
    """2e5 of 2e6 cycles and 1e6 of 5e6: 0.1 + 0.2."""
    ranges = np.array([[125e6, 0.0], [CURVE.knee, 125e6]])
    cycles = np.array([2e5, 1e6])
    assert damage(CURVE, ranges, cycles) == pytest.approx([0.3, 0.5], rel=1e-12)


def test_used_is_the_range_over_that_of_a_damage_of_one() -> None:
    ranges, cycles = np.array([180e6, 60e6, 0.0]), np.array([3e5, 4e7, 1e6])
    size = used(CURVE, ranges, cycles)
    assert damage(CURVE, ranges[:, None] / size, cycles)[0] == pytest.approx(1.0, rel=1e-9)
    # One range alone: it over the curve's at that many cycles.
    alone = used(CURVE, ranges[:1], cycles[:1])
    assert alone == pytest.approx(180e6 / CURVE.range_at(3e5), rel=1e-9)


def test_the_mirror_image_of_a_carve() -> None:
    carve = next(c for c in STANDARD_CASES if c.name == "carve")
    other = mirrored(carve)
    assert (other.roll_offset, other.side_force, other.feet_twist) == (0.060, -0.15, -0.10)
    assert (other.n, other.offset, other.lift) == (carve.n, carve.offset, carve.lift)
    assert mirrored(other) == carve


@pytest.mark.parametrize(("cycles", "verdict"), [(1e4, Verdict.PASS), (1e12, Verdict.FAIL)])
def test_a_stated_curve_judges(bar: SolvedMast, cycles: float, verdict: Verdict) -> None:
    heavy = replace(SIDE, force=(0.0, 20 * FORCE, 0.0))
    job = _job(Fatigue(cycles=(("push", cycles),), curve=CURVE), heavy)
    (row,) = fatigue_checks(solve_fatigue(job, bar, _frame(bar)))
    assert row.verdict is verdict
    assert row.utilisation is not None
    assert (row.value > 1) == (row.utilisation > 1)


def test_without_a_curve_for_the_material_nothing_passes(bar: SolvedMast) -> None:
    for curve in (None, replace(CURVE, material="something else")):
        job = _job(Fatigue(cycles=(("push", 1.0),), curve=curve), SIDE)
        (row,) = fatigue_checks(solve_fatigue(job, bar, _frame(bar)))
        assert row.verdict is Verdict.REPORT
        assert row.limit is None
        assert row.unit == "MPa"


def test_a_category_judges_aluminium_alone(bar: SolvedMast) -> None:
    assert ALUMINIUM.galvanic_group == "aluminium"
    category = replace(CURVE, aluminium_only=True)
    job = _job(Fatigue(cycles=(("push", 1.0),), curve=category), SIDE)
    (row,) = fatigue_checks(solve_fatigue(job, bar, _frame(bar)))
    assert row.verdict is Verdict.PASS


def test_a_case_that_buckles_fails(bar: SolvedMast) -> None:
    crushed = LoadCase(name="crush", n=100.0)
    job = _job(Fatigue(cycles=(("crush", 1e6),), curve=CURVE), crushed)
    result = solve_fatigue(job, bar, _frame(bar))
    assert result is not None
    assert result.unstable == ("crush",)
    (row,) = fatigue_checks(result)
    assert row.verdict is Verdict.FAIL


def test_a_case_that_was_not_asked_for_is_not_summed(bar: SolvedMast) -> None:
    job = _job(Fatigue(cycles=(("push", 1e6), ("pump", 1e6)), curve=CURVE), SIDE)
    result = solve_fatigue(job, bar, _frame(bar))
    assert result is not None
    assert result.missing == ("pump",)
    assert fatigue_checks(result) == ()
