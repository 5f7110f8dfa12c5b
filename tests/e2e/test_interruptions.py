"""What is left behind when something comes between: Ctrl-C, no room, no permission, another process."""

from __future__ import annotations

import ctypes
import json
import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from tests.e2e.test_cli import mastcheck
from tests.stopping import limited, stopped

MAST = """\
[mast]
name = "stopped"
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
construction = "solid"
material = "EN AW-6082-T6"
"""
OLD = {"out.json": b'{"old": true}\n', "out.pdf": b"%PDF an older report\n"}
CHECK = ("check", "mast.toml", "--case", "carve")
BOTH = ("--json", "out.json", "--report", "out.pdf")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A mast file, and results of an earlier run beside it."""
    (tmp_path / "mast.toml").write_text(MAST, encoding="utf-8")
    for name, content in OLD.items():
        (tmp_path / name).write_bytes(content)
    return tmp_path


def assert_as_before(folder: Path) -> None:
    """The old results are whole and nothing else is there."""
    assert {p.name for p in folder.iterdir()} == {"mast.toml", *OLD}
    assert all((folder / name).read_bytes() == content for name, content in OLD.items())


def assert_stopped(run: subprocess.CompletedProcess[str]) -> None:
    assert run.returncode == 130, run.stderr
    assert run.stderr == ""


@pytest.mark.parametrize(
    ("event", "word"),
    [
        ("import", "cyclopts"),  # before there is a command
        ("import", "mastcheck.checks.run"),
        ("import", "mastcheck.strength"),  # sections are solved
        ("import", "mastcheck.report.json"),  # the masts are solved
        ("tempfile.mkstemp", "out.json"),
    ],
)
def test_ctrl_c_leaves_the_old_results(folder: Path, event: str, word: str) -> None:
    run = stopped(event, word, 1, *CHECK, "--json", "out.json", cwd=folder)
    assert_stopped(run)
    if event == "import":
        assert run.stdout == ""
        assert_as_before(folder)
    else:  # the last moment: it was as good as written
        json.loads((folder / "out.json").read_text(encoding="utf-8"))
        assert {p.name for p in folder.iterdir()} == {"mast.toml", *OLD}


def test_ctrl_c_while_a_report_is_made_ends_the_helper_too(folder: Path) -> None:
    (folder / "other.toml").write_text(MAST.replace("18 mm", "16 mm"), encoding="utf-8")
    words = ("compare", "mast.toml", "other.toml", "--case", "carve", *BOTH)
    run = stopped("import", "typst", 1, *words, cwd=folder)
    assert_stopped(run)
    (folder / "other.toml").unlink()
    assert_as_before(folder)


def test_ctrl_c_leaves_no_part_of_a_section_in_the_cache(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    cache = tmp_path_factory.mktemp("cache")
    run = stopped(
        "os.rename", ".npz", 1, *CHECK, "--json", "out.json", cwd=folder, MASTCHECK_CACHE=str(cache)
    )
    assert_stopped(run)
    assert_as_before(folder)
    assert {p.suffix for p in cache.rglob("*") if p.is_file()} == {".npz"}


def test_ctrl_c_while_a_starter_is_written_leaves_it_whole(tmp_path: Path) -> None:
    run = stopped("open", "new.toml", 1, "new", "new.toml", cwd=tmp_path)
    assert_stopped(run)
    whole = mastcheck("new", "other.toml", cwd=tmp_path)
    assert whole.returncode == 0, whole.stderr
    assert (tmp_path / "new.toml").read_bytes() == (tmp_path / "other.toml").read_bytes()


def test_a_full_disk_changes_nothing(folder: Path) -> None:
    """No file may grow beyond 20 kB; the cache goes without, the outputs are refused together.

    A disk that is really full: ``test_full_disk``.
    """
    run = limited(
        lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000)), *CHECK, *BOTH, cwd=folder
    )
    assert run.returncode == 2
    assert "out.json" in run.stderr
    assert "cannot be written" in run.stderr
    assert "Traceback" not in run.stderr
    assert_as_before(folder)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_no_room_for_what_is_printed_is_one_line() -> None:
    with Path("/dev/full").open("w") as full:
        run = subprocess.run(
            [sys.executable, "-m", "mastcheck", "profiles"],
            stdout=full,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            check=False,
            timeout=300,
        )
    assert run.returncode == 2
    assert run.stderr == (
        "mastcheck: No space left on device; make room there, and give the command again\n"
    )


def _as_others() -> None:
    """Give up root's right to write anywhere, where this is root."""
    if os.geteuid() == 0:
        drop_from_bounding_set, dac_override = 24, 1
        if ctypes.CDLL(None).prctl(drop_from_bounding_set, dac_override, 0, 0, 0):
            raise OSError("cannot give it up")


@pytest.mark.skipif(sys.platform != "linux", reason="root's rights are given up in Linux's way")
def test_a_folder_that_is_read_only_is_told_before_any_computing(folder: Path) -> None:
    folder.chmod(0o555)
    try:
        run = limited(_as_others, *CHECK, *BOTH, cwd=folder)
    finally:
        folder.chmod(0o755)
    assert run.returncode == 2
    assert run.stdout == ""
    for flag in ("--json", "--report"):
        assert f"mastcheck: {flag} = " in run.stderr
    assert "no folder that you may write to" in run.stderr
    assert_as_before(folder)


def test_two_at_once_on_the_same_outputs_and_cache(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    cache = tmp_path_factory.mktemp("cache")
    words = [sys.executable, "-m", "mastcheck", *CHECK, *BOTH]
    env = {**os.environ, "MASTCHECK_CACHE": str(cache)}
    both = [subprocess.Popen(words, cwd=folder, env=env, stdout=subprocess.DEVNULL) for _ in range(2)]
    seen: set[bytes] = set()
    while any(process.poll() is None for process in both):
        seen.add((folder / "out.json").read_bytes())
    assert [process.returncode for process in both] == [0, 0]
    seen.add((folder / "out.json").read_bytes())
    assert len(seen) == 2  # the old one, and one new one that both wrote
    assert OLD["out.json"] in seen
    assert {p.name for p in folder.iterdir()} == {"mast.toml", *OLD}
    assert {p.suffix for p in cache.rglob("*") if p.is_file()} == {".npz"}

    kept = (folder / "out.json").read_bytes()
    for entry in cache.rglob("*.npz"):
        content = bytearray(entry.read_bytes())
        content[len(content) // 2] ^= 0xFF
        entry.write_bytes(content)
    again = mastcheck(*CHECK, "--json", "out.json", cwd=folder, MASTCHECK_CACHE=str(cache))
    assert (again.returncode, again.stderr) == (0, "")
    assert (folder / "out.json").read_bytes() == kept
