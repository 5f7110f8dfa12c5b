"""``mastcheck sweep`` as a person meets it: real processes, stopped, killed and started again."""

from __future__ import annotations

import csv
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.e2e.test_cli import assert_bad, mastcheck

MAST = """\
[mast]
name = "e2e [bold]mast[/bold]"
length = "700 mm"

[[mast.station]]
at = 0.0
chord = "120 mm"
thickness = "18 mm"

[[mast.station]]
at = 1.0
chord = "120 mm"
thickness = "18 mm"

[section]
outline = "ellipse"
construction = "hollow"
wall = "3 mm"
material = "EN AW-6082-T6"

[limits]
side_deflection = { case = "carve", max = "30 mm" }
"""
VARIED = ("--vary", "wall=2mm,3mm,12mm", "--length", "65cm:85cm:3", "--rider", "70kg,90kg")
CASE = ("--case", "carve")


@pytest.fixture
def mast(tmp_path: Path) -> Path:
    """A uniform hollow mast with a limit that long masts exceed."""
    path = tmp_path / "mast.toml"
    path.write_text(MAST, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The table of a run that nothing happened to, by one worker."""
    folder = tmp_path_factory.mktemp("undisturbed")
    (folder / "mast.toml").write_text(MAST, encoding="utf-8")
    run = mastcheck("sweep", "mast.toml", *VARIED, *CASE, "--workers", "1", cwd=folder)
    assert run.returncode == 0, run.stderr
    return (folder / "mast-sweep.csv").read_bytes()


def begun(folder: Path) -> subprocess.Popen[str]:
    """A sweep that has written its first rows, in a process group of its own as a terminal makes it."""
    process = subprocess.Popen(
        [sys.executable, "-m", "mastcheck", "sweep", "mast.toml", *VARIED, *CASE, "--workers", "1"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        cwd=folder,
        env={**os.environ, "MASTCHECK_CACHE": "off"},
        start_new_session=True,
    )
    journal = folder / "mast-sweep.csv.partial"
    limit = time.monotonic() + 120
    while process.poll() is None and time.monotonic() < limit:
        if journal.exists() and journal.read_bytes().count(b"\n") > 1:
            return process
        time.sleep(0.002)
    out, error = process.communicate()
    raise AssertionError(f"it ended by itself: {out}{error}")


def assert_gone(process: subprocess.Popen[str]) -> None:
    """No process of the command is left, or is not for long."""
    limit = time.monotonic() + 30
    while time.monotonic() < limit:
        try:
            os.killpg(process.pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    raise AssertionError("a worker outlives its parent")


def test_table_picture_and_what_is_printed(mast: Path, tmp_path: Path, undisturbed: bytes) -> None:
    run = mastcheck(
        "sweep", mast, *VARIED, *CASE, "--draw", tmp_path / "front.svg", "--workers", "2", cwd=tmp_path
    )
    assert run.returncode == 0, run.stderr
    assert run.stderr == ""
    assert "\x1b" not in run.stdout
    for words in (
        "18 designs: wall 3 × length 3 × rider 2", "best designs", "wall [mm]", "length [mm]",
        "rider [kg]", "side [mm]", "6 could not be checked: 6 × at 0 of the length walls of 12 mm",
        "mast-sweep.csv", "front.svg", "CAUTIONS", "approval",
    ):  # fmt: skip
        assert words in run.stdout, words
    # Two workers, and the same bytes as one.
    assert (tmp_path / "mast-sweep.csv").read_bytes() == undisturbed
    lines = list(csv.DictReader(undisturbed.decode().splitlines()))
    assert len(lines) == 18
    assert {line["verdict"] for line in lines} == {"pass", "fail", "refused"}
    assert all(line["verdict"] == "pass" for line in lines if line["front"] == "true")
    assert b"<svg" in (tmp_path / "front.svg").read_bytes()
    names = {path.name for path in tmp_path.iterdir()} - {"mast-sweep.parquet"}
    assert names == {"mast.toml", "mast-sweep.csv", "front.svg"}


@pytest.mark.skipif(os.name == "nt", reason="signals are sent the POSIX way")
def test_ctrl_c_stops_it_and_the_same_command_goes_on(
    mast: Path, tmp_path: Path, undisturbed: bytes
) -> None:
    process = begun(tmp_path)
    os.killpg(process.pid, signal.SIGINT)  # a terminal sends it to every process of the command
    _, error = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "the same command goes on from there" in error
    assert len(error.splitlines()) == 1, error
    assert_gone(process)
    journal = tmp_path / "mast-sweep.csv.partial"
    # A crash in the middle of a line, on top of it.
    journal.write_bytes(journal.read_bytes() + b"0123abcd [20,[[1.5,")
    run = mastcheck("sweep", mast, *VARIED, *CASE, cwd=tmp_path)
    assert run.returncode == 0, run.stderr
    assert "Going on:" in run.stdout
    assert (tmp_path / "mast-sweep.csv").read_bytes() == undisturbed
    assert not journal.exists()


@pytest.mark.skipif(os.name == "nt", reason="signals are sent the POSIX way")
def test_killed_outright_it_goes_on_and_a_changed_file_does_not(
    mast: Path, tmp_path: Path, undisturbed: bytes
) -> None:
    process = begun(tmp_path)
    process.kill()
    process.communicate(timeout=60)
    assert_gone(process)  # workers find out when they have something to send
    other = tmp_path / "other"
    other.mkdir()
    for name in ("mast.toml", "mast-sweep.csv.partial"):
        (other / name).write_bytes((tmp_path / name).read_bytes())
    run = mastcheck("sweep", mast, *VARIED, *CASE, cwd=tmp_path)
    assert "Going on:" in run.stdout
    assert (tmp_path / "mast-sweep.csv").read_bytes() == undisturbed

    (other / "mast.toml").write_text(MAST.replace("30 mm", "1 mm"), encoding="utf-8")
    run = mastcheck("sweep", "mast.toml", *VARIED, *CASE, cwd=other)
    assert run.returncode == 0, run.stderr
    assert "Rows of another sweep" in run.stdout
    assert "No design holds" in run.stdout
    lines = list(csv.DictReader((other / "mast-sweep.csv").read_text(encoding="utf-8").splitlines()))
    assert {line["verdict"] for line in lines} == {"fail", "refused"}
    assert (other / "mast-sweep.csv.partial.old").exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ((), ("--vary", "nothing is varied", "wall=2mm:3.5mm:4")),
        (("--vary", "wal=2mm:3mm:2"), ("did you mean wall",)),
        (("--vary", "layup=2mm:3mm:2"), ("layup", "this mast has no plies")),
        (("--length", "65:95:3"), ("--length", "a bare number has no unit")),
        ((*VARIED, "--rider", "70kg,80kg"), ("--rider",)),
        ((*VARIED, "--case", "carv"), ("unknown load case", "carve")),
        ((*VARIED, "--out", "mast.toml"), ("is the mast file itself",)),
        ((*VARIED, "--draw", "front.txt"), ("--draw", ".png or .svg or .pdf")),
        ((*VARIED, "--workers", "0"), ("--workers", "from 1 to")),
        ((*VARIED, "--workers", "2", "--cluster", "tcp://127.0.0.1:1"), ("does not go with --cluster",)),
        (
            ("--vary", "wall=1mm:3mm:2000", "--length", "65cm:95cm:2000"),
            ("4,000,000", "more than 2,000,000 designs", "wall 2000 × length 2000"),
        ),
    ],
)  # fmt: skip
def test_a_bad_option_is_told_with_its_remedy(
    mast: Path, tmp_path: Path, options: tuple[str, ...], words: tuple[str, ...]
) -> None:
    run = mastcheck("sweep", mast, *options, cwd=tmp_path)
    assert_bad(run, *words)
    assert run.stdout == ""
    assert [path.name for path in tmp_path.iterdir()] == ["mast.toml"]
