"""What the README shows of commands is what they print, line for line.

A block of ``console`` holds commands after ``$`` and, under each, lines of its output in their order.
``…`` alone stands for lines left out, within a line for some of its words. Blanks count for one, so that
a column may be moved.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

HOME = Path(__file__).resolve().parents[2]
_BLOCK = re.compile(r"^```console\n(.*?)^```", re.DOTALL | re.MULTILINE)
ELIDED = "…"


def blocks() -> list[str]:
    """The README's console blocks."""
    return _BLOCK.findall((HOME / "README.md").read_text(encoding="utf-8"))


def steps(block: str) -> Iterator[tuple[str, list[str]]]:
    """Each command of a block, with the lines shown under it."""
    for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
        command, _, shown = part.replace("\\\n", "").partition("\n")
        yield command, [line for line in map(_plain, shown.splitlines()) if line.strip(f"{ELIDED} ")]


def _plain(line: str) -> str:
    return " ".join(line.split())


def missing(shown: list[str], printed: str) -> list[str]:
    """Lines shown that are not printed, or not in that order."""
    left = iter([_plain(line) for line in printed.splitlines()])
    return [line for line in shown if not any(_pattern(line).fullmatch(each) for each in left)]


def _pattern(line: str) -> re.Pattern[str]:
    return re.compile(".*".join(re.escape(part) for part in line.split(ELIDED)))


def test_an_invented_line_is_found_missing() -> None:
    assert missing(["a b", "c"], "a   b\nx\nc") == []
    assert missing(["c", "a b"], "a b\nc") == ["a b"]
    assert missing(["d"], "a b\nc") == ["d"]
    assert missing(["a … d", "b …", "… f"], "a b c d\nb c\ne f") == []
    assert missing(["a … c", "b …"], "a b c d\nab c") == ["a … c", "b …"]


def without_output(asked: Iterable[str], shown: Iterable[str]) -> list[str]:
    """Commands of ``asked`` that none of ``shown`` is like: by name, options and kinds of file."""
    given = [_traits(command) for command in shown]
    return [command for command in asked if not any(_traits(command) <= traits for traits in given)]


def _traits(command: str) -> set[str]:
    words = shlex.split(command)
    options = {word for word in words if word.startswith("--")}
    return {words[1], *options, *re.findall(r"\.[a-z]+\b", command)}


def test_a_command_without_output_is_found() -> None:
    shown = ["mastcheck bench a.toml b.csv", "mastcheck new mine.toml --measured"]
    assert without_output(["mastcheck bench FILE READINGS.csv", "mastcheck new"], shown) == []
    asked = ["mastcheck bench FILE --plan", "mastcheck size"]
    assert without_output(asked, shown) == asked


def test_every_command_is_shown_with_output() -> None:
    from mastcheck.cli.main import app

    shown = [command for block in blocks() for command, _ in steps(block)]
    names = [f"mastcheck {name}" for name in app if not name.startswith("-")]
    readme = (HOME / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(mastcheck [^`]+)` \|", readme, re.MULTILINE)
    assert len(rows) >= len(names)
    assert without_output([*names, *rows], shown) == []


@pytest.mark.parametrize("block", blocks(), ids=lambda block: block.split("\n")[0][2:60])
def test_readme_shows_what_is_printed(block: str, tmp_path: Path) -> None:
    shutil.copytree(HOME / "profiles", tmp_path / "profiles")
    width = {**os.environ, "COLUMNS": "200", "PYTHONIOENCODING": "utf-8", "NO_COLOR": "1"}
    found = list(steps(block))
    assert found
    for command, shown in found:
        program, *words = shlex.split(command)
        assert program == "mastcheck", command
        run = subprocess.run(
            [sys.executable, "-m", "mastcheck", *words],
            cwd=tmp_path,
            env=width,
            capture_output=True,
            encoding="utf-8",
            check=False,
            timeout=300,
        )
        assert run.returncode in (0, 1), run.stderr
        assert shown, f"{command}: show some of its output"
        assert missing(shown, run.stdout) == [], command
