"""What a drawing or a list of coordinates holds that cannot be read, told so that it can be mended."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely

from mastcheck.files import crossings, pieces
from mastcheck.files.dxf import section_dxf
from mastcheck.section.model import Region
from tests.masts import ALUMINIUM
from tests.unit.test_coordinates import problems as list_problems
from tests.unit.test_drawing import area, back, box, drawn, lines, problems, read
from tests.unit.test_mastfile_outlines import MAST, draw
from tests.unit.test_mastfile_outlines import problems as file_problems


def test_a_block_of_another_file_is_named_and_not_left_out(tmp_path: Path) -> None:
    def build(m: Any) -> None:
        box(m, 0, 0, 100, 15)
        m.doc.add_xref_def("other.dxf", "BOSS")
        m.add_blockref("BOSS", (3, 3))

    (told,) = problems(tmp_path, build)
    assert 'block "BOSS" is not in the file; bind or insert it in the drawing' in told


def test_a_block_that_is_nowhere_is_named(tmp_path: Path) -> None:
    def build(m: Any) -> None:
        box(m, 0, 0, 100, 15)
        m.add_blockref("NONE", (3, 3))

    (told,) = problems(tmp_path, build)
    assert "is damaged" in told
    assert "BLOCK" in told


def test_what_is_invisible_is_not_left_out_in_silence(tmp_path: Path) -> None:
    def build(m: Any) -> None:
        box(m, 0, 0, 100, 15)
        m.add_circle((50, 7), 3, dxfattribs={"layer": "HOLES", "invisible": 1})

    (told,) = problems(tmp_path, build)
    assert 'layer "HOLES": is off, frozen or invisible, but 1 drawn entities lie on it' in told
    # A layer that the mast file names is read all the same.
    outer, hole = read(tmp_path, build, fills={"HOLES": "void"}).loops
    assert area(outer) == pytest.approx(1500)
    assert hole.fill is None


def test_a_kind_without_a_place_is_told_by_its_name(tmp_path: Path) -> None:
    def build(m: Any) -> None:
        box(m, 0, 0, 100, 15)
        with m.add_mesh().edit_data() as data:
            data.vertices = [(0, 0, 0), (1, 0, 0), (0, 1, 0)]
            data.faces = [(0, 1, 2)]

    (told,) = problems(tmp_path, build)
    assert "MESH" in told
    assert "is not a line or curve that can bound a section; delete it" in told


@pytest.mark.parametrize(
    ("weights", "knots", "rule"),
    [
        ([1, -1, 1, 1], [0, 0, 0, 0, 1, 1, 1, 1], "its knots and weights do not fit"),
        ([], [0, 0, 0, 1, 0, 1, 1, 1], "its knots and weights do not fit"),
        ([], [0, 0, 0, 0, 0, 0, 1, 1], "its knots span nothing"),
    ],
)
def test_a_spline_that_is_none_is_told(
    tmp_path: Path, weights: list[float], knots: list[float], rule: str
) -> None:
    def build(m: Any) -> None:
        box(m, 0, 0, 100, 15)
        spline = m.add_spline()
        spline.control_points = [(10, 5, 0), (10, 9, 0), (20, 9, 0), (20, 5, 0)]
        spline.knots, spline.weights = knots, weights

    (told,) = problems(tmp_path, build)
    assert "SPLINE" in told
    assert rule in told


def circle(m: Any) -> None:
    m.add_circle((0, 0), 50)


def rounded(m: Any) -> None:
    spline = m.add_spline()
    spline.control_points = [(0, 0, 0), (0, 20, 0), (90, 20, 0), (90, 0, 0)]
    spline.knots = [0, 0, 0, 0, 1, 1, 1, 1]
    m.add_line((90, 0), (0, 0))


def many(m: Any) -> None:
    for k in range(30):
        box(m, k, k, 100 - k, 100 - k)


@pytest.mark.parametrize("build", [circle, rounded, many])
def test_more_points_than_can_be_read_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, build: Any
) -> None:
    assert read(tmp_path, build, chord_error=1e-7).chord > 0.08
    monkeypatch.setattr(pieces, "LARGEST_POINTS", 100)
    (told,) = problems(tmp_path, build, chord_error=1e-7)
    assert "has more than 100 points at this chord error" in told


def test_two_loops_in_one_frame_are_no_copies(tmp_path: Path) -> None:
    """A circle within the square around it: both reach as far, and touch."""

    def build(m: Any) -> None:
        box(m, 0, 0, 100, 100)
        box(m, 40, 40, 50, 50)
        m.add_circle((45, 45), 5)

    (told,) = problems(tmp_path, build)
    assert "the loops touch at" in told
    assert "twice" not in told


def test_a_gap_tolerance_that_swallows_a_row_of_ends_is_told(tmp_path: Path) -> None:
    def build(m: Any) -> None:
        box(m, 0, 0, 100, 40)
        for k in range(6):
            m.add_line((20 + 0.9 * k, 10), (20 + 5 * k, 30))

    told = problems(tmp_path, build, gap=1e-3)
    # 0.9 mm apart, each is within 1 mm of the next; the middle of the six is at 22.25 mm.
    assert any(
        "many ends lie within the gap tolerance of each other at (22.25, 10) mm" in line for line in told
    )
    assert any("state a smaller gap_tolerance" in line for line in told)


def test_crossings_are_told_as_far_as_anyone_reads_them(tmp_path: Path) -> None:
    def build(m: Any) -> None:
        box(m, 0, 0, 100, 40)
        # An open chain of two lines, both crossed often.
        lines(m, [(5, 20), (50, 21), (95, 20)])
        for k in range(8):
            m.add_line((10 + 10 * k, 10), (10 + 10 * k, 30))

    first = problems(tmp_path, build)[0]
    assert first.count("; it crosses LINE") == 1
    crossed = first.split("it crosses")[1].split("trim both")[0]
    assert crossed.count("LINE") == 4
    assert "trim both there" in first


def test_a_tangle_is_refused_without_every_crossing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def build(m: Any) -> None:
        zigzag = [(float(k), 40.0 * (k % 2)) for k in range(40)]
        m.add_lwpolyline([*zigzag, (39.5, 20.0), (-0.5, 20.0)], close=True)

    whole = problems(tmp_path, build)
    monkeypatch.setattr(crossings, "_CHUNK", 4)
    monkeypatch.setattr(crossings, "_PAIRS_KEPT", 2)
    cut_short = problems(tmp_path, build)
    assert "crosses or touches itself at" in whole[0]
    assert "crosses or touches itself at" in cut_short[0]


def test_a_material_of_the_drawing_programs_own_layer_is_written_on_it(tmp_path: Path) -> None:
    """Layer 0 is there in every drawing."""
    material = replace(ALUMINIUM, name="0")
    section = (Region(polygon=shapely.box(0, 0, 0.1, 0.01), material=material),)
    drawing = back(tmp_path, section_dxf(section, name="bar"), {"0": material})
    (loop,) = drawing.loops
    assert (loop.layer, loop.fill) == ("0", material)


def test_a_bad_drawing_named_twice_is_told_once(tmp_path: Path) -> None:
    drawn(tmp_path, lambda m: m.add_line((0, 0), (100, 0)))
    own = MAST.replace("at = 1.0", 'at = 1.0\nfile = "./die.dxf"')
    told = file_problems(tmp_path, own)
    assert len([line for line in told if "loose end" in line]) == 1
    draw(tmp_path / "die.dxf")
    missing = own.replace("./die.dxf", "dye.dxf")
    (line,) = file_problems(tmp_path, missing)
    assert "there is no such file" in line
    assert "die.dxf" in line


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        # The nose and the tail listed twice, and one point more.
        ("0 0\n1 0.01\n0 0\n1 -0.01\n1 0.01\n0.9999999 0.01\n", "holds 3 different points; list both"),
        # Two faces so near each other, and so bent, that curves through their points cross.
        (
            "1 0\n.956 .135\n.828 .069\n.397 .001\n.394 .009\n.243 .061\n.2 .072\n0 0\n.2 .003\n"
            ".243 .055\n.394 .003\n.397 -.116\n.828 -.131\n.956 .129\n",
            "the curve through the points crosses itself near 1 of the chord; give more points there",
        ),
        ("1 0\n0.5 0.1\n0 0\n0.5 0.1\n1 0\n0.7 0\n", "begins at 1 and ends at 0.7 of the chord"),
    ],
)
def test_a_list_that_is_no_outline_says_why(tmp_path: Path, text: str, rule: str) -> None:
    (told,) = list_problems(tmp_path, text)
    assert rule in told
