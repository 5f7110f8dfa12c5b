"""Motion against closed forms and tables.

Potential flow: Newman, Marine Hydrodynamics; Blevins, Formulas for Natural Frequency and Mode Shape
(from memory; numbers recomputed). Divergence: Bisplinghoff, Ashley and Halfman, Aeroelasticity
(formulas from memory; numbers recomputed). Shedding: Strouhal's relation.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import scipy.linalg
from scipy.optimize import brentq

from mastcheck.beam.solve import FrameModel
from mastcheck.drawn import Drawing, DrawnLoop
from mastcheck.foil import Foil, Wing
from mastcheck.mast import Construction, ModifiedNaca, OutlineKind
from mastcheck.motion import water
from mastcheck.motion.divergence import divergence, speed
from mastcheck.motion.shedding import (
    Edge,
    lock_in_speed,
    shedding,
    shedding_frequency,
    tail,
)
from mastcheck.motion.vibration import KINDS, modes_in_air, modes_in_water
from mastcheck.outline import family_sides
from tests.beams import EI, EIYY, properties, uniform
from tests.masts import ALUMINIUM, mast
from tests.published import published

L = 0.8
SEA = 1026.021
ELLIPSE = mast((0.12, 0.0144), (0.12, 0.0144), length=L, outline=OutlineKind.ELLIPSE)
OWN = math.pi * 0.06 * 0.0072 * 2700  # kg/m
ADDED = math.pi * SEA * 0.06**2
INERTIA = OWN * (0.06**2 + 0.0072**2) / 4  # of the ellipse about its axis, kg m


def blade(**changes: float):
    moments = (0.0, 0.0, OWN * 0.0072**2 / 4, OWN * 0.06**2 / 4, 0.0)
    return uniform(L, **{"mass_per_length": OWN, "mass_moments": moments} | changes)


def first(found, kind: str):
    return next(m for m in found if KINDS[int(m.shares.argmax())] == kind)


# ---- added mass ----


def test_an_aluminium_blade_in_water():
    # Solid ellipse 120 x 14.4 mm: own mass 3.664354 kg/m, water 11.60402; ratio 0.489894.
    model = blade()
    frame = FrameModel(model)
    dry = modes_in_air(ELLIPSE, model, frame, None)
    wet = modes_in_water(ELLIPSE, model, frame, None, level=0.0, density=SEA)
    ratio = first(wet, "side bending").frequency / first(dry, "side bending").frequency
    # The closed form leaves out the slices' own turning, worth about 1e-4 of the mass.
    assert ratio == pytest.approx(published("VB-10"), rel=5e-5)
    along = first(wet, "fore-aft bending").frequency / first(dry, "fore-aft bending").frequency
    assert along == pytest.approx(math.sqrt(OWN / (OWN + math.pi * SEA * 0.0072**2)), rel=1e-3)
    turning = first(wet, "twist").frequency / first(dry, "twist").frequency
    water_inertia = math.pi * SEA * 0.12**4 / 128
    assert turning == pytest.approx(math.sqrt(INERTIA / (INERTIA + water_inertia)), rel=1e-6)


def test_without_turning_slices_the_ratio_is_that_of_the_masses():
    model = blade(mass_moments=(0.0, 0.0, 0.0, 1e-6, 0.0))
    frame = FrameModel(model)
    dry = modes_in_air(ELLIPSE, model, frame, None)
    wet = modes_in_water(ELLIPSE, model, frame, None, level=0.0, density=SEA)
    for a, b in zip(dry[:2], wet[:2], strict=True):
        assert b.frequency / a.frequency == pytest.approx(published("VB-10"), rel=1e-6)


@pytest.mark.parametrize("about", [0.0, 0.25, 0.5, 1.0])
def test_added_inertia_about_any_axis(about):
    # pi rho b⁴ (1/8 + a²), axis a half chords behind mid-chord (Theodorsen, NACA 496, from memory).
    c = 0.12
    plate = replace(ELLIPSE, taper_about=about)
    m = water.added_inertia(plate, np.array([0.5]), 0.0, SEA)[0]
    a = 2 * about - 1
    assert m[1, 1] == pytest.approx(published("VB-11a"), rel=1e-6)
    assert m[0, 0] == pytest.approx(published("VB-11b"), rel=1e-5)
    assert m[5, 5] == pytest.approx(math.pi * SEA * (c / 2) ** 4 * (1 / 8 + a**2), rel=1e-12)
    # Turned about a point ahead of mid-chord, mid-chord moves to port with +θz.
    assert m[1, 5] == pytest.approx(-ADDED * a * c / 2, rel=1e-12, abs=1e-15)
    assert m == pytest.approx(m.T)


@pytest.mark.parametrize("wet_from", [0.437, 0.2, 0.71])
def test_wet_in_part(wet_from):
    # Euler-Bernoulli beam of two spans by transfer matrices: v, v', M, V over each.
    def determinant(omega: float) -> float:
        whole = np.eye(4)
        for length, mass in ((wet_from, OWN), (L - wet_from, OWN + ADDED)):
            a = np.zeros((4, 4))
            a[0, 1] = a[2, 3] = 1.0
            a[1, 2] = 1 / EI
            a[3, 0] = mass * omega**2
            whole = scipy.linalg.expm(a * length) @ whole
        free = whole[2:, 2:]  # moment and shear at the tip from those at the clamp
        return float(np.linalg.det(free))

    model = blade(mass_moments=(0.0, 0.0, 0.0, 1e-6, 0.0))
    frame = FrameModel(model, keep=[wet_from], elements=120)
    found = modes_in_water(ELLIPSE, model, frame, None, level=wet_from, density=SEA)
    bending = [m for m in found if m.shares[0] > 0.9][:3]
    for mode in bending:
        omega = 2 * math.pi * mode.frequency
        exact = brentq(determinant, 0.97 * omega, 1.03 * omega)
        assert omega == pytest.approx(exact, rel=3e-4)


def test_a_foil_of_a_masts_mass_slows_it():
    # (beta L)² = 1.557298 with a tip mass equal to the beam's.
    model = uniform(L)
    found = modes_in_air(ELLIPSE, model, FrameModel(model, elements=60), Foil(mass=L))
    omega = 2 * math.pi * first(found, "side bending").frequency * math.sqrt(L**4 / EI)
    assert omega == pytest.approx(published("VB-02b"), rel=1e-4)


def test_the_foil_is_a_rigid_body():
    # Against a handful of point masses: kinetic energy of any motion of the tip.
    rng = np.random.default_rng(3)
    points = rng.normal(size=(6, 3)) * (0.3, 0.4, 0.02)
    points[:, 1] -= points[:, 1].mean()
    masses = np.ones(6) * 0.25
    centre = points.mean(axis=0)
    arm = points - centre
    turning = [float(masses @ (np.delete(arm, k, axis=1) ** 2).sum(axis=1)) for k in range(3)]
    foil = Foil(
        mass=1.5, ahead=-centre[0], below=centre[2],
        roll_inertia=turning[0], pitch_inertia=turning[1], yaw_inertia=turning[2],
    )  # fmt: skip
    m = water.foil_inertia(foil)
    for k in range(3):  # about one axis at a time: products of inertia are not stated
        for u in rng.normal(size=(4, 3)):
            spin = np.eye(3)[k] * rng.normal()
            v = u + np.cross(spin, points)
            state = np.concatenate([u, spin])
            assert state @ m @ state == pytest.approx(masses @ (v**2).sum(axis=1), rel=1e-9)


@pytest.mark.parametrize(
    ("ratio", "factor", "rel"),
    # Rectangular plates, Meyerhoff's values as tabled by Blevins (from memory).
    [(1, 0.5790, 0.04), (2, 0.7568, 0.02), (4, 0.8718, 0.01), (6.25, 0.9167, 0.01), (10, 0.9469, 0.01)],
)
def test_added_mass_of_plates_of_finite_span(ratio, factor, rel):
    assert water.pabst_factor(ratio) == pytest.approx(factor, rel=rel)
    assert water.pabst_factor(1 / ratio) == water.pabst_factor(ratio)


def test_water_on_the_wing_by_strips():
    # Heave, roll and pitch of a rectangular plate, strip by strip and chordwise, times Pabst's factor.
    wing = Wing(area=0.12, span=0.8, ahead=0.1)
    foil = Foil(mass=0.0, below=0.02, wing=wing)
    m = water.wing_added_inertia(foil, SEA)
    c = 0.15
    strip = math.pi / 4 * SEA * c**2 * water.pabst_factor(wing.aspect_ratio)
    y = (np.arange(2000) + 0.5) / 2000 * 0.8 - 0.4
    assert m[2, 2] == pytest.approx(strip * 0.8)
    assert m[3, 3] == pytest.approx(float((strip * y**2).mean() * 0.8), rel=1e-6)
    middle = -0.1 + c / 4
    own = math.pi * SEA * c**4 / 128 * 0.8 * water.pabst_factor(wing.aspect_ratio)
    assert m[4, 4] == pytest.approx(strip * 0.8 * middle**2 + own, rel=1e-9)
    assert m[2, 4] == pytest.approx(-strip * 0.8 * middle)  # +θy lifts what lies aft: -z at +x
    assert not m[1].any()


def test_lift_slope_of_wings():
    # A circular wing: 1.790 per rad by lifting-surface theory (Jordan 1973, from memory); endless: 2 pi.
    circle = Wing(area=math.pi / 4, span=1.0, ahead=0.0)
    assert water.lift_slope(circle) == pytest.approx(1.790, rel=0.03)
    assert water.lift_slope(Wing(area=1.0, span=1e3, ahead=0.0)) == pytest.approx(2 * math.pi, rel=1e-5)
    assert water.lift_slope(replace(circle, lift_slope=1.7)) == 1.7


@pytest.mark.parametrize("elements", [20, 40])
def test_frequencies_converge_with_elements(elements):
    # Against 160 elements; the mean of two mass matrices errs as a power of the element's length.
    model = blade()

    def found(n: int) -> list[float]:
        frame = FrameModel(model, elements=n, keep=[0.32])
        wet = modes_in_water(ELLIPSE, model, frame, None, level=0.32, density=SEA)
        return [m.frequency for m in wet[:6]]

    assert found(elements) == pytest.approx(found(160), rel=2e-2 * (20 / elements) ** 2)


def test_a_mass_ahead_joins_bending_and_twist():
    model = uniform(L)
    frame = FrameModel(model)

    def names(ahead: float) -> set[str]:
        foil = Foil(mass=2.0, ahead=ahead, yaw_inertia=0.01)
        return {m.name for m in modes_in_air(ELLIPSE, model, frame, foil)}

    assert "twist 1" in names(0.0)
    assert "side bending 2 with twist" in names(0.1)


# ---- divergence ----

STRIP = mast((0.12, 0.0144), (0.12, 0.0144), length=L)
"""Stacked about mid-chord: its quarter chord is 30 mm ahead."""
E = 0.03


# The beam holds warping at the root, over a layer of 1e-5 of the length at least: it is 2e-5 stiffer
# than these closed forms. What is left falls with the square of the element's length.
@pytest.mark.parametrize(("elements", "rel"), [(20, 1.2e-4), (40, 5e-5), (160, 2.2e-5)])
def test_a_strip_that_turns_itself(elements, rel):
    # q = (pi/2)² GJ/(L² c e a); GJ 1000, L 0.8, c 0.12, e 0.03, a 2 pi: 170442.3 Pa, 18.22744 m/s.
    frame = FrameModel(uniform(L, GJ=1000.0), elements=elements)
    found = divergence(STRIP, frame, None, level=0.0)
    assert found.twist == pytest.approx(published("VB-20a"), rel=rel)
    assert speed(found.twist, SEA) == pytest.approx(published("VB-20b"), rel=rel / 2)
    assert found.pitch is None


def test_a_surface_at_the_tip():
    # q = GJ/(L S e a) = 66314.6 Pa, 11.3695 m/s; an upright surface of 0.1 m².
    fin = Wing(area=0.1, span=0.5, ahead=E, dihedral=math.pi / 2, lift_slope=2 * math.pi)
    frame = FrameModel(uniform(L, GJ=1000.0))
    found = divergence(STRIP, frame, Foil(mass=1.0, wing=fin), level=0.0, strip_slope=0.0)
    assert found.twist == pytest.approx(published("VB-21"), rel=2e-5)
    assert speed(found.twist, SEA) == pytest.approx(11.3695, rel=1e-5)
    assert math.isinf(found.pitch)


def test_strip_and_surface_together():
    # θ = sin kz: cot kL = k S/c, both of one lift slope and offset.
    fin = Wing(area=0.1, span=0.5, ahead=E, dihedral=math.pi / 2, lift_slope=2 * math.pi)
    found = divergence(STRIP, FrameModel(uniform(L, GJ=1000.0)), Foil(mass=1.0, wing=fin), level=0.0)
    k = brentq(lambda k: math.cos(k * L) - k * 0.1 / 0.12 * math.sin(k * L), 1e-6, math.pi / 2 / L)
    exact = k**2 * 1000 / (0.12 * E * 2 * math.pi)
    assert found.twist == pytest.approx(exact, rel=5e-5)


@pytest.mark.parametrize(("elements", "rel"), [(40, 2e-4), (160, 3e-5)])
def test_a_strip_wet_in_part(elements, rel):
    # Straight above the water; below it θ = z0 cos + sin/k, free at the tip.
    level = 0.33
    wet = L - level
    frame = FrameModel(uniform(L, GJ=1000.0), keep=[level], elements=elements)
    found = divergence(STRIP, frame, None, level=level)
    k = brentq(lambda k: math.cos(k * wet) - level * k * math.sin(k * wet), 1e-6, math.pi / 2 / wet)
    assert found.twist == pytest.approx(k**2 * 1000 / (0.12 * E * 2 * math.pi), rel=rel)


@pytest.mark.parametrize("shear_centre", [-0.03, -0.05])
def test_no_divergence_with_the_shear_centre_ahead(shear_centre):
    frame = FrameModel(uniform(L, shear_centre_x=shear_centre))
    found = divergence(STRIP, frame, None, level=0.0)
    # On the quarter chord itself rounding may leave a very large number in place of none.
    assert speed(found.twist, SEA) > 1e4
    if shear_centre < -E:
        assert math.isinf(found.twist)


def test_the_offset_counts_from_the_shear_centre():
    at_once = divergence(STRIP, FrameModel(uniform(L)), None, level=0.0).twist
    behind = divergence(STRIP, FrameModel(uniform(L, shear_centre_x=0.03)), None, level=0.0).twist
    assert behind == pytest.approx(at_once / 2, rel=1e-4)


def test_a_level_wing_diverges_in_pitch_alone():
    # q = EI_fore_aft/(L S a e): the tip's pitch per moment is L/EI.
    wing = Wing(area=0.12, span=0.85, ahead=0.1)
    frame = FrameModel(uniform(L))
    found = divergence(STRIP, frame, Foil(mass=1.6, wing=wing), level=0.0)
    exact = EIYY / (L * wing.area * water.lift_slope(wing) * 0.1)
    assert found.pitch == pytest.approx(exact, rel=1e-6)
    assert found.twist == divergence(STRIP, frame, None, level=0.0).twist
    aft = Foil(mass=1.6, wing=replace(wing, ahead=-0.1))
    assert math.isinf(divergence(STRIP, frame, aft, level=0.0).pitch)


def test_divergence_by_the_tip_compliance_of_a_tapered_mast():
    # One surface at the tip: q = 1/(C66 e a S - C62 a S), from the integral's compliance.
    from mastcheck.beam.compliance import tip_compliance
    from mastcheck.beam.model import BeamModel

    sections = [
        properties(s, shear_centre_x=-0.01 * s, EGamma=0.4 * s**6) for s in np.linspace(1, 0.7, 5)
    ]
    model = BeamModel(np.linspace(0, L, 5), sections, [0.0, L])
    fin = Wing(area=0.05, span=0.4, ahead=0.1, dihedral=math.pi / 2, lift_slope=4.0)
    found = divergence(STRIP, FrameModel(model), Foil(mass=1.0, wing=fin), level=0.0, strip_slope=0.0)
    c = tip_compliance(model)
    exact = 1 / (4.0 * 0.05 * (0.1 * c[5, 5] - c[5, 1]))
    assert found.twist == pytest.approx(exact, rel=1e-6)


def test_no_water_no_divergence():
    assert math.isinf(divergence(STRIP, FrameModel(uniform(L)), None, level=L).twist)


# ---- shedding ----


def test_shedding_of_a_tail():
    # 1.5 mm at 10 m/s and Strouhal number 0.2: 1333 Hz.
    assert shedding_frequency(10.0, 0.0015) == pytest.approx(1333.3, rel=1e-4)
    # 2 x 0.046 c Re^-0.2 at Re = 1e6 on c = 0.119 m: 0.691 mm more.
    assert shedding_frequency(10.0, 0.0015, 0.119) == pytest.approx(2 / (0.0015 + 0.000694), rel=5e-3)


@pytest.mark.parametrize("frequency", [5.0, 180.0, 900.0])
def test_lock_in_is_shedding_turned_about(frequency):
    v = lock_in_speed(frequency, 0.001, 0.12)
    assert shedding_frequency(v, 0.001, 0.12) == pytest.approx(frequency, rel=1e-9)


def uniform_mast(outline=OutlineKind.NACA_4_DIGIT, **recipe):
    made = mast((0.12, 0.0144), (0.12, 0.0144), length=L)
    return replace(made, section=replace(made.section, outline=outline, **recipe))


def test_tails_as_built():
    sharp = uniform_mast()
    assert tail(sharp, 0.5) == (Edge.SHARP, 0.0)
    assert tail(uniform_mast(trailing_edge_radius=0.0005), 0.5) == (Edge.ROUNDED, 0.001)
    edge, width = tail(uniform_mast(trailing_edge_thickness=0.0012), 0.5)
    assert (edge, width) == (Edge.SQUARE, pytest.approx(0.0012, rel=1e-6))
    built = family_sides("naca-4-digit", chord=0.12, thickness=0.0144, trailing_edge_thickness=0.0012)
    assert built.port[-1, 1] - built.starboard[-1, 1] == pytest.approx(width, rel=1e-6)
    built = family_sides("naca-4-digit", chord=0.12, thickness=0.0144, trailing_edge_radius=0.0005)
    (ax, ay), (bx, by) = built.port[-2:]  # the arc's last facet, which ends on the chord line
    assert ((bx - ax) ** 2 + ay**2) / (2 * (bx - ax)) == pytest.approx(0.0005, rel=1e-6)
    assert by == 0.0
    # An ellipse ends in a radius t²/(2 c) of its own.
    edge, width = tail(uniform_mast(OutlineKind.ELLIPSE), 0.5)
    assert (edge, width) == (Edge.ROUNDED, pytest.approx(0.0144**2 / 0.12))
    # The modified family is open: 1 % of thickness a side for t = 0.2 c, so 2 % of the thickness.
    edge, width = tail(uniform_mast(ModifiedNaca()), 0.5)
    assert (edge, width) == (Edge.SQUARE, pytest.approx(0.02 * 0.0144, rel=1e-3))


@pytest.mark.parametrize(
    ("aft", "expected"),
    [
        ([(0.12, -0.001), (0.12, 0.001)], (Edge.SQUARE, 0.002)),
        ([(0.12, 0.0)], (Edge.UNKNOWN, 0.0)),
    ],
)
def test_tails_of_drawings(aft, expected):
    points = np.array([(0.0, 0.0), (0.03, -0.007), *aft, (0.03, 0.007)])
    loop = DrawnLoop(points=points, parent=None, fill=ALUMINIUM)
    drawing = Drawing(loops=(loop,), chord=0.12, thickness=0.014)
    drawn = uniform_mast(drawing, construction=Construction.DRAWN)
    drawn = replace(drawn, stations=tuple(replace(s, thickness=0.014) for s in drawn.stations))
    edge, width = tail(drawn, 0.3)
    assert (edge, width) == (expected[0], pytest.approx(expected[1]))


def test_where_a_mast_hums():
    made = uniform_mast(trailing_edge_radius=0.0005)
    model = blade()
    wet = modes_in_water(made, model, FrameModel(model, keep=[0.32]), None, level=0.32, density=SEA)
    found = shedding(made, wet, level=0.32, speeds=(3.0, 12.0))
    assert found.thickness == (0.001, 0.001)
    for lock, mode in zip(found.lock_in, wet, strict=True):
        assert lock.slowest < lock.speed < lock.fastest
        assert lock.slowest == pytest.approx(mode.frequency * 0.001 / 0.3)
        assert shedding_frequency(lock.fastest, 0.001, 0.12, strouhal=0.15) == pytest.approx(
            mode.frequency
        )
    assert shedding(uniform_mast(), wet, level=0.32, speeds=(3.0, 12.0)).lock_in == ()
    assert "sharp" in shedding(uniform_mast(), wet, level=0.32, speeds=(3.0, 12.0)).why
    assert "water" in shedding(made, wet, level=L, speeds=(3.0, 12.0)).why
