"""The options about tolerances that ``check`` and ``compare`` share, and what both do with them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from mastcheck.errors import InputError, Problem

if TYPE_CHECKING:
    from mastcheck.checks.result import MastResult
    from mastcheck.job import Job

LEAST, MOST = 32, 100_000
"""Fewest samples of which anything can be said, and the most of one run."""

_MOST_SEED = 2**63 - 1
_MOST_WORKERS = 1024

_Whole = Annotated[int | None, Parameter(allow_leading_hyphen=True)]


@Parameter(name="*")
@dataclass(frozen=True, kw_only=True)
class ToleranceOptions:
    """Options about tolerances, as they stand on the command line."""

    tolerances: Annotated[bool, Parameter(negative=())] = False
    """Also give bands on the main numbers, by what sizes, materials and load scatter."""

    samples: _Whole = None
    """Also check so many masts drawn within the tolerances, 256 say: how often limits are exceeded."""

    seed: _Whole = None
    """Of the draw: the same seed gives the same samples."""

    workers: _Whole = None
    """Processes for the samples; by default one for each core."""

    @property
    def asked(self) -> bool:
        """Whether tolerances were asked for."""
        return self.tolerances or self.samples is not None


def problems(options: ToleranceOptions) -> list[Problem]:
    """What is wrong with them."""
    out = []
    if options.samples is not None and not LEAST <= options.samples <= MOST:
        out.append(
            Problem(
                key="--samples",
                found=str(options.samples),
                rule=f"must be from {LEAST} to {MOST}",
                remedy="write --samples 256",
            )
        )
    for flag, value, least, most in (
        ("--seed", options.seed, 0, _MOST_SEED),
        ("--workers", options.workers, 1, _MOST_WORKERS),
    ):
        if value is None:
            continue
        if options.samples is None:
            rule, remedy = "has no samples to go with", "add --samples 256, or leave it out"
            out.append(Problem(key=flag, found=str(value), rule=rule, remedy=remedy))
        elif not least <= value <= most:
            rule = f"must be from {least} to {most}"
            out.append(
                Problem(key=flag, found=str(value), rule=rule, remedy="leave it out for the usual one")
            )
    return out


def refuse_faults(options: ToleranceOptions, jobs: list[Job]) -> None:
    """Refuse what cannot be done before anything is computed.

    Raises: InputError with every problem of the options, or of the jobs' tolerances.
    """
    found = problems(options)
    if options.asked:
        from mastcheck.search.scatter import tolerances_of

        for job in jobs:
            try:
                tolerances_of(job)
            except InputError as error:
                found += error.problems
    if found:
        raise InputError(tuple(dict.fromkeys(found)))


def with_tolerances(
    result: MastResult, options: ToleranceOptions, progress: Callable[[str, float], None]
) -> MastResult:
    """The result with its tolerances where they were asked for."""
    if not options.asked:
        return result
    from mastcheck.search.sampling import DEFAULT_SEED
    from mastcheck.search.tolerances import tolerances

    found = tolerances(
        result,
        samples=options.samples or 0,
        seed=DEFAULT_SEED if options.seed is None else options.seed,
        workers=options.workers,
        progress=progress,
    )
    return replace(result, tolerances=found)
