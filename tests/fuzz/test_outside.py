"""Outline files stay within the mast file's folder, wherever a name or a link leads."""

from __future__ import annotations

import inspect
import shutil
from pathlib import Path

import pytest

from mastcheck.cli.main import main
from mastcheck.errors import InputError
from mastcheck.files.mastfile import load
from tests.fuzz.readers import PROFILES

MAST = (PROFILES / "aluminium-75-section-file.toml").read_text(encoding="utf-8")
LIST = "aluminium-75-section.csv"


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder for the mast file, with a list of coordinates outside it."""
    home = tmp_path / "home"
    home.mkdir()
    (tmp_path / "elsewhere").mkdir()
    shutil.copy(PROFILES / LIST, tmp_path / "elsewhere" / LIST)
    return home


def _mast(folder: Path, name: str) -> Path:
    assert f'"{LIST}"' in MAST
    file = folder / "mast.toml"
    file.write_text(MAST.replace(f'"{LIST}"', f"'{name}'"), encoding="utf-8")
    return file


def _refused(file: Path) -> str:
    with pytest.raises(InputError) as caught:
        load(file)
    (problem,) = caught.value.problems
    return str(problem)


@pytest.mark.parametrize("way", ["dots", "absolute", "link", "linked folder", "dots through a folder"])
def test_a_file_outside_is_refused_and_read_only_with_leave(home: Path, way: str) -> None:
    there = home.parent / "elsewhere" / LIST
    name = {"dots": f"../elsewhere/{LIST}", "absolute": str(there), "link": LIST}.get(way, "")
    if way == "link":
        (home / LIST).symlink_to(there)
    elif way == "linked folder":
        (home / "inner").symlink_to(there.parent)
        name = f"inner/{LIST}"
    elif way == "dots through a folder":
        (home / "inner").mkdir()
        name = f"inner/../../elsewhere/{LIST}"
    file = _mast(home, name)
    told = _refused(file)
    assert "section.file" in told
    assert f'leads to "{there}", outside the mast file\'s folder' in told
    assert "give --allow-outside" in told
    assert load(file, allow_outside=True).outline_files


@pytest.mark.parametrize(
    "name", [LIST, f"./{LIST}", f"inner/../{LIST}", f"inner/{LIST}", f"../home/{LIST}"]
)
def test_a_file_inside_is_read_however_it_is_named(home: Path, name: str) -> None:
    (home / "inner").mkdir()
    shutil.copy(PROFILES / LIST, home / LIST)
    shutil.copy(PROFILES / LIST, home / "inner" / LIST)
    assert load(_mast(home, name)).outline_files


def test_a_link_to_a_file_inside_is_read_and_the_folder_itself_may_be_a_link(home: Path) -> None:
    shutil.copy(PROFILES / LIST, home / "real.csv")
    (home / LIST).symlink_to(home / "real.csv")
    _mast(home, LIST)
    (home.parent / "way").symlink_to(home)
    assert load(home.parent / "way" / "mast.toml").outline_files


def test_nothing_is_told_of_what_lies_outside(home: Path) -> None:
    """Whether it is there, and what else is in its folder, is nobody's business."""
    told = _refused(_mast(home, f"../elsewhere/{LIST}"))
    assert told.replace(f"elsewhere/{LIST}", "") == _refused(
        _mast(home, "../elsewhere/none.csv")
    ).replace("elsewhere/none.csv", "")


def test_a_station_is_held_to_the_same(home: Path) -> None:
    file = _mast(home, LIST)
    shutil.copy(PROFILES / LIST, home / LIST)
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace("at = 1.0", f"at = 1.0\nfile = '../elsewhere/{LIST}'"), encoding="utf-8"
    )
    assert "mast.station[" in _refused(file)


@pytest.mark.parametrize("name", ["ring.csv", "x\\u0000.csv"])
def test_a_name_that_leads_nowhere_is_a_plain_refusal(home: Path, name: str) -> None:
    (home / "ring.csv").symlink_to(home / "ring.csv")
    file = _mast(home, "HERE")
    text = file.read_text(encoding="utf-8").replace("'HERE'", f'"{name}"')
    file.write_text(text, encoding="utf-8")
    assert "section.file" in _refused(file)


COMMANDS = ("check", "compare", "section", "envelope", "bench", "sweep", "size", "page")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_that_reads_a_mast_file_has_the_option(
    command: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = _mast(home, f"../elsewhere/{LIST}")
    words = {
        "compare": [str(file)],
        "envelope": ["--rider", "55kg:110kg", "--length", "65cm:95cm"],
        "bench": ["--plan"],
        "sweep": ["--length", "65cm:95cm:2", "--out", str(home / "out.csv")],
        "size": ["--vary", "nothing"],
        "page": ["--out", str(home / "page.html")],
    }.get(command, [])
    assert main([command, str(file), *words]) == 2
    assert "outside the mast file's folder" in capsys.readouterr().err
    # With leave, an option that is bad for another reason keeps the command from long work.
    bad = ["--json", str(home)] if command not in ("sweep", "page", "bench") else ["--out", str(home)]
    assert main([command, str(file), *words, "--allow-outside", *bad]) == 2
    assert "outside the mast file's folder" not in capsys.readouterr().err


def test_the_commands_are_all() -> None:
    import mastcheck.cli as cli

    folder = Path(inspect.getfile(cli)).parent
    reading = {p.stem for p in folder.glob("*.py") if "mastfile import" in p.read_text(encoding="utf-8")}
    assert reading - {"options", "new", "main"} <= set(COMMANDS), reading
