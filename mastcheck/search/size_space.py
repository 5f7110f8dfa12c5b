"""What is sized, between which bounds, and the coordinate in which a search sees it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.errors import InputError, Problem
from mastcheck.job import Job
from mastcheck.search.plan import CONDITIONS
from mastcheck.search.variables import DesignError, key_of
from mastcheck.units import Dimension

FloatArray = NDArray[np.float64]

LEAST, MOST = 0.5, 2.0
"""Bounds where none are given, as shares of the size that the mast has."""

STEP, WALL_STEP = 0.03, 0.05
"""How far to either side a size is moved for its rates, as a share of it (see ``checks.section_rates``
for why no less)."""

_TURN = math.radians(10)  # an angle has no natural share: so much counts as a step of 1
_TURN_STEP = 0.1
_TURN_BOUNDS = math.radians(90)
MOST_FREE = 8
"""Most sizes at once: each costs two designs' sections at every step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Free:
    """A size that is free from ``low`` to ``high`` [SI]; ``now`` is that of the mast as given.

    ``stated``: whether the bounds were. Its coordinate is its logarithm, of an angle the angle itself.
    """

    key: str
    low: float
    high: float
    now: float
    stated: bool

    @property
    def is_angle(self) -> bool:
        """Whether it is an angle, which may be nothing or less."""
        return key_of(self.key).dimension is Dimension.ANGLE

    @property
    def step(self) -> float:
        """How far it is moved in its coordinate for its rates."""
        if self.is_angle:
            return _TURN_STEP
        return WALL_STEP if "wall" in self.key else STEP

    def coordinate(self, value: float) -> float:
        """A value [SI] as the search sees it."""
        return value / _TURN if self.is_angle else math.log(value)

    def value(self, coordinate: float) -> float:
        """The value [SI] of a coordinate."""
        return coordinate * _TURN if self.is_angle else math.exp(coordinate)

    def within(self, value: float) -> float:
        """The nearest value within the bounds."""
        return min(max(value, self.low), self.high)


def free_sizes(job: Job, asked: Sequence[tuple[str, tuple[float, float] | None]]) -> tuple[Free, ...]:
    """What is sized, from keys and their bounds [SI] (None: LEAST to MOST of what the mast has).

    Raises: InputError with every key that the mast has not, that is given twice, or that says what a
        mast is for and not what it is.
    """
    problems, out = [], []
    for i, (key, bounds) in enumerate(asked):
        try:
            now = key_of(key).current(job)
            if now is None:
                raise DesignError(f"this mast has no {key_of(key).words}")
        except DesignError as fault:
            problems.append(Problem(key=f"--vary {key}", found="", rule=str(fault), file=job.file))
            continue
        if key in CONDITIONS:
            rule = f"the {key} is what a mast is sized for: the lightest would be the one asked least of"
            problems.append(Problem(key="--vary", found=key, rule=rule, remedy=f"state it with --{key}"))
        elif any(key == other for other, _ in asked[:i]):
            problems.append(
                Problem(key="--vary", found=key, rule="is given twice", remedy="leave one out")
            )
        else:
            out.append(_free(key, now, bounds))
    if not asked:
        remedy = "name a size: --vary wall --vary base_chord=120mm:160mm"
        problems.append(Problem(key="--vary", found="", rule="nothing is sized", remedy=remedy))
    if len(out) > MOST_FREE:
        rule = f"no more than {MOST_FREE} sizes at once"
        problems.append(Problem(key="--vary", found=str(len(out)), rule=rule, remedy="leave some out"))
    if problems:
        raise InputError(tuple(problems))
    return tuple(out)


def _free(key: str, now: float, bounds: tuple[float, float] | None) -> Free:
    if bounds is not None:
        return Free(key=key, low=bounds[0], high=bounds[1], now=now, stated=True)
    if key_of(key).dimension is Dimension.ANGLE:
        return Free(key=key, low=-_TURN_BOUNDS, high=_TURN_BOUNDS, now=now, stated=False)
    return Free(key=key, low=LEAST * now, high=MOST * now, now=now, stated=False)


def settings_of(free: Sequence[Free], at: FloatArray) -> dict[str, float]:
    """Settings [SI] of coordinates (n,)."""
    # A bound is met to the last digit: exp(log(x)) is not always x.
    return {f.key: f.within(float(f"{f.value(float(y)):.10g}")) for f, y in zip(free, at, strict=True)}


def coordinates(free: Sequence[Free], settings: Mapping[str, float]) -> FloatArray:
    """Coordinates (n,) of settings [SI]."""
    return np.array([f.coordinate(settings[f.key]) for f in free])
