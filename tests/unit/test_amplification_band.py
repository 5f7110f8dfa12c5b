"""The band of amplifications beside the one that governs, and utilisation along the mast by case."""

from __future__ import annotations

import dataclasses
import io

import pypdf
import pytest
from rich.console import Console

from mastcheck.checks.result import MastResult
from mastcheck.cli.case_tables import band_table as terminal_band
from mastcheck.cli.tables import print_check
from mastcheck.loadcase import Lift
from mastcheck.report import figure_style
from mastcheck.report.amplification import band_table, spread
from mastcheck.report.pdf import pdf
from mastcheck.report.utilisation_figure import utilisation_by_case, utilisation_words
from tests.reports import UNKNOWN, compare, make_mast


def _with_band(result: MastResult, **band: float | None) -> MastResult:
    by_lift = {name.replace("_", "-"): value for name, value in band.items()}
    cases = tuple(
        dataclasses.replace(c, amplification=by_lift[c.case.lift], amplification_by_lift=by_lift)
        for c in result.cases
    )
    return dataclasses.replace(result, cases=cases)


BAND = {"dead": 1.66, "through_rider": 1.31, "follower": 0.92}


def _printed(result: MastResult) -> str:
    out = io.StringIO()
    print_check(Console(file=out, width=200), result, "metric")
    return " ".join(out.getvalue().split())


def test_the_own_lift_governs_and_is_the_bold_one() -> None:
    table = band_table(_with_band(make_mast(), **BAND))
    assert table is not None
    rows = {row[0]: row for row in table["rows"]}
    carve, landing = rows["carve"], rows["touchdown"]
    assert carve[1] == "through rider"
    assert carve[2] == {"t": "1.31", "mood": "strong"}
    assert [cell["mood"] for cell in carve[3:6]] == ["plain", "strong", "plain"]
    assert landing[1] == "dead"
    assert landing[2] == {"t": "1.66", "mood": "strong"}
    assert [cell["t"] for cell in landing[3:6]] == ["1.66", "1.31", "0.92"]
    assert carve[6] == "0.92 to 1.66"


def test_the_follower_is_never_taken_for_a_proof() -> None:
    result = _with_band(make_mast(), **BAND)
    table = band_table(result)
    assert table is not None
    assert any("no proof of stability" in column for column in table["columns"])
    assert "that of a follower is no proof of stability" in _printed(result)
    pages = pypdf.PdfReader(io.BytesIO(pdf(compare(result)))).pages
    text = " ".join(" ".join(p.extract_text() for p in pages).replace("\u200b", "").split())
    assert "is a balanced shape and no proof of stability" in text


def test_an_unstable_lift_leaves_the_band_open() -> None:
    case = _with_band(make_mast(), **{**BAND, "dead": None}).cases[0]
    assert spread(case) == "0.92 to unstable"
    none = dataclasses.replace(case, amplification_by_lift={str(Lift.DEAD): None})
    assert spread(none) == "–"


def test_the_terminal_shows_all_three_beside_the_one_that_governs() -> None:
    out = io.StringIO()
    Console(file=out, width=160).print(terminal_band(_with_band(make_mast(), **BAND).cases))
    line = next(" ".join(x.split()) for x in out.getvalue().splitlines() if x.startswith("touchdown"))
    assert line == "touchdown dead ×1.66 ×1.66 ×1.31 ×0.92 0.92 to 1.66"


def test_an_unstable_case_has_no_governing_number() -> None:
    result = make_mast(unstable=True)
    table = band_table(result)
    assert table is not None
    row = next(r for r in table["rows"] if r[0] == "touchdown")
    assert row[2] == {"t": "unstable", "mood": "bad"}


@pytest.mark.parametrize("count", [1, 2, 3])
def test_every_judged_case_has_a_line_with_its_name(count: int) -> None:
    masts = [make_mast(f"Mast {i}", level=0.6 + 0.1 * i) for i in range(count)]
    figure = utilisation_by_case(masts)
    assert figure is not None
    drawing = figure_style.svg(figure).decode()
    for case in masts[0].cases:
        assert drawing.count(f">{case.case.name}<") == count
    again = utilisation_by_case(masts)
    assert again is not None
    assert figure_style.svg(again).decode() == drawing


def test_cases_that_are_not_drawn_are_named() -> None:
    words = utilisation_words([make_mast(unstable=True), make_mast(material=UNKNOWN)], "metric")
    assert "A: cruise 0.70 at z = 0 mm" in words
    assert "(unstable or not judged: touchdown)" in words
    assert "B: none (unstable or not judged: cruise" in words
    assert utilisation_by_case([make_mast(material=UNKNOWN)]) is None
