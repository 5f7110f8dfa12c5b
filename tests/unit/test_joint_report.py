"""Joints as they are told: worst rows, budget, play, pictures, JSON, cautions, comparison."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

import mastcheck
from mastcheck.checks.compare import compare
from mastcheck.checks.joint_result import FlexBudget
from mastcheck.checks.result import MastResult, Verdict
from mastcheck.cli.tables import print_check
from mastcheck.joint import Joints, OnePiece
from mastcheck.report.content import content
from mastcheck.report.joint_figures import bolt_patterns, flex_budget, play_step
from mastcheck.report.joint_rows import bolt_rows, brief_checks, criterion_rows, is_joint_check
from mastcheck.report.joints import accuracy_words, ends_words, play_words
from mastcheck.report.json import result_json
from tests.reports import make_mast
from tests.unit.test_report import RESULT_SCHEMA, _conform

PROFILES = Path(__file__).parents[2] / "profiles"


@cache
def three(loose: bool = False) -> MastResult:
    job = mastcheck.load(PROFILES / "aluminium-75-three-joints.toml")
    if loose:
        job = replace(job, joints=replace(job.joints, tip=replace(job.joints.tip, loose_screw=True)))
    return mastcheck.check(job)


@cache
def one_piece() -> MastResult:
    return mastcheck.check(mastcheck.load(PROFILES / "aluminium-75-one-piece.toml"))


def printed(result: MastResult) -> str:
    out = io.StringIO()
    print_check(Console(file=out, width=200), result, "metric")
    return out.getvalue()


def test_every_row_is_kept_and_the_worst_and_the_failing_are_told():
    m = three()
    told = brief_checks(m)
    every = is_joint_check(m)
    of_joints = [c for c in m.checks if (c.name, c.case) in every]
    assert len(of_joints) == len(m.joints.findings) > 100
    assert [c for c in told if c.verdict is Verdict.FAIL] == [
        c for c in m.checks if c.verdict is Verdict.FAIL
    ]
    rows = criterion_rows(m.joints)
    assert len(rows) < 40
    for row in rows:
        same = [f for f in m.joints.findings if f.name == row.finding.name]
        if all(f.utilisation is not None for f in same):
            worst = max(f.utilisation for f in same)
            assert row.finding.utilisation == worst or row.check.verdict is Verdict.FAIL
    assert len([c for c in told if (c.name, c.case) in every]) == len(rows)


def test_a_bolt_is_judged_over_all_cases():
    rows = bolt_rows(three().joints)
    assert [r.number for r in rows if r.joint == "base joint"] == [1, 2, 3, 4]
    worst = max(f.utilisation for f in three().joints.findings if f.joint == "base joint")
    assert max(r.used for r in rows if r.joint == "base joint") == pytest.approx(worst)
    assert {r.verdict for r in rows} == {Verdict.PASS, Verdict.FAIL}


def test_shares_are_withheld_where_they_mean_nothing():
    def budget(*side):
        movement = np.zeros((len(side), 6))
        movement[:, 1] = side
        return FlexBudget(case="x", parts=tuple("abc"[: len(side)]), movement=movement)

    assert budget(3e-3, 1e-3).shares(1) == pytest.approx([0.75, 0.25])
    assert budget(3e-3, -1e-3).shares(1) == pytest.approx([1.5, -0.5])
    assert budget(3e-3, -2e-3).shares(1) is None  # what is left is a fifth of what moves
    assert budget(1e-9, 1e-9).shares(1) is None


def test_the_terminal_tells_budget_bolts_and_play_once():
    text = printed(three())
    for words in (
        "Flex budget: tip side deflection", "Flex budget: tip roll", "Flex budget: tip twist",
        "No free play", "held at its base by the joints described", "not judged",
    ):  # fmt: skip
        assert words in text
    limits = text.split("Limits and strength\n")[1].split("Self-checks")[0]
    assert "bolt tension" not in limits
    assert limits.count("slip factor") == 2  # what fails is told again
    assert "Joints" not in printed(make_mast())


def test_free_play_is_lost_motion_in_words_and_a_step():
    words = " ".join(play_words(three(loose=True), "metric"))
    # 0.05 mm at two contacts 45 mm apart tilt by 2 x 0.05 / 45; 400 mm out that is 0.889 mm.
    assert "0.889 mm up and down" in words
    assert "in none of them" in words
    fig = play_step(three(loose=True))
    line = fig.axes[1].lines[-1].get_xydata()
    free = line[line[:, 1] == 0, 0]
    assert np.ptp(free) == pytest.approx(0.4e3 * 2 * 0.05 / 45)
    assert play_step(three()) is None


def test_bars_add_up_to_the_whole():
    fig = flex_budget(three().joints)
    for ax in fig.axes:
        by_row: dict[float, float] = {}
        for bar in ax.patches:
            row = round(bar.get_y() + bar.get_height() / 2)
            by_row[row] = by_row.get(row, 0.0) + bar.get_width()
        assert by_row
        assert list(by_row.values()) == pytest.approx([1.0] * len(by_row))


def test_the_pattern_names_every_bolt():
    shown = [
        t.get_text().split(":")[0]
        for ax in bolt_patterns(three()).axes
        for t in ax.texts
        if t.get_text()
    ]
    assert shown == [str(row.number) for row in bolt_rows(three().joints)]
    assert bolt_patterns(one_piece()) is None


def test_report_has_the_section_only_where_joints_are_described():
    with_, without = (content(compare([m])) for m in (three(loose=True), make_mast()))
    (section,) = with_["joints"]
    assert {"flex A", "bolts A", "play A"} <= set(with_["pictures"])
    assert all(len(with_["pictures"][k]["alt"]) > 100 for k in ("flex A", "bolts A", "play A"))
    assert any("VDI 2230" in rule for rule in section["rules"])
    assert section["assumptions"]
    assert not set(section["assumptions"]) & set(with_["notes"])
    assert without["joints"] == []
    assert not any(k.endswith((" A",)) and k[:4] in ("flex", "bolt") for k in without["pictures"])


def test_json_holds_joints_or_null():
    whole = json.loads(result_json([three(), make_mast()]))
    _conform(whole, RESULT_SCHEMA)
    found, none = (m["joints"] for m in whole["masts"])
    assert none is None
    assert len(found["findings"]) == len(three().joints.findings)
    carve = next(b for b in found["flex_budget"] if b["case"] == "carve")
    tip = next(c["tip"] for c in whole["masts"][0]["cases"] if c["name"] == "carve")
    for key in ("side_mm", "roll_deg", "twist_deg"):
        assert sum(p[key] for p in carve["parts"]) == pytest.approx(tip[key])
    assert sum(p["side_percent"] for p in carve["parts"]) == pytest.approx(100)


def test_what_is_left_out_is_said_for_each_side():
    clamped, both, piece = make_mast(), three(), one_piece()
    assert "not in these numbers" in mastcheck.check(clamped.job).cautions[1]
    assert "prying" in both.cautions[1]
    assert "not in these numbers" not in both.cautions[1]
    assert ends_words(clamped.job).startswith(
        "mast clamped at its base and rigidly joined at its tip, free"
    )
    assert "in one piece with the foil" in ends_words(piece.job)
    bare = replace(piece.job, joints=Joints(tip=OnePiece()))
    assert "clamped at its base and in one piece" in ends_words(bare)
    assert "The base plate, its screws and adapters are not" in mastcheck.check(bare).cautions[1]
    mixed = accuracy_words([both, clamped])
    assert "The joints of mast A are in the numbers" in mixed
    assert "Joints of mast B are taken as rigid" in mixed
    assert "clamped" not in accuracy_words([both])


def test_one_piece_against_three_joints():
    found = compare([one_piece(), three()])
    row = next(r for r in found.ratios if r.name.startswith("share of joints"))
    assert row.values[0] < row.values[1]
    assert row.values[1] == pytest.approx(
        100 * (1 - next(b for b in three().joints.budgets if b.case == "carve").shares(1)[0])
    )
    assert not any("joints" in r.name for r in compare([make_mast()]).ratios)
    beside = compare([three(), make_mast()])
    assert next(r for r in beside.ratios if "joints" in r.name).values[1] is None
