"""Regions at a station: walls, webs, cores, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from mastcheck.errors import GeometryError
from mastcheck.mast import Construction, Mast, OutlineKind, SectionRecipe, Station, Web
from mastcheck.material import Material
from mastcheck.section.regions import MIN_SPACING, clean_ring, regions_at
from mastcheck.source import PRACTICE

METAL = Material(name="metal", E=70e9, G=26.3e9, density=2700.0, source=PRACTICE)
FOAM = Material(name="foam", E=80e6, G=30e6, density=80.0, source=PRACTICE)


def mast(construction="hollow", outline="naca-4-digit", wall=0.0025, about=0.5, **recipe):
    stations = (
        Station(at=0.0, chord=0.120, thickness=0.0144, wall=wall),
        Station(at=1.0, chord=0.090, thickness=0.0120, wall=wall),
    )
    section = SectionRecipe(
        outline=OutlineKind(outline),
        construction=Construction(construction),
        material=METAL,
        core=FOAM if construction == "shell-and-core" else None,
        **recipe,
    )
    return Mast(name="test", length=0.75, stations=stations, section=section, taper_about=about)


def rings(regions):
    for region in regions:
        for ring in (region.polygon.exterior, *region.polygon.interiors):
            yield np.array(ring.coords)


@pytest.mark.parametrize("outline", list(OutlineKind))
@pytest.mark.parametrize("construction", list(Construction))
@pytest.mark.parametrize("webs", [(), (Web(at=0.3, thickness=0.0025), Web(at=0.6, thickness=0.002))])
@pytest.mark.parametrize("radius", [0.0, 0.001])
def test_polygons_are_valid_and_points_keep_their_distance(outline, construction, webs, radius):
    for at in (0.0, 0.37, 1.0):
        regions = regions_at(mast(construction, outline, webs=webs, trailing_edge_radius=radius), at)
        assert all(r.polygon.is_valid and r.polygon.area > 0 for r in regions)
        for ring in rings(regions):
            step = np.hypot(*np.diff(ring, axis=0).T)
            assert step.min() >= MIN_SPACING * 0.090


def test_the_stacking_line_is_the_origin():
    for about in (0.0, 0.35, 1.0):
        left, _, right, _ = regions_at(mast("solid", about=about), 0.0)[0].polygon.bounds
        assert (left, right) == pytest.approx((-about * 0.12, (1 - about) * 0.12), abs=1e-8)


def test_sizes_run_between_stations():
    left, low, right, high = regions_at(mast("solid"), 0.5)[0].polygon.bounds
    assert right - left == pytest.approx(0.105, rel=1e-6)
    assert high - low == pytest.approx(0.0132, rel=1e-3)  # the highest panel point, not the law's top


def test_the_wall_is_the_wall():
    (region,) = regions_at(mast(wall=0.002), 0.0)
    (void,) = region.polygon.interiors
    distance = region.polygon.exterior.distance(void)
    # Only a blunted tip's corners stand out, by under 0.5 % of the wall; elsewhere it is exact.
    assert distance == pytest.approx(0.002, abs=1e-5)


def test_the_void_closes_before_a_tail_thinner_than_its_walls():
    (region,) = regions_at(mast(wall=0.0025), 0.0)
    (void,) = region.polygon.interiors
    tail = region.polygon.bounds[2]
    assert np.array(void.coords)[:, 0].max() < tail - 0.018  # half thickness = wall at 82 % of chord


def test_webs_divide_the_void_and_join_both_walls():
    webs = (Web(at=0.30, thickness=0.0025), Web(at=0.55, thickness=0.0025))
    (region,) = regions_at(mast(webs=webs), 0.0)
    assert len(region.polygon.interiors) == 3
    first, second, third = (np.array(r.coords)[:, 0] + 0.06 for r in region.polygon.interiors)
    assert second.min() - first.max() == pytest.approx(0.0025, abs=1e-8)
    assert third.min() - second.max() == pytest.approx(0.0025, abs=1e-8)
    assert first.max() == pytest.approx(0.30 * 0.12 - 0.00125, abs=1e-8)


def test_a_web_near_the_tip_of_the_void_leaves_no_sliver():
    (region,) = regions_at(mast(webs=(Web(at=0.80, thickness=0.0025),)), 0.0)
    assert len(region.polygon.interiors) == 1


def test_core_and_skin_share_the_same_points():
    skin, *cores = regions_at(mast("shell-and-core", webs=(Web(at=0.4, thickness=0.002),)), 0.0)
    assert [c.material for c in cores] == [FOAM, FOAM]
    assert skin.material is METAL
    for hole, core in zip(skin.polygon.interiors, cores, strict=True):
        assert set(hole.coords) == set(core.polygon.exterior.coords)


@pytest.mark.parametrize("wall", [0.0071, 0.0075, 0.05])
def test_a_wall_that_leaves_no_void_says_what_to_do(wall):
    with pytest.raises(GeometryError, match=r"wall .* mm .*half-thickness .* mm.*solid.*thinner wall"):
        regions_at(mast(wall=wall), 0.0)


def test_missing_and_absurd_inputs_are_refused():
    with pytest.raises(GeometryError, match="needs a wall"):
        regions_at(mast(wall=None), 0.0)
    with pytest.raises(GeometryError, match="check its unit"):
        regions_at(mast(wall=2.5e-6), 0.0)
    with pytest.raises(GeometryError, match="check its unit"):
        regions_at(mast(wall=-0.002), 0.0)
    with pytest.raises(GeometryError, match="not inside the blade"):
        regions_at(mast(webs=(Web(at=1.3, thickness=0.002),)), 0.0)
    coreless = mast("shell-and-core")
    coreless = replace(coreless, section=replace(coreless.section, core=None))
    with pytest.raises(GeometryError, match="needs a core"):
        regions_at(coreless, 0.0)


def test_near_points_are_merged_also_across_the_ring_s_end():
    ring = np.array([[0, 0], [1, 0], [1 + 1e-13, 0], [1, 1], [0, 1], [0, 1e-12]], float)
    assert clean_ring(ring, 1e-6).tolist() == [[0, 0], [1, 0], [1, 1], [0, 1]]
