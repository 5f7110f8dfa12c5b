"""Where a face is pressed most, and the words and bounds of the plate rules."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from mastcheck.material import Material
from mastcheck.section.model import Region
from mastcheck.section.solve import solve_section
from mastcheck.strength.faces import Face, faces
from mastcheck.strength.panels import ISOTROPIC_NU, metal_slenderness, plate_limit
from tests.masts import ALUMINIUM

T6 = replace(ALUMINIUM, name="EN AW-6082-T6")


def face(slenderness: float = 20.0, material: Material = T6) -> Face:
    """A flat face over a void, two millimetres thick; four points of a section, two of them its own."""
    return Face(
        side="port", material=material, core=None, width=0.002 * slenderness, wall=0.002,
        radius=float("inf"), points=np.array([0, 1]), start=0.1, end=0.9,
        across=np.array([[1, 2]]), share=np.array([0.25]),
    )  # fmt: skip


POINTS = np.array([[0.010, 0.004], [0.020, 0.006], [0.040, 0.010], [9.0, 9.0]])


def test_the_greatest_compression_is_found_among_a_faces_own_points() -> None:
    got, place = face().most_pressed(POINTS, np.array([-50.0, -10.0, 0.0, -999.0]))
    assert (got, place) == (-50.0, (0.010, 0.004))


def test_toward_the_end_of_its_cell_it_is_taken_between_points() -> None:
    # A quarter of the way from 20 mm to 40 mm: -10 to -90 MPa gives -30 there, at 25 mm.
    got, place = face().most_pressed(POINTS, np.array([0.0, -10.0, -90.0, -999.0]))
    assert got == pytest.approx(-30.0)
    assert place == pytest.approx((0.025, 0.007))


@pytest.mark.parametrize(
    ("slenderness", "words"),
    # EN 1999-1-1 Table 6.2 from memory, class A without welds, proof strength 250 MPa: 11, 16, 22.
    [
        (10.9, "class 1"),
        (11.1, "class 2"),
        (16.1, "class 3"),
        (21.9, "class 3"),
        (22.1, "class 4, slender"),
    ],
)
def test_the_class_of_a_metal_face_is_named(slenderness: float, words: str) -> None:
    limit, said, _ = plate_limit(face(slenderness))
    assert f", {words} (buckling class A)" in said
    assert limit is not None
    # Up to class 3 the whole wall bears its proof strength.
    assert (limit == pytest.approx(250e6 / 1.10)) == ("slender" not in words)


def test_a_flat_face_is_as_slender_as_it_is_wide() -> None:
    assert metal_slenderness(face(30.0)) == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("nu", "judged"),
    [
        (ISOTROPIC_NU[0] - 0.001, False),
        (ISOTROPIC_NU[0] + 0.001, True),
        (0.33, True),
        (ISOTROPIC_NU[1] - 0.001, True),
        (ISOTROPIC_NU[1] + 0.001, False),
    ],
)
def test_what_may_pass_for_isotropic(nu: float, judged: bool) -> None:
    plain = replace(T6, G=T6.E / (2 * (1 + nu)), galvanic_group="")
    assert (plate_limit(face(20.0, plain))[0] is not None) == judged


# --- faces read off a section ---------------------------------------------------------------------

MM = 1e-3


def ring(hole: list[tuple[float, float]]) -> Polygon:
    """A block of 100 by 20 mm with one void."""
    return Polygon(box(-0.050, -0.010, 0.050, 0.010).exterior, [[(x * MM, y * MM) for x, y in hole]])


def test_a_wall_thin_only_near_the_ends_of_its_cell_counts_by_its_middle() -> None:
    # To port 1 mm at 40 mm from the middle, 3 mm over the middle half; the cell is 96 mm wide.
    hole = [(-48, -7), (48, -7), (48, 7), (40, 9), (32, 7), (-32, 7), (-40, 9), (-48, 7)]
    found = {f.side: f for f in faces(solve_section((Region(polygon=ring(hole), material=T6),)))}
    assert found["port"].wall == pytest.approx(3 * MM)
    assert found["starboard"].wall == pytest.approx(3 * MM)


def test_a_face_has_points_over_its_cell_alone() -> None:
    hole = [(-20, -8), (30, -8), (30, 8), (-20, 8)]
    section = solve_section((Region(polygon=ring(hole), material=T6),))
    x, y = section.basis.points.T
    for found in faces(section):
        own = found.points
        assert (x[own] > -20 * MM).all()
        assert (x[own] < 30 * MM).all()
        assert (np.sign(y[own]) == (1 if found.side == "port" else -1)).all()
        assert np.abs(y[own]).min() > 7.9 * MM
        assert (found.start, found.end) == pytest.approx((0.3, 0.8))
        # And pairs on either side of both ends, whose share leads to the end itself.
        a, b = x[found.across].T
        end = (1 - found.share) * a + found.share * b
        assert np.minimum(np.abs(end + 20 * MM), np.abs(end - 30 * MM)).max() < 1e-9
        assert (a < b).all()
        assert {round(e / MM) for e in end} == {-20, 30}


@pytest.mark.parametrize(("reaches", "forms"), [(-28.0, False), (-20.0, True)])
def test_only_what_forms_the_middle_half_of_a_face_is_one(reaches: float, forms: bool) -> None:
    # The cell is 96 mm wide, its middle half from -24 to 24 mm; the nose is of another metal.
    whole = ring([(-48, -8), (48, -8), (48, 8), (-48, 8)])
    nose = replace(T6, name="nose metal")
    parts = tuple(
        Region(polygon=part, material=m)
        for m, cut in ((nose, box(-1, -1, reaches * MM, 1)), (T6, box(reaches * MM, -1, 1, 1)))
        for part in shapely.get_parts(shapely.intersection(whole, cut))
    )
    names = sorted(f.material.name for f in faces(solve_section(parts)))
    assert names == sorted([T6.name] * 2 + ["nose metal"] * (2 * forms))


def test_a_section_turned_fore_to_aft_has_the_same_faces() -> None:
    hole = [(-48.0, -8.0), (48.0, -8.0), (48.0, 5.0), (-10.0, 8.5), (-48.0, 6.0)]
    one, other = (
        {f.side: f for f in faces(solve_section((Region(polygon=ring(points), material=T6),)))}
        for points in (hole, [(-x, y) for x, y in hole])
    )
    for side in ("port", "starboard"):
        assert one[side].radius == pytest.approx(other[side].radius, rel=1e-9)
        assert one[side].wall == pytest.approx(other[side].wall, rel=1e-9)
    assert one["port"].radius < 1.0
    assert one["starboard"].radius == float("inf")
