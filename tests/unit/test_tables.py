"""Terminal tables: what governs, every criterion, and nothing told twice."""

from __future__ import annotations

import dataclasses
import io

from rich.console import Console

from mastcheck.checks.result import MastResult, Verdict
from mastcheck.cli.case_tables import finding_table, strength_table
from mastcheck.cli.tables import assumptions, print_check, print_comparison
from tests.reports import FIBRE, FOAM, compare, make_laminated, make_mast


def _printed(result: MastResult) -> str:
    out = io.StringIO()
    print_check(Console(file=out, width=200), result, "metric")
    return out.getvalue()


def _rows(table: object) -> list[str]:
    out = io.StringIO()
    Console(file=out, width=240).print(table)
    return [" ".join(line.split()) for line in out.getvalue().splitlines()]


def test_every_criterion_of_every_case_is_printed_with_its_place() -> None:
    result = make_laminated(unjudged=True)
    rows = _rows(finding_table(result.cases, "metric"))
    for case in result.cases:
        at = next(i for i, row in enumerate(rows) if row.startswith(case.case.name))
        block = " | ".join(rows[at : at + 4])
        assert "ply 2 of 6 from outside" in block
        assert "core shear test foam" in block
        assert "port face" in block
        assert "not judged 150" in block


def test_the_governing_criterion_leads_each_case() -> None:
    rows = _rows(strength_table(make_laminated().cases, "metric"))
    assert any(r.startswith("cruise skin wrinkling 12.5 MPa 150 -30.0, +8.00 70 %") for r in rows)


def test_one_criterion_keeps_the_stress_column_and_needs_no_second_table() -> None:
    text = _printed(make_mast())
    assert "Strength by criterion" not in text
    assert "stress" in " ".join(_rows(strength_table(make_mast().cases, "metric")))


def test_a_check_that_holds_is_told_once_and_one_that_fails_is_told_again() -> None:
    held = _printed(make_laminated())
    limits = held[held.index("Limits and strength") : held.index("Self-checks")]
    assert "core shear" not in limits
    failed = _printed(make_laminated(level=1.2))
    limits = failed[failed.index("Limits and strength") : failed.index("Self-checks")]
    assert "skin wrinkling" in limits
    assert "FAIL" in limits


def test_a_comparison_says_what_governs_each_mast() -> None:
    out = io.StringIO()
    both = compare(make_laminated(), make_mast())
    print_comparison(Console(file=out, width=200), both, "metric")
    text = out.getvalue()
    assert "What governs each case: Fern Bay 75" in text
    assert "What governs each case: Quay Lane" not in text


def test_plies_and_cores_stand_among_the_assumptions_with_their_sources() -> None:
    lines = assumptions(make_laminated().job, "metric")
    assert f"{FIBRE.name}: {FIBRE.source}" in lines
    assert f"{FOAM.name}: {FOAM.source}" in lines
    assert lines[0].startswith("shell-and-core, naca-4-digit; laminate of test carbon UD")


def test_an_unstable_case_has_no_criterion() -> None:
    result = make_laminated()
    lost = dataclasses.replace(
        result.cases[0], stable=False, findings=(), tip=None, max_von_mises=None, utilisation=None,
        max_at_z=None, max_at_xy=None, buckling_factor=0.9,
    )  # fmt: skip
    rows = _rows(strength_table((lost, *result.cases[1:]), "metric"))
    assert any(row.startswith("cruise – – – – 0.90") for row in rows)


def test_a_failed_self_check_is_said_in_words() -> None:
    result = make_mast()
    assert "do not rely" not in _printed(result)
    broken = dataclasses.replace(result.self_checks[0], verdict=Verdict.FAIL)
    assert "do not rely" in _printed(dataclasses.replace(result, self_checks=(broken,)))
