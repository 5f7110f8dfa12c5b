"""The fast solver against the open section library."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from mastcheck.mast import Construction, Web
from mastcheck.material import Material
from mastcheck.section.elements import gauss_points
from mastcheck.section.library import library_warping
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import Laplacian, solve_section, torsion
from mastcheck.source import PRACTICE
from tests.masts import mast

FOAM = Material(name="foam", E=80e6, G=30e6, density=80.0, source=PRACTICE)


def made(kind):
    if kind == "solid":
        return mast()
    hollow = mast(wall=0.0025)
    if kind == "hollow":
        return hollow
    webs = (Web(at=0.3, thickness=0.0025), Web(at=0.6, thickness=0.002, lean=0.3))
    if kind == "webs":
        return replace(hollow, section=replace(hollow.section, webs=webs))
    filled = replace(hollow.section, construction=Construction.SHELL_AND_CORE, core=FOAM, webs=webs)
    return replace(hollow, section=filled)


KINDS = ("solid", "hollow", "webs", "core")


@pytest.mark.parametrize("kind", KINDS)
def test_torsion_is_the_library_s_on_its_own_triangles(kind):
    # On one mesh the rest is algebra: GJ, and the shear strain of a unit twist rate at every Gauss
    # point (which does not depend on the pole), by the library and here.
    regions = regions_at(made(kind), 0.0)
    mesh, omega, pole, GJ = library_warping(regions)
    gauss = gauss_points(mesh)
    mine, own_pole, own_GJ = torsion(mesh, gauss, Laplacian(mesh, gauss))
    assert own_GJ == pytest.approx(GJ, rel=1e-8)
    strains = []
    for w, (px, py) in ((omega, pole), (mine, own_pole)):
        slope = np.einsum("mqij,mj->mqi", gauss.B, w[mesh.triangles])
        strains.append(slope + np.stack([-(gauss.y - py), gauss.x - px], axis=-1))
    assert np.abs(strains[1] - strains[0]).max() < 1e-8 * np.abs(strains[0]).max()


@pytest.mark.parametrize("kind", KINDS)
def test_whole_sections_agree_on_meshes_of_one_fineness(kind):
    # The library hands the mesher the same points in another order, so some triangles differ: as much
    # as two meshes of one fineness may.
    regions = regions_at(made(kind), 0.0)
    p, q = (solve_section(regions, solver=solver).properties for solver in ("fast", "library"))
    for name in ("EA", "EIxx", "EIyy", "area", "mass_per_length", "centroid_x"):
        assert getattr(p, name) == pytest.approx(getattr(q, name), rel=1e-9), name
    for name in ("GJ", "shear_flex_xx", "shear_flex_yy", "shear_centre_x"):
        assert getattr(p, name) == pytest.approx(getattr(q, name), rel=2e-5), name
    # Thin walls' warping needs three times these triangles for 0.5 %: between two meshes, a fifth of it.
    assert p.EGamma == pytest.approx(q.EGamma, rel=1e-3)
