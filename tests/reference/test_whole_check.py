"""The whole check against solid models, sanity numbers and facts of the trade.

The solid-model figures were read from this project's design notes: a geometrically nonlinear
quadratic solid of a tapered aluminium mast with a fully fixed root.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import mastcheck
from mastcheck.beam.solve import FrameModel, TipLoad
from mastcheck.checks.result import Verdict
from mastcheck.checks.run import check
from mastcheck.checks.stations import CONVERGED, solve_stations
from mastcheck.job import Job
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import STANDARD_CASES, LoadCase, Rider
from tests.masts import mast

PROFILES = Path(__file__).parents[2] / "profiles"
SLENDER = mast()
LANDING = LoadCase(name="landing", n=3.0, roll_offset=0.050, strength_factor=1.0)


@pytest.fixture(scope="module")
def landing():
    """Rider and board of 93 kg landing at 3 g with the load 50 mm off centre."""
    return check(Job(mast=SLENDER, rider=Rider(mass=85.0, gear_mass=8.0), cases=(LANDING,)))


def test_buckling_load_of_the_solid_model(landing) -> None:
    """6.1 kN, printed to two figures."""
    case = landing.cases[0]
    assert case.buckling_factor * case.axial_load == pytest.approx(6100, rel=0.02)


def test_landing_against_the_nonlinear_solid(landing) -> None:
    """29 mm by first order, 53 mm by the nonlinear solid: a factor of 1.79, within 5 %."""
    case = landing.cases[0]
    assert abs(case.first_order_tip.side) == pytest.approx(0.029, rel=0.03)
    assert abs(case.tip.side) == pytest.approx(0.053, rel=0.05)
    assert case.amplification == pytest.approx(1.79, rel=0.05)


def test_self_checks_hold_and_stations_converged(landing) -> None:
    assert {c.verdict for c in landing.self_checks} == {Verdict.PASS}
    assert solve_stations(SLENDER).change < CONVERGED


def test_mass_is_volume_times_density(landing) -> None:
    """Prismoid of similar-in-chord-and-thickness sections: area 0.6808833 t c (closed NACA law)."""
    at = np.linspace(0, 1, 2001)
    area = 0.6808833 * (0.150 - 0.060 * at) * (0.018 - 0.006 * at)
    assert landing.mass == pytest.approx(2700 * 0.75 * np.trapezoid(area, at), rel=1e-3)


def test_sanity_numbers() -> None:
    """A hollow 120 x 15 x 2.5 fails touchdown for 85 kg; 140 x 18 x 3 holds everything."""
    slim = mastcheck.check(mastcheck.load(PROFILES / "aluminium-75-uniform-slim.toml"))
    stout = mastcheck.check(mastcheck.load(PROFILES / "aluminium-75-uniform-stout.toml"))
    assert slim.job.rider.mass == stout.job.rider.mass == 85
    assert "touchdown" in {c.case for c in slim.checks if c.verdict is Verdict.FAIL}
    assert not stout.failed
    assert all(c.utilisation is not None for c in stout.cases)


def test_wide_base_twists_less_for_every_load() -> None:
    """Of two masts alike but for the base chord (common practice, no source).

    Every load that carries a torque. A side force near the shear centre twists either mast by some
    hundredths of a degree, and there its arm decides, which grows with the chord.
    """
    wide, narrow = (
        check(Job(mast=mast((chord, 0.018), (0.1, 0.014), wall=0.003), rider=Rider(mass=85)))
        for chord in (0.150, 0.120)
    )
    assert wide.stiffness.twist_deg_per_10Nm < narrow.stiffness.twist_deg_per_10Nm
    for a, b in zip(wide.cases, narrow.cases, strict=True):
        if a.case.feet_twist or any(a.case.moment):
            assert abs(a.tip.twist) < abs(b.tip.twist), a.case.name


def test_an_adapter_softens_by_what_its_length_predicts() -> None:
    """A plate adapter of 2.5 in on a uniform mast of 26 in (common practice, no source)."""
    blade = mast((0.12, 0.015), (0.12, 0.015), length=26 * 0.0254)
    soft, stiff = (
        solve_stations(replace(blade, length=inch * 0.0254)).compliance for inch in (28.5, 26)
    )
    # Shear flexibility, which grows with the length only, keeps it a little below the cube.
    assert soft[1, 1] / stiff[1, 1] == pytest.approx((28.5 / 26) ** 3, rel=2e-3)
    assert soft[5, 5] / stiff[5, 5] == pytest.approx(28.5 / 26, rel=5e-3)


def test_past_the_buckling_load_is_unstable_and_fails() -> None:
    job = Job(
        mast=mast((0.06, 0.008), (0.06, 0.008), length=1.0),
        rider=Rider(mass=120),
        cases=tuple(c for c in STANDARD_CASES if c.name in ("cruise", "touchdown")),
        limits=(Limit(quantity=Quantity.TWIST, case="touchdown", maximum=0.1),),
    )
    result = check(job)
    case = result.cases[1]
    assert not case.stable
    assert case.buckling_factor < 1
    assert case.tip is None
    assert case.utilisation is None
    failed = [c for c in result.checks if c.case == "touchdown" and c.verdict is Verdict.FAIL]
    assert len(failed) == 3  # buckling, strength, and the limit: nothing passes unseen
    assert any("unstable" in c for c in result.cautions)


def test_more_of_every_load_never_lowers_utilisation() -> None:
    blade = mast((0.14, 0.018), (0.11, 0.015), wall=0.003)
    light, heavy = (check(Job(mast=blade, rider=Rider(mass=m))) for m in (60, 75))
    for a, b in zip(light.cases, heavy.cases, strict=True):
        assert b.utilisation >= a.utilisation * (1 - 1e-6), a.case.name


def test_strength_unknown_is_reported_never_passed() -> None:
    unknown = replace(SLENDER.section.material, proof_strength=None, ultimate_strength=None)
    blade = replace(SLENDER, section=replace(SLENDER.section, material=unknown))
    result = check(Job(mast=blade, cases=(LANDING,)))
    strength = next(c for c in result.checks if c.name.startswith("von Mises"))
    assert strength.verdict is Verdict.REPORT
    assert result.cases[0].utilisation is None
    assert result.cases[0].max_von_mises > 0


def test_spread_side_force_has_its_resultant() -> None:
    """Base shear is half of W; base moment W/2 times the distance to the middle of the wet part."""
    case = replace(next(c for c in STANDARD_CASES if c.side_spread), n=0.0)
    job = Job(mast=SLENDER, cases=(case,))
    line = check(job).cases[0].line
    force = 0.5 * job.rider.weight
    assert line.resultants[0, 2] == pytest.approx(force, rel=1e-4)
    arm = 0.75 * (1 - job.wet_fraction / 2)
    assert -line.resultants[0, 3] == pytest.approx(force * arm, rel=5e-3)


def test_trim_cuts_and_length_stretches() -> None:
    cut, stretched = SLENDER.with_length(0.5, "tip"), SLENDER.with_length(0.5)
    assert cut.stations[-1].chord == pytest.approx(0.110)
    assert SLENDER.with_length(0.5, "base").stations[0].chord == pytest.approx(0.130)
    assert stretched.stations == SLENDER.stations


def test_a_cantilever_rectangle_by_hand() -> None:
    """sigma = M c / I in a slab-like ellipse: pi a b³/4 (handbook), through every floor."""
    outline = mastcheck.OutlineKind.ELLIPSE
    blade = mast((0.12, 0.016), (0.12, 0.016), outline=outline)
    pull = LoadCase(name="pull", force=(0.0, 100.0, 0.0), strength_factor=1.0)
    case = check(Job(mast=blade, cases=(pull,))).cases[0]
    bending = 100 * 0.75 * 0.008 / (math.pi * 0.06 * 0.008**3 / 4)
    assert case.max_von_mises == pytest.approx(bending, rel=5e-3)
    assert case.max_at_z == 0


def test_frame_needs_no_load_to_stand() -> None:
    frame = FrameModel(solve_stations(SLENDER).model)
    state = frame.solve([TipLoad()])
    assert np.abs(state.displacement).max() == 0
