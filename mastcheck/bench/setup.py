"""A job put on the bench."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from mastcheck.bench.model import BenchModel
from mastcheck.checks.stations import solve_stations
from mastcheck.errors import GeometryError
from mastcheck.job import Job
from mastcheck.joints.chain import base_compliance, tip_compliance_of

FRACTIONS = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0)
"""Places, as fractions of the length, where further readings are looked into."""


def bench_model(
    job: Job, places: Iterable[float] = (), *, progress: Callable[[str, float], None] | None = None
) -> BenchModel:
    """The mast of a job with its joints as the file describes them, base plate on the bench.

    Args:
        job: the mast; rider and load cases play no part.
        places: z of loads and gauges [m]; FRACTIONS come with them.
        progress: as in ``solve_stations``.

    Raises: GeometryError when a section cannot be built.
    """
    try:
        solved = solve_stations(job.mast, progress)
    except GeometryError as fault:
        raise GeometryError(f"{job.file or job.mast.name}: section: {fault}") from fault
    length = solved.model.length
    joints = job.joints
    return BenchModel(
        solved,
        [*places, *(f * length for f in FRACTIONS)],
        base=base_compliance(joints),
        tip=tip_compliance_of(joints.tip),
    )
