"""Tables as plain data.

A table is ``{"columns": [...], "align": [...], "rows": [[cell, ...], ...]}``; a cell is a
string or ``{"t": text, "mood": "good" | "bad" | "open", "span": n}``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from mastcheck.checks.result import MastResult
from mastcheck.report.display import breakable
from mastcheck.report.figure_style import LETTERS

Cell = str | dict[str, Any]
Table = dict[str, Any]


def tidy(text: str) -> str:
    """Sentences of ours and of the engine, fit for the page."""
    return breakable(text)


def letters(masts: Sequence[MastResult]) -> list[str]:
    """The letter each mast goes by in tables and figures."""
    return [LETTERS[i % 26] for i in range(len(masts))]


def table(
    columns: Iterable[str], align: str, rows: list[list[Cell]], weights: Sequence[float] = ()
) -> Table:
    """A table; ``align`` has a letter (l, r, c) for each column, ``weights`` their shares of width."""
    return {"columns": list(columns), "align": list(align), "rows": rows, "weights": list(weights)}
