"""Static divergence: the speed at which lift turns the mast faster than it can spring back.

Lift that a rotation makes is q A u (q the dynamic pressure), so that the mast is in balance at any
deflection where K - q A is singular. Twist about z puts the wet strut at an angle to the flow; its
side force at the quarter chord turns it further where the shear centre lies behind. Pitch about y
lifts the wing, which bends the mast fore and aft where the wing is ahead of it. A level wing makes
no side force when it yaws, so it takes no part in twist: only panels with dihedral do, by the
square of its sine. Bisplinghoff, Ashley and Halfman, Aeroelasticity, ch. 8 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.kinematics import DOFS
from mastcheck.beam.modes import line_matrix
from mastcheck.beam.solve import FrameModel
from mastcheck.foil import Foil
from mastcheck.mast import Mast
from mastcheck.motion.water import chord_at, lift_slope
from mastcheck.source import Grade, Source

FloatArray = NDArray[np.float64]

STRIP_SLOPE = 2 * math.pi
DIVERGENCE_SOURCE = Source(
    title="static divergence: lowest dynamic pressure at which K - q A is singular; Bisplinghoff, Ashley"
    " and Halfman, Aeroelasticity, ch. 8",
    grade=Grade.MEMORY,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Divergence:
    """Dynamic pressure [Pa] of divergence, inf where there is none; pitch is None without a wing."""

    twist: float
    pitch: float | None


def divergence(
    mast: Mast,
    frame: FrameModel,
    foil: Foil | None,
    *,
    level: float,
    strip_slope: float = STRIP_SLOPE,
) -> Divergence:
    """Lowest dynamic pressures of divergence, mainly in twist and mainly in pitch.

    Args:
        mast: the mast, for its chords and stacking line.
        frame: its finite elements, with a node at the waterline.
        foil: what hangs at the tip; its wing's lift is counted.
        level: z from which the strut is wet and lifts [m].
        strip_slope: lift slope of the strut's strips [1/rad]; 0 leaves its lift out.
    """
    lift = line_matrix(frame, lambda z: strip_stiffness(mast, z, level, strip_slope))
    wing = None if foil is None else foil.wing
    if foil is not None and wing is not None:
        last = DOFS * (frame.n - 1)
        lift[last : last + 6, last : last + 6] += wing_stiffness(foil)
    twist, pitch = _lowest(frame, lift)
    return Divergence(twist=twist, pitch=None if wing is None else pitch)


def strip_stiffness(mast: Mast, z: FloatArray, level: float, slope: float) -> FloatArray:
    """Lift of the wet strut per length and dynamic pressure (m, 6, 6) at z (m,).

    The flow runs along +x. A twist θz turns the nose to -y, so the lift is -c a θz along y, at the
    quarter chord.
    """
    c = chord_at(mast, z)
    lift = np.where(z >= level, c * slope, 0.0)
    out = np.zeros((*z.shape, 6, 6))
    out[..., 1, 5] = -lift
    out[..., 5, 5] = -lift * (0.25 - mast.taper_about) * c
    return out


def wing_stiffness(foil: Foil) -> FloatArray:
    """Lift of the wing per dynamic pressure (6, 6) for rotations of the tip; zero without a wing."""
    out = np.zeros((6, 6))
    wing = foil.wing
    if wing is None:
        return out
    slope = wing.area * lift_slope(wing)
    level, upright = slope * math.cos(wing.dihedral) ** 2, slope * math.sin(wing.dihedral) ** 2
    x, z = -wing.ahead, foil.below
    # Nose down is +θy: lift toward the board falls, a force along +z at x.
    out[2, 4], out[4, 4] = level, -x * level
    # Nose to -y is +θz: a force along -y at (x, z).
    out[1, 5], out[3, 5], out[5, 5] = -upright, z * upright, -x * upright
    return out


def speed(pressure: float, density: float) -> float:
    """Speed [m/s] of a dynamic pressure [Pa]; inf stays inf.

    >>> round(speed(170442.3, 1026.021), 5)
    18.22744
    """
    return math.sqrt(2 * pressure / density)


def _lowest(frame: FrameModel, lift: FloatArray) -> tuple[float, float]:
    """Lowest positive q that is mainly twist, and mainly pitch, of the tip; inf where there is none."""
    used = frame.free[np.any(lift[np.ix_(frame.free, frame.free)] != 0, axis=0)]
    lowest = [math.inf, math.inf]
    if not used.size:
        return lowest[0], lowest[1]
    free = frame.free
    answer = np.linalg.solve(frame.k0[np.ix_(free, free)], lift[np.ix_(free, used)])
    place = np.searchsorted(free, used)
    # Only rotations make lift: u = q K⁻¹ A u, on those rotations alone.
    values, vectors = np.linalg.eig(answer[place])
    size = np.abs(values).max()
    tip = np.searchsorted(free, DOFS * (frame.n - 1) + np.array([5, 4]))
    for value, vector in zip(values, vectors.T, strict=True):
        if value.real <= 1e-9 * size or abs(value.imag) > 1e-9 * size:
            continue  # lift that resists, nothing, or an oscillating answer, which is not static
        turn = np.abs((answer @ vector)[tip])
        k = int(turn[1] > turn[0])
        lowest[k] = min(lowest[k], float(1 / value.real))
    return lowest[0], lowest[1]
