"""Locale, time zone, working folder, line ends, byte-order marks and spaces in paths change nothing."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from mastcheck.errors import InputError
from mastcheck.files.coordinates import read_coordinates
from mastcheck.files.mastfile import load
from mastcheck.files.readings import read_readings
from mastcheck.mast import Mast
from tests.fuzz.readers import OUTLINES, PROFILES

MAST = "aluminium-75-section-file.toml"
DRAWN = "aluminium-75-extruded.toml"
LIST, DRAWING = OUTLINES
READINGS = "aluminium-75-wide-bench.csv"

WRITTEN = {
    "windows line ends": lambda b: b.replace(b"\n", b"\r\n"),
    "byte-order mark": lambda b: b"\xef\xbb\xbf" + b,
    "both": lambda b: b"\xef\xbb\xbf" + b.replace(b"\n", b"\r\n"),
    "no last line end": lambda b: b.rstrip(b"\r\n"),
}
PLACES = ("plain", "with spaces in it", "Töpfe & 帆 (2)", "-dash", "a'b\"c", "$HOME %TEMP%")
SURROUNDINGS: dict[str, dict[str, str]] = {
    "C locale": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    "decimal commas": {"LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8", "LC_NUMERIC": "de_DE.UTF-8"},
    "turkish": {"LC_ALL": "tr_TR.UTF-8"},
    "east of everyone": {"TZ": "Pacific/Kiritimati"},
    "a time zone of half hours, long ago": {"TZ": "XYZ-5:45", "SOURCE_DATE_EPOCH": "1"},
    "another width": {"COLUMNS": "40", "TERM": "dumb", "PYTHONHASHSEED": "7"},
}


def _whole(mast: Mast) -> str:
    """All of a mast to the last bit, but for the hashes of the files that it is from."""
    with np.printoptions(threshold=sys.maxsize, floatmode="unique"):
        return re.sub(r"sha256='[0-9a-f]*'", "", repr(mast))


def _unix(name: str) -> bytes:
    return (PROFILES / name).read_bytes().replace(b"\r\n", b"\n")


@pytest.mark.parametrize("how", WRITTEN)
@pytest.mark.parametrize("name", [MAST, DRAWN])
def test_how_a_mast_and_its_outline_are_written_changes_nothing(
    tmp_path: Path, name: str, how: str
) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    for file in (name, *OUTLINES):
        (tmp_path / "a" / file).write_bytes(_unix(file))
        (tmp_path / "b" / file).write_bytes(WRITTEN[how](_unix(file)))
    one, two = load(tmp_path / "a" / name), load(tmp_path / "b" / name)
    assert _whole(one.mast) == _whole(two.mast)
    assert (one.cases, one.limits, one.rider, one.notes) == (two.cases, two.limits, two.rider, two.notes)


@pytest.mark.parametrize("how", WRITTEN)
def test_how_a_list_is_written_changes_nothing(tmp_path: Path, how: str) -> None:
    file = tmp_path / "list.csv"
    file.write_bytes(WRITTEN[how](_unix(LIST)))
    found = read_coordinates(file, label="list.csv").points
    assert (found == read_coordinates(PROFILES / LIST, label="list.csv").points).all()


@pytest.mark.parametrize("how", WRITTEN)
def test_how_readings_are_written_changes_nothing(tmp_path: Path, how: str) -> None:
    file = tmp_path / "bench.csv"
    file.write_bytes(WRITTEN[how](_unix(READINGS)))
    assert read_readings(file, 0.75) == read_readings(PROFILES / READINGS, 0.75)


def test_a_fault_is_on_the_same_line_however_lines_end(tmp_path: Path) -> None:
    text = _unix(MAST).replace(b"[section]", b"[section]\nwal = 3", 1)
    told = []
    for how in ("no last line end", "windows line ends", "byte-order mark"):
        file = tmp_path / "mast.toml"
        file.write_bytes(WRITTEN[how](text))
        (tmp_path / LIST).write_bytes(_unix(LIST))
        with pytest.raises(InputError) as caught:
            load(file)
        told.append(str(caught.value))
    assert len(set(told)) == 1
    assert "section.wal" in told[0]


@pytest.mark.parametrize("place", PLACES)
def test_a_folder_of_any_name_is_read_from(tmp_path: Path, place: str) -> None:
    folder = tmp_path / place
    folder.mkdir()
    for file in (MAST, LIST):
        shutil.copy(PROFILES / file, folder / file)
    assert _whole(load(folder / MAST).mast) == _whole(load(PROFILES / MAST).mast)


def _result(file: str, out: Path, folder: Path, surroundings: dict[str, str]) -> tuple[Any, str]:
    """The result file and what was printed; the mast file's place left out of both."""
    words = [sys.executable, "-m", "mastcheck", "check", file, "--json", str(out), "--case", "carve"]
    environment = {k: v for k, v in os.environ.items() if not k.startswith("LC_")}
    done = subprocess.run(
        words, cwd=folder, env=environment | surroundings, capture_output=True, check=False
    )
    assert done.returncode in (0, 1), done.stderr
    assert b"Traceback" not in done.stderr, done.stderr
    found = json.loads(out.read_text(encoding="utf-8"))
    found.pop("record", None)  # sealed with the place in it; what it holds is what is compared here
    text = json.dumps(found).replace(json.dumps(file)[1:-1], "FILE")
    return json.loads(text), done.stdout.decode("utf-8", "replace")


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a mast and its outline."""
    home = tmp_path_factory.mktemp("surroundings")
    for file in (MAST, LIST):
        shutil.copy(PROFILES / file, home / file)
    return home


@pytest.fixture(scope="module")
def usual(home: Path) -> tuple[Any, str]:
    """The result as most people would get it."""
    return _result(MAST, home / "usual.json", home, {})


@pytest.mark.parametrize("name", SURROUNDINGS)
def test_the_result_does_not_depend_on_the_surroundings(
    name: str, home: Path, usual: tuple[Any, str]
) -> None:
    found, printed = _result(MAST, home / f"{name}.json", home, SURROUNDINGS[name])
    assert found == usual[0]
    assert name == "another width" or len(printed) > 0.9 * len(usual[1])


def test_the_result_does_not_depend_on_the_working_folder(
    home: Path, usual: tuple[Any, str], tmp_path: Path
) -> None:
    place = tmp_path / "a place, with spaces"
    place.mkdir()
    for file in (MAST, LIST):
        shutil.copy(home / file, place / file)
    found, _ = _result(str(place / MAST), tmp_path / "far away.json", tmp_path, {})
    assert found == usual[0]
