"""Stability as results carry it and as people read it."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from mastcheck.beam.buckling import ModeKind
from mastcheck.beam.solve import BeamState, FrameModel
from mastcheck.checks.compare import compare
from mastcheck.checks.result import MastResult, Verdict
from mastcheck.checks.run import check
from mastcheck.checks.verdicts import BUCKLING, FLUTTER
from mastcheck.cli.case_tables import strength_table, unstable_words
from mastcheck.job import Job
from mastcheck.loadcase import STANDARD_CASES, Lift, LoadCase, Rider
from mastcheck.mast import OutlineKind
from mastcheck.report.buckling import figure_words, least_stable
from mastcheck.report.buckling_figure import buckling_modes
from mastcheck.report.json import result_json
from mastcheck.report.pictures import pictures
from mastcheck.report.results import case_table
from tests.masts import mast

FOLLOWING = LoadCase(name="steady", n=1.0, offset=0.06, lift=Lift.FOLLOWER, strength_factor=1.5)
BENT = LoadCase(name="bent", force=(0.0, 900.0, 0.0), strength_factor=1.5)


@pytest.fixture(scope="module")
def result() -> MastResult:
    slim = mast((0.12, 0.014), (0.10, 0.011), length=0.9)
    touchdown = next(c for c in STANDARD_CASES if c.name == "touchdown")
    return check(Job(mast=slim, rider=Rider(mass=70), cases=(touchdown, FOLLOWING, BENT)))


def test_each_case_carries_its_mode(result: MastResult) -> None:
    touchdown, following, _ = result.cases
    for case in (touchdown, following):
        assert case.buckling_mode is not None
        assert case.buckling_mode.kind is ModeKind.SIDEWAYS
        assert np.abs(case.buckling_mode.displacement[:, 1]).max() == pytest.approx(1, rel=0.05)
    assert least_stable(result) is touchdown


def test_a_lift_that_follows_the_wing_is_held_to_the_least_of_two_factors(result: MastResult) -> None:
    case = result.cases[1]
    assert case.flutter_factor is not None
    # Far above that of a dead lift on these masts (8.1 times for a uniform column): the dead one rules.
    assert 3 < case.flutter_factor / case.buckling_factor < 12
    assert case.stability_factor == case.buckling_factor
    assert case.gives_way == "buckles"
    row = next(c for c in result.checks if c.case == "steady" and "factor" in c.name)
    assert row.name == f"{FLUTTER}, at least"
    assert row.value == case.stability_factor
    words = next(c for c in result.cautions if c.startswith("Case steady: a lift that turns"))
    assert f"{case.flutter_factor:.2f}" in words
    assert "damping" in words
    dead = next(c for c in result.checks if c.case == "touchdown" and "factor" in c.name)
    assert dead.name == f"{BUCKLING}, at least"


def test_flutter_below_the_factor_asked_for_fails_though_a_dead_lift_would_stand(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from mastcheck.beam.flutter import Flutter
    from mastcheck.checks import stability

    low = Flutter(factor=1.2, frequency=3.0, flutters=True)
    monkeypatch.setattr(stability, "flutter", lambda *_, **__: low)
    found = check(Job(mast=mast(), cases=(FOLLOWING,)))
    case = found.cases[0]
    assert case.buckling_factor > 1.5
    assert case.stability_factor == 1.2
    assert not case.stable
    assert case.utilisation is None
    assert found.failed
    assert "flutters at 1.20 times" in unstable_words(case)
    assert any("flutters at 1.20 times" in c for c in found.cautions)


def test_a_bent_shape_that_does_not_stand_never_passes(monkeypatch: pytest.MonkeyPatch) -> None:
    solve = FrameModel.solve

    def shaken(self: FrameModel, *args: object) -> BeamState:
        state = solve(self, *args)
        return replace(state, stable=np.zeros_like(state.stable))

    monkeypatch.setattr(FrameModel, "solve", shaken)
    found = check(Job(mast=mast(), cases=(BENT,)))
    case = found.cases[0]
    assert case.shaky
    assert not case.stable
    assert case.tip is None
    assert case.utilisation is None
    assert {c.verdict for c in found.checks if c.case == "bent" and "factor" in c.name} == {Verdict.FAIL}
    assert any("does not stand" in c for c in found.cautions)
    assert "does not stand" in unstable_words(case)


def test_turning_past_ten_degrees_is_said_with_the_solve_that_takes_it(result: MastResult) -> None:
    case = result.cases[2]
    assert case.line is not None
    assert np.degrees(np.abs(case.line.rotation).max()) > 10
    words = next(c for c in result.cautions if c.startswith("Case bent turns"))
    assert "large rotations" in words


def test_json_has_factor_kind_and_shape(result: MastResult) -> None:
    case = json.loads(result_json([result]))["masts"][0]["cases"][0]
    assert case["flutter_factor"] is None
    mode = case["buckling_mode"]
    assert mode["kind"] == "sideways"
    assert sum(mode["energy_share"].values()) == pytest.approx(1)
    shapes = [mode[f"{k}_relative"] for k in ("side", "fore_aft", "twist_times_length")]
    assert {len(s) for s in shapes} == {len(mode["z_m"])}
    assert shapes[0][0] == pytest.approx(0, abs=1e-12)


def test_terminal_and_report_name_the_mode(result: MastResult) -> None:
    table = strength_table(result.cases, "metric")
    headers = [str(c.header) for c in table.columns]
    by = list(table.columns[headers.index("by")].cells)
    assert by[:2] == ["sideways", "sideways"]
    flutters = list(table.columns[headers.index("flutters at\n× service")].cells)
    assert flutters[0] == "–"
    assert flutters[1] == f"{result.cases[1].flutter_factor:.2f}"
    rows = case_table(result, "metric")["rows"]
    cells = [c["t"] if isinstance(c, dict) else c for c in rows[1]]
    assert any("flutters at" in c for c in cells)


def test_the_figure_draws_the_least_stable_case_with_words(result: MastResult) -> None:
    alt, caption = figure_words([result])
    assert "touchdown, sideways" in alt
    assert "touchdown, sideways" in caption
    figure = buckling_modes([result])
    assert figure is not None
    side = figure.axes[0].lines[1]
    assert np.asarray(side.get_ydata())[-1] == pytest.approx(900)
    assert "buckling" in pictures(compare([result]), "metric")


def test_where_nothing_buckles_nothing_is_drawn() -> None:
    pull = LoadCase(name="pull", force=(0.0, 0.0, 500.0), strength_factor=1.0)
    # An ellipse: its centroid lies on the stacking line, so that the pull bends nothing.
    pulled = mast((0.12, 0.016), (0.12, 0.016), outline=OutlineKind.ELLIPSE)
    found = check(Job(mast=pulled, cases=(pull,)))
    assert math.isinf(found.cases[0].buckling_factor)
    assert found.cases[0].buckling_mode is None
    assert buckling_modes([found]) is None
    assert "buckling" not in pictures(compare([found]), "metric")
