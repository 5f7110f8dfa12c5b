"""Options about what is written, shared by every command that ends in a result, and the writing."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import Parameter

from mastcheck.cli.show import Units
from mastcheck.errors import InputError, Problem
from mastcheck.whole import is_stream

if TYPE_CHECKING:
    from mastcheck.checks.result import Comparison
    from mastcheck.cli.beside import Beside
    from mastcheck.job import Job

Paper = Literal["a4", "us-letter"]


@Parameter(name="*")
@dataclass(frozen=True, kw_only=True)
class Outputs:
    """Options about outputs, as they stand on the command line."""

    units: Units = "metric"
    """Units of the printed tables, the report and the figures. JSON and CSV name theirs in each key."""

    json: Path | None = None
    """Also write the results to this file as JSON."""

    report: Path | None = None
    """Also write a PDF report to this file."""

    brief: Annotated[bool, Parameter(negative=())] = False
    """With --report: two pages, the answer and what it rests on."""

    paper: Paper | None = None
    """With --report: its paper, A4 where nothing is said."""

    figures: Path | None = None
    """Also save every figure of the report in this folder, as SVG, PDF and PNG."""

    csv: Path | None = None
    """Also save every table of the results in this folder, as CSV with all digits."""

    @property
    def pictured(self) -> bool:
        """Whether the report's figures must be drawn."""
        return self.report is not None or self.figures is not None

    @property
    def told(self) -> bool:
        """Whether the self-checks are written anywhere but on the terminal."""
        return any(place is not None for place in (self.json, self.report, self.csv))


def output_problems(outputs: Outputs, inputs: Iterable[Path] = ()) -> list[Problem]:
    """What would stop the outputs from being written: told before the computing, not after it.

    ``inputs``: files that are read, none of which an output may take the place of.
    """
    problems = []
    read = {path.resolve() for path in inputs}
    for flag, path in (("--json", outputs.json), ("--report", outputs.report)):
        if path is None:
            continue
        if path.is_dir():
            problems.append(_problem(flag, path, "is a folder", "name a file in it"))
        elif path.resolve() in read:
            problems.append(_problem(flag, path, "is a file that is read", "name another"))
        else:
            problems += _closed(flag, path, first_existing(path))
    for flag, folder in (("--figures", outputs.figures), ("--csv", outputs.csv)):
        if folder is None:
            continue
        if folder.exists() and not folder.is_dir():
            problems.append(_problem(flag, folder, "is a file, and must be a folder", "name a folder"))
        else:
            problems += _closed(flag, folder, folder if folder.is_dir() else first_existing(folder))
    if outputs.report and outputs.report.suffix.lower() != ".pdf":
        problems.append(_problem("--report", outputs.report, "must end in .pdf", "rename it"))
    if outputs.json and outputs.report and outputs.json.resolve() == outputs.report.resolve():
        problems.append(_problem("--json", outputs.json, "is also the report's path", "name another"))
    if outputs.report is None:
        for flag, value in (
            ("--brief", "yes" if outputs.brief else ""),
            ("--paper", outputs.paper or ""),
        ):
            if value:
                rule = "has no report to go with"
                problems.append(_problem(flag, value, rule, "add --report PATH.pdf, or leave it out"))
    return problems


def drawing_problems(outputs: Mapping[str, Path | None], file: Path, job: Job) -> list[Problem]:
    """Outputs, by option, that would take the place of a drawing that the mast ``file`` names."""
    drawn = {(file.parent / name).resolve() for name, _ in job.outline_files}
    return [
        _problem(flag, path, "is a drawing that the mast file names", "name another")
        for flag, path in outputs.items()
        if path is not None and path.resolve() in drawn
    ]


def _problem(flag: str, found: object, rule: str, remedy: str) -> Problem:
    return Problem(key=flag, found=str(found), rule=rule, remedy=remedy)


def _closed(flag: str, path: Path, folder: Path) -> list[Problem]:
    if can_hold_files(folder) or is_stream(path):
        return []
    return [_problem(flag, path, f"{folder} is no folder that you may write to", "choose another place")]


def first_existing(path: Path) -> Path:
    """The innermost folder on the way to a file that is there already."""
    return next((parent for parent in path.absolute().parents if parent.exists()), Path("/"))


def can_hold_files(folder: Path) -> bool:
    """Whether files and folders can be made in it."""
    return folder.is_dir() and os.access(folder, os.W_OK | os.X_OK)


def drawing(outputs: Outputs) -> Beside:
    """Where the report's figures will be drawn, if any are asked for."""
    from mastcheck.cli.beside import Beside

    return Beside(
        "mastcheck.report.pictures", "matplotlib.backends.backend_svg", wanted=outputs.pictured
    )


def write_outputs(comparison: Comparison, outputs: Outputs, beside: Beside) -> Comparison:
    """Write the files asked for, after all of them have been made: whole or not at all.

    Returns: the comparison as written, with one governing section solved a second way.

    Raises: InputError where a file cannot be written, or two are to have one path.
    """
    drawn = _start(comparison, outputs, beside)
    if outputs.told:
        from mastcheck.checks.both_ways import worst_both_ways

        comparison = worst_both_ways(comparison)
    _write(_made(comparison, outputs, drawn))
    return comparison


def write_again(comparison: Comparison, outputs: Outputs, beside: Beside) -> None:
    """Write the files asked for from a result that is finished: nothing in it is solved anew.

    Raises: InputError as ``write_outputs`` does.
    """
    _write(_made(comparison, outputs, _start(comparison, outputs, beside)))


def _start(
    comparison: Comparison, outputs: Outputs, beside: Beside
) -> Callable[[], dict[str, Any] | None]:
    """Begin to draw what is to be drawn; what is returned waits for it."""
    if not outputs.pictured:
        return lambda: None
    from mastcheck.report.pictures import pictures

    return beside.start(pictures, comparison, outputs.units)


def _made(
    comparison: Comparison, outputs: Outputs, drawn: Callable[[], dict[str, Any] | None]
) -> list[tuple[Path, bytes]]:
    """Every file asked for, in memory."""
    made: list[tuple[Path, bytes]] = []
    if outputs.json:
        from mastcheck.report.json import result_json

        made.append((outputs.json, result_json(comparison).encode()))
    if outputs.csv:
        from mastcheck.report.csv_tables import csv_files

        made += [(outputs.csv / name, data) for name, data in csv_files(comparison).items()]
    pictures = drawn()
    if outputs.report:
        from mastcheck.report.pdf import pdf

        made.append(
            (
                outputs.report,
                pdf(
                    comparison,
                    units=outputs.units,
                    paper=outputs.paper or "a4",
                    brief=outputs.brief,
                    drawn=pictures,
                ),
            )
        )
    if outputs.figures and pictures is not None:
        from mastcheck.report.identity import document_id
        from mastcheck.report.saved import figure_files

        saved = figure_files(pictures, document_id(comparison, outputs.units))
        made += [(outputs.figures / name, data) for name, data in saved.items()]
    return made


def _write(made: Iterable[tuple[Path, bytes]]) -> None:
    files = list(made)
    if not files:
        return
    from mastcheck.whole import write_all

    places = [path.resolve() for path, _ in files]
    problems = [
        _problem("output", path, "is a folder, where a file of that name is to go", "move it away")
        for path, _ in files
        if path.is_dir()
    ]
    problems += [
        _problem("output", path, "is the path of two outputs", "name another")
        for place, (path, _) in zip(places, files, strict=True)
        if places.count(place) > 1
    ]
    if problems:
        raise InputError(tuple(dict.fromkeys(problems)))
    write_all(files)
