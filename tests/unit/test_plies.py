"""Every kind of ply of a wall is judged, wherever it lies in it, and the worst is named."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from mastcheck.laminate import Lamina, Laminate, Ply
from mastcheck.material import laminate_material
from mastcheck.source import Grade, Source
from mastcheck.strength.finding import Criterion
from mastcheck.strength.plies import laminate_utilisation, material_plies, ply_findings, ply_utilisations

TEST = Source(title="invented for a test", grade=Grade.ASSUMED)
CARBON = Lamina(
    name="carbon ply", E1=126e9, E2=11e9, G12=6.6e9, nu12=0.28, density=1580, source=TEST,
    Xt=1950e6, Xc=1480e6, Yt=48e6, Yc=200e6, S12=79e6, gamma=2.0, galvanic_group="carbon",
)  # fmt: skip
BARE = replace(CARBON, name="bare ply", Xt=None, Xc=None, Yt=None, Yc=None, S12=None)


def layup(*plies: tuple[Lamina, float] | float, knock_down: float = 1.0) -> Laminate:
    """Plies of a quarter of a millimetre, outside in; a bare angle [deg] is of carbon."""
    both = [p if isinstance(p, tuple) else (CARBON, p) for p in plies]
    return Laminate(
        plies=tuple(Ply(lamina=m, angle=math.radians(a), thickness=0.00025) for m, a in both),
        knock_down=knock_down,
    )


def pulled(laminate: Laminate, strain: float = 1e-3):
    return ply_utilisations(laminate, np.array([strain]), np.array([0.0]))


def kinds(laminate: Laminate) -> list[tuple[int, float, int]]:
    return [(p.number, round(math.degrees(p.ply.angle)), p.count) for p in pulled(laminate)]


def test_a_ply_met_before_does_not_hide_those_after_it() -> None:
    assert kinds(layup(0, 0, 90, 45, -45, 0)) == [(1, 0, 6), (3, 90, 6), (4, 45, 6), (5, -45, 6)]


def test_a_ply_without_strengths_does_not_hide_those_after_it() -> None:
    assert kinds(layup((BARE, 0), 90, (BARE, 45), -45)) == [(2, 90, 4), (4, -45, 4)]


def test_half_a_turn_makes_no_other_ply_and_another_lamina_does() -> None:
    assert kinds(layup(90, -90, 0, 180)) == [(1, 90, 4), (3, 0, 4)]
    other = replace(CARBON, name="other ply")
    assert kinds(layup(0, (other, 0))) == [(1, 0, 2), (2, 0, 2)]


def test_a_ply_of_no_thickness_is_not_counted() -> None:
    thick = layup(0, 90)
    nothing = replace(thick.plies[0], thickness=0.0)
    assert kinds(Laminate(plies=(nothing, *thick.plies))) == [(1, 0, 2), (2, 90, 2)]


def test_the_transverse_ply_cracks_first_wherever_it_lies() -> None:
    """By hand: held straight across, a ply at 90° takes the wall's strain across its fibres.

    Its allowable strain there is Yt/E2, of one at 0° Xt/E1; both over gamma and with the knock-down.
    """
    for plies in ((90, 0, 0), (0, 90, 0), (0, 0, 90)):
        laminate = layup(*plies, knock_down=0.8)
        wall = laminate_material("wall", laminate)
        stress = np.array([[wall.E * 1e-3, 0.0, 0.0]])
        found = ply_findings(wall, stress, np.array([[0.01, 0.02]]), 0.3)
        strain = next(f for f in found if f.criterion is Criterion.MAX_STRAIN)
        assert strain.limit == pytest.approx(48e6 / 11e9 * 0.8 / 2.0 * 100)
        assert strain.value == pytest.approx(0.1)
        assert strain.utilisation == pytest.approx(strain.value / strain.limit)
        number = plies.index(90) + 1
        assert (
            strain.where
            == f"ply {number} of 3 from outside, 90°, carbon ply, across the fibres, tension"
        )
        assert (strain.z, strain.xy) == (0.3, (0.01, 0.02))
        pushed = ply_findings(wall, -stress, np.array([[0.0, 0.0]]), 0.3)
        pressed = next(f for f in pushed if f.criterion is Criterion.MAX_STRAIN)
        # Pressed, the fibres give way first: 1480/126 000 against 200/11 000.
        assert pressed.limit == pytest.approx(1480e6 / 126e9 * 0.8 / 2.0 * 100)
        assert pressed.where.endswith("along the fibres, compression")


def test_the_point_of_the_worst_ply_is_named() -> None:
    wall = laminate_material("wall", layup(0, 90))
    strains = np.array([0.5, -0.2, 1.0, 0.1]) * 1e-3
    stress = np.column_stack([wall.E * strains, np.zeros(4), np.zeros(4)])
    points = np.array([[0.0, 0.1], [0.2, 0.3], [0.4, 0.5], [0.6, 0.7]])
    known = material_plies(wall, stress)
    given, found = (ply_findings(wall, stress, points, 0.0, plies) for plies in (known, None))
    assert [f.xy for f in found] == [(0.4, 0.5)] * 2
    assert [f.utilisation for f in found] == pytest.approx([f.utilisation for f in given])
    assert [f.source for f in found] == [f.source for f in given]
    worst = laminate_utilisation(known, 4)
    assert worst.argmax() == 2
    assert max(f.utilisation or 0 for f in found) == pytest.approx(worst[2])
    # Linear in the strain while it keeps its sense.
    assert worst[0] == pytest.approx(0.5 * worst[2])
    assert np.isnan(laminate_utilisation((), 3)).all()


def test_an_unjudged_lamina_is_shown_at_its_greatest_strain() -> None:
    wall = laminate_material("wall", layup(0, (BARE, 0), (BARE, 90)))
    strains = np.array([0.2, -1.0, 0.4]) * 1e-3
    stress = np.column_stack([wall.E * strains, np.zeros(3), np.zeros(3)])
    points = np.array([[0.0, 0.1], [0.2, 0.3], [0.4, 0.5]])
    silent = [f for f in ply_findings(wall, stress, points, 0.1) if f.criterion is Criterion.PLY_STRAIN]
    (row,) = silent
    assert (row.limit, row.utilisation, row.material) == (None, None, "bare ply")
    assert row.xy == (0.2, 0.3)
    # The wall's own strain, along the fibres of the one ply and across those of the other.
    assert row.value == pytest.approx(0.1)
    assert row.where.startswith("ply ")
    assert row.where.endswith("bare ply, wall")


def test_an_unjudged_ply_of_no_thickness_is_not_counted_either() -> None:
    thick = layup(0, (BARE, 90))
    nothing = replace(thick.plies[0], thickness=0.0)
    wall = laminate_material("wall", Laminate(plies=(nothing, *thick.plies)))
    stress = np.array([[wall.E * 1e-3, 0.0, 0.0]])
    found = ply_findings(wall, stress, np.zeros((1, 2)), 0.0)
    (row,) = [f for f in found if f.criterion is Criterion.PLY_STRAIN]
    assert row.where == "ply 2 of 2 from outside, 90°, bare ply, wall"


def test_plies_of_one_lamina_are_known_by_its_name() -> None:
    # Read from two places of a file the names are equal and not one object.
    again = replace(BARE, name="".join(["bare", " ", "ply"]))
    wall = laminate_material("wall", layup((again, 45), (again, -45), (BARE, 0)))
    stress = np.array([[wall.E * 1e-3, 0.0, 0.0]])
    (row,) = ply_findings(wall, stress, np.zeros((1, 2)), 0.0)
    # Sheared at 45° by what the wall contracts across, too: more than its strain along.
    assert row.value > 0.105
    assert row.where.startswith("ply 1 of 3")
