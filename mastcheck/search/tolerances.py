"""Tolerances of a checked mast: bands on its numbers, and how often its limits are exceeded."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from mastcheck.checks.result import MastResult
from mastcheck.checks.tolerance_result import TolerancesResult
from mastcheck.errors import InputError, Problem
from mastcheck.search.bands import bands
from mastcheck.search.importance import any_limit, chances, spread_of
from mastcheck.search.sampling import DEFAULT_SEED, sample
from mastcheck.search.scatter import tolerances_of


def tolerances(
    result: MastResult,
    *,
    samples: int = 0,
    seed: int = DEFAULT_SEED,
    workers: int | None = None,
    progress: Callable[[str, float], None] | None = None,
) -> TolerancesResult:
    """Bands of the headline numbers by linear propagation and, where asked, by samples.

    Args:
        result: a checked mast.
        samples: masts to draw and check; 0: none.
        seed: of the draw.
        workers: processes for them; None: one for each core; 0: this process alone.
        progress: called with what is being done and the share done (0 to 1).

    Raises: InputError for a tolerance that does not fit the mast; GeometryError when a section with
        slightly other sizes cannot be built; ExecutorError where worker processes do not work.
    """
    known = tolerances_of(result.job)
    if not known:
        rule = "nothing scatters: all are 0"
        raise InputError((Problem(key="tolerances", found="", rule=rule, remedy="state one above 0"),))
    linear = bands(result, known, progress=progress)
    if samples == 0:
        return TolerancesResult(tolerances=known, bands=linear)
    drawn = sample(result.job, known, samples, seed=seed, workers=workers, progress=progress)
    return TolerancesResult(
        tolerances=known,
        bands=tuple(replace(band, spread=spread_of(band, drawn, known)) for band in linear),
        samples=samples,
        seed=seed,
        refused=sum(bool(s.refused) for s in drawn.samples),
        chances=chances(result, drawn),
        any_limit=any_limit(result, drawn),
    )
