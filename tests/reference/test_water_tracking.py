"""Side force, resistance to turning and yaw lag against closed forms and a vortex lattice.

Katz and Plotkin, Low-Speed Aerodynamics (vortex lattice, thin aerofoil theory), from memory; numbers
recomputed.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from mastcheck.conditions import Conditions
from mastcheck.fluid import sea_water
from mastcheck.foil import Foil, Wing
from mastcheck.mast import Station
from mastcheck.water.tracking import EFFECTIVE, MOST_LIFT, strut_slope, tracking, yaw_damping
from mastcheck.water.wet import wet_area, wet_part
from mastcheck.water.yaw import yaw
from tests.masts import mast

SEA = sea_water(15.0)
RHO = SEA.density
SPEEDS = np.array([4.0, 8.0])
C, DEEP = 0.12, 0.5
EVEN = mast((C, 0.0144), (C, 0.0144), length=0.8)


# ---- area ----


@pytest.mark.parametrize("about", [0.25, 0.5, 1.0])
def test_trapezium(about: float):
    # 150 to 90 mm over 750 mm; wet from 250 mm: 130 to 90 mm, 500 deep.
    blade = replace(mast(), taper_about=about)
    area = wet_area(blade, wet_part(blade, 0.25))
    a, b, h = 0.13, 0.09, 0.5
    assert area.depth == pytest.approx(h)
    assert area.side == pytest.approx(h * (a + b) / 2, rel=1e-12)
    assert area.wetted == 2 * area.side
    assert area.centre == pytest.approx(0.25 + h * (a + 2 * b) / (3 * (a + b)), rel=1e-12)
    assert area.aspect_ratio == pytest.approx(h / ((a + b) / 2), rel=1e-12)
    mean_square = h * (a * a + a * b + b * b) / 3 / area.side
    assert area.aft == pytest.approx((0.5 - about) * mean_square, rel=1e-12)
    assert area.quarter == pytest.approx((0.25 - about) * mean_square, rel=1e-12)


def test_a_kinked_taper_is_the_sum_of_two_trapezia():
    blade = mast()
    kink = Station(at=0.6, chord=0.14, thickness=0.017)
    blade = replace(blade, stations=(blade.stations[0], kink, blade.stations[1]))
    area = wet_area(blade, wet_part(blade, 0.0))
    upper, lower = 0.45 * (0.15 + 0.14) / 2, 0.30 * (0.14 + 0.09) / 2
    z1 = 0.45 * (0.15 + 2 * 0.14) / (3 * (0.15 + 0.14))
    z2 = 0.45 + 0.30 * (0.14 + 2 * 0.09) / (3 * (0.14 + 0.09))
    assert area.side == pytest.approx(upper + lower, rel=1e-12)
    assert area.centre == pytest.approx((upper * z1 + lower * z2) / (upper + lower), rel=1e-12)


# ---- lift slope ----


def images(surface: bool, wall: bool) -> list[tuple[int, int, float]]:
    """(direction, sign, offset): copies z -> offset + direction z of a strut from 0 to 1.

    Circulation is odd about a surface at 0, even about a wall at 1.
    """
    if surface and wall:
        pairs = range(-40, 41)
        return [(d, d * (-1) ** k, 2.0 * k) for k in pairs for d in (1, -1)]
    return [(1, 1, 0.0), (-1, -1, 0.0)] if surface else [(1, 1, 0.0)]


def loading_factor(copies: list[tuple[int, int, float]], n: int = 300) -> float:
    """Lift for an even sidewash in the far wake over that of an ellipse alone, by trailing vortices."""
    end = (1 - np.cos(np.pi * np.arange(n + 1) / n)) / 2
    at = (1 - np.cos(np.pi * (np.arange(n) + 0.5) / n)) / 2
    wash = np.zeros((n, n))
    for direction, sign, offset in copies:
        k = direction / (4 * math.pi * (at[:, None] - (offset + direction * end)[None]))
        wash += sign * (k[:, :-1] - k[:, 1:])
    return float(np.linalg.solve(wash, np.ones(n)) @ np.diff(end)) / (math.pi / 2)


def test_the_surface_plates_no_end():
    assert loading_factor(images(surface=False, wall=False)) == pytest.approx(1, rel=1e-6)
    assert loading_factor(images(surface=True, wall=False)) == pytest.approx(8 / math.pi**2, rel=1e-5)
    assert EFFECTIVE.low == pytest.approx(8 / math.pi**2)


def test_a_wall_at_the_tip_as_well():
    found = loading_factor(images(surface=True, wall=True))
    assert pytest.approx(found, rel=1e-3) == EFFECTIVE.high


def lattice_slope(
    aspect_ratio: float, copies: list[tuple[int, int, float]], rows: int = 4, n: int = 30
) -> float:
    """Lift slope of a rectangular strut of unit depth by horseshoe vortices and their copies."""
    chord = 1 / aspect_ratio
    end = (1 - np.cos(np.pi * np.arange(n + 1) / n)) / 2
    middle = (1 - np.cos(np.pi * (np.arange(n) + 0.5) / n)) / 2
    step = chord / rows
    nose = step * np.arange(rows)
    bound, control = nose + step / 4, nose + 3 * step / 4
    x = np.repeat(control, n)[:, None] - np.repeat(bound, n)[None]
    z = np.tile(middle, rows)[:, None]
    wash = np.zeros((rows * n, rows * n))
    for direction, sign, offset in copies:
        ends = offset + direction * end
        lo = np.minimum(ends[:-1], ends[1:])
        hi = np.maximum(ends[:-1], ends[1:])
        a, b = z - np.tile(lo, rows)[None], z - np.tile(hi, rows)[None]
        # Horseshoe of unit circulation: bound leg and two trailing ones, in their own plane.
        ra, rb = np.hypot(x, a), np.hypot(x, b)
        leg = (a / ra - b / rb) / x + (1 + x / ra) / a - (1 + x / rb) / b
        wash += sign * leg / (4 * math.pi)
    circulation = np.linalg.solve(wash, np.ones(rows * n))
    return float(2 * circulation @ np.tile(np.diff(end), rows)) / chord


@pytest.mark.parametrize("aspect_ratio", [2.0, 4.0, 6.0])
def test_strut_slope_by_a_vortex_lattice(aspect_ratio: float):
    """The band's ends are within 5 % of the lattice's (1 % from 4 up), and the slope lies between."""
    slope = strut_slope(aspect_ratio)
    free = lattice_slope(aspect_ratio, images(surface=True, wall=False))
    plated = lattice_slope(aspect_ratio, images(surface=True, wall=True))
    rel = 0.05 if aspect_ratio < 4 else 0.01
    assert slope.low == pytest.approx(free, rel=rel)
    assert slope.high == pytest.approx(plated, rel=rel)
    assert free < slope.value < plated


def test_the_lattice_on_a_wing_alone():
    # Rectangular wings by lifting-surface theory, from memory: 1.460 at aspect ratio 1, 2.474 at 2.
    alone = images(surface=False, wall=False)
    assert lattice_slope(1.0, alone) == pytest.approx(1.460, rel=0.002)
    assert lattice_slope(2.0, alone) == pytest.approx(2.474, rel=0.002)


# ---- side force and stall ----


def test_side_force_of_a_rectangle():
    found = tracking(EVEN, level=0.3, speeds=SPEEDS, water=SEA)
    A = DEEP / C
    slope = 0.93 * 2 * math.pi * A / (2 + math.sqrt(A**2 + 4))
    assert found.lift_slope is not None
    assert found.stall_leeway is not None
    assert found.lift_slope.value == pytest.approx(slope)
    assert found.slope_area == pytest.approx(slope * C * DEEP)
    assert found.side_per_rad == pytest.approx(RHO / 2 * SPEEDS**2 * C * DEEP * slope)
    assert found.stall_force == pytest.approx(found.side_per_rad * found.stall_leeway.value)
    assert found.stall_force == pytest.approx(RHO / 2 * SPEEDS**2 * C * DEEP * 0.9)
    assert found.stall_leeway.low < found.stall_leeway.value < found.stall_leeway.high
    # 5 deg are below stall, 15 deg of this strut above: held at the stall's force.
    assert found.ventilation_force[:, 0] == pytest.approx(found.side_per_rad * math.radians(5))
    assert found.ventilation_force[:, 1] == pytest.approx(found.stall_force)


def test_stall_is_after_that_of_the_section():
    # A finite strut stalls at more leeway than its section, which reaches the same lift at 2 pi.
    for aspect_ratio in (2.0, 4.0, 8.0):
        slope = strut_slope(aspect_ratio)
        assert MOST_LIFT.value / slope.value > MOST_LIFT.value / (2 * math.pi)
    wide, narrow = (strut_slope(a) for a in (2.0, 8.0))
    assert MOST_LIFT.value / wide.value > MOST_LIFT.value / narrow.value


# ---- turning ----


def test_yaw_damping_of_a_rectangle():
    # By strips of slope 2 pi: pi/4 rho V c x² a metre, x from the axis to mid-chord (2 pi rho V b³ a²).
    wet = wet_part(EVEN, 0.3)
    for ahead in (0.0, 0.03, 0.15):
        found = yaw_damping(
            EVEN, wet, slope=2 * math.pi, axis_ahead=ahead, mass_flow=np.array([RHO * 8.0])
        )
        assert found[0] == pytest.approx(math.pi * RHO * 8.0 * C * ahead**2 * DEEP, abs=1e-9)


def lumped_vortices(ahead: float, n: int = 800) -> float:
    """Moment against a unit yaw rate of a plate strip of unit depth at unit speed and density."""
    step = C / n
    nose = ahead - C / 2  # aft of the axis; the stacking line is at mid-chord
    bound = nose + step * (np.arange(n) + 0.25)
    control = nose + step * (np.arange(n) + 0.75)
    wash = 1 / (2 * math.pi * (control[:, None] - bound[None]))
    circulation = np.linalg.solve(wash, control)  # sidewash r x
    return float(circulation @ bound)


@pytest.mark.parametrize("ahead", [0.0, 0.05, 0.12])
def test_yaw_damping_by_lumped_vortices(ahead: float):
    wet = wet_part(EVEN, 0.3)
    found = yaw_damping(EVEN, wet, slope=2 * math.pi, axis_ahead=ahead, mass_flow=np.ones(1))
    assert found[0] == pytest.approx(DEEP * lumped_vortices(ahead), rel=1e-6, abs=1e-9)


def test_weathercock_and_roll_damping_of_a_rectangle():
    ahead = 0.14
    found = tracking(EVEN, level=0.3, speeds=SPEEDS, water=SEA, axis_ahead=ahead)
    assert found.weathercock == pytest.approx(found.side_per_rad * (ahead - C / 4))
    slope = found.slope_area / (C * DEEP)
    swept = C * (0.8**3 - 0.3**3) / 3
    assert found.roll_damping == pytest.approx(RHO * SPEEDS / 2 * slope * swept)


def test_a_wide_blade_resists_turning():
    wide = mast((0.15, 0.018), (0.15, 0.018), length=0.8)
    a, b = (tracking(m, level=0.3, speeds=SPEEDS, water=SEA, axis_ahead=0.14) for m in (EVEN, wide))
    assert (b.yaw_damping > a.yaw_damping).all()
    assert (b.side_per_rad > a.side_per_rad).all()
    assert (b.roll_damping > a.roll_damping).all()


def test_a_wide_base_that_flies_clear_resists_nothing():
    plain = replace(
        EVEN, stations=(EVEN.stations[0], Station(at=0.5, chord=C, thickness=0.0144), EVEN.stations[1])
    )
    wide = replace(plain, stations=(Station(at=0.0, chord=0.20, thickness=0.024), *plain.stations[1:]))
    a, b = (tracking(m, level=0.45, speeds=SPEEDS, water=SEA, axis_ahead=0.14) for m in (plain, wide))
    for name in ("side_per_rad", "weathercock", "yaw_damping", "roll_damping", "stall_force"):
        assert getattr(a, name) == pytest.approx(getattr(b, name), rel=1e-12)


def test_a_dry_mast():
    found = tracking(EVEN, level=0.8, speeds=SPEEDS, water=SEA)
    assert found.lift_slope is found.stall_leeway is found.area.centre is None
    assert not found.side_per_rad.any()
    assert "neither tracks" in found.notes[0]


@pytest.mark.parametrize(
    ("blade", "level", "said"),
    [(EVEN, 0.72, "aspect ratio 0.67"), (mast((C, 0.008), (C, 0.008)), 0.3, "as thin as 6.7%")],
)
def test_ranges_left_are_said(blade, level, said):
    assert any(said in n for n in tracking(blade, level=level, speeds=SPEEDS, water=SEA).notes)


# ---- yaw lag ----


def compliance(twist: float) -> np.ndarray:
    out = np.zeros((6, 6))
    out[5, 5] = twist
    return out


def test_lag_of_a_uniform_shaft():
    # L/GJ of 0.75 m and 500 N m²: 1.5 mrad per N m. 6 m/s round 8 m within 0.3 s: 2.5 rad/s².
    foil = Foil(mass=2.0, ahead=0.05, yaw_inertia=0.06, wing=Wing(area=0.12, span=0.9, ahead=0.15))
    found = yaw(
        tip_compliance=compliance(0.75 / 500),
        foil=foil,
        conditions=Conditions(turn_speed=6.0, turn_radius=8.0),
        density=RHO,
        twist_frequency=20.0,
    )
    assert found.stiffness == pytest.approx(500 / 0.75)
    assert found.feet_lag == pytest.approx(10 * 0.0015)
    assert found.yaw_acceleration == pytest.approx(2.5)
    assert found.yaw_inertia == pytest.approx(
        0.06 + 2.0 * 0.05**2
    )  # a flat wing carries no water in yaw
    assert found.start_torque == pytest.approx(2.5 * 0.065)
    assert found.start_lag == pytest.approx(2.5 * 0.065 * 0.0015)
    assert found.response_time == pytest.approx(0.0125)
    assert found.notes == ()


def test_lag_without_a_foil_or_a_mode():
    found = yaw(
        tip_compliance=compliance(0.0015),
        foil=None,
        conditions=Conditions(),
        density=RHO,
        twist_frequency=None,
    )
    assert found.start_lag is found.yaw_inertia is found.response_time is None
    assert "No foil is described" in found.notes[0]


def test_a_foil_without_inertia_is_said():
    found = yaw(
        tip_compliance=compliance(0.0015),
        foil=Foil(mass=2.0),
        conditions=Conditions(),
        density=RHO,
        twist_frequency=10.0,
    )
    assert found.start_lag == 0
    assert "no inertia in yaw" in found.notes[0]
