"""Tables as plain data.

A table is ``{"columns": [...], "align": [...], "rows": [[cell, ...], ...]}``; a cell is a
string or ``{"t": text, "mood": "good" | "bad" | "open", "span": n}``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

from mastcheck.checks.result import MastResult
from mastcheck.report.display import breakable, isolated, plain
from mastcheck.report.figure_style import letter_of

ABREAST = 4
"""Masts beside the first in one table; more of them go on in a further table, so that it can be read."""

Cell = str | dict[str, Any]
Table = dict[str, Any]


def tidy(text: str) -> str:
    """Sentences of ours and of the engine, fit for the page."""
    return breakable(text)


LONGEST = 60
"""Characters of a mast's name where it is called; a longer one is cut, and stands in full once."""


def called(result: MastResult, longest: int = LONGEST) -> str:
    """A mast's name as headings have it: cut where it is long, with places to break."""
    name = plain(result.job.mast.name, longest)
    return isolated(" ".join("\u200b".join(re.findall(".{1,18}", word)) for word in name.split(" ")))


def letters(masts: Sequence[MastResult]) -> list[str]:
    """The letter each mast goes by in tables and figures."""
    return [letter_of(i) for i in range(len(masts))]


def table(
    columns: Iterable[str], align: str, rows: list[list[Cell]], weights: Sequence[float] = ()
) -> Table:
    """A table; ``align`` has a letter (l, r, c) for each column, ``weights`` their shares of width."""
    return {"columns": list(columns), "align": list(align), "rows": rows, "weights": list(weights)}


def stacked(tables: Sequence[tuple[str, Table]]) -> list[Table]:
    """Tables of masts below one another, with the mast's letter before its first row.

    One table where all have the same columns. Of one mast alone its table as it is.
    """
    if len(tables) < 2:
        return [t for _, t in tables]
    out: list[Table] = []
    for letter, t in tables:
        named: Cell = {"t": letter, "mood": "strong"}
        rows = [[named if k == 0 else "", *row] for k, row in enumerate(t["rows"])]
        if out and out[-1]["columns"] == ["", *t["columns"]]:
            out[-1]["rows"] += rows
        else:
            weights = [0.05 * sum(t["weights"]), *t["weights"]] if t["weights"] else []
            out.append(table(["", *t["columns"]], "l" + "".join(t["align"]), rows, weights))
    return out


def abreast(count: int) -> list[list[int]]:
    """Which of so many masts stand in each table: the first in every one, at most four beside it.

    >>> abreast(1), abreast(3), abreast(6)
    ([[0]], [[0, 1, 2]], [[0, 1, 2, 3, 4], [0, 5]])
    """
    if count < 2:
        return [[0]]
    return [[0, *range(k, min(k + ABREAST, count))] for k in range(1, count, ABREAST)]
