"""Density and viscosity of water against tables and TEOS-10.

ITTC Recommended Procedure 7.5-02-01-03, Fresh Water and Seawater Properties (as quoted in public
sources); TEOS-10 by the gsw library; check values of EOS-80 from UNESCO 44 (1983), from memory.
"""

from __future__ import annotations

import gsw
import pytest

from mastcheck.conditions import Conditions, WaterKind
from mastcheck.fluid import fresh_water, sea_density, sea_water, water
from mastcheck.water.side import water_of
from tests.published import published

SALT = 35.16504
ATMOSPHERE = 10.1325  # dbar


@pytest.mark.parametrize(
    ("temperature", "table"),
    [(10, published("FL-07a")), (15, published("FL-07b")), (20, 1024.8103), (25, 1023.3873)],
)
def test_sea_water_of_the_ittc_table(temperature: float, table: float):
    assert sea_water(temperature).density == pytest.approx(table, abs=0.005)


@pytest.mark.parametrize("temperature", [0, 5, 10, 15, 20, 25, 30, 35])
@pytest.mark.parametrize("atmospheres", [0.0, 1.0])
def test_sea_water_by_teos_10(temperature: float, atmospheres: float):
    depth = atmospheres * ATMOSPHERE
    other = gsw.rho(SALT, gsw.CT_from_t(SALT, temperature, depth), depth)
    found = sea_density(temperature, pressure=atmospheres * 101325.0)
    assert found == pytest.approx(other, abs=0.005)


@pytest.mark.parametrize(
    ("temperature", "teos"),
    [(5, 1027.67574), (10, 1026.95411), (15, published("FL-10b")), (20, 1024.76538), (25, 1023.34313)],
)
def test_sea_water_at_the_surface(temperature: float, teos: float):
    # EOS-80 is another fit of much the same measurements: within 0.004 kg/m³, not to the last digit.
    assert sea_density(temperature, pressure=0.0) == pytest.approx(teos, abs=0.004)


@pytest.mark.parametrize(("temperature", "table"), [(5, 1027.67547), (25, published("EOS-1"))])
def test_the_equations_own_check_values(temperature: float, table: float):
    # Stated for the temperature scale of 1968.
    found = sea_density(temperature / 1.00024, pressure=0.0)
    assert found == pytest.approx(table, abs=1e-5)


@pytest.mark.parametrize("temperature", [0, 5, 10, 15, 20, 25, 30, 35])
def test_fresh_water_by_teos_10(temperature: float):
    other = gsw.rho(0.0, gsw.CT_from_t(0.0, temperature, 0.0), 0.0)
    assert fresh_water(temperature).density == pytest.approx(other, abs=0.003)


def test_fresh_water_of_the_ittc_table():
    found = fresh_water(15.0)
    assert found.density == pytest.approx(published("FL-09b"), rel=1e-5)
    assert found.viscosity == pytest.approx(published("FL-09a"), rel=1e-3)


@pytest.mark.parametrize(
    "table", [published("FL-08a"), published("FL-08b")]
)  # revision 03, and the one of 2011
def test_viscosity_of_sea_water(table: float):
    assert sea_water(15.0).viscosity == pytest.approx(table, rel=1e-3)


def test_viscosity_of_pure_water_at_20_degrees():
    # ISO/TR 3666: 1.0016 mPa s.
    found = fresh_water(20.0)
    assert found.viscosity * found.density == pytest.approx(1.0016e-3, rel=1e-3)


def test_water_of_the_conditions():
    sea = water_of(Conditions())
    fresh = water_of(Conditions(kind=WaterKind.FRESH, temperature=5.0))
    assert (sea.name, fresh.name) == ("sea water", "fresh water")
    assert fresh == fresh_water(5.0)
    assert sea == sea_water(15.0)


def test_water_that_is_not_known():
    with pytest.raises(ValueError, match="40 °C: known from 0 to 35"):
        sea_water(40.0)
    with pytest.raises(ValueError, match="sea or fresh"):
        water("brackish", 15.0)
