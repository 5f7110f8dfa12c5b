"""Times of what a person waits for. Run apart: pytest tests/benchmarks --benchmark-enable."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import mastcheck

MAST = Path(__file__).parents[2] / "profiles" / "aluminium-75-wide.toml"


def test_cold_help(benchmark) -> None:
    command = [sys.executable, "-m", "mastcheck", "--help"]
    benchmark(lambda: subprocess.run(command, check=True, capture_output=True))


def test_cold_check(benchmark) -> None:
    command = [sys.executable, "-m", "mastcheck", "check", str(MAST)]
    benchmark.pedantic(lambda: subprocess.run(command, check=False, capture_output=True), rounds=3)


def test_section_solve(benchmark) -> None:
    from mastcheck.section.regions import regions_at
    from mastcheck.section.solve import solve_section

    mast = mastcheck.load(MAST).mast
    benchmark.pedantic(lambda: solve_section(regions_at(mast, 0.5)), rounds=5, warmup_rounds=1)


def test_section_solve_by_the_library(benchmark) -> None:
    """The ratio to the test before it is what our own solver saves."""
    from mastcheck.section.regions import regions_at
    from mastcheck.section.solve import solve_section

    regions = regions_at(mastcheck.load(MAST).mast, 0.5)
    benchmark.pedantic(lambda: solve_section(regions, solver="library"), rounds=5, warmup_rounds=1)


def test_second_order_of_all_cases(benchmark) -> None:
    from mastcheck.beam.solve import FrameModel
    from mastcheck.checks.loads import tip_load
    from mastcheck.checks.stations import solve_stations

    job = mastcheck.load(MAST)
    frame = FrameModel(solve_stations(job.mast).model)
    loads = [tip_load(job, case) for case in job.cases]
    benchmark.pedantic(lambda: frame.solve(loads), rounds=5, warmup_rounds=1)


def test_check(benchmark) -> None:
    job = mastcheck.load(MAST)
    benchmark.pedantic(lambda: mastcheck.check(job), rounds=3, warmup_rounds=1)
