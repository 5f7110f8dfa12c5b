"""The verification's table, outcomes, words, report and validity page."""

from __future__ import annotations

import io
import json
import math
from dataclasses import replace
from pathlib import Path
from typing import get_args

import pypdf
import pytest

from mastcheck.cli import verify as command
from mastcheck.cli.main import main
from mastcheck.errors import MastcheckError
from mastcheck.files.shipped import shipped
from mastcheck.report import validity
from mastcheck.report import verification_words as say
from mastcheck.report.content import ACCURACY
from mastcheck.report.verification import verification_json, verification_pdf
from mastcheck.report.verification_figure import share, stacked
from mastcheck.verify import catalogue, table
from mastcheck.verify.given import Given
from mastcheck.verify.run import Outcome, compute, run
from mastcheck.verify.table import AREAS, Known, read, row, rows
from mastcheck.verify.units import UNITS, from_si

ONE = """
[[group]]
area = "water"
source = "a handbook"
grade = "from memory"
unit = "N"
relative = 0.01
why = "two digits"
computation = "turbulent friction"
given = { reynolds = 1e6, kept = 1 }
row = [
  { id = "A", quantity = "a force", published = 20 },
  { id = "B", quantity = "another", published = 30, absolute = 0.5, given = { kept = 2 } },
]
"""


def outcome(computed: float, **changes) -> Outcome:
    made = replace(read(ONE)[0], **changes)
    return Outcome(row=made, computed=computed)


# ---- the table ----


def test_rows_share_what_their_group_says_and_overrule_it():
    a, b = read(ONE)
    assert (a.tolerance, a.absolute, a.allowed) == (0.01, False, pytest.approx(0.2))
    assert (b.tolerance, b.absolute, b.allowed) == (0.5, True, 0.5)
    assert dict(a.given) == {"reynolds": 1e6, "kept": 1}
    assert dict(b.given) == {"reynolds": 1e6, "kept": 2}
    assert a.known is Known.MEMORY


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('area = "water"', 'area = "air"', "A: area 'air': want one of sections"),
        ('grade = "from memory"', 'grade = "sure"', "grade 'sure'"),
        ('unit = "N"', 'unit = "stone"', "unit 'stone'"),
        ("relative = 0.01", "", "A: want a relative or an absolute tolerance"),
        ('why = "two digits"', "", "A: want words for why"),
        ('why = "two digits"', 'why = "two digits"\ncolour = 1', "unknown key colour"),
        ('id = "B"', 'id = "A"', "two rows are called 'A'"),
        ("relative = 0.01", "relative = 1e-12", "above what rounding leaves"),
        ("published = 20", "published = inf", "want a finite value"),
    ],
)
def test_a_row_that_is_wrong_is_refused(old: str, new: str, words: str):
    with pytest.raises(MastcheckError, match=words):
        read(ONE.replace(old, new, 1))


def test_a_row_by_its_name():
    assert row("ST-01").published == 2.4674011
    with pytest.raises(MastcheckError, match="no row 'ST-99'"):
        row("ST-99")


def test_units():
    assert from_si(1.0, "mm") == 1000.0
    assert from_si(52.5e-3, "mm") == 52.5
    assert UNITS["lb·in²"] == pytest.approx(4.4482216152605 * 0.0254**2)
    with pytest.raises(MastcheckError, match="'ell'"):
        from_si(1.0, "ell")


def test_what_is_given_is_asked_for_by_name():
    given = Given(values={"a": 1, "b": "3 mm", "c": True}, shipped=shipped())
    assert given.number("a") == 1.0
    assert given.length("b") == pytest.approx(0.003)
    assert given.number("d", 2.0) == 2.0
    for key in ("b", "c", "d"):
        with pytest.raises(MastcheckError, match=rf"given\.{key} = .*: want a number"):
            given.number(key)
    with pytest.raises(MastcheckError, match="want words"):
        given.words("a")


# ---- outcomes ----


@pytest.mark.parametrize(
    ("computed", "held"),
    [(20.0, True), (20.19, True), (19.81, True), (20.21, False), (19.79, False), (-20.0, False)],
)
def test_held_within_the_tolerance_either_way(computed: float, held: bool):
    assert outcome(computed).held is held


@pytest.mark.parametrize("computed", [math.nan, math.inf, -math.inf])
def test_nothing_computed_holds_nothing(computed: float):
    found = outcome(computed)
    assert not found.held
    assert found.shown is None
    assert say.computed(found) == "none"


def test_a_computation_that_fails_is_a_row_that_does_not_hold(monkeypatch: pytest.MonkeyPatch):
    def broken(_: Given) -> float:
        raise ZeroDivisionError("no such luck")

    monkeypatch.setattr("mastcheck.verify.run.COMPUTATIONS", {"turbulent friction": broken})
    found = compute(read(ONE)[0], shipped())
    assert not found.held
    assert found.fault == "ZeroDivisionError: no such luck"
    assert "nothing computed (ZeroDivisionError" in say.failures([found])[0]


class Asked(dict):
    """What a row gives, and which of it was asked for."""

    def __init__(self, values) -> None:
        super().__init__(values)
        self.keys_asked: set[str] = set()

    def get(self, key, default=None):
        self.keys_asked.add(key)
        return super().get(key, default)


def test_all_that_a_row_gives_is_asked_for():
    # A key that its computation does not know would be a promise that the table does not keep.
    for each in rows():
        given = Asked(each.given)
        assert compute(replace(each, given=given), shipped()).held
        assert set(given) <= given.keys_asked, each.id


def test_no_two_computations_share_a_name():
    with pytest.raises(ValueError, match="called a"):
        catalogue._joined({"a": lambda _: 0.0}, {"a": lambda _: 1.0})


def test_progress_is_told_row_by_row():
    told: list[int] = []
    chosen = [r for r in rows() if r.area == "materials"]
    found = run(chosen, shipped(), told.append)
    assert [o.row for o in found] == chosen
    assert told == list(range(1, len(chosen) + 1))


# ---- words ----


@pytest.mark.parametrize(
    ("computed", "shown", "difference"),
    [
        (20.05, "20.050", "+0.25 %"),
        (19.9, "19.900", "−0.50 %"),
        (20.001, "20.001", "below 0.01 %"),
        (20.0, "20", "below 0.01 %"),
    ],
)
def test_digits_to_a_hundredth_of_the_tolerance(computed: float, shown: str, difference: str):
    found = outcome(computed)
    assert (say.computed(found), say.difference(found)) == (shown, difference)
    assert say.tolerance(found.row) == "1 %"


def test_small_and_absolute_tolerances_in_their_own_terms():
    tight = outcome(20.00001, tolerance=1e-6)
    assert (say.difference(tight), say.tolerance(tight.row)) == ("+0.50 ppm", "1 ppm")
    apart = outcome(20.3, tolerance=0.5, absolute=True)
    assert (say.difference(apart), say.tolerance(apart.row)) == ("+0.30", "0.5")


def test_published_values_stand_with_all_their_digits():
    for name, words in (
        ("SEC-12", "55 240"), ("SEC-07", "6.777024e−05"), ("ST-30a", "20.0509536"), ("FL-01c", "0.003"),
    ):  # fmt: skip
        assert say.published(row(name)) == words


def test_what_is_shown_does_not_hang_on_the_last_digits():
    found = run(rows(), shipped())
    for noise in (1e-13, -1e-13):
        other = [replace(o, computed=o.computed * (1 + noise)) for o in found]
        assert verification_json(other, "1") == verification_json(found, "1")
        for a, b in zip(found, other, strict=True):
            assert (say.computed(a), say.difference(a)) == (say.computed(b), say.difference(b))


def test_answer_counts_what_failed():
    good, bad = outcome(20.0), outcome(30.0)
    assert say.answer([good, good]) == "2 published values computed anew: all within their tolerances."
    assert "1 outside its tolerance." in say.answer([good, bad])
    assert "2 outside their tolerances." in say.answer([bad, bad])
    assert say.failures([good, bad]) == ["A: a force: published 20, computed 30.000, +50 %"]
    assert say.grades([good]) == ["1 from memory: the number is recalled, and its page was not at hand"]


# ---- figure ----


def test_shares_are_drawn_within_the_scale():
    assert share(outcome(20.0)) == 0.01
    assert share(outcome(20.1)) == pytest.approx(0.5)
    assert share(outcome(40.0)) == share(outcome(math.nan)) == 10.0
    assert [up for _, up in stacked([0.5] * 4)] == [0, 1, -1, 2]


# ---- report and JSON ----


def test_json_says_what_a_script_needs():
    whole = json.loads(verification_json([outcome(20.1), outcome(math.nan)], "9.9"))
    assert whole["schema"] == "mastcheck-verification/1"
    assert (whole["mastcheck"], whole["held"]) == ("9.9", False)
    good, none = whole["rows"]
    assert good["computed"] == pytest.approx(20.1)
    assert good["difference"] == 0.005
    assert good["compared"] == "relative"
    assert (good["verdict"], none["verdict"], none["computed"]) == ("held", "failed", None)


def pdf_text(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)


def test_report_of_failures_names_them_first():
    data = verification_pdf([outcome(20.0), outcome(30.0, id="C")], "9.9")
    assert verification_pdf([outcome(20.0), outcome(30.0, id="C")], "9.9") == data
    reader = pypdf.PdfReader(io.BytesIO(data))
    first = reader.pages[0].extract_text()
    assert "1 outside its tolerance" in first
    assert "C: a force: published 20, computed 30.000" in first.replace("\n", " ")
    assert reader.metadata is not None
    assert reader.metadata.title == "Verification of mastcheck 9.9"
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    text = pdf_text(data).replace("\n", " ")
    for words in ("FAILED", "not an approval", "a handbook (from memory)", "What it does not cover"):
        assert words in text


# ---- validity ----


def test_the_page_of_validity_is_the_report_s():
    page = Path(__file__).parents[2] / "docs" / "validity.md"
    assert page.read_text(encoding="utf-8") == validity.markdown(), (
        "write it anew by validity.markdown()"
    )


def test_validity_names_what_is_left_out_and_how_far_it_was_off():
    text = validity.markdown()
    for words in (
        "Impact damage", "Fatigue of screw holes", "Delamination", "Ventilation",
        "Faults of manufacture", "No measured mast",
    ):  # fmt: skip
        assert words in text
    assert all(line in text for line in ACCURACY)


# ---- the command ----


def test_areas_of_the_command_are_the_table_s():
    assert get_args(command.Area) == AREAS


def test_a_row_that_fails_fails_the_command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    wrong = tuple(replace(r, published=1.02 * r.published) for r in rows() if r.area == "beams")
    monkeypatch.setattr(table, "rows", lambda: wrong)
    assert main(["verify"]) == 1
    said = capsys.readouterr().out
    assert f"{len(wrong)} outside their tolerances" in said
    assert "FAILED" in said


def test_on_a_narrow_terminal_rows_are_sentences(capsys: pytest.CaptureFixture[str]):
    from rich.console import Console

    found = run([row("FL-07b")], shipped())
    command.print_verification(Console(width=80, markup=False, highlight=False), found)
    said = " ".join(capsys.readouterr().out.split())
    assert "sea water, 15 °C: density: published 1 026.021 kg/m³, computed" in said
    assert "of 0.005: held [1]" in said
