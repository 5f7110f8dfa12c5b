"""The rounding of a hollow's clipped corners, on shapes whose fillets are known."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Polygon

from mastcheck.section.fillets import CHORDS, CLIP, TIP_CHORDS, filleted

RADIUS = 0.3e-3


def clipped(points: list[tuple[float, float]]) -> Polygon:
    """A hollow [mm] opened as a section's is: shrunk by the radius and grown back."""
    shape = Polygon(np.array(points) * 1e-3).buffer(-RADIUS, join_style="mitre")
    made = shape.buffer(RADIUS, join_style="mitre", mitre_limit=CLIP)
    assert isinstance(made, Polygon)
    return made


def test_the_corners_of_a_square_become_fillets_tangent_to_its_sides() -> None:
    made = filleted(clipped([(0, 0), (10, 0), (10, 8), (0, 8)]), RADIUS)
    points = shapely.get_coordinates(made.exterior)[:-1]
    assert len(points) == 4 * (CHORDS + 1)
    assert made.bounds == pytest.approx((0, 0, 10e-3, 8e-3), abs=1e-12)
    # Each panel touches a circle about the corner's centre: between them lies what a true fillet leaves.
    step = np.pi / 2 / (CHORDS + 1)
    left = 4 * RADIUS**2 * (1 - (CHORDS + 1) * np.tan(step / 2))
    assert made.area == pytest.approx(80e-6 - left, rel=1e-9)
    true = Polygon([(0, 0), (10e-3, 0), (10e-3, 8e-3), (0, 8e-3)]).buffer(-RADIUS).buffer(RADIUS)
    assert made.buffer(1e-12).covers(true)
    assert made.hausdorff_distance(true) < RADIUS * (1 / np.cos(step / 2) - 0.99)


def test_a_sharp_tip_gets_more_panels_than_a_corner_beside_a_web() -> None:
    made = filleted(clipped([(0, -3), (20, 0), (0, 3)]), RADIUS)
    points = shapely.get_coordinates(made.exterior)[:-1]
    assert len(points) == 2 * (CHORDS + 1) + TIP_CHORDS + 1
    assert np.abs(points[:, 1]).min() < 1e-12  # one point on the line of symmetry


@pytest.mark.parametrize("away", [2e-6, 0.1 * RADIUS, 0.24 * RADIUS])
def test_a_point_of_the_contour_near_a_foot_is_joined_to_it(away: float) -> None:
    plain = clipped([(0, 0), (10, 0), (10, 8), (0, 8)])
    ring = shapely.get_coordinates(plain.exterior)[:-1]
    foot = ring[(ring[:, 1] < 1e-9)].min(axis=0)
    k = int(np.hypot(*(ring - foot).T).argmin())
    assert ring[k] == pytest.approx(foot)
    extra = foot + np.array([away, 0.0])
    way = 1 if ring[(k + 1) % len(ring), 0] > foot[0] + RADIUS else 0
    crowded = Polygon(np.insert(ring, k + way, extra, axis=0))
    assert crowded.is_valid
    assert filleted(crowded, RADIUS).equals_exact(filleted(plain, RADIUS), 1e-12)


def test_what_is_no_clipped_corner_is_kept_as_it_is() -> None:
    square = Polygon([(0, 0), (1e-2, 0), (1e-2, 1e-2), (0, 1e-2)])
    assert filleted(square, RADIUS).equals(square)
    round_one = shapely.Point(0, 0).buffer(5e-3)
    assert filleted(round_one, RADIUS).equals(round_one)


def test_islands_in_a_hollow_are_kept() -> None:
    island = shapely.Point(5e-3, 4e-3).buffer(1e-3)
    plain = clipped([(0, 0), (10, 0), (10, 8), (0, 8)])
    made = filleted(plain.difference(island), RADIUS)
    assert made.equals(filleted(plain, RADIUS).difference(island))


def test_a_corner_without_room_for_its_fillet_stays_clipped() -> None:
    plain = clipped([(0, 0), (10, 0), (10, 8), (0, 8)])
    ring = shapely.get_coordinates(plain.exterior)[:-1]
    low = ring[:, 1] < 1e-9
    foot = ring[low].min(axis=0)
    # A bay cut into the bottom right beside the foot, so that the fillet would begin beyond it.
    start = foot[0] + 0.1 * RADIUS
    bay = shapely.box(start, -1e-3, start + 1e-3, 2e-4)
    cut = plain.difference(bay)
    assert isinstance(cut, Polygon)
    made = filleted(cut, RADIUS)
    assert made.is_valid
    assert shapely.Point(foot).distance(made.exterior) < 1e-12
