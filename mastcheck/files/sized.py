"""A mast file with sizes changed: the original's text, other numbers in the same lines."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from mastcheck.errors import InputError, Problem
from mastcheck.files.limits import MAST_BYTES
from mastcheck.files.mastfile import load
from mastcheck.files.written import length_text, path_problems, write_new
from mastcheck.mast import Mast
from mastcheck.search.size_result import Design, Sized
from mastcheck.search.variables import shown, varied
from mastcheck.units import Dimension, parse

_TABLE = re.compile(r"\s*(\[\[?)([\w.\s\"-]+)\]\]?\s*(#.*)?")
_VALUE = re.compile(r"(\s*([A-Za-z_]+)\s*=\s*)(\"[^\"]*\"|\[[^\]#]*\])(\s*(?:#.*)?)")
_QUANTITY = re.compile(r"\"[^\"]*\"")
_SAME = 1e-8  # sizes are written with nine figures


def out_problems(file: Path, out: Path, keys: Sequence[str]) -> Iterator[Problem]:
    """What would stop the mast found from being written, told before the computing."""
    yield from path_problems(out)
    if out.parent.resolve() != file.parent.resolve() and _names_files(file):
        rule = (
            "the mast file names outline files beside it, which would not be found from another folder"
        )
        yield Problem(
            key="--out", found=str(out), rule=rule, remedy="write it into the mast file's folder"
        )
    for key in keys:
        if key.startswith("ply_"):
            rule = f"{key}: a single ply cannot be told from the lines of a layup"
            yield Problem(
                key="--out", found=str(out), rule=rule, remedy="leave --out, and edit the layup"
            )


def write_sized(file: Path, out: Path, sized: Sized, *, allow_outside: bool = False) -> Path:
    """Write the mast found (rounded, where that was asked for and found) as a new mast file.

    Raises: InputError where the file states its sizes in a way that cannot be replaced line by line.
    """
    design = sized.rounded or sized.best
    if design is None:
        raise ValueError("no mast was found")
    mast = varied(sized.job, design.settings).mast
    text = file.read_bytes().decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    content = "\n".join([*_head(sized, design), *_lines(text, sized.job.mast, mast, design)])
    write_new(out, content)
    try:
        fault = "" if _same(load(out, allow_outside=allow_outside).mast, mast) else "its sizes"
    except InputError as error:
        fault = str(error)
    if fault:
        out.unlink()
        rule = f"cannot be written line by line from {file.name} ({fault})"
        remedy = "state each size as a quantity in a line of its own, or leave --out and edit the file"
        raise InputError((Problem(key="--out", found=str(out), rule=rule, remedy=remedy),))
    return out


def _names_files(file: Path) -> bool:
    try:
        with file.open("rb") as source:
            raw = tomllib.loads(source.read(MAST_BYTES).decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return False  # told as a fault of the file itself
    stations = raw.get("mast", {}).get("station", []) if isinstance(raw.get("mast"), dict) else []
    tables = [raw.get("section", {}), *(stations if isinstance(stations, list) else [])]
    return any(isinstance(t, dict) and "file" in t for t in tables)


def _head(sized: Sized, design: Design) -> Iterator[str]:
    made = ", ".join(f"{key} {shown(key, value)}" for key, value in design.settings.items())
    yield f"# Sized by mastcheck: {made};"
    yield f"# for a rider of {shown('rider', sized.job.rider.mass)}: check it before it is built."


def _lines(text: str, before: Mast, after: Mast, design: Design) -> Iterator[str]:
    """The text's lines with other sizes."""
    table, station = "", -1
    layup = _layup(before, after) if "layup" in design.settings else 1.0
    for line in text.split("\n"):
        if found := _TABLE.fullmatch(line):
            table = re.sub(r"[\s\"]", "", found[2])
            station += table == "mast.station"
            yield line
        elif found := _VALUE.fullmatch(line):
            yield found[1] + _value(table, station, found[2], found[3], before, after, layup) + found[4]
        else:
            yield line


def _value(
    table: str, station: int, key: str, value: str, before: Mast, after: Mast, layup: float
) -> str:
    """A value, changed if it is a size that has changed."""
    if table == "mast" and key == "length" and not value.startswith("["):
        return f'"{length_text(after.length)}"'
    if table == "section.ply" and key == "thickness" and layup != 1.0:
        return _QUANTITY.sub(lambda q: _scaled(q[0], layup), value)
    if value.startswith("["):
        return value
    if (
        table == "mast.station"
        and key in ("chord", "thickness", "wall")
        and station < len(after.stations)
    ):
        old, new = getattr(before.stations[station], key), getattr(after.stations[station], key)
        return _size(old, new, value)
    if table == "section" and key == "wall":
        walls = [(a.wall, b.wall) for a, b in zip(before.stations, after.stations, strict=True)]
        if len(set(walls)) == 1:
            return _size(*walls[0], value)
    return value


def _size(old: object, new: object, value: str) -> str:
    if not isinstance(old, float) or not isinstance(new, float) or old == new:
        return value
    return f'"{length_text(new)}"'


def _layup(before: Mast, after: Mast) -> float:
    a, b = (sum(p.thickness for p in m.stations[0].plies) for m in (before, after))
    return b / a


def _scaled(quoted: str, by: float) -> str:
    return f'"{length_text(parse(quoted[1:-1], Dimension.LENGTH) * by)}"'


def _same(a: Mast, b: Mast) -> bool:
    """Whether two masts have the same sizes, to the figures that are written."""
    mine, other = (_sizes(m) for m in (a, b))
    return len(mine) == len(other) and all(
        abs(x - y) <= _SAME * max(abs(x), abs(y)) for x, y in zip(mine, other, strict=True)
    )


def _sizes(mast: Mast) -> list[float]:
    out = [mast.length]
    for s in mast.stations:
        wall: Any = s.wall
        walls = [wall] if isinstance(wall, float) else []
        if wall is not None and not walls:
            walls = [t for _, t in (*wall.port, *wall.starboard)]
        out += [s.at, s.chord, s.thickness, *walls, *(p.thickness for p in s.plies)]
    return out
