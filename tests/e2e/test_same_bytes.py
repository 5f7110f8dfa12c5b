"""The same input gives the same bytes, whatever machine, moment and manner it is computed in."""

from __future__ import annotations

import codecs
import dataclasses
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from mastcheck.files.mastfile import load

MAST = """\
[mast]
name = "Ténèbres ²"
length = "500 mm"

[[mast.station]]
at = 0.0
chord = "100 mm"
thickness = "14 mm"

[[mast.station]]
at = 1.0
chord = "100 mm"
thickness = "14 mm"

[section]
outline = "ellipse"
construction = "hollow"
wall = "3 mm"
material = "EN AW-6082-T6"

[limits]
side_deflection = { case = "carve", max = "30 mm" }
"""
CASE = ("--case", "carve")
HERE = {
    "PYTHONHASHSEED": "0",
    "TZ": "UTC",
    "LC_ALL": "C.UTF-8",
    "OPENBLAS_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
}
# Another order of sets, the other side of the date line, letters of ASCII alone, more threads.
THERE = {
    "PYTHONHASHSEED": "4242",
    "TZ": "XYZ-14",
    "LC_ALL": "C",
    "PYTHONCOERCECLOCALE": "0",
    "PYTHONUTF8": "0",
    "OPENBLAS_NUM_THREADS": "2",
    "OMP_NUM_THREADS": "2",
    "MASTCHECK_CACHE": "off",
}


def run(folder: Path, settings: dict[str, str], *words: str) -> bytes:
    """What the command prints, its exit status 0."""
    done = subprocess.run(
        [sys.executable, "-m", "mastcheck", *words],
        capture_output=True,
        cwd=folder,
        env={**os.environ, **settings},
        check=False,
        timeout=300,
    )
    assert (done.returncode, done.stderr) == (0, b""), done.stderr.decode()
    return done.stdout


def both(folder: Path, *words: str) -> tuple[dict[str, bytes], dict[str, bytes]]:
    """The files that a command makes here and there; ``{}`` in a word is the count of workers."""
    out = []
    for workers, (settings, name) in enumerate(((HERE, "here"), (THERE, "over there, é")), 1):
        place = folder / name
        place.mkdir()
        (place / "mast.toml").write_text(MAST, encoding="utf-8")
        (place / "thin.toml").write_text(MAST.replace("14 mm", "13 mm"), encoding="utf-8")
        run(place, settings, *(word.format(workers) for word in words))
        files = sorted(path for path in place.rglob("*") if path.is_file() and path.suffix != ".toml")
        out.append({str(path.relative_to(place)): path.read_bytes() for path in files})
    return out[0], out[1]


def assert_same(made: tuple[dict[str, bytes], dict[str, bytes]], *names: str) -> None:
    """The same files are there, those named among them, and each is the same to the byte."""
    here, there = made
    assert here.keys() == there.keys()
    assert here.keys() >= set(names)
    assert [name for name in here if here[name] != there[name]] == []


def test_results_tables_report_and_figures(tmp_path: Path) -> None:
    outputs = ("--json", "a.json", "--csv", "tables", "--report", "a.pdf", "--figures", "figures")
    made = both(tmp_path, "compare", "mast.toml", "thin.toml", *CASE, *outputs)
    assert_same(made, "a.json", "a.pdf", "tables/stations.csv")
    assert {Path(name).suffix for name in made[0]} == {".json", ".csv", ".pdf", ".svg", ".png"}


def test_the_page(tmp_path: Path) -> None:
    assert_same(both(tmp_path, "page", "mast.toml", *CASE, "--out", "a.html"), "a.html")


def test_a_sweep_by_one_worker_and_by_two(tmp_path: Path) -> None:
    varied = ("--vary", "wall=2mm,3mm", "--rider", "70kg,80kg,90kg", "--draw", "front.svg")
    made = both(tmp_path, "sweep", "mast.toml", *varied, *CASE, "--out", "a.csv", "--workers", "{}")
    assert_same(made, "a.csv", "front.svg")


def test_samples_by_one_worker_and_by_two(tmp_path: Path) -> None:
    drawn = ("--samples", "32", "--workers", "{}", "--json", "a.json")
    assert_same(both(tmp_path, "check", "mast.toml", *CASE, *drawn), "a.json")


def test_another_working_folder(tmp_path: Path) -> None:
    """What is printed, and the result file, do not say where the command was given."""
    (tmp_path / "mast.toml").write_text(MAST, encoding="utf-8")
    printed = []
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        mast = str(tmp_path / "mast.toml")
        printed.append(run(tmp_path / name, HERE, "check", mast, *CASE, "--json", "a.json"))
    assert printed[0] == printed[1]
    assert (tmp_path / "one" / "a.json").read_bytes() == (tmp_path / "two" / "a.json").read_bytes()


@pytest.mark.parametrize("mark", [b"", codecs.BOM_UTF8])
def test_line_ends_and_a_byte_order_mark(tmp_path: Path, mark: bytes) -> None:
    """A file from another system is another file, by its hash, of the same mast."""
    points = "x,y\n0,0\n.05,.05\n.3,.075\n.7,.045\n1,0\n.7,-.045\n.3,-.075\n.05,-.05\n"
    text = MAST.replace('outline = "ellipse"', 'file = "die.csv"')
    jobs = []
    for name, start, end in (("unix", b"", b"\n"), ("with spaces é", mark, b"\r\n")):
        folder = tmp_path / name
        folder.mkdir()
        for file, content in (("mast.toml", text), ("die.csv", points)):
            (folder / file).write_bytes(start + content.encode().replace(b"\n", end))
        jobs.append(load(folder / "mast.toml"))
    assert jobs[0].input_sha256 != jobs[1].input_sha256
    unix, other = (
        re.sub(r"'[0-9a-f]{64}'", "a hash", repr(dataclasses.replace(job, file=""))) for job in jobs
    )
    assert other == unix
