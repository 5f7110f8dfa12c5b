"""What a millimetre buys, as printed: steps, signs and shares worked out by hand from the rates."""

from __future__ import annotations

import dataclasses
import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from rich.console import Console

from mastcheck.checks.result import MastResult
from mastcheck.checks.sensitivity_result import CaseSensitivity, Change, Kind, SensitivityResult
from mastcheck.cli.main import main
from mastcheck.cli.sensitivity_table import print_sensitivity
from mastcheck.report.sensitivity import (
    base_words,
    rows,
    sensitivity_sections,
    sensitivity_table,
    shown_case,
)
from tests.reports import UNKNOWN, make_mast

PROFILES = Path(__file__).parents[2] / "profiles"
CHANGES = (
    Change(kind=Kind.CHORD, station=0, at=0.0),
    Change(kind=Kind.WALL, station=0, at=0.0),
    Change(kind=Kind.WALL, station=1, at=1.0),
    Change(kind=Kind.LENGTH, station=None, at=None),
    Change(kind=Kind.E, station=0, at=0.0),
    Change(kind=Kind.E, station=1, at=1.0),
)
MASS = np.array([2.468, 123.4, 61.7, 1.234, 0.0, 0.0])  # kg/m, of 1.234 kg
SIDE = np.array([-1e-4, -4e-3, -1e-3, 8e-5, -1e-5, -1e-5])  # m/N by m, of 2e-5 m/N
TIP = np.array([-0.2, -5.0, -1.0, 0.03, -0.008, -0.002])  # m by m, to the side


def rated(mast: MastResult | None = None, *, judged: bool = True) -> MastResult:
    """A hand-made mast with invented rates: alike in every case, but for the utilisation."""
    mast = mast or make_mast()
    p = len(CHANGES)
    compliance = np.zeros((6, 6, p))
    compliance[1, 1], compliance[5, 5] = SIDE, 2 * SIDE
    tip = np.zeros((6, p))
    tip[1] = TIP
    cases = tuple(
        CaseSensitivity(
            name=case.case.name,
            tip=tip,
            utilisation=np.array([0.0, -40.0, -10.0, 1.0, -0.5, 0.0]) if judged else None,
            z=0.1 if judged else None,
        )
        for case in mast.cases
        if case.stable
    )
    found = SensitivityResult(changes=CHANGES, mass=MASS, compliance=compliance, cases=cases)
    return dataclasses.replace(mast, sensitivity=found)


def printed(result: MastResult, units: Any = "metric", width: int = 200) -> list[str]:
    out = io.StringIO()
    print_sensitivity(Console(file=out, width=width), result, units)
    return out.getvalue().splitlines()


def cells(lines: list[str], change: str, where: str) -> list[str]:
    """The numbers of the row of a change at a place."""
    (line,) = [x for x in lines if x.startswith(change) and where in x]
    return line.partition(where)[2].split()


def test_nothing_is_said_where_nothing_was_asked_for() -> None:
    plain = make_mast()
    assert printed(plain) == []
    assert sensitivity_table(plain, "metric") is None
    assert rows(plain, "metric") == []
    assert shown_case(plain) is None
    assert sensitivity_sections([plain], "metric") == []


def test_a_millimetre_is_a_thousandth_of_the_rate() -> None:
    lines = printed(rated())
    # Of the last case, which is used most: 150 mm chord, 3 + 4 i mm to the side.
    last = make_mast().cases[-1]
    assert last.tip is not None
    side = last.tip.side * 1e3
    # 123.4 kg/m · 1 mm of 1.234 kg; 4e-3 · 1 mm of 2e-5 m/N; twist twice that of 2e-4; 5 m/m · 1 mm.
    want = ["+10.00", "-20.00", "-4.00", "-5.000", f"{-5 / side * 100:.2f}", "0.00", "-4.00"]
    assert cells(lines, "wall +1 mm", "base, z = 0 mm") == want
    assert cells(lines, "wall +1 mm", "tip, z = 750 mm")[:4] == ["+5.00", "-5.00", "-1.00", "-1.000"]


def test_the_whole_mast_is_the_sum_of_its_stations() -> None:
    lines = printed(rated())
    assert cells(lines, "wall +1 mm", "whole mast")[:4] == ["+15.00", "-25.00", "-5.00", "-6.000"]
    # One station alone is not said twice; length, E and G are of the whole mast only.
    assert not [x for x in lines if x.startswith("chord") and "whole mast" in x]
    assert len([x for x in lines if x.startswith("E +1 %")]) == 1
    assert not [x for x in lines if x.startswith(("G +", "thickness +"))]


def test_length_steps_by_a_centimetre_and_stiffness_by_a_hundredth() -> None:
    lines = printed(rated())
    # 1.234 kg/m · 10 mm of 1.234 kg; 8e-5 · 10 mm of 2e-5; 0.03 m/m · 10 mm.
    assert cells(lines, "length +10 mm", "whole mast")[:4] == ["+1.00", "+4.00", "+0.80", "+0.300"]
    assert cells(lines, "E +1 %", "whole mast")[:4] == ["0.00", "-1.00", "-0.20", "-0.100"]
    assert cells(lines, "E +1 %", "whole mast")[-1] == "-0.50"


def test_an_imperial_step_is_a_twentieth_of_an_inch() -> None:
    lines = printed(rated(), "imperial")
    # 123.4 kg/m · 1.27 mm of 1.234 kg, and 5 m/m · 0.05 in.
    at = cells(lines, "wall +0.05 in", "base, z = 0 in")
    assert at[0] == "+12.70"
    assert at[3] == "-0.2500"
    assert cells(lines, "length +0.5 in", "whole mast")[0] == "+1.27"


def test_less_movement_is_less_whichever_way_the_tip_went() -> None:
    """A wall that turns a tip gone to port back by 5 mm reduces its movement, as one to starboard."""
    mast = make_mast()
    mirrored = []
    for case in mast.cases:
        assert case.tip is not None
        tip = dataclasses.replace(case.tip, side=-case.tip.side)
        mirrored.append(dataclasses.replace(case, tip=tip))
    result = rated(dataclasses.replace(mast, cases=tuple(mirrored)))
    assert result.sensitivity is not None
    cases = tuple(dataclasses.replace(c, tip=-c.tip) for c in result.sensitivity.cases)
    result = dataclasses.replace(
        result, sensitivity=dataclasses.replace(result.sensitivity, cases=cases)
    )
    assert [(r.side, r.side_percent) for r in rows(result, "metric")] == [
        (r.side, r.side_percent) for r in rows(rated(), "metric")
    ]


def test_the_case_shown_is_the_one_used_most() -> None:
    mast = make_mast()
    high = dataclasses.replace(mast.cases[1], utilisation=0.99)
    result = rated(dataclasses.replace(mast, cases=(mast.cases[0], high, *mast.cases[2:])))
    lines = printed(result)
    assert f"; in {high.case.name} 7.00 mm to the side" in lines[2]
    assert lines[2].endswith("utilisation 0.990 at z = 100 mm. Side: more of the same way is positive.")
    assert f"of load case {high.case.name}, second order" in lines[-1]


def test_where_none_is_judged_the_case_that_moves_most_is_shown() -> None:
    result = rated(make_mast(material=UNKNOWN), judged=False)
    said = base_words(result, "metric")
    moving = max(result.cases, key=lambda c: abs(c.tip.side) if c.tip else 0.0)
    assert f"; in {moving.case.name} " in said
    assert "utilisation" not in said
    assert cells(printed(result), "wall +1 mm", "base, z = 0 mm")[-1] == "–"
    table = sensitivity_table(result, "metric")
    assert table is not None


def test_without_a_stable_case_only_what_needs_none_is_said() -> None:
    mast = make_mast()
    fallen = tuple(dataclasses.replace(c, stable=False, tip=None) for c in mast.cases)
    result = rated(dataclasses.replace(mast, cases=fallen))
    lines = printed(result)
    assert lines[2] == (
        "As it is: mass 1.23 kg, sideways 2.13 mm per 100 N, twist 0.520 deg per 10 N·m. No stable load"
        " case."
    )
    assert cells(lines, "wall +1 mm", "whole mast") == ["+15.00", "-25.00", "-5.00"]
    assert lines[-1].startswith("Drawn out straight over the step")
    found = sensitivity_table(result, "metric")
    assert found is not None
    assert len(found["columns"]) == 5


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_report_and_terminal_say_the_same_numbers(units: Any) -> None:
    result = rated()
    (section,) = sensitivity_sections([result], units)
    lines = printed(result, units)
    said = [x for x in lines if "+" in x and x.startswith(("chord", "wall", "length", "E"))]
    shown = section["table"]["rows"]
    assert len(said) == len(shown)
    for line, row in zip(said, shown, strict=True):
        texts = [c["t"] if isinstance(c, dict) else c for c in row]
        for text in texts[2:]:
            assert text.replace("−", "-") in line.split()


def test_the_command_prints_what_its_result_file_holds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In a few words of the command itself: the rates of the mast that it was given, at that mast."""
    path = tmp_path / "found.json"
    file = PROFILES / "aluminium-75-tapered.toml"
    assert main(["check", str(file), "--sensitivity", "--json", str(path)]) in (0, 1)
    lines = capsys.readouterr().out.splitlines()
    (mast,) = json.loads(path.read_text())["masts"]
    found = mast["sensitivity"]["changes"]
    for change in found:
        if change["kind"] == "length":
            # Per mm in the file; the table steps by 10 mm.
            row = cells(lines, "length +10 mm", "whole mast")
            assert float(row[0]) == pytest.approx(1000 * change["mass_kg"] / mast["mass_kg"], abs=0.006)
    side = mast["stiffness"]["side_mm_per_100N"]
    by_stiffness = sum(c["side_mm_per_100N"] for c in found if c["kind"] == "E")
    row = cells(lines, "E +1 %", "whole mast")
    assert float(row[1]) == pytest.approx(100 * by_stiffness / side, abs=0.006)
    # Bending goes with 1/E, but for a little shear: a hundredth more of E is about a hundredth less.
    assert -1.0 <= float(row[1]) < -0.95
    assert main(["check", str(file)]) in (0, 1)
    assert "What a millimetre buys" not in capsys.readouterr().out
