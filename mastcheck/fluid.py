"""Density and viscosity of sea and fresh water by temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass

from mastcheck.source import Grade, Source

COLDEST, WARMEST = 0.0, 35.0
"""Range of temperatures [°C]."""
SALINITY = 35.0
"""Practical salinity of standard sea water; 35.16504 g of salt in a kilogram."""
ATMOSPHERE = 101325.0

SEA_DENSITY_SOURCE = Source(
    title="International equation of state of seawater (EOS-80), UNESCO technical papers in marine"
    " science 44 (1983), at salinity 35; within 0.005 kg/m³ of TEOS-10; as in ITTC 7.5-02-01-03's table,"
    " one atmosphere counts as depth, which adds 0.004 %",
    grade=Grade.STANDARD,
)
FRESH_DENSITY_SOURCE = Source(
    title="standard mean ocean water without salt, the fresh end of EOS-80, UNESCO technical papers in"
    " marine science 44 (1983); within 0.003 kg/m³ of TEOS-10",
    grade=Grade.STANDARD,
)
VISCOSITY_SOURCE = Source(
    title="Sharqawy, Lienhard and Zubair 2010, Desalination and Water Treatment 16, 354, eq. 22 and 23,"
    " stated to 1.5 % (0.05 % without salt); ITTC 7.5-02-01-03 within 0.1 % at 15 °C",
    grade=Grade.MEMORY,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """Water at a temperature [°C]: density [kg/m³] and kinematic viscosity [m²/s]."""

    name: str
    temperature: float
    density: float
    viscosity: float
    density_source: Source
    viscosity_source: Source = VISCOSITY_SOURCE


def sea_water(temperature: float) -> Water:
    """Sea water of salinity 35 at a temperature [°C].

    Raises: ValueError outside 0 to 35 °C.

    >>> water = sea_water(15.0)
    >>> round(water.density, 2), round(water.viscosity * 1e6, 4)
    (1026.02, 1.1894)
    """
    density = sea_density(temperature)
    salt = 35.16504e-3
    return Water(
        name="sea water",
        temperature=temperature,
        density=density,
        viscosity=dynamic_viscosity(temperature, salt) / density,
        density_source=SEA_DENSITY_SOURCE,
    )


def fresh_water(temperature: float) -> Water:
    """Fresh water at a temperature [°C].

    Raises: ValueError outside 0 to 35 °C.

    >>> water = fresh_water(15.0)
    >>> round(water.density, 2), round(water.viscosity * 1e6, 4)
    (999.1, 1.1388)
    """
    density = fresh_density(temperature)
    return Water(
        name="fresh water",
        temperature=temperature,
        density=density,
        viscosity=dynamic_viscosity(temperature, 0.0) / density,
        density_source=FRESH_DENSITY_SOURCE,
    )


def water(kind: str, temperature: float) -> Water:
    """Water by its ``kind``, "sea" or "fresh", at a temperature [°C].

    Raises: ValueError for another kind, or outside 0 to 35 °C.
    """
    match kind:
        case "sea":
            return sea_water(temperature)
        case "fresh":
            return fresh_water(temperature)
        case _:
            raise ValueError(f"water is sea or fresh, not {kind!r}")


def density(kind: str, temperature: float) -> float:
    """Density of sea or fresh water [kg/m³] at a temperature [°C]; errors as of ``water``.

    >>> round(density("fresh", 15.0), 1)
    999.1
    """
    return water(kind, temperature).density


def fresh_density(temperature: float) -> float:
    """Density of fresh water at the surface [kg/m³]; ``temperature`` [°C].

    Raises: ValueError outside 0 to 35 °C.
    """
    return _polynomial(
        _old_scale(temperature),
        (999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9),
    )


def sea_density(temperature: float, *, pressure: float = ATMOSPHERE) -> float:
    """Density of sea water of salinity 35 [kg/m³].

    Args:
        temperature: [°C].
        pressure: of the water above [Pa]. 0 is the surface. The table of ITTC 7.5-02-01-03 counts the
            atmosphere here, which a reader who looks the value up will expect: 0.045 kg/m³ more.

    Raises: ValueError outside 0 to 35 °C.

    >>> round(sea_density(15.0, pressure=0.0), 2)
    1025.97
    """
    t, s = _old_scale(temperature), SALINITY
    surface = (
        fresh_density(temperature)
        + s * _polynomial(t, (8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9))
        + math.sqrt(s) ** 3 * _polynomial(t, (-5.72466e-3, 1.0227e-4, -1.6546e-6))
        + s**2 * 4.8314e-4
    )
    # Secant bulk modulus [bar]; its change with pressure is nothing at one atmosphere.
    modulus = (
        _polynomial(t, (19652.21, 148.4206, -2.327105, 1.360477e-2, -5.155288e-5))
        + s * _polynomial(t, (54.6746, -0.603459, 1.09987e-2, -6.1670e-5))
        + math.sqrt(s) ** 3 * _polynomial(t, (7.944e-2, 1.6483e-2, -5.3009e-4))
    )
    return float(surface / (1 - pressure / (modulus * 1e5)))


def dynamic_viscosity(temperature: float, salt: float) -> float:
    """Dynamic viscosity [Pa·s] at a temperature [°C] and a share of salt by mass.

    Raises: ValueError outside 0 to 35 °C.

    >>> round(dynamic_viscosity(15.0, 35.16504e-3) * 1e3, 4)
    1.2203
    """
    t = _within(temperature)
    pure = 4.2844e-5 + 1 / (0.157 * (t + 64.993) ** 2 - 91.296)
    a = 1.541 + 1.998e-2 * t - 9.52e-5 * t**2
    b = 7.974 - 7.561e-2 * t + 4.724e-4 * t**2
    return pure * (1 + a * salt + b * salt**2)


def _within(temperature: float) -> float:
    if not COLDEST <= temperature <= WARMEST:
        raise ValueError(f"water of {temperature:g} °C: known from {COLDEST:g} to {WARMEST:g} °C")
    return temperature


def _old_scale(temperature: float) -> float:
    """Temperature on the scale of 1968, which EOS-80 counts in [°C]."""
    return 1.00024 * _within(temperature)


def _polynomial(x: float, coefficients: tuple[float, ...]) -> float:
    total = 0.0
    for c in reversed(coefficients):
        total = total * x + c
    return total
