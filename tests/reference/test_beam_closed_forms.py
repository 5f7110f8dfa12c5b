"""Beam against closed forms.

Every number here was recomputed from its governing equation for this project; printed pages of
Timoshenko & Goodier, Theory of Elasticity; Timoshenko & Gere, Theory of Elastic Stability; and
Vlasov, Thin-Walled Elastic Beams are named from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from mastcheck.beam.buckling import buckling
from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.solve import FrameModel, TipLoad
from tests.beams import EI, GJ, beam, properties, uniform
from tests.published import published

L = 0.8
EULER = math.pi**2 / 4 * EI / L**2

both_ways = pytest.mark.parametrize(
    "compliance",
    [tip_compliance, lambda m: FrameModel(m).tip_compliance()],
    ids=["integral", "elements"],
)


@both_ways
def test_uniform_cantilever(compliance) -> None:
    """P L³/3EI, P L²/2EI, M L/EI (textbook)."""
    c = compliance(uniform())
    assert c[1, 1] == pytest.approx(L**3 / (3 * EI), rel=1e-6)
    assert c[3, 1] == pytest.approx(-(L**2) / (2 * EI), rel=1e-6)
    assert c[3, 3] == pytest.approx(L / EI, rel=1e-6)


@both_ways
@pytest.mark.parametrize(
    ("r", "twist"), [(0.6, published("BM-03b")), (0.7, published("BM-03a")), (0.8, 1.588542)]
)
def test_similar_taper(compliance, r: float, twist: float) -> None:
    """Similar linear taper: deflection 1/r and twist (1 + r + r²)/3r³ times the uniform one."""
    c = compliance(beam(*[properties(1 - (1 - r) * t) for t in np.linspace(0, 1, 5)]))
    assert c[1, 1] * 3 * EI / L**3 == pytest.approx(1 / r, rel=1e-5)
    assert c[5, 5] * GJ / L == pytest.approx(twist, rel=1e-5)


@both_ways
@pytest.mark.parametrize(
    ("kL", "factor"),
    [
        (0.5, 0.07576569),
        (1, published("BM-10a")),
        (2, 0.51798621),
        (5, 0.80001816),
        (10, 0.9),
        (20, 0.95),
    ],
)
def test_restrained_warping(compliance, kL: float, factor: float) -> None:
    """Vlasov: φ GJ/TL = 1 - tanh(kL)/kL."""
    c = compliance(uniform(EGamma=GJ * (L / kL) ** 2))
    assert c[5, 5] * GJ / L == pytest.approx(factor, rel=1e-5)


def test_root_bimoment() -> None:
    """B₀ = T L tanh(kL)/kL; positive torque, positive twist rate growing from zero."""
    state = FrameModel(uniform(EGamma=GJ * (L / 5) ** 2)).solve([TipLoad(moment=(0, 0, 1e-2))])
    assert state.resultants[0, 0, 6] == pytest.approx(1e-2 * L * 0.19998184, rel=1e-4)


@both_ways
def test_cubic_length_law(compliance) -> None:
    """30 in against 26 in sideways: (30/26)³ = 1.536, mounted rigidly (common lengths, no source)."""
    long, short = (compliance(uniform(length=inch * 0.0254))[1, 1] for inch in (30, 26))
    assert long / short == pytest.approx(1.536, rel=1e-3)


def test_rigidly_offset_sections_couple_as_statics_says() -> None:
    """A side force at the stacking line twists by xs about a shear centre at xs aft."""
    c = tip_compliance(uniform(shear_centre_x=0.01))
    assert c[5, 1] == pytest.approx(-0.01 * L / GJ, rel=1e-4)


@pytest.mark.parametrize(
    ("share", "deflection", "moment", "secant"),
    [
        (0.1, 1.1096480, 1.0912649, 1.1374677),
        (0.3, published("ST-20a"), 1.3510653, 1.5333563),
        (0.5, 1.9862878, published("ST-21"), published("ST-22")),
        (0.8, published("ST-20b"), 4.2526172, 6.0578769),
    ],
)
def test_beam_column(share: float, deflection: float, moment: float, secant: float) -> None:
    """Side load with thrust: 3(tan u - u)/u³ and tan u/u; eccentric thrust: sec u.

    The finest figure is limited by forty elements: 0.05 % at 0.8 of the buckling load.
    """
    n = share * EULER
    frame = FrameModel(uniform())
    loads = [TipLoad(lift=n, force=(0, 1e-2, 0)), TipLoad(lift=n, arm=(0, 1e-6, 0))]
    state, first = frame.solve(loads), frame.solve_first_order(loads)
    assert state.displacement[0, -1, 1] / first[0, 1] == pytest.approx(deflection, rel=1e-3)
    assert -state.resultants[0, 0, 3] / (1e-2 * L) == pytest.approx(moment, rel=1e-3)
    assert abs(state.resultants[1, 0, 3]) / (n * 1e-6) == pytest.approx(secant, rel=1e-3)


@pytest.mark.parametrize(
    ("h_over_L", "factor"),
    [(0.0, math.pi**2), (1.0, 4.1159), (4 / 3, 3.7626), (None, math.pi**2 / 4)],
)
def test_column_loaded_toward_a_fixed_point(h_over_L: float | None, factor: float) -> None:
    """P = k² EI with tan kL = -k h; dead load: Euler's π²/4."""
    aim = None if h_over_L is None else -h_over_L * L
    got = buckling(FrameModel(uniform()), [TipLoad(lift=EI / L**2, aim=aim)]).factor
    assert got[0] == pytest.approx(factor, rel=1e-3)


@pytest.mark.parametrize(
    ("ratio", "m"), [(0.2, published("ST-03a")), (0.5, published("ST-03b")), (0.8, 2.30836)]
)
def test_tapered_column(ratio: float, m: float) -> None:
    """Similar taper, I ∝ x⁴, load at the thin end, I_tip/I_base = ratio: P = m EI_base/L²."""
    r = ratio**0.25
    model = beam(*[properties(1 - (1 - r) * t) for t in np.linspace(0, 1, 7)])
    got = buckling(FrameModel(model), [TipLoad(lift=EI / L**2)]).factor[0]
    assert got == pytest.approx(m, rel=1e-3)


def test_lateral_torsional_buckling() -> None:
    """Cantilever with a tip load in its stiff plane: 4.0125993 sqrt(EI GJ)/L²."""
    frame = FrameModel(uniform(EIyy=1e7, EGamma=GJ * 1e-8))
    got = buckling(frame, [TipLoad(force=(math.sqrt(EI * GJ) / L**2, 0, 0))]).factor
    assert got[0] == pytest.approx(published("ST-10"), rel=1e-3)


def test_tension_never_buckles() -> None:
    assert math.isinf(buckling(FrameModel(uniform()), [TipLoad(lift=-1.0)]).factor[0])


def test_large_rotation_against_the_elastica() -> None:
    """Pure tip moment bends a uniform beam to a circle: the tip lies on radius EI/M, exactly."""
    moment = math.pi / 2 * EI / L
    state = FrameModel(uniform(EA=1e10)).solve([TipLoad(moment=(moment, 0, 0))])
    radius = EI / moment
    assert state.rotation[0, -1, 0] == pytest.approx(math.pi / 2, rel=1e-3)
    assert -state.displacement[0, -1, 1] == pytest.approx(radius, rel=1e-3)
    assert L + state.displacement[0, -1, 2] == pytest.approx(radius, rel=1e-3)


def test_independent_frame_program() -> None:
    """Tip compliance of a stepped beam against an independent open frame library."""
    pynite = pytest.importorskip("Pynite", reason="test extra brings PyNiteFEA")
    frame = pynite.FEModel3D()
    frame.add_material("m", 1.0, 1.0, 0.0, 0.0)
    steps = 40
    frame.add_node("0", 0, 0, 0)
    for i in range(steps):
        s = 1 - 0.3 * (i + 0.5) / steps
        frame.add_node(str(i + 1), L * (i + 1) / steps, 0, 0)
        frame.add_section(f"s{i}", 1e9, EI * s**4, 50_000 * s**4, GJ * s**4)
        frame.add_member(f"e{i}", str(i), str(i + 1), "m", f"s{i}")
    frame.def_support("0", *[True] * 6)
    frame.add_node_load(str(steps), "FZ", 1.0)
    frame.add_node_load(str(steps), "MX", 1.0)
    frame.analyze_linear()
    node = frame.nodes[str(steps)]
    c = tip_compliance(beam(*[properties(1 - 0.3 * t) for t in np.linspace(0, 1, 5)]))
    # Steps of constant section leave some 0.02 % with forty of them.
    assert c[1, 1] == pytest.approx(abs(node.DZ["Combo 1"]), rel=1e-3)
    assert c[5, 5] == pytest.approx(abs(node.RX["Combo 1"]), rel=1e-3)
