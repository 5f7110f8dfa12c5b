"""``mastcheck size`` as a person meets it: real processes and files, faults told first."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from mastcheck.files.mastfile import load
from tests.e2e.test_cli import MAST, assert_bad, mastcheck

LIMIT = """
[limits]
side_deflection = { case = "carve", max = "%s" }
"""


@pytest.fixture
def mast(tmp_path: Path) -> Path:
    """A solid mast whose movement in a carve is limited."""
    path = tmp_path / "mast.toml"
    path.write_text(MAST + LIMIT % "30 mm", encoding="utf-8")
    return path


def test_found_written_and_checked_again(mast: Path, tmp_path: Path) -> None:
    out, result = tmp_path / "new.toml", tmp_path / "size.json"
    run = mastcheck("size", mast, "--vary", "thickness=12mm:25mm", "--case", "carve", "--round", "0.1mm",
                    "--out", out, "--json", result)  # fmt: skip
    assert run.returncode == 0, run.stderr
    assert run.stderr == ""
    assert "\x1b" not in run.stdout
    for words in (
        "Lightest mast that meets its limits", "thickness", "from", "12.00 mm", "25.00 mm",
        "What governs", "side deflection (carve)", "1 % more saves", "A step either way", "fails: side",
        "holds", "of rider more costs", "of length more costs", "no reserve", "CAUTIONS", "approval",
    ):  # fmt: skip
        assert words in run.stdout, words
    data = json.loads(result.read_text(encoding="utf-8"))
    assert data["schema"] == "mastcheck-size/1"
    assert data["found"] is True
    assert data["governing"][0]["check"] == "side deflection"
    rounded = data["rounded"]["settings"]["thickness"]
    assert round(rounded * 1e4) == pytest.approx(rounded * 1e4, abs=1e-6)
    assert max(s.thickness for s in load(out).mast.stations) == pytest.approx(rounded, rel=1e-9)
    assert load(out).limits == load(mast).limits
    assert mastcheck("check", out, "--case", "carve").returncode == 0


def test_none_within_the_bounds(mast: Path, tmp_path: Path) -> None:
    mast.write_text(MAST + LIMIT % "3 mm", encoding="utf-8")
    out = tmp_path / "new.toml"
    run = mastcheck("size", mast, "--vary", "chord=100mm:141mm", "--case", "carve", "--out", out)
    assert run.returncode == 1
    for words in (
        "No mast within these bounds meets its limits. In the way: side deflection (carve)",
        "What is in the way", "chord ends at its upper bound, 141.0 mm", "would be eased beyond it",
    ):  # fmt: skip
        assert words in run.stdout, words
    assert not out.exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ((), ("nothing is sized", "--vary wall")),
        (("--vary", "wall"), ("this mast has no",)),
        (("--vary", "chrod"), ("did you mean chord",)),
        (("--vary", "rider"), ("--rider",)),
        (("--vary", "length=60cm:80cm"), ("--length",)),
        (("--vary", "chord=120mm"), ("LOW:HIGH",)),
        (("--vary", "chord=120mm:140mm:3"), ("LOW:HIGH",)),
        (("--vary", "chord=140mm:120mm"), ("from the smaller to the larger",)),
        (("--vary", "chord=0mm:120mm"), ("more than nothing",)),
        (("--vary", "chord=100:120"), ("a bare number has no unit",)),
        (("--vary", "chord", "--vary", "chord"), ("given twice",)),
        (("--vary", "chord", "--round", "0.1"), ("--round", "a bare number has no unit")),
        (("--vary", "chord", "--round", "5cm"), ("--round", "0.001 mm to 10 mm")),
        (("--vary", "chord", "--case", "carv"), ("--case", "carve")),
        (("--vary", "chord", "--out", "no-such-folder/x.toml"), ("its folder does not exist",)),
    ],
)
def test_a_bad_option_is_told_with_its_remedy(
    mast: Path, options: tuple[str, ...], words: tuple[str, ...]
) -> None:
    run = mastcheck("size", mast, *options)
    assert_bad(run, *words)
    assert run.stdout == ""


def test_the_mast_file_is_never_written_over(mast: Path) -> None:
    before = mast.read_bytes()
    assert_bad(mastcheck("size", mast, "--vary", "chord", "--out", mast), "a file of this name exists")
    assert mast.read_bytes() == before
