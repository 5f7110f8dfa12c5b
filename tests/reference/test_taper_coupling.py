"""The couplings of bending and twist by a taper, against closed forms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box
from shapely.affinity import translate

from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.model import BeamModel
from mastcheck.beam.solve import FrameModel
from mastcheck.checks.stations import solve_stations
from mastcheck.material import Material
from mastcheck.outline import contour
from mastcheck.section.model import Motion, Region
from mastcheck.section.solve import solve_section
from mastcheck.source import PRACTICE
from tests.masts import mast

STEP, LENGTH = 1e-4, 1.0


def isotropic(nu, E=70e9):
    return Material(name="test", E=E, G=E / (2 * (1 + nu)), density=2700.0, source=PRACTICE)


def leaning(polygon, material, slope, *, off=0.0):
    """Beam of one section whose place drifts aft by ``slope`` per length; no warping restraint."""

    def at(z):
        return (Region(polygon=translate(polygon, xoff=off + slope * z), material=material),)

    z = np.linspace(0.0, LENGTH, 4)
    properties = [
        replace(
            solve_section(
                at(p),
                before=Motion(regions=at(p - STEP), step=-STEP),
                after=Motion(regions=at(p + STEP), step=STEP),
            ).properties,
            EGamma=0.0,
        )
        for p in z
    ]
    return BeamModel(z, properties, [0.0, LENGTH]), properties[0]


@pytest.mark.parametrize("nu", [0.0, 0.2, 0.33, 0.45])
@pytest.mark.parametrize("off", [0.0, 0.03])
def test_an_inclined_strip_twists_as_its_rotated_axes_say(nu, off):
    # A thin strip bent about x while its own axis leans by b to z: M has parts about and along its
    # axis, and its turning has too, so it twists about z by b M (1/GJ - 1/EI) per length (rotation
    # of axes, first order in b; the 100 x 1 mm strip's GJ/EI is within 0.7 % of 2/(1 + nu)).
    b = 0.02
    strip = box(-0.05, -0.0005, 0.05, 0.0005)
    model, p = leaning(strip, isotropic(nu), b, off=off)
    exact = b * (1 / p.GJ - 1 / p.EIxx) * LENGTH
    assert tip_compliance(model)[5, 3] == pytest.approx(exact, abs=0.01 * b * LENGTH / p.GJ)
    assert FrameModel(model).tip_compliance()[5, 3] == pytest.approx(tip_compliance(model)[5, 3])


@pytest.mark.parametrize("nu", [0.0, 0.33])
def test_a_thick_leaning_bar_agrees_too(nu):
    # The same rotation of axes holds for any section; an ellipse has closed GJ and EI, and its
    # contraction is not that of a thin strip.
    b, a, c = 0.02, 0.05, 0.02
    ellipse = Polygon(contour("ellipse", chord=2 * a, thickness=2 * c)).buffer(0)
    model, p = leaning(translate(ellipse, xoff=-a), isotropic(nu), b)
    exact = b * (1 / p.GJ - 1 / p.EIxx) * LENGTH
    assert tip_compliance(model)[5, 3] == pytest.approx(exact, rel=0.02, abs=0.002 * b / p.GJ)


def test_both_ways_to_the_tip_carry_the_coupling():
    for wall in (None, 0.003):
        solved = solve_stations(replace(mast(wall=wall), taper_about=0.2))
        c, fe = solved.compliance, FrameModel(solved.model).tip_compliance()
        scale = np.sqrt(np.outer(np.diag(c), np.diag(c)))
        assert np.abs((c - fe) / scale).max() < 1e-8
        assert np.abs((c - c.T) / scale).max() < 1e-9
        # Left out, twist under roll moment would be nil; it is not.
        assert abs(c[5, 3]) > 1e-3 * np.sqrt(c[5, 5] * c[3, 3])


def test_a_uniform_mast_has_no_taper_to_couple():
    solved = solve_stations(mast((0.12, 0.015), (0.12, 0.015)))
    assert solved.sections[0].properties.fibre_after == (0.0, 0.0, 0.0)
    # What is left of twist under a roll moment is its fixed root's, by a section that has no taper.
    end = solved.sections[0].end
    assert end is not None
    assert abs(solved.compliance[5, 3] - end[5, 3]) < 1e-12 * solved.compliance[5, 5]
