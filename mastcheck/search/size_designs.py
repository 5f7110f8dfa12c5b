"""Designs of one mast as a search sees them: each checked once, as logarithms, with their rates."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.result import MastResult, Verdict
from mastcheck.checks.run import check
from mastcheck.errors import MastcheckError
from mastcheck.job import Job
from mastcheck.search.size_limits import Kind, Use, uses
from mastcheck.search.size_rates import rates
from mastcheck.search.size_result import Design
from mastcheck.search.size_space import Free, settings_of
from mastcheck.search.sqp import Look, Slopes
from mastcheck.search.variables import varied

FloatArray = NDArray[np.float64]
Progress = Callable[[str, float], None]

TARGET = 0.9995
"""Share of each limit that is aimed at, so that what is found holds however the search ends."""

_FLOOR = 1e-4  # a use below it, as that of a limit on a movement that is nil, is taken as this much
_UNKNOWN = 50.0  # a use that failed without a number
_KEPT = 8  # whole results kept at a time: each holds the stress fields of all its sections


class Sizer:
    """Designs of one job, each checked once.

    Args:
        job: the mast as given.
        free: what is sized.
        progress: told of each check.
    """

    def __init__(self, job: Job, free: Sequence[Free], progress: Progress | None = None) -> None:
        self.job, self.free = job, tuple(free)
        self._progress = progress
        self._known: dict[tuple[float, ...], Design] = {}
        self._results: dict[tuple[float, ...], MastResult] = {}

    @property
    def checks(self) -> int:
        """How many designs have been checked."""
        return len(self._known)

    @property
    def designs(self) -> tuple[Design, ...]:
        """Every design checked so far."""
        return tuple(self._known.values())

    def design(self, settings: Mapping[str, float]) -> Design:
        """A design, checked; one that cannot be says why."""
        key = tuple(settings[f.key] for f in self.free)
        if key not in self._known:
            if self._progress is not None:
                # Nobody knows how many there will be: some twenty is common.
                done = 1 - math.exp(-len(self._known) / 15)
                self._progress(f"{self.job.mast.name}: design {len(self._known) + 1}", done)
            try:
                found = self._check(key, settings)
                self._known[key] = design_of(found, settings)
            except MastcheckError as fault:
                words = " ".join(str(fault).split())
                self._known[key] = Design(
                    settings=dict(settings), mass=math.nan, uses={}, holds=False, refused=words
                )
        return self._known[key]

    def result(self, settings: Mapping[str, float]) -> MastResult:
        """The whole check of a design.

        Raises: MastcheckError where there is none.
        """
        key = tuple(settings[f.key] for f in self.free)
        return self._results.get(key) or self._check(key, settings)

    def _check(self, key: tuple[float, ...], settings: Mapping[str, float]) -> MastResult:
        found = check(varied(self.job, settings))
        while len(self._results) >= _KEPT:
            self._results.pop(next(iter(self._results)))
        self._results[key] = found
        return found

    def look(self, y: FloatArray) -> Look | None:
        """Logarithms of mass and of what is used of each limit; None where it cannot be checked."""
        design = self.design(settings_of(self.free, y))
        if design.refused:
            return None
        c = {name: log_use(use, design) - math.log(TARGET) for name, use in design.uses.items()}
        return Look(f=math.log(design.mass), c=c)

    def slopes(self, y: FloatArray) -> Slopes:
        """Rates of the same. What an unstable case cannot tell goes with its stability."""
        settings = settings_of(self.free, y)
        found = rates(self.job, settings, self.free, self.result(settings))
        used = dict(found.used)
        for name, use in self.design(settings).uses.items():
            steady = used.get((str(Kind.STABILITY), name[1]))
            if math.isinf(use.used) and steady is not None:
                used[name] = steady
        return Slopes(f=found.mass, c=used)


def log_use(use: Use, design: Design) -> float:
    """The logarithm of a use; one without a number, of a case that buckles, is that of its stability."""
    if math.isfinite(use.used):
        return math.log(max(use.used, _FLOOR))
    steady = design.uses.get((str(Kind.STABILITY), use.name[1]))
    return math.log(steady.used if steady is not None and steady.used >= 1 else _UNKNOWN)


def design_of(result: MastResult, settings: Mapping[str, float]) -> Design:
    """What is kept of a checked design."""
    sound = all(case.stable for case in result.cases)
    sure = not any(c.verdict is Verdict.FAIL for c in result.self_checks)
    return Design(
        settings=dict(settings),
        mass=result.mass,
        uses=uses(result),
        holds=sound and sure and not result.failed,
    )
