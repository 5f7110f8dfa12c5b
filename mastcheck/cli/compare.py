"""``mastcheck compare``: masts side by side, with ratios to the first."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from mastcheck.cli.options import Options, exit_status, read_jobs
from mastcheck.cli.outputs import drawing, write_outputs
from mastcheck.cli.tolerance_options import ToleranceOptions, refuse_faults, with_tolerances
from mastcheck.errors import InputError, Problem


def compare(
    first: Annotated[Path, Parameter(name="FILE")],
    /,
    *others: Annotated[Path, Parameter(name="FILE")],
    tolerance: ToleranceOptions | None = None,
    options: Options | None = None,
) -> int:
    """Compare masts: the first is the measure, each other is given as a ratio to it.

    Args:
        first: The mast file (TOML) that the others are measured against.
        others: One or more further mast files.
        tolerance: What sizes, materials and load scatter.
        options: Shared options.

    Returns:
        The exit status.
    """
    options = options or Options()
    if not others:
        raise InputError(
            (
                Problem(
                    key="compare",
                    found=str(first),
                    rule="needs two or more mast files",
                    remedy="add one",
                ),
            )
        )
    tolerance = tolerance or ToleranceOptions()
    jobs = read_jobs([first, *others], options)
    refuse_faults(tolerance, jobs)

    from mastcheck.checks.compare import compare as set_side_by_side
    from mastcheck.checks.run import check
    from mastcheck.cli.console import console
    from mastcheck.cli.progress import Waiting
    from mastcheck.cli.tables import print_comparison
    from mastcheck.section.store import without

    with without(when=options.no_cache), drawing(options) as beside, Waiting(len(jobs)) as waiting:
        results = [
            with_tolerances(check(job, progress=waiting.of(i)), tolerance, waiting.of(i))
            for i, job in enumerate(jobs)
        ]
        comparison = set_side_by_side(results)
        comparison = write_outputs(comparison, options, beside)
    print_comparison(console(), comparison, options.units)
    return exit_status(comparison)
