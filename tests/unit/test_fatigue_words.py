"""Fatigue as it is printed: what is judged, what is not and why, and nothing where nothing was asked."""

from __future__ import annotations

import dataclasses

import pytest

from mastcheck.checks.result import MastResult
from mastcheck.report.fatigue import fatigue_sections, fatigue_table, fatigue_words, unjudged_words
from mastcheck.source import PRACTICE
from mastcheck.strength.fatigue import DetailCurve, Fatigue, FatigueRange, FatigueResult, FatigueWorst
from tests.reports import make_mast

CURVE = DetailCurve(
    name="detail category 36-3.4", delta_sigma_c=36e6, m1=3.4, m2=5.4, gamma=1.35, source=PRACTICE,
    aluminium_only=True,
)  # fmt: skip
ASKED = Fatigue(cycles=(("carve", 2e5), ("pump", 1e6)), curve=CURVE)


def worst(material: str = "metal", damage: float | None = 0.4) -> FatigueWorst:
    return FatigueWorst(
        material=material,
        damage=damage,
        used=None if damage is None else 0.76,
        z=0.1,
        xy=(-0.03, 0.009),
        ranges=(
            FatigueRange(case="carve", cycles=2e5, range=41.5e6, life=None if damage is None else 5e5),
            FatigueRange(case="pump", cycles=1e6, range=12.25e6, life=None if damage is None else 1e8),
        ),
    )


def result(found: FatigueResult | None) -> MastResult:
    return dataclasses.replace(make_mast(), fatigue=found)


def test_nothing_is_said_where_no_fatigue_was_asked_for() -> None:
    assert fatigue_words(result(None), "metric") == ""
    assert fatigue_table(result(None), "metric") is None
    assert fatigue_sections([result(None)], "metric") == []


def test_a_curve_is_told_with_its_partial_factor_and_without_its_cut_off() -> None:
    said = fatigue_words(result(FatigueResult(fatigue=ASKED, worst=(worst(),))), "metric")
    assert (
        "Detail category 36-3.4: 36 MPa at 2 million cycles, slope 3.4, from 5 million 5.4, no cut-off;"
        " ranges times 1.35." in said
    )
    assert "with left and right changed about" in said
    assert "Not judged" not in said
    assert said.endswith("Welds, screw holes and threads need their own check.")
    one_way = dataclasses.replace(ASKED, alternating=False)
    said = fatigue_words(result(FatigueResult(fatigue=one_way, worst=(worst(),))), "metric")
    assert said.startswith("A cycle passes through the load case and no load; ")


def test_without_a_curve_nothing_is_judged() -> None:
    bare = dataclasses.replace(ASKED, curve=None)
    found = FatigueResult(fatigue=bare, worst=(worst(damage=None),))
    assert "No curve is stated: the range is reported and not judged." in fatigue_words(
        result(found), "metric"
    )
    table = fatigue_table(result(found), "metric")
    assert table is not None
    first, second = table["rows"]
    assert first[5:] == ["–", {"t": "not judged", "mood": "open"}, "–"]
    assert second[5:] == ["–", "", ""]


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"material": "oak"}, "the curve is stated for oak"),
        ({}, "a detail category judges materials that are known to be aluminium alone"),
        ({"aluminium_only": False}, "a curve of the file's own judges the skin alone"),
    ],
)
def test_what_the_curve_does_not_judge_is_named_with_the_reason(
    changes: dict[str, object], why: str
) -> None:
    curve = dataclasses.replace(CURVE, **changes)
    asked = dataclasses.replace(ASKED, curve=curve)
    both = FatigueResult(fatigue=asked, worst=(worst(), worst("liner", None)))
    assert unjudged_words(both).startswith(f"Not judged: liner: {why}")
    assert unjudged_words(both) in fatigue_words(result(both), "metric")
    assert unjudged_words(dataclasses.replace(both, worst=(worst(),))) == ""


def test_cases_that_are_not_summed_are_named() -> None:
    found = FatigueResult(fatigue=ASKED, unstable=("carve",), missing=("pump",))
    said = fatigue_words(result(found), "metric")
    assert "Not summed: carve has no stable shape at service load." in said
    assert "Not checked: load case pump was not asked for." in said
    assert fatigue_table(result(found), "metric") is None
    (section,) = fatigue_sections([result(found)], "metric")
    assert section["table"] is None


def test_the_table_gives_ranges_and_the_sum_of_damage() -> None:
    table = fatigue_table(result(FatigueResult(fatigue=ASKED, worst=(worst(),))), "metric")
    assert table is not None
    first, second = table["rows"]
    assert first[0] == "metal"
    assert first[2:4] == ["carve", "41.5"]
    assert first[-1] == "0.76"
    # Material, place, damage and use are of the point, and said once.
    assert second[:4] == ["", "", "pump", "12.2"]
    assert second[-2:] == ["", ""]
    imperial = fatigue_table(result(FatigueResult(fatigue=ASKED, worst=(worst(),))), "imperial")
    assert imperial is not None
    assert imperial["rows"][0][3] == "6.02"  # 41.5 MPa / 6.894757 MPa per ksi


def test_a_damage_beyond_one_is_marked() -> None:
    def mood(damage: float) -> object:
        found = FatigueResult(fatigue=ASKED, worst=(worst(damage=damage),))
        table = fatigue_table(result(found), "metric")
        assert table is not None
        cell = table["rows"][0][6]
        return cell.get("mood") if isinstance(cell, dict) else None

    assert mood(1.0) == mood(0.4)
    assert mood(1.01) != mood(1.0)
