"""The water side as it is shown: tables, figures, free bodies, the result file."""

from __future__ import annotations

import dataclasses
import io
import json
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from rich.console import Console

from mastcheck.checks.compare import compare
from mastcheck.checks.result import MastResult
from mastcheck.checks.run import check
from mastcheck.checks.water import drag_at
from mastcheck.cli.water_tables import print_water
from mastcheck.conditions import WATER_CASES, Conditions
from mastcheck.foil import Foil, Wing
from mastcheck.job import Job
from mastcheck.report import free_body_figure
from mastcheck.report.content import content
from mastcheck.report.free_body_figure import free_bodies, free_body_words
from mastcheck.report.json import RESULT_SCHEMA, result_json
from mastcheck.report.water import SIDE_BY_SIDE, water_section
from mastcheck.report.water_figures import drag_by_speed, drag_words, water_figures
from mastcheck.report.water_rows import drag_rows, shown_speeds
from mastcheck.search.outcome import summary
from tests.masts import mast

FOIL = Foil(mass=2.2, ahead=0.05, yaw_inertia=0.1, wing=Wing(area=0.15, span=0.95, ahead=0.18))
TURN = Conditions(turn_speed=7.0, turn_radius=6.0, turn_bank=math.radians(35.0))


@cache
def bare() -> MastResult:
    """A mast of which the file says nothing of wing or water."""
    return check(Job(mast=mast()))


@cache
def ridden() -> MastResult:
    """A mast with a foil and all load cases from the water."""
    return check(Job(mast=mast(), foil=FOIL, conditions=TURN, water_loads=WATER_CASES))


def printed(result: MastResult) -> str:
    """What a terminal shows."""
    console = Console(file=io.StringIO(), width=140)
    print_water(console, result, "metric")
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def cells(table: dict) -> str:
    """All cells of a table in one text."""
    return " | ".join(str(cell) for row in table["rows"] for cell in row)


def test_terms_add_up_to_the_total_and_power_is_drag_times_speed() -> None:
    m = bare()
    assert m.water is not None
    for speed in shown_speeds(m):
        *terms, total, power = drag_rows(m.water, speed)
        assert len(terms) == 5
        assert total[2] == pytest.approx(sum(t[2] or 0 for t in terms), rel=1e-12)
        assert total[3] is not None
        assert total[3][0] < (total[2] or 0) < total[3][1]
        assert power[2] == pytest.approx((total[2] or 0) * speed, rel=1e-12)


def test_terminal_is_calm_and_tells_both_sides() -> None:
    text = printed(ridden())
    assert len(text.strip().splitlines()) <= 20
    for words in ("friction", "band", "wet side area", "stalls", "lags", "carries rider", "7.00"):
        assert words in text


def test_refused_case_is_told_with_its_reason_everywhere() -> None:
    job = Job(mast=mast(), foil=FOIL, conditions=replace(TURN, turn_speed=1.5), water_loads=WATER_CASES)
    m = check(job)
    assert m.water is not None
    reason = next(c.reason for c in m.water.cases if c.name == "carved-turn")
    assert reason
    assert f"carved-turn cannot be: {reason}" in printed(m).replace("\n", " ").replace("  ", " ")
    section = water_section([m], "metric")
    assert section is not None
    assert "lift coefficient" in cells(section["cases"][0]["table"])
    assert "Refused" in cells(section["cases"][0]["table"])
    case = next(c for c in json.loads(result_json([m]))["masts"][0]["water"]["cases"]
                if c["name"] == "carved-turn")  # fmt: skip
    assert case["refused"]
    assert case["reason"] == reason
    assert case["free_body"] is None
    # What is left is drawn: the strike needs no lift coefficient.
    drawn = free_bodies(m)
    assert drawn is not None
    assert len(drawn.axes) < len(free_body_figure.DRAWN)


def test_bare_mast_says_what_is_assumed_and_draws_no_body() -> None:
    section = water_section([bare()], "metric")
    assert section is not None
    assert "assumed: the file states none" in section["basis"][0]
    assert "not checked" in section["silent"]
    assert not section["cases"]
    assert [key for key, *_ in water_figures([bare()], units="metric")] == ["drag"]


def test_every_figure_has_words_of_its_numbers() -> None:
    found = list(water_figures([ridden()], units="metric"))
    assert [key for key, *_ in found] == ["drag", "free bodies A"]
    for _, _, alt, caption in found:
        assert len(alt) > len(caption) > 40
    m = ridden()
    assert m.water is not None
    fastest = float(m.water.side.drag.total[-1])
    assert f"{fastest:.1f} N" in drag_words([m], "metric")[0]
    assert "weight" in free_body_words(m, "A", "metric")[0]


def test_comparison_has_ratios_and_repeats_nothing() -> None:
    narrow = check(Job(mast=mast(base=(0.12, 0.016))))
    pair = [bare(), narrow]
    section = water_section(pair, "metric")
    assert section is not None
    total = next(row for row in section["drag"]["rows"] if row[0] == "total")
    drags = [drag_at(m, m.job.speeds[1]) or math.nan for m in pair]
    assert float(total[-1]) == pytest.approx(drags[1] / drags[0], abs=0.005)
    shown = [row[0] for row in section["rest"]["rows"]]
    assert not set(shown) & set(SIDE_BY_SIDE)
    assert "wet side area" in {r.name for r in compare(pair).ratios}
    fig = drag_by_speed(pair)
    assert fig is not None
    # Two totals told apart by dash, in grey too.
    dashes = {line.get_linestyle() for line in fig.axes[0].lines if line.get_linewidth() > 1.2}
    assert len(dashes) == 2


def test_masts_with_and_without_foil_stand_in_one_table() -> None:
    section = water_section([bare(), ridden()], "metric")
    assert section is not None
    rows = {row[0]: row for row in section["rest"]["rows"]}
    start = next(row for name, row in rows.items() if "starts" in name)
    assert start[2] == "–"
    assert float(start[3]) > 0
    assert section["silent"].endswith("(A)")
    assert [c["letter"] for c in section["cases"]] == ["B"]


def test_forces_of_the_turn_close_in_the_picture() -> None:
    """Weight down, inertia level, lift and side force: they add to nothing as drawn."""
    m = ridden()
    assert m.water is not None
    case = next(c for c in m.water.cases if c.name == "carved-turn")
    assert case.body is not None
    view = free_body_figure._Behind(m, case.body)
    drawn = np.sum([view.way(f.force) for f in case.body.forces], axis=0)
    assert np.abs(drawn).max() < 1e-9 * case.body.weight
    weight = next(f for f in case.body.forces if f.name.startswith("weight"))
    inertia = view.way(weight.force) - np.array([0.0, -case.body.weight])
    # m v²/R outward, which is right where a turn to port is seen from behind.
    wanted = case.body.weight / 9.80665 * 7.0**2 / 6.0
    assert inertia == pytest.approx([wanted, 0.0], abs=1e-6 * wanted)


def test_free_bodies_are_to_one_scale_and_inside_their_panels() -> None:
    fig = free_bodies(ridden())
    assert fig is not None
    assert len(fig.axes) == 3
    wide, high = fig.get_size_inches()
    scales = set()
    for ax in fig.axes:
        box = ax.get_position()
        (left, right), (low, top) = ax.get_xlim(), ax.get_ylim()
        scales.add(round(box.width * wide / (right - left), 6))
        scales.add(round(box.height * high / (top - low), 6))
        for line in ax.lines[1:]:  # the first is the water's surface
            x, y = np.asarray(line.get_xdata()), np.asarray(line.get_ydata())
            assert left <= x.min() <= x.max() <= right
            assert low <= y.min() <= y.max() <= top
    assert len(scales) == 1


def test_dry_mast_has_no_drag_and_no_picture() -> None:
    m = check(Job(mast=mast(), wet_fraction=0.0, conditions=TURN, water_loads=WATER_CASES))
    assert drag_by_speed([m]) is None
    found = json.loads(result_json([m]))["masts"][0]["water"]
    assert max(found["drag"]["total_N"]) == 0
    assert found["drag"]["bubbles_from_m_per_s"] is None
    assert found["tracking"]["stall_leeway_deg"] is None
    turn = next(c for c in found["cases"] if c["name"] == "carved-turn")
    assert turn["refused"]
    assert "nothing is wet" in turn["reason"]


def test_one_speed_is_a_table_and_no_picture() -> None:
    m = check(Job(mast=mast(), speeds=(5.0, 5.0)))
    assert shown_speeds(m) == [5.0, 6.0]
    assert drag_by_speed([m]) is None


def conform(value: object, schema: dict, path: str = "water") -> None:
    """Every key that is written is in the schema with its type, every required one is there."""
    kinds = {"object": dict, "array": list, "string": str, "boolean": bool, "null": type(None)}
    if "enum" in schema:
        assert value in schema["enum"], path
        return
    named = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    fits = ("number" in named and is_number) or any(isinstance(value, kinds[k]) for k in named
                                                     if k != "number")  # fmt: skip
    assert fits, (path, value, named)
    if isinstance(value, dict):
        assert set(value) == set(schema["properties"]), path
        assert set(schema["required"]) <= set(value), path
        for key, inner in value.items():
            conform(inner, schema["properties"][key], f"{path}.{key}")
    if isinstance(value, list):
        for inner in value:
            conform(inner, schema["items"], f"{path}[]")


@pytest.mark.parametrize("which", [bare, ridden])
def test_result_file_is_as_the_schema_says(which: object) -> None:
    assert callable(which)
    found = json.loads(result_json([which()]))["masts"][0]["water"]
    conform(found, RESULT_SCHEMA["$defs"]["water"])
    drag = found["drag"]
    n = len(drag["speeds_m_per_s"])
    assert all(len(v) == n for v in drag.values() if isinstance(v, list))
    assert drag["power_W"][-1] == pytest.approx(drag["total_N"][-1] * drag["speeds_m_per_s"][-1])
    for case in found["cases"]:
        body = case["free_body"]
        assert np.abs(body["residual_force_N"]).max() < 1e-6 * body["weight_N"]


def test_report_holds_the_section_and_its_pictures() -> None:
    made = content(compare([ridden()]))
    assert made["water"]["cases"][0]["letter"] == "A"
    assert {"drag", "free bodies A"} <= set(made["pictures"])
    without = dataclasses.replace(ridden(), water=None)
    assert content(compare([without]))["water"] is None


def test_a_row_of_a_search_keeps_the_drag_at_the_fastest_speed() -> None:
    m = bare()
    assert m.water is not None
    row = summary(m, {})
    assert row.drag_N == pytest.approx(float(m.water.side.drag.total[-1]), rel=1e-12)
    assert summary(dataclasses.replace(m, water=None), {}).drag_N is None
