"""How the wet part of a mast holds its course: side force by leeway, and resistance to turning.

The strut is a wing of low aspect ratio. At speed the water's surface is a sheet of constant pressure,
whose image is a strut of opposite circulation: it plates no end. For the loading of least drag the
effective aspect ratio is then 8/pi² = 0.81 of depth²/area; were the fuselage and wings a wide wall
at the tip as well, 1.38. Wings are something between: 1.0 is taken, and the two are the band.

Turning steadily at a rate r about an axis, a strip of chord c feels the sidewash r x of each of its
points, x aft of the axis: by thin-aerofoil theory the lift of its three-quarter point x₃ at its
quarter point x₁ and a moment pi/16 rho V c³ r against the turn. Over the wet part

    yaw damping = rho V/2 (a ∫ c x₁ x₃ dz + pi/8 ∫ c³ dz),    weathercock = rho V²/2 a ∫ c x₁ dz,

a the strut's lift slope. For a = 2 pi the strip is damped by pi/4 rho V c x² with x the axis's distance
from mid-chord: a blade turned about its own middle resists nothing, and a wide one far from the axis
resists most. Leaning over at a rate p about the board sweeps each strip sideways at p z:

    roll damping = rho V/2 a ∫ c z² dz.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mastcheck.fluid import Water
from mastcheck.mast import Mast
from mastcheck.source import Grade, Source
from mastcheck.water.model import Coefficient, Tracking, WetArea
from mastcheck.water.wet import WetPart, wet_area, wet_part

FloatArray = NDArray[np.float64]

SLOPE_SOURCE = Source(
    title="Helmbold (1942), 2 pi A/(2 + sqrt(A² + 4)), times 0.93 for straight edges in place of an"
    " ellipse, fitted to a vortex lattice; effective aspect ratio 1.0 of the geometric one, band 8/pi²"
    " (free tip below a surface at speed) to 1.38 (wall at the tip as well)",
    grade=Grade.MEMORY,
)
STRAIGHT = 0.93
"""Lift slope of a straight-edged strut over Helmbold's: a lattice gives 0.93 to 0.97 at aspect ratios of
2 to 8, more below."""
EFFECTIVE = Coefficient(value=1.0, low=8 / math.pi**2, high=1.382, source=SLOPE_SOURCE)
"""Effective over geometric aspect ratio of the wet part."""
MOST_LIFT = Coefficient(
    value=0.9,
    low=0.7,
    high=1.1,
    source=Source(
        title="largest side-force coefficient of a strut of symmetric section at Reynolds numbers of 0.3"
        " to 1 million, where sections alone stall at 10 to 14 deg",
        grade=Grade.MEMORY,
    ),
)
VENTILATION = Coefficient(
    value=math.radians(10.0),
    low=math.radians(5.0),
    high=math.radians(15.0),
    source=Source(
        title="leeway at which surface-piercing struts draw air down: about 10 to 15 deg, less at high"
        " speed, in waves or with a disturbed surface",
        grade=Grade.MEMORY,
    ),
)
THINNEST = 0.09
"""Thickness over chord below which sections stall early, from their nose."""
BLADE_ALONE = (
    "Side force and resistance to turning are those of the mast's wet part alone, rigid and in steady"
    " flow: wings, fuselage, waves and the time that the flow takes to follow are not in them."
)


def strut_slope(aspect_ratio: float) -> Coefficient:
    """Lift slope [1/rad] of the wet part by its geometric aspect ratio, with its band.

    >>> slope = strut_slope(4.0)
    >>> round(slope.low, 3), round(slope.value, 3), round(slope.high, 3)
    (3.261, 3.611, 4.1)
    """
    low, value, high = (
        STRAIGHT * 2 * math.pi * A / (2 + math.sqrt(A**2 + 4))
        for A in (k * aspect_ratio for k in (EFFECTIVE.low, EFFECTIVE.value, EFFECTIVE.high))
    )
    return Coefficient(value=value, low=low, high=high, source=SLOPE_SOURCE)


def weathercock_volume(mast: Mast, wet: WetPart, axis_ahead: float) -> float:
    """∫ c x₁ dz [m³]: x₁ aft from an axis ``axis_ahead`` [m] of the stacking line to c/4."""
    x = axis_ahead + (0.25 - mast.taper_about) * wet.chord
    return float(wet.weight @ (wet.chord * x))


def yaw_damping(
    mast: Mast, wet: WetPart, *, slope: float, axis_ahead: float, mass_flow: FloatArray
) -> FloatArray:
    """Moment against a steady yaw rate (n,) [N·m·s/rad], by thin strips.

    Args:
        mast: for the place of its stacking line.
        wet: its wet part.
        slope: lift slope of the strips [1/rad].
        axis_ahead: axis of the turn ahead of the stacking line [m].
        mass_flow: density times speed (n,) [kg/(m² s)].
    """
    c = wet.chord
    quarter = axis_ahead + (0.25 - mast.taper_about) * c
    three_quarter = quarter + c / 2
    volume = wet.weight @ (slope * c * quarter * three_quarter + math.pi / 8 * c**3)
    return np.asarray(mass_flow / 2 * float(volume))


def roll_damping(wet: WetPart, *, slope: float, mass_flow: FloatArray) -> FloatArray:
    """Moment about the base against a rate of leaning over (n,) [N·m·s/rad]; arguments as above."""
    return np.asarray(mass_flow / 2 * slope * float(wet.weight @ (wet.chord * wet.z**2)))


def tracking(
    mast: Mast, *, level: float, speeds: FloatArray, water: Water, axis_ahead: float = 0.0
) -> Tracking:
    """Side force of the wet part by leeway, its stall, and its resistance to turning.

    Args:
        mast: the mast.
        level: z of still water [m].
        speeds: (n,) [m/s].
        water: its density.
        axis_ahead: upright axis that the rider turns about, ahead of the stacking line [m]. In steady
            flight the wing's lift passes through the centre of mass, so the axis through it meets the
            wing's aerodynamic centre (``Wing.ahead``).
    """
    speeds = np.asarray(speeds, dtype=float)
    wet = wet_part(mast, level)
    area = wet_area(mast, wet)
    none = np.zeros_like(speeds)
    if area.aspect_ratio is None:
        return Tracking(
            speeds=speeds,
            area=area,
            lift_slope=None,
            slope_area=0.0,
            side_per_rad=none,
            stall_leeway=None,
            stall_force=none,
            ventilation_leeway=VENTILATION,
            ventilation_force=np.zeros((speeds.size, 2)),
            axis_ahead=axis_ahead,
            weathercock=none,
            yaw_damping=none,
            roll_damping=none,
            notes=("No part of the mast is under water: it neither tracks nor resists a turn.",),
        )
    slope = strut_slope(area.aspect_ratio)
    pressure, mass_flow = water.density / 2 * speeds**2, water.density * speeds
    at_air = np.minimum(slope.value * np.array([VENTILATION.low, VENTILATION.high]), MOST_LIFT.value)
    return Tracking(
        speeds=speeds,
        area=area,
        lift_slope=slope,
        slope_area=slope.value * area.side,
        side_per_rad=pressure * slope.value * area.side,
        stall_leeway=Coefficient(
            value=MOST_LIFT.value / slope.value,
            low=MOST_LIFT.low / slope.high,
            high=MOST_LIFT.high / slope.low,
            source=MOST_LIFT.source,
        ),
        stall_force=pressure * area.side * MOST_LIFT.value,
        ventilation_leeway=VENTILATION,
        ventilation_force=pressure[:, None] * area.side * at_air,
        axis_ahead=axis_ahead,
        weathercock=pressure * slope.value * weathercock_volume(mast, wet, axis_ahead),
        yaw_damping=yaw_damping(
            mast, wet, slope=slope.value, axis_ahead=axis_ahead, mass_flow=mass_flow
        ),
        roll_damping=roll_damping(wet, slope=slope.value, mass_flow=mass_flow),
        notes=_notes(area.aspect_ratio, area, wet),
    )


def _notes(aspect_ratio: float, area: WetArea, wet: WetPart) -> tuple[str, ...]:
    out = [BLADE_ALONE]
    if aspect_ratio < 1:
        out.append(
            f"The wet part is {area.depth * 1e3:.0f} mm deep, aspect ratio {aspect_ratio:.2f}: its side"
            " force grows faster than leeway, and the slope holds for small leeway only."
        )
    thin = float((wet.thickness / wet.chord).min())
    if thin < THINNEST:
        out.append(
            f"The blade is as thin as {thin:.1%} of its chord: it may stall from its nose at less leeway"
            " than stated."
        )
    return tuple(out)
