"""The beam against 3D quadratic solids with a fully fixed root, of the same polygons.

Solids: gmsh's triangles of the section carried along the mast as 15-node wedges, solved by CalculiX.
Two tips: free (loads are tractions, the face warps and contracts) against the beam's free tip, and
rigid (the face is one rigid body) against the beam's restrained warping.

Limits are targets set before the solids were run: 2 % on bending terms with the beam on the soft
side, 1.5 % on frequencies, 2 % on the buckling load, 5 % on stress away from the ends. Those of twist
were 1.2 % under torque, 4 % per side force and 24 % per roll moment, and the hollow mast with a rigid
tip missed the first by Vlasov's theory; with the fixed ends modelled they are held to what the report
says: 0.5 %, 1.5 % and 12 % (found: 0.2 %, 1.1 % and 11.3 %).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.solid import beam, compare, solve
from tests.solid.loads import resultants, unit_loads
from tests.solid.masts import MASTS
from tests.solid.mesh import solid

REASON = compare.missing()
pytestmark = [pytest.mark.solid, pytest.mark.skipif(bool(REASON), reason=str(REASON))]

ALWAYS = "tapered"
NAMES = [ALWAYS, *(pytest.param(n, marks=pytest.mark.solid_all) for n in MASTS if n != ALWAYS)]
TIPS = pytest.mark.parametrize("rigid", [False, True], ids=["free tip", "rigid tip"])
EVERY = pytest.mark.parametrize("name", NAMES)

BENDING = [name for name in compare.QUANTITIES if "twist" not in name]
ASKED = (1, 3, 5)
"""Columns solved with a rigid tip: Fy, Mx, Mz. The others differ from the free tip's hardly at all."""


def terms(name, rigid):
    of = compare.known(name)
    found = compare.rigid_tip(of, ASKED) if rigid else compare.free_tip(of).compliance
    return compare.beam_compliance(of, rigid=rigid), found


@EVERY
@TIPS
def test_bending_terms(name, rigid):
    ours, theirs = terms(name, rigid)
    for what in BENDING:
        at = compare.QUANTITIES[what]
        if not np.isnan(theirs[at]):
            assert ours[at] == pytest.approx(theirs[at], rel=0.02), what


@EVERY
def test_a_force_bends_the_beam_no_less_than_the_solid(name):
    # The solid's fixed root also holds back the contraction that goes with bending.
    ours, theirs = terms(name, rigid=False)
    assert ours[1, 1] >= theirs[1, 1]
    assert ours[0, 0] >= theirs[0, 0]


@EVERY
@TIPS
def test_twist_under_torque(name, rigid):
    ours, theirs = terms(name, rigid)
    assert ours[5, 5] == pytest.approx(theirs[5, 5], rel=0.005)


@EVERY
@TIPS
def test_twist_per_side_force(name, rigid):
    ours, theirs = terms(name, rigid)
    assert ours[5, 1] == pytest.approx(theirs[5, 1], rel=0.015)


@EVERY
@TIPS
def test_twist_per_roll_moment_has_the_right_sign_and_size(name, rigid):
    # A small term: of the taper, and of the fixed root, which the beam takes as if it were uniform near
    # it. A uniform mast has the root's alone, and with a rigid tip the tip's takes it off again: next
    # to nothing beside twist and roll.
    ours, theirs = terms(name, rigid)
    if name == "uniform":
        assert abs(ours[5, 3] - theirs[5, 3]) < 0.001 * np.sqrt(theirs[5, 5] * theirs[3, 3])
    else:
        assert ours[5, 3] == pytest.approx(theirs[5, 3], rel=0.12)


@pytest.mark.parametrize("name", [ALWAYS, pytest.param("hollow", marks=pytest.mark.solid_all)])
def test_the_taper_coupling_is_needed(name):
    of = compare.known(name)
    _, theirs = terms(name, rigid=False)
    plain = compare.beam_compliance(of, rigid=False, coupled=False)
    assert abs(plain[5, 1] / theirs[5, 1] - 1) > 0.08


@EVERY
def test_the_solid_is_reciprocal(name):
    _, found = terms(name, rigid=False)
    scale = np.sqrt(np.outer(np.diag(found), np.diag(found)))
    assert np.abs((found - found.T) / scale).max() < 1e-5


@EVERY
def test_frequencies(name):
    ours, theirs = compare.frequencies(compare.known(name))
    assert ours == pytest.approx(theirs, rel=0.015)


@EVERY
def test_buckling_load(name):
    ours, theirs = compare.buckling_loads(compare.known(name))
    assert ours == pytest.approx(theirs, rel=0.02)


@EVERY
@pytest.mark.parametrize("column", [1, 0], ids=["side force", "fore-aft force"])
def test_bending_stress_at_half_length(name, column):
    # At every point of integration of the middle section, against the greatest of them.
    ours, theirs = (s[:, 0, column] for s in compare.middle_stress(compare.known(name)))
    assert np.abs(ours - theirs).max() < 0.05 * np.abs(theirs).max()


@EVERY
def test_shear_stress_of_a_torque_at_half_length(name):
    of = compare.known(name)
    far = compare.away_from_corners(of)
    assert far.mean() > 0.7
    ours, theirs = (s[far, 1:, 5] for s in compare.middle_stress(of))
    assert np.abs(ours - theirs).max() < 0.05 * np.abs(theirs).max()


@pytest.mark.solid_all
def test_a_finer_solid_says_the_same(tmp_path):
    # Edges and layers of half the size: the terms move by far less than the limits above.
    of = compare.known("tapered")
    size, layers, finest = compare.MESHES["tapered"]
    finer = solid(of.mast, size=size / 2, layers=2 * layers - 1, finest=finest / 2)
    assert len(finer.nodes) > 3 * len(of.solid.nodes)
    material = of.mast.section.material
    coarse = compare.free_tip(of).compliance
    fine = solve.free_tip(tmp_path, finer, material, (1, 5)).compliance
    for row, column in ((1, 1), (3, 1), (5, 1), (5, 5)):
        assert coarse[row, column] == pytest.approx(fine[row, column], rel=0.002)
    assert compare.buckling_loads(of)[1] == pytest.approx(
        solve.buckling_load(tmp_path, finer, material), rel=0.001
    )


@pytest.mark.solid_all
def test_without_contraction_beam_and_solid_agree_closely(tmp_path):
    # What the limits above leave open is the fixed root holding back contraction: with no Poisson's
    # ratio the same mast, on the same mesh, agrees ten times better.
    material = MASTS["uniform"].section.material
    material = replace(material, G=material.E / 2)
    mast = replace(MASTS["uniform"], section=replace(MASTS["uniform"].section, material=material))
    of = compare.pair(mast, compare.MESHES["uniform"], tmp_path)
    ours = compare.beam_compliance(of, rigid=False)
    theirs = solve.free_tip(tmp_path, of.solid, material, (1, 3, 5)).compliance
    for at in ((1, 1), (3, 1), (3, 3)):
        assert ours[at] == pytest.approx(theirs[at], rel=0.001)
    for at in ((5, 1), (5, 5)):
        assert ours[at] == pytest.approx(theirs[at], rel=0.003)


@pytest.mark.solid_all
def test_large_deflection_beside_the_axis():
    # Rider and board of 93 kg landing at 3 g, 50 mm beside the mast: 29 mm by first order, 53 mm by
    # a geometrically nonlinear solid, 1.79 times as much (the design's own figures).
    of = compare.known("tapered")
    push, off = 93 * 9.80665 * 3, 0.05
    first, second = beam.beside_the_axis(beam.model(of.mast, of.found), push, off)
    _, theirs = terms("tapered", rigid=False)
    linear = -theirs[1, 3] * push * off
    large = solve.large_deflection(of.folder, of.solid, of.mast.section.material, push, off)
    assert abs(linear) == pytest.approx(0.029, abs=0.0005)
    assert abs(large) == pytest.approx(0.053, abs=0.0005)
    assert second == pytest.approx(large, rel=0.02)
    assert second / first == pytest.approx(large / linear, rel=0.01)


def test_unit_loads_have_unit_resultants():
    # The nodal forces alone, without CalculiX: six unit loads about the stacking line, nothing else.
    mast = MASTS["hollow"]
    mesh = solid(mast, size=0.02, layers=3, finest=0.1)
    for face in (mesh.face, mesh.root_face):
        nodes, unit = unit_loads(mesh, face)
        assert resultants(mesh, nodes, unit) == pytest.approx(np.eye(6), abs=1e-9)
