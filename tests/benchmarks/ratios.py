"""How many times faster: each ratio measured in one run. ``python -m tests.benchmarks.ratios``.

Both sides of a ratio run on one machine within seconds of each other; times are the best of a few. Add a
row by a function that returns a ``Ratio``, and name it in ``ROWS``.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray
from sectionproperties.analysis.section import Section
from sectionproperties.pre.geometry import Geometry
from sectionproperties.pre.pre import Material
from shapely import affinity

from mastcheck.section.elements import Mesh
from mastcheck.section.kernel import Solution, solve_mesh, stress_basis
from mastcheck.section.library import library_section
from mastcheck.section.model import StressBasis
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import solve_section
from tests.masts import mast

SIZES = (400, 1000, 3000)
CASES = 1000
TRIED = 4
"""Load cases that the library is really called for; the rest is extrapolated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratio:
    """A row: what was compared, and the seconds of both."""

    what: str
    slow: float
    fast: float


def best(run: Callable[[], object], times: int = 3) -> float:
    """Least time of a few runs [s]."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        found.append(time.perf_counter() - start)
    return min(found)


def meshed(elements: int) -> Geometry:
    """A hollow blade of 150 mm, in widths, with the library's mesh of about so many triangles.

    Its panels are few enough not to force a finer one.
    """
    polygon = regions_at(mast(wall=0.0025), 0.0, panels=30)[0].polygon
    left, _, right, _ = polygon.bounds
    scale = 1 / (right - left)
    scaled = affinity.scale(polygon, scale, scale, origin=(0, 0))
    geometry = Geometry(scaled, Material("one", 1.0, 0.0, 1.0, 1.0, "w"))
    size = scaled.area / elements
    for _ in range(6):  # by the count that the last size gave
        geometry.create_mesh(mesh_sizes=[size], min_angle=25.0)
        size *= len(geometry.mesh["triangles"]) / elements
    return geometry


def by_library(geometry: Geometry) -> tuple[Section, object]:
    """Every property and all six unit stress fields by the library."""
    section = solved_by_library(geometry)
    return section, section.calculate_stress(n=1, vx=1, vy=1, mxx=1, myy=1, mzz=1)


def solved_by_library(geometry: Geometry) -> Section:
    """Every property by the library."""
    section = Section(geometry)
    section.calculate_geometric_properties()
    section.calculate_warping_properties(solver_type="direct")
    return section


def by_kernel(mesh: Mesh) -> tuple[Solution, StressBasis]:
    """The same by the kernel."""
    solution = solve_mesh(mesh)
    return solution, stress_basis(solution)


def as_mesh(geometry: Geometry) -> Mesh:
    """The library's mesh as ours."""
    section = Section(geometry)
    triangles = np.asarray(section.mesh_elements, dtype=np.int64)
    one = np.ones(len(triangles))
    return Mesh(
        nodes=np.asarray(section.mesh_nodes),
        triangles=triangles,
        region=np.zeros(len(triangles), dtype=np.int64),
        E=one,
        G=one / 2,
    )


def cases(basis: StressBasis, resultants: NDArray[np.float64]) -> NDArray[np.float64]:
    """Stress fields (cases, n, 3) of resultants (cases, 6): weighted sums of unit fields."""
    unit = basis.fields[:6]
    return (resultants @ unit.reshape(6, -1)).reshape(len(resultants), -1, 3)


def random_resultants() -> NDArray[np.float64]:
    """(cases, 6), repeatable."""
    return np.random.default_rng(1).normal(size=(CASES, 6))


def section_kernel(elements: int) -> Ratio:
    """Every property and all six unit stress fields on one mesh."""
    geometry = meshed(elements)
    mesh = as_mesh(geometry)
    return Ratio(
        what=f"section, {len(mesh.triangles):,} triangles: every property and six unit stress fields,"
        " library to kernel",
        slow=best(partial(by_library, geometry)),
        fast=best(partial(by_kernel, mesh), 9),
    )


def whole_section() -> Ratio:
    """From regions to everything, mesh included, at the fineness a check takes by itself."""
    regions = regions_at(mast(wall=0.0025), 0.0)
    solved = solve_section(regions)

    def library() -> None:
        library_section(regions)

    return Ratio(
        what=f"whole hollow section, {solved.elements:,} triangles, with meshing: library to kernel",
        slow=best(library),
        fast=best(partial(solve_section, regions), 9),
    )


def load_cases() -> Ratio:
    """Full stress fields of many cases on one section."""
    geometry = meshed(1000)
    resultants = random_resultants()
    section = solved_by_library(geometry)
    basis = stress_basis(solve_mesh(as_mesh(geometry)))

    def call() -> None:
        for n, vx, vy, mxx, myy, mzz in resultants[:TRIED].tolist():
            section.calculate_stress(n=n, vx=vx, vy=vy, mxx=mxx, myy=myy, mzz=mzz)

    return Ratio(
        what=f"{CASES:,} load cases, full stress fields: library called for each ({TRIED} measured, the"
        " rest extrapolated) to weighted sums of unit fields",
        slow=best(call, 1) * CASES / TRIED,
        fast=best(partial(cases, basis, resultants)),
    )


ROWS: tuple[Callable[[], Ratio], ...] = (
    *(partial(section_kernel, elements) for elements in SIZES),
    whole_section,
    load_cases,
)


def table(ratios: list[Ratio]) -> str:
    """Rows as a Markdown table."""
    lines = ["| what | slow | fast | ratio |", "| --- | ---: | ---: | ---: |"]
    lines += [
        f"| {r.what} | {r.slow * 1e3:,.0f} ms | {r.fast * 1e3:,.1f} ms | {r.slow / r.fast:,.0f} |"
        for r in ratios
    ]
    return "\n".join(lines)


def every_row() -> list[Callable[[], Ratio]]:
    """Rows of this file and of the others, which import it."""
    from tests.benchmarks import test_sweep_throughput

    return [*ROWS, *test_sweep_throughput.ROWS]


if __name__ == "__main__":
    print(table([row() for row in every_row()]))
