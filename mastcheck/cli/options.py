"""Options of a check that commands share: what is asked, and what is written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

# Units and Paper are looked up here by name, since the types of what is inherited are read here.
from mastcheck.cli.outputs import Outputs, drawing_problems, output_problems
from mastcheck.cli.outputs import Paper as Paper
from mastcheck.cli.show import Units as Units
from mastcheck.errors import InputError, Problem
from mastcheck.units import Dimension, UnitError, parse

if TYPE_CHECKING:
    from mastcheck.checks.result import Comparison
    from mastcheck.job import Job

# A hyphen may lead, so that "-1 m" is refused for what it is and not taken for an option.
Quantity = Annotated[str | None, Parameter(allow_leading_hyphen=True)]


@Parameter(name="*")
@dataclass(frozen=True, kw_only=True)
class Asked:
    """What is checked: the options that change it, as they stand on the command line."""

    length: Quantity = None
    """Another length, with its unit: "30 in". Stations are fractions, so a taper stretches."""

    trim: Literal["base", "tip"] | None = None
    """With --length: cut this end off instead, as one cuts an extrusion."""

    rider: Quantity = None
    """Rider's mass, with its unit: "95 kg"."""

    speed: Quantity = None
    """Speed, or slowest and fastest: "5 m/s", "5 m/s:12 m/s". In place of the file's."""

    ride_height: Quantity = None
    """The board's bottom above still water, below the length: "300 mm". In place of the file's."""

    case: Annotated[
        tuple[str, ...], Parameter(negative=(), consume_multiple=False, show_default=False)
    ] = ()
    """Only this load case. May be repeated."""

    allow_outside: Annotated[bool, Parameter(negative=())] = False
    """Also read outline files that lie outside the mast file's folder."""

    no_cache: Annotated[bool, Parameter(negative=())] = False
    """Solve every section anew and keep none. Results are the same."""


@Parameter(name="*")
@dataclass(frozen=True, kw_only=True)
class Options(Asked, Outputs):
    """Options of one check, and of what it writes."""


def read_jobs(files: Sequence[Path], options: Options) -> list[Job]:
    """Load mast files and change them as the options say.

    Every file is read before any complaint, so that all faults can be mended at once.

    Raises:
        InputError: with the problems of all files and options.
    """
    from mastcheck.files.mastfile import apply, load

    problems = list(output_problems(options, files))
    length = _quantity("--length", options.length, Dimension.LENGTH, problems)
    mass = _quantity("--rider", options.rider, Dimension.MASS, problems)
    speeds = _speeds(options.speed, problems)
    height = _quantity("--ride-height", options.ride_height, Dimension.LENGTH, problems)
    # A length that could not be read is one fault, not a second one for the trim that goes with it.
    trim = None if length is None and options.length is not None else options.trim
    jobs = []
    for file in files:
        try:
            loaded = load(file, allow_outside=options.allow_outside)
            problems += drawing_problems({"--json": options.json}, file, loaded)
            jobs.append(
                apply(
                    loaded, length=length, trim=trim,
                    rider_mass=mass, cases=options.case, speeds=speeds, ride_height=height,
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


def exit_status(comparison: Comparison) -> int:
    """0 when every limit held, 1 when one is exceeded, a case is unstable or a self-check failed."""
    unstable = any(not case.stable for mast in comparison.masts for case in mast.cases)
    doubtful = any(c.verdict == "fail" for mast in comparison.masts for c in mast.self_checks)
    return int(unstable or doubtful or any(mast.failed for mast in comparison.masts))
