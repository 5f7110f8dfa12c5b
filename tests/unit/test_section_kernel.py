"""Pieces of the fast kernel: two factorisations, symmetry found or not, a moved contour's distance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree
from shapely import affinity

from mastcheck.mast import Construction, Wall, Web
from mastcheck.section import factor, taper
from mastcheck.section.elements import slopes
from mastcheck.section.ends import end_correction
from mastcheck.section.kernel import solve_mesh
from mastcheck.section.mesher import mesh_of
from mastcheck.section.mirror import mirrored
from mastcheck.section.model import Region
from mastcheck.section.near import near_pairs
from mastcheck.section.regions import regions_at
from tests.masts import ALUMINIUM, mast

FOAM = replace(ALUMINIUM, name="foam", E=80e6, G=30e6)


def sections():
    hollow = mast(wall=0.0025)
    web = (Web(at=0.4, thickness=0.0025),)
    lean = (Web(at=0.4, thickness=0.0025, lean=0.3),)
    uneven = Wall(port=((0.2, 0.002), (0.8, 0.0021)), starboard=((0.2, 0.002), (0.8, 0.002)))
    core = replace(hollow.section, construction=Construction.SHELL_AND_CORE, core=FOAM, webs=web)
    return {
        "solid": (mast(), True),
        "hollow": (hollow, True),
        "web": (replace(hollow, section=replace(hollow.section, webs=web)), True),
        "core": (replace(hollow, section=core), True),
        "leaning web": (replace(hollow, section=replace(hollow.section, webs=lean)), False),
        "a wall a tenth of a millimetre thicker to port": (
            replace(hollow, stations=tuple(replace(s, wall=uneven) for s in hollow.stations)),
            False,
        ),
    }


@pytest.mark.parametrize("name", sections())
def test_symmetry_is_found_where_it_is(name):
    blade, even = sections()[name]
    assert mirrored(regions_at(blade, 0.3)) is even


def test_a_section_beside_its_axis_is_not_symmetric():
    (one,) = regions_at(mast(), 0.0)
    assert not mirrored((replace(one, polygon=affinity.translate(one.polygon, 0.0, 1e-4)),))


def test_corners_may_be_symmetric_and_edges_not():
    # A rib through the middle from corner to corner: its points are their own image, it is not.
    square = [(0, -1), (2, -1), (2, 1), (0, 1)]
    halves = [shapely.Polygon([square[i] for i in three]) for three in ((0, 1, 2), (0, 2, 3))]
    of_two = tuple(Region(polygon=p, material=m) for p, m in zip(halves, (ALUMINIUM, FOAM), strict=True))
    assert not mirrored(of_two)
    assert mirrored((Region(polygon=shapely.Polygon(square), material=FOAM),))


@pytest.mark.parametrize("name", ["solid", "hollow", "core"])
def test_half_of_the_displacements_do_for_twist(name):
    # The whole space, on a mesh that is not symmetric itself, is the second way.
    blade, _ = sections()[name]
    solved = solve_mesh(mesh_of(regions_at(blade, 0.0)))
    whole, half = (end_correction(solved, symmetric=even) for even in (False, True))
    scale = abs(whole[5, 5])
    arm = 0.15
    assert half[5, 5] == pytest.approx(whole[5, 5], rel=2e-4)
    for i, unit in ((1, arm), (3, 1.0), (0, arm), (2, arm), (4, 1.0)):
        assert half[5, i] == pytest.approx(whole[5, i], abs=2e-4 * scale * unit), i
    assert not half[5, [0, 2, 4]].any()  # as in truth


@pytest.mark.parametrize("name", ["solid", "core"])
def test_both_factorisations_agree(name, monkeypatch):
    blade, _ = sections()[name]
    mesh = mesh_of(regions_at(blade, 0.3))
    banded = solve_mesh(mesh)
    monkeypatch.setattr(factor, "WIDEST", 0)
    sparse = solve_mesh(mesh)
    assert pytest.approx(banded.GJ, rel=1e-12) == sparse.GJ
    for a, b in ((banded.flow, sparse.flow), (banded.omega[:, None], sparse.omega[:, None])):
        for left, right in zip(
            slopes(mesh, banded.gauss, a), slopes(mesh, banded.gauss, b), strict=True
        ):
            assert np.abs(right - left).max() < 1e-9 * np.abs(left).max()


def test_the_order_by_cuthill_and_mckee_is_taken_where_it_is_better(monkeypatch):
    # Eight thin fins side by side, all as long as the chord: along it the band is wide.
    comb = shapely.union_all(
        [
            shapely.box(0, 0, 0.002, 0.1),
            *(shapely.box(0, y, 0.1, y + 0.002) for y in np.linspace(0, 0.098, 8)),
        ]
    )
    mesh = mesh_of((Region(polygon=comb, material=ALUMINIUM),))
    _, width = factor._order(mesh.nodes, mesh.triangles)
    by_chord = factor._bandwidth(factor._ranked(mesh.nodes[:, 0]), mesh.triangles)
    assert width <= by_chord
    solved = solve_mesh(mesh)
    monkeypatch.setattr(factor, "GOOD", 10**6)
    assert pytest.approx(solved.GJ, rel=1e-10) == solve_mesh(mesh).GJ


@pytest.mark.parametrize("move", [1e-5, 1e-4, 5e-3])
def test_a_moved_contour_is_as_far_as_the_geometry_library_says(move):
    # The last one lies beyond the reach of the quick way.
    (one,) = regions_at(mast(wall=0.0025), 0.2)
    there = affinity.scale(one.polygon, 1 + move / 0.06, 1 + move / 0.01)
    solved = mesh_of((one,))
    nodes, _ = taper._contour(solved, np.ones(len(solved.triangles), dtype=bool))
    p = solved.nodes[nodes]
    found = np.abs(taper._outward(p, [there]))
    assert found == pytest.approx(shapely.distance(shapely.points(p), there.boundary), abs=1e-15)


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seed=st.integers(0, 10**6), spacing=st.floats(1e-3, 0.2), grid=st.booleans())
def test_near_pairs_are_a_tree_s(seed, spacing, grid):
    # Second way: scipy's k-d tree.
    points = np.random.default_rng(seed).uniform(size=(60, 2))
    points = np.round(points, 1) + 1e-4 * points if grid else points
    assert near_pairs(points, spacing).tolist() == sorted(
        map(list, cKDTree(points).query_pairs(spacing))
    )
