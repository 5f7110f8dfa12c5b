"""Sharp edges in words: what was found, what rounding does, and what could not be computed."""

from __future__ import annotations

import dataclasses

import pytest
import shapely

from mastcheck.checks.edge_result import Change, EdgeRadii, EdgeResult, Rounding
from mastcheck.checks.edges import _opened, _stretch, _width, edge_cautions, edge_checks
from mastcheck.errors import GeometryError
from mastcheck.report.contacts import contact_sections, edge_part, edges_json, pair_table
from tests.reports import make_mast

CHANGE = Change(EI_side=-0.012, EI_fore_aft=-0.03, GJ=-0.0001, mass=-0.01)
ROUNDING = Rounding(z=0.75, radius=0.001, shorter=0.004, filed=CHANGE, redrawn=CHANGE)
RADII = (EdgeRadii(z=0.0, nose=0.002, tail=0.0008), EdgeRadii(z=0.75, nose=0.0015, tail=0.0))
FOUND = EdgeResult(radii=RADII, limit=0.001, rounding=ROUNDING)


def test_without_a_limit_nothing_is_sharp_and_nothing_is_judged() -> None:
    silent = dataclasses.replace(FOUND, limit=None, rounding=None)
    assert silent.sharp == ()
    assert list(edge_cautions(silent)) == []
    assert edge_checks(silent) == ()
    assert FOUND.sharp == ("tail",)


@pytest.mark.parametrize(
    ("changes", "has", "lacks"),
    [
        ({}, ("filed round, 4 mm comes off", "redrawn with that radius"), ()),
        ({"redrawn": None}, ("filed round, 4 mm comes off",), ("redrawn",)),
        ({"filed": None}, ("redrawn with that radius at the same chord",), ("filed",)),
    ],
)
def test_each_way_of_rounding_that_could_be_built_is_told(
    changes: dict[str, object], has: tuple[str, ...], lacks: tuple[str, ...]
) -> None:
    made = dataclasses.replace(ROUNDING, **changes)
    (said,) = edge_cautions(dataclasses.replace(FOUND, rounding=made))
    assert "trailing edge sharp at the worst place" in said
    assert "they can cut whoever falls on them" in said
    assert "EI side -1.2 %, EI fore-aft -3.0 %, GJ under 0.1 %, mass -1.0 %" in said
    assert all(words in said for words in has)
    assert not any(words in said for words in lacks)


def test_what_could_not_be_computed_is_said() -> None:
    lost = dataclasses.replace(FOUND, rounding=None, not_computed="rounding would open a hollow")
    (said,) = edge_cautions(lost)
    assert said.endswith("was not computed: rounding would open a hollow.")


def test_a_result_file_holds_what_was_built_alone() -> None:
    made = dataclasses.replace(ROUNDING, redrawn=None)
    told = edges_json(dataclasses.replace(FOUND, rounding=made))
    assert told is not None
    assert told["rounding"]["redrawn_at_same_chord"] is None
    assert told["rounding"]["filed"]["EI_side_percent"] == pytest.approx(-1.2)
    assert told["limit_mm"] == 1.0


def test_masts_without_a_limit_are_named_where_others_have_one() -> None:
    silent = dataclasses.replace(FOUND, limit=None, rounding=None)
    first = dataclasses.replace(make_mast(), edges=FOUND)
    second = dataclasses.replace(make_mast("Other"), edges=silent)
    table, words = edge_part([first, second], "metric")
    assert table is not None
    assert [row[0] for row in table["rows"]] == ["A", "", "B", ""]
    assert table["rows"][1][-1] == "sharp"
    assert "No least radius is set for B ([limits] edge_radius): not judged." in words[0]
    assert "No least radius" not in edge_part([first], "metric")[1][0]
    assert "No least radius is set ([limits]" in edge_part([second], "metric")[1][0]
    bare = make_mast()
    assert edge_part([bare], "metric") == (None, [])
    assert pair_table(bare) is None
    assert contact_sections([bare]) == []
    assert [s["pair_words"] for s in contact_sections([first])] == [""]


def test_a_waist_that_a_disc_does_not_pass_takes_the_section_apart() -> None:
    waist = shapely.union_all(
        [
            shapely.box(-0.06, -0.01, -0.01, 0.01),
            shapely.box(0.01, -0.01, 0.06, 0.01),
            shapely.box(-0.01, -0.001, 0.01, 0.001),
        ]
    )
    with pytest.raises(GeometryError, match="rounding to 2 mm takes the section apart"):
        _opened(waist, 0.002)
    with pytest.raises(GeometryError, match="is half the thickness, 20 mm, or more"):
        _opened(waist, 0.010)


def test_a_rhombus_is_stretched_until_it_is_as_wide_when_rounded() -> None:
    rhombus = shapely.Polygon([(-0.06, 0), (0, -0.01), (0.06, 0), (0, 0.01)])
    factor = _stretch(rhombus, 0.002)
    wide = shapely.affinity.scale(rhombus, factor, 1.0, origin=(0.0, 0.0))
    assert factor > 1
    # The disc's own polygon and the outline drawn with fewer points cost a few in 10 000.
    assert _width(_opened(wide, 0.002)) == pytest.approx(0.12, rel=1e-3)
