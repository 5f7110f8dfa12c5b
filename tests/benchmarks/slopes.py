"""How cost grows with stations, load cases and elements: the slope of time on logarithmic scales.

``python -m tests.benchmarks.slopes`` prints a table; a slope of 1 is in proportion.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from time import perf_counter

import numpy as np

from mastcheck.checks.run import check
from mastcheck.job import Job
from mastcheck.loadcase import STANDARD_CASES
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import solve_section
from tests.masts import mast

HOLLOW = mast((0.140, 0.018), (0.105, 0.015), wall=0.003)


def best(work: Callable[[], object], times: int = 3) -> float:
    """Least of several times [s]."""
    out = []
    for _ in range(times):
        start = perf_counter()
        work()
        out.append(perf_counter() - start)
    return min(out)


def by_elements(elements: int) -> float:
    """One section at a fineness."""
    regions = regions_at(HOLLOW, 0.0)
    return best(lambda: solve_section(regions, elements=elements), 5)


def by_cases(cases: int) -> float:
    """A warm check under many load cases."""
    cruise = STANDARD_CASES[0]
    many = tuple(replace(cruise, name=f"cruise {i}", offset=0.05 + 1e-4 * i) for i in range(cases))
    job = Job(mast=HOLLOW, cases=many)
    check(job)
    return best(lambda: check(job))


def by_stations(stations: int) -> float:
    """A check of a mast with many stations, every section new."""
    first, last = HOLLOW.stations
    at = np.linspace(0, 1, stations)
    made = tuple(
        replace(
            first,
            at=float(a),
            chord=float(first.chord + a**1.5 * (last.chord - first.chord)),
            thickness=float(first.thickness + a * (last.thickness - first.thickness)),
        )
        for a in at
    )
    job = Job(mast=replace(HOLLOW, stations=made))
    return best(lambda: check(job, cache=False), 1)


ROWS: tuple[tuple[str, Callable[[int], float], Sequence[int]], ...] = (
    ("elements of a section", by_elements, (400, 1000, 3000, 9000)),
    ("load cases of a warm check", by_cases, (6, 24, 96)),
    ("stations of a mast, nothing kept", by_stations, (3, 6, 12)),
)


def main() -> None:
    """Print the table."""
    print("| by | numbers | times [ms] | slope |")
    print("| --- | --- | --- | ---: |")
    for words, work, numbers in ROWS:
        times = [work(n) for n in numbers]
        slope = float(np.polyfit(np.log(numbers), np.log(times), 1)[0])
        shown = ", ".join(f"{1e3 * t:.3g}" for t in times)
        print(f"| {words} | {', '.join(map(str, numbers))} | {shown} | {slope:.2f} |")


if __name__ == "__main__":
    main()
