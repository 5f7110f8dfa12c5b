"""Tolerances: bands by adding variances and by samples, what matters most, and how sure a share is."""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from mastcheck.errors import MastcheckError
from mastcheck.scatter import Law, Quantity, Tolerance, half_width, in_limits
from mastcheck.search.expansion import Expansion, fit
from mastcheck.search.importance import chance, quantile_between
from mastcheck.search.sampling import draw
from mastcheck.source import PRACTICE
from mastcheck.verify.given import Compute, Given

_SAMPLES = 100_000


def _sum(given: Given) -> tuple[tuple[Tolerance, ...], list[float]]:
    """Tolerances of a sum of inputs, and each at its limit; ``deviations`` of the inputs, one law."""
    quantity = {"normal": Quantity.LOAD, "uniform": Quantity.CHORD}[given.words("law")]
    one = Tolerance(quantity=quantity, limit=1.0, relative=True, source=PRACTICE)
    limits = [float(word) / one.deviation for word in given.words("deviations").split(",")]
    return (one,) * len(limits), limits


def _band(given: Given) -> float:
    """Half width of the 95 % band of a sum, by adding variances."""
    tolerances, limits = _sum(given)
    return float(half_width(np.array(limits), tolerances))


def _sampled_band(given: Given) -> float:
    """Half the distance between the ends of the middle 95 % of a sum among many samples."""
    tolerances, limits = _sum(given)
    inputs = draw(tolerances, _SAMPLES, seed=1)
    columns = [in_limits(t, c) * limit for t, c, limit in zip(tolerances, inputs.T, limits, strict=True)]
    low, high = np.quantile(np.sum(columns, axis=0), [0.025, 0.975])
    return float(high - low) / 2


@cache
def _ishigami() -> Expansion:
    """A polynomial fitted to Ishigami's function, a = 7, b = 0.1, inputs uniform from -π to π."""
    inputs = np.random.default_rng(2).uniform(-1, 1, (3000, 3))
    x = math.pi * inputs.T
    values = np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])
    found = fit(inputs, values, [Law.UNIFORM] * 3, degree=12)
    if found is None:
        raise MastcheckError("no polynomial was fitted")
    return found


def _index(given: Given) -> float:
    """A Sobol' index of Ishigami's function, ``of`` first or total order, of ``input`` 1 to 3."""
    found = {"first": _ishigami().first, "total": _ishigami().total}[given.words("of")]()
    return float(found[int(given.number("input")) - 1])


def _interval(given: Given) -> float:
    """An end of the 95 % interval of a probability, ``seen`` among ``of``."""
    seen, count = int(given.number("seen")), int(given.number("of"))
    found = chance(("", ""), 0.0, seen, count)
    return {"low": found.low, "high": found.high}[given.words("end")]


def _rank(given: Given) -> float:
    """Rank of the sample that bounds a quantile with 95 % confidence, from below or above."""
    ranks = np.arange(1.0, given.number("of") + 1)
    low, high = quantile_between(ranks, given.number("quantile"))
    return {"low": low, "high": high}[given.words("end")]


COMPUTATIONS: dict[str, Compute] = {
    "band of a sum": _band,
    "band of a sum, sampled": _sampled_band,
    "share of the variance": _index,
    "interval of a probability": _interval,
    "rank that bounds a quantile": _rank,
}
