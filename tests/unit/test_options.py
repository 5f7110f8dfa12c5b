"""Options of a check: jobs are changed as the command line says, and all faults are told together."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from mastcheck.cli.main import main
from mastcheck.cli.options import Asked, Options, read_jobs
from mastcheck.errors import InputError
from tests.unit.test_mastfile import GOOD, written

INCH = 0.0254


def told(*files: Path, **options: object) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_jobs(files, Options(**options))  # type: ignore[arg-type]
    return [str(problem) for problem in caught.value.problems]


def test_what_is_not_asked_changes_nothing(tmp_path: Path) -> None:
    """No reading outside the file's folder, and no solving anew, unless they are asked for."""
    assert all(not getattr(Asked(), f.name) for f in fields(Asked))
    (plain,) = read_jobs([written(tmp_path, GOOD)], Options())
    assert plain.mast.length == 0.75
    assert not any("command" in note or "instead of" in note for note in plain.notes)


def test_each_option_changes_what_it_names(tmp_path: Path) -> None:
    path = written(tmp_path, GOOD)
    options = Options(
        length="26 in", trim="tip", rider="95 kg", speed="5 m/s:12 m/s", ride_height="300 mm",
        case=("carve",),
    )  # fmt: skip
    both = read_jobs([path, path], options)
    assert len(both) == 2
    for job in both:
        assert job.mast.length == pytest.approx(26 * INCH)
        # Cut at the tip of 750 mm, whose chord goes from 150 to 100 mm.
        assert job.mast.stations[-1].chord == pytest.approx(0.150 - 0.050 * 26 * INCH / 0.75)
        assert job.rider.mass == 95
        assert job.speeds == (5, 12)
        assert job.conditions.ride_height == pytest.approx(0.3)
        assert [case.name for case in job.cases] == ["carve"]


def test_one_speed_is_slowest_and_fastest(tmp_path: Path) -> None:
    path = written(tmp_path, GOOD)
    (one,) = read_jobs([path], Options(speed="7 m/s"))
    (spaced,) = read_jobs([path], Options(speed=" 5 m/s : 12 m/s "))
    assert (one.speeds, spaced.speeds) == ((7, 7), (5, 12))


def test_faults_of_all_options_and_files_come_together_and_once(tmp_path: Path) -> None:
    good, bad = written(tmp_path, GOOD), tmp_path / "none.toml"
    found = told(good, good, bad, length="75", rider="95 kgg", speed="5 m/s:12", case=("gusts",))
    assert sum("--length" in p for p in found) == 1
    assert sum("--rider" in p for p in found) == 1
    assert sum("--speed" in p for p in found) == 1
    assert sum("gusts" in p for p in found) == 1
    assert sum("none.toml" in p for p in found) == 1
    assert len(found) == 5


def test_either_end_of_a_range_of_speeds_may_be_at_fault(tmp_path: Path) -> None:
    path = written(tmp_path, GOOD)
    for text, faults in (("5 m/s:fast", 1), ("slow:5 m/s", 1), ("slow:fast", 2), ("5 m/s:", 1)):
        found = told(path, speed=text)
        assert len(found) == faults, text
        assert all("--speed" in p for p in found)


def test_a_length_that_cannot_be_read_is_no_fault_of_the_trim(tmp_path: Path) -> None:
    path = written(tmp_path, GOOD)
    (alone,) = told(path, trim="tip")
    assert "--trim" in alone
    assert "--length" in alone
    (unread,) = told(path, length="long", trim="tip")
    assert "--trim" not in unread


def test_a_negative_quantity_is_refused_for_what_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And is not taken for an option that does not exist."""
    assert main(["check", str(written(tmp_path, GOOD)), "--length", "-1 m"]) == 2
    said = capsys.readouterr().err
    assert "--length" in said
    assert "-1" in said
    assert "unknown option" not in said.lower()
