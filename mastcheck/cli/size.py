"""``mastcheck size``: the lightest mast that meets its limits."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from mastcheck.cli.options import Options, Quantity, read_jobs
from mastcheck.cli.show import Units
from mastcheck.errors import InputError, Problem
from mastcheck.units import Dimension, UnitError, parse, shown

if TYPE_CHECKING:
    from rich.console import Console

    from mastcheck.job import Job
    from mastcheck.search.size_result import Sized
    from mastcheck.search.size_space import Free

FOUND, NONE = 0, 1
ROUNDING = (1e-6, 10e-3)
"""Finest and coarsest step of --round [m]."""

_Repeated = Parameter(negative=(), consume_multiple=False, show_default=False)


def size(
    file: Path,
    /,
    *,
    vary: Annotated[tuple[str, ...], _Repeated] = (),
    round: Quantity = None,  # noqa: A002  the option's name
    out: Path | None = None,
    length: Quantity = None,
    rider: Quantity = None,
    case: Annotated[tuple[str, ...], _Repeated] = (),
    units: Units = "metric",
    json: Path | None = None,
    allow_outside: Annotated[bool, Parameter(negative=())] = False,
    no_cache: Annotated[bool, Parameter(negative=())] = False,
) -> int:
    """The lightest mast that meets its limits, what governs it, and the proof by a step either way.

    Args:
        file: The mast file (TOML).
        vary: A size that is free: "wall", or with bounds "wall=2mm:4mm", else half to twice its value.
            May be repeated. Keys: chord, base_chord, tip_chord, the same of thickness and wall,
            layup, ply_N_thickness, ply_N_angle.
        round: Also find the lightest mast near it whose sizes are multiples of this: "0.1mm".
        out: Write the mast found to this new file: the mast file with its sizes changed.
        length: Another length, with its unit: "30 in". Stations are fractions, so a taper stretches.
        rider: Rider's mass, with its unit: "95 kg".
        case: Only this load case. May be repeated.
        units: Units of the printed tables. Results in JSON stay in their stated units.
        json: Also write the results to this file as JSON.
        allow_outside: Also read outline files that lie outside the mast file's folder.
        no_cache: Solve every section anew and keep none. Results are the same.

    Returns:
        The exit status: 0 when a mast was found that meets its limits, 1 when there is none.
    """
    options = Options(
        length=length, rider=rider, case=case, units=units, json=json, allow_outside=allow_outside,
        no_cache=no_cache,
    )  # fmt: skip
    job, free, step = _read(file, vary, round, out, options)

    from mastcheck.cli.console import console
    from mastcheck.cli.progress import Waiting
    from mastcheck.search.size import size as solve
    from mastcheck.section.store import without
    from mastcheck.whole import together

    with without(when=no_cache), Waiting(1) as waiting:
        sized = solve(job, free, rounding=step, progress=waiting.of(0))
    written = None
    with together() as files:
        if json is not None:
            from mastcheck.report.size_json import size_json

            files.put(json, size_json(sized).encode())
        if out is not None and sized.found and sized.best is not None:
            from mastcheck.files.sized import write_sized

            written = write_sized(file, out, sized, allow_outside=allow_outside)
    print_size(console(), sized, units, written)
    return FOUND if sized.found else NONE


def _read(
    file: Path, vary: Sequence[str], rounding: str | None, out: Path | None, options: Options
) -> tuple[Job, tuple[Free, ...], float | None]:
    """The job, what is free and the rounding; every fault told at once, before any computing.

    Raises:
        InputError: with all of them.
    """
    from mastcheck.search.size_space import free_sizes

    problems: list[Problem] = []
    asked = _asked(vary, problems)
    step = _rounding(rounding, problems)
    job: Job | None = None
    free: tuple[Free, ...] = ()
    try:
        (job,) = read_jobs([file], options)
        if asked or not vary:
            free = free_sizes(job, asked)
    except InputError as error:
        problems += error.problems
    if out is not None:
        from mastcheck.files.sized import out_problems

        problems += out_problems(file, out, [key for key, _ in asked])
        if options.json is not None and options.json.resolve() == out.resolve():
            problems.append(
                Problem(
                    key="--out", found=str(out), rule="is also the path of --json", remedy="name another"
                )
            )
    if problems or job is None:
        raise InputError(tuple(dict.fromkeys(problems)))
    return job, free, step


def _asked(vary: Sequence[str], problems: list[Problem]) -> list[tuple[str, tuple[float, float] | None]]:
    """Keys and their bounds [SI], None where none are given; faults are noted."""
    from mastcheck.cli.vary import read_vary

    out: list[tuple[str, tuple[float, float] | None]] = []
    for text in vary:
        found = read_vary(text, problems, bounds=True)
        if found is None:
            continue
        if found.values:
            rule = "sizing takes bounds, LOW:HIGH, and finds what is best between them"
            remedy = f"write --vary {found.key}, or --vary {found.key}=LOW:HIGH with units"
            problems.append(Problem(key="--vary", found=shown(text), rule=rule, remedy=remedy))
        elif found.range is not None and _low_fault(found.key, found.range[0]):
            rule = "must be more than nothing at both ends"
            problems.append(
                Problem(key="--vary", found=shown(text), rule=rule, remedy="raise the lower end")
            )
        else:
            out.append((found.key, found.range))
    return out


def _low_fault(key: str, low: float) -> bool:
    from mastcheck.search.variables import key_of

    return low <= 0 and key_of(key).dimension is not Dimension.ANGLE


def _rounding(text: str | None, problems: list[Problem]) -> float | None:
    if text is None:
        return None
    try:
        step = parse(text, Dimension.LENGTH)
    except UnitError as error:
        problems.append(Problem(key="--round", found=error.found, rule=error.rule, remedy=error.remedy))
        return None
    if not ROUNDING[0] <= step <= ROUNDING[1]:
        rule = "must be from 0.001 mm to 10 mm"
        problems.append(
            Problem(key="--round", found=shown(text), rule=rule, remedy="write --round 0.1mm")
        )
        return None
    return step


def print_size(console: Console, sized: Sized, units: Units, written: Path | None) -> None:
    """The answer, sizes, what governs, the proof, prices; cautions last."""
    from mastcheck.cli.printing import heading, items, print_cautions, safe, title
    from mastcheck.report.display import stated
    from mastcheck.report.size import (
        cautions,
        headline,
        limits_table,
        prices,
        proof,
        remarks,
        sizes_table,
        starts,
        steps_table,
    )

    job = sized.job
    title(console, job.mast.name)
    console.print(
        safe(
            f"{stated(job.mast.length * 1e3, 'mm', units)}, rider {stated(job.rider.mass, 'kg', units)}"
        )
    )
    console.print(safe(headline(sized, units)), soft_wrap=not console.is_terminal)
    heading(console, "Sizes")
    _show(console, sizes_table(sized, units), left=1)
    if sized.best is not None:
        heading(console, "What governs" if sized.found else "What is in the way")
        _show(console, limits_table(sized, units), left=1)
        heading(console, "A step either way, one size at a time")
        _show(console, steps_table(sized, units), left=1, last_left=True)
        console.print()
        items(console, proof(sized, units))
    if sized.prices:
        heading(console, "What the demand costs, at this optimum")
        items(console, prices(sized, units))
    heading(console, "How it was found")
    said = [*starts(sized, units), *remarks(sized), *job.notes]
    if written is not None:
        said.append(f"written to {written}")
    items(console, said)
    print_cautions(console, cautions(sized))


def _show(
    console: Console, content: tuple[list[str], list[list[str]]], *, left: int, last_left: bool = False
) -> None:
    """A table whose first columns, and on demand the last, are words."""
    from mastcheck.cli.printing import safe, show, table_of

    heads, rows = content
    table = table_of(*heads[:left], **dict.fromkeys(heads[left:], 1))
    if last_left and table.columns:
        table.columns[-1].justify = "left"
    for row in rows:
        table.add_row(*(safe(cell) for cell in row))
    show(console, table)
