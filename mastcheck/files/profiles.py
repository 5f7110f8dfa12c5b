"""The shipped masts: the folder ``profiles`` beside the package, or inside it where a wheel put it."""

from __future__ import annotations

import tomllib
from pathlib import Path

from mastcheck.errors import InputError, Problem

_PACKAGE = Path(__file__).resolve().parents[1]
_INSIDE = _PACKAGE / "profiles"
FOLDER = _INSIDE if _INSIDE.is_dir() else _PACKAGE.parent / "profiles"
"""Where they are: in the repository beside the package, in an installed wheel inside it."""


def shipped(folder: Path = FOLDER) -> list[tuple[Path, str, str]]:
    """Path, name and note of each shipped mast, by file name.

    Raises: InputError where the folder is absent or empty.
    """
    paths = sorted(folder.glob("*.toml"))
    if not paths:
        rule = "the shipped masts are not beside this install"
        remedy = "install mastcheck again, or begin your own: mastcheck new PATH"
        raise InputError((Problem(key=str(folder), found="", rule=rule, remedy=remedy),))
    return [(path, *_name_and_note(path)) for path in paths]


def _name_and_note(path: Path) -> tuple[str, str]:
    """Name and note, without reading the rest."""
    mast = tomllib.loads(path.read_text(encoding="utf-8"))["mast"]
    return mast["name"], mast.get("note", "")
