"""Natural modes of a mast in air and in water, named by what they move."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.model import BeamModel
from mastcheck.beam.modes import Modes, modes
from mastcheck.beam.solve import FrameModel
from mastcheck.foil import Foil
from mastcheck.mast import Mast
from mastcheck.motion.water import added_inertia, chord_at, foil_inertia, wing_added_inertia

FloatArray = NDArray[np.float64]

COUNT = 6
"""Modes that are shown."""
MOST = 12
"""Modes that shedding is held against: higher ones have waves about as short as the chord, where the
section bends too and a beam says little."""
KINDS = ("side bending", "twist", "fore-aft bending", "stretch")
ALSO = 0.15
"""Share of the movement from which a second kind is part of a mode's name."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Mode:
    """A natural mode.

    name: what it moves, counted within its kind; frequency [Hz]; shares (4,) of the mean square
    movement by KINDS. z (n,) [m]; side, fore_aft and twist (n,): movement of the stacking line and
    of the section's edges by twist (rotation times half the mean chord), scaled so that the
    largest of all is +1.
    """

    name: str
    frequency: float
    shares: FloatArray
    z: FloatArray
    side: FloatArray
    fore_aft: FloatArray
    twist: FloatArray


def waterline(mast: Mast, wet_fraction: float) -> float:
    """Place along z [m] at which the mast enters the water."""
    return mast.length * (1 - wet_fraction)


def modes_in_air(mast: Mast, model: BeamModel, frame: FrameModel, foil: Foil | None) -> tuple[Mode, ...]:
    """The lowest ``COUNT`` modes in air, with the foil at the tip if there is one."""
    tip = None if foil is None else foil_inertia(foil)
    return _named(mast, modes(model, frame, tip=tip, count=COUNT))


def modes_in_water(
    mast: Mast,
    model: BeamModel,
    frame: FrameModel,
    foil: Foil | None,
    *,
    level: float,
    density: float,
) -> tuple[Mode, ...]:
    """The lowest ``MOST`` modes in still water from z = ``level`` [m] to the tip.

    Args:
        mast: the mast.
        model: its section stiffness and mass.
        frame: its finite elements, with a node at the waterline.
        foil: what hangs at the tip.
        level: waterline [m].
        density: of the water [kg/m³].
    """
    tip = None if foil is None else foil_inertia(foil) + wing_added_inertia(foil, density)
    found = modes(
        model, frame, tip=tip, added=lambda z: added_inertia(mast, z, level, density), count=MOST
    )
    return _named(mast, found)


def _named(mast: Mast, found: Modes) -> tuple[Mode, ...]:
    half = float(chord_at(mast, np.linspace(0, mast.length, 201)).mean()) / 2
    u, twist = found.displacement, found.rotation[..., 2] * half
    moved = np.stack([u[..., 1], twist, u[..., 0], u[..., 2]], axis=1)
    square = np.trapezoid(moved**2, found.z, axis=-1)
    shares = square / square.sum(axis=1, keepdims=True)
    seen = [0] * len(KINDS)
    out = []
    for frequency, movement, share in zip(found.frequency, moved, shares, strict=True):
        main = int(share.argmax())
        seen[main] += 1
        largest = movement.flat[int(np.abs(movement).argmax())]
        side, turned, fore_aft, _ = movement / largest
        out.append(
            Mode(
                name=_name(share, seen[main]),
                frequency=float(frequency),
                shares=share,
                z=found.z,
                side=side,
                fore_aft=fore_aft,
                twist=turned,
            )
        )
    return tuple(out)


def _name(shares: Sequence[float] | FloatArray, count: int) -> str:
    """What a mode moves, counted within its main kind.

    >>> _name([0.97, 0.03, 0.0, 0.0], 1), _name([0.7, 0.3, 0.0, 0.0], 2)
    ('side bending 1', 'side bending 2 with twist')
    """
    order = np.argsort(-np.asarray(shares), kind="stable")
    name = f"{KINDS[order[0]]} {count}"
    return name + (f" with {KINDS[order[1]]}" if shares[order[1]] >= ALSO else "")
