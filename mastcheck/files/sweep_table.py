"""A sweep's results as tables: CSV, and Parquet where polars is installed.

Every column names its unit. Rows are written as they are read, so that a million take no more memory
than a few.
"""

from __future__ import annotations

import csv
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from itertools import islice
from math import degrees
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mastcheck.errors import InputError, Problem
from mastcheck.search.outcome import NUMBERS
from mastcheck.search.plan import Plan
from mastcheck.search.rows import COLUMNS, PLACE, Row, Value
from mastcheck.search.sweep import BoolArray, Judged
from mastcheck.search.variables import key_of
from mastcheck.spreadsheet import cell
from mastcheck.units import Dimension
from mastcheck.whole import scratch_beside, settle, unbroken

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


def write_csv(path: Path, judged: Judged, rows: Iterable[Row]) -> None:
    """Write a table as CSV, whole or not at all; the same rows give the same bytes.

    Numbers are written so that reading them gives the same bits. A text that a spreadsheet would take
    for a formula begins with an apostrophe (``spreadsheet``).

    Raises: InputError where it cannot be written.
    """
    with (
        _whole(path) as scratch,
        scratch.open("w", encoding="utf-8", newline="") as file,
    ):
        out = csv.writer(file, lineterminator="\n")
        out.writerow(columns(judged.plan))
        for row in table(judged.plan, rows, judged.front):
            out.writerow([cell(value) for value in row])


def can_write_parquet() -> bool:
    """Whether polars is installed."""
    return find_spec("polars") is not None


def write_parquet(path: Path, judged: Judged, rows: Iterable[Row]) -> None:
    """Write a table as Parquet, whole or not at all.

    Raises: InputError where it cannot be written, or polars is not installed.
    """
    if not can_write_parquet():
        raise InputError((without_polars(path),))
    import polars as pl

    schema = _schema(judged.plan)
    lines = table(judged.plan, rows, judged.front)
    with _whole(path) as scratch, tempfile.TemporaryDirectory(dir=_told(scratch.parent)) as folder:
        parts: list[Path] = []
        while chunk := list(islice(lines, _CHUNK)):
            parts.append(Path(folder) / f"{len(parts):06}.parquet")
            pl.DataFrame(chunk, schema=schema, orient="row").write_parquet(parts[-1])
        with scratch.open("wb") as file:
            pl.scan_parquet(parts, glob=False).sink_parquet(file, maintain_order=True)


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


@contextmanager
def _whole(path: Path) -> Iterator[Path]:
    """A file beside the target that takes its place when all went well, and is gone when not.

    Raises: InputError where it cannot be written.
    """
    scratch: Path | None = None
    try:
        with unbroken():
            scratch = scratch_beside(path)
        yield scratch
        with unbroken():
            with scratch.open("rb+") as file:
                os.fsync(file.fileno())
            settle(scratch, path)
    except OSError as error:
        rule = f"cannot be written ({error.strerror or error})"
        remedy = (
            "choose a folder you may write to, with room left on its disk, and give the command again"
        )
        raise InputError((Problem(key="output", found=str(path), rule=rule, remedy=remedy),)) from error
    finally:
        if scratch is not None:
            scratch.unlink(missing_ok=True)
