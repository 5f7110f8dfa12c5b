"""A command line that cannot be taken apart: each refusal says what, where and how to mend it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.e2e.test_cli import MAST, assert_bad, mastcheck


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("check",),
            ("FILE", "is needed with mastcheck check", "such as: mastcheck check my-mast.toml"),
        ),
        (("page", "a.toml"), ("--out", "is needed with mastcheck page", "--out compare.html")),
        (("check", "my", "mast.toml"), ('"mast.toml"', "more than mastcheck check takes", "in quotes")),
        (("check", "a.toml", "--rider"), ("--rider", "has no value", "write one after it")),
        (("check", "a.toml", "--samples", "many"), ("--samples", '"many"', "a whole number")),
        (("my mast.toml",), ('"my mast.toml"', "is a file", 'mastcheck check "my mast.toml"')),
        (
            ("compare", "a.toml", "b.toml", "--sensitivity"),
            ("--sensitivity", "mastcheck compare --help"),
        ),
        (("old.json",), ('"old.json"', "is a file", 'mastcheck redraw "old.json"')),
        (("chek", "a.toml"), ('"chek"', 'Did you mean "check"?')),
    ],
)
def test_it_says_what_where_and_how_to_mend_it(words: tuple[str, ...], said: tuple[str, ...]) -> None:
    assert_bad(mastcheck(*words), *said)


@pytest.mark.parametrize(("rider", "status"), [("60 kg", 0), ("300 kg", 1)])
def test_a_reader_that_leaves_does_not_change_the_verdict(
    tmp_path: Path, rider: str, status: int
) -> None:
    mast = tmp_path / "mast.toml"
    mast.write_text(MAST, encoding="utf-8")
    with subprocess.Popen(
        [sys.executable, "-m", "mastcheck", "check", str(mast), "--rider", rider],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as run:  # fmt: skip
        assert run.stdout is not None
        assert run.stderr is not None
        run.stdout.close()  # before a word is printed: the check is not even begun
        assert run.stderr.read() == b""
    assert run.returncode == status
