"""``mastcheck envelope``: the heaviest rider at each length, for every limit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from mastcheck.cli.outputs import drawing_problems
from mastcheck.cli.section import output_problems
from mastcheck.cli.show import Units
from mastcheck.errors import InputError, Problem
from mastcheck.units import Dimension, UnitError, parse, shown

if TYPE_CHECKING:
    from rich.console import Console

    from mastcheck.checks.envelope_result import Envelope
    from mastcheck.job import Job

POINTS = (2, 15)
"""Fewest and most lengths."""

_Range = Annotated[str, Parameter(allow_leading_hyphen=True)]


def envelope(
    file: Path,
    /,
    *,
    rider: _Range,
    length: _Range,
    points: int = 7,
    case: Annotated[
        tuple[str, ...], Parameter(negative=(), consume_multiple=False, show_default=False)
    ] = (),
    units: Units = "metric",
    json: Path | None = None,
    csv: Path | None = None,
    report: Path | None = None,
    draw: Path | None = None,
    allow_outside: Annotated[bool, Parameter(negative=())] = False,
    no_cache: Annotated[bool, Parameter(negative=())] = False,
) -> int:
    """The heaviest rider at each length, for every limit, strength and stability of each load case.

    Args:
        file: The mast file (TOML).
        rider: Lightest and heaviest rider, each with its unit: "55kg:110kg".
        length: Shortest and longest mast, each with its unit: "65cm:95cm". A taper stretches.
        points: How many lengths, the ends among them.
        case: Only this load case. May be repeated.
        units: Units of the printed table, the chart and the report. JSON and CSV keep theirs.
        json: Also write the results to this file as JSON.
        csv: Also write a line for each length and limit to this file.
        report: Also write a PDF report to this file.
        draw: Also draw the chart to this file, .png, .svg or .pdf.
        allow_outside: Also read outline files that lie outside the mast file's folder.
        no_cache: Solve every section anew and keep none. Results are the same.

    Returns:
        The exit status: 0, since nothing is judged that fails.
    """
    outputs = {"--json": json, "--csv": csv, "--report": report, "--draw": draw}
    job, riders, lengths = _read(file, rider, length, points, case, outputs, allow_outside=allow_outside)

    from mastcheck.checks.envelope import envelope as solve
    from mastcheck.cli.console import console
    from mastcheck.cli.progress import Waiting
    from mastcheck.report.envelope import envelope_csv, envelope_json, envelope_pdf
    from mastcheck.section.store import without

    with without(when=no_cache), Waiting(1) as waiting:
        found = solve(job, riders, lengths, progress=waiting.of(0))
        made: list[tuple[Path, bytes]] = []
        if json is not None:
            made.append((json, envelope_json(found).encode()))
        if csv is not None:
            made.append((csv, envelope_csv(found).encode()))
        if report is not None:
            made.append((report, envelope_pdf(found, units=units)))
        if draw is not None:
            from mastcheck.report.envelope_figure import picture

            made.append((draw, picture(found, draw.suffix.lower(), units=units)))
        if made:
            from mastcheck.whole import write_all

            write_all(made)
    print_envelope(console(), found, units)
    return 0


def _read(
    file: Path,
    rider: str,
    length: str,
    points: int,
    cases: tuple[str, ...],
    outputs: dict[str, Path | None],
    *,
    allow_outside: bool,
) -> tuple[Job, tuple[float, float], list[float]]:
    """The job and the ranges; every fault of options and file told at once, before any computing.

    Raises:
        InputError: with all of them.
    """
    from mastcheck.files.mastfile import apply, load
    from mastcheck.files.options import LENGTHS, RIDER_MASSES

    problems = output_problems(outputs, file)
    masses = _range("--rider", rider, Dimension.MASS, RIDER_MASSES, "kg", problems)
    ends = _range("--length", length, Dimension.LENGTH, LENGTHS, "m", problems)
    if not POINTS[0] <= points <= POINTS[1]:
        rule, remedy = f"must be from {POINTS[0]} to {POINTS[1]}", "7 lengths are the default"
        problems.append(Problem(key="--points", found=str(points), rule=rule, remedy=remedy))
    try:
        job = apply(load(file, allow_outside=allow_outside), cases=cases)
        problems += drawing_problems(outputs, file, job)
    except InputError as error:
        problems += error.problems
    if problems:
        raise InputError(tuple(dict.fromkeys(problems)))
    step = (ends[1] - ends[0]) / (points - 1)
    return job, masses, [ends[0] + i * step for i in range(points - 1)] + [ends[1]]


def _range(
    flag: str,
    text: str,
    dimension: Dimension,
    bounds: tuple[float, float],
    unit: str,
    problems: list[Problem],
) -> tuple[float, float]:
    """The two ends of a range such as "55kg:110kg" in SI; a fault is noted in ``problems``."""
    example = "55kg:110kg" if dimension is Dimension.MASS else "65cm:95cm"
    parts = text.split(":")

    def refuse(found: str, rule: str, remedy: str) -> tuple[float, float]:
        problems.append(Problem(key=flag, found=found, rule=rule, remedy=remedy))
        return bounds

    if len(parts) != 2:
        rule = "must be a range, two quantities with a colon between them"
        return refuse(shown(text), rule, f'write {flag} "{example}"')
    try:
        low, high = (parse(part, dimension) for part in parts)
    except UnitError as error:
        return refuse(shown(text), f"{error.found}: {error.rule}", f'write {flag} "{example}"')
    if not low < high:
        return refuse(shown(text), "must run from the smaller to the larger", "swap or change the ends")
    if low < bounds[0] or high > bounds[1]:
        rule = f"must be within {bounds[0]:g} {unit} and {bounds[1]:g} {unit}"
        return refuse(shown(text), rule, "check the numbers and their units")
    return low, high


def print_envelope(console: Console, found: Envelope, units: Units) -> None:
    """The table, what governs, what the signs mean, assumptions; cautions last."""
    from rich.text import Text

    from mastcheck.cli.printing import heading, items, print_cautions, safe, show, table_of, title
    from mastcheck.report.display import unit_label
    from mastcheck.report.envelope import (
        assumptions,
        governs,
        limit_words,
        marked,
        mass_words,
        sentences,
    )
    from mastcheck.report.envelope import limit_table as cells

    title(console, found.job.mast.name)
    heading(
        console, f"Heaviest rider [{unit_label('kg', units)}] at each length [{unit_label('mm', units)}]"
    )
    columns = cells(found, units)["columns"]
    table = table_of("limit", "case", **dict.fromkeys(columns[2:], 1))
    for i, limit in enumerate(found.limits):
        row = []
        for r in found.rows:
            text = marked(limit, r.heaviest[i], mass_words(r.heaviest[i], found, units))
            row.append(Text(text, style="bold" if r.governing == i else ""))
        table.add_row(safe(limit_words(limit, units)), safe(limit.case), *row)
    overall = [Text(mass_words(r.overall, found, units), style="bold") for r in found.rows]
    table.add_row(Text("all that is judged", style="bold"), "", *overall)
    show(console, table)
    console.print()
    items(console, [*governs(found, units), *sentences(found, units)])
    heading(console, "Assumptions")
    items(console, assumptions(found, units))
    print_cautions(console, found.cautions)
