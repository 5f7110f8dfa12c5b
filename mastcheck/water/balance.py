"""Free bodies: the forces on rider, board, mast and foil as one, and whether they balance.

Axes of the mast: x aft, y to port, z from the board down the mast; the origin is its base. Inertia
counts as a force (d'Alembert), so that a body in a turn or a blow balances too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.errors import MastcheckError

FloatArray = NDArray[np.float64]

CLOSED = 1e-9
"""Force out of balance, as a share of the weight, that rounding may leave."""


class BalanceError(MastcheckError):
    """A case whose forces or moments do not balance, or that the water cannot carry."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Force:
    """A force [N] at a place [m], or with a moment of its own [N·m], in mast axes."""

    name: str
    at: tuple[float, float, float]
    force: tuple[float, float, float] = (0.0, 0.0, 0.0)
    moment: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeBody:
    """All that acts on rider, board, mast and foil; ``weight`` [N] is what errors are measured by.

    ``lean`` [rad]: of the mast from upright, to port, for drawing. ``watched``: the moments that are
    shown to balance ("x", "y", "z"); the others are told in ``left_out``.
    """

    forces: tuple[Force, ...]
    weight: float
    lean: float = 0.0
    watched: tuple[str, ...] = ("x", "y", "z")
    left_out: str = ""

    def residual(self) -> tuple[FloatArray, FloatArray]:
        """Sum of forces (3,) [N] and of moments about the base (3,) [N·m]; moments not watched are 0."""
        force = np.sum([f.force for f in self.forces], axis=0)
        moment = np.sum([np.cross(f.at, f.force) + np.asarray(f.moment) for f in self.forces], axis=0)
        watched = np.array([axis in self.watched for axis in "xyz"])
        return force, np.where(watched, moment, 0.0)

    def balanced(self) -> FreeBody:
        """Itself.

        Raises: BalanceError naming the axis, where forces or watched moments do not add to nothing.
        """
        force, moment = self.residual()
        for kind, left, unit in (("forces", force, "N"), ("moments", moment, "N·m")):
            worst = int(np.abs(left).argmax())
            if not abs(left[worst]) <= CLOSED * self.weight:
                raise BalanceError(
                    f"{kind} along {'xyz'[worst]} do not balance: {left[worst]:.4g} {unit} are left"
                )
        return self
