"""What still water adds to the mass of mast and wing, and the lift of thin wings."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mastcheck.foil import Foil, Wing
from mastcheck.mast import Mast
from mastcheck.source import Grade, Source

FloatArray = NDArray[np.float64]

VISCOSITY = 1.19e-6
"""Kinematic viscosity of sea water at 15 °C [m²/s]; ITTC tables give 1.1883e-6 to 1.1892e-6."""

DENSITY_SOURCE = Source(
    title="sea water at 15 °C, ITTC 7.5-02-01-03: 1026.021, rounded",
    grade=Grade.STANDARD,
)
ADDED_MASS_SOURCE = Source(
    title="potential flow about a flat plate (sideways, twist) and an ellipse (fore and aft) in an"
    " unbounded fluid; Newman, Marine Hydrodynamics, table 4.3; no free surface",
    grade=Grade.MEMORY,
)
WING_MASS_SOURCE = Source(
    title="flat plate of finite span: pi/4 rho c² b times Pabst's factor",
    grade=Grade.MEMORY,
)
LIFT_SLOPE_SOURCE = Source(
    title="Helmbold (1942): 2 pi A/(2 + sqrt(A² + 4)), A the aspect ratio; deep water",
    grade=Grade.MEMORY,
)
STRIP_SOURCE = Source(
    title="thin aerofoil theory: lift slope 2 pi at the quarter chord, strip by strip; no free surface,"
    " no end effects",
    grade=Grade.MEMORY,
)


def chord_at(mast: Mast, z: FloatArray) -> FloatArray:
    """Chord (m,) [m] at z (m,): linear between stations."""
    at = [s.at * mast.length for s in mast.stations]
    return np.interp(z, at, [s.chord for s in mast.stations])


def thickness_at(mast: Mast, z: FloatArray) -> FloatArray:
    """Thickness (m,) [m] at z (m,): linear between stations."""
    at = [s.at * mast.length for s in mast.stations]
    return np.interp(z, at, [s.thickness for s in mast.stations])


def sideways_added_mass(chord: FloatArray, density: float) -> FloatArray:
    """Added mass per length of a plate moving broadside [kg/m]: pi rho (c/2)².

    >>> float(sideways_added_mass(np.array([0.12]), 1026.021)[0].round(5))
    11.60402
    """
    return math.pi * density * (chord / 2) ** 2


def twist_added_inertia(chord: FloatArray, density: float) -> FloatArray:
    """Added inertia per length of a plate turning about mid-chord [kg·m]: pi rho c⁴/128.

    >>> float(twist_added_inertia(np.array([0.12]), 1026.021)[0].round(9))
    0.005221811
    """
    return math.pi * density * chord**4 / 128


def fore_aft_added_mass(thickness: FloatArray, density: float) -> FloatArray:
    """Added mass per length of an ellipse moving along its chord [kg/m]: pi rho (t/2)².

    >>> float(fore_aft_added_mass(np.array([0.0144]), 1026.021)[0].round(6))
    0.167098
    """
    return math.pi * density * (thickness / 2) ** 2


def added_inertia(mast: Mast, z: FloatArray, waterline: float, density: float) -> FloatArray:
    """Added mass of the mast per length (m, 6, 6) at z (m,), for movements of the stacking line.

    Args:
        mast: the mast.
        z: places [m].
        waterline: z from which the mast is under water [m].
        density: of the water [kg/m³].
    """
    c, t = chord_at(mast, z), thickness_at(mast, z)
    wet = z >= waterline
    side = wet * sideways_added_mass(c, density)
    middle = (0.5 - mast.taper_about) * c  # mid-chord from the stacking line
    out = np.zeros((*z.shape, 6, 6))
    out[..., 0, 0] = wet * fore_aft_added_mass(t, density)
    out[..., 1, 1] = side
    out[..., 1, 5] = out[..., 5, 1] = side * middle
    out[..., 5, 5] = side * middle**2 + wet * twist_added_inertia(c, density)
    return out


def lift_slope(wing: Wing) -> float:
    """Slope of the wing's lift coefficient [1/rad]: as stated, else Helmbold's for its aspect ratio.

    >>> round(lift_slope(Wing(area=0.12, span=0.85, ahead=0.1)), 3)
    4.534
    """
    if wing.lift_slope is not None:
        return wing.lift_slope
    A = wing.aspect_ratio
    return 2 * math.pi * A / (2 + math.sqrt(A**2 + 4))


def pabst_factor(aspect_ratio: float) -> float:
    """Added mass of a rectangular plate over that of a strip of an endless one, by Pabst (1930).

    >>> round(pabst_factor(4.0), 3)
    0.873
    """
    A = max(aspect_ratio, 1 / aspect_ratio)
    return A / math.sqrt(1 + A**2) * (1 - 0.425 * A / (1 + A**2))


def rigid_inertia(mass: FloatArray, turning: FloatArray, at: FloatArray) -> FloatArray:
    """Inertia (6, 6) for movements (u, θ) of the tip of a rigid body held there.

    Args:
        mass: (3,) mass felt along x, y, z [kg]; water makes them differ.
        turning: (3,) inertia about x, y, z through the body's own centre [kg·m²].
        at: (3,) that centre from the tip [m].
    """
    x, y, z = at
    # Velocity of the centre: u + θ × at.
    carry = np.hstack([np.eye(3), np.array([[0, z, -y], [-z, 0, x], [y, -x, 0]])])
    out: FloatArray = carry.T @ np.diag(mass) @ carry
    out[3:, 3:] += np.diag(turning)
    return out


def foil_inertia(foil: Foil) -> FloatArray:
    """Inertia (6, 6) of the foil for movements of the tip [kg, kg·m, kg·m²]."""
    return rigid_inertia(
        np.full(3, foil.mass),
        np.array([foil.roll_inertia, foil.pitch_inertia, foil.yaw_inertia]),
        np.array([-foil.ahead, 0.0, foil.below]),
    )


def wing_added_inertia(foil: Foil, density: float) -> FloatArray:
    """Added mass (6, 6) of the wing for movements of the tip; zero without a wing.

    The wing is a plate of its area and span and of equal chord throughout. Heave moves the water of
    a strip pi/4 rho c² times the span and Pabst's factor, at the wing's mid-chord, a quarter chord
    behind its aerodynamic centre; roll the same water spread evenly along the span. Fuselage and
    stabiliser add nothing here.
    """
    wing = foil.wing
    if wing is None:
        return np.zeros((6, 6))
    chord = wing.area / wing.span
    heave = pabst_factor(wing.aspect_ratio) * math.pi / 4 * density * chord**2 * wing.span
    cosine, sine = math.cos(wing.dihedral), math.sin(wing.dihedral)
    mass = np.array([0.0, heave * sine**2, heave * cosine**2])
    pitch = heave * chord**2 / 32  # pi rho c⁴/128 a metre, over pi/4 rho c²
    turning = np.array([heave * wing.span**2 / 12, pitch, 0.0])
    return rigid_inertia(mass, turning, np.array([chord / 4 - wing.ahead, 0.0, foil.below]))
