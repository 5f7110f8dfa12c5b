"""Every command that writes, on a disk that is really full: refused in words, and all is as it was."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.e2e.test_cli import ROOT, mastcheck
from tests.e2e.test_interruptions import MAST
from tests.full_disk import PAGE, can_fill_a_disk, content, on_a_full_disk

pytestmark = pytest.mark.skipif(
    not can_fill_a_disk(), reason="no file system of its own can be mounted here (unshare, mount)"
)

OLD = ("out.json", "out.pdf", "out.csv", "out.svg", "out.dxf", "out.parquet", "out.html")
IN_FOLDERS = ("tables/checks.csv", "tables/mine.txt", "figures/sections.svg")
JOURNAL = "out.csv.partial"
FAST = ("--case", "carve")
SWEEP = (
    "sweep",
    "mast.toml",
    "--vary",
    "chord=120mm,121mm",
    *FAST,
    "--workers",
    "1",
    "--out",
    "out.csv",
)


@pytest.fixture(scope="module")
def masts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Masts, readings, a kept result, and outputs of earlier runs."""
    path = tmp_path_factory.mktemp("full") / "folder"
    for folder in ("tables", "figures"):
        (path / folder).mkdir(parents=True)
    (path / "mast.toml").write_text(MAST, encoding="utf-8")
    (path / "other.toml").write_text(MAST.replace("18 mm", "17 mm"), encoding="utf-8")
    for name in ("aluminium-75-wide.toml", "aluminium-75-wide-bench.csv"):
        shutil.copy(ROOT / "profiles" / name, path)
    made = mastcheck("check", "mast.toml", *FAST, "--json", "kept.json", cwd=path)
    assert made.returncode == 0, made.stderr
    for name in (*OLD, *IN_FOLDERS, JOURNAL):
        (path / name).write_text(f"an older {name}\n", encoding="utf-8")
    return path


@pytest.fixture
def folder(masts: Path, tmp_path: Path) -> Path:
    """A copy of them for one test."""
    return Path(shutil.copytree(masts, tmp_path / "folder"))


def assert_told(run: subprocess.CompletedProcess[str]) -> None:
    """A refusal in one line, with the reason and the remedy."""
    assert run.returncode == 2, (run.stdout, run.stderr)
    (line,) = run.stderr.splitlines()
    assert line.startswith("mastcheck: ")
    fault, _, remedy = line.partition("; ")
    assert "cannot be written (No space left on device)" in fault
    assert "room" in remedy


@pytest.mark.parametrize(
    "words",
    [
        (
            "check", "mast.toml", *FAST, "--json", "out.json", "--report", "out.pdf", "--csv", "tables",
            "--figures", "figures",
        ),
        ("check", "mast.toml", *FAST, "--json", "new/out.json", "--csv", "new/deep/tables"),
        ("compare", "mast.toml", "other.toml", *FAST, "--json", "out.json", "--csv", "tables"),
        ("redraw", "kept.json", "--json", "out.json", "--csv", "tables"),
        ("page", "mast.toml", *FAST, "--out", "out.html"),
        ("section", "mast.toml", "--draw", "out.svg", "--dxf", "out.dxf", "--json", "out.json"),
        (*SWEEP, "--table", "out.parquet"),
        ("size", "mast.toml", "--vary", "chord=115mm:125mm", *FAST, "--json", "out.json"),
        ("size", "mast.toml", "--vary", "chord=115mm:125mm", *FAST, "--out", "new.toml"),
        (
            "envelope", "mast.toml", "--rider", "80kg:90kg", "--length", "70cm:72cm", "--points", "2",
            *FAST, "--json", "out.json", "--csv", "out.csv", "--draw", "out.svg",
        ),
        ("bench", "mast.toml", "--plan", "--template", "new.csv"),
        (
            "bench", "aluminium-75-wide.toml", "aluminium-75-wide-bench.csv",
            "--write", "new.toml", "--json", "out.json",
        ),
        ("verify", "--only", "bolts", "--json", "out.json"),
        ("materials", "--json", "out.json"),
        ("new", "new.toml"),
        (
            "new", "new.toml", "--measured", "--length", "700 mm", "--mass", "3.2 kg",
            "--material", "EN AW-6082-T6", "--construction", "solid", "--outline", "ellipse",
            "--station", "base: 120 mm x 18 mm", "--station", "tip: 120 mm x 18 mm",
        ),
    ],
    ids=lambda words: " ".join([words[0], *(word for word in words if word.startswith("--"))]),
)  # fmt: skip
def test_nothing_changes(folder: Path, words: tuple[str, ...]) -> None:
    run, after = on_a_full_disk(folder, *words)
    assert_told(run)
    assert after == content(folder)


def test_room_for_one_of_two_is_none(folder: Path) -> None:
    room = (folder / "kept.json").stat().st_size + 2 * PAGE
    both = ("--json", "out.json", "--csv", "tables")
    run, after = on_a_full_disk(folder, "check", "mast.toml", *FAST, *both, room=room)
    assert_told(run)
    assert "tables" in run.stderr
    assert after == content(folder)
    shutil.rmtree(folder.with_name("after"))
    folder.with_name("disk").rmdir()
    run, after = on_a_full_disk(folder, "check", "mast.toml", *FAST, *both[:2], room=room)
    assert (run.returncode, run.stderr) == (0, "")
    json.loads(after["out.json"] or b"")


@pytest.mark.parametrize("pages", [1, 2, 4, 100])
def test_a_sweep_keeps_its_rows_and_the_old_tables_until_there_is_room(folder: Path, pages: int) -> None:
    (folder / JOURNAL).unlink()
    before = content(folder)
    run, after = on_a_full_disk(folder, *SWEEP, room=pages * PAGE)
    if pages == 100:
        assert (run.returncode, run.stderr) == (0, "")
        assert {name for name, data in after.items() if before.get(name) != data} == {
            "out.csv",
            "out.parquet",
        }
        return
    assert_told(run)
    journal = after.pop(JOURNAL)
    assert after == before
    # With room again, the same command goes on from the rows that were kept.
    (folder / JOURNAL).write_bytes(journal or b"")
    again = mastcheck(*SWEEP, cwd=folder)
    assert again.returncode == 0, again.stderr
    assert "2 of 2" in again.stdout
    assert not (folder / JOURNAL).exists()


def test_a_cache_without_room_changes_no_result(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    words = ("check", "mast.toml", *FAST, "--json")
    run, after = on_a_full_disk(folder, *words, out, MASTCHECK_CACHE=str(tmp_path / "disk" / "cache"))
    assert (run.returncode, run.stderr) == (0, "")
    assert out.read_bytes() == (folder / "kept.json").read_bytes()
    assert not [name for name, data in after.items() if name.startswith("cache") and data is not None]


def test_home_and_temporary_folders_without_room_change_no_result(folder: Path, tmp_path: Path) -> None:
    (folder / "tmp").mkdir()
    disk, made = tmp_path / "disk", tmp_path / "made"
    words = ("check", folder / "mast.toml", *FAST, "--json", "a.json", "--report", "a.pdf")
    homes = {"HOME": disk, "XDG_CACHE_HOME": disk / "cache", "XDG_CONFIG_HOME": disk / "config"}
    places = {"TMPDIR": disk / "tmp", "MASTCHECK_CACHE": "", **homes}
    for name in ("here", "there"):
        (made / name).mkdir(parents=True)
    env = {key: str(place) for key, place in places.items()}
    run, after = on_a_full_disk(folder, *words, room=0, cwd=made / "here", **env)
    assert run.returncode == 0, run.stderr
    # matplotlib says that it could not keep its list of fonts, and goes on.
    assert all("font" in line and "No space left" in line for line in run.stderr.splitlines())
    plain = mastcheck(*words, cwd=made / "there")
    assert run.stdout == plain.stdout
    assert content(made / "here") == content(made / "there")
    assert not [name for name, data in after.items() if name.startswith("tmp/") and data is not None]
