"""Sections at their edges: tails of coordinate outlines, sleeves, and kept sections that are none."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from mastcheck.drawn import Coordinates
from mastcheck.errors import GeometryError
from mastcheck.mast import Channel
from mastcheck.outline import contour
from mastcheck.section.entry import packed, unpacked
from mastcheck.section.identity import digest
from mastcheck.section.regions import regions_at, valid_polygon
from mastcheck.section.solved import section_at
from mastcheck.section.store import Store, using
from tests import kept
from tests.unit.test_constructions import CHORD, STEEL, THICKNESS, area, mast

BLADE = contour("naca-4-digit", chord=1.0, thickness=0.12)
COORDINATES = Coordinates(points=BLADE / (1.0, np.ptp(BLADE[:, 1])))
SQUARE = np.array([(1.0, 0.5), (0.0, 0.5), (0.0, -0.5), (1.0, -0.5)])


def tail_height(regions, x: float) -> float:
    """Height [m] of the section at x from its nose."""
    outer = shapely.Polygon(regions[0].polygon.exterior)
    low = outer.bounds[0]
    line = shapely.LineString([(low + x, -1), (low + x, 1)])
    return float(outer.intersection(line).length)


def test_a_tail_that_is_blunter_than_asked_for_is_kept() -> None:
    slab = Coordinates(points=SQUARE)
    plain = regions_at(mast("solid", slab, wall=None), 0.0)
    cut = regions_at(mast("solid", slab, wall=None, trailing_edge_thickness=0.002), 0.0)
    assert cut[0].polygon.equals(plain[0].polygon)
    assert area(plain) == pytest.approx(CHORD * THICKNESS, rel=1e-6)


def test_a_sharp_tail_is_cut_to_what_is_asked_for_at_the_stated_chord() -> None:
    made = regions_at(mast("solid", COORDINATES, wall=None, trailing_edge_thickness=0.002), 0.0)
    left, _, right, _ = made[0].polygon.bounds
    assert right - left == pytest.approx(CHORD, abs=2e-8)
    assert tail_height(made, CHORD - 1e-7) == pytest.approx(0.002, rel=1e-3)


def test_a_radius_of_half_the_thickness_is_no_tail() -> None:
    with pytest.raises(GeometryError, match=r"radius 7.3 mm must be less than half the thickness .7.2"):
        regions_at(mast("solid", COORDINATES, wall=None, trailing_edge_radius=0.0073), 0.0)


def test_only_the_channel_that_has_a_sleeve_is_lined() -> None:
    bare, lined = (
        Channel(at=0.6, bore=0.004),
        Channel(at=0.3, bore=0.005, boss=0.008, material=STEEL),
    )
    made = regions_at(mast("solid", wall=None, channels=(bare, lined)), 0.0)
    holes = math.pi * (0.002**2 + 0.0025**2)
    assert area(made, STEEL) == pytest.approx(math.pi * (0.004**2 - 0.0025**2), rel=5e-3)
    plain = regions_at(mast("solid", wall=None), 0.0)
    assert area(made) == pytest.approx(area(plain) - holes, rel=1e-3)


@pytest.mark.parametrize(
    ("ring", "holes", "words"),
    [
        ([(0, 0), (1, 0)], [], "needs three points"),
        ([(0, 0), (1, 0), (1, 1)], [[(0.5, 0.1)]], "needs three points"),
        ([(0, 0), (1, 1), (1, 0), (0, 1)], [], "crosses itself"),
        ([(0, 0), (1, 0), (2, 0)], [], "crosses itself"),
    ],
)
def test_what_is_no_polygon_is_refused(ring, holes, words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        valid_polygon(np.array(ring, float), [np.array(h, float) for h in holes])


@pytest.fixture(scope="module")
def entry():
    with using(Store(None)) as store:
        section_at(kept.mast("hollow"), 0.0)
    (found,) = store._entries.values()
    return found


def test_kept_rings_that_do_not_close_are_no_section(entry) -> None:
    moved = entry.coordinates.copy()
    moved[0] += 1e-6
    with pytest.raises(ValueError, match="rings that do not close"):
        unpacked(*packed(replace(entry, coordinates=moved)))


@pytest.mark.parametrize("wrong", [-1, 10**6])
def test_kept_triangles_of_points_that_are_not_there_are_no_section(entry, wrong: int) -> None:
    triangles = entry.basis.triangles.copy()
    triangles[3, 1] = wrong
    with pytest.raises(ValueError, match="triangles"):
        unpacked(*packed(replace(entry, basis=replace(entry.basis, triangles=triangles))))


def test_numbers_are_told_apart_by_their_kind_and_not_by_their_library() -> None:
    assert digest(1.5) == digest(np.float64(1.5))
    assert digest(np.float32(0.5)) == digest(0.5)
    assert digest(2) == digest(np.int64(2))
    assert digest(2) != digest(2.0)
    assert digest(np.float64(-0.0)) == digest(0.0)
    assert digest(True) != digest(1)


def test_a_store_without_a_folder_has_nothing_to_prune(tmp_path) -> None:
    Store(None).prune()
    Store(tmp_path / "none").prune()
    assert not (tmp_path / "none").exists()
