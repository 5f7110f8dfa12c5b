"""The worst place of a case over its stations: by utilisation where all is judged, else by stress."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Polygon, box

from mastcheck.checks.governing import Governing, SectionFaces, governing
from mastcheck.checks.result import Criterion, LineResult
from mastcheck.material import Material
from mastcheck.section.model import ACTIONS, Region, SectionModel
from mastcheck.section.solve import solve_section
from mastcheck.source import Grade, Source
from mastcheck.strength.stress import station_stress
from tests.masts import ALUMINIUM

TEST = Source(title="invented for a test", grade=Grade.ASSUMED)
WEAK = replace(ALUMINIUM, name="weak", proof_strength=11e6, ultimate_strength=300e6)
SILENT = replace(ALUMINIUM, name="silent", proof_strength=None, ultimate_strength=None)
FOAM = Material(name="foam", E=90e6, G=27e6, density=80, source=TEST, shear_strength=0.2e6)
WIDTH, HEIGHT = 0.100, 0.020
M = ACTIONS.index("Mx")


def tube(material: Material, wall: float = 0.003, filling: Material | None = None) -> SectionModel:
    x, y = WIDTH / 2, HEIGHT / 2
    hole = box(-x + wall, -y + wall, x - wall, y - wall)
    parts = [Region(polygon=Polygon(box(-x, -y, x, y).exterior, [hole.exterior]), material=material)]
    if filling is not None:
        parts.append(Region(polygon=hole, material=filling))
    return solve_section(tuple(parts))


def bar(material: Material) -> SectionModel:
    """Solid: no face of it can buckle."""
    x, y = WIDTH / 2, HEIGHT / 2
    return solve_section((Region(polygon=box(-x, -y, x, y), material=material),))


@pytest.fixture(scope="module")
def strong() -> SectionModel:
    return bar(ALUMINIUM)


@pytest.fixture(scope="module")
def weak() -> SectionModel:
    return bar(WEAK)


@pytest.fixture(scope="module")
def silent() -> SectionModel:
    return bar(SILENT)


def found(sections: list[SectionModel], moments: list[float], **more: list[float]) -> Governing:
    """Of sections at even places of 0.6 m, under moments Mx (and more) of five nodes."""
    solved = SimpleNamespace(z=np.linspace(0, 0.6, len(sections)), sections=tuple(sections))
    z = np.linspace(0, 0.6, 5)
    resultants = np.zeros((5, len(ACTIONS)))
    resultants[:, M] = moments
    for name, values in more.items():
        resultants[:, ACTIONS.index(name)] = values
    line = LineResult(
        z=z, displacement=np.zeros((5, 3)), rotation=np.zeros((5, 3)), resultants=resultants
    )
    return governing(solved, SectionFaces.of(sections), line)  # type: ignore[arg-type]


def outer(section: SectionModel, moment: float) -> float:
    """Stress of the outermost fibre by M y / I [Pa]."""
    inertia = WIDTH * HEIGHT**3 / 12
    assert section.properties.EIxx / ALUMINIUM.E == pytest.approx(inertia, rel=1e-6)
    return moment * HEIGHT / 2 / inertia


def test_bending_governs_where_the_moment_is_greatest(strong: SectionModel) -> None:
    got = found([strong] * 3, [100.0, 200.0, 400.0, 300.0, 200.0])
    assert (got.station, got.z) == (1, 0.3)
    assert got.von_mises == pytest.approx(outer(strong, 400.0), rel=1e-6)
    assert got.xy is not None
    assert abs(got.xy[1]) == pytest.approx(HEIGHT / 2)
    assert got.material == "test aluminium"
    assert got.utilisation == pytest.approx(outer(strong, 400.0) / (250e6 / 1.10), rel=1e-6)
    # Stations lie between the nodes of the line too: its resultants are read there.
    assert got.along_z == pytest.approx(np.array([0.25, 1.0, 0.5]) * got.utilisation)
    assert got.field is not None
    assert got.field.max() == got.von_mises
    assert got.point_utilisation is not None
    assert got.point_utilisation.max() == pytest.approx(got.utilisation)


def test_resultants_are_read_between_the_nodes(strong: SectionModel) -> None:
    got = found([strong] * 4, [400.0, 300.0, 200.0, 100.0, 0.0])
    assert got.along_z is not None
    assert got.along_z / got.along_z[0] == pytest.approx([1.0, 2 / 3, 1 / 3, 0.0], abs=1e-9)


def test_utilisation_governs_before_stress(strong: SectionModel, weak: SectionModel) -> None:
    # Half the stress at the tip, at less than a twentieth of the strength.
    got = found([strong, weak], [400.0, 350.0, 300.0, 250.0, 200.0])
    assert (got.station, got.material) == (1, "weak")
    assert got.von_mises == pytest.approx(outer(weak, 200.0), rel=1e-6)
    assert got.utilisation == pytest.approx(outer(weak, 200.0) / (11e6 / 1.10), rel=1e-6)
    assert got.along_z == pytest.approx([outer(strong, 400.0) / (250e6 / 1.10), got.utilisation])


def test_one_station_without_a_strength_leaves_all_unjudged(
    weak: SectionModel, silent: SectionModel
) -> None:
    got = found([weak, silent], [200.0, 250.0, 300.0, 350.0, 400.0])
    assert (got.station, got.material) == (1, "silent")
    assert got.von_mises == pytest.approx(outer(silent, 400.0), rel=1e-6)
    assert got.utilisation is None
    assert got.along_z is None
    # What could be judged keeps its finding beside what could not.
    judged = {f.material: f.utilisation for f in got.findings if f.criterion is Criterion.VON_MISES}
    assert judged == {"weak": pytest.approx(outer(weak, 200.0) / 10e6, rel=1e-6), "silent": None}


def test_a_face_that_buckles_first_governs_the_utilisation() -> None:
    thin = tube(ALUMINIUM, 0.0008)
    got = found([thin] * 2, [60.0, 50.0, 40.0, 30.0, 20.0])
    used = {f.criterion: f.utilisation for f in got.findings}
    face, metal = used[Criterion.BUCKLING], used[Criterion.VON_MISES]
    assert face is not None
    assert metal is not None
    assert face > 1.2 * metal
    assert got.utilisation == pytest.approx(face)
    assert got.along_z is not None
    assert got.along_z[0] == pytest.approx(face)
    # The place and the map remain the material's.
    assert got.point_utilisation is not None
    assert got.point_utilisation.max() == pytest.approx(metal)


def test_the_core_is_named_where_it_is_the_worst() -> None:
    filled = tube(ALUMINIUM, filling=FOAM)
    got = found([filled] * 2, [0.0] * 5, Vx=[0.0] * 5, Vy=[4000.0] * 5)
    stress = station_stress(filled, np.array([4000.0 if a == "Vy" else 0.0 for a in ACTIONS]))
    assert got.material == "foam"
    assert got.utilisation == pytest.approx(np.nanmax(stress.utilisation))
    assert got.station == 0
    assert got.xy is not None
    assert abs(got.xy[1]) < HEIGHT / 2 - 0.0029


def test_faces_belong_to_their_section() -> None:
    strong, weak = tube(ALUMINIUM), tube(WEAK)
    both = SectionFaces.of([strong, weak, strong])
    assert {f.material.name for f in both[weak]} == {"weak"}
    assert {f.material.name for f in both[strong]} == {"test aluminium"}
