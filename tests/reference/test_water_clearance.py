"""Clearance and swing inertia against closed forms and the turned points themselves."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from mastcheck.conditions import Conditions
from mastcheck.fluid import sea_water
from mastcheck.foil import Foil, Wing
from mastcheck.water.clearance import clearance, handling
from mastcheck.water.side import NO_WING, water_side
from tests.masts import mast

RIDE: dict[str, Any] = {
    "length": 0.75,
    "level": 0.35,
    "below": 0.02,
    "half_span": 0.45,
    "half_width": 0.25,
    "wave_height": 0.30,
    "least_depth": 0.13,
}


def height(bank: float, *, depth: float, out: float, up: float) -> float:
    """Height above still water of a point ``out`` to the low side and ``up`` from the wing's middle."""
    return up * math.cos(bank) - out * math.sin(bank) - depth


def test_band_of_ride_heights():
    found = clearance(**RIDE)
    assert found.lowest == pytest.approx(0.15)
    assert found.highest == pytest.approx(0.77 - 0.13 - 0.15)
    assert found.wing_depth == pytest.approx(0.42)
    assert found.trough_depth == pytest.approx(0.27)
    assert found.notes == ()


def test_bank_where_rail_and_tip_meet_the_water():
    found = clearance(**RIDE)
    reach, depth = 0.77, 0.42
    assert found.rail_bank is not None
    assert found.tip_bank is not None
    assert found.tip_bank == pytest.approx(math.asin(0.42 / 0.45))
    # The rail, turned with the mast about the wing's middle, lies on the water.
    assert height(found.rail_bank, depth=depth, out=0.25, up=reach) == pytest.approx(0, abs=1e-12)
    assert height(found.tip_bank, depth=depth, out=-0.45, up=0.0) == pytest.approx(0, abs=1e-12)


def test_greatest_bank_of_all_ride_heights():
    best = clearance(**RIDE)
    banks = []
    for level in np.linspace(0.05, 0.75, 1401):
        found = clearance(**RIDE | {"level": float(level)})
        assert found.rail_bank is not None
        banks.append(min(found.rail_bank, math.pi / 2 if found.tip_bank is None else found.tip_bank))
    assert best.best_bank == pytest.approx(max(banks), abs=1e-3)
    assert best.best_bank >= max(banks)
    at_best = clearance(**RIDE | {"level": best.best_height})
    assert at_best.rail_bank == pytest.approx(best.best_bank)
    assert at_best.tip_bank == pytest.approx(best.best_bank)


def test_a_board_on_the_water_does_not_lean():
    assert clearance(**RIDE | {"level": 0.0}).rail_bank == pytest.approx(0, abs=1e-12)


def test_a_deep_wing_never_breaks_the_surface():
    assert clearance(**RIDE | {"level": 0.2}).tip_bank is None


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"level": 0.60}, "In a trough the wing is 20 mm deep"),
        ({"level": 0.80}, "the wing is out of the water"),
        ({"level": 0.10}, "touches the crests"),
        ({"wave_height": 0.70}, "no ride height keeps the board off the crests"),
    ],
)
def test_what_is_said(given: dict[str, float], said: str):
    assert any(said in note for note in clearance(**RIDE | given).notes)


# ---- handling ----


def test_swing_of_a_uniform_rod():
    z = np.linspace(0, 0.8, 5)
    found = handling(z=z, mass_per_length=np.full(5, 2.0), length=0.8, foil=None)
    assert found.mass == pytest.approx(1.6)
    assert found.centre == pytest.approx(0.4)
    assert found.swing_inertia == pytest.approx(1.6 * 0.8**2 / 3)
    assert found.with_foil is found.foil_mass is None


def test_swing_of_a_cone():
    # A rod of linear size s = 1 - z/2 over 1 m: ∫ s² z² dz = 1/3 - 1/4 + 1/20.
    z = np.array([0.0, 0.3, 1.0])
    foil = Foil(mass=2.0, below=0.05, roll_inertia=0.09, yaw_inertia=0.1)
    found = handling(z=z, mass_per_length=(1 - z / 2) ** 2, length=1.0, foil=foil)
    assert found.mass == pytest.approx(1 - 1 / 2 + 1 / 12)
    assert found.centre * found.mass == pytest.approx(1 / 2 - 1 / 3 + 1 / 16)
    assert found.swing_inertia == pytest.approx(1 / 3 - 1 / 4 + 1 / 20)
    assert found.with_foil == pytest.approx(found.swing_inertia + 2.0 * 1.05**2 + 0.09)


# ---- all of it ----


def whole(foil: Foil | None):
    z = np.array([0.0, 0.75])
    return water_side(
        mast(),
        water=sea_water(15.0),
        conditions=Conditions(roughness=20e-6),
        level=0.3,
        speeds=np.array([5.0, 12.0]),
        foil=foil,
        tip_compliance=np.diag(np.full(6, 1e-3)),
        twist_frequency=15.0,
        z=z,
        mass_per_length=np.array([5.0, 2.2]),
    )


def test_the_whole_with_a_foil():
    wing = Wing(area=0.10, span=0.80, ahead=0.15)
    found = whole(Foil(mass=1.8, below=0.03, yaw_inertia=0.05, wing=wing))
    assert found.clearance.half_span == 0.40
    assert found.clearance.least_depth == pytest.approx(0.125)
    assert found.clearance.wing_depth == pytest.approx(0.48)
    assert found.tracking.axis_ahead == 0.15
    assert found.handling.foil_mass == 1.8
    assert NO_WING not in found.notes
    assert "friction of a rough blade" in dict(found.basis)


def test_the_whole_without_a_foil():
    found = whole(None)
    assert found.clearance.half_span == 0.45
    assert found.tracking.axis_ahead == 0
    assert NO_WING in found.notes
    assert len(set(found.notes)) == len(found.notes)
