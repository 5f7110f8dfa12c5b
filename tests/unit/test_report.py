"""Report, figures, result file: repeatable, readable, and safe against names from outside."""

from __future__ import annotations

import dataclasses
import io
import json
import math
from pathlib import Path

import pypdf
import pytest

from mastcheck.checks.result import Comparison, Verdict
from mastcheck.checks.tolerance_result import Band, TolerancesResult
from mastcheck.errors import InputError
from mastcheck.limit import Limit, Quantity
from mastcheck.report import figure_style, figures
from mastcheck.report.display import factor
from mastcheck.report.json import RESULT_SCHEMA, result_json
from mastcheck.report.pdf import pdf
from mastcheck.report.verdict import answer, verdict
from mastcheck.whole import write_whole
from tests.reports import UNKNOWN, compare, make_mast

HOSTILE = '#panic("x") *b* $x$ <script>'


def _text(data: bytes) -> tuple[int, str]:
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    # Places to break a word are no part of it.
    return len(pages), " ".join(page.extract_text() for page in pages).replace("\u200b", "")


@pytest.fixture(scope="module")
def two() -> Comparison:
    return compare(make_mast(), make_mast(HOSTILE, 0.12, unstable=True))


@pytest.fixture(scope="module")
def two_pdf(two: Comparison) -> bytes:
    return pdf(two)


def test_same_input_gives_same_bytes(two: Comparison, two_pdf: bytes) -> None:
    again = compare(make_mast(), make_mast(HOSTILE, 0.12, unstable=True))
    assert pdf(again) == two_pdf
    assert pdf(two, units="imperial") != two_pdf


def test_settings_of_the_user_do_not_reach_the_figures(two: Comparison) -> None:
    import matplotlib as mpl

    before = figure_style.svg(figures.stiffness_along(two.masts))
    with mpl.rc_context({"font.size": 20, "lines.linewidth": 9, "svg.fonttype": "path"}):
        assert figure_style.svg(figures.stiffness_along(two.masts)) == before


def test_where_the_file_lies_does_not_change_the_report(two_pdf: bytes) -> None:
    masts = compare(make_mast(), make_mast(HOSTILE, 0.12, unstable=True)).masts
    moved = [
        dataclasses.replace(m, job=dataclasses.replace(m.job, file="another/place/mast.toml"))
        for m in masts
    ]
    assert pdf(compare(*moved)) == two_pdf


@pytest.mark.parametrize("count", [1, 2, 4])
def test_three_to_six_pages(count: int) -> None:
    masts = [make_mast(f"Harbour {i} " + "long" * 30, 0.15 - 0.01 * i) for i in range(count)]
    pages, text = _text(pdf(compare(*masts)))
    assert 3 <= pages <= 6
    for page in range(1, pages + 1):
        assert f"page {page} of {pages}" in text
    assert "not approval" in text
    assert "qualified structural review" in text
    assert "Reviewer" in text


def test_a_hostile_name_is_text(two_pdf: bytes) -> None:
    assert HOSTILE in _text(two_pdf)[1]


@pytest.mark.parametrize(
    "name", ["Deseret 𐐀 mast", "bell \x07", "\u202ereversed", "\ud800", "", "_x", "emoji 🏄"]
)
def test_names_that_no_font_can_draw(name: str) -> None:
    made = pdf(compare(make_mast(name), make_mast("plain")))
    if ord(max(name, default="a")) > 0x3000:
        assert "[U+" in _text(made)[1]


def test_unstable_is_said_with_its_factor(two_pdf: bytes) -> None:
    text = " ".join(_text(two_pdf)[1].split())
    assert "unstable: buckles at 0.93 times the service load" in text
    assert "FAILS" in text


def test_unknown_strength_is_never_a_pass() -> None:
    result = make_mast(material=UNKNOWN)
    assert verdict(result)["word"] == "NOT JUDGED"
    text = _text(pdf(compare(result)))[1]
    assert "not judged" in text
    assert "EVERY LIMIT HELD" not in text


def test_a_core_of_unknown_strength_is_named() -> None:
    result = make_mast()
    recipe = dataclasses.replace(result.job.mast.section, core=UNKNOWN)
    job = dataclasses.replace(result.job, mast=dataclasses.replace(result.job.mast, section=recipe))
    found = verdict(dataclasses.replace(result, job=job))
    assert found["word"] == "LIMITS HELD, NOT ALL JUDGED"
    assert any("mystery not judged" in r for r in found["reasons"])


def test_a_mast_measured_from_outside_is_named_so_beside_the_answer() -> None:
    result = make_mast()
    said = "measured from outside: what that leaves open is in no verdict, see the cautions"
    assert said not in answer(result)["reasons"]
    note = "wall 2 mm inferred; measuring errors of 1 mm and 10 g leave at worst EI_side -9 % to +9 %"
    measured = dataclasses.replace(result, job=dataclasses.replace(result.job, notes=(note,)))
    assert said in answer(measured)["reasons"]


def test_movement_without_a_limit_is_said_to_be_not_judged() -> None:
    said = "no limit on movement is set ([limits]): how far it bends and twists is not judged"
    result = make_mast()
    free = dataclasses.replace(result.job, limits=())
    assert said in verdict(dataclasses.replace(result, job=free))["reasons"]
    limit = Limit(quantity=Quantity.TWIST, case="carve", maximum=0.1)
    bound = dataclasses.replace(result.job, limits=(limit,))
    assert said not in verdict(dataclasses.replace(result, job=bound))["reasons"]


def test_what_tolerances_take_over_the_design_strength_stands_with_the_answer() -> None:
    def band(case: str, value: float, half: float) -> Band:
        return Band(
            name="utilisation", case=case, unit="", value=value, changes=(), half_width=half, worst=half
        )

    bands = (band("carve", 0.9, 0.3), band("pump", 0.5, 0.4), band("touchdown", 0.8, 0.25))
    result = dataclasses.replace(make_mast(), tolerances=TolerancesResult(tolerances=(), bands=bands))
    said = "within its tolerances over the design strength: carve, up to 120 %; also touchdown"
    assert said in verdict(result)["reasons"]
    one = dataclasses.replace(result, tolerances=TolerancesResult(tolerances=(), bands=bands[:1]))
    assert said.partition(";")[0] in verdict(one)["reasons"]
    held = TolerancesResult(tolerances=(), bands=bands[1:2])
    reasons = verdict(dataclasses.replace(result, tolerances=held))["reasons"]
    assert not any("within its tolerances" in reason for reason in reasons)


def test_a_failed_self_check_is_told_with_the_verdict() -> None:
    result = make_mast()
    assert verdict(result)["word"] == "EVERY LIMIT HELD"
    broken = dataclasses.replace(result.self_checks[0], value=0.5, verdict=Verdict.FAIL)
    found = verdict(dataclasses.replace(result, self_checks=(broken,)))
    assert found["word"] == "LIMITS HELD, BUT A SELF-CHECK FAILED"
    assert any("do not rely" in r and "0.50 against 0.0010" in r for r in found["reasons"])


def test_all_unstable_still_gives_a_report() -> None:
    mast = make_mast()
    gone = {
        "stable": False,
        "tip": None,
        "amplification": None,
        "line": None,
        "strength_line": None,
        "max_von_mises": None,
        "max_at_z": None,
        "max_at_xy": None,
        "governing_station": None,
        "von_mises": None,
        "utilisation": None,
        "buckling_factor": 0.4,
    }
    cases = tuple(dataclasses.replace(c, **gone) for c in mast.cases)
    text = _text(pdf(compare(dataclasses.replace(mast, cases=cases, checks=()))))[1]
    assert "FAILS" in text


def test_the_pdf_is_tagged_and_titled(two_pdf: bytes) -> None:
    reader = pypdf.PdfReader(io.BytesIO(two_pdf))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"].startswith("en")
    assert reader.metadata is not None
    assert reader.metadata.title == "Mast comparison: 2 masts"


def test_result_json_matches_its_schema(two: Comparison) -> None:
    text = result_json(two.masts)
    assert text.endswith("}\n")
    assert text == result_json(two.masts)
    whole = json.loads(text, parse_constant=lambda c: pytest.fail(f"{c} is not JSON"))
    _conform(whole, RESULT_SCHEMA)
    assert whole["masts"][1]["name"] == HOSTILE
    carve = next(c for c in whole["masts"][0]["cases"] if c["name"] == "carve")
    assert carve["tip"]["side_mm"] == pytest.approx(two.masts[0].cases[1].tip.side * 1e3)
    lost = next(c for c in whole["masts"][1]["cases"] if c["name"] == "touchdown")
    assert lost["tip"] is None
    assert lost["stable"] is False


def test_infinite_becomes_null() -> None:
    mast = make_mast()
    endless = dataclasses.replace(mast.cases[0], buckling_factor=math.inf)
    mast = dataclasses.replace(mast, cases=(endless,))
    assert json.loads(result_json([mast]))["masts"][0]["cases"][0]["buckling_factor"] is None


_KINDS = {
    "object": dict,
    "array": list,
    "string": str,
    "number": (int, float),
    "boolean": bool,
    "null": type(None),
}


def _conform(value: object, rule: dict) -> None:
    """As much of JSON Schema as the published schema uses."""
    if "$ref" in rule:
        rule = RESULT_SCHEMA["$defs"][rule["$ref"].rsplit("/", 1)[1]]
    if "const" in rule:
        assert value == rule["const"]
    if "enum" in rule:
        assert value in rule["enum"]
    if "type" in rule:
        kinds = rule["type"] if isinstance(rule["type"], list) else [rule["type"]]
        assert any(isinstance(value, _KINDS[k]) for k in kinds), (value, kinds)
    if isinstance(value, dict):
        assert set(rule.get("required", ())) <= set(value)
        known = rule.get("properties", {})
        for key, item in value.items():
            other = rule.get("additionalProperties", True)
            assert key in known or other, key
            _conform(item, known.get(key, other if isinstance(other, dict) else {}))
    if isinstance(value, list):
        assert rule.get("minItems", 0) <= len(value) <= rule.get("maxItems", math.inf)
        for item in value:
            _conform(item, rule.get("items", {}))


def test_write_whole_replaces(tmp_path: Path) -> None:
    target = tmp_path / "new" / "report.pdf"
    write_whole(target, b"old")
    write_whole(target, b"new")
    assert target.read_bytes() == b"new"
    assert list(target.parent.iterdir()) == [target]


def test_write_whole_leaves_the_old_file_on_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "report.pdf"
    target.write_bytes(b"old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("mastcheck.whole.os.fsync", full)
    with pytest.raises(InputError, match="No space left") as caught:
        write_whole(target, b"new")
    assert caught.value.problems[0].remedy
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_write_whole_says_when_the_folder_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("x")
    with pytest.raises(InputError, match="cannot be written"):
        write_whole(tmp_path / "taken" / "report.pdf", b"x")


def test_imperial_shows_inches(two: Comparison) -> None:
    text = _text(pdf(two, units="imperial"))[1]
    assert "lbf" in text
    assert "29.53 in" in text


@pytest.mark.parametrize(
    "unit", ["mm", "m", "kg", "N", "N·m", "MPa", "GPa", "mm per 100 N", "N·m²", "kg/m³"]
)
def test_imperial_factors(unit: str) -> None:
    known = {
        "mm": 0.0393701,
        "m": 3.28084,
        "kg": 2.20462,
        "N": 0.224809,
        "N·m": 0.737562,
        "MPa": 0.145038,
        "GPa": 0.145038,
        "mm per 100 N": 0.0175127,
        "N·m²": 0.348454,
        "kg/m³": 0.062428,
    }
    assert factor(unit, "imperial") == pytest.approx(known[unit], rel=1e-5)
    assert factor(unit, "metric") == 1
