"""The verdict in words: a case that does not stand, what is used, and what was not judged."""

from __future__ import annotations

import dataclasses
import io
import math
from typing import Any

import pytest
from rich.console import Console

from mastcheck.checks.quiver_result import WingResult
from mastcheck.checks.result import CaseResult, Check, MastResult, SelfCheck, Verdict
from mastcheck.cli import case_tables
from mastcheck.loadcase import Lift
from mastcheck.report.amplification import band_table
from mastcheck.report.quiver import check_words
from mastcheck.report.results import case_table, moved_table
from mastcheck.report.strength import governed_by
from mastcheck.report.verdict import answer, judged_cell, unstable_words
from tests.reports import UNKNOWN, make_laminated, make_mast


def fallen(factor: float, *, shaky: bool = False, need: float = 1.5) -> CaseResult:
    """A case that is unstable, though linear theory may say that it holds."""
    case = make_mast().cases[0]
    return dataclasses.replace(
        case, case=dataclasses.replace(case.case, strength_factor=need), stable=False, tip=None,
        buckling_factor=factor, shaky=shaky,
    )  # fmt: skip


def with_case(case: CaseResult) -> MastResult:
    mast = make_mast()
    return dataclasses.replace(mast, cases=(case, *mast.cases[1:]))


@pytest.mark.parametrize(
    ("case", "said"),
    [
        (fallen(0.93), "unstable: buckles at 0.93 times the service load"),
        (fallen(1.3), "unstable: buckles at 1.30 times the service load"),
        (
            fallen(2.5),
            "unstable: no balanced shape was found at up to 1.50 times the service load, below where it"
            " buckles by linear theory, 2.50 times",
        ),
        (
            fallen(2.5, shaky=True),
            "unstable: the balanced shape does not stand at up to 1.50 times the service load, below"
            " where it buckles by linear theory, 2.50 times",
        ),
        (
            fallen(math.inf, need=0.8),
            "unstable: no balanced shape was found at up to 1.00 times the service load",
        ),
    ],
)
def test_a_case_that_does_not_stand_says_what_was_found(case: CaseResult, said: str) -> None:
    assert unstable_words(case) == said
    # The terminal says the same, in its own words.
    spoken = case_tables.unstable_words(case).removeprefix("UNSTABLE: ").partition(" (")[0]
    assert spoken == said.removeprefix("unstable: ")
    assert f"{case.case.name}: {said}" in answer(with_case(case))["reasons"]


def words_of(table: Any, row: int) -> list[str]:
    return [c["t"] if isinstance(c, dict) else c for c in table["rows"][row]]


@pytest.mark.parametrize(
    ("case", "asks"), [(fallen(0.93), False), (fallen(1.3), True), (fallen(2.5), False)]
)
def test_only_a_case_between_service_and_strength_load_is_held_against_the_latter(
    case: CaseResult, asks: bool
) -> None:
    said = words_of(case_table(with_case(case), "metric"), 0)[1]
    assert ("; the strength check asks for 1.5 times" in said) == asks
    assert words_of(moved_table(with_case(case), "metric"), 0)[1] == unstable_words(case)


def test_a_case_that_never_buckles_and_one_that_flutters_say_so() -> None:
    case = make_mast().cases[0]
    never = dataclasses.replace(case, buckling_factor=math.inf)
    assert words_of(case_table(with_case(never), "metric"), 0)[1] == "never"
    follows = dataclasses.replace(never, flutter_factor=2.25)
    assert words_of(case_table(with_case(follows), "metric"), 0)[1] == "never; flutters at 2.25"
    none = dataclasses.replace(never, flutter_factor=math.inf)
    assert words_of(case_table(with_case(none), "metric"), 0)[1] == "never; no flutter found"


def test_a_limit_failed_without_end_is_no_percentage() -> None:
    endless = Check(
        name="pull-out", case="carve", value=1.0, limit=0.0, unit="N", utilisation=math.inf,
        verdict=Verdict.FAIL,
    )  # fmt: skip
    plain = dataclasses.replace(endless, name="slip", case="", utilisation=1.234)
    bare = dataclasses.replace(endless, name="seat", utilisation=None)
    mast = dataclasses.replace(make_mast(), checks=(endless, plain, bare))
    found = answer(mast)
    assert found["word"] == "FAILS"
    assert "carve: pull-out over its limit, nothing left to hold it" in found["reasons"]
    assert "slip over its limit, 123 % of the limit" in found["reasons"]
    assert "carve: seat over its limit" in found["reasons"]
    assert found["count"].startswith("3 failed, 0 passed")


def test_a_failed_self_check_takes_the_pass_away() -> None:
    broken = SelfCheck(name="warping", value=0.2, limit=0.01, verdict=Verdict.FAIL)
    mast = make_mast()
    assert answer(dataclasses.replace(mast, self_checks=(broken,)))["word"] == (
        "LIMITS HELD, BUT A SELF-CHECK FAILED"
    )
    reasons = answer(dataclasses.replace(mast, self_checks=(broken,)))["reasons"]
    assert any("do not rely on these numbers" in reason for reason in reasons)


def test_what_is_not_judged_is_never_a_pass() -> None:
    unjudged = make_mast(material=UNKNOWN)
    assert answer(unjudged)["word"] == "NOT JUDGED"
    assert judged_cell(unjudged.cases[0]) == {"t": "not judged", "mood": "open"}
    part = make_laminated(unjudged=True)
    assert judged_cell(part.cases[0]) == {"t": "pass, in part", "mood": "open"}
    over = make_mast(level=1.2)
    assert judged_cell(over.cases[0]) == {"t": "fail", "mood": "bad"}


def test_what_governs_a_case_without_findings_is_its_stress() -> None:
    case = make_mast().cases[0]
    assert case.max_von_mises is not None
    assert governed_by(case, "metric").endswith("MPa at 0 (0.0, 9.0)")
    assert " at " not in governed_by(dataclasses.replace(case, max_at_z=None), "metric")
    assert governed_by(dataclasses.replace(case, max_von_mises=None), "metric") == ""
    findings = make_laminated().cases[0].findings
    judged = dataclasses.replace(case, findings=findings)
    # The face's wrinkling uses all of the case's utilisation, strain nine tenths of it, the core half.
    assert governed_by(judged, "metric") == "skin wrinkling 12.5 MPa at 150 (−30.0, 8.0)"


def test_a_way_of_lift_that_a_case_was_not_asked_for_is_left_empty() -> None:
    mast = make_mast()
    only = dataclasses.replace(mast.cases[0], amplification_by_lift={str(Lift.THROUGH_RIDER): 1.31})
    table = band_table(dataclasses.replace(mast, cases=(only, *mast.cases[1:])))
    assert table is not None
    assert "–" in words_of(table, 0)
    assert "–" not in words_of(table, 1)[:-1]
    alone = tuple(dataclasses.replace(only, case=c.case) for c in mast.cases)
    assert band_table(dataclasses.replace(mast, cases=alone)) is None


def test_a_wing_of_which_nothing_was_judged_says_so() -> None:
    wing = WingResult(
        name="large", area=0.2, span=0.9, failed=False, passed=False, check=None, case="",
        utilisation=None, failures=(), stability_factor=math.inf, divergence_speed=None,
        twist_frequency=None,
    )  # fmt: skip
    assert check_words(wing) == "none judged"
    assert check_words(dataclasses.replace(wing, check="side", case="carve")) == "side; carve"
    assert check_words(dataclasses.replace(wing, check="divergence")) == "divergence"


def test_tables_without_rows_say_none() -> None:
    assert str(case_tables.check_table((), "metric")) == "none"
    assert str(case_tables.self_check_table(())) == "none"
    out = io.StringIO()
    case_tables.say_unstable(Console(file=out, width=300), with_case(fallen(2.5)))
    assert out.getvalue().startswith(f"{make_mast().cases[0].case.name}: UNSTABLE: no balanced shape")
