"""``mastcheck check``: one mast, judged."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from mastcheck.cli.options import Options, exit_status, read_jobs
from mastcheck.cli.outputs import drawing, write_outputs
from mastcheck.cli.tolerance_options import ToleranceOptions, refuse_faults, with_tolerances


def check(
    file: Path,
    /,
    *,
    sensitivity: Annotated[bool, Parameter(negative=())] = False,
    tolerance: ToleranceOptions | None = None,
    options: Options | None = None,
) -> int:
    """Check one mast: stiffness, each load case, limits, cautions.

    Args:
        file: The mast file (TOML).
        sensitivity: Also say what a millimetre of each size, 10 mm of length and 1 % of E and G buy.
            Takes a few seconds more.
        tolerance: What sizes, materials and load scatter.
        options: Shared options.

    Returns:
        The exit status.
    """
    options = options or Options()
    tolerance = tolerance or ToleranceOptions()
    (job,) = read_jobs([file], options)
    refuse_faults(tolerance, [job])

    from mastcheck.checks.compare import compare
    from mastcheck.checks.run import check as run_check
    from mastcheck.cli.console import console
    from mastcheck.cli.progress import Waiting
    from mastcheck.cli.tables import print_check
    from mastcheck.section.store import without

    with without(when=options.no_cache), drawing(options) as beside, Waiting(1) as waiting:
        result = run_check(job, progress=waiting.of(0))
        if sensitivity:
            from mastcheck.checks.sensitivity import sensitivity as rates

            result = replace(result, sensitivity=rates(result, progress=waiting.of(0)))
        result = with_tolerances(result, tolerance, waiting.of(0))
        comparison = compare([result])
        comparison = write_outputs(comparison, options, beside)
    print_check(console(), comparison.masts[0], options.units)
    return exit_status(comparison)
