"""Results as CSV: nothing of the result file lost, all digits, units in heads, text that stays text."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from mastcheck.checks.compare import compare
from mastcheck.checks.result import Comparison
from mastcheck.checks.run import check
from mastcheck.checks.sensitivity import sensitivity
from mastcheck.files.mastfile import load
from mastcheck.report.csv_rows import flat, sheet
from mastcheck.report.csv_tables import csv_files
from mastcheck.report.json import result_json
from mastcheck.search.tolerances import tolerances
from mastcheck.spreadsheet import FORMULA, cell, csv_bytes, remark
from tests import reports

PROFILES = Path(__file__).parents[2] / "profiles"
UNITS = (
    "_m", "_mm", "_m2", "_N", "_Nm", "_Nm2", "_Nm4", "_Pa", "_MPa", "_kg", "_kgm2", "_deg", "_rad",
    "_Hz", "_s", "_s2", "_W", "_V", "_C", "_m_per_s", "_deg_per_s", "_deg_per_s2", "_kg_per_m",
    "_kg_per_m3", "_m2_per_s", "_Nms_per_rad", "_Nm_per_rad", "_per_rad_N", "_per_rad", "_Nm_per_deg",
    "_mm_per_100N", "_deg_per_10Nm", "_percent", "_relative",
)  # fmt: skip
BARE = re.compile(
    r"utilisation|.*factor.*|amplification.*|(energy_share|shares)_.*|rank|.*count|seed|refused|exceeded"
    r"|used|probability_.*|deviation_in_limits|coverage|.*strouhal.*|over_fastest|.*aspect_ratio|reynolds_.*"
    r"|nu12|gamma.*|coupling|unsymmetry|knock_down|wet_fraction|taper_about|nose_solid_to|tail_solid_from"
    r"|at|chord_fraction|ply|bolt|station|sections_solved|fewest_elements|side_force_over_weight"
    r"|feet_twist_over_weight_times_stance|[A-Z] over A|side|fore_aft|edge_by_twist|cycles|m1|m2|damage"
    r"|cycles_to_failure|per_Nm?_of_[FM][xyz]|.*_(value|low|high)"
)
"""Heads of numbers that have no unit: shares, ratios, counts, places on a mode shape of height one."""


@pytest.fixture(scope="module")
def found() -> Comparison:
    """Every part of a result there is: joints, plies, wings, water, rates, tolerances."""
    first = check(load(PROFILES / "aluminium-75-three-joints.toml"))
    first = dataclasses.replace(
        first, sensitivity=sensitivity(first), tolerances=tolerances(first, samples=0, workers=1)
    )
    others = [
        check(load(PROFILES / f"{name}.toml")) for name in ("carbon-75-layup", "aluminium-75-quiver")
    ]
    return compare([first, *others])


@pytest.fixture(scope="module")
def files(found: Comparison) -> dict[str, bytes]:
    return csv_files(found)


def read(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8"), newline=""), strict=True))


def leaves(node: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from leaves(value, f"{path}.{key}")
    elif isinstance(node, list):
        for value in node:
            yield from leaves(value, path)
    else:
        yield path, node


def test_nothing_of_the_result_file_is_lost(found: Comparison, files: dict[str, bytes]) -> None:
    cells = {text for data in files.values() for row in read(data) for text in row}
    whole = "\n".join(cells)
    masts = json.loads(result_json(found.masts))["masts"]
    lost = set()
    for path, value in leaves(masts):
        if isinstance(value, float):  # to the last bit
            if repr(value) not in cells:
                lost.add(path)
        elif isinstance(value, str) and value not in cells and value not in whole:
            lost.add(path)
    assert lost == set()


def test_files_are_rfc_4180_tables(files: dict[str, bytes]) -> None:
    assert {"masts.csv", "cautions.csv", "ratios.csv", "checks.csv", "bolts.csv", "layups.csv"} <= set(
        files
    )
    for name, data in files.items():
        assert re.fullmatch(r"[a-z-]{4,30}\.csv", name)
        head, *rows = read(data)
        assert rows, name
        assert {len(row) for row in rows} == {len(head)}, name
        assert len(set(head)) == len(head), name
        assert all(head), name
        assert data.endswith(b"\r\n")
        outside = re.sub(rb'"(?:[^"]|"")*"', b"", data)  # what no quotes hold
        assert outside.count(b"\n") == outside.count(b"\r\n") == len(rows) + 1, name


def test_each_number_has_its_unit(files: dict[str, bytes]) -> None:
    """In the head, or in a column of its own beside it."""
    bare: set[tuple[str, str]] = set()
    for name, data in files.items():
        head, *rows = read(data)
        for place, column in enumerate(head):
            numbers = [
                row[place] for row in rows if re.fullmatch(r"-?\d+(\.\d*)?(e[+-]?\d+)?", row[place])
            ]
            if numbers and "unit" not in head and not column.endswith(UNITS):
                bare.add((name, column))
    assert {(name, column) for name, column in bare if not BARE.fullmatch(column)} == {
        ("self-checks.csv", "value"),  # differences, each as its name says
        ("self-checks.csv", "limit"),
    }


def test_rows_say_which_mast(found: Comparison, files: dict[str, bytes]) -> None:
    for name, data in files.items():
        if name not in ("cautions.csv", "ratios.csv"):
            head, *rows = read(data)
            assert head[0] == "mast"
            assert {row[0] for row in rows} <= {"A", "B", "C"}
    names = [row[1] for row in read(files["masts.csv"])[1:]]
    assert names == [m.job.mast.name for m in found.masts]
    (column,) = [i for i, h in enumerate(read(files["ratios.csv"])[0]) if h == "B over A"]
    mass = next(row for row in read(files["ratios.csv"]) if row[0] == "mass")
    assert float(mass[column]) == found.masts[1].mass / found.masts[0].mass


def test_lines_along_the_mast_are_those_solved(found: Comparison, files: dict[str, bytes]) -> None:
    head, *rows = read(files["along-the-mast.csv"])
    case = found.masts[1].cases[0]
    line = case.line
    assert line is not None
    own = [
        dict(zip(head, row, strict=True)) for row in rows if row[:3] == ["B", case.case.name, "service"]
    ]
    assert [float(r["z_m"]) for r in own] == line.z.tolist()
    np.testing.assert_array_equal([float(r["My_Nm"]) for r in own], line.resultants[:, 4])
    assert case.tip is not None
    assert float(own[-1]["side_mm"]) == pytest.approx(case.tip.side * 1e3, rel=1e-9)
    assert float(own[-1]["twist_deg"]) == pytest.approx(
        math.degrees(case.tip.twist), rel=1e-9, abs=1e-12
    )


def test_same_input_gives_same_bytes(found: Comparison, files: dict[str, bytes]) -> None:
    assert csv_files(found) == files


HOSTILE = (
    "=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(1)", "\t=1", "\r=1", "\n=1", "＝1+1", '"=1',
    "a,=1\r\n=2", "<script>alert(1)</script>", "\x1b[31mred\x07", "a\u202eb", "x" * 10_000,
)  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_text_is_never_a_formula_and_never_lost(text: str) -> None:
    mast = reports.make_mast(text)
    caution = dataclasses.replace(mast, cautions=(text,))
    case = dataclasses.replace(mast.cases[0], case=dataclasses.replace(mast.cases[0].case, name=text))
    wild = dataclasses.replace(caution, cases=(case, *mast.cases[1:]))
    wild = dataclasses.replace(wild, job=dataclasses.replace(wild.job, notes=(text,), file=text))
    seen = 0
    for data in csv_files(reports.compare(wild, reports.make_mast())).values():
        assert b"\x1b" not in data
        assert b"\x07" not in data
        for row in read(data):
            for value in row:
                if value.startswith(FORMULA):
                    float(value)  # a negative number, and nothing else
                back = re.sub(r"\[U\+([0-9A-F]{4,6})\]", lambda m: chr(int(m[1], 16)), value)
                seen += back.removeprefix("'") == text
    assert seen >= 4  # name, file, case, note, caution


def test_numbers_keep_their_sign_and_their_bits() -> None:
    values = [-0.1, 1 / 3, -1e-300, 5e300, 0, -7, np.float64(2 / 3)]
    ((*back,),) = read(csv_bytes([], [values]))[1:]
    assert [float(v) for v in back] == values
    assert cell(-0.0) == "0.0"
    assert cell(math.nan) == ""


def test_what_is_not_there_leaves_no_column_of_its_own() -> None:
    rows = [
        flat({"a": {"x_m": 1.0}, "band_V": [1, 2], "at_xy_m": [3, 4]}),
        flat({"a": None, "band_V": None, "at_xy_m": None, "empty": None}),
    ]
    assert read(sheet(rows)) == [
        ["a_x_m", "from_band_V", "to_band_V", "at_x_m", "at_y_m", "empty"],
        ["1.0", "1", "2", "3", "4", ""],
        [""] * 6,
    ]


@pytest.mark.parametrize("cut", [",", ";", "\t"])
@pytest.mark.parametrize("start", ["=1+1", ' "=1', " @x", "-1", "＝1"])
def test_a_remark_s_cells_are_no_formulas_either(cut: str, start: str) -> None:
    """A spreadsheet cuts a line of remarks too, at commas, semicolons or tabs as it is set."""
    line = remark(f"Quay Lane{cut}{start}{cut}{start}")
    assert not any(part.strip(' "').startswith(FORMULA) for part in line.split(cut))
    assert line.replace("'", "") == f"Quay Lane{cut}{start}{cut}{start}"
