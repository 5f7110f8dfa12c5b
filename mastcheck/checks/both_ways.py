"""The governing section solved two ways, for what is written down: PDF and JSON.

Not part of a plain check: the library takes two thirds of a second to import, and a few tenths for a
section. What is tested is arithmetic, not fineness, so the section is drawn with fewer points and
meshed coarsely, for both alike.
"""

from __future__ import annotations

from dataclasses import replace

import shapely

from mastcheck.checks.compare import largest_utilisation
from mastcheck.checks.result import Comparison, MastResult, SelfCheck, Verdict
from mastcheck.errors import GeometryError
from mastcheck.section.check import check_regions
from mastcheck.section.model import Region, SectionModel

NAME = "governing section solved two ways: fast kernel against the open library"

LIMIT = 1e-6
"""Largest relative difference allowed. Measured over all constructions: 2e-10, the rounding of both;
a thousandth of what a result file's digits show."""

SHOWN = 1e-9
"""Least difference that is stated: below it is rounding, which differs from machine to machine."""

ELEMENTS = 200
"""Triangles aimed for, both ways; the contour's own panels may force more."""

REDRAWN = 1e-3
"""Share of the section's width within which its contours are redrawn with fewer points."""


def both_ways(section: SectionModel) -> SelfCheck:
    """Largest relative difference over every property and every unit stress field of a section.

    Fast kernel and open library solve the section's regions, redrawn within ``REDRAWN``, on one
    mesh, the library's, of some ``ELEMENTS`` triangles. What is compared with what is told in
    ``mastcheck.section.twoways``; warping stress (the bimoment's) the library does not know.

    Args:
        section: the section; its regions are solved anew.
    """
    from mastcheck.section.twoways import differences

    found = max(d.value for d in differences(redrawn(section.regions), ELEMENTS))
    value = found if not found <= SHOWN else SHOWN  # so that a NaN stays one, and fails
    verdict = Verdict.PASS if value <= LIMIT else Verdict.FAIL
    return SelfCheck(name=NAME, value=value, limit=LIMIT, verdict=verdict)


def redrawn(regions: tuple[Region, ...]) -> tuple[Region, ...]:
    """The regions with fewer points, their common edges still shared; as they are where that fails."""
    polygons = [r.polygon for r in regions]
    left, low, right, high = shapely.total_bounds(polygons)
    fewer = shapely.coverage_simplify(polygons, REDRAWN * max(right - left, high - low))
    out = tuple(replace(r, polygon=p) for r, p in zip(regions, fewer, strict=True))
    try:
        check_regions(out)
    except GeometryError:
        return regions
    return out


def governing_section(result: MastResult) -> SectionModel:
    """The section of the case with the greatest utilisation; the base's where none is judged."""
    judged = [c for c in result.cases if c.utilisation is not None and c.governing_station is not None]
    if not judged:
        return result.sections[0]
    worst = max(judged, key=lambda c: c.utilisation or 0.0)
    return result.sections[worst.governing_station or 0]


def with_both_ways(result: MastResult) -> MastResult:
    """The result with its governing section solved both ways, as one more self-check."""
    row = both_ways(governing_section(result))
    kept = tuple(s for s in result.self_checks if s.name != NAME)
    return replace(result, self_checks=(*kept, row))


def worst_both_ways(comparison: Comparison) -> Comparison:
    """The comparison with the governing section of its most used mast solved both ways."""
    masts = list(comparison.masts)
    worst = max(range(len(masts)), key=lambda i: largest_utilisation(masts[i]) or 0.0)
    masts[worst] = with_both_ways(masts[worst])
    return replace(comparison, masts=tuple(masts))
