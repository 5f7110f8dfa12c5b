"""Walls of a laminator: how steeply they change, by face and along the mast, and how they are moved."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from mastcheck.checks.layup_notes import PLY_DROP, layup_notes
from mastcheck.checks.process import Note
from mastcheck.checks.section_rates import moved
from mastcheck.checks.sensitivity_result import Kind
from mastcheck.mast import Mast, Station, Wall
from tests.masts import mast

SHAPE = shapely.box(-0.06, -0.01, 0.06, 0.01)
STEEP = PLY_DROP * 0.75  # of wall over the whole of a mast of 0.75 m


def walled(*walls: float | Wall) -> Mast:
    """Two stations 0.75 m apart."""
    plain = mast(wall=0.002)
    stations = tuple(replace(s, wall=w) for s, w in zip(plain.stations, walls, strict=True))
    return replace(plain, stations=stations)


def noted(m: Mast, name: str, cells: tuple[shapely.Polygon, ...] = ()) -> list[Note]:
    return [n for n in layup_notes(m, 0.0, m.stations[0], SHAPE, cells) if n.name == name]


def test_a_wall_that_changes_gently_along_the_mast_is_left_alone() -> None:
    assert not noted(walled(0.002, 0.002 + 0.99 * STEEP), "ply-drop-along")
    (note,) = noted(walled(0.002, 0.002 + 1.5 * STEEP), "ply-drop-along")
    assert note.found == pytest.approx(1.5 * PLY_DROP)
    assert "the wall changes by 56.25 mm over 750 mm of the mast, 0 to 1" in note.text
    assert note.text.endswith("1:13: plies are dropped at 1:20 at most")


def test_the_thickest_place_of_uneven_walls_counts_too() -> None:
    uneven = Wall(port=((0.0, 0.002), (1.0, 0.002)), starboard=((0.0, 0.002), (1.0, 0.002 + 2 * STEEP)))
    (note,) = noted(walled(0.002, uneven), "ply-drop-along")
    assert note.found == pytest.approx(2 * PLY_DROP)


def test_a_face_whose_wall_jumps_along_the_chord_is_named() -> None:
    chord = mast().stations[0].chord
    run = 0.1 * chord
    jump = Wall(port=((0.4, 0.002), (0.5, 0.002 + 2 * PLY_DROP * run)), starboard=((0.0, 0.002),))
    (note,) = noted(walled(jump, jump), "ply-drop-chord")
    assert note.text.startswith("the port wall goes from 2 mm to ")
    assert note.found == pytest.approx(2 * PLY_DROP)
    assert not noted(walled(jump, jump), "ply-drop-along")


def test_a_solid_section_has_no_bond_and_a_hollow_one_has() -> None:
    assert not noted(mast(), "bond-length")
    cell = (shapely.box(-0.05, -0.008, 0.055, 0.008),)
    (note,) = noted(walled(0.002, 0.002), "bond-length", cell)
    assert note.found == pytest.approx(0.005)


def test_each_face_of_an_uneven_wall_is_moved_by_as_much() -> None:
    uneven = Wall(port=((0.0, 0.002), (1.0, 0.003)), starboard=((0.0, 0.0025),))
    m = walled(uneven, uneven)
    by = moved(m, Kind.WALL, 1e-4, at=0.0, station=0)
    assert by.stations[0].wall == Wall(
        port=((0.0, pytest.approx(0.0021)), (1.0, pytest.approx(0.0031))),
        starboard=((0.0, pytest.approx(0.0026)),),
    )
    assert by.stations[1] == m.stations[1]
    plain: Station = moved(walled(0.002, 0.002), Kind.WALL, 1e-4, at=0.0, station=0).stations[0]
    assert plain.wall == pytest.approx(0.0021)
