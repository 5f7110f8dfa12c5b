"""Layup tables: the plies of each zone from the outside in, along the mast."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from mastcheck.checks.result import MastResult
from mastcheck.mast import Mast, Zone
from mastcheck.report.cells import Cell, letters, table, tidy
from mastcheck.report.display import System, breakable, factor, given, unit_label
from mastcheck.report.words import angle_words

_COLUMNS = 9
"""Stations side by side in one table; more go into a table of their own."""


def layup_tables(masts: Sequence[MastResult], units: System) -> list[dict[str, Any]]:
    """Titled tables of ply number, material, angle and thickness at each station.

    Zones with the same plies share a table, and so do masts with the same layup.
    """
    found: dict[str, tuple[str, dict[str, Any], list[str]]] = {}
    for letter, m in zip(letters(masts), masts, strict=True):
        for title, made in _mast_tables(m.job.mast, units):
            found.setdefault(title + repr(made), (title, made, []))[2].append(letter)
    return [
        {"title": tidy(f"Layup of mast {', '.join(who)}: {title}"), "table": made}
        for title, made, who in found.values()
    ]


def zone_plies(mast: Mast, zone: Zone) -> tuple[int, ...]:
    """Places in the station's list of the plies that lie in a zone, outside first."""
    return tuple(i for i, ply in enumerate(mast.stations[0].plies) if zone in ply.zones)


def _mast_tables(mast: Mast, units: System) -> Iterator[tuple[str, dict[str, Any]]]:
    zones: dict[tuple[int, ...], list[str]] = {}
    for zone in Zone:
        if places := zone_plies(mast, zone):
            zones.setdefault(places, []).append(str(zone))
    for places, names in zones.items():
        for start in range(0, len(mast.stations), _COLUMNS):
            part = range(start, min(start + _COLUMNS, len(mast.stations)))
            more = " (further stations)" if start else ""
            yield f"{', '.join(names)}{more}", _table(mast, places, part, units)


def _table(mast: Mast, places: Sequence[int], stations: range, units: System) -> dict[str, Any]:
    mm = factor("mm", units) * 1e3

    def thickness(place: int, station: int) -> float:
        return mast.stations[station].plies[place].thickness

    def same(place: int) -> tuple[object, ...]:
        ply = mast.stations[0].plies[place]
        return (ply.lamina, ply.angle, *(thickness(place, s) for s in range(len(mast.stations))))

    rows: list[list[Cell]] = []
    number = 1
    for _, group in groupby(places, key=same):
        run = list(group)
        ply = mast.stations[0].plies[run[0]]
        last = number + len(run) - 1
        rows.append(
            [
                f"{number}" if last == number else f"{number} to {last}",
                breakable(ply.lamina.name),
                angle_words(ply.angle),
                *(_each(thickness(run[0], s) * mm, len(run)) for s in stations),
            ]
        )
        number = last + 1
    totals = (math.fsum(thickness(p, s) for p in places) * mm for s in stations)
    strong: list[Cell] = [{"t": given(float(f"{t:.9g}")), "mood": "strong"} for t in totals]
    rows.append(["", {"t": "together", "mood": "strong"}, "", *strong])
    label = unit_label("mm", units)
    heads = (f"z = {given(mast.stations[s].at * mast.length * mm)} {label}" for s in stations)
    return table(
        ["ply", "material", "angle", *heads],
        "llr" + "r" * len(stations),
        rows,
        (0.7, 2.4, 0.7, *[1.0] * len(stations)),
    )


def _each(thickness: float, count: int) -> str:
    """Thickness of a ply, or of each of several alike; a dropped one is said to be."""
    if thickness == 0:
        return "dropped"
    return f"{count} × {given(thickness)}" if count > 1 else given(thickness)
