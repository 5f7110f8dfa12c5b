"""The fast solver against the open section library."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import mastcheck
from mastcheck.checks.both_ways import (
    NAME,
    both_ways,
    governing_section,
    redrawn,
    with_both_ways,
)
from mastcheck.checks.result import Verdict
from mastcheck.mast import Construction, Web
from mastcheck.material import Material
from mastcheck.section import kernel
from mastcheck.section.elements import D, slopes
from mastcheck.section.kernel import solve_mesh
from mastcheck.section.library import library_warping
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import solve_section
from mastcheck.source import PRACTICE
from tests.masts import mast

PROFILES = Path(__file__).parents[2] / "profiles"
FOAM = Material(name="foam", E=80e6, G=30e6, density=80.0, source=PRACTICE)


def made(kind):
    if kind == "solid":
        return mast()
    hollow = mast(wall=0.0025)
    if kind == "hollow":
        return hollow
    webs = (Web(at=0.3, thickness=0.0025), Web(at=0.6, thickness=0.002, lean=0.3))
    if kind == "webs":
        return replace(hollow, section=replace(hollow.section, webs=webs))
    filled = replace(hollow.section, construction=Construction.SHELL_AND_CORE, core=FOAM, webs=webs)
    return replace(hollow, section=filled)


KINDS = ("solid", "hollow", "webs", "core")


@pytest.mark.parametrize("kind", KINDS)
def test_torsion_is_the_library_s_on_its_own_triangles(kind):
    # On one mesh the rest is algebra: GJ, and the shear strain of a unit twist rate at every Gauss
    # point (which does not depend on the pole), by the library and here.
    regions = regions_at(made(kind), 0.0)
    mesh, torsion = library_warping(regions)
    mine = solve_mesh(mesh)
    gauss = mine.gauss
    assert pytest.approx(mine.GJ, rel=1e-8) == torsion.GJ
    strains = []
    for w, (px, py) in ((torsion.omega, torsion.pole), (mine.omega, mine.pole)):
        by_x, by_y = slopes(mesh, gauss, w[:, None])
        strains.append(np.stack([by_x[0] - (gauss.y - py), by_y[0] + gauss.x - px], axis=-1))
    assert np.abs(strains[1] - strains[0]).max() < 1e-8 * np.abs(strains[0]).max()


@pytest.mark.parametrize("kind", KINDS)
def test_whole_sections_agree_on_meshes_of_one_fineness(kind):
    # The library hands the mesher the same points in another order, so some triangles differ: as much
    # as two meshes of one fineness may.
    regions = regions_at(made(kind), 0.0)
    p, q = (solve_section(regions, solver=solver).properties for solver in ("fast", "library"))
    for name in ("EA", "EIxx", "EIyy", "area", "mass_per_length", "centroid_x"):
        assert getattr(p, name) == pytest.approx(getattr(q, name), rel=1e-9), name
    for name in ("GJ", "shear_flex_xx", "shear_flex_yy", "shear_centre_x"):
        assert getattr(p, name) == pytest.approx(getattr(q, name), rel=2e-5), name
    # Thin walls' warping needs three times these triangles for 0.5 %: between two meshes, a fifth of it.
    assert p.EGamma == pytest.approx(q.EGamma, rel=1e-3)


@pytest.mark.parametrize("kind", KINDS)
def test_redrawn_is_the_same_section_with_fewer_points(kind):
    regions = regions_at(made(kind), 0.0)
    fewer = redrawn(regions)
    for a, b in zip(regions, fewer, strict=True):
        assert shapely.get_num_coordinates(b.polygon) < 0.6 * shapely.get_num_coordinates(a.polygon)
        assert a.polygon.hausdorff_distance(b.polygon) < 2e-3 * 0.150
        assert a.material is b.material


@pytest.mark.parametrize("kind", ["hollow", "core"])
def test_the_governing_section_is_solved_both_ways(kind):
    row = both_ways(solve_section(regions_at(made(kind), 0.0)))
    assert row.name == NAME
    assert 0 < row.value < 1e-8
    assert row.verdict is Verdict.PASS


def test_a_kernel_that_errs_is_found(monkeypatch):
    # The self-check can fail: a slope of one shape function is a thousandth off at one Gauss point.
    wrong = D.copy()
    wrong[0, 0, 0] *= 1 + 1e-3
    monkeypatch.setattr(kernel, "D", wrong)
    row = both_ways(solve_section(regions_at(made("hollow"), 0.0)))
    assert row.verdict is Verdict.FAIL


def test_a_result_gets_the_row_once_for_the_case_that_governs():
    job = mastcheck.load(PROFILES / "aluminium-75-uniform-slim.toml")
    result = mastcheck.check(job)
    again = with_both_ways(with_both_ways(result))
    assert [s.name for s in again.self_checks].count(NAME) == 1
    assert again.self_checks[:-1] == result.self_checks
    worst = max((c for c in result.cases if c.utilisation), key=lambda c: c.utilisation)
    assert governing_section(result) is result.sections[worst.governing_station]
    bare = replace(result, cases=())
    assert governing_section(bare) is result.sections[0]
