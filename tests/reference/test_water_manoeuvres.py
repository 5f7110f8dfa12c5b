"""Load cases from the water against closed forms, vectors and time steps, and trade facts."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from mastcheck.conditions import Conditions
from mastcheck.foil import Wing
from mastcheck.loadcase import GRAVITY, Rider
from mastcheck.water.balance import BalanceError, Force, FreeBody
from mastcheck.water.manoeuvres import (
    GYRATION,
    MOST_LIFT,
    Ride,
    WaterCase,
    carrying_speed,
    carved_turn,
    lift_coefficient,
    pumping,
    steady_flight,
    strike,
    water_cases,
)

RIDE = Ride(
    rider=Rider(mass=80.0, gear_mass=8.0, rider_height=1.0),
    conditions=Conditions(turn_speed=7.0, turn_radius=9.0, turn_bank=math.radians(22.0)),
    wing=Wing(area=0.12, span=0.9, ahead=0.15),
    length=0.75,
    depth=0.52,
    density=1026.0,
    foil_mass=2.0,
    side_slope=0.15,
    most_leeway=math.radians(12.0),
)


def figures(case: WaterCase) -> dict[str, float]:
    return {name: value for name, value, _ in case.figures}


def with_conditions(**changes: float | None) -> Ride:
    return replace(RIDE, conditions=replace(RIDE.conditions, **changes))


def test_turn_obeys_newton_in_earth_axes() -> None:
    """A second way: lift and side force turned to the vertical and the centre of the turn."""
    found = figures(carved_turn(RIDE))
    bank = RIDE.conditions.turn_bank
    assert bank is not None
    lift, side = found["lift"], found["side force of the mast"]
    vertical = lift * math.cos(bank) - side * math.sin(bank)
    inward = lift * math.sin(bank) + side * math.cos(bank)
    assert vertical == pytest.approx(88.0 * GRAVITY, rel=1e-12)
    assert inward == pytest.approx(88.0 * 7.0**2 / 9.0, rel=1e-12)


def test_a_balanced_turn_asks_no_side_force_and_lifts_weight_over_cosine() -> None:
    """Closed form of a coordinated turn: tan(bank) = v²/(gR), load factor 1/cos(bank)."""
    bank = math.atan(49.0 / (9.0 * GRAVITY))
    for case in (
        carved_turn(with_conditions(turn_bank=None)),
        carved_turn(with_conditions(turn_bank=bank)),
    ):
        found = figures(case)
        assert found["side force of the mast"] == pytest.approx(0.0, abs=1e-9)
        assert found["load factor"] == pytest.approx(1 / math.cos(bank), rel=1e-12)
    assert figures(carved_turn(RIDE))["side force of the mast"] > 10  # leaning less, the mast carries


def test_lift_of_the_outer_half_wing_by_quadrature() -> None:
    """b²/(8R), first order in b/R, against the elliptic wing's own integral."""
    b, R = RIDE.wing.span, RIDE.conditions.turn_radius
    y = np.cos(np.linspace(0, np.pi, 20001)) * b / 2
    shape = np.sqrt(np.maximum(0, 1 - (2 * y / b) ** 2)) * (1 - y / R) ** 2
    centre = np.trapezoid(shape * y, y) / np.trapezoid(shape, y)
    found = figures(carved_turn(RIDE))["lift outside of mid-span"]
    assert found == pytest.approx(-centre, rel=(b / R) ** 2)


def test_every_body_balances_and_a_wrong_one_is_refused() -> None:
    for case in water_cases(RIDE):
        assert case.case is not None, case.reason
        assert case.body is not None
        force, moment = case.body.residual()
        assert np.abs(force).max() < 1e-9 * RIDE.rider.weight
        assert np.abs(moment).max() < 1e-9 * RIDE.rider.weight
    body = carved_turn(RIDE).body
    assert body is not None
    pushed = replace(body, forces=(*body.forces, Force(name="gust", at=(0, 0, 0), force=(0, 5, 0))))
    with pytest.raises(BalanceError, match="forces along y do not balance: 5 N"):
        pushed.balanced()
    turned = replace(body, forces=(*body.forces, Force(name="twist", at=(0, 0, 0), moment=(3, 0, 0))))
    with pytest.raises(BalanceError, match="moments along x do not balance: 3 N·m"):
        turned.balanced()


def test_the_load_case_is_the_body_cut_at_the_base() -> None:
    """Force and moment that rider and board put on the mast's base, by the free body above the cut."""
    case = carved_turn(RIDE)
    assert case.body is not None
    assert case.case is not None
    above = case.body.forces[0]
    moment = np.cross(above.at, above.force)
    weight, lc = RIDE.rider.weight, case.case
    below_force = np.array([0.0, lc.side_force * weight, -lc.n * weight])
    assert np.allclose(below_force, -np.asarray(above.force), atol=1e-9)
    roll = lc.n * weight * lc.roll_offset - RIDE.depth * lc.side_force * weight
    assert roll == pytest.approx(-moment[0], rel=1e-9)


def test_what_cannot_be_is_refused_with_a_way_out() -> None:
    small = replace(RIDE, wing=replace(RIDE.wing, area=0.03))
    with pytest.raises(BalanceError, match=r"lift coefficient of 1\.29.*take a larger wing"):
        steady_flight(replace(small, conditions=replace(RIDE.conditions, turn_speed=6.6)))
    with pytest.raises(BalanceError, match="mast, which stalls at"):
        carved_turn(replace(RIDE, side_slope=0.01))
    with pytest.raises(BalanceError, match=r"lean .* across the board"):
        carved_turn(replace(with_conditions(turn_bank=0.0), side_slope=10.0))
    refused = [c for c in water_cases(small) if c.case is None]
    assert refused
    assert all(c.reason and c.body is None for c in refused)


def test_pumping_is_the_second_derivative_of_a_sine() -> None:
    t = np.linspace(0, 1 / 1.2, 200001)
    height = 0.10 * np.sin(2 * np.pi * 1.2 * t)
    peak = np.abs(np.gradient(np.gradient(height, t), t)[5:-5]).max()
    found = figures(pumping(RIDE))
    assert found["largest load factor"] == pytest.approx(1 + peak / GRAVITY, rel=1e-5)
    assert found["largest load factor"] + found["least load factor"] == pytest.approx(2.0)


def test_strike_stops_the_tip_of_a_free_body_within_the_distance() -> None:
    """Time steps of a rigid body (translation and pitch) under the force found."""
    found = figures(strike(RIDE))
    m, r, v = RIDE.mass, RIDE.length + RIDE.rider.rider_height, RIDE.conditions.strike_speed
    held = found["force on the mast's tip"]

    def motion(_: float, s: np.ndarray) -> list[float]:
        # way of the tip, speed of G, pitch rate; small turns
        return [s[1] - r * s[2], -held / m, held * r / (m * GYRATION**2)]

    def stopped(_: float, s: np.ndarray) -> float:
        return float(s[1] - r * s[2])

    stopped.terminal = True  # type: ignore[attr-defined]
    end = solve_ivp(motion, (0, 10), [0.0, v, 0.0], events=stopped, rtol=1e-10, atol=1e-12)
    assert end.y[0, -1] == pytest.approx(RIDE.conditions.stop_distance, rel=1e-6)
    # The foil itself is stopped too: its own energy over the same way.
    own = 0.5 * RIDE.foil_mass * v**2 / RIDE.conditions.stop_distance
    assert found["force on the foil"] == pytest.approx(held + own, rel=1e-12)


def test_a_bigger_wing_carries_the_same_rider_at_lower_speed() -> None:
    """Trade fact (common practice, no source), over the usual 800 to 2,400 cm²."""
    speeds = [carrying_speed(RIDE.rider.weight, area, 1026.0) for area in (0.08, 0.12, 0.18, 0.24)]
    assert speeds == sorted(speeds, reverse=True)
    assert speeds[0] / speeds[-1] == pytest.approx(math.sqrt(3), rel=1e-12)
    at = replace(RIDE, wing=replace(RIDE.wing, area=0.08))
    assert lift_coefficient(RIDE.rider.weight, speeds[0] * (1 + 1e-9), at) == pytest.approx(MOST_LIFT)


def test_a_body_knows_what_is_left() -> None:
    body = FreeBody(forces=(Force(name="weight", at=(0, 0, 0), force=(0, 0, 10.0)),), weight=10.0)
    force, moment = body.residual()
    assert force.tolist() == [0, 0, 10.0]
    assert moment.tolist() == [0, 0, 0]
