"""``mastcheck envelope`` as a person meets it: real processes and files, faults told first."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from tests.e2e.test_cli import MAST, assert_bad, mastcheck

RANGES = ("--rider", "50kg:200kg", "--length", "60cm:90cm")


@pytest.fixture
def mast(tmp_path: Path) -> Path:
    """A solid mast, 140 x 19 mm at its base and 120 x 17 mm at its tip."""
    path = tmp_path / "mast.toml"
    path.write_text(MAST, encoding="utf-8")
    return path


def test_table_and_every_file(mast: Path, tmp_path: Path) -> None:
    outputs = {flag: tmp_path / name for flag, name in (
        ("--json", "out.json"), ("--csv", "out.csv"), ("--report", "out.pdf"), ("--draw", "out.svg"),
    )}  # fmt: skip
    given = [word for flag, path in outputs.items() for word in (flag, str(path))]
    run = mastcheck("envelope", mast, *RANGES, "--points", "2", "--case", "touchdown", *given)
    assert run.returncode == 0, run.stderr
    assert run.stderr == ""
    assert "\x1b" not in run.stdout
    for words in (
        "Heaviest rider [kg] at each length [mm]", "600", "900", "strength", "stability",
        "all that is judged", "rider's mass alone changes", "CAUTIONS", "approval",
    ):  # fmt: skip
        assert words in run.stdout, words
    data = json.loads(outputs["--json"].read_text(encoding="utf-8"))
    assert data["schema"] == "mastcheck-envelope/1"
    assert {m["case"] for m in data["limits"]} == {"touchdown"}
    assert [row["length_m"] for row in data["lengths"]] == [0.6, 0.9]
    riders = [row["rider_kg"] for row in data["lengths"]]
    assert riders[1] is not None
    assert riders[0] is None or riders[0] > riders[1]
    lines = list(csv.DictReader(outputs["--csv"].read_text(encoding="utf-8").splitlines()))
    assert len(lines) == 2 * (1 + len(data["limits"]))
    assert outputs["--report"].read_bytes()[:5] == b"%PDF-"
    assert b"<svg" in outputs["--draw"].read_bytes()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--rider", "80kg", "--length", "60cm:90cm"), ("a colon between them", "55kg:110kg")),
        (("--rider", "55:110", "--length", "60cm:90cm"), ("--rider", "a bare number has no unit")),
        (("--rider", "110kg:55kg", "--length", "60cm:90cm"), ("from the smaller to the larger",)),
        (("--rider", "55kg:55kg", "--length", "60cm:90cm"), ("from the smaller to the larger",)),
        (("--rider", "1kg:110kg", "--length", "60cm:90cm"), ("--rider", "within 10 kg and 300 kg")),
        (("--rider", "55kg:110kg", "--length", "60kg:90kg"), ("--length", "kg is a unit of mass")),
        (("--rider", "55kg:110kg", "--length", "1cm:90cm"), ("--length", "within 0.05 m and 10 m")),
        (("--rider", "nan kg:110kg", "--length", "60cm:90cm"), ("--rider", "finite number")),
        ((*RANGES, "--points", "1"), ("--points", "from 2 to 15")),
        ((*RANGES, "--points", "99"), ("--points", "from 2 to 15")),
        ((*RANGES, "--case", "carv"), ("--case", "unknown load case", "carve")),
        ((*RANGES, "--draw", "out.txt"), ("--draw", ".png or .svg or .pdf")),
        ((*RANGES, "--report", "out.txt"), ("--report", ".pdf")),
    ],
)  # fmt: skip
def test_a_bad_option_is_told_with_its_remedy(
    mast: Path, options: tuple[str, ...], words: tuple[str, ...]
) -> None:
    run = mastcheck("envelope", mast, *options)
    assert_bad(run, *words)
    assert run.stdout == ""


def test_every_fault_at_once(mast: Path) -> None:
    run = mastcheck("envelope", mast, "--rider", "x", "--length", "y", "--points", "0")
    assert_bad(run, "--rider", "--length", "--points")
    assert len(run.stderr.strip().splitlines()) == 3
