"""Drag of the mast's wet part against speed, term by term."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mastcheck.fluid import ATMOSPHERE, Water
from mastcheck.mast import Mast
from mastcheck.motion.water import chord_at, thickness_at
from mastcheck.source import Grade, Source
from mastcheck.water.base_drag import BASE, base_coefficient, tails
from mastcheck.water.friction import friction, laminar
from mastcheck.water.junction import junction_area
from mastcheck.water.model import Drag
from mastcheck.water.range import drag_notes
from mastcheck.water.spray import SPRAY, spray_area
from mastcheck.water.wet import WetPart, wet_part

FloatArray = NDArray[np.float64]

PROFILE_SOURCE = Source(
    title="two-dimensional streamlined section, drag over friction 1 + 2 t/c + 60 (t/c)^4; Hoerner,"
    " Fluid-Dynamic Drag, ch. 6",
    grade=Grade.MEMORY,
)
PROFILE_SPREAD = 1.10
"""Upper end of the band of friction and profile drag: assumed."""
SUCTION_SOURCE = Source(
    title="least pressure coefficient of a NACA four-digit section without leeway, -3.5 t/c, 2 % beyond"
    " source panels; vapour pressure by Magnus's formula",
    grade=Grade.MEMORY,
)
SUCTION = 3.5


def mast_drag(
    mast: Mast,
    *,
    level: float,
    speeds: FloatArray,
    water: Water,
    roughness: float = 0.0,
    fuselage_width: float | None = None,
) -> Drag:
    """Drag of the mast from the waterline to the fuselage.

    Args:
        mast: its chords, thicknesses and tail.
        level: z of still water [m]: the ride height.
        speeds: (n,) [m/s].
        water: its density and viscosity.
        roughness: sand-grain height [m]; 0 is smooth.
        fuselage_width: at the mast [m], to say where it is no wall; None: not looked at.

    Raises: ValueError for a speed that is not above zero, or a negative roughness.
    """
    speeds = np.asarray(speeds, dtype=float)
    if not (speeds > 0).all():
        raise ValueError(f"speeds must be above zero: {speeds.tolist()}")
    if roughness < 0:
        raise ValueError(f"roughness must not be negative: {roughness:g} m")
    wet = wet_part(mast, level)
    pressure = water.density / 2 * speeds**2
    reynolds = speeds[:, None] * wet.chord / water.viscosity
    plate = friction(reynolds, wet.chord, roughness)
    strip = 2 * pressure[:, None] * wet.chord * wet.weight
    ratio = wet.thickness / wet.chord
    tail, edges = tails(mast, wet)
    rubbed = (strip * plate).sum(axis=1)
    profile = (strip * plate * profile_factor(ratio)).sum(axis=1)
    base = (strip / 2 * base_coefficient(tail / wet.chord, plate)).sum(axis=1)
    spray = pressure * _spray(mast, wet)
    corner = _junction(mast, wet)
    cavitation = cavitation_speed(float(ratio.max()), water) if ratio.size else math.inf
    return Drag(
        speeds=speeds,
        friction=rubbed,
        profile=profile,
        spray=spray,
        junction=pressure * corner[0],
        base=base,
        low=(strip * np.minimum(plate, laminar(reynolds))).sum(axis=1)
        + spray * SPRAY.low / SPRAY.value
        + base * BASE.low / BASE.value,
        high=PROFILE_SPREAD * (rubbed + profile)
        + spray * SPRAY.high / SPRAY.value
        + base * BASE.high / BASE.value
        + pressure * corner[1],
        reynolds=_ends(reynolds),
        cavitation_speed=cavitation,
        notes=drag_notes(
            mast,
            wet,
            speeds=speeds,
            reynolds=reynolds,
            roughness=roughness,
            tail=tail,
            edges=edges,
            fuselage_width=fuselage_width,
            cavitation_speed=cavitation,
        ),
    )


def profile_factor(ratio: FloatArray) -> FloatArray:
    """Profile drag over friction, for thickness over chord.

    >>> profile_factor(np.array([0.10, 0.12, 0.15])).round(6).tolist()
    [0.206, 0.252442, 0.330375]
    """
    return 2 * ratio + 60 * ratio**4


def cavitation_speed(ratio: float, water: Water) -> float:
    """Speed [m/s] at which the water at the thickest place may first boil, at the surface, no leeway.

    Args:
        ratio: greatest thickness over chord of the wet part.
        water: its density and temperature.
    """
    t = water.temperature
    vapour = 610.94 * math.exp(17.625 * t / (t + 243.04))
    return math.sqrt((ATMOSPHERE - vapour) / (water.density / 2 * SUCTION * ratio))


def _spray(mast: Mast, wet: WetPart) -> float:
    """Spray drag over dynamic pressure [m²]; none where the mast does not pierce the surface."""
    if not wet.z.size or wet.top <= 0:
        return 0.0
    return spray_area(float(thickness_at(mast, np.array([wet.top]))[0]))


def _junction(mast: Mast, wet: WetPart) -> tuple[float, float]:
    """Junction drag over dynamic pressure [m²]: value and upper end."""
    if not wet.z.size:
        return 0.0, 0.0
    tip = np.array([mast.length])
    found = junction_area(float(thickness_at(mast, tip)[0]), float(chord_at(mast, tip)[0]))
    return found.value, found.high


def _ends(reynolds: FloatArray) -> FloatArray:
    """Least and greatest (n, 2); zeros where nothing is wet."""
    if not reynolds.shape[1]:
        return np.zeros((len(reynolds), 2))
    return np.stack([reynolds.min(axis=1), reynolds.max(axis=1)], axis=1)
