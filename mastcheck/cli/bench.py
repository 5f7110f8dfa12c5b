"""``mastcheck bench``: a test sheet for a mast, or its real stiffness from readings."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from mastcheck.cli.outputs import drawing_problems
from mastcheck.cli.section import PICTURES
from mastcheck.cli.show import Units
from mastcheck.errors import InputError, Problem, escaped

if TYPE_CHECKING:
    from rich.console import Console

    from mastcheck.bench.fit import BenchFit
    from mastcheck.bench.plan import Plan
    from mastcheck.bench.readings import Reading
    from mastcheck.job import Job


def bench(
    file: Path,
    readings: Path | None = None,
    /,
    *,
    plan: Annotated[bool, Parameter(negative=())] = False,
    out: Path | None = None,
    template: Path | None = None,
    write: Path | None = None,
    report: Path | None = None,
    draw: Path | None = None,
    json: Path | None = None,
    units: Units = "metric",
    allow_outside: Annotated[bool, Parameter(negative=())] = False,
    no_cache: Annotated[bool, Parameter(negative=())] = False,
) -> int:
    """Plan a bench test, or find out from its readings where the flex of a mast comes from.

    With --plan: a test sheet with set-ups, predicted readings, play and when to stop. With READINGS:
    stiffness of blade and joints, and free play, as far as the readings can tell.

    Args:
        file: The mast file (TOML).
        readings: The readings (CSV), units in the header or the cells; --template makes one to fill in.
        plan: Print a test sheet.
        out: With --plan: also write the sheet as a PDF of one page.
        template: With --plan: also write a CSV to be filled in.
        write: Also write the calibrated mast file.
        report: Also write a PDF report of the fit.
        draw: Also draw measured against predicted to this file, .png, .svg or .pdf.
        json: Also write the fit as JSON.
        units: Units of what is printed and reported. JSON keeps its own.
        allow_outside: Also read outline files that lie outside the mast file's folder.
        no_cache: Solve every section anew and keep none. Results are the same.

    Returns:
        The exit status.
    """
    outputs = {
        "--out": out, "--template": template, "--write": write, "--report": report, "--draw": draw,
        "--json": json,
    }  # fmt: skip
    job, read = _read(file, readings, plan=plan, outputs=outputs, allow_outside=allow_outside)

    from mastcheck.section.store import without

    with without(when=no_cache):
        if plan:
            return _plan(job, outputs, units)
        return _fit(job, file, readings or file, read, outputs, units)


def _read(
    file: Path,
    readings: Path | None,
    *,
    plan: bool,
    outputs: dict[str, Path | None],
    allow_outside: bool,
) -> tuple[Job, tuple[Reading, ...]]:
    """Job and readings; every fault of options and files told at once, before any computing."""
    from mastcheck.files.mastfile import load
    from mastcheck.files.readings import read_readings

    problems = [*_option_problems(readings, plan=plan, outputs=outputs)]
    problems += _output_problems(outputs, {"the mast file": file, "the readings": readings})
    job: Job | None = None
    read: tuple[Reading, ...] = ()
    try:
        job = load(file, allow_outside=allow_outside)
        problems += drawing_problems(outputs, file, job)
        if readings is not None and not plan:
            read = read_readings(readings, job.mast.length)
    except InputError as error:
        problems += error.problems
    if job is not None and outputs["--write"] is not None and job.outline_files:
        here, there = file.resolve().parent, outputs["--write"].resolve().parent
        if here != there:
            rule = "is in another folder than the mast file, which names its drawings by their place"
            problems.append(
                Problem(
                    key="--write", found=str(outputs["--write"]), rule=rule, remedy=f"write it to {here}"
                )
            )
    if problems or job is None:
        raise InputError(tuple(dict.fromkeys(problems)))
    return job, read


def _option_problems(
    readings: Path | None, *, plan: bool, outputs: dict[str, Path | None]
) -> list[Problem]:
    """Options that do not go together."""
    problems = []
    if plan and readings is not None:
        rule, remedy = "goes without readings", "leave one of the two out"
        problems.append(Problem(key="--plan", found="", rule=rule, remedy=remedy))
    if not plan and readings is None:
        rule = "needs readings to fit, or --plan for a test sheet"
        problems.append(
            Problem(key="bench", found="", rule=rule, remedy="name the CSV file, or add --plan")
        )
    for flag, path in outputs.items():
        if path is not None and (flag in ("--out", "--template")) != plan:
            rule = "goes with --plan" if not plan else "goes with readings, not with --plan"
            problems.append(Problem(key=flag, found=str(path), rule=rule, remedy="leave it out"))
    return problems


def _output_problems(outputs: dict[str, Path | None], inputs: dict[str, Path | None]) -> list[Problem]:
    """What would stop the outputs from being written."""
    from mastcheck.cli.outputs import can_hold_files, first_existing

    suffixes = {
        "--out": (".pdf",), "--report": (".pdf",), "--draw": PICTURES, "--write": (".toml",),
        "--template": (".csv",),
    }  # fmt: skip
    problems: list[Problem] = []
    taken = {path.resolve(): name for name, path in inputs.items() if path is not None}
    for flag, path in outputs.items():
        if path is None:
            continue
        rule = remedy = ""
        wanted = suffixes.get(flag, ())
        first = taken.setdefault(path.resolve(), flag)
        if path.is_dir():
            rule, remedy = "is a folder", "name a file in it"
        elif not can_hold_files(first_existing(path)):
            rule, remedy = (
                f"{first_existing(path)} is no folder that you may write to",
                "choose another place",
            )
        elif wanted and path.suffix.lower() not in wanted:
            rule, remedy = f"must end in {' or '.join(wanted)}", "rename it"
        elif first != flag:
            rule, remedy = f"is also the path of {first}", "name another"
        elif flag in ("--write", "--template") and path.exists():
            rule, remedy = "a file of this name exists", "choose another name"
        if rule:
            problems.append(Problem(key=flag, found=str(path), rule=rule, remedy=remedy))
    return problems


def _plan(job: Job, outputs: dict[str, Path | None], units: Units) -> int:
    from mastcheck.bench.plan import plan, plan_places
    from mastcheck.bench.setup import bench_model
    from mastcheck.bench.tolerance import tolerance
    from mastcheck.cli.console import console
    from mastcheck.cli.progress import Waiting

    with Waiting(1) as waiting:
        model = bench_model(job, plan_places(job.mast.length), progress=waiting.of(0))
        sheet = plan(model, tolerance(job.mast, job.scatter))
    made: list[tuple[Path, bytes]] = []
    if (path := outputs["--out"]) is not None:
        from mastcheck.report.bench_plan import plan_pdf

        made.append((path, plan_pdf(job, sheet, units=units)))
    if (path := outputs["--template"]) is not None:
        from mastcheck.report.bench_plan import plan_csv

        made.append((path, plan_csv(job, sheet).encode()))
    _write(made)
    print_plan(console(), job, sheet, units)
    return 0


def _fit(
    job: Job,
    file: Path,
    readings: Path,
    read: tuple[Reading, ...],
    outputs: dict[str, Path | None],
    units: Units,
) -> int:
    from mastcheck.bench.fit import fit
    from mastcheck.bench.setup import bench_model
    from mastcheck.cli.console import console
    from mastcheck.cli.progress import Waiting

    with Waiting(1) as waiting:
        model = bench_model(
            job, [z for r in read for z in (r.load.z, r.gauge.z)], progress=waiting.of(0)
        )
        try:
            found = fit(model, read)
        except InputError as error:
            told = [replace(p, file=str(readings)) if p.line else p for p in error.problems]
            raise InputError(tuple(told)) from None
    named = escaped(readings.name)  # a file's name may hold anything
    made: list[tuple[Path, bytes]] = []
    if (path := outputs["--write"]) is not None:
        from mastcheck.bench.calibrate import calibrated
        from mastcheck.files.calibrated import calibrated_text

        change, said = calibrated(job, found, named)
        made.append((path, calibrated_text(file, change, said).encode()))
    if (path := outputs["--report"]) is not None:
        from mastcheck.report.bench import bench_pdf

        made.append((path, bench_pdf(job, found, named, units=units)))
    if (path := outputs["--draw"]) is not None:
        from mastcheck.report.bench_figure import picture

        made.append((path, picture(found, path.suffix.lower(), units=units)))
    if (path := outputs["--json"]) is not None:
        from mastcheck.report.bench import bench_json

        made.append((path, bench_json(job, found, named).encode()))
    _write(made)
    print_fit(console(), job, found, units)
    return 0


def _write(made: list[tuple[Path, bytes]]) -> None:
    if made:
        from mastcheck.whole import write_all

        write_all(made)


def print_plan(console: Console, job: Job, sheet: Plan, units: Units) -> None:
    """The test sheet; its cautions come first, before anything is hung."""
    from mastcheck.cli.printing import CALCULATION_AID, bare, heading, items, safe, show, title
    from mastcheck.report import bench_plan as say

    title(console, f"Bench test sheet: {job.mast.name}")
    heading(console, "CAUTIONS FIRST")
    items(console, [*say.CAUTIONS, CALCULATION_AID])
    heading(console, "Clamp")
    items(console, say.CLAMP)
    for k, step in enumerate(sheet.steps, 1):
        heading(console, f"{k}. {say.TITLES[step.name]}")
        items(
            console,
            [
                f"set up: {say.setup_words(step, job.mast.taper_about, units)}",
                f"read with {say.gauge_words(step, units)}",
            ],
        )
        content = say.step_table(step, units)
        grid = bare()
        for name in content["columns"]:
            grid.add_column(name, justify="right")
        for row in content["rows"]:
            grid.add_row(*(safe(str(cell).replace("−", "-")) for cell in row))
        show(console, grid)
        console.print(safe(f"predicted {say.unit_words(step, units)} (band)"))
        items(console, [say.play_words(step, units), say.stop_words(step, units)])
    heading(console, "What the bands rest on")
    items(console, say.assumptions(sheet))


def print_fit(console: Console, job: Job, found: BenchFit, units: Units) -> None:
    """What was found, the unknowns, what is left open; cautions last."""
    from mastcheck.bench.suggest import suggestions
    from mastcheck.cli.printing import bare, heading, items, print_cautions, safe, show, title
    from mastcheck.report import bench as say
    from mastcheck.report.bench_words import unknown_row

    more = suggestions(found)
    title(console, f"Bench test: {job.mast.name}")
    heading(console, "Found")
    items(console, say.findings(found, units))
    heading(console, "Unknowns")
    grid = bare()
    for i, name in enumerate(say.UNKNOWN_COLUMNS):
        grid.add_column(name, justify="right" if 0 < i < 4 else "left")
    for u in found.unknowns:
        grid.add_row(*(safe(text.replace("−", "-")) for text in unknown_row(u, units)))
    show(console, grid)
    left = say.open_points(found, more, units)
    if left:
        heading(console, "Left open")
        items(console, left)
    heading(console, "What this rests on")
    items(console, say.basis(found, units))
    print_cautions(console, [say.AID])
