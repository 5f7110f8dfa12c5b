"""What the page is told in words by the floor above: it computes none of it, and prints it as it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class MastTold:
    """One mast in words.

    ``made``: construction and materials. ``files``: the file and those it names, each with the start of
    its hash. ``state``: 'good', 'bad' or 'open', with the full check's verdict in ``word``, its
    ``count`` and ``reasons``.
    """

    made: str
    files: str
    state: str
    word: str
    count: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """The document's id (a hash of its inputs), the program's version, and a word on each mast.

    ``units``: those the page opens with.
    """

    document: str
    version: str
    units: Literal["metric", "imperial"]
    masts: tuple[MastTold, ...]
