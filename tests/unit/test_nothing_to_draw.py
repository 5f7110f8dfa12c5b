"""Figures and words of what was not found: left out or said, never drawn as if it were nothing."""

from __future__ import annotations

import dataclasses
import io
import math
from typing import Any

import numpy as np
import pytest
from rich.console import Console

from mastcheck.beam.buckling import BucklingMode, ModeKind
from mastcheck.checks.joint_result import FlexBudget, JointsResult
from mastcheck.checks.result import CaseResult, MastResult, Verdict
from mastcheck.checks.trade_measures import Measure, Side
from mastcheck.cli.joint_tables import print_budgets, print_joints
from mastcheck.joint import Joints, OnePiece
from mastcheck.joints.play import LostMotion
from mastcheck.mast import OutlineKind, Ruled
from mastcheck.report.buckling import drawn_modes, figure_words
from mastcheck.report.csv_rows import flat
from mastcheck.report.display import fixed, given, stated
from mastcheck.report.display import used as used_words
from mastcheck.report.figures import deflected, utilisation_along, utilisation_lines
from mastcheck.report.free_body_figure import free_bodies
from mastcheck.report.joint_figures import flex_budget
from mastcheck.report.joint_rows import BoltRow
from mastcheck.report.joints import accuracy_words, play_words
from mastcheck.report.materials import material_table
from mastcheck.report.station_figures import governing, maps_utilisation, stress_map
from mastcheck.report.strength import unjudged
from mastcheck.report.trade_figure import change_words, value_words
from mastcheck.report.utilisation_figure import case_line, utilisation_by_case, utilisation_words
from mastcheck.report.water_figures import drag_by_speed, water_figures
from mastcheck.report.words import _all_outlines
from tests.reports import UNKNOWN, make_laminated, make_mast


def fallen(mast: MastResult) -> MastResult:
    """The same mast, on which no case stands."""
    none: dict[str, Any] = dict.fromkeys(
        ("tip", "line", "strength_line", "von_mises", "utilisation", "utilisation_along_z",
         "governing_station", "max_von_mises")
    )  # fmt: skip
    cases: tuple[CaseResult, ...] = tuple(
        dataclasses.replace(c, stable=False, **none) for c in mast.cases
    )
    return dataclasses.replace(mast, cases=cases)


def texts(figure: Any) -> list[str]:
    return [t.get_text() for t in figure.texts]


def test_masts_on_which_no_case_stands_are_said_to_have_none_to_draw() -> None:
    lost = fallen(make_mast())
    assert "no stable case to draw" in texts(deflected([lost]))
    assert "no stable case to draw" not in texts(deflected([lost, make_mast()]))
    assert utilisation_lines(lost) is None
    assert utilisation_along([lost]) is None
    assert utilisation_by_case([lost]) is None
    assert governing([lost]) is None
    said = utilisation_words([lost], "metric")
    assert said.startswith("none (unstable or not judged: ")
    assert all(c.case.name in said for c in lost.cases)
    with pytest.raises(ValueError, match="has no stress to draw"):
        stress_map(lost, lost.cases[0])


def test_the_greatest_use_at_each_place_is_that_of_any_case() -> None:
    mast = make_mast()
    rising = dataclasses.replace(
        mast.cases[0], utilisation_along_z=np.linspace(0.1, 0.99, len(mast.z)), utilisation=0.99
    )
    found = utilisation_lines(dataclasses.replace(mast, cases=(rising, *mast.cases[1:])))
    assert found is not None
    z, most = found
    assert (z == mast.z).all()
    last = mast.cases[-1].utilisation_along_z
    assert last is not None
    assert most == pytest.approx(np.maximum(np.linspace(0.1, 0.99, len(z)), last))
    assert case_line(mast, make_mast(material=UNKNOWN).cases[0]) is None
    # One that is judged and one that is not: the other is named.
    silent = dataclasses.replace(mast.cases[1], utilisation_along_z=None)
    both = dataclasses.replace(mast, cases=(mast.cases[0], silent, *mast.cases[2:]))
    assert f"(unstable or not judged: {silent.case.name})" in utilisation_words([both], "metric")


def test_a_section_is_mapped_by_use_only_where_stress_alone_says_too_little() -> None:
    mast = make_mast()
    case = mast.cases[0]
    assert case.von_mises is not None
    share = case.von_mises / 227e6
    judged = dataclasses.replace(case, point_utilisation=share)
    assert not maps_utilisation(mast, judged)
    unlike = dataclasses.replace(mast.sections[0].regions[0], material=UNKNOWN)
    section = dataclasses.replace(mast.sections[0], regions=(*mast.sections[0].regions, unlike))
    two = dataclasses.replace(mast, sections=(section, *mast.sections[1:]))
    assert maps_utilisation(two, judged)
    assert not maps_utilisation(two, case)
    silent = dataclasses.replace(case, point_utilisation=np.full_like(share, np.nan))
    assert not maps_utilisation(two, silent)


def test_a_map_without_a_greatest_place_has_no_ring() -> None:
    mast = make_mast()
    case = mast.cases[0]

    def rings(c: CaseResult) -> int:
        ax = stress_map(mast, c).axes[0]
        return sum(line.get_marker() == "o" for line in ax.lines)

    assert rings(case) == 1
    assert rings(dataclasses.replace(case, max_at_xy=None)) == 0


def test_a_mast_of_which_nothing_of_the_water_is_known_is_not_drawn_in_it() -> None:
    bare = make_mast()
    assert bare.water is None
    assert free_bodies(bare) is None
    assert drag_by_speed([bare]) is None
    assert list(water_figures([bare], units="metric")) == []


NOTHING = LostMotion(**dict.fromkeys((f.name for f in dataclasses.fields(LostMotion)), 0.0))
NONE = JointsResult(budgets=(), findings=(), bolts=(), plays=(), lost=NOTHING)


def budget(case: str) -> FlexBudget:
    movement = np.outer([0.7, 0.3], [0.0, 0.01, 0.0, 0.02, 0.0, 0.03])
    return FlexBudget(case=case, parts=("blade", "base"), movement=movement)


def printed(result: MastResult, *, only: str | None = None) -> str:
    out = io.StringIO()
    console = Console(file=out, width=200)
    if only is None:
        print_joints(console, result, "metric")
    elif result.joints is not None:
        print_budgets(console, result.joints, "metric", name="Gannet", only=only)
    return out.getvalue()


def test_joints_that_move_nothing_are_said_to_have_no_play() -> None:
    bare = make_mast()
    assert play_words(bare, "metric") == []
    assert printed(bare) == ""
    joined = dataclasses.replace(bare, joints=NONE)
    assert play_words(joined, "metric") == [
        "No play is counted: the mast file states no clearance, slack bolt or loose screw."
    ]
    said = printed(joined)
    assert "Flex budget" not in said
    assert "the worst case of each criterion" not in said
    assert "No play is counted" in said
    assert flex_budget(NONE) is None


def test_a_budget_splits_each_movement_or_the_one_asked_for() -> None:
    joined = dataclasses.replace(
        make_mast(), joints=dataclasses.replace(NONE, budgets=(budget("carve"),))
    )
    said = printed(joined)
    for title in ("tip side deflection", "tip roll", "tip twist"):
        assert f"Flex budget: {title}" in said
    one = printed(joined, only="side")
    assert "Flex budget of Gannet: tip side deflection [mm]" in one
    assert "tip roll" not in one
    # 10 mm, of which the base moves three tenths.
    assert "70 %" in one
    assert "30 %" in one


def test_a_bolt_of_which_nothing_could_be_judged_does_not_pass() -> None:
    bolt = BoltRow(
        joint="base", number=1, xy=(0.0, 0.0), case="carve", pull=1.0, across=1.0, used=None, used_in=""
    )
    assert bolt.verdict is Verdict.REPORT
    assert dataclasses.replace(bolt, used=1.0).verdict is Verdict.PASS
    assert dataclasses.replace(bolt, used=1.001).verdict is Verdict.FAIL


def test_what_is_taken_as_rigid_is_said_of_the_masts_of_which_it_holds() -> None:
    plain = make_mast()
    one = dataclasses.replace(plain, job=dataclasses.replace(plain.job, joints=Joints(tip=OnePiece())))
    said = accuracy_words([plain, one])
    assert "The base is taken as fully clamped" in said
    assert "The tip joint of mast A is taken as rigid" in said
    assert "Joints are taken as rigid and the base as fully clamped" in accuracy_words([plain, plain])
    assert "Joints are taken as rigid" not in said


def test_a_mode_that_was_not_found_is_neither_drawn_nor_described() -> None:
    bare = make_mast()
    z = np.array([0.0, 0.75])
    mode = BucklingMode(
        kind=ModeKind.SIDEWAYS,
        share=np.array([0.8, 0.15, 0.05]),
        z=z,
        displacement=np.zeros((2, 3)),
        rotation=np.zeros((2, 3)),
    )
    cases = tuple(dataclasses.replace(c, buckling_mode=mode) for c in bare.cases)
    found = dataclasses.replace(bare, cases=cases)
    assert drawn_modes([bare]) == {}
    assert list(drawn_modes([bare, found])) == [1]
    said, _ = figure_words([bare, found])
    assert "B in " in said
    assert "(energy 80 % sideways, 15 % fore-aft, 5 % twist)" in said
    assert "A in " not in said


def test_a_mast_of_laminate_alone_has_no_table_of_other_materials() -> None:
    mast = make_laminated()
    assert material_table([mast], "metric") is not None
    assert material_table([], "metric") is None


def test_the_outlines_of_a_ruled_section_are_those_of_its_ends() -> None:
    mast = make_mast().job.mast
    one, two = (
        dataclasses.replace(s, outline=kind)
        for s, kind in zip(mast.stations, (OutlineKind.LENS, OutlineKind.ELLIPSE), strict=True)
    )
    ruled = Ruled(first=one, second=two, share=0.5)
    nested = Ruled(first=dataclasses.replace(one, outline=ruled), second=two, share=0.5)
    stations = (dataclasses.replace(one, outline=nested), dataclasses.replace(two, outline=None))
    found = _all_outlines(dataclasses.replace(mast, stations=stations))
    assert set(found) == {OutlineKind.LENS, OutlineKind.ELLIPSE, mast.section.outline}
    assert not any(isinstance(outline, Ruled) for outline in found)


def test_a_material_without_a_strength_is_named_once() -> None:
    assert unjudged(make_mast(material=UNKNOWN)) == ["mystery"]
    assert unjudged(make_mast()) == []


def measure(*values: float | None, missing: tuple[str, ...] = ()) -> Measure:
    return Measure(
        key="x", name="x", unit="N", side=Side.PAY, values=values, missing=missing, words=("", "")
    )


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (None, "–"), (1.0, "same"), (1.004, "same"), (0.8, "−20 %"), (1.25, "+25 %"), (2.5, "×2.5"),
        (250.0, "×250"),
    ],
)  # fmt: skip
def test_a_change_is_a_percentage_while_that_says_more_than_a_multiple(
    value: float | None, said: str
) -> None:
    assert change_words(measure(1.0, value), 1) == said


def test_a_value_that_is_missing_says_why() -> None:
    assert change_words(measure(0.0, 1.0), 1) == "–"
    assert value_words(measure(1.0, None, missing=("", "unstable")), 1, "metric") == "unstable"
    assert value_words(measure(1.0, None), 1, "metric") == "–"


def test_numbers_that_are_not_there_are_a_dash_and_endless_ones_say_so() -> None:
    assert (given(None), stated(None, "mm", "metric"), fixed(None, 2), used_words(None)) == ("–",) * 4
    assert (fixed(math.inf, 2), used_words(math.inf)) == ("none", "∞")
    assert fixed(-0.001, 2) == "0.00"
    assert stated(25.4, "mm", "imperial") == "1 in"


def test_pairs_and_triples_of_numbers_have_a_head_each() -> None:
    assert flat({"range_m": [1.0, 2.0]}) == {"from_range_m": 1.0, "to_range_m": 2.0}
    assert flat({"force_N": [1.0, 2.0, 3.0]}) == {"force_x_N": 1.0, "force_y_N": 2.0, "force_z_N": 3.0}
    assert flat({"max_at_xy_m": [1.0, 2.0]}) == {"max_at_x_m": 1.0, "max_at_y_m": 2.0}
    # Longer lists of numbers have a table of their own.
    assert flat({"z_m": [1.0, 2.0, 3.0, 4.0], "one": [1.0]}) == {}
