"""Least f(y) with every c(y) ≤ 0, where each look is dear and some places cannot be looked at.

Sequential quadratic programming with a trust region (Nocedal and Wright, Numerical Optimization, 2nd
ed., ch. 18; Fletcher's exact penalty on the greatest c). Each quadratic problem is solved by SLSQP of
scipy. A library's method is not handed the whole problem because none of them takes what a structure
does: a place that cannot be looked at (the step is shortened), constraints that come and go (each
quadratic problem has those of its own place), and rates that cost ten times a look (they are asked for
only where a step is taken).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Label = tuple[str, str]
"""The name of a constraint, in two parts."""

RADIUS, LONGEST, SHORTEST = 0.25, 0.7, 5e-4
"""Length of the first step, of the longest, and that below which nothing is gained any more."""
GAIN, EASED = 5e-5, 5e-4
"""A step that promises less than this of f, or of the greatest constraint, is not taken."""
TOUCHING = 2e-3
"""A constraint this near to 0, or above, is active."""

_PENALTY = 10.0  # first guess; it must be above the sum of the forces that push back
_DEAREST = 200.0
_CURVATURE = 0.05  # first guess
_MOST_STEPS = 60


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Look:
    """f and the constraints c at a place; ``greatest`` of them."""

    f: float
    c: Mapping[Label, float]

    @property
    def greatest(self) -> float:
        """The greatest constraint; -inf where there is none."""
        return max(self.c.values(), default=-np.inf)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Slopes:
    """Rates (n,) of f and of those constraints whose rates are known, by name."""

    f: FloatArray
    c: Mapping[Label, FloatArray]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Problem:
    """What is sought: ``look`` gives None where nothing can be seen; bounds (n,).

    ``f_counts`` False: the least greatest c is sought, whatever f, and the search ends where it is
    below 0.
    """

    look: Callable[[FloatArray], Look | None]
    slopes: Callable[[FloatArray], Slopes]
    low: FloatArray
    high: FloatArray
    f_counts: bool = True


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ended:
    """Where a search ended: y (n,), what is seen there, its rates, and whether it had converged.

    ``blind``: whether the last steps it would have taken led where nothing can be seen.
    """

    y: FloatArray
    look: Look
    slopes: Slopes
    converged: bool
    blind: bool


def search(problem: Problem, start: FloatArray, *, enough: float = -np.inf) -> Ended | None:
    """Search from a start within the bounds; None where the start cannot be looked at.

    ``enough``: the search may end where every constraint holds and f is no more than this.
    """
    y, at = start, problem.look(start)
    if at is None:
        return None
    slopes = problem.slopes(y)
    curvature = _CURVATURE * np.eye(len(y))
    radius, penalty, blind, converged = RADIUS, _PENALTY, False, False
    for _ in range(_MOST_STEPS):
        if at.greatest <= 0 and (not problem.f_counts or at.f <= enough):
            converged = True
            break
        model = _Model(problem, y, at, slopes, curvature, penalty)
        step = model.step(radius)
        promised = model.promised(step)
        if promised < (GAIN if problem.f_counts else EASED) or radius < SHORTEST:
            if problem.f_counts and at.greatest > TOUCHING and penalty < _DEAREST:
                penalty *= 10  # what is over its limit weighed too little
                radius = RADIUS
                continue
            converged = True
            break
        length = float(np.abs(step).max())
        reached, there = _best_of(problem, model, y, step, radius)
        if there is None:
            blind, radius = True, length / 3
            continue
        gained = model.merit(at) - model.merit(there)
        if gained < 0.05 * promised:
            radius = length / 3
            continue
        ahead = problem.slopes(reached)
        pull = multipliers(problem, reached, there, ahead)
        penalty = max(penalty, 2 * sum(pull.forces.values()))
        if problem.f_counts:
            curvature = _updated(curvature, reached - y, _lagrangian(ahead, slopes, pull.forces))
        if gained > 0.5 * promised and length > 0.8 * radius:
            radius = min(2 * radius, LONGEST)
        y, at, slopes, blind = reached, there, ahead, False
    return Ended(y=y, look=at, slopes=slopes, converged=converged, blind=blind)


def _best_of(
    problem: Problem, model: _Model, y: FloatArray, step: FloatArray, radius: float
) -> tuple[FloatArray, Look | None]:
    """Where a step leads; bent by what the constraints came to there, if it did not gain enough."""
    reached = np.clip(y + step, problem.low, problem.high)
    there = problem.look(reached)
    if there is None or model.merit(model.at) - model.merit(there) >= 0.5 * model.promised(step):
        return reached, there
    bent = np.clip(y + model.bent(there, step).step(radius), problem.low, problem.high)
    if float(np.abs(bent - reached).max()) < 1e-6:
        return reached, there
    other = problem.look(bent)
    if other is not None and model.merit(other) < model.merit(there):
        return bent, other
    return reached, there


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Multipliers:
    """Karush-Kuhn-Tucker: how hard each active constraint and bound pushes back.

    ``forces``: of the constraints, ≥ 0. ``low``, ``high`` (n,): of the bounds, ≥ 0. ``remainder``:
    length of the slope that they leave, as a share of f's own.
    """

    forces: dict[Label, float]
    low: FloatArray
    high: FloatArray
    remainder: float


def multipliers(
    problem: Problem, y: FloatArray, at: Look, slopes: Slopes, touching: float = TOUCHING
) -> Multipliers:
    """The forces that best balance the slope of f, by non-negative least squares.

    Where f does not count, forces of the greatest constraints that balance each other and add up to 1.
    """
    from scipy.optimize import nnls

    above = 0.0 if problem.f_counts else at.greatest
    active = [name for name, a in slopes.c.items() if at.c.get(name, -np.inf) > above - touching]
    n = len(y)
    on_low = np.flatnonzero(y - problem.low < 1e-9)
    on_high = np.flatnonzero(problem.high - y < 1e-9)
    columns = [slopes.c[name] for name in active]
    columns += [-np.eye(n)[i] for i in on_low] + [np.eye(n)[i] for i in on_high]
    matrix = np.array(columns).reshape(-1, n).T
    against, scale = -slopes.f, float(np.linalg.norm(slopes.f))
    if not problem.f_counts:
        heavy = 1e3  # the sum of the forces is 1 before all else
        ones = np.array([heavy] * len(active) + [0.0] * (len(columns) - len(active)))
        matrix, against = np.vstack([matrix, ones]), np.append(np.zeros(n), heavy)
        scale = max([float(np.linalg.norm(slopes.c[name])) for name in active], default=1.0)
    found, left = nnls(matrix, against) if columns else (np.zeros(0), float(np.linalg.norm(against)))
    low, high = np.zeros(n), np.zeros(n)
    first = len(active)
    low[on_low] = found[first : first + len(on_low)]
    high[on_high] = found[first + len(on_low) :]
    return Multipliers(
        forces={name: float(v) for name, v in zip(active, found, strict=False)},
        low=low,
        high=high,
        remainder=float(left) / scale if scale else 0.0,
    )


class _Model:
    """f and the constraints near a place: their slopes, and the curvature of both together.

    Args:
        problem: what is sought.
        y: the place (n,).
        at: what is seen there.
        slopes: its rates.
        curvature: (n, n).
        penalty: what a constraint above 0 costs, in units of f.
    """

    def __init__(
        self,
        problem: Problem,
        y: FloatArray,
        at: Look,
        slopes: Slopes,
        curvature: FloatArray,
        penalty: float,
    ) -> None:
        n = len(y)
        self.at = at
        self._parts = problem, y, slopes, curvature, penalty
        self._counts = problem.f_counts
        self._c = np.array(list(at.c.values()))
        self._a = np.array([slopes.c.get(name, np.zeros(n)) for name in at.c]).reshape(-1, n)
        self._g = slopes.f if self._counts else np.zeros(n)
        self._b = curvature if self._counts else np.zeros((n, n))
        self._weight = penalty if self._counts else 1.0
        self._room = problem.low - y, problem.high - y

    def merit(self, at: Look) -> float:
        """What is to become less: f, and what the greatest constraint above 0 costs."""
        return at.f + self._weight * max(0.0, at.greatest) if self._counts else at.greatest

    def promised(self, step: FloatArray) -> float:
        """By how much the merit of the model falls over a step (n,)."""
        return self._merit(np.zeros(len(step))) - self._merit(step)

    def bent(self, there: Look, step: FloatArray) -> _Model:
        """The model with the constraints as a step found them (second-order correction)."""
        problem, y, slopes, curvature, penalty = self._parts
        seen = {
            name: there.c.get(name, c + float(a @ step)) - float(a @ step)
            for (name, c), a in zip(self.at.c.items(), self._a, strict=True)
        }
        return _Model(problem, y, Look(f=self.at.f, c=seen), slopes, curvature, penalty)

    def step(self, radius: float) -> FloatArray:
        """The step (n,) to the least of the model within the radius.

        One more unknown, s, is the greatest constraint: it is penalised, so that there is always a step.
        """
        from scipy.optimize import minimize

        c, a, g, b, weight, n = self._c, self._a, self._g, self._b, self._weight, len(self._g)
        floor = 0.0 if self._counts else -10.0
        low, high = np.maximum(self._room[0], -radius), np.minimum(self._room[1], radius)
        start = np.append(np.clip(np.zeros(n), low, high), float(c.max(initial=floor)))
        found = minimize(
            lambda v: float(g @ v[:n] + v[:n] @ b @ v[:n] / 2 + weight * v[n]),
            start,
            jac=lambda v: np.append(g + b @ v[:n], weight),
            bounds=[*zip(low, high, strict=True), (floor, None)],
            constraints={
                "type": "ineq",
                "fun": lambda v: v[n] - c - a @ v[:n],
                "jac": lambda _: np.column_stack([-a, np.ones(len(c))]),
            },
            method="SLSQP",
            options={"maxiter": 200, "ftol": 1e-12},
        )
        return np.asarray(np.clip(found.x[:n], low, high))

    def _merit(self, d: FloatArray) -> float:
        greatest = float((self._c + self._a @ d).max(initial=-np.inf))
        if not self._counts:
            return greatest
        return float(self._g @ d + d @ self._b @ d / 2) + self._weight * max(0.0, greatest)


def _lagrangian(ahead: Slopes, behind: Slopes, forces: Mapping[Label, float]) -> FloatArray:
    """How the slope of f and of what pushes back has changed over a step."""
    out = ahead.f - behind.f
    for name, force in forces.items():
        if name in behind.c:
            out = out + force * (ahead.c[name] - behind.c[name])
    return out


def _updated(b: FloatArray, s: FloatArray, q: FloatArray) -> FloatArray:
    """The curvature after a step s that changed the slope by q: BFGS, damped to stay positive."""
    bs = b @ s
    sbs = float(s @ bs)
    if sbs <= 0:
        return b
    if float(s @ q) < 0.2 * sbs:
        share = 0.8 * sbs / (sbs - float(s @ q))
        q = share * q + (1 - share) * bs
    return np.asarray(b - np.outer(bs, bs) / sbs + np.outer(q, q) / float(s @ q))
