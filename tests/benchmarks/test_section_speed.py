"""Times of one section. Run apart: pytest tests/benchmarks --benchmark-enable.

The library runs on the same mesh; ``python -m tests.benchmarks.ratios`` prints the ratios of one run.
"""

from __future__ import annotations

import pytest

from mastcheck.section.kernel import solve_mesh, stress_basis
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import solve_section
from tests.benchmarks import ratios
from tests.masts import mast


@pytest.mark.parametrize("elements", ratios.SIZES)
def test_kernel(benchmark, elements) -> None:
    mesh = ratios.as_mesh(ratios.meshed(elements))
    benchmark(lambda: ratios.by_kernel(mesh))


@pytest.mark.parametrize("elements", ratios.SIZES)
def test_library(benchmark, elements) -> None:
    geometry = ratios.meshed(elements)
    benchmark.pedantic(lambda: ratios.by_library(geometry), rounds=3)


def test_thousand_load_cases(benchmark) -> None:
    basis = stress_basis(solve_mesh(ratios.as_mesh(ratios.meshed(1000))))
    resultants = ratios.random_resultants()
    benchmark(lambda: ratios.cases(basis, resultants))


def test_one_load_case_by_the_library(benchmark) -> None:
    section = ratios.solved_by_library(ratios.meshed(1000))
    benchmark.pedantic(lambda: section.calculate_stress(n=1, vx=2, vy=3, mxx=4, myy=5, mzz=6), rounds=3)


@pytest.mark.parametrize("wall", [None, 0.0025], ids=["solid", "hollow"])
def test_contour(benchmark, wall) -> None:
    blade = mast(wall=wall)
    benchmark(lambda: regions_at(blade, 0.5))


@pytest.mark.parametrize("end", [False, True], ids=["plain", "fixed-end"])
def test_whole_section(benchmark, end) -> None:
    regions = regions_at(mast(wall=0.0025), 0.5)
    benchmark(lambda: solve_section(regions, end=end))
