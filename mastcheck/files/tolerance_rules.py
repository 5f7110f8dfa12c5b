"""Joint rules of [tolerances]: nothing scatters that is not there, or by more than half of itself."""

from __future__ import annotations

from collections.abc import Iterator

from mastcheck.files.parts import WALL_KEYS, Parts, mm, read_part, table
from mastcheck.files.problems import Fault
from mastcheck.files.tolerance_schema import TolerancesTable

MOST_OF_SIZE = 0.5
"""Of the least size: beyond, no band means much."""


def faults(p: Parts) -> Iterator[Fault]:
    """Faults of the table."""
    raw = table(p.raw.get("tolerances"))
    if not raw:
        return
    walled = any(
        p.has("section", key) or any(s[key] is not None for s in p.stations) for key in WALL_KEYS
    )
    if "wall" in raw and not walled and not p.laminated:
        yield Fault(("tolerances", "wall"), "this mast has no wall", "remove it")
    read = read_part(TolerancesTable, raw)
    for key in ("chord", "thickness", "wall"):
        limit = read[key]
        sizes = [s for s in _sizes(p, key) if s is not None]
        if limit is None or limit[1] or not sizes or limit[0] <= MOST_OF_SIZE * min(sizes):
            continue
        rule = f"is more than half of the least {key}, {mm(min(sizes))}"
        yield Fault(("tolerances", key), rule, "check the number and its unit; it is either way")


def _sizes(p: Parts, key: str) -> Iterator[float | None]:
    """A size wherever the file states it [m]."""
    if key != "wall":
        yield from (s[key] for s in p.stations)
        return
    for part in (p.section, *p.stations):
        for wall in WALL_KEYS:
            yield from (point.wall for point in part[wall] or ())
