"""Readings of a bench test from a CSV file: units in the header or in the cells, SI from here on."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TypeVar

from mastcheck.bench.readings import GRAVITY, Direction, Gauge, GaugeKind, Load, Part, Phase, Reading
from mastcheck.errors import InputError, Problem
from mastcheck.files.columns import PROBLEMS_SHOWN
from mastcheck.files.limits import LONGEST_ROW, MAST_BYTES, MOST_COLUMNS, MOST_READINGS, MOST_ROWS
from mastcheck.files.problems import nearest
from mastcheck.units import Dimension, UnitError, parse, shown

BEYOND = 0.5
"""How far past the tip a weight or a gauge on the foil may be [m]."""
WIDEST = 2.0
"""Longest arm [m]."""

COLUMNS = {
    "load": "mass or force hung; a couple for direction torque; 0 for a reading without load",
    "direction": "side, fore-aft or torque",
    "load_z": "place of the load from the base",
    "load_arm": "its distance from the stacking line: aft in a side test, to port in a fore-aft test",
    "load_on": "blade or foil",
    "gauge": "side, fore-aft or twist",
    "gauge_z": "place of the gauge from the base",
    "gauge_arm": "its distance from the stacking line, as for load_arm",
    "gauge_on": "blade or foil",
    "spacing": "distance of two gauges whose difference is the reading of a twist",
    "reading": "positive the way a weight pulls (down), twist positive trailing edge down",
    "error": "standard error of the reading",
    "phase": "loading or unloading",
    "repeat": "label of the repeat",
    "run": "label of the set-up; a new one whenever a gauge was moved",
}
Word = TypeVar("Word", Direction, GaugeKind, Part, Phase)
_NEEDED = ("load", "direction", "gauge", "gauge_z", "reading")
_PLAIN = re.compile(r"[+-]?(\d+(?:\.\d*)?|\.\d+)([eE][+-]?\d+)?")


def read_readings(path: Path, length: float) -> tuple[Reading, ...]:
    """The readings of a file, in its order.

    The first line that is neither empty nor a remark (#) names the columns (COLUMNS), each with its
    unit in brackets unless the cells carry theirs: ``reading [mm]``. Columns are parted by commas,
    semicolons or tabs. A row whose reading is empty is skipped, so that a sheet may be filled in part.

    Args:
        path: the file.
        length: of the mast [m]; places must lie on it.

    Raises: InputError with every fault and its line.
    """
    label = str(path) if str(path).isprintable() else shown(str(path), 200)
    lines = _text(path, label).splitlines()
    kept = [
        (k, line)
        for k, line in enumerate(lines, 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not kept:
        raise InputError((_whole(label, "is empty", "its first line names the columns: " + _example()),))
    if len(kept) > MOST_ROWS:
        rule = f"has {len(kept):,} rows, and at most {MOST_ROWS:,} are read"
        raise InputError((_whole(label, rule, "leave out those without a reading"),))
    if long := [k for k, line in kept if len(line) > LONGEST_ROW]:
        rule = f"is longer than {LONGEST_ROW:,} characters"
        raise InputError(
            tuple(_fault("row", "", rule, "mend it", label, k) for k in long[:PROBLEMS_SHOWN])
        )
    (head_line, head), rows = kept[0], kept[1:]
    mark = max(";\t,", key=head.count)
    columns = next(csv.reader([head], delimiter=mark))
    if len(columns) > MOST_COLUMNS:
        rule = f"has {len(columns):,} columns, and at most {MOST_COLUMNS} are read"
        raise InputError((_fault("the header", "", rule, "leave the others out", label, head_line),))
    names, units, faults = _head(columns, label, head_line)
    if faults:
        raise InputError(tuple(faults))
    problems: list[Problem] = []
    out: list[Reading] = []
    for k, line in rows:
        cells = next(csv.reader([line], delimiter=mark))
        if len(cells) > len(names) and any(c.strip() for c in cells[len(names) :]):
            rule = f"has {len(cells)} cells under {len(names)} columns"
            remedy = (
                "use decimal points, or part the columns with semicolons"
                if mark == ","
                else "mend the row"
            )
            problems.append(_fault("row", line.strip(), rule, remedy, label, k))
            continue
        row = dict(zip(names, (c.strip() for c in cells), strict=False))
        if not row.get("reading"):
            continue
        reader = _Row(row, units, label, k, length)
        reading = reader.read()
        problems += reader.problems
        if reading is not None:
            out.append(reading)
    if len(out) > MOST_READINGS:
        problems.append(_whole(label, f"has more than {MOST_READINGS} readings", "leave some out"))
    if not out and not problems:
        problems.append(_whole(label, "has no row with a reading", "fill in the column reading"))
    if problems:
        more = len(problems) - PROBLEMS_SHOWN
        if more > 0:
            problems = [
                *problems[:PROBLEMS_SHOWN],
                _whole(label, f"has {more} more faults", "mend these first"),
            ]
        raise InputError(tuple(problems))
    return tuple(out)


class _Row:
    """One row being read; faults gather in ``problems``."""

    def __init__(
        self, row: Mapping[str, str], units: Mapping[str, str], label: str, line: int, length: float
    ) -> None:
        self.row, self.units, self.label, self.line, self.length = row, units, label, line, length
        self.problems: list[Problem] = []

    def read(self) -> Reading | None:
        """The reading, None where a fault was noted."""
        direction = self.word("direction", Direction, None)
        kind = self.word("gauge", GaugeKind, None)
        load_on = self.word("load_on", Part, Part.BLADE)
        gauge_on = self.word("gauge_on", Part, Part.BLADE)
        phase = self.word("phase", Phase, Phase.LOADING)
        amount = self.amount(direction)
        if amount == 0 and not self.row.get("load_z"):
            load_z: float | None = self.length
        else:
            load_z = self.place("load_z", load_on)
        gauge_z = self.place("gauge_z", gauge_on)
        load_arm, gauge_arm = (self.arm(name) for name in ("load_arm", "gauge_arm"))
        spacing = None
        if self.row.get("spacing"):
            spacing = self.quantity("spacing", Dimension.LENGTH)
            if spacing is not None and not 0.01 <= spacing <= WIDEST:
                self.fault(
                    "spacing", f"must be from 10 mm to {WIDEST:g} m", "check the number and its unit"
                )
            if kind is not None and kind is not GaugeKind.TWIST:
                self.fault("spacing", "is for a twist read by two gauges", "leave the cell empty")
        if kind is GaugeKind.TWIST and gauge_arm:
            self.fault("gauge_arm", "a twist has no arm", "leave the cell empty; see spacing")
        value, error = self.value(kind, spacing)
        if self.problems or direction is None or kind is None or amount is None or load_z is None:
            return None
        if gauge_z is None or value is None or load_on is None or gauge_on is None or phase is None:
            return None
        return Reading(
            load=Load(direction=direction, z=load_z, arm=load_arm, part=load_on),
            amount=amount,
            gauge=Gauge(kind=kind, z=gauge_z, arm=gauge_arm, part=gauge_on),
            value=value,
            error=error,
            phase=phase,
            run=self.row.get("run", ""),
            repeat=self.row.get("repeat", ""),
            spacing=spacing,
            line=self.line,
        )

    def word(self, name: str, kind: type[Word], default: Word | None) -> Word | None:
        """A word of a list."""
        text = self.row.get(name, "").lower().replace("_", "-").replace(" ", "-")
        if not text and default is not None:
            return default
        try:
            return kind(text)
        except ValueError:
            known = [str(k) for k in kind]
            self.fault(
                name,
                "is not one of: " + ", ".join(known),
                nearest(text, known) if text else "fill it in",
            )
            return None

    def amount(self, direction: Direction | None) -> float | None:
        """The load in N or N·m."""
        if direction is Direction.TORQUE:
            return self.quantity("load", Dimension.MOMENT)
        text = self.with_unit("load")
        if text is None:
            return None
        if _nothing(text):
            return 0.0
        for dimension, by in ((Dimension.MASS, GRAVITY), (Dimension.FORCE, 1.0)):
            try:
                return parse(text, dimension) * by
            except UnitError:
                continue
        return self.quantity("load", Dimension.MASS)

    def place(self, name: str, part: Part | None) -> float | None:
        """Place z on the mast, or a little past its tip on the foil."""
        z = self.quantity(name, Dimension.LENGTH)
        # A tape is read to half a millimetre, and inches are written with two digits.
        most = self.length + (BEYOND if part is Part.FOIL else 5e-4)
        if z is not None and not 0 <= z <= most:
            where = "the mast" if part is not Part.FOIL else "what is joined to its tip"
            rule = f"must lie on {where}, from 0 to {1e3 * most:.6g} mm from the base"
            self.fault(name, rule, "check the number, its unit and load_on or gauge_on")
            return None
        return z if z is None or part is Part.FOIL else min(z, self.length)

    def arm(self, name: str) -> float:
        """A distance from the stacking line; 0 where it is left out."""
        if not self.row.get(name):
            return 0.0
        arm = self.quantity(name, Dimension.LENGTH)
        if arm is not None and abs(arm) > WIDEST:
            self.fault(name, f"must be within {WIDEST:g} m", "check the number and its unit")
        return arm or 0.0

    def value(self, kind: GaugeKind | None, spacing: float | None) -> tuple[float | None, float | None]:
        """The reading and its error in m or rad."""
        angle = kind is GaugeKind.TWIST and spacing is None
        dimension = Dimension.ANGLE if angle else Dimension.LENGTH
        value = self.quantity("reading", dimension)
        error = self.quantity("error", dimension) if self.row.get("error") else None
        if error is not None and error <= 0:
            self.fault("error", "must be more than nothing", "leave it empty where it is not known")
        largest = math.pi / 4 if angle else 10.0
        if value is not None and abs(value) > largest:
            self.fault("reading", "is far beyond what a bench shows", "check the number and its unit")
        if spacing:
            value = None if value is None else value / spacing
            error = None if error is None else error / spacing
        return value, error

    def quantity(self, name: str, dimension: Dimension) -> float | None:
        """A cell in SI units."""
        text = self.with_unit(name)
        if text is None:
            return None
        if _nothing(text):
            return 0.0
        try:
            return parse(text, dimension)
        except UnitError as error:
            remedy = error.remedy
            if error.rule == "a bare number has no unit":
                remedy = f"write the unit in the header, such as {name} [mm], or in the cell"
            self.fault(name, error.rule, remedy)
            return None

    def with_unit(self, name: str) -> str | None:
        """A cell with the unit of its header where it has none of its own; a bare 0 needs none."""
        text = self.row.get(name, "")
        if not text:
            self.fault(name, "is empty", "fill it in")
            return None
        return f"{text} {self.units[name]}" if _PLAIN.fullmatch(text) and self.units.get(name) else text

    def fault(self, name: str, rule: str, remedy: str) -> None:
        """Note a fault of a cell."""
        found = shown(self.row[name]) if self.row.get(name) else ""
        self.problems.append(
            Problem(key=name, found=found, rule=rule, remedy=remedy, file=self.label, line=self.line)
        )


def _nothing(text: str) -> bool:
    """Whether a cell is a bare nought, which is the same in every unit."""
    return _PLAIN.fullmatch(text) is not None and float(text) == 0


def _head(
    cells: Sequence[str], label: str, line: int
) -> tuple[list[str], dict[str, str], list[Problem]]:
    """Names of the columns, their units, and what is wrong with them."""
    names: list[str] = []
    units: dict[str, str] = {}
    problems = []
    for cell in cells:
        called, unit = _parted(cell.strip())
        name = "_".join(re.split(r"[\s_-]+", called.strip().lower()))
        names.append(name)
        if unit:
            units[name] = unit
        if name and name not in COLUMNS:
            known = "known columns: " + ", ".join(COLUMNS)
            problems.append(
                _fault(
                    "column", cell.strip(), "unknown column", nearest(name, COLUMNS, known), label, line
                )
            )
        elif name and names.count(name) > 1:
            problems.append(
                _fault("column", cell.strip(), "is there twice", "leave one out", label, line)
            )
    missing = [name for name in _NEEDED if name not in names]
    if missing:
        rule = "has no column " + ", ".join(missing)
        remedy = "its first line names the columns: " + _example()
        problems.append(
            Problem(key="the header", found="", rule=rule, remedy=remedy, file=label, line=line)
        )
    return names, units, problems


def _parted(cell: str) -> tuple[str, str]:
    """Name and unit of a column: ``reading [mm]``.

    Not by a pattern, which would try the ways to part a long run of blanks for hours.
    """
    begin = min((k for k in (cell.find("["), cell.find("(")) if k >= 0), default=-1)
    inside = cell[begin + 1 : -1]
    if begin < 0 or cell[-1] not in "])" or "]" in inside or ")" in inside:
        return cell, ""
    return cell[:begin], inside.strip()


def _example() -> str:
    return "load [kg],direction,load_z [mm],gauge,gauge_z [mm],reading [mm]"


def _fault(key: str, found: str, rule: str, remedy: str, label: str, line: int) -> Problem:
    return Problem(
        key=key, found=shown(found) if found else "", rule=rule, remedy=remedy, file=label, line=line
    )


def _whole(label: str, rule: str, remedy: str) -> Problem:
    return Problem(key=label, found="", rule=rule, remedy=remedy)


def _text(path: Path, label: str) -> str:
    """The file's text."""
    try:
        if path.is_dir():
            raise InputError((_whole(label, "is a folder", "name a CSV file in it"),))
        with path.open("rb") as source:
            content = source.read(MAST_BYTES + 1)
    except FileNotFoundError:
        raise InputError((_whole(label, "there is no such file", "check the name"),)) from None
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise InputError(
            (_whole(label, f"cannot be read ({reason})", "check its permissions"),)
        ) from None
    if len(content) > MAST_BYTES:
        raise InputError((_whole(label, "is larger than 1 MB", "readings are a few kilobytes"),))
    if b"\0" in content:
        raise InputError((_whole(label, "is not plain text", "save the sheet as CSV, UTF-8"),))
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")
