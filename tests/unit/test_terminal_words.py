"""What a terminal adds where something was not judged, does not stand or could not be inferred."""

from __future__ import annotations

import dataclasses
import io
from collections.abc import Callable
from typing import Any

import pytest
from rich.console import Console

from mastcheck.checks.joint_result import JointsResult
from mastcheck.checks.measured import Band, Measured, OtherOutline
from mastcheck.checks.result import MastResult, SelfCheck, Verdict
from mastcheck.cli import measured
from mastcheck.cli.measurements import Measurements
from mastcheck.cli.tables import BAND_HEADING, print_check, print_comparison
from mastcheck.files.written import CUT_SHORT
from mastcheck.mast import Mast, OutlineKind
from mastcheck.strength.fatigue import FatigueResult
from tests.masts import mast
from tests.reports import compare, make_mast
from tests.unit.test_fatigue_words import ASKED, worst
from tests.unit.test_nothing_to_draw import NONE, budget


def shown(print_it: Callable[..., None], *what: Any) -> str:
    out = io.StringIO()
    print_it(Console(file=out, width=200), *what, "metric")
    return out.getvalue()


def test_a_mast_without_load_cases_has_no_table_of_their_amplification() -> None:
    plain = make_mast()
    assert BAND_HEADING in shown(print_check, plain)
    bare = dataclasses.replace(plain, cases=(), checks=())
    said = shown(print_check, bare)
    assert BAND_HEADING not in said
    assert "Stiffness at the tip" in said


def test_what_the_curve_does_not_judge_is_told_under_the_table_of_fatigue() -> None:
    def told(*found: Any) -> str:
        result = FatigueResult(fatigue=ASKED, worst=found)
        return shown(print_check, dataclasses.replace(make_mast(), fatigue=result))

    assert "Not judged: liner: a detail category judges" in told(worst(), worst("liner", None))
    assert "Not judged: liner" not in told(worst())
    assert "Fatigue at service load" not in told()


def test_joints_and_cases_that_do_not_stand_are_told_in_a_comparison() -> None:
    joints: JointsResult = dataclasses.replace(NONE, budgets=(budget("carve"),))
    joined = dataclasses.replace(make_mast("Gannet"), joints=joints)
    falls = make_mast("Heron", unstable=True)
    said = shown(print_comparison, compare(joined, falls))
    assert "Flex budget of Gannet: tip side deflection" in said
    assert said.count("Flex budget") == 1
    assert "touchdown: UNSTABLE: buckles at 0.93 times the service load" in said
    alone = shown(print_comparison, compare(make_mast("Gannet"), make_mast("Heron")))
    assert "UNSTABLE" not in alone
    assert "Flex budget" not in alone


def test_a_failed_self_check_is_said_below_its_table() -> None:
    broken = SelfCheck(name="warping", value=0.2, limit=0.01, verdict=Verdict.FAIL)
    warning = "A self-check failed: do not rely on the numbers of this mast."
    doubted: MastResult = dataclasses.replace(make_mast(), self_checks=(broken,))
    assert warning in shown(print_check, doubted)
    assert warning not in shown(print_check, make_mast())


def band(value: float, low: float, high: float) -> Band:
    return Band(value=value, low=low, high=high, spread=0.05)


def weighed(made: Mast, **changes: Any) -> Measured:
    whole = Measured(
        mast=made, weighed=1.2, size_error=2e-4, mass_error=0.01, mass=band(1.2, 1.15, 1.25),
        wall=band(0.002, 0.0018, 0.0022), core_share=None, sections=(), effects=(), clamped=False,
    )  # fmt: skip
    return dataclasses.replace(whole, **changes)


def test_an_inferred_wall_is_said_to_be_no_measured_one() -> None:
    (said,) = measured.cautions(weighed(mast(wall=0.002)))
    assert said.startswith("the wall is inferred from the mass, not measured")
    both = list(measured.cautions(weighed(mast(wall=0.002), clamped=True)))
    assert both[1] == CUT_SHORT


@pytest.mark.parametrize(
    ("mass", "agrees"),
    [(1.2, True), (1.259, True), (1.261, False), (1.141, True), (1.139, False)],
)
def test_a_solid_mast_that_does_not_weigh_what_it_should_is_doubted(mass: float, agrees: bool) -> None:
    """Within the errors of scale and sizes together: 10 g on 1.15 to 1.25 kg."""
    solid = weighed(mast(), wall=None, weighed=mass)
    assert solid.mass_agrees == agrees
    said = list(measured.cautions(solid))
    assert bool(said) != agrees
    assert all(words.startswith("the mass does not fit: solid it would be 1.2 kg") for words in said)


def test_what_other_outlines_would_give_is_said_where_none_was_stated() -> None:
    given = Measurements(length="750 mm", mass="1.2 kg", station=("0 mm: 120 mm x 15 mm",))
    others = (
        OtherOutline(outline=OutlineKind.ELLIPSE, wall=0.0015, EI_side=1.1, GJ=0.95),
        OtherOutline(outline=OutlineKind.SLAB, EI_side=1.3, GJ=1.2),
        OtherOutline(outline=OutlineKind.LENS),
    )
    said = list(measured.said(weighed(mast(wall=0.002)), given, others))
    assert "  were it ellipse: wall 1.5 mm, EI_side +10 %, GJ -5 % at the middle" in said
    assert "  were it slab: EI_side +30 %, GJ +20 % at the middle" in said
    assert "  were it lens: no wall gives this mass" in said
    stated = dataclasses.replace(given, outline=OutlineKind.LENS.value, fittings="100 g")
    said = list(measured.said(weighed(mast(wall=0.002)), stated, ()))
    assert not any("were it" in words for words in said)
    assert "fittings of 100 g taken off: the blade is 1.2 kg" in said
