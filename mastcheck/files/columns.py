"""Two columns of numbers from a text file, each row with its line."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mastcheck.errors import InputError, Problem
from mastcheck.files.limits import MAST_BYTES, MOST_OUTLINE_POINTS
from mastcheck.units import shown

FloatArray = NDArray[np.float64]

PROBLEMS_SHOWN = 20
"""Faults of one list that are told."""

LARGEST_NUMBER = 1e9
"""Greatest coordinate, in any unit."""

_COMMENT = re.compile(r"\s*(#|;|//|!)")
_TITLE = re.compile(r"\s*[^\W\d_]|\s*[\"']")  # a letter or a quote
_NUMBER = re.compile(
    r"[+-]?(\d+(?:\.\d*)?|\.\d+)([eEdD][+-]?\d+)?|[+-]?(nan|inf(inity)?)", re.IGNORECASE | re.ASCII
)


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Numbers (n, 2) and the line each row is on, from 1."""

    values: FloatArray
    lines: tuple[int, ...]


def read_columns(path: Path, label: str) -> tuple[Rows, bytes]:
    """The rows of a two-column text file, and its bytes.

    Columns are parted by commas, semicolons, tabs or blanks. Lines that begin with # ; // or ! are
    comments, and lines above the first row that begin with a letter or a quote are titles. A comma
    is a decimal mark where it cannot part the columns.

    Raises: InputError with every line that is not two numbers.
    """
    content = _content(path, label)
    lines = _text(content, label).replace("\r\n", "\n").replace("\r", "\n").split("\n")
    kept = [
        (k, line) for k, line in enumerate(lines, start=1) if line.strip() and not _COMMENT.match(line)
    ]
    if len(kept) > MOST_OUTLINE_POINTS:
        rule = f"has {len(kept):,} lines, and at most {MOST_OUTLINE_POINTS:,} points are read"
        raise InputError((_whole(label, rule, "a few hundred make a smooth outline: leave some out"),))
    split = _splitter([line for _, line in kept])
    rows: list[tuple[float, float]] = []
    places: list[int] = []
    problems: list[Problem] = []
    for k, line in kept:
        fields = split(_without_comment(line))
        numbers = [_number(field) for field in fields]
        if len(fields) == 2 and None not in numbers:
            rows.append((numbers[0] or 0.0, numbers[1] or 0.0))
            places.append(k)
        elif rows or not _TITLE.match(line):
            problems.append(_fault(line, fields, k, label))
    problems += [
        _problem(
            label, k, shown(lines[k - 1].strip()), "is not a finite number", "mend or delete the line"
        )
        for row, k in zip(rows, places, strict=True)
        if not all(map(math.isfinite, row))
    ]
    problems += [
        _problem(
            label, k, shown(lines[k - 1].strip()), "is beyond any section", "mend or delete the line"
        )
        for row, k in zip(rows, places, strict=True)
        if max(map(abs, row)) > LARGEST_NUMBER and all(map(math.isfinite, row))
    ]
    if problems:
        raise refused(problems)
    return Rows(np.array(rows, float).reshape(-1, 2), tuple(places)), content


def refused(problems: list[Problem]) -> InputError:
    """An error of all problems, the first ones told in full."""
    more = len(problems) - PROBLEMS_SHOWN
    if more > 0:
        last = problems[0]
        rest = _problem(last.file, None, "", f"has {more} more faults", "mend these first")
        problems = [*problems[:PROBLEMS_SHOWN], rest]
    return InputError(tuple(problems))


def _problem(label: str, line: int | None, found: str, rule: str, remedy: str) -> Problem:
    """A fault of a line of the list, or of the whole."""
    key = "point" if found else "the list"
    return Problem(key=key, found=found, rule=rule, remedy=remedy, file=label, line=line)


def _fault(line: str, fields: list[str], k: int, label: str) -> Problem:
    """A line that is not two numbers."""
    found = shown(line.strip())
    if line.count(",") > 1 and not set(line) & set(";\t.") and len(fields) > 2:
        rule = "has commas that may part the columns or the decimals"
        return _problem(
            label, k, found, rule, "part the columns with semicolons, or write decimal points"
        )
    if len(fields) != 2:
        rule = f"has {len(fields)} column{'s' if len(fields) != 1 else ''}, not two"
        return _problem(label, k, found, rule, "give x and y; put # before a remark")
    bad = next(field for field in fields if _number(field) is None)
    return _problem(label, k, found, f"{shown(bad)} is not a number", "put # before a remark or a title")


def _content(path: Path, label: str) -> bytes:
    try:
        if path.exists() and not path.is_file():
            raise InputError((_whole(label, "is not a file", "name a text file"),))
        if path.stat().st_size > MAST_BYTES:
            rule = f"is larger than {MAST_BYTES // 10**6} MB, which no list of a section needs"
            raise InputError((_whole(label, rule, "give a few hundred points at most"),))
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        remedy = "check the path; it is relative to the mast file"
        raise InputError((_whole(label, f"cannot be read ({reason})", remedy),)) from None


def _whole(label: str, rule: str, remedy: str) -> Problem:
    return Problem(key=label, found="", rule=rule, remedy=remedy)


def _text(content: bytes, label: str) -> str:
    """The bytes as text; titles in an old encoding are let through."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return content.decode("utf-16")
        except UnicodeDecodeError:
            pass
    if b"\0" in content:
        raise InputError((_whole(label, "is binary, not a text file", "save it as plain text"),))
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _without_comment(line: str) -> str:
    return re.split(r"#|!|//", line, maxsplit=1)[0].strip()


def _number(field: str) -> float | None:
    """A field as a number, None where it is none."""
    if not _NUMBER.fullmatch(field):
        return None
    return float(field.lower().replace("d", "e"))


def _splitter(lines: list[str]) -> Callable[[str], list[str]]:
    """How most lines become two numbers; the first of equals, by how plain the separator is."""
    sample = [_without_comment(line) for line in lines]

    def rate(split: Callable[[str], list[str]]) -> int:
        pairs = (split(line) for line in sample)
        return sum(len(pair) == 2 and None not in map(_number, pair) for pair in pairs)

    best = max(_SPLITTERS, key=rate)  # the first of equals
    if rate(best) == 0 and any("," in line for line in sample):
        return _by_comma
    return best


def _by_semicolon(line: str) -> list[str]:
    return [part.strip() for part in line.split(";")]


def _by_tab(line: str) -> list[str]:
    return [part.strip() for part in line.split("\t")]


def _by_comma(line: str) -> list[str]:
    return [part.strip() for part in line.split(",")]


def _by_blanks(line: str) -> list[str]:
    return line.split()


def _decimal_comma(split: Callable[[str], list[str]]) -> Callable[[str], list[str]]:
    """The same, with commas for decimal points."""

    def with_points(line: str) -> list[str]:
        return [part.replace(",", ".") if part.count(",") == 1 else part for part in split(line)]

    return with_points


_SPLITTERS = (
    _by_blanks,
    _by_comma,
    _by_semicolon,
    _by_tab,
    _decimal_comma(_by_semicolon),
    _decimal_comma(_by_tab),
    _decimal_comma(_by_blanks),
)
"""Ways to part two columns. None reads a pair of numbers that another reads as a different pair: a
comma between blanks or tabs is a decimal mark, and a comma alone parts the columns."""
