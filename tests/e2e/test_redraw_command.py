"""``mastcheck redraw``: an old check drawn again, in real processes, from its result file alone."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from mastcheck import __version__
from tests.e2e.test_cli import TAPERED, WIDE, mastcheck
from tests.records import sealed_file

KEPT = Path(__file__).parents[1] / "data" / "record-1.json"


def test_report_tables_and_status_are_those_of_the_check(tmp_path: Path) -> None:
    cases = ("--case", "carve", "--case", "touchdown")
    said = ("--units", "imperial", "--brief", "--paper", "us-letter")
    files = ("--json", "a.json", "--report", "a.pdf", "--csv", "tables")
    done = mastcheck("compare", WIDE, TAPERED, *cases, *said, *files, cwd=tmp_path)
    assert done.returncode in (0, 1), done.stderr
    # Elsewhere, without the mast files: nothing but the result file is read.
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    shutil.move(tmp_path / "a.json", elsewhere / "old.json")
    files = ("--json", "b.json", "--report", "b.pdf", "--csv", "tables")
    again = mastcheck("redraw", "old.json", *said, *files, cwd=elsewhere)
    assert again.returncode == done.returncode, again.stderr
    assert again.stderr == ""
    assert again.stdout == done.stdout
    assert (elsewhere / "b.pdf").read_bytes() == (tmp_path / "a.pdf").read_bytes()
    assert (elsewhere / "b.json").read_bytes() == (elsewhere / "old.json").read_bytes()
    tables = sorted(p.name for p in (tmp_path / "tables").iterdir())
    assert len(tables) > 10
    for name in tables:
        assert (elsewhere / "tables" / name).read_bytes() == (tmp_path / "tables" / name).read_bytes()


def test_a_kept_file_of_an_older_version_is_drawn(tmp_path: Path) -> None:
    written = json.loads(KEPT.read_text(encoding="utf-8"))
    done = mastcheck("redraw", KEPT, "--report", tmp_path / "kept.pdf")
    assert done.returncode == 1, done.stderr  # worn out by its carves
    assert "Old Sluice 60, kept" in done.stdout
    assert f"{written['masts'][0]['mass_kg']:.3f} kg" in done.stdout
    assert (tmp_path / "kept.pdf").read_bytes().startswith(b"%PDF")


def test_who_computed_and_who_draws_is_told_where_they_differ(tmp_path: Path) -> None:
    older = broken(tmp_path, lambda record: record.update(written_by="mastcheck 0.0.1"))
    done = mastcheck("redraw", older)
    assert done.returncode == 1, done.stderr
    assert done.stderr == f"Computed by mastcheck 0.0.1, drawn by mastcheck {__version__}.\n"


def broken(tmp_path: Path, change: Any) -> Path:
    """The kept file with something changed, and hashes that fit."""
    whole = json.loads(KEPT.read_text(encoding="utf-8"))
    change(whole["record"])
    path = tmp_path / "broken.json"
    path.write_bytes(sealed_file(whole, whole["record"]))
    return path


def refused(path: Path, *words: str | Path) -> str:
    done = mastcheck("redraw", path, *words)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    (line,) = done.stderr.splitlines()
    assert path.name in line
    return line


def test_a_record_that_does_not_hang_together_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    out = tmp_path / "out.pdf"

    def past_the_end(record: dict[str, Any]) -> None:
        record["root"]["masts"][0]["cases"][0]["governing_station"] = 40

    line = refused(broken(tmp_path, past_the_end), "--report", out)
    assert "masts[0].cases[0].governing_station" in line
    assert "does not hang together" in line

    def beyond_numbers(record: dict[str, Any]) -> None:
        record["root"]["masts"][0]["stiffness"]["torsion_Nm_per_deg"] = -(10**400)

    line = refused(broken(tmp_path, beyond_numbers), "--report", out)
    assert "torsion_Nm_per_deg" in line
    assert not out.exists()


def test_a_record_that_fails_in_the_drawing_is_refused(tmp_path: Path) -> None:
    """What no check of ours foresees: a line without a point, in arrays that fit each other."""

    def no_points(record: dict[str, Any]) -> None:
        line = record["root"]["masts"][0]["cases"][0]["line"]
        for key, shape in (
            ("z", [0]),
            ("displacement", [0, 3]),
            ("rotation", [0, 3]),
            ("resultants", [0, 7]),
        ):
            line[key] = len(record["arrays"])
            record["arrays"].append({"type": "<f8", "shape": shape, "packed": False, "data": ""})

    out = tmp_path / "out.pdf"
    line = refused(broken(tmp_path, no_points), "--report", out)
    assert "cannot be drawn" in line
    assert not out.exists()


def test_what_is_no_result_file_is_refused(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "absent.json")
    assert "is no file" in refused(tmp_path)
    (tmp_path / "mast.json").write_text("[mast]\nname = 'x'\n")
    assert "is no JSON" in refused(tmp_path / "mast.json")
    whole = json.loads(KEPT.read_text(encoding="utf-8"))
    del whole["record"]
    (tmp_path / "bare.json").write_text(json.dumps(whole))
    assert "mastcheck 0.5.0 and later write records" in refused(tmp_path / "bare.json")
    good = KEPT.read_bytes()
    (tmp_path / "cut.json").write_bytes(good[: len(good) // 2])
    assert "is no JSON" in refused(tmp_path / "cut.json")
    place = good.index(b'"data":"') + 40
    (tmp_path / "changed.json").write_bytes(good[:place] + b"A" + good[place + 1 :])
    assert "was changed after it was written" in refused(tmp_path / "changed.json")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_that_never_ends_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.json")
    assert "is no file" in refused(tmp_path / "pipe.json")


def test_options_are_judged_before_the_file_is_read(tmp_path: Path) -> None:
    done = mastcheck("redraw", KEPT, "--report", tmp_path / "out.txt")
    assert done.returncode == 2
    assert "must end in .pdf" in done.stderr
