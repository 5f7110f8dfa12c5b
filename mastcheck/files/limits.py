"""How much of everything is read. More is refused with its number, before any of it is looked at.

No mast comes near these. They keep a file that is damaged, or made to do harm, from taking the machine's
memory or an afternoon.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from mastcheck.files.locate import Place
from mastcheck.files.problems import Fault
from mastcheck.limit import Quantity

MAST_BYTES = 1_000_000
"""A mast file; a coordinate list and a file of readings are held to the same."""

DRAWING_BYTES = 5_000_000
"""A DXF drawing."""

MOST_DRAWN = 20_000
"""Entities of a drawing, blocks taken apart."""

MOST_TOLD = 100_000
"""Entities and table entries that a DXF file holds anywhere, read or not."""

JOURNAL_LINE_BYTES = 20_000_000
"""One batch of rows in the journal of a sweep."""

MOST_READINGS = 2000
MOST_ROWS = 10_000
"""Rows of a file of readings, those without a reading among them."""

MOST_COLUMNS = 50
LONGEST_ROW = 10_000
"""Characters."""

MOST_STATIONS = 200
MOST_PLIES = 400
MOST_WEBS = 40
MOST_CHANNELS = 40
MOST_WALL_POINTS = 50
MOST_CASES = 1000
MOST_WINGS = 50
MOST_ADAPTERS = 20
MOST_MATERIALS = 200
MOST_LAYERS = 200
MOST_LIMITS = 200

MOST_OUTLINE_POINTS = 5000
"""Points of a coordinate list."""

MOST_LOOP_POINTS = 20_000
"""Points of a drawing's loops, curves flattened."""

MOST_ENTRIES = 1000
"""Entries of any other list, and keys of any table."""

MOST_VALUES = 50_000
"""Values of a whole mast file."""

MOST_LEVELS = 12
"""Tables and lists within each other."""

MOST_PARTS = 32
"""Parts of a dotted key: the standard parser takes a time that grows with their square."""

MOST_FAULTS = 100
"""Faults of one mast file that are told."""

_COUNTS: dict[Place, tuple[int, str, str]] = {
    ("mast", "station"): (
        MOST_STATIONS, "stations", "between stations the sizes are linear: leave some out"
    ),
    ("load_case",): (MOST_CASES, "load cases", "leave some out, or part them into two files"),
    ("wing",): (MOST_WINGS, "wings", "leave some out, or part them into two files"),
    ("adapter",): (MOST_ADAPTERS, "adapters", "a mast has one or two: check the file"),
    ("material",): (MOST_MATERIALS, "materials", "leave out those that nothing is made of"),
    ("lamina",): (MOST_MATERIALS, "laminas", "leave out those that nothing is made of"),
    ("section", "layers"): (MOST_LAYERS, "layers", "name those that the section is drawn on"),
    ("section", "ply"): (MOST_PLIES, "tables of plies", "use count, layup and repeat_plies"),
    ("fatigue", "cycles"): (MOST_CASES, "load cases", "leave some out"),
    **{
        ("limits", str(quantity)): (MOST_LIMITS, "limits", "leave some out, or part them into two files")
        for quantity in Quantity
    },
}  # fmt: skip

_WORD = r"""(?:[A-Za-z0-9_-]++|"[^"\n]{0,80}"|'[^'\n]{0,80}')"""
# Begins where no word is under way, so that no letter is looked at twice.
_DOTTED = re.compile(rf"(?<![A-Za-z0-9_.-]){_WORD}(?:[ \t]*+\.[ \t]*+{_WORD}){{{MOST_PARTS}}}")


def dotted(text: str) -> int | None:
    """The line of a key of too many parts in a TOML text, None where there is none."""
    found = _DOTTED.search(text)
    return None if found is None else text.count("\n", 0, found.start()) + 1


def faults(raw: Mapping[str, Any]) -> Iterator[Fault]:
    """What there is too much of in a raw mast file; nothing else in it is looked at.

    Stops at the first list or table that is nested too deeply, or once there are too many values.
    """
    values = 0
    left: list[tuple[Place, Any]] = [((), raw)]
    while left:
        path, node = left.pop()
        if len(path) > MOST_LEVELS:
            rule = f"lies {len(path)} levels deep, and at most {MOST_LEVELS} are read"
            yield Fault(path[:2], rule, "check its brackets")
            return
        most, what, remedy = _COUNTS.get(path, (MOST_ENTRIES, _kind(node), "check the file"))
        if len(node) > most:
            yield Fault(path, f"has {len(node):,} {what}, and at most {most:,} are read", remedy)
            continue
        values += len(node)
        if values > MOST_VALUES:
            rule = f"has more than {MOST_VALUES:,} values"
            yield Fault((), rule, "a mast file has a few hundred: check the name")
            return
        parts = node.items() if isinstance(node, Mapping) else enumerate(node)
        left += [((*path, key), part) for key, part in parts if isinstance(part, dict | list)]


def _kind(node: object) -> str:
    return "keys" if isinstance(node, Mapping) else "entries"
