"""Where the flex comes from: compliances and play fitted to the readings of a bench.

Fitted are only unknowns that the readings can tell apart; the others are held as calculated and named.
No prior is used: what is held is held, what is fitted comes from the readings alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from mastcheck.bench.choose import chosen, raw_noise, t_quantile
from mastcheck.bench.design import Choice, Design, design_of, refuse, resting, solved, tip_shares
from mastcheck.bench.leastsquares import LeastSquares, studentised
from mastcheck.bench.model import PARAMETERS, PLAYS, BenchModel
from mastcheck.bench.noise import Noise, noise_of
from mastcheck.bench.readings import Reading
from mastcheck.bench.series import Series, series_of

FloatArray = NDArray[np.float64]

FALSE_ALARM = 0.01
"""Chance that clean readings flag any outlier at all (Bonferroni over the readings)."""
CLEAR = 3.0
"""Standard errors by which an unknown must be able to move a reading to count as seen."""
_ROUNDING = 1e-9  # scatter over the readings' errors that no gauge makes
MOST_FLAGGED = 0.10
"""Share of the readings that may be set aside; more means that the model is wrong, not the readings."""


class Status(StrEnum):
    """What became of an unknown."""

    FITTED = "fitted"
    AT_BOUND = "at its bound"
    NOT_SEPARATED = "not separated"
    NOT_SEEN = "not seen"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """One unknown: compliance over the calculated one, or rad per N·m of a joint, or play [rad].

    ``error``: standard error; ``interval``: half-width at LEVEL; both None where nothing was fitted.
    ``share``: of the tip's calculated movement that one unit of it makes (0 for play).
    """

    name: str
    nominal: float
    value: float
    status: Status
    error: float | None = None
    interval: float | None = None
    share: float = 0.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BenchFit:
    """A fit of n readings.

    zero (n,): fitted zero of each reading's series; predicted, fitted (n,): without it, as calculated
    and after the fit; residual (n,); studentised (n,); sigma (n,) standard errors; used (n,): False
    for outliers, and for rests in a free gap; flagged (n,): outliers. ``covariance`` (k, k) of the
    fitted unknowns (``names``), play included. ``quantile``: of the errors at LEVEL.
    """

    model: BenchModel
    readings: tuple[Reading, ...]
    series: tuple[Series, ...]
    unknowns: tuple[Unknown, ...]
    plays: tuple[Unknown, ...]
    names: tuple[str, ...]
    covariance: FloatArray
    singular: FloatArray
    quantile: float
    zero: FloatArray
    predicted: FloatArray
    fitted: FloatArray
    residual: FloatArray
    studentised: FloatArray
    sigma: FloatArray
    used: NDArray[np.bool_]
    flagged: NDArray[np.bool_]
    noise: Noise
    design: Design
    dof: int
    second_order: bool
    suspicious: bool

    def unknown(self, name: str) -> Unknown:
        """The unknown of that name."""
        return next(u for u in self.unknowns if u.name == name)


def fit(model: BenchModel, readings: Sequence[Reading], *, second_order: bool = True) -> BenchFit:
    """Fit what the readings support.

    Args:
        model: the mast on the bench, with nodes at every place of the readings.
        readings: in the order they were taken.
        second_order: whether to correct for it where it matters; off in tests of linear algebra.

    Raises: InputError when there are too few readings, or readings of turned sign.
    """
    readings = tuple(readings)
    series = series_of(readings)
    design = design_of(model, readings, series, second_order=second_order)
    shares = tip_shares(model)
    refuse(readings, design, model)
    used = np.ones(len(readings), dtype=bool)
    flagged = np.zeros(len(readings), dtype=bool)
    while True:
        sigma = raw_noise(model, readings, design, used, shares)
        choice = chosen(model, design, sigma, used, shares)
        rows = used & ~resting(design, choice)
        noise = noise_of(readings, solved(model, design, choice, sigma, rows), rows)
        sigma = noise.sigma
        found = solved(model, design, choice, sigma, rows)
        outlier = _outlier(found, rows)
        if outlier is None or flagged.sum() + 1 > max(1, MOST_FLAGGED * len(readings)):
            break
        flagged[outlier] = True
        used[outlier] = False
    return _result(
        model, readings, series, design, choice, found, noise, rows, flagged, shares,
        suspicious=outlier is not None,
    )  # fmt: skip


def _outlier(found: LeastSquares, rows: NDArray[np.bool_]) -> int | None:
    """The reading that lies farthest out, where it lies too far for chance."""
    from scipy.stats import t

    # Where all lie on the fit but for rounding, what is left has no farthest that means anything.
    if found.dof < 4 or found.variance**0.5 < _ROUNDING:
        return None
    out = np.abs(studentised(found))
    limit = float(t.ppf(1 - FALSE_ALARM / (2 * len(out)), found.dof - 1))
    k = int(out.argmax())
    return int(np.flatnonzero(rows)[k]) if out[k] > limit else None


def _result(
    model: BenchModel,
    readings: tuple[Reading, ...],
    series: tuple[Series, ...],
    design: Design,
    choice: Choice,
    found: LeastSquares,
    noise: Noise,
    rows: NDArray[np.bool_],
    flagged: NDArray[np.bool_],
    shares: FloatArray,
    *,
    suspicious: bool,
) -> BenchFit:
    n, m = len(choice.parameters), len(choice.plays)
    # Stated errors are never shrunk by a lucky scatter; errors found from the scatter carry it whole.
    variance = found.variance if found.dof > 0 else 1.0
    variance = max(1.0, variance) if noise.stated else variance
    quantile = t_quantile(min(noise.dof, found.dof) if found.dof > 0 else 0)
    normal = t_quantile(math.inf)
    if not noise.stated and found.dof > 0 and quantile * variance**0.5 < normal:
        # Readings rounded to a gauge's marks lie on a line by chance: what was assumed of it stands.
        variance, quantile = 1.0, normal
    covariance = found.covariance * variance
    errors = np.sqrt(np.diag(covariance))
    unknowns = []
    for i, name in enumerate(PARAMETERS):
        u = Unknown(
            name=name, nominal=float(model.nominal[i]), value=float(model.nominal[i]),
            status=Status.NOT_SEEN, share=float(shares[i]),
        )  # fmt: skip
        if i in choice.parameters:
            unknowns.append(_fitted(u, found, choice.parameters.index(i), errors, quantile))
        elif shares[i] and _shown(design, i, shares[i], noise, rows) > CLEAR:
            unknowns.append(replace(u, status=Status.NOT_SEPARATED))
        else:
            unknowns.append(u)
    plays = []
    for k, name in enumerate(PLAYS):
        u = Unknown(name=name, nominal=0.0, value=0.0, status=Status.NOT_SEEN)
        if k in choice.plays:
            plays.append(_fitted(u, found, n + choice.plays.index(k), errors, quantile))
        elif (bound := _play_bound(model, design, choice, k, noise, rows)) is not None:
            plays.append(replace(u, status=Status.AT_BOUND, interval=bound))
        else:
            plays.append(u)
    zero = np.zeros(len(readings))
    kept = design.zeros[:, design.zeros[rows].any(axis=0)]
    zero += kept @ found.x[n + m :]
    theta = np.array([u.value for u in unknowns])
    free = np.array([p.value if p.status is Status.FITTED else 0.0 for p in plays])
    fitted = design.fixed + design.columns @ theta + design.plays @ free
    out = np.zeros(len(readings))
    out[rows] = studentised(found)
    residual = design.value - zero - fitted
    if flagged.any():  # a reading set aside is judged by the fit without it
        spread = np.sqrt(variance) * noise.sigma[flagged]
        out[flagged] = residual[flagged] / spread
    return BenchFit(
        model=model, readings=readings, series=series, unknowns=tuple(unknowns), plays=tuple(plays),
        names=(*(PARAMETERS[i] for i in choice.parameters), *(f"play {PLAYS[k]}" for k in choice.plays)),
        design=design, covariance=covariance[: n + m, : n + m], singular=found.singular,
        quantile=quantile, zero=zero,
        predicted=design.fixed + design.columns @ model.nominal, fitted=fitted, residual=residual,
        studentised=out, sigma=noise.sigma, used=rows, flagged=flagged, noise=noise, dof=found.dof,
        second_order=design.corrected, suspicious=suspicious,
    )  # fmt: skip


def _shown(design: Design, i: int, share: float, noise: Noise, rows: NDArray[np.bool_]) -> float:
    """Most standard errors by which an unknown moves a reading as it doubles the tip's movement."""
    return float(np.abs(design.columns[rows, i] / noise.sigma[rows]).max() / share)


def _fitted(u: Unknown, found: LeastSquares, at: int, errors: FloatArray, quantile: float) -> Unknown:
    error = float(errors[at])
    return replace(
        u, value=float(found.x[at]), error=error, interval=quantile * error,
        status=Status.AT_BOUND if found.bound[at] else Status.FITTED,
    )  # fmt: skip


def _play_bound(
    model: BenchModel, design: Design, choice: Choice, k: int, noise: Noise, rows: NDArray[np.bool_]
) -> float | None:
    """Play [rad] that these readings would have shown, for one that did not show; None: not seen."""
    if np.abs(design.plays[rows, k]).max(initial=0.0) == 0:
        return None
    more = Choice(choice.parameters, tuple(sorted((*choice.plays, k))))
    rows = rows & ~resting(design, more)
    try:
        found = solved(model, design, more, noise.sigma, rows)
    except ValueError:
        return None
    if found.dof < 1:
        return None
    at = len(choice.parameters) + more.plays.index(k)
    scale = max(1.0 if noise.stated else 0.0, found.variance**0.5)
    wide = max(t_quantile(found.dof) * scale, t_quantile(math.inf))
    return float(max(found.x[at], 0.0) + wide * found.errors[at])
