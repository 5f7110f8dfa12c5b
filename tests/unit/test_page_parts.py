"""Parts of the page where there is less than usual: nothing that could govern is dropped."""

from __future__ import annotations

import dataclasses
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from mastcheck.laminate import Laminate, Ply
from mastcheck.page.beam_data import _fractions
from mastcheck.page.fixed import _case_row, _drag_words
from mastcheck.page.fixed_inputs import _list
from mastcheck.page.strength_faces import pressed
from mastcheck.page.strength_picture import WARPING, _corners
from mastcheck.page.strength_points import governing_points
from mastcheck.page.strength_rules import _ply_rules
from mastcheck.section.model import StressBasis
from mastcheck.strength.panels import laminate_plate_stress
from mastcheck.strength.plies import material_plies, ply_findings
from tests.reports import MAT, METAL, make_mast


def basis(points: Any, warping: Any) -> StressBasis:
    fields = np.zeros((7, len(points), 3))
    fields[WARPING, :, 0] = warping
    return StressBasis(
        points=np.asarray(points, dtype=float), region=np.zeros(len(points), np.int64), fields=fields,
        triangles=np.zeros((0, 3), np.int64),
    )  # fmt: skip


def face(points: int, across: int = 0) -> Any:
    return SimpleNamespace(
        points=np.arange(points),
        across=np.zeros((across, 2), np.int64),
        share=np.zeros(across),
    )


def cube(inside: int = 20) -> StressBasis:
    """The eight corners of a box in x, y and w, and points within."""
    chance = np.random.default_rng(5)
    corners = np.array([(x, y, w) for x in (0, 0.1) for y in (0, 0.01) for w in (-1.0, 1.0)])
    every = np.concatenate([corners, chance.uniform(0.2, 0.8, (inside, 3)) * [0.1, 0.01, 1.0]])
    return basis(every[:, :2], every[:, 2])


def test_only_the_corners_of_a_face_s_cloud_can_be_pressed_most() -> None:
    found = cube()
    cloud, at = pressed(found, face(len(found.points)))
    assert sorted(at) == list(range(8))
    assert cloud.shape == (8, 3)
    # Any linear compression is greatest at one of them.
    chance = np.random.default_rng(6)
    every = np.column_stack([found.points, found.fields[WARPING, :, 0]])
    for direction in chance.standard_normal((50, 3)):
        assert (cloud @ direction).max() == pytest.approx((every @ direction).max())


@pytest.mark.parametrize("kind", ["few", "flat", "oblique"])
def test_of_a_cloud_without_a_volume_every_point_is_kept(kind: str) -> None:
    """Too few, of one warping, or all in one oblique plane, which no hull can be put around."""
    chance = np.random.default_rng(7)
    points = chance.random((4 if kind == "few" else 30, 2))
    w = points @ [2.0, 3.0] if kind == "oblique" else np.zeros(len(points))
    found = basis(points, w)
    cloud, at = pressed(found, face(len(points)))
    assert list(at) == list(range(len(points)))
    assert cloud == pytest.approx(np.column_stack([points, w]))


def test_a_mesh_of_another_kind_is_drawn_triangle_by_triangle() -> None:
    plain = basis(np.random.default_rng(8).random((6, 2)), 0.0)
    for triangles in ([[0, 1, 2]], [[0, 1, 2], [1, 2, 3], [2, 3, 4], [3, 4, 5]]):
        made = dataclasses.replace(plain, triangles=np.array(triangles))
        assert (_corners(made) == made.triangles).all()
    # Six-noded: three at the corners, and the middle one of the nodes between the corners.
    six = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
    assert (_corners(dataclasses.replace(plain, triangles=six)) == [[0, 1, 2]]).all()


def test_where_all_points_are_known_none_is_added() -> None:
    found = cube()
    at = np.arange(len(found.points))
    assert len(governing_points(found, at, np.ones(len(at), bool), (1.0, 3.0))) == 0


def test_a_ply_without_strengths_has_no_rules() -> None:
    ply = Ply(lamina=MAT, angle=0.0, thickness=3e-4)
    with pytest.raises(ValueError, match=f"{MAT.name} states no strengths"):
        _ply_rules(Laminate(plies=(ply,)), ply)


def test_what_is_no_laminate_is_not_judged_as_one() -> None:
    found = make_mast().sections[0]
    metal: Any = SimpleNamespace(material=METAL)
    with pytest.raises(ValueError, match="is not a laminate"):
        laminate_plate_stress(metal)
    stress = np.zeros((len(found.basis.points), 3))
    assert material_plies(METAL, stress) == ()
    assert ply_findings(METAL, stress, found.basis.points, 0.0) == ()


def test_stations_that_lie_unevenly_keep_their_own_places() -> None:
    mast = make_mast()
    assert _fractions(mast) == [0.0, 0.25, 0.5, 0.75, 1.0]
    odd = dataclasses.replace(mast, z=np.array([0.0, 0.1, 0.5, 0.7, 0.75]))
    assert _fractions(odd) == pytest.approx(odd.z / 0.75)


def test_what_was_not_looked_at_is_left_out_of_the_page() -> None:
    assert _drag_words(make_mast()) == ""
    assert _list("Notes", []) == ""
    assert "<li>one &amp; two</li>" in _list("Notes", ["one & two"])
    unstable = next(c for c in make_mast(unstable=True).cases if not c.stable)
    row = _case_row(unstable)
    assert row[1:5] == ("–",) * 4
    assert "unstable: no balance found; buckles at 0.930 times the load" in row[-1]
