"""A sweep's results as tables: CSV, and Parquet where polars is installed.

Every column names its unit. Rows are written as they are read, so that a million take no more memory
than a few.
"""

from __future__ import annotations

import csv
import os
import re
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from itertools import islice
from math import degrees
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mastcheck.errors import Problem
from mastcheck.search.outcome import NUMBERS
from mastcheck.search.plan import Plan
from mastcheck.search.rows import COLUMNS, PLACE, Row, Value
from mastcheck.search.sweep import BoolArray, Judged
from mastcheck.search.variables import key_of
from mastcheck.spreadsheet import cell
from mastcheck.units import Dimension

if TYPE_CHECKING:
    from polars import Schema

_UNITS: dict[Dimension, tuple[str, Callable[[float], float]]] = {
    Dimension.LENGTH: ("mm", lambda v: v * 1e3),
    Dimension.MASS: ("kg", lambda v: v),
    Dimension.ANGLE: ("deg", degrees),
}
_NUMBERS = tuple(name for name in COLUMNS if name in NUMBERS)
_FLAGS = ("doubtful",)
_WORDS = tuple(n for n in ("verdict", "governing", "side_case", "twist_case", "reason") if n in COLUMNS)
_CHUNK = 50_000
"""Rows in memory at once."""

_SYSTEM = re.compile(r"\(os error (\d+)\)")
"""The system's own number of an error, in the words of polars."""


def columns(plan: Plan) -> tuple[str, ...]:
    """Names of a table's columns: settings, numbers, words, and whether no other design is better."""
    return (*_setting_columns(plan), *_NUMBERS, *_WORDS, *_FLAGS, "front")


def table(plan: Plan, rows: Iterable[Row], front: BoolArray) -> Iterator[list[Value]]:
    """Rows as they stand in a table, in the plan's order."""
    kept = [PLACE[name] for name in (*_NUMBERS, *_WORDS, *_FLAGS)]
    units = [_UNITS[key_of(key).dimension][1] for key in plan.keys]
    for number, row in enumerate(rows):
        settings = plan.settings(number).values()
        # To the picometre, the microgram and the like: what conversion adds is cut off.
        shown = [round(unit(v), 9) + 0.0 for unit, v in zip(units, settings, strict=True)]
        yield [*shown, *(row[i] for i in kept), bool(front[number])]


def write_csv(file: Path, judged: Judged, rows: Iterable[Row]) -> None:
    """Write a table as CSV; the same rows give the same bytes.

    Numbers are written so that reading them gives the same bits. A text that a spreadsheet would take
    for a formula begins with an apostrophe (``spreadsheet``). Whole or not at all: ``whole.together``.

    Raises: OSError where it cannot be written.
    """
    with file.open("w", encoding="utf-8", newline="") as stream:
        out = csv.writer(stream, lineterminator="\n")
        out.writerow(columns(judged.plan))
        for row in table(judged.plan, rows, judged.front):
            out.writerow([cell(value) for value in row])


def can_write_parquet() -> bool:
    """Whether polars is installed."""
    return find_spec("polars") is not None


def write_parquet(file: Path, judged: Judged, rows: Iterable[Row]) -> None:
    """Write a table as Parquet, which needs polars (``can_write_parquet``).

    Raises: OSError where it cannot be written.
    """
    import polars as pl

    schema = _schema(judged.plan)
    lines = table(judged.plan, rows, judged.front)
    with tempfile.TemporaryDirectory(dir=_told(file.parent)) as folder, _the_systems_errors():
        parts: list[Path] = []
        while chunk := list(islice(lines, _CHUNK)):
            parts.append(Path(folder) / f"{len(parts):06}.parquet")
            pl.DataFrame(chunk, schema=schema, orient="row").write_parquet(parts[-1])
        with file.open("wb") as stream:
            pl.scan_parquet(parts, glob=False).sink_parquet(stream, maintain_order=True)


@contextmanager
def _the_systems_errors() -> Iterator[None]:
    """Turn what polars raises where the system refuses a write, as on a full disk, into an OSError."""
    import polars as pl

    try:
        yield
    except pl.exceptions.PolarsError as error:
        if found := _SYSTEM.search(str(error)):
            number = int(found[1])
            raise OSError(number, os.strerror(number)) from error
        raise


def _told(folder: Path) -> Path | None:
    """The folder where polars can be told its name; None, another one, where its letters are unknown.

    They are in a locale of plain ASCII, where a name with an accent cannot be turned into text.
    """
    try:
        str(folder).encode()
    except UnicodeEncodeError:
        return None
    return folder


def without_polars(path: Path) -> Problem:
    """What to say to someone who wants Parquet without polars."""
    return Problem(
        key="--table",
        found=str(path),
        rule='Parquet needs the extra "tables"',
        remedy='pip install "mastcheck[tables]", or leave --table out: the CSV file has the same rows',
    )


def _setting_columns(plan: Plan) -> list[str]:
    return [f"{key}_{_UNITS[key_of(key).dimension][0]}" for key in plan.keys]


def _schema(plan: Plan) -> Schema:
    import polars as pl

    kinds: dict[str, Any] = {
        **dict.fromkeys((*_setting_columns(plan), *_NUMBERS), pl.Float64()),
        **dict.fromkeys(_WORDS, pl.String()),
        **dict.fromkeys((*_FLAGS, "front"), pl.Boolean()),
    }
    return pl.Schema({name: kinds[name] for name in columns(plan)})
