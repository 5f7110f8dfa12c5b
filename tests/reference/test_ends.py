"""What fixed ends add to twist: against laws that hold for it, and both ways to the tip.

The solid models (tests/solid) are the proof of its size. Here: with nu = 0 nothing contracts, so that
only the warping of torsion is held, which Vlasov's theory has (but for the shear that lets it die away);
dimensions give the powers of size and stiffness; a bar seen from its other side gives the signs.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon
from shapely.affinity import scale as scaled_about
from shapely.affinity import translate

from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.ends import spread
from mastcheck.beam.solve import FrameModel
from mastcheck.checks.stations import beam_of, solve_stations
from mastcheck.mast import Calibration
from mastcheck.material import Material
from mastcheck.outline import contour
from mastcheck.section.ends import GREATEST_NU, at_tip
from mastcheck.section.model import Region
from mastcheck.section.solve import solve_section
from mastcheck.source import PRACTICE
from tests.masts import mast

ELLIPSE = translate(Polygon(contour("ellipse", chord=0.12, thickness=0.03)).buffer(0), xoff=-0.06)


def isotropic(nu, E=70e9):
    return Material(name="test", E=E, G=E / (2 * (1 + nu)), density=2700.0, source=PRACTICE)


def solved(nu, *, E=70e9, polygon=ELLIPSE):
    return solve_section((Region(polygon=polygon, material=isotropic(nu, E)),), end=True)


def whole(nu):
    """The term of twist per torque that Vlasov's theory takes off [rad per N·m]."""
    p = solved(nu).properties
    return np.sqrt(p.EGamma / p.GJ) / p.GJ


def test_without_contraction_only_the_warping_of_torsion_is_held():
    # By a force or a moment nothing contracts, and warping of shear has nothing to do with twist in a
    # section of two axes of symmetry. Torsion's warping is held softer than Vlasov's by its shear.
    end = solved(0.0).end
    assert abs(end[5, :5]).max() < 1e-6 * end[5, 5]
    assert 0 < end[5, 5] < 0.25 * whole(0.0)


def test_the_thinner_the_section_the_nearer_it_comes_to_vlasov():
    def left(thickness):
        polygon = Polygon(contour("ellipse", chord=0.12, thickness=thickness)).buffer(0)
        of = solved(0.0, polygon=translate(polygon, xoff=-0.06))
        return of.end[5, 5] / np.sqrt(of.properties.EGamma / of.properties.GJ) * of.properties.GJ

    thick, thin = left(0.03), left(0.0075)
    assert 0 < thin < 0.5 * thick


def test_a_larger_and_a_stiffer_section_go_by_dimensions():
    shape = solve_stations(mast()).sections[0].regions[0].polygon
    big, small = (solved(0.33, polygon=scaled_about(shape, k, k, origin=(0, 0))).end for k in (1.0, 0.5))
    # Twist per torque goes as 1/size^3, twist per force as 1/size^2.
    for k, power in ((1, 2), (3, 3), (5, 3)):
        assert small[5, k] == pytest.approx(2.0**power * big[5, k], rel=1e-6)
    stiff = solved(0.33, E=140e9, polygon=shape).end
    assert stiff == pytest.approx(big / 2, rel=1e-6, abs=1e-9 * big[5, 5])


def test_only_twist_and_torque_have_terms():
    end = solve_stations(mast()).sections[0].end
    assert end == pytest.approx(end.T)
    assert not end[:5, :5].any()
    assert end[5, [1, 3, 5]].all()


def test_seen_from_the_other_side_twist_turns_with_bending():
    end = solve_stations(mast()).sections[0].end
    other = at_tip(end)
    assert (other[5, [0, 1, 5]] == end[5, [0, 1, 5]]).all()
    assert (other[5, [2, 3, 4]] == -end[5, [2, 3, 4]]).all()
    assert (at_tip(other) == end).all()


@pytest.mark.parametrize("nu", [-0.1, GREATEST_NU + 0.01])
def test_beyond_the_range_of_nu_nothing_is_added(nu):
    assert solved(nu).end is None


@pytest.mark.parametrize("tip", ["free", "restrained"])
@pytest.mark.parametrize("wall", [None, 0.0025])
def test_both_ways_to_the_tip_carry_the_ends(tip, wall):
    made = replace(mast(wall=wall), tip_warping=tip, taper_about=0.2)
    of = solve_stations(made)
    assert of.model.base_end is not None
    assert (of.model.tip_end is None) == (tip == "free")
    c = of.compliance
    plain = replace(of.sections[0], end=None), *of.sections[1:-1], replace(of.sections[-1], end=None)
    without = tip_compliance(beam_of(made, of.z, plain))
    scale = np.sqrt(np.outer(np.diag(c), np.diag(c)))
    assert np.abs((c - without) / scale).max() > 1e-4
    # Whether joints and kept places crowd the end or not.
    for keep in ([], [0.001, 0.0101, made.length - 0.002]):
        joint = np.diag([0, 0, 0, 1e-5, 1e-5, 1e-5])
        frame = FrameModel(of.model, keep=keep, base_joint=joint)
        root = np.eye(6)
        root[3, 1], root[4, 0] = -made.length, made.length
        expected = c + root.T @ joint @ root
        assert np.abs((frame.tip_compliance() - expected) / scale).max() < 1e-6
        assert np.linalg.eigvalsh(frame.k).min() > 0


def test_an_end_is_spread_whole_and_a_short_element_takes_less_than_its_length():
    of = solve_stations(mast(wall=0.0025))
    frame = FrameModel(of.model, keep=[0.002])
    parts = frame.end_shares[False]
    assert sum(part for _, part, _ in parts) == pytest.approx(1)
    reach = sum(frame.span[e] for e, _, _ in parts)
    assert 0.02 * 0.75 < reach < 0.2
    assert parts[0][1] < frame.span[0] / reach


def test_an_end_that_no_beam_can_hold_is_refused():
    frame = FrameModel(solve_stations(mast()).model)
    with pytest.raises(ValueError, match="half the beam"):
        spread(frame.z, np.linalg.inv(frame.k), -np.diag([0, 0, 0, 0, 0, 1.0]), at_tip=False)


def test_a_mast_too_short_for_its_end_is_left_to_vlasov():
    of = solve_stations(mast(wall=0.0025))
    assert beam_of(mast(wall=0.0025, length=0.28), of.z * 0.28 / 0.75, of.sections).base_end is None


def test_a_bench_factor_on_torsion_goes_with_the_end():
    factors = Calibration(
        factor_EI_side=1.2, factor_EI_fore_aft=0.9, factor_GJ=0.8, source="invented for a test"
    )
    made = mast()
    plain, soft = solve_stations(made), solve_stations(replace(made, calibration=factors))
    assert soft.model.base_end == pytest.approx(plain.model.base_end / 0.8)


@pytest.mark.parametrize("at_tip", [False, True])
@pytest.mark.parametrize(("share", "elements"), [(0.9, 2), (2.1, 5), (3.4, 7), (4.4, 9), (5.4, None)])
def test_an_end_reaches_as_far_as_its_elements_must(share, elements, at_tip):
    """By hand: m even elements each take 1/m of it, which may take half of their own twist and no more.

    So m is the first above twice its share of an element's twist, up to half of the twenty.
    """
    z = np.linspace(0.0, 2.0, 21)
    own = np.tile(np.diag([1e-6] * 5 + [4e-3] + [1e-6] * 2), (20, 1, 1))
    end = -np.diag([0, 0, 0, 0, 0, share * 4e-3])
    if elements is None:
        with pytest.raises(ValueError, match="half the beam"):
            spread(z, own, end, at_tip=at_tip)
        return
    found = spread(z, own, end, at_tip=at_tip)
    assert [e for e, _, _ in found] == [19 - k if at_tip else k for k in range(elements)]
    assert [part for _, part, _ in found] == pytest.approx([1 / elements] * elements)
    # From the element's middle to the end: toward the base for the tip, the other way for the base.
    arms = [(-1 if at_tip else 1) * 0.1 * (k + 0.5) for k in range(elements)]
    assert [arm for _, _, arm in found] == pytest.approx(arms)


def test_an_end_takes_a_fiftieth_of_the_whole_length_at_least():
    # Elements of 19 mm beside one of 300 mm: a fiftieth of the metre takes two of the short ones.
    z = np.append(np.linspace(0.0, 0.7, 37), 1.0)
    own = np.tile(np.diag([1e-6] * 5 + [4e-3] + [1e-6] * 2), (37, 1, 1))
    found = spread(z, own, -np.diag([0, 0, 0, 0, 0, 1e-6]), at_tip=False)
    assert [e for e, _, _ in found] == [0, 1]
