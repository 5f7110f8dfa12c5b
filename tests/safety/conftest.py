"""The masts of this folder, solved once."""

from __future__ import annotations

from pathlib import Path

import pytest

from mastcheck.checks.result import MastResult
from mastcheck.checks.run import check
from mastcheck.files.mastfile import load
from tests.safety import whole
from tests.safety.places import toml

FILES = {"laminated": whole.laminated, "drawn": whole.drawn, "channelled": whole.channelled}


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the mast files and what they name; the files' own names are stand-in words too."""
    folder = tmp_path_factory.mktemp("safety") / whole.word(50)
    folder.mkdir()
    whole.write_outlines(folder)
    for i, made in enumerate(FILES.values()):
        (folder / f"{whole.word(51 + i)}.toml").write_text(toml(made()), encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def solved(folder: Path) -> tuple[MastResult, ...]:
    """The result of each mast file, stand-in words and all."""
    return tuple(check(load(path)) for path in sorted(folder.glob("*.toml")))
