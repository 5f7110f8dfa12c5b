"""``mastcheck schema``: the JSON Schemas that come with the program."""

from __future__ import annotations

import sys
from importlib.resources import files
from typing import Literal

PUBLISHED = {"mast": "mast-file.schema.json", "result": "result.schema.json"}
"""File in the package's data, by what it describes."""


def schema(of: Literal["mast", "result"], /) -> int:
    """Print a published JSON Schema (draft 2020-12).

    Args:
        of: What it describes: the mast file, or the result file of check and compare.

    Returns:
        The exit status.
    """
    sys.stdout.write(files("mastcheck").joinpath("data", PUBLISHED[of]).read_text(encoding="utf-8"))
    return 0
