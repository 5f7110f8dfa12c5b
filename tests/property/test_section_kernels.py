"""The fast kernel is the open library's equal, on the library's own triangles, whatever is built.

Second way: the library (sectionproperties) by itself, run E-weighted and G-weighted with ν = 0; what is
compared with what is told in ``mastcheck.section.twoways``.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity, box

from mastcheck.laminate import Lamina, Laminate, Ply
from mastcheck.mast import Channel, Construction, Mast, OutlineKind, SectionRecipe, Station, Web
from mastcheck.material import Material, laminate_material
from mastcheck.section import twoways
from mastcheck.section.model import Region
from mastcheck.section.regions import cut_to, regions_at
from mastcheck.section.solve import check_regions
from mastcheck.section.twoways import differences
from mastcheck.source import PRACTICE
from tests.masts import mast

METAL = Material(name="metal", E=70e9, G=26e9, density=2700.0, source=PRACTICE)
FOAM = Material(name="foam", E=100e6, G=40e6, density=80.0, source=PRACTICE)
UNIDIRECTIONAL = Lamina(
    name="tape", E1=120e9, E2=8e9, G12=4e9, nu12=0.3, density=1550.0, source=PRACTICE
)
LIMIT = 1e-8
"""Of every relative difference (EΓ's library value completed: its rule leaves 1e-6 to 2e-5 out)."""

COARSE = 250

KINDS = ("solid", "hollow", "core", "laminate", "drawn")


def skin(angles: tuple[float, ...]) -> Material:
    plies = tuple(Ply(lamina=UNIDIRECTIONAL, angle=a, thickness=0.5e-3) for a in angles)
    return laminate_material("laminate", Laminate(plies=plies))


@st.composite
def sections(draw: st.DrawFn, kind: str) -> tuple[Region, ...]:
    """A section of one kind, bored or with webs, whole or with its symmetry cut away."""
    chord = draw(st.floats(0.07, 0.18))
    thickness = chord * draw(st.floats(0.10, 0.20))
    wall = thickness * draw(st.floats(0.08, 0.22))
    if kind == "drawn":
        return draw(drawn(chord, thickness))
    recipe = SectionRecipe(
        outline=draw(st.sampled_from(list(OutlineKind))),
        construction={"solid": Construction.SOLID, "hollow": Construction.HOLLOW}.get(
            kind, Construction.SHELL_AND_CORE
        ),
        material=METAL,
        core=FOAM,
        trailing_edge_radius=draw(st.sampled_from([0.0, 0.0005])),
    )
    if kind == "laminate":
        angles = draw(st.sampled_from([(0.0, 45.0, -45.0, 0.0), (45.0, -45.0, -45.0, 45.0)]))
        recipe = replace(recipe, material=skin(tuple(map(math.radians, angles))))
    elif kind != "solid":
        places = st.floats(0.25, 0.65)
        lean = st.floats(-0.5, 0.5)
        web = st.builds(Web, at=places, thickness=st.just(wall), lean=lean)
        recipe = replace(recipe, webs=tuple(draw(st.lists(web, max_size=1))))
    else:
        bore = st.builds(Channel, at=st.just(0.3), bore=st.just(thickness / 3), boss=st.just(0.0))
        recipe = replace(recipe, channels=tuple(draw(st.lists(bore, max_size=1))))
    ends = tuple(Station(at=at, chord=chord, thickness=thickness, wall=wall) for at in (0.0, 1.0))
    regions = regions_at(Mast(name="m", length=0.75, stations=ends, section=recipe), 0.0, panels=60)
    if draw(st.booleans()):
        # No axis of symmetry is left: the tail's port half is cut away.
        return cut_to(regions, Polygon([(-1, -1), (1, -1), (1, 0), (0.1 * chord, 1), (-1, 1)]))
    return regions


@st.composite
def drawn(draw: st.DrawFn, width: float, height: float) -> tuple[Region, ...]:
    """A box of three materials side by side, turned."""
    places = [0.0, draw(st.floats(0.2, 0.4)), draw(st.floats(0.5, 0.8)), 1.0]
    moduli = st.tuples(st.floats(1e8, 2e11), st.floats(0.05, 1.0))
    turn = draw(st.floats(-40, 40))
    whole = []
    for i in range(3):
        a, b = places[i] * width, places[i + 1] * width
        E, share = draw(moduli)
        material = Material(name=f"m{i}", E=E, G=E * share, density=1e3, source=PRACTICE)
        polygon = affinity.rotate(
            Polygon([(a, 0), (b, 0), (b, height), (a, height)]), turn, origin=(0, 0)
        )
        whole.append(Region(polygon=polygon, material=material))
    return cut_to(whole, box(-1, -1, 1, 1))  # their common edges share points to the last bit


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=4, deadline=None, derandomize=True)
@given(data=st.data())
def test_kernel_and_library_agree_on_every_property_and_stress(kind: str, data: st.DataObject) -> None:
    regions = data.draw(sections(kind))
    check_regions(regions)
    found = differences(regions, COARSE)
    assert {d.name for d in found} >= {"EA", "GJ", "EGamma", "shear_centre_x", "N", "Vx", "Vy", "T"}
    worst = max(found, key=lambda d: d.value)
    assert np.isfinite(worst.value)
    assert worst.value < LIMIT, worst


def test_a_difference_is_seen() -> None:
    # The comparison can fail: a library run with one modulus a millionth off shows it.
    regions = regions_at(mast(), 0.0)
    library = twoways.library_section(regions, "E", COARSE)
    off = replace(library.mesh, G=library.mesh.G * (1 + 1e-6))
    found = twoways._compared(library, twoways._own(off), "E", ("GJ", "shear_flex_yy", "EA"))
    values = {d.name: d.value for d in found}
    assert values["GJ"] == pytest.approx(1e-6, rel=1e-3)
    assert values["shear_flex_yy"] == pytest.approx(1e-6, rel=1e-3)
    assert values["EA"] < LIMIT
