"""Properties along the mast: exact for similar sections in a straight taper, and each side of a kink."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from mastcheck.beam.model import BeamModel
from mastcheck.section.model import SectionProperties
from tests.beams import properties

LENGTH = 0.8
# How each property of similar sections of one material grows with their size, by dimensions.
GROWS = {
    "EA": 2, "EIxx": 4, "EIyy": 4, "GJ": 4, "EGamma": 6, "shear_flex_xx": -2, "shear_flex_yy": -2,
    "centroid_x": 1, "centroid_y": 1, "shear_centre_x": 1, "shear_centre_y": 1, "mass_per_length": 2,
}  # fmt: skip
UNIT = properties(
    EIxy=0.0, EGamma=0.3, shear_flex_xx=2e-8, shear_flex_yy=7e-8, centroid_x=0.01, centroid_y=0.002,
    shear_centre_x=-0.004, shear_centre_y=0.003, mass_per_length=1.7,
)  # fmt: skip


def similar(size: float) -> SectionProperties:
    return replace(UNIT, **{name: getattr(UNIT, name) * size**n for name, n in GROWS.items()})


def kinked(z: np.ndarray) -> np.ndarray:
    """Sizes of a mast that tapers slowly to its middle and fast from there."""
    return np.interp(z, [0.0, LENGTH / 2, LENGTH], [1.2, 1.0, 0.6])


@pytest.fixture
def model() -> BeamModel:
    z = np.linspace(0, LENGTH, 7)
    return BeamModel(z, [similar(s) for s in kinked(z)], [0.0, LENGTH / 2, LENGTH])


@pytest.mark.parametrize("name", list(GROWS))
def test_similar_sections_in_a_straight_taper_are_exact_everywhere(model: BeamModel, name: str) -> None:
    z = np.linspace(0, LENGTH, 33)
    exact = getattr(UNIT, name) * kinked(z) ** GROWS[name]
    assert model.at(z)[name] == pytest.approx(exact, rel=1e-9)
    # Any shape of places, and either side of the kink by its number.
    assert model.at(z.reshape(3, 11))[name] == pytest.approx(exact.reshape(3, 11), rel=1e-9)
    middle = np.array([LENGTH / 2])
    for side in (0, 1):
        assert model.at(middle, side)[name] == pytest.approx(getattr(UNIT, name), rel=1e-9)
    # Carried on past the kink, the slow taper is not the fast one.
    beyond = getattr(UNIT, name) * 0.9 ** GROWS[name]
    assert model.at(np.array([0.6]), 0)[name] == pytest.approx(beyond, rel=1e-9)


def test_at_a_kink_each_side_has_its_own_taper() -> None:
    z = np.linspace(0, LENGTH, 5)
    sections = [replace(UNIT, fibre_before=(1.0, 2.0, 3.0), fibre_after=(1.0, 2.0, 3.0)) for _ in z]
    sections[2] = replace(UNIT, fibre_before=(1.0, 2.0, 3.0), fibre_after=(5.0, 6.0, 7.0))
    sections[3:] = [replace(UNIT, fibre_before=(5.0, 6.0, 7.0), fibre_after=(5.0, 6.0, 7.0))] * 2
    model = BeamModel(z, sections, [0.0, LENGTH / 2, LENGTH])
    middle = np.array([LENGTH / 2])
    for side, first in ((0, 1.0), (1, 5.0), (None, 5.0)):
        assert model.at(middle, side)["fibre_e"] == pytest.approx([first])


def test_the_mass_is_that_of_the_frusta() -> None:
    """A straight taper of similar sections is a frustum: m L (a² + a b + b²)/3."""
    z = np.linspace(0, LENGTH, 7)
    model = BeamModel(z, [similar(s) for s in kinked(z)], [0.0, LENGTH / 2, LENGTH])
    parts = [(a * a + a * b + b * b) / 3 for a, b in ((1.2, 1.0), (1.0, 0.6))]
    assert model.mass() == pytest.approx(1.7 * LENGTH / 2 * sum(parts), rel=1e-9)


def test_the_inertia_of_a_slice_is_that_of_its_points() -> None:
    """Points of a slice move by u + θ × r: the sum of their masses' JᵀJ, taken one by one."""
    rng = np.random.default_rng(4)
    masses, x, y = rng.uniform(0.1, 1.0, 9), rng.normal(size=9) + 0.3, rng.normal(size=9) - 0.2
    moments = (masses @ x, masses @ y, masses @ y**2, masses @ x**2, masses @ (x * y))
    section = replace(UNIT, mass_per_length=float(masses.sum()), mass_moments=moments)
    z = np.linspace(0, LENGTH, 4)
    model = BeamModel(z, [section] * 4, [0.0, LENGTH])
    whole = np.zeros((6, 6))
    for m, a, b in zip(masses, x, y, strict=True):
        across = np.array([[0.0, -0.0, b], [0.0, 0.0, -a], [-b, a, 0.0]])  # r × of r = (a, b, 0)
        jacobian = np.hstack([np.eye(3), -across])
        whole += m * jacobian.T @ jacobian
    assert model.inertia(np.array([0.1, 0.5])) == pytest.approx(
        np.array([whole] * 2), rel=1e-9, abs=1e-12
    )
