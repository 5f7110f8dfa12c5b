"""Which stress judges a material, and where the worst point is said to be, at each rule's bounds."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box

from mastcheck.laminate import Lamina, Laminate, Ply
from mastcheck.material import Material, laminate_material
from mastcheck.section.model import ACTIONS, Region, SectionModel
from mastcheck.section.solve import solve_section
from mastcheck.source import Grade, Source
from mastcheck.strength.finding import Criterion, Finding
from mastcheck.strength.stress import (
    CORE_SHEAR_SOURCE,
    CORE_SOFTNESS,
    VON_MISES_SOURCE,
    is_core,
    material_findings,
    station_stress,
)
from tests.masts import ALUMINIUM

TEST = Source(title="invented for a test", grade=Grade.ASSUMED)
FOAM = Material(
    name="foam", E=90e6, G=27e6, density=80, source=TEST, shear_strength=1.1e6, gamma_proof=1.5
)
WIDTH, HEIGHT, WALL = 0.100, 0.020, 0.002


def tube(skin: Material, filling: Material | None = None) -> SectionModel:
    x, y = WIDTH / 2, HEIGHT / 2
    hole = box(-x + WALL, -y + WALL, x - WALL, y - WALL)
    parts = [Region(polygon=Polygon(box(-x, -y, x, y).exterior, [hole.exterior]), material=skin)]
    if filling is not None:
        parts.insert(0, Region(polygon=hole, material=filling))
    return solve_section(tuple(parts))


def load(**values: float) -> np.ndarray:
    return np.array([values.get(a, 0.0) for a in ACTIONS])


def rows(section: SectionModel, resultants: np.ndarray) -> list[Finding]:
    return material_findings(section, station_stress(section, resultants), 0.25)


@pytest.mark.parametrize(
    ("resultants", "words"),
    [
        # +Mx pulls port; a pull adds to it there, a push to the compression to starboard.
        (load(Mx=100.0, N=1e3), "port"),
        (load(Mx=100.0, N=-1e3), "starboard"),
        (load(Mx=-100.0, N=1e3), "starboard"),
    ],
)
def test_the_side_of_the_worst_point_is_named(resultants: np.ndarray, words: str) -> None:
    (row,) = rows(tube(ALUMINIUM), resultants)
    assert row.where.endswith(f"of the chord, {words}")
    assert math.copysign(1, row.xy[1]) == (1 if words == "port" else -1)
    assert row.z == 0.25


@pytest.mark.parametrize("sign", [1, -1])
def test_the_worst_point_is_told_along_the_chord_from_the_leading_edge(sign: int) -> None:
    # Bending in the chord's plane is greatest at both edges; the pull makes one of them the worse.
    section = tube(ALUMINIUM)
    (row,) = rows(section, load(My=sign * 100.0, N=1e3))
    end = round(row.xy[0] / WIDTH + 0.5)
    assert abs(row.xy[0]) == pytest.approx(WIDTH / 2)
    assert row.where.startswith(f"at {end:.0%} of the chord")
    sigma = station_stress(section, load(My=sign * 100.0)).stress[:, 0]
    x = section.basis.points[:, 0]
    assert sigma[x == row.xy[0]].min() > 0


def test_the_place_is_a_share_of_a_chord_that_starts_anywhere() -> None:
    # Off the origin: 20 to 60 mm aft of it.
    bar = solve_section((Region(polygon=box(0.020, -0.005, 0.060, 0.005), material=ALUMINIUM),))
    (row,) = rows(bar, load(T=10.0))
    # Torsion of a flat bar is greatest at the middles of its long faces (Saint-Venant).
    assert row.xy[0] == pytest.approx(0.040, abs=0.002)
    assert abs(row.xy[1]) == pytest.approx(0.005)
    assert float(row.where.removeprefix("at ").split("%")[0]) == pytest.approx(50, abs=5)


def test_a_material_of_two_strengths_is_held_to_the_worse() -> None:
    # Under a pull the yield stress rules, under torque the shear strength of a tenth of it.
    both = replace(ALUMINIUM, name="both", shear_strength=25e6)
    section = tube(both)
    for resultants, strength, shear in (
        (load(N=30e3), 250e6 / 1.10, False),
        (load(T=100.0), 25e6 / 1.10, True),
    ):
        got = station_stress(section, resultants)
        tau = np.hypot(got.stress[:, 1], got.stress[:, 2])
        assert got.utilisation == pytest.approx((tau if shear else got.von_mises) / strength, rel=1e-6)
    kinds = {r.criterion: r for r in rows(section, load(T=100.0))}
    assert set(kinds) == {Criterion.VON_MISES, Criterion.CORE_SHEAR}
    # In pure shear von Mises is root three times the shear stress.
    ratio = kinds[Criterion.VON_MISES].value / kinds[Criterion.CORE_SHEAR].value
    assert ratio == pytest.approx(math.sqrt(3), rel=1e-6)
    assert kinds[Criterion.CORE_SHEAR].limit == pytest.approx(25 / 1.10, rel=1e-9)
    assert kinds[Criterion.VON_MISES].limit == pytest.approx(250 / 1.10, rel=1e-9)
    assert kinds[Criterion.VON_MISES].source is VON_MISES_SOURCE
    assert kinds[Criterion.CORE_SHEAR].source is CORE_SHEAR_SOURCE


def test_without_load_the_worst_point_is_still_one_that_is_judged() -> None:
    # The silent core comes first among the regions, and its points first in the mesh.
    silent = replace(FOAM, shear_strength=None)
    got = station_stress(tube(ALUMINIUM, silent), np.zeros(len(ACTIONS)))
    assert np.isnan(got.utilisation).any()
    assert got.greatest == 0.0


def test_a_core_is_softer_than_its_bound_and_states_no_strength() -> None:
    stiff = 70e9
    at = replace(FOAM, E=CORE_SOFTNESS * stiff, shear_strength=None)
    assert not is_core(at, stiff)
    assert is_core(replace(at, E=at.E * 0.999), stiff)
    ply = Lamina(name="ply", E1=3e9, E2=3e9, G12=1e9, nu12=0.3, density=1200, source=TEST)
    wall = laminate_material("wall", Laminate(plies=(Ply(lamina=ply, angle=0.0, thickness=0.001),)))
    assert CORE_SOFTNESS * stiff > wall.E
    assert not is_core(wall, stiff)


def test_softness_is_against_the_stiffest_of_the_section() -> None:
    # The same foam is a core within metal, and alone a plain material.
    silent = replace(FOAM, shear_strength=None)
    (row,) = rows(tube(silent), load(N=100.0))
    assert row.criterion is Criterion.VON_MISES
    beside = {r.material: r.criterion for r in rows(tube(ALUMINIUM, silent), load(N=100.0))}
    assert beside == {"foam": Criterion.CORE_SHEAR, "test aluminium": Criterion.VON_MISES}
    # A soft filling that states a strength of its own is judged by it, not as a core.
    stated = replace(silent, proof_strength=2e6)
    beside = {r.material: r.criterion for r in rows(tube(ALUMINIUM, stated), load(N=100.0))}
    assert beside["foam"] is Criterion.VON_MISES


def test_each_laminate_is_judged_by_its_own_plies() -> None:
    """Fibres along and across in one section: at one strain the wall pulled across them is the worse."""
    ply = Lamina(
        name="ply", E1=120e9, E2=9e9, G12=5e9, nu12=0.3, density=1550, source=TEST,
        Xt=1500e6, Xc=1000e6, Yt=40e6, Yc=150e6, S12=60e6,
    )  # fmt: skip
    along, across = (
        laminate_material(name, Laminate(plies=(Ply(lamina=ply, angle=angle, thickness=0.005),)))
        for name, angle in (("along", 0.0), ("across", math.pi / 2))
    )
    for order in ((along, across), (across, along)):
        parts = (box(-0.05, -0.01, 0.0, 0.01), box(0.0, -0.01, 0.05, 0.01))
        section = solve_section(
            tuple(Region(polygon=p, material=m) for p, m in zip(parts, order, strict=True))
        )
        got = station_stress(section, load(N=10e3))
        worst = section.regions[int(section.basis.region[got.worst])].material
        assert worst.name == "across"
        by_wall = {
            r.material: r.utilisation
            for r in rows(section, load(N=10e3))
            if r.criterion is Criterion.MAX_STRAIN
        }
        assert by_wall["across"] == pytest.approx(got.greatest, rel=0.02)
        assert by_wall["along"] < 0.5 * by_wall["across"]
