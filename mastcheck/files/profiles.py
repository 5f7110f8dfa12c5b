"""The masts shipped in the top-level folder ``profiles``."""

from __future__ import annotations

import tomllib
from pathlib import Path

from mastcheck.errors import InputError, Problem

FOLDER = Path(__file__).resolve().parents[2] / "profiles"


def shipped(folder: Path = FOLDER) -> list[tuple[Path, str, str]]:
    """Path, name and note of each shipped mast, by file name.

    Raises: InputError where the folder is absent, as in an install without the repository.
    """
    paths = sorted(folder.glob("*.toml"))
    if not paths:
        rule = "the shipped masts are not beside this install"
        remedy = "install from the repository with pip install -e, or begin your own: mastcheck new PATH"
        raise InputError((Problem(key=str(folder), found="", rule=rule, remedy=remedy),))
    return [(path, *_name_and_note(path)) for path in paths]


def _name_and_note(path: Path) -> tuple[str, str]:
    """Name and note, without reading the rest."""
    mast = tomllib.loads(path.read_text(encoding="utf-8"))["mast"]
    return mast["name"], mast.get("note", "")
