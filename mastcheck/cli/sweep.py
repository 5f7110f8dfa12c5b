"""``mastcheck sweep``: every combination of sizes, lengths and riders, and the best of them."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from mastcheck.cli.outputs import drawing_problems
from mastcheck.cli.section import output_problems
from mastcheck.cli.show import Units
from mastcheck.errors import InputError, Problem

if TYPE_CHECKING:
    from mastcheck.files.sweep_journal import Journal
    from mastcheck.search.executors import Executor
    from mastcheck.search.plan import Plan
    from mastcheck.search.rows import Row
    from mastcheck.search.sweep import Judged

FAULTS, INTERRUPTED = 1, 130
MOST_WORKERS = 1024
MOST_SHOWN = 20
"""Most designs of the front in the printed table."""

_Values = Annotated[str | None, Parameter(allow_leading_hyphen=True)]
_Repeated = Parameter(negative=(), consume_multiple=False, show_default=False)


def sweep(
    file: Path,
    /,
    *,
    vary: Annotated[tuple[str, ...], _Repeated] = (),
    length: _Values = None,
    rider: _Values = None,
    case: Annotated[tuple[str, ...], _Repeated] = (),
    out: Path | None = None,
    table: Path | None = None,
    draw: Path | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    units: Units = "metric",
    allow_outside: Annotated[bool, Parameter(negative=())] = False,
    no_cache: Annotated[bool, Parameter(negative=())] = False,
) -> int:
    """Check every combination of sizes, lengths and riders, and mark those that none other beats.

    Ctrl-C stops it; the same command goes on from there.

    Args:
        file: The mast file (TOML).
        vary: What to vary: "wall=2mm:3.5mm:4" for four values, "wall=2mm,3mm" for those two.
            May be repeated. Keys: chord, base_chord, tip_chord, the same of thickness and wall,
            layup, ply_N_thickness, ply_N_angle.
        length: Lengths, in the same way: "65cm:95cm:7". A taper stretches.
        rider: Riders, in the same way: "70kg:100kg:4".
        case: Only this load case. May be repeated.
        out: The table of all designs, CSV; by default FILE's name with -sweep.csv, in this folder.
        table: The same table as Parquet; by default beside the CSV where polars is installed.
        draw: Also draw mass against twist and side deflection to this file, .png, .svg or .pdf.
        workers: Processes on this machine; by default one for each core.
        cluster: Work on this Dask cluster instead: the scheduler's address, "tcp://10.0.0.5:8786".
        units: Units of the printed table and the picture. CSV and Parquet keep theirs.
        allow_outside: Also read outline files that lie outside the mast file's folder.
        no_cache: Solve every section anew and keep none. Results are the same.

    Returns:
        The exit status: 0 when the sweep is whole, whatever its designs are worth; 1 when the program
        failed at some of them.
    """
    out = out or Path(f"{file.stem}-sweep.csv")
    outputs = {"--out": out, "--table": table, "--draw": draw}
    plan = _plan(file, vary, length, rider, case, outputs, workers, cluster, allow_outside=allow_outside)

    from mastcheck.cli.console import console
    from mastcheck.cli.sweep_tables import counted, print_sweep
    from mastcheck.files.sweep_journal import Journal
    from mastcheck.files.sweep_table import can_write_parquet, write_csv, write_parquet
    from mastcheck.search.sweep import judge
    from mastcheck.whole import together

    shown = console()
    with Journal(out, plan) as journal:
        counted(shown, plan, journal)
        sys.stdout.flush()
        try:
            _solve(plan, journal, _executor(workers, cluster, cached=not no_cache))
        except KeyboardInterrupt:
            _say(
                f"stopped: {journal.solved} of {plan.count} designs are done, and kept in"
                f" {journal.path}; the same command goes on from there"
            )
            return INTERRUPTED
        judged = judge(plan, journal.rows())
        best: dict[int, Row] = {}
        rows = _noting(journal.rows(), _chosen(judged), best)
        written = [out]
        with together() as files:
            files.write(out, lambda file: write_csv(file, judged, rows))
            if table is not None or can_write_parquet():
                written.append(table or out.with_suffix(".parquet"))
                files.write(written[-1], lambda file: write_parquet(file, judged, journal.rows()))
            if draw is not None:
                from mastcheck.report.front_figure import picture

                files.put(draw, picture(judged, draw.suffix.lower(), units=units))
                written.append(draw)
        if not judged.faults:
            journal.remove()
    print_sweep(shown, judged, best, written, units)
    return FAULTS if judged.faults else 0


def _plan(
    file: Path,
    vary: tuple[str, ...],
    length: str | None,
    rider: str | None,
    cases: tuple[str, ...],
    outputs: dict[str, Path | None],
    workers: int | None,
    cluster: str | None,
    *,
    allow_outside: bool,
) -> Plan:
    """What to sweep; every fault of options and file told at once, before any computing.

    Raises:
        InputError: with all of them.
    """
    from mastcheck.cli.vary import read_variables
    from mastcheck.files.mastfile import apply, load
    from mastcheck.files.sweep_table import can_write_parquet, without_polars
    from mastcheck.search.plan import plan_of

    problems = output_problems(outputs, file)
    variables = read_variables(vary, (("length", length), ("rider", rider)), problems)
    table = outputs["--table"]
    if table is not None and not can_write_parquet():
        problems.append(without_polars(table))
    if workers is not None and not 1 <= workers <= MOST_WORKERS:
        rule, remedy = f"must be from 1 to {MOST_WORKERS}", "leave it out for one on each core"
        problems.append(Problem(key="--workers", found=str(workers), rule=rule, remedy=remedy))
    if workers is not None and cluster is not None:
        remedy = "leave one of them out: workers of a cluster are started where they run"
        problems.append(
            Problem(
                key="--workers", found=str(workers), rule="does not go with --cluster", remedy=remedy
            )
        )
    if not (vary or length or rider):
        rule, remedy = "nothing is varied", "write --vary wall=2mm:3.5mm:4 for four walls"
        problems.append(Problem(key="--vary", found="", rule=rule, remedy=remedy))
    job = None
    try:
        job = apply(load(file, allow_outside=allow_outside), cases=cases)
        problems += drawing_problems(outputs, file, job)
    except InputError as error:
        problems += error.problems
    if job is not None and variables:
        try:
            plan = plan_of(job, variables)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(tuple(dict.fromkeys(problems)))
    return plan


def _executor(workers: int | None, cluster: str | None, *, cached: bool) -> Executor:
    if cluster is not None:
        import logging

        from mastcheck.search.cluster import Cluster

        # What matters of a lost scheduler or worker is told in a line of our own.
        logging.disable(logging.ERROR)
        return Cluster(cluster, cached=cached)
    from mastcheck.search.executors import Local

    return Local(workers, cached=cached)


def _solve(plan: Plan, journal: Journal, executor: Executor) -> None:
    """Solve what is not in the journal, each batch into it as it comes."""
    from mastcheck.cli.pace import Pace
    from mastcheck.search.sweep import stream

    with Pace(plan.count, journal.solved) as pace:
        for solved in stream(plan, executor, journal.done):
            journal.add(solved)
            pace.tell(journal.solved)


def _chosen(judged: Judged) -> list[int]:
    """The designs of the front that are printed, by length and rider, then by mass; evenly of many."""
    import numpy as np

    on = np.flatnonzero(judged.front)
    order = np.lexsort((judged.values[on, 0], judged.groups[on]))
    ranked = on[order]
    if len(ranked) > MOST_SHOWN:
        ranked = ranked[np.linspace(0, len(ranked) - 1, MOST_SHOWN).round().astype(int)]
    return [int(i) for i in ranked]


def _noting(rows: Iterable[Row], wanted: Iterable[int], into: dict[int, Row]) -> Iterator[Row]:
    """The rows, those wanted noted on the way, in the order they are wanted."""
    into.update(dict.fromkeys(wanted, ()))
    for number, row in enumerate(rows):
        if number in into:
            into[number] = row
        yield row


def _say(words: str) -> None:
    from mastcheck.cli.text import one_line

    print(f"mastcheck: {one_line(words)}", file=sys.stderr)
