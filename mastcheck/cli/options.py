"""Options that ``check`` and ``compare`` share, and what both do with them."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from mastcheck.cli.show import Units
from mastcheck.errors import InputError, Problem
from mastcheck.units import Dimension, UnitError, parse

if TYPE_CHECKING:
    from mastcheck.checks.result import Comparison
    from mastcheck.cli.beside import Beside
    from mastcheck.job import Job


# A hyphen may lead, so that "-1 m" is refused for what it is and not taken for an option.
_Quantity = Annotated[str | None, Parameter(allow_leading_hyphen=True)]


@Parameter(name="*")
@dataclass(frozen=True, kw_only=True)
class Options:
    """Options of one check, as they stand on the command line."""

    length: _Quantity = None
    """Another length, with its unit: "30 in". Stations are fractions, so a taper stretches."""

    trim: Literal["base", "tip"] | None = None
    """With --length: cut this end off instead, as one cuts an extrusion."""

    rider: _Quantity = None
    """Rider's mass, with its unit: "95 kg"."""

    speed: _Quantity = None
    """Speed, or slowest and fastest: "5 m/s", "5 m/s:12 m/s". In place of the file's."""

    ride_height: _Quantity = None
    """The board's bottom above still water, below the length: "300 mm". In place of the file's."""

    case: Annotated[
        tuple[str, ...], Parameter(negative=(), consume_multiple=False, show_default=False)
    ] = ()
    """Only this load case. May be repeated."""

    units: Units = "metric"
    """Units of the printed tables and the report. Results in JSON stay in their stated units."""

    json: Path | None = None
    """Also write the results to this file as JSON."""

    report: Path | None = None
    """Also write a PDF report to this file."""

    no_cache: Annotated[bool, Parameter(negative=())] = False
    """Solve every section anew and keep none. Results are the same."""


def read_jobs(files: Sequence[Path], options: Options) -> list[Job]:
    """Load mast files and change them as the options say.

    Every file is read before any complaint, so that all faults can be mended at once.

    Raises:
        InputError: with the problems of all files and options.
    """
    from mastcheck.files.mastfile import apply, load

    problems = list(_output_problems(options))
    length = _quantity("--length", options.length, Dimension.LENGTH, problems)
    mass = _quantity("--rider", options.rider, Dimension.MASS, problems)
    speeds = _speeds(options.speed, problems)
    height = _quantity("--ride-height", options.ride_height, Dimension.LENGTH, problems)
    # A length that could not be read is one fault, not a second one for the trim that goes with it.
    trim = None if length is None and options.length is not None else options.trim
    jobs = []
    for file in files:
        try:
            jobs.append(
                apply(
                    load(file), length=length, trim=trim, rider_mass=mass, cases=options.case,
                    speeds=speeds, ride_height=height,
                )
            )  # fmt: skip
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(tuple(dict.fromkeys(problems)))
    return jobs


def _quantity(
    flag: str, text: str | None, dimension: Dimension, problems: list[Problem]
) -> float | None:
    """A quantity from the command line in SI, or None with the fault noted in ``problems``."""
    if text is None:
        return None
    try:
        return parse(text, dimension)
    except UnitError as error:
        problems.append(Problem(key=flag, found=error.found, rule=error.rule, remedy=error.remedy))
        return None


def _speeds(text: str | None, problems: list[Problem]) -> tuple[float, float] | None:
    """Slowest and fastest [m/s] of "5 m/s" or "5 m/s:12 m/s"."""
    if text is None:
        return None
    first, colon, last = text.partition(":")
    slow = _quantity("--speed", first.strip(), Dimension.SPEED, problems)
    fast = _quantity("--speed", last.strip(), Dimension.SPEED, problems) if colon else slow
    return None if slow is None or fast is None else (slow, fast)


def _output_problems(options: Options) -> list[Problem]:
    """What would stop the outputs from being written: told before the computing, not after it."""
    problems = []
    for flag, path in (("--json", options.json), ("--report", options.report)):
        if path is None:
            continue
        if path.is_dir():
            problems.append(
                Problem(key=flag, found=str(path), rule="is a folder", remedy="name a file in it")
            )
        elif not _can_hold_files(_first_existing(path)):
            rule = f"{_first_existing(path)} is no folder that you may write to"
            problems.append(Problem(key=flag, found=str(path), rule=rule, remedy="choose another place"))
    if options.report and options.report.suffix.lower() != ".pdf":
        problems.append(
            Problem(
                key="--report", found=str(options.report), rule="must end in .pdf", remedy="rename it"
            )
        )
    if options.json and options.report and options.json.resolve() == options.report.resolve():
        problems.append(
            Problem(
                key="--json",
                found=str(options.json),
                rule="is also the report's path",
                remedy="name another",
            )
        )
    return problems


def _first_existing(path: Path) -> Path:
    """The innermost folder on the way to a file that is there already."""
    return next((parent for parent in path.absolute().parents if parent.exists()), Path("/"))


def _can_hold_files(folder: Path) -> bool:
    """Whether files and folders can be made in it."""
    return folder.is_dir() and os.access(folder, os.W_OK | os.X_OK)


def drawing(options: Options) -> Beside:
    """Where the report's figures will be drawn, if one is asked for."""
    from mastcheck.cli.beside import Beside

    return Beside(
        "mastcheck.report.pictures", "matplotlib.backends.backend_svg", wanted=options.report is not None
    )


def write_outputs(comparison: Comparison, options: Options, beside: Beside) -> Comparison:
    """Write the files asked for, after all of them have been made: whole or not at all.

    Returns: the comparison as written, with one governing section solved a second way.
    """
    made: list[tuple[Path, bytes]] = []
    if options.report:
        from mastcheck.report.pictures import pictures

        drawn = beside.start(pictures, comparison, options.units)
    if options.report or options.json:
        from mastcheck.checks.both_ways import worst_both_ways

        comparison = worst_both_ways(comparison)
    if options.json:
        from mastcheck.report.json import result_json

        made.append((options.json, result_json(comparison.masts).encode()))
    if options.report:
        from mastcheck.report.pdf import pdf

        made.append((options.report, pdf(comparison, units=options.units, drawn=drawn())))
    if made:
        from mastcheck.report.write import write_whole

        for path, content in made:
            write_whole(path, content)
    return comparison


def exit_status(comparison: Comparison) -> int:
    """0 when every limit held, 1 when one is exceeded, a case is unstable or a self-check failed."""
    unstable = any(not case.stable for mast in comparison.masts for case in mast.cases)
    doubtful = any(c.verdict == "fail" for mast in comparison.masts for c in mast.self_checks)
    return int(unstable or doubtful or any(mast.failed for mast in comparison.masts))
