"""Times of the beam. Run apart: pytest tests/benchmarks --benchmark-enable.

What a person waits for who changes the length or the rider of a mast whose sections are known.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

import mastcheck
from mastcheck.beam.solve import FrameModel
from mastcheck.checks.loads import tip_load
from mastcheck.checks.stations import solve_stations
from mastcheck.job import Job

PROFILES = Path(__file__).parents[2] / "profiles"
NAMES = ("aluminium-75-wide", "aluminium-75-tapered", "carbon-75-layup")


@pytest.fixture(params=NAMES)
def job(request) -> Job:
    return mastcheck.load(PROFILES / f"{request.param}.toml")


def test_frame(benchmark, job: Job) -> None:
    solved = solve_stations(job.mast)
    benchmark(lambda: FrameModel(solved.model, keep=[float(z) for z in solved.z]))


def test_second_order_of_all_cases(benchmark, job: Job) -> None:
    frame = FrameModel(solve_stations(job.mast).model)
    loads = [tip_load(job, case) for case in job.cases]
    benchmark(lambda: frame.solve(loads))


def warm(benchmark, job: Job, change: Callable[[Job, int], Job]) -> None:
    """Checks of a job that is changed anew each time, after a first one."""
    mastcheck.check(job)
    count = itertools.count(1)
    benchmark.pedantic(
        mastcheck.check, setup=lambda: ((change(job, next(count)),), {}), rounds=12, warmup_rounds=2
    )


def test_check_at_a_new_length(benchmark, job: Job) -> None:
    length = job.mast.length
    warm(
        benchmark,
        job,
        lambda j, k: replace(j, mast=j.mast.with_length(length * (1 + 0.002 * k))),
    )


def test_check_of_a_new_rider(benchmark, job: Job) -> None:
    warm(benchmark, job, lambda j, k: replace(j, rider=replace(j.rider, mass=j.rider.mass - 0.5 * k)))
