"""What tolerances come to: bands on a mast's headline numbers, and how often a limit is exceeded."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.scatter import Tolerance

FloatArray = NDArray[np.float64]

_UNSEEN = {"mm": 0.05, "deg": 0.005}
"""Movements that nobody could see, by their unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Importance:
    """Sobol' indices of one number by the k tolerances: shares of its variance.

    ``first`` (k,): by each alone; ``total`` (k,): by each with all it acts through others. From a
    quadratic fitted to the samples; ``error``: share of the variance that it misses when each sample is
    foretold from all others. None for both where that error is too large, or the samples too few.
    """

    first: tuple[float, ...] | None
    total: tuple[float, ...] | None
    error: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A number among the samples: the ends of the middle 95 %, the median, mean and deviation.

    ``low_between``, ``high_between``: where the true ends lie at 95 % confidence (order statistics).
    ``count``: samples in which the number exists; the others, unstable or refused, count as greater than
    all (inf), but not in mean and deviation.
    """

    low: float
    median: float
    high: float
    mean: float
    deviation: float
    count: int
    low_between: tuple[float, float]
    high_between: tuple[float, float]
    importance: Importance


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A headline number with its 95 % band by linear propagation; movements without their sign.

    ``name``, ``case`` ("" for none) and ``unit`` as printed. ``changes`` (k,): by each tolerance at its
    upper limit. ``half_width``: root of the sum of squares; ``worst``: all limits at once. ``spread``:
    among samples, None where none were asked for.
    """

    name: str
    case: str
    unit: str
    value: float
    changes: tuple[float, ...]
    half_width: float
    worst: float
    spread: Spread | None = None

    @property
    def low(self) -> float:
        """Lower end; what has no sign ends at nil."""
        return max(0.0, self.value - self.half_width)

    @property
    def high(self) -> float:
        """Upper end."""
        return self.value + self.half_width

    @property
    def negligible(self) -> bool:
        """Whether it is a movement that nobody could see, and that is mostly what arithmetic leaves."""
        return self.value + self.half_width < _UNSEEN.get(self.unit, 0.0)

    @property
    def differs(self) -> bool:
        """Whether an end is not where the samples put it, give or take 5 % of the half width."""
        if self.spread is None or self.negligible:
            return False
        slack = 0.05 * self.half_width
        ends = ((self.low, self.spread.low_between), (self.high, self.spread.high_between))
        return any(not low - slack <= end <= high + slack for end, (low, high) in ends)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """How often a limit was exceeded among ``count`` samples.

    ``low`` and ``high``: 95 % confidence interval of the probability (Clopper and Pearson); where
    nothing was exceeded, ``high`` is the one-sided bound. ``used``: of the limit by the mast as it is.
    """

    name: str
    case: str
    used: float
    exceeded: int
    count: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Exceeded over all."""
        return self.exceeded / self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class TolerancesResult:
    """Bands of all headline numbers and, where samples were asked for, how often limits are exceeded.

    ``any_limit``: how often at least one is. ``refused``: samples of which no section could be built,
    counted as exceeding every limit. ``samples``: 0 where only the linear bands were asked for.
    """

    tolerances: tuple[Tolerance, ...]
    bands: tuple[Band, ...]
    samples: int = 0
    seed: int = 0
    refused: int = 0
    chances: tuple[Chance, ...] = ()
    any_limit: Chance | None = None
