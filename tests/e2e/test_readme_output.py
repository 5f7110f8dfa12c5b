"""What the README shows of commands is what they print, line for line.

A block of ``console`` holds commands after ``$`` and, under each, lines of its output in their order;
``…`` stands for lines left out. Blanks count for one, so that a column may be moved.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
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
        yield command, [line for line in map(_plain, shown.splitlines()) if line and line != ELIDED]


def _plain(line: str) -> str:
    return " ".join(line.split())


def missing(shown: list[str], printed: str) -> list[str]:
    """Lines shown that are not printed, or not in that order."""
    left = iter([_plain(line) for line in printed.splitlines()])
    return [line for line in shown if line not in left]


def test_an_invented_line_is_found_missing() -> None:
    assert missing(["a b", "c"], "a   b\nx\nc") == []
    assert missing(["c", "a b"], "a b\nc") == ["a b"]
    assert missing(["d"], "a b\nc") == ["d"]


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
