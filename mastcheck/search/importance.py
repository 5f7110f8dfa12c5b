"""What is said of samples: spreads, chances with their confidence, and what matters most."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.result import MastResult
from mastcheck.checks.tolerance_result import Band, Chance, Importance, Spread
from mastcheck.scatter import COVERAGE, Tolerance
from mastcheck.search.expansion import fit
from mastcheck.search.headline import Headline
from mastcheck.search.sampling import Samples
from mastcheck.search.size_limits import Name, uses

FloatArray = NDArray[np.float64]

MOST_ERROR = 0.05
"""Share of the variance that a fit may miss, when its indices are still shown."""

CONFIDENCE = 0.95
_FEWEST = 20
"""Samples below which no spread is given."""


def spread_of(band: Band, samples: Samples, tolerances: tuple[Tolerance, ...]) -> Spread | None:
    """A headline number among the samples; None where hardly any has it."""
    inputs, values = samples.values(Headline(band.name, band.case, band.unit))
    if len(values) < _FEWEST:
        return None
    # A sample that is unstable or refused has no number: it counts as one beyond all others.
    gone = len(samples.samples) - len(values)
    every = np.concatenate([values, np.full(gone, np.inf)])
    tail = (1 - COVERAGE) / 2
    method = "inverted_cdf" if gone else "linear"
    # The stubs want the method's name as a literal.
    ends = np.quantile(every, [tail, 0.5, 1 - tail], method=method)  # type: ignore[call-overload]
    low, median, high = (float(v) for v in ends)
    unknown = Importance(first=None, total=None, error=None)
    return Spread(
        low=low,
        median=median,
        high=high,
        mean=float(values.mean()),
        deviation=float(values.std(ddof=1)),
        count=len(values),
        low_between=quantile_between(every, tail),
        high_between=quantile_between(every, 1 - tail),
        importance=unknown if gone else _importance(inputs, values, tolerances),
    )


def quantile_between(values: FloatArray, share: float) -> tuple[float, float]:
    """Where a quantile lies at 95 % confidence: two of the values in order, whatever their distribution.

    Of n values the number below the quantile is binomial; beyond the least or greatest value nothing
    is known, and that end is the infinite one.
    """
    from scipy.stats import binom

    n, ordered = len(values), np.sort(values)
    below = int(binom.ppf((1 - CONFIDENCE) / 2, n, share))
    above = int(binom.ppf((1 + CONFIDENCE) / 2, n, share)) + 1
    low = float(ordered[below - 1]) if below >= 1 else -np.inf
    high = float(ordered[above - 1]) if above <= n else np.inf
    return low, high


def _importance(inputs: FloatArray, values: FloatArray, tolerances: tuple[Tolerance, ...]) -> Importance:
    found = fit(inputs, values, [t.law for t in tolerances])
    if found is None:
        return Importance(first=None, total=None, error=None)
    if not found.error <= MOST_ERROR:
        return Importance(first=None, total=None, error=found.error)
    first, total = (tuple(float(v) for v in each) for each in (found.first(), found.total()))
    return Importance(first=first, total=total, error=found.error)


def chances(result: MastResult, samples: Samples) -> tuple[Chance, ...]:
    """How often each limit was exceeded; those the mast as it is has a number for, most often first."""
    known: dict[Name, float] = {name: use.used for name, use in uses(result).items()}
    for s in samples.samples:
        for name in s.exceeded:
            known.setdefault(name, 0.0)
    out = []
    for name, used in known.items():
        # What an unstable mast is used by has no number, and is over every limit of that case.
        often = sum(
            name in s.exceeded or name[1] in s.unstable or bool(s.refused) for s in samples.samples
        )
        out.append(chance(name, used, often, len(samples.samples)))
    return tuple(sorted(out, key=lambda c: (-c.exceeded, -c.used)))


def any_limit(result: MastResult, samples: Samples) -> Chance:
    """How often any limit was exceeded."""
    used = max((use.used for use in uses(result).values()), default=0.0)
    often = sum(s.failed for s in samples.samples)
    return chance(("any limit", ""), used, often, len(samples.samples))


def chance(name: Name, used: float, exceeded: int, count: int) -> Chance:
    """A probability with its 95 % interval, exact for independent samples (Clopper and Pearson).

    Where it never or always happened, the one end that is left is the one-sided bound. A Latin
    hypercube spreads its samples more evenly than independent ones, so that the interval is hardly too
    narrow.
    """
    from scipy.stats import binomtest

    if exceeded in (0, count):
        side = "less" if exceeded == 0 else "greater"
        found = binomtest(exceeded, count, alternative=side).proportion_ci(CONFIDENCE, "exact")
    else:
        found = binomtest(exceeded, count).proportion_ci(CONFIDENCE, "exact")
    return Chance(
        name=name[0], case=name[1], used=used, exceeded=exceeded, count=count,
        low=float(found.low), high=float(found.high),
    )  # fmt: skip
