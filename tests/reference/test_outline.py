"""Outlines against their laws. Every expected digit was recomputed from the law named."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from shapely import Polygon

from mastcheck.errors import GeometryError
from mastcheck.outline import FAMILIES, MODIFIED, contour, half_thickness
from tests.published import published

CHORD, THICKNESS = 0.120, 0.0144
SIZES = {"chord": CHORD, "thickness": THICKNESS}


def polygon_moments(points):
    """Area, x of centroid, Ixx and Iyy about it, of a ring (n, 2): Green's theorem, exact."""
    x, y = points.T
    x1, y1 = np.roll(points, -1, axis=0).T
    cross = x * y1 - x1 * y
    area = cross.sum() / 2
    cx = ((x + x1) * cross).sum() / (6 * area)
    ixx = ((y**2 + y * y1 + y1**2) * cross).sum() / 12
    iyy = ((x**2 + x * x1 + x1**2) * cross).sum() / 12 - area * cx**2
    return area, cx, ixx, iyy


def test_naca_ordinates_of_the_closed_law():
    # SEC-01/02 are for the open tail; the closed law differs by -0.0021 * 5 t x^4 (recomputed).
    x = np.array([0.005, 0.10, 0.30, 0.50, 0.90, 1.00])
    open_tail = np.array([1.221315, 4.682770, 6.001727, 5.294025, 1.447717, 0.126000])
    expected = open_tail - 100 * 0.6 * 0.0021 * x**4
    y = half_thickness("naca-4-digit", x, chord=1.0, thickness=0.12)
    assert 100 * y == pytest.approx(expected, abs=1e-6)


def test_naca_moments_of_the_closed_law():
    # SEC-06..09 (recomputed integrals). 400 panels a side: what is left, and the tolerance, is the
    # polygon's own shortfall, which falls with the square of the panels (100 a side: 5e-4).
    area, cx, ixx, iyy = polygon_moments(contour("naca-4-digit", chord=1.0, thickness=0.12, panels=400))
    assert area == pytest.approx(published("SEC-06"), rel=4e-5)
    assert ixx == pytest.approx(published("SEC-07"), rel=1e-4)
    assert iyy == pytest.approx(published("SEC-08"), rel=5e-5)
    assert cx == pytest.approx(published("SEC-09"), rel=2e-5)


def test_lens_and_ellipse_and_slab_areas():
    t, c = THICKNESS, CHORD
    R = (c**2 + t**2) / (4 * t)
    half_angle = np.arcsin(c / (2 * R))
    areas = {
        "lens": R**2 * (2 * half_angle - np.sin(2 * half_angle)),  # two circular segments
        "ellipse": np.pi * c * t / 4,
        "slab": np.pi * t**2 / 8 + t * (0.7 * c - t / 2) + 0.3 * c * t / 2,
    }
    for family, expected in areas.items():
        got = polygon_moments(contour(family, chord=c, thickness=t))[0]
        assert got == pytest.approx(expected, rel=5e-4), family  # 100 panels a side, as above


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("radius", [0.0, 0.0005, 0.001])
def test_contours_are_valid_counter_clockwise_and_symmetric(family, radius):
    points = contour(family, chord=CHORD, thickness=THICKNESS, trailing_edge_radius=radius)
    polygon = Polygon(points)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    assert points[:, 0].min() == 0
    assert points[:, 0].max() <= CHORD * (1 + 1e-12)
    assert np.ptp(points[:, 1]) == pytest.approx(THICKNESS, rel=1e-3)
    mirrored = {(round(x, 12), round(-y, 12)) for x, y in points}
    assert mirrored == {(round(x, 12), round(y, 12)) for x, y in points}


@pytest.mark.parametrize("family", ["naca-4-digit", "lens", "slab"])
def test_a_rounded_tail_is_the_tangent_circle(family):
    r = 0.001
    blunt = contour(family, chord=CHORD, thickness=THICKNESS, trailing_edge_radius=r, panels=400)
    end = blunt[:, 0].max()
    assert end == pytest.approx(CHORD, rel=1e-9)  # the finished blade measures what calipers read
    arc = blunt[np.hypot(blunt[:, 0] - (end - r), blunt[:, 1]) < r * (1 + 1e-9)]
    assert len(arc) >= 7
    # Ahead of the circle it is the family's law, over the one longer chord that fits.
    face = blunt[(blunt[:, 1] > 0) & (blunt[:, 0] < end - 3 * r)]
    aft = face[0]

    def misfit(chord):
        return half_thickness(family, aft[:1], chord=chord, thickness=THICKNESS)[0] - aft[1]

    longer = brentq(misfit, CHORD, 1.2 * CHORD)
    assert longer > CHORD
    law = half_thickness(family, face[:, 0], chord=longer, thickness=THICKNESS)
    assert face[:, 1] == pytest.approx(law, abs=1e-9)
    # Tangent: where the circle starts, contour and circle turn by no more than the arc's own panels.
    step = np.diff(np.vstack([blunt, blunt[:1]]), axis=0)
    turn = np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0])))
    tail = blunt[1:, 0] > end - 3 * r
    assert np.degrees(np.abs(turn[tail])).max() < 180 / 12 + 1


def test_an_ellipse_blunter_than_the_radius_is_left_alone():
    # Its own tail radius is (t/2)^2/(c/2) = 0.864 mm (textbook).
    plain = contour("ellipse", chord=CHORD, thickness=THICKNESS)
    assert contour(
        "ellipse", chord=CHORD, thickness=THICKNESS, trailing_edge_radius=8e-4
    ) == pytest.approx(plain)
    blunt = contour("ellipse", chord=CHORD, thickness=THICKNESS, trailing_edge_radius=1e-3)
    assert Polygon(blunt).area > Polygon(plain).area  # the same chord with a fuller tail
    assert blunt[:, 0].max() == pytest.approx(CHORD, rel=1e-9)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_square_tail_has_its_thickness_at_the_stated_chord(family):
    points = contour(family, chord=CHORD, thickness=THICKNESS, trailing_edge_thickness=0.0015)
    tail = points[points[:, 0] > CHORD - 1e-9]
    assert points[:, 0].max() == pytest.approx(CHORD, rel=1e-9)
    assert np.ptp(tail[:, 1]) == pytest.approx(0.0015, rel=1e-9)
    assert np.ptp(points[:, 1]) == pytest.approx(THICKNESS, rel=1e-3)


@pytest.mark.parametrize(("index", "radius"), [(3, 0.25), (6, 1.0), (9, 3.0)])
def test_nose_radius_of_the_modified_family(index, radius):
    # NASA TM-4741 (recalled): 1.1019 t^2 (index/6)^2, three times the plain family's for index 9.
    x = np.array([1e-8])
    y = half_thickness(MODIFIED, x, chord=1.0, thickness=0.12, nose_index=index, greatest_at=0.4)
    assert (y**2 / (2 * x))[0] == pytest.approx(radius * 1.1019 * 0.12**2, rel=1e-3)


@pytest.mark.parametrize("m", [0.2, 0.3, 0.4, 0.5, 0.6])
def test_the_modified_law_is_smooth_where_its_halves_meet(m):
    x = m + np.array([-2, -1, 0, 1, 2]) * 1e-5
    y = half_thickness(MODIFIED, x, chord=1.0, thickness=0.2, nose_index=4, greatest_at=m)
    slope, bend = np.diff(y) / 1e-5, np.diff(y, 2) / 1e-10
    assert y[2] == pytest.approx(0.1, rel=1e-9)
    assert np.abs(slope).max() < 4e-5  # greatest there
    assert bend[0] == pytest.approx(bend[2], rel=0.01)  # equal curvature
    end = half_thickness(MODIFIED, np.array([1.0]), chord=1.0, thickness=0.2, greatest_at=m)
    assert end[0] == pytest.approx(0.002)


@pytest.mark.parametrize(
    ("family", "sizes", "says"),
    [
        ("naca-4-digit", {"chord": 120.0, "thickness": 14.4}, "check its unit"),
        ("naca-4-digit", {"chord": 0.12, "thickness": 0.5}, "check its unit"),
        ("naca-4-digit", {"chord": 0.12, "thickness": float("nan")}, "check its unit"),
        ("naca-4-digit", {"chord": 0.12, "thickness": 0.0144, "trailing_edge_radius": 0.01}, "radius"),
        ("naca-4-digit", {"chord": 0.12, "thickness": 0.0144, "panels": 3}, "panels"),
        ("slab", {"chord": 0.12, "thickness": 0.1}, "ellipse"),
        ("naca-4-digit", {**SIZES, "trailing_edge_thickness": 0.02}, "trailing edge thickness"),
        (
            "lens",
            {**SIZES, "trailing_edge_thickness": 0.001, "trailing_edge_radius": 0.001},
            "not both",
        ),
        (MODIFIED, {**SIZES, "nose_index": 8.5}, "index"),
        (MODIFIED, {**SIZES, "greatest_at": 0.7}, "from 0.2 to 0.6"),
        ("no such law", {"chord": 0.12, "thickness": 0.0144}, "known: naca-4-digit"),
    ],
)
def test_absurd_sizes_are_refused(family, sizes, says):
    with pytest.raises(GeometryError, match=says):
        contour(family, **sizes)
