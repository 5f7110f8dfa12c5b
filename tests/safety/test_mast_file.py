"""The door: any text at any place of a mast file is read as it stands, or refused in a clean line."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from mastcheck.cli.main import main
from mastcheck.errors import InputError
from mastcheck.files.mastfile import load
from mastcheck.files.schema import MastFile
from mastcheck.job import Job
from mastcheck.units import shown
from tests.safety import places, whole
from tests.safety.contents import CONTENTS, LETTERS, TERMINAL
from tests.safety.written import each_text, texts, words, written

FILES = (whole.laminated, whole.drawn, whole.channelled)
LONGEST_LINE = 2500
"""Characters of a problem in one line: its longest remedy lists every material."""

ALL = list(CONTENTS.values())
PLAIN = {name: text for name, text in CONTENTS.items() if text.isprintable() and len(text) <= 70}
"""What the door lets through."""

FILE_NAMES = {whole.word(3), whole.word(4)}
LAYERS = {whole.word(36)}


def test_every_place_of_free_text_is_filled_by_one_of_the_files() -> None:
    empty = [p for p in places.free() if not any(places.at(made(), p) for made in FILES)]
    assert not empty, f"fill these in tests/safety/whole.py with words of their own: {empty}"


def test_what_the_schema_leaves_free_takes_any_plain_word_and_nothing_else_does() -> None:
    base = whole.laminated()
    for path, is_free in places.texts().items():
        changed = copy.deepcopy(base)
        word = "Harbour.csv" if path[-1] == "file" else "Harbour"
        places.put(changed, path, word)
        told = [e for e in _faults(changed) if e["type"] != "missing" and word in repr(e["input"])]
        assert bool(told) is not (is_free and path not in places.CODES), (path, told)


def _faults(raw: dict[str, Any]) -> list[Any]:
    from pydantic import ValidationError

    try:
        MastFile.model_validate(raw)
    except ValidationError as error:
        return list(error.errors(include_url=False))
    return []


def _problems(path: Path, raw: dict[str, Any]) -> list[str]:
    path.write_text(places.toml(raw), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(path)
    assert str(caught.value).replace("\n", "").isprintable()
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize("turn", range(len(ALL)))
def test_each_content_at_each_free_place_is_refused_in_clean_lines(turn: int, tmp_path: Path) -> None:
    free = [p for p in places.together()[0] if p in places.free()]
    _refused_cleanly(turn, tmp_path, free)


@pytest.mark.parametrize("turn", range(0, len(ALL), 7))
@pytest.mark.parametrize("group", range(len(places.together())))
def test_contents_where_a_number_or_a_known_word_belongs(turn: int, group: int, tmp_path: Path) -> None:
    _refused_cleanly(turn, tmp_path, places.together()[group])


def _refused_cleanly(turn: int, folder: Path, paths: list[places.Path]) -> None:
    raw = whole.channelled()
    put = {path: ALL[(i + turn) % len(ALL)] for i, path in enumerate(paths)}
    for path, content in put.items():
        places.put(raw, path, content)
    lines = _problems(folder / "mast.toml", raw)
    for line in lines:
        assert line.isprintable(), line
        assert len(line) < LONGEST_LINE, line[:200]
    told = "\n".join(lines)
    for path, content in put.items():
        # A value that is no line of printable text is refused by its place, and shown as it was found.
        if path[-1] not in (places.ANY_NAME, places.ENTRY) and not (
            content.isprintable() and len(content) <= 255
        ):
            assert f"= {shown(content)}" in told, (path, content[:40])


@pytest.mark.parametrize(
    ("made", "name"), [(FILES[0] if i % 4 else FILES[1 + i // 4 % 2], n) for i, n in enumerate(PLAIN)]
)
def test_printable_contents_are_kept_to_the_letter_at_every_free_place(
    made: Any, name: str, tmp_path: Path, folder: Path
) -> None:
    raw, put = _filled(made(), PLAIN[name])
    for number in (3, 4):
        for suffix in (".csv", ".dxf"):
            if (named := folder / f"{whole.word(number)}{suffix}").exists():
                there = f"{put.get(whole.word(number), whole.word(number))}{suffix}"
                (tmp_path / there).write_bytes(_with_layer(named, put))
    path = tmp_path / "mast.toml"
    path.write_text(places.toml(raw), encoding="utf-8")
    job = load(path)
    base = _base_job(made, tmp_path, folder)
    # The solved masts of the other tests get their texts after solving: that must be the same job.
    assert written(base, put).notes == job.notes
    for old, new in put.items():
        if old in words(base):
            assert any(new in text for text in _texts(job)), (old, new)


def _filled(raw: Any, content: str) -> tuple[Any, dict[str, str]]:
    """The tables with the content for each word, as far as a file's name or a layer may bear it."""
    every = {whole.word(n) for n in range(1, 50)}
    put = texts(every, content)
    for name in FILE_NAMES:
        put[name] = put[name].replace("/", "∕")
    for name in LAYERS:
        put[name] = "".join("_" if c in '<>/\\":;?*=|`,' else c for c in put[name])
    return written(raw, put), put


def _with_layer(named: Path, put: dict[str, str]) -> bytes:
    old, new = whole.word(36), put[whole.word(36)]
    return named.read_bytes().replace(old.encode(), new.encode())


def _base_job(made: Any, tmp_path: Path, folder: Path) -> Job:
    path = folder / f"base {tmp_path.name}.txt"
    path.write_text(places.toml(made()), encoding="utf-8")
    try:
        return load(path)
    finally:
        path.unlink()


def _texts(value: object) -> list[str]:
    found: list[str] = []
    each_text(value, found.append)
    return found


@pytest.mark.parametrize("name", [*TERMINAL, *LETTERS, "format", "json", "file-hyphen", "toml"])
def test_an_error_sends_nothing_to_the_terminal_but_letters(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    content = CONTENTS[name]
    typed = content.replace("\0", "")  # which no command line can carry
    raw = whole.channelled()
    for path in (("section", "material"), ("mast", "length"), ("section", "construction")):
        places.put(raw, path, content)
    raw["mast"][content] = content
    path = tmp_path / "mast.toml"
    path.write_text(places.toml(raw), encoding="utf-8")
    commands = [
        ["check", str(path)],
        ["materials", f"x{typed}"],
        ["check", str(path), f"--case={typed}", f"--length={typed}", f"--rider={typed}"],
        [f"x{typed}"],
        ["check", str(tmp_path / f"x{typed[:60]}.toml")],
        ["sweep", str(path), f"--vary={typed}"],
        ["envelope", str(path), f"--rider={typed}", f"--length={typed}"],
        ["bench", str(path), str(tmp_path / f"x{typed[:60]}.csv")],
        ["new", str(tmp_path / "none" / f"x{typed[:60]}.toml")],
    ]
    for command in commands:
        assert main(command) == 2, command
        told = capsys.readouterr()
        assert told.out == ""
        assert told.err.replace("\n", "").isprintable(), command
        assert all(line.startswith("mastcheck: ") for line in told.err.splitlines())
