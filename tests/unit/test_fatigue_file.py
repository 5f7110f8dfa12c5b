"""[fatigue] of the mast file: what is read, what is refused, and what every result says of it."""

from __future__ import annotations

import dataclasses
import io
import json
from pathlib import Path

import pypdf
import pytest

from mastcheck.checks.fatigue import fatigue_checks
from mastcheck.checks.result import MastResult
from mastcheck.errors import InputError
from mastcheck.files.mastfile import load
from mastcheck.files.publish import mast_file_schema
from mastcheck.loadcase import Lift
from mastcheck.report.fatigue import unjudged_words
from mastcheck.report.json import RESULT_SCHEMA, result_json
from mastcheck.report.pdf import pdf
from mastcheck.source import Grade, Source
from mastcheck.strength.fatigue import (
    DetailCurve,
    Fatigue,
    FatigueRange,
    FatigueResult,
    FatigueWorst,
    category,
)
from tests.reports import compare, make_mast
from tests.unit.test_mastfile import GOOD, problems, written

CATEGORY = '\n[fatigue]\ncycles = { carve = 1e6, pump = 2e5 }\ndetail = "90-7"\n'
OWN = """
[fatigue]
cycles = { carve = 1e6 }
delta_sigma_c = "60 MPa"
m1 = 9
source = "coupons, lot 3 (invented)"
alternating = false
gamma = 2.0
"""


def test_a_category_is_read(tmp_path: Path) -> None:
    fatigue = load(written(tmp_path, GOOD + CATEGORY)).fatigue
    assert fatigue is not None
    assert fatigue.cycles == (("carve", 1e6), ("pump", 2e5))
    assert fatigue.alternating
    curve = fatigue.curve
    assert curve is not None
    assert (curve.delta_sigma_c, curve.m1, curve.m2, curve.gamma) == (90e6, 7.0, 9.0, 1.35)
    assert curve.aluminium_only
    assert curve.source.grade is Grade.MEMORY


def test_a_curve_of_the_files_own_is_read(tmp_path: Path) -> None:
    fatigue = load(written(tmp_path, GOOD + OWN)).fatigue
    assert fatigue is not None
    curve = fatigue.curve
    assert curve is not None
    assert (curve.delta_sigma_c, curve.m1, curve.m2, curve.gamma) == (60e6, 9.0, 11.0, 2.0)
    assert not fatigue.alternating
    assert not curve.aluminium_only
    assert curve.source.grade is Grade.USER


def test_without_a_curve_or_without_the_table(tmp_path: Path) -> None:
    assert load(written(tmp_path, GOOD)).fatigue is None
    job = load(written(tmp_path, GOOD + "\n[fatigue]\ncycles = { carve = 1e6 }\n"))
    assert job.fatigue is not None
    assert job.fatigue.curve is None
    assert any("reported, not judged" in note for note in job.notes)


def test_what_was_assumed_is_said(tmp_path: Path) -> None:
    notes = " ".join(load(written(tmp_path, GOOD + CATEGORY)).notes)
    for words in ("left and right changed about (assumed", "1.35", "no cut-off"):
        assert words in notes
    stated = " ".join(load(written(tmp_path, GOOD + OWN)).notes)
    assert "no load (stated)" in stated
    assert "m2 = m1 + 2" in stated
    assert "1.35" not in stated


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("cycles = { carv = 1e6 }", ('did you mean "carve"', "unknown load case")),
        ("cycles = { carve = 0 }", ("must be from 1 to",)),
        ("cycles = { carve = \"1e6\" }", ("must be a plain number",)),
        ("cycles = {}", ("table of load cases",)),
        ("cycles = 1e6", ("table of load cases",)),
        ("alternating = true", ("fatigue.cycles", "required")),
        ('cycles = { carve = 1e6 }\ndetail = "strong"', ("detail category", '"90-7"')),
        ('cycles = { carve = 1e6 }\ndetail = "900-7"', ("detail category",)),
        ('cycles = { carve = 1e6 }\ndetail = "90-7"\ndelta_sigma_c = "60 MPa"', ("one curve",)),
        ('cycles = { carve = 1e6 }\ndelta_sigma_c = "60 MPa"', ("m1", "source", "where the curve")),
        ("cycles = { carve = 1e6 }\nm1 = 7", ("m1", "delta_sigma_c")),
        ("cycles = { carve = 1e6 }\ngamma = 1.2", ("gamma", "no curve")),
        ('cycles = { carve = 1e6 }\ndetail = "90-7"\nmaterial = "EN AW-6082-T5"', ("unknown material",)),
        ('cycles = { carve = 1e6 }\ndetial = "90-7"', ("unknown key", '"detail"')),
    ],
)  # fmt: skip
def test_a_fault_is_told_with_its_remedy(tmp_path: Path, text: str, words: tuple[str, ...]) -> None:
    found = " ".join(problems(tmp_path, f"{GOOD}\n[fatigue]\n{text}\n"))
    for word in words:
        assert word in found, found


def test_names_of_categories() -> None:
    assert category("125-7") == (125e6, 7.0)
    assert category(" 56-4,3 ") == (56e6, 4.3)
    for name in ("90", "90-", "-7", "5-7", "90-70", "90-7x", ""):
        assert category(name) is None


def test_the_schema_knows_the_table_and_the_follower() -> None:
    defs = mast_file_schema()["$defs"]
    assert set(defs["FatigueTable"]["properties"]) >= {"cycles", "detail", "delta_sigma_c", "m1"}
    assert "follower" in defs["LoadCaseTable"]["properties"]["lift"]["enum"]


def test_a_lift_may_follow_the_wing(tmp_path: Path) -> None:
    text = GOOD + '\n[[load_case]]\nname = "carve"\nlift = "follower"\n'
    job = load(written(tmp_path, text))
    assert next(c for c in job.cases if c.name == "carve").lift is Lift.FOLLOWER
    with pytest.raises(InputError, match="follower"):
        load(written(tmp_path, text.replace('"follower"', '"folower"')))


def _tired(damage: float | None) -> MastResult:
    """A made result with a fatigue found: 3.4 times the damage allowed, or none judged."""
    curve = DetailCurve(
        name="detail category 90-7", delta_sigma_c=90e6, m1=7.0, m2=9.0, gamma=1.35,
        source=Source(title="a curve for tests", grade=Grade.MEMORY),
    )  # fmt: skip
    fatigue = Fatigue(cycles=(("carve", 1e6),), curve=None if damage is None else curve)
    life = None if damage is None else 1e6 / damage
    worst = FatigueWorst(
        material="EN AW-6082-T6", damage=damage, used=None if damage is None else damage ** (1 / 7),
        z=0.375, xy=(-0.02, 0.007),
        ranges=(FatigueRange(case="carve", cycles=1e6, range=93.2e6, life=life),),
    )  # fmt: skip
    found = FatigueResult(fatigue=fatigue, worst=(worst,))
    plain = make_mast()
    return dataclasses.replace(
        plain,
        job=dataclasses.replace(plain.job, fatigue=fatigue),
        fatigue=found,
        checks=(*plain.checks, *fatigue_checks(found)),
    )


def _text(result: MastResult) -> str:
    pages = pypdf.PdfReader(io.BytesIO(pdf(compare(result)))).pages
    return " ".join(" ".join(p.extract_text() for p in pages).replace("\u200b", "").split())


def test_the_report_shows_the_row_and_the_sentence() -> None:
    text = _text(_tired(3.4))
    for words in (
        "93.2", "1 000 000", "294 000", "3.40", "90 MPa at 2 million cycles",
        "Welds, screw holes and threads need their own check", "fatigue, sum of damage",
    ):  # fmt: skip
        assert words in text, words
    assert "FAILS" in text
    assert "Fatigue A cycle" not in _text(make_mast())


def test_a_range_without_a_curve_keeps_a_mast_from_passing_plainly() -> None:
    text = _text(_tired(None))
    assert "LIMITS HELD, NOT ALL JUDGED" in text
    assert "fatigue, stress range, EN AW-6082-T6" in text
    assert "reported and not judged" in text


def test_what_a_stated_curve_does_not_judge_is_named_with_the_reason() -> None:
    found = _tired(None).fatigue
    assert found is not None
    curve = DetailCurve(
        name="detail category 90-7", delta_sigma_c=90e6, m1=7.0, m2=9.0, gamma=1.35,
        source=Source(title="invented for a test", grade=Grade.ASSUMED), aluminium_only=True,
    )  # fmt: skip
    told = dataclasses.replace(found, fatigue=dataclasses.replace(found.fatigue, curve=curve))
    assert f"Not judged: {found.worst[0].material}" in unjudged_words(told)
    assert "galvanic_group" in unjudged_words(told)
    judged = _tired(0.5).fatigue
    assert judged is not None
    assert unjudged_words(judged) == ""


def test_json_follows_its_schema() -> None:
    (data,) = json.loads(result_json([_tired(3.4)]))["masts"]
    fatigue, schema = data["fatigue"], RESULT_SCHEMA["$defs"]["fatigue"]
    assert set(fatigue) == set(schema["required"])
    (worst,) = fatigue["worst"]
    assert set(worst) == set(schema["properties"]["worst"]["items"]["required"])
    assert worst["damage"] == pytest.approx(3.4)
    assert worst["ranges"][0]["range_MPa"] == pytest.approx(93.2)
    assert fatigue["curve"]["delta_sigma_c_MPa"] == 90
    assert "fatigue" not in json.loads(result_json([make_mast()]))["masts"][0]
    assert json.loads(result_json([_tired(None)]))["masts"][0]["fatigue"]["curve"] is None
