"""Options and places that a command refuses before it computes, each with what to do instead."""

from __future__ import annotations

import errno
import shutil
from pathlib import Path

import pytest

from mastcheck.checks.wall import NoWallError, Reach
from mastcheck.cli.main import main
from mastcheck.cli.measurements import Measurements
from mastcheck.cli.new import _no_wall
from mastcheck.cli.redraw import hanging_together, record_bytes
from mastcheck.cli.text import PLAIN_LETTERS
from mastcheck.cli.tolerance_options import ToleranceOptions, refuse_faults
from mastcheck.errors import GeometryError, InputError
from mastcheck.job import Job
from mastcheck.scatter import Quantity, Tolerance
from mastcheck.source import PRACTICE
from tests.masts import mast as solid

PROFILES = Path(__file__).parents[2] / "profiles"
MAST = PROFILES / "aluminium-75-tapered.toml"
DRAWN = PROFILES / "aluminium-75-section-file.toml"
READINGS = "load [kg],direction,load_z [mm],gauge,gauge_z [mm],reading [mm]\n5,side,750,side,750,3.2\n"


@pytest.fixture
def readings(tmp_path: Path) -> Path:
    path = tmp_path / "readings.csv"
    path.write_text(READINGS, encoding="utf-8")
    return path


def told(words: list[str | Path], capsys: pytest.CaptureFixture[str]) -> list[str]:
    """The problems of a command that is refused."""
    assert main([str(word) for word in words]) == 2
    out = capsys.readouterr()
    assert out.out == ""
    lines = out.err.splitlines()
    assert all(line.startswith("mastcheck: ") for line in lines)
    return lines


def test_a_calibrated_file_stays_beside_the_drawings_it_names(
    readings: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (line,) = told(["bench", DRAWN, readings, "--write", tmp_path / "own.toml"], capsys)
    assert "--write" in line
    assert "names its drawings by their place" in line
    assert f"write it to {PROFILES}" in line


@pytest.mark.parametrize(
    ("flag", "name", "rule"),
    [
        ("--report", "bench.txt", "must end in .pdf"),
        ("--draw", "bench.gif", "must end in .png or .svg or .pdf"),
        ("--write", "own.json", "must end in .toml"),
        ("--write", "", "is a folder"),
        ("--report", "readings.csv", "must end in .pdf"),
        ("--json", "readings.csv", "is also the path of the readings"),
    ],
)
def test_an_output_of_the_wrong_kind_is_refused(
    readings: Path, capsys: pytest.CaptureFixture[str], flag: str, name: str, rule: str
) -> None:
    (line,) = told(["bench", MAST, readings, flag, readings.parent / name], capsys)
    assert flag in line
    assert rule in line
    assert sorted(path.name for path in readings.parent.iterdir()) == ["readings.csv"]


def test_a_test_sheet_and_readings_do_not_go_together(
    readings: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first, second = told(["bench", MAST, readings, "--plan", "--write", tmp_path / "own.toml"], capsys)
    assert "--plan: goes without readings" in first
    assert "--write" in second
    assert "goes with readings, not with --plan" in second
    lines = told(["bench", MAST, "--out", tmp_path / "sheet.pdf"], capsys)
    assert "needs readings to fit, or --plan for a test sheet" in lines[0]
    assert "goes with --plan" in lines[1]


def test_a_place_where_no_file_can_be_is_told_before_the_work(
    readings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Below a file there is no folder, whoever asks."""
    (line,) = told(["bench", MAST, readings, "--json", readings / "bench.json"], capsys)
    assert f"{readings} is no folder that you may write to" in line
    (line,) = told(["page", MAST, "--out", readings / "page.html"], capsys)
    assert f"{readings} is no folder that you may write to" in line


def test_two_outputs_need_two_names(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    both = tmp_path / "both.pdf"
    (line,) = told(["check", MAST, "--json", both, "--report", both], capsys)
    assert "--json" in line
    assert "is also the report's path" in line
    mast = tmp_path / "mast.toml"
    shutil.copy(MAST, mast)
    one = tmp_path / "one.toml"
    lines = told(["size", mast, "--vary", "base_chord", "--out", one, "--json", one], capsys)
    assert any("--out" in line and "is also the path of --json" in line for line in lines)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["mast.toml"]


def test_a_tolerance_on_what_the_mast_has_not_is_told_with_other_faults() -> None:
    wall = Tolerance(quantity=Quantity.WALL, limit=1e-4, relative=False, source=PRACTICE)
    job = Job(mast=solid(), scatter=(wall,))
    with pytest.raises(InputError) as caught:
        refuse_faults(ToleranceOptions(samples=1, seed=-1), [job])
    assert [problem.key for problem in caught.value.problems] == [
        "--samples", "--seed", "tolerances.wall",
    ]  # fmt: skip
    with pytest.raises(InputError, match="has no samples to go with"):
        refuse_faults(ToleranceOptions(tolerances=True, seed=5), [Job(mast=solid())])
    # Where they are not asked for, they are no fault.
    refuse_faults(ToleranceOptions(), [job])


def test_a_mass_between_the_thickest_wall_and_solid_says_all_three() -> None:
    reach = Reach(least_wall=0.00015, lightest=0.1, greatest_wall=0.006, heaviest=1.9, solid=2.4)
    given = Measurements(mass="2.2 kg", fittings="100 g")
    problem = _no_wall(NoWallError(2.1, reach), given)
    assert problem.key == "--mass"
    assert problem.rule.startswith("no uniform wall gives 2.1 kg of blade: with 6 mm, the thickest")
    assert "it weighs 1.9 kg, and solid 2.4 kg" in problem.rule
    assert problem.rule.endswith("the nearest possible is 1.9 kg")
    assert "solid at one end" in problem.remedy
    heavy = _no_wall(NoWallError(2.3, reach), Measurements(mass="2.3 kg"))
    assert heavy.rule.endswith("the nearest possible is 2.4 kg")


def test_what_fails_in_a_drawing_is_the_record_s_fault_and_a_key_is_not() -> None:
    file = Path("found.json")
    with (
        pytest.raises(InputError, match=r"cannot be drawn \(IndexError: past\)"),
        hanging_together(file),
    ):
        raise IndexError("past")
    for stop in (KeyboardInterrupt, SystemExit):
        with pytest.raises(stop), hanging_together(file):
            raise stop
    for told_already in (GeometryError("no room"), OSError("full"), ImportError("typst")):
        with pytest.raises(type(told_already)), hanging_together(file):
            raise told_already


def test_a_record_that_cannot_be_read_is_told_as_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shut = tmp_path / "found.json"
    shut.write_text("{}")

    def closed(*_: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "open", closed)
    with pytest.raises(InputError, match=r"cannot be read \(Permission denied\); check its permissions"):
        record_bytes(shut)


def test_a_letter_that_a_terminal_lacks_becomes_a_plain_one() -> None:
    assert "σ² in N·m²".encode("ascii", PLAIN_LETTERS).isascii()
    # Only what is written can be made plainer: what cannot be read stays a fault.
    with pytest.raises(UnicodeDecodeError):
        b"\xff".decode("ascii", PLAIN_LETTERS)
