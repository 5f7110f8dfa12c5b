"""Tapered and evenly loaded cantilevers against closed forms.

Recomputed from the governing equations for this project; textbook results, named from memory
(Timoshenko & Goodier, Vlasov, Kirchhoff's pointed bars). Taper factors are ratios to the uniform bar of
the base section.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.model import BeamModel
from mastcheck.beam.modes import modes
from mastcheck.beam.solve import FrameModel
from tests.beams import EI, GJ, beam, properties, uniform
from tests.published import published

L = 0.8
POINTS = 400

both_ways = pytest.mark.parametrize(
    "compliance",
    [tip_compliance, lambda m: FrameModel(m).tip_compliance()],
    ids=["integral", "elements"],
)


def similar(r: float) -> BeamModel:
    """Sizes fall linearly to r of the base's."""
    return beam(*[properties(1 - (1 - r) * t) for t in np.linspace(0, 1, 5)])


def bending(r: float, power: int) -> BeamModel:
    """EI falls as a size that falls linearly to r, to the power given; all else stays."""
    return beam(*[properties(EIxx=EI * (1 - (1 - r) * t) ** power) for t in np.linspace(0, 1, 17)])


def spread(total: float) -> TipLoad:
    """A side load spread evenly over the length."""
    at = np.zeros((POINTS, 3))
    at[:, 2] = (np.arange(POINTS) + 0.5) / POINTS * L
    return TipLoad(spread=np.tile([0.0, total / POINTS, 0.0], (POINTS, 1)), spread_at=at)


def test_uniform_cantilever_under_a_spread_load() -> None:
    """w L⁴/8EI (textbook); points and elements leave less than 1e-4."""
    moved = FrameModel(uniform(), elements=100).solve_first_order([spread(1.0)])
    assert moved[0, 1] == pytest.approx(L**3 / (8 * EI), rel=1e-4)


@pytest.mark.parametrize(("r", "factor"), [(0.6, 1.483170), (0.7, published("BM-04a")), (0.8, 1.192212)])
def test_similar_taper_under_a_spread_load(r: float, factor: float) -> None:
    """Over w L⁴/8EI of the base section."""
    moved = FrameModel(similar(r), elements=100).solve_first_order([spread(1.0)])
    assert moved[0, 1] * 8 * EI / L**3 == pytest.approx(factor, rel=1e-4)


@both_ways
@pytest.mark.parametrize(("r", "factor"), [(0.6, 2.037037), (0.7, published("BM-04b")), (0.8, 1.354167)])
def test_slope_of_a_similar_taper(compliance, r: float, factor: float) -> None:
    """Tip slope under a tip load over P L²/2EI of the base section, recomputed."""
    assert -compliance(similar(r))[3, 1] * 2 * EI / L**2 == pytest.approx(factor, rel=1e-5)


@both_ways
@pytest.mark.parametrize(
    ("r", "power", "factor"),
    [
        (0.6, 3, 1.444951), (0.7, 3, published("BM-05")), (0.8, 3, 1.178832),
        (0.6, 1, 1.120182), (0.7, 1, published("BM-06")), (0.8, 1, 1.054452),
        (1.0, 3, 1.0),
    ],
)  # fmt: skip
def test_taper_in_depth_or_width_alone(compliance, r: float, power: int, factor: float) -> None:
    """Depth: [3/(1-r)³](-3/2 + 2r - r²/2 - ln r); width: the same integral with EI linear."""
    assert compliance(bending(r, power))[1, 1] * 3 * EI / L**3 == pytest.approx(factor, rel=1e-5)


@pytest.mark.parametrize(
    ("kL", "factor"), [(1.0, 0.09035157), (2.0, published("BM-12")), (5.0, 0.33947915)]
)
def test_spread_torque_with_warping_held_at_the_base(kL: float, factor: float) -> None:
    """φ GJ/mL² = 1/2 - tanh(kL)/kL + (1 - sech kL)/(kL)², solved as an equation and then matched.

    A torque spread over the mast is a spread side force ahead of the shear centre, less its bending.
    """
    # The force at x gives the torque x · Fy about the stacking line, where the shear centre is.
    x, at = 0.05, np.zeros((POINTS, 3))
    at[:, 0], at[:, 2] = x, (np.arange(POINTS) + 0.5) / POINTS * L
    load = TipLoad(spread=np.tile([0.0, 1 / POINTS, 0.0], (POINTS, 1)), spread_at=at)
    frame = FrameModel(uniform(EGamma=GJ * (L / kL) ** 2), elements=100)
    twist = frame.solve_first_order([load])[0, 5]
    assert twist * GJ / (x * L) == pytest.approx(factor, rel=2e-4)


@pytest.mark.parametrize("kL", [0.5, 1.0, 2.0, 5.0, 10.0])
def test_bimoment_at_the_base(kL: float) -> None:
    """B₀/TL = tanh(kL)/kL."""
    frame = FrameModel(uniform(EGamma=GJ * (L / kL) ** 2), elements=160)
    state = frame.solve([TipLoad(moment=(0, 0, 1e-2))])
    assert state.resultants[0, 0, 6] / (1e-2 * L) == pytest.approx(math.tanh(kL) / kL, rel=1e-3)


@both_ways
def test_shear_adds_to_bending(compliance) -> None:
    """PL³/3EI + PL/(κGA): rectangle of depth L/10, ν 0.3, κ 5/6: shear is 0.0078 of bending."""
    flexibility = 0.0078 * L**2 / (3 * EI)  # 1/(κGA)
    c = compliance(uniform(shear_flex_xx=flexibility, shear_flex_yy=flexibility))
    assert c[1, 1] * 3 * EI / L**3 == pytest.approx(1.0078, rel=1e-6)


@pytest.mark.parametrize(
    ("ratio", "second"),
    [(0.1, 4.399523), (0.5, 4.111133), (1.0, published("VB-03")), (5.0, 3.949981), (10.0, 3.938466)],
)
def test_second_mode_with_a_tip_mass(ratio: float, second: float) -> None:
    """β₂L of the cantilever with a mass at its tip; its limit, held at the tip: 3.9266."""
    model = uniform()
    tip = np.diag([1.0, 1.0, 1.0, 0, 0, 0]) * ratio * L
    found = modes(model, FrameModel(model, elements=60), tip=tip, count=16)
    sideways = np.abs(found.displacement[..., 1]).max(axis=1) > 0.05
    omega = 2 * np.pi * found.frequency[sideways][1] * np.sqrt(L**4 / EI)
    assert math.sqrt(omega) == pytest.approx(second, rel=1e-3)
