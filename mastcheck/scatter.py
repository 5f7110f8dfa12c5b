"""What masts and riders differ by from the numbers of a mast file: tolerances, and how they scatter."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from mastcheck.source import Source

FloatArray = NDArray[np.float64]

COVERAGE = 0.95
"""Share of masts, or rides, that a band is to hold."""

_K = 1.959963984540054
"""Standard deviations on either side of the mean that hold 95 % of a normal distribution."""

_TAIL = 4.0
"""Standard deviations at which a normal distribution is cut off: 1 in 16 000 lie beyond."""


class Quantity(StrEnum):
    """What scatters, each once for a whole mast.

    A size is off by as much at every station, as one die or one mould makes it. E: the elastic constants
    of all materials together, G among them. G: what G scatters beside that, E held. Load: every force
    and moment of every load case.
    """

    LOAD = "load"
    WALL = "wall"
    CHORD = "chord"
    THICKNESS = "thickness"
    LENGTH = "length"
    E = "E"
    G = "G"


class Law(StrEnum):
    """How values lie between the limits."""

    UNIFORM = "uniform"
    NORMAL = "normal"


SHARES = (Quantity.LOAD, Quantity.E, Quantity.G)
"""What is stated as a share of itself, and can be nothing else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """A quantity within ± ``limit``: metres, or a share of itself where ``relative``.

    A size is uniform between its limits, since what lies beyond is thrown away and nothing is known of
    what lies within (so JCGM 100:2008, 4.3.7, from memory); a die or a mould sits anywhere in it. Load,
    E and G are normal, and the limits hold 95 % of them.
    """

    quantity: Quantity
    limit: float
    relative: bool
    source: Source

    @property
    def law(self) -> Law:
        """How values lie between the limits."""
        return Law.NORMAL if self.quantity in SHARES else Law.UNIFORM

    @property
    def deviation(self) -> float:
        """Standard deviation, in limits."""
        return 1 / _K if self.law is Law.NORMAL else 3**-0.5


def standard_values(tolerance: Tolerance, chance: FloatArray) -> FloatArray:
    """Values with a chance (0 to 1) to be below them: from -1 to 1, or in standard deviations."""
    if tolerance.law is Law.UNIFORM:
        return np.asarray(2 * chance - 1)
    from scipy.special import ndtr, ndtri

    # Between the two ends that are cut off.
    least = ndtr(-_TAIL)
    return np.asarray(ndtri(least + chance * (1 - 2 * least)))


def in_limits(tolerance: Tolerance, standard: FloatArray) -> FloatArray:
    """Standard values in limits: 1 is the upper one."""
    return standard if tolerance.law is Law.UNIFORM else standard * tolerance.deviation


def half_width(changes: FloatArray, tolerances: tuple[Tolerance, ...]) -> FloatArray:
    """Half width (...,) of the 95 % band of what changes (..., k) by so much at each limit.

    Root of the sum of squares; never more than all limits at once.
    """
    deviations = np.array([t.deviation for t in tolerances])
    spread = np.sqrt(((changes * deviations) ** 2).sum(axis=-1))
    return np.asarray(np.minimum(_K * spread, np.abs(changes).sum(axis=-1)))
