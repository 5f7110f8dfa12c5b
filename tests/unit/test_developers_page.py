"""DEVELOPERS.md cannot drift: its picture is the contract, and its changes fit the files and work."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path

import pytest

from mastcheck.version import __version__

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
MOST_LINES = 30

RUN = """
import json, sys, tempfile, traceback
from pathlib import Path
import mastcheck

def check(text):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mast.toml"
        path.write_text(text, encoding="utf-8")
        return mastcheck.check(mastcheck.load(path))

said = []
for lines in json.loads(sys.stdin.read()):
    try:
        exec(lines, {"WIDE": Path(sys.argv[1]), "check": check})
        said.append("")
    except Exception:
        said.append(traceback.format_exc())
json.dump([str(Path(mastcheck.__file__).parent), said], sys.stdout)
"""


def fenced(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", TEXT, re.MULTILINE | re.DOTALL)


DIFFS, SCRIPTS = fenced("diff"), fenced("python")


@dataclass(frozen=True)
class Hunk:
    """Whole lines of a file, and what stands there afterwards."""

    file: str
    old: str
    new: str


def hunks(diff: str) -> list[Hunk]:
    found = []
    for part in re.split(r"^--- ", diff, flags=re.MULTILINE)[1:]:
        file, _, rest = part.partition("\n")
        for body in re.split(r"^@@\n", rest, flags=re.MULTILINE)[1:]:
            lines = [line or " " for line in body.splitlines()]
            assert {line[0] for line in lines} <= set(" +-"), body
            old = "".join(f"{line[1:]}\n" for line in lines if line[0] in " -")
            new = "".join(f"{line[1:]}\n" for line in lines if line[0] in " +")
            found.append(Hunk(file, old, new))
    return found


def apply(hunk: Hunk, root: Path) -> None:
    path = root / hunk.file
    text = "\n" + path.read_text(encoding="utf-8")
    assert text.count("\n" + hunk.old) == 1, f"{hunk.file} does not have these lines once:\n{hunk.old}"
    path.write_text(text.replace("\n" + hunk.old, "\n" + hunk.new)[1:], encoding="utf-8")


@pytest.fixture(scope="module")
def changed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the package with every change of the page."""
    root = tmp_path_factory.mktemp("changed")
    shutil.copytree(ROOT / "mastcheck", root / "mastcheck", ignore=shutil.ignore_patterns("__pycache__"))
    for diff in DIFFS:
        for hunk in hunks(diff):
            apply(hunk, root)
    return root


@pytest.fixture(scope="module")
def said(changed: Path) -> list[str]:
    """What went wrong with each script in the changed package; empty where nothing did."""
    ran = subprocess.run(
        [sys.executable, "-c", RUN, str(ROOT / "profiles" / "aluminium-75-wide.toml")],
        input=json.dumps(SCRIPTS), capture_output=True, encoding="utf-8", cwd=changed, timeout=300,
        env={**os.environ, "PYTHONPATH": str(changed), "MASTCHECK_CACHE": str(changed / "sections")},
        check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    home, outcomes = json.loads(ran.stdout)
    assert Path(home) == changed / "mastcheck"  # and not the one that is installed
    return outcomes


@pytest.mark.parametrize("number", range(len(SCRIPTS)))
def test_what_is_added_works(number: int, said: list[str]) -> None:
    assert said[number] == "", SCRIPTS[number]


def test_each_addition_is_short_and_fits_the_house(changed: Path) -> None:
    assert len(DIFFS) >= 8
    assert all(len(diff.splitlines()) < MOST_LINES for diff in DIFFS)
    files = sorted({str(changed / h.file) for d in DIFFS for h in hunks(d) if h.file.endswith(".py")})
    ran = subprocess.run(
        [sys.executable, "-m", "ruff", "check", "--config", str(ROOT / "pyproject.toml"), *files],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout


def test_the_page_tells_how_to_add_each_kind_of_thing() -> None:
    for what in ("an outline", "a material", "a load case", "a joint", "a check", "an output"):
        section = TEXT.partition(f"## Adding {what}\n")[2].partition("\n## ")[0]
        assert "```diff" in section, what
        assert "```python" in section, what


def test_the_picture_is_the_contract() -> None:
    drawn = [row.split("│")[1:3] for row in fenced("text")[0].splitlines() if row.startswith("│")]
    floors = next(c for c in PROJECT["tool"]["importlinter"]["contracts"] if c["name"] == "floors")
    # Where this fails, a floor of pyproject.toml has changed: draw it in the first picture of the page.
    assert [name.strip() for name, _ in drawn] == floors["layers"]
    assert all(what.strip() for _, what in drawn)


def test_what_the_page_names_is_there() -> None:
    kinds = "py|toml|typ|json|txt|md"
    named = set(re.findall(rf"`(?:python )?([a-z_\-]+(?:/[a-z_\-]+)*/[a-z_\-]+\.(?:{kinds}))`", TEXT))
    assert len(named) > 15
    for name in sorted(named):
        assert (ROOT / name).exists() or (ROOT / "mastcheck" / name).exists(), name
    for folder in re.findall(r"`(tests/[a-z]+)`", TEXT):
        assert (ROOT / folder).is_dir(), folder


def test_the_version_is_the_same_in_both_places() -> None:
    assert PROJECT["project"]["version"] == __version__


def test_measurements_know_every_outline() -> None:
    from typing import get_args, get_type_hints

    from mastcheck.cli.measurements import Measurements
    from mastcheck.mast import OutlineKind

    literal, _ = get_args(get_type_hints(Measurements)["outline"])
    assert list(get_args(literal)) == [str(kind) for kind in OutlineKind]


def test_licences_of_what_is_installed_are_listed() -> None:
    listed = (ROOT / "docs" / "licences.md").read_text(encoding="utf-8")
    for text in PROJECT["project"]["dependencies"]:
        name = re.match(r"[A-Za-z0-9_.\-]+", text)
        assert name is not None
        assert re.search(rf"^\| {name[0].lower()} \| [^|]+ \| (?!not stated)[^|]+ \|$", listed, re.M)


def test_the_oldest_set_is_what_the_lower_bounds_say() -> None:
    pinned = dict(
        line.split("==") for line in (ROOT / "constraints-oldest.txt").read_text("utf-8").split()
    )
    for text in PROJECT["project"]["dependencies"]:
        name, least = text.split(">=")
        known = pinned[name.lower()]
        assert (known + ".0.0").startswith(least + "."), f"{text}, tried with {known}"
