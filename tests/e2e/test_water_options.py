"""Speeds and ride height from the command line, in real processes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.e2e.test_cli import MAST, mastcheck


@pytest.fixture
def mast(tmp_path: Path) -> Path:
    """A small mast file that says nothing of water."""
    path = tmp_path / "mast.toml"
    path.write_text(MAST, encoding="utf-8")
    return path


def test_speeds_and_ride_height_reach_the_result(mast: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    done = mastcheck("check", mast, "--speed", "5 m/s:10 m/s", "--ride-height", "30 cm", "--json", out)
    assert done.returncode in (0, 1), done.stderr
    result = json.loads(out.read_text(encoding="utf-8"))["masts"][0]
    water = result["water"]
    assert water["drag"]["speeds_m_per_s"][0] == 5.0
    assert water["drag"]["speeds_m_per_s"][-1] == 10.0
    assert water["waterline_z_m"] == pytest.approx(0.3)
    assert result["motion"]["speeds_m_per_s"] == [5.0, 10.0]
    notes = result["notes"]
    assert "speeds 5 to 10 m/s given with the command" in notes
    assert "ride height 300 mm given with the command" in notes
    assert not [n for n in notes if n.startswith(("wet fraction", "speeds from"))]
    assert "In the water" in done.stdout


def test_riding_lower_wets_more_and_drags_more(mast: Path, tmp_path: Path) -> None:
    drags = []
    for height in ("200 mm", "400 mm"):
        out = tmp_path / "out.json"
        mastcheck("check", mast, "--speed", "8 m/s", "--ride-height", height, "--json", out)
        water = json.loads(out.read_text(encoding="utf-8"))["masts"][0]["water"]
        drags.append(water["drag"]["total_N"][-1])
    assert drags[0] > 1.3 * drags[1]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--ride-height", "700 mm"), "--ride-height"),
        (("--ride-height", "500 mm", "--length", "450 mm"), "--ride-height"),
        (("--ride-height=-10 mm",), "--ride-height"),
        (("--ride-height", "300"), "--ride-height"),
        (("--speed", "12 m/s:5 m/s"), "slowest first"),
        (("--speed", "5 m/s:"), "--speed"),
        (("--speed", "0 m/s"), "0.1 m/s to 50 m/s"),
        (("--speed", "5:12"), "--speed"),
    ],
)
def test_what_does_not_fit_is_refused_by_name(mast: Path, words: tuple[str, ...], told: str) -> None:
    done = mastcheck("check", mast, *words)
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_a_length_that_the_files_ride_height_lifts_dry_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "mast.toml"
    path.write_text(MAST + '\n[conditions]\nride_height = "400 mm"\n', encoding="utf-8")
    done = mastcheck("check", path, "--length", "390 mm")
    assert done.returncode == 2
    assert "out of the water" in done.stderr
    assert "Traceback" not in done.stderr
    assert mastcheck("check", path, "--length", "700 mm").returncode in (0, 1)
