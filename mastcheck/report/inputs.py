"""Tables and sentences of inputs: what was asked, geometry, materials, rider, loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import PurePath

from mastcheck.checks.result import MastResult
from mastcheck.job import Job
from mastcheck.loadcase import LoadCase
from mastcheck.mast import Construction, Wall
from mastcheck.report.cells import LONGEST, Cell, Table, called, letters, table, tidy
from mastcheck.report.display import (
    System,
    breakable,
    factor,
    given,
    quantity,
    stated,
    unit_label,
)
from mastcheck.report.words import made_of, outline_rules, outline_words, outlines, wall_words


def mast_rows(masts: Sequence[MastResult], units: System, longest: int = LONGEST) -> list[list[Cell]]:
    """A row a mast: letter, name (at most so long), how it is made, length, rider, input files."""
    kg = factor("kg", units)
    rows: list[list[Cell]] = []
    for letter, m in zip(letters(masts), masts, strict=True):
        rider = m.job.rider
        rows.append(
            [
                {"t": letter, "mood": "strong"},
                called(m, longest),
                breakable(made_of(m.job.mast)),
                stated(m.job.mast.length * 1e3, "mm", units),
                f"{given(rider.mass * kg)} + {given(rider.gear_mass * kg)} {unit_label('kg', units)}",
                breakable(file_words(m.job)),
            ]
        )
    return rows


def file_words(job: Job) -> str:
    """The mast file and the outline files it names, each with the start of its hash."""
    files = [(job.file, job.input_sha256), *job.outline_files]
    names = [(PurePath(file.replace("\\", "/")).name, sha) for file, sha in files]
    return "; ".join(
        f"{name or 'built in Python'}{' ' + sha[:10] if sha else ''}" for name, sha in names
    )


def geometry_table(masts: Sequence[MastResult], units: System) -> Table:
    """The stations as stated; their outlines where a mast has more than one."""
    several = any(len(outlines(m.job.mast)) > 1 for m in masts)
    mm = factor("mm", units)
    rows: list[list[Cell]] = []
    for letter, m in zip(letters(masts), masts, strict=True):
        recipe = m.job.mast.section
        drawn = recipe.construction is Construction.DRAWN
        for k, s in enumerate(m.job.mast.stations):
            row: list[Cell] = [
                letter if k == 0 else "",
                given(s.at),
                given(s.at * m.job.mast.length * 1e3 * mm),
                given(s.chord * 1e3 * mm),
                given(s.thickness * 1e3 * mm),
                "plies" if s.plies else "as drawn" if drawn else wall_words(s.wall, units),
            ]
            rows.append(
                row + ([breakable(outline_words(s.outline or recipe.outline))] if several else [])
            )
    label = unit_label("mm", units)
    columns = ["", "at", f"z {label}", f"chord {label}", f"thickness {label}", f"wall {label}"]
    wide = 3.0 if any(isinstance(s.wall, Wall) for m in masts for s in m.job.mast.stations) else 1.0
    if several:
        return table([*columns, "outline"], "lrrrrrl", rows, (0.4, 1, 1, 1, 1, wide, 2))
    return table(columns, "lrrrrr", rows, (0.4, 1, 1, 1, 1, wide))


def recipe_words(letter: str, m: MastResult, units: System) -> str:
    """How one mast's sections are made and solved, in a sentence."""
    mast = m.job.mast
    fewest = min(x.elements for x in m.sections)
    parts = [
        f"Mast {letter}: {' to '.join(outlines(mast))} outline, {mast.section.construction}",
        f"stacking line at {given(mast.taper_about)} of the chord",
        f"warping {mast.tip_warping} at the tip, restrained at the base",
        *outline_rules(mast, units),
        f"{len(m.sections)} sections solved, each of {fewest} elements or more",
        f"last {given(100 * m.job.wet)} % of the length under water",
    ]
    return tidy("; ".join(parts)) + "."


def load_table(masts: Sequence[MastResult], units: System) -> Table:
    """The load cases as applied, each once."""
    users: dict[LoadCase, list[str]] = {}
    for letter, m in zip(letters(masts), masts, strict=True):
        for c in m.cases:
            users.setdefault(c.case, []).append(letter)
    return case_table(users, len(masts), units)


def case_table(users: Mapping[LoadCase, Sequence[str]], masts: int, units: System) -> Table:
    """Load cases, each with the letters of those of so many masts it is applied to."""
    rows: list[list[Cell]] = []
    for load, who in users.items():
        extra = []
        if any(load.force):
            force = ", ".join(given(f * factor("N", units)) for f in load.force)
            extra.append(f"force ({force}) {unit_label('N', units)}")
        if any(load.moment):
            moment = ", ".join(given(f * factor("N·m", units)) for f in load.moment)
            extra.append(f"moment ({moment}) {unit_label('N·m', units)}")
        side = (
            "0"
            if not load.side_force
            else f"{given(load.side_force)} W{' spread' if load.side_spread else ''}"
        )
        rows.append(
            [
                breakable(load.name) + ("" if len(who) == masts else f" ({', '.join(who)})"),
                given(load.n),
                given(load.offset * 1e3 * factor("mm", units)),
                given(load.roll_offset * 1e3 * factor("mm", units)),
                side,
                "0" if not load.feet_twist else f"{given(load.feet_twist)} W × stance",
                breakable("; ".join(extra)) or "–",
                str(load.lift),
                given(load.strength_factor),
                breakable(str(load.source.grade)),
            ]
        )
    mm = unit_label("mm", units)
    return table(
        [
            "case",
            "n",
            f"fore-aft offset {mm}",
            f"roll offset {mm}",
            "side force",
            "feet twist",
            "further tip load (x, y, z)",
            "lift",
            "strength factor",
            "grade",
        ],
        "lrrrllllrl",
        rows,
        (1.1, 0.3, 0.8, 0.6, 0.95, 1.2, 1.95, 1.1, 0.75, 2.15),
    )


def rider_words(m: MastResult, units: System) -> str:
    """Rider and board in a sentence."""
    r = m.job.rider
    return (
        f"rider {stated(r.mass, 'kg', units)}, board and gear {stated(r.gear_mass, 'kg', units)} "
        f"(W = {quantity(r.weight, 'N', units)}), centre of mass {stated(r.rider_height, 'm', units)} "
        f"above the base, stance {stated(r.stance_width * 1e3, 'mm', units)}"
    )
