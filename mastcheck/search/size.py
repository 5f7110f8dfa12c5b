"""The lightest mast that meets its limits: sizes sought, and the answer proved by steps either way.

Mass is the aim; every check of the mast that can fail is a limit. Searched from several starts, since
such a search finds the lightest in its neighbourhood.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.run import check
from mastcheck.errors import MastcheckError
from mastcheck.job import Job
from mastcheck.search.size_designs import TARGET, Progress, Sizer, design_of, log_use
from mastcheck.search.size_limits import Name
from mastcheck.search.size_result import AtBound, Design, Governing, Jump, Price, Run, SideStep, Sized
from mastcheck.search.size_round import round_up
from mastcheck.search.size_space import Free, coordinates, settings_of
from mastcheck.search.sqp import Ended, Multipliers, Problem, multipliers, search
from mastcheck.search.variables import DesignError, varied

FloatArray = NDArray[np.float64]

SIDE_STEP = 0.01
"""How far each size is moved either way to prove the answer, as a share of it."""

AGREE = 2e-3
"""Masses of two starts within this share are the same answer."""

SAME = 2e-4
"""A design no more than this share lighter than where a search ended is no better answer."""

NEAR = 0.01
"""Limits used to within this share of what is aimed at govern: a search ends no nearer than a mesh's
noise, some 0.1 %, lets it."""

JUMP = 0.03
"""A check that changes by this share more, or less, over a step of 1 % than its rates say, jumps."""

RIDER_STEP, LENGTH_STEP = 1.0, 0.01
"""Steps of rider [kg] and length [m] whose price is told."""


def size(
    job: Job,
    free: Sequence[Free],
    *,
    rounding: float | None = None,
    progress: Progress | None = None,
) -> Sized:
    """Find the lightest mast that meets its limits.

    Args:
        job: the mast as given.
        free: what is sized, and its bounds (``free_sizes``).
        rounding: also find the lightest near it whose sizes are whole multiples of this [m].
        progress: called with what is being done and the share done (a guess).

    Returns: the mast found, or the one that comes nearest to its limits.

    Raises: MastcheckError when the mast as given cannot be checked, and no start within the bounds.
    """
    sizer = Sizer(job, free, progress)
    now = {f.key: f.now for f in sizer.free}
    given = sizer.design(now)
    problem = _problem(sizer, f_counts=True)
    runs: list[Run] = []
    ends: list[Ended] = []
    for start in _starts(sizer.free):
        # Others need come no nearer to the same answer than shows that it is the same.
        held = [e.look.f for e in ends if e.look.greatest <= -math.log(TARGET)]
        end = _run(sizer, problem, start, min(held, default=-math.inf) + AGREE / 2)
        settings = settings_of(sizer.free, start)
        runs.append(
            Run(
                start=sizer.design(settings),
                end=None if end is None else sizer.design(settings_of(sizer.free, end.y)),
                converged=end is not None and end.converged,
            )
        )
        if end is not None:
            ends.append(end)
    if not ends:
        if given.refused:
            sizer.result(now)  # tells why
        return _nothing(sizer, given, runs)
    found = _lightest(sizer)
    if found is not None:
        best = _end_at(sizer, problem, found, ends)
        return _sized(sizer, given, runs, problem, best, rounding)
    eased = _problem(sizer, f_counts=False)
    nearest = min(ends, key=lambda end: end.look.greatest)
    return _sized(sizer, given, runs, eased, nearest, None)


def _lightest(sizer: Sizer) -> Design | None:
    """The lightest design checked so far, within the bounds, that holds."""
    holding = [d for d in sizer.designs if d.holds and _inside(sizer.free, d.settings)]
    return min(holding, key=lambda d: d.mass, default=None)


def _inside(free: Sequence[Free], settings: Mapping[str, float]) -> bool:
    return all(f.low <= settings[f.key] <= f.high for f in free)


def _end_at(sizer: Sizer, problem: Problem, found: Design, ends: Sequence[Ended]) -> Ended:
    """The lightest design as the end of a search: of the one that met it, or of one more from there.

    Where the answer of a check jumps by a hair from mesh to mesh, a search may pass by a design that
    holds and end at one that does not.
    """
    for end in ends:
        design = sizer.design(settings_of(sizer.free, end.y))
        if design.holds and design.mass <= found.mass * (1 + SAME):
            return end
    start = coordinates(sizer.free, found.settings)
    further = search(problem, start)
    if further is None:
        raise DesignError("a design that was checked cannot be looked at again")
    best = _lightest(sizer) or found
    design = sizer.design(settings_of(sizer.free, further.y))
    if design.holds and design.mass <= best.mass * (1 + SAME):
        return further
    at = coordinates(sizer.free, best.settings)
    look = sizer.look(at)
    if look is None:
        return further
    return Ended(
        y=at, look=look, slopes=sizer.slopes(at), converged=further.converged, blind=further.blind
    )


def _problem(sizer: Sizer, *, f_counts: bool) -> Problem:
    low, high = (
        np.array([f.coordinate(getattr(f, end)) for f in sizer.free]) for end in ("low", "high")
    )
    return Problem(look=sizer.look, slopes=sizer.slopes, low=low, high=high, f_counts=f_counts)


def _starts(free: Sequence[Free]) -> list[FloatArray]:
    """The mast as given, and one across the bounds: every other size large, those between small."""
    low, high = (np.array([f.coordinate(getattr(f, end)) for f in free]) for end in ("low", "high"))
    now = np.array([f.coordinate(f.within(f.now)) for f in free])
    odd = np.arange(len(free)) % 2 == 1
    return [now, low + np.where(odd, 0.75, 0.35) * (high - low)]


def _run(sizer: Sizer, problem: Problem, start: FloatArray, enough: float) -> Ended | None:
    """One search; where it ends without meeting the limits, by way of the design that comes nearest."""
    try:
        end = search(problem, start, enough=enough)
        if end is None or _lightest(sizer) is not None:
            return end
        eased = search(_problem(sizer, f_counts=False), end.y)
        if eased is None or eased.look.greatest > 0:
            return eased
        return search(problem, eased.y, enough=enough)
    except MastcheckError:
        return None  # no slightly other size can be built: nothing can be learned from here


def _nothing(sizer: Sizer, given: Design, runs: list[Run]) -> Sized:
    return Sized(
        job=sizer.job, free=sizer.free, given=given, best=None, result=None, found=False,
        governing=(), at_bounds=(), remainder=math.nan, blocked="", steps=(), jumps=(), prices=(),
        runs=tuple(runs), rounded=None, checks=sizer.checks,
    )  # fmt: skip


def _sized(
    sizer: Sizer,
    given: Design,
    runs: list[Run],
    problem: Problem,
    end: Ended,
    rounding: float | None,
) -> Sized:
    """The answer, with what governs, what it costs, and its proof."""
    settings = settings_of(sizer.free, end.y)
    best = sizer.design(settings)
    result = sizer.result(settings)
    pull = multipliers(problem, end.y, end.look, end.slopes, NEAR)
    governing = sorted(
        (
            Governing(use=best.uses[name], force=force)
            for name, force in pull.forces.items()
            if name in best.uses
        ),
        key=lambda g: -g.force,
    )
    return Sized(
        job=sizer.job,
        free=sizer.free,
        given=given,
        best=best,
        result=result,
        found=best.holds,
        governing=tuple(governing),
        at_bounds=_at_bounds(sizer.free, problem, end.y, pull),
        remainder=pull.remainder,
        blocked=_blocked(sizer, settings) if end.blind else "",
        steps=(steps := _steps(sizer, settings)),
        jumps=_jumps(sizer.free, end, best, steps),
        prices=_prices(sizer.job, best, pull) if best.holds else (),
        runs=tuple(runs),
        rounded=None
        if rounding is None or not best.holds
        else round_up(sizer.design, sizer.free, best, rounding, _guess(sizer, end)),
        checks=sizer.checks,
    )


def _guess(sizer: Sizer, end: Ended) -> Callable[[Mapping[str, float]], tuple[float, float]]:
    """Mass [kg] and greatest use of designs near the one found, by its rates."""

    def guess(settings: Mapping[str, float]) -> tuple[float, float]:
        d = coordinates(sizer.free, settings) - end.y
        used = max(
            (
                c + float(end.slopes.c[name] @ d)
                for name, c in end.look.c.items()
                if name in end.slopes.c
            ),
            default=-math.inf,
        )
        return math.exp(end.look.f + float(end.slopes.f @ d)), TARGET * math.exp(used)

    return guess


def _at_bounds(
    free: Sequence[Free], problem: Problem, y: FloatArray, pull: Multipliers
) -> tuple[AtBound, ...]:
    out = []
    for i, f in enumerate(free):
        for upper, on in ((False, y[i] - problem.low[i] < 1e-9), (True, problem.high[i] - y[i] < 1e-9)):
            if on:
                force = float((pull.high if upper else pull.low)[i])
                out.append(AtBound(key=f.key, upper=upper, force=force))
    return tuple(out)


def _blocked(sizer: Sizer, settings: Mapping[str, float]) -> str:
    """Why the design nearest to this one that could not be checked could not."""
    here = coordinates(sizer.free, settings)
    refused = [d for d in sizer.designs if d.refused]
    near = min(
        refused,
        key=lambda d: float(np.abs(coordinates(sizer.free, d.settings) - here).max()),
        default=None,
    )
    return "" if near is None else near.refused


def _steps(sizer: Sizer, settings: Mapping[str, float]) -> tuple[SideStep, ...]:
    """Each size a little smaller and a little larger, beyond its bounds too."""
    out = []
    for f in sizer.free:
        for sign in (-1, 1):
            step = math.radians(1) if f.is_angle else SIDE_STEP * settings[f.key]
            value = settings[f.key] + sign * step
            design = sizer.design({**settings, f.key: value})
            out.append(SideStep(key=f.key, design=design, beyond=not f.low <= value <= f.high))
    return tuple(out)


def _jumps(
    free: Sequence[Free], end: Ended, best: Design, steps: Sequence[SideStep]
) -> tuple[Jump, ...]:
    """The greatest jump of each check over the steps, where it is one."""
    found: dict[Name, Jump] = {}
    at = coordinates(free, best.settings)
    for step in steps:
        d = None if step.design.refused else coordinates(free, step.design.settings) - at
        for name, use in step.design.uses.items():
            slope, before = end.slopes.c.get(name), best.uses.get(name)
            if d is None or slope is None or before is None or not math.isfinite(before.used * use.used):
                continue
            off = abs(math.log(use.used / before.used) - float(slope @ d))
            past = name in found and use.used <= found[name].after
            if off > JUMP and not past:
                found[name] = Jump(name=name, key=step.key, before=before.used, after=use.used)
    return tuple(found.values())


def _prices(job: Job, best: Design, pull: Multipliers) -> tuple[Price, ...]:
    """What a heavier rider and a longer mast cost, from two more checks of the same design each.

    The mass of the lightest mast changes by its own rate plus each governing limit's force times the
    rate of what is used of it (envelope theorem).
    """
    out = []
    for key, now, step in (
        ("rider", job.rider.mass, RIDER_STEP),
        ("length", job.mast.length, LENGTH_STEP),
    ):
        try:
            ends = [
                design_of(check(varied(job, {**best.settings, key: now + sign * step})), {})
                for sign in (1, -1)
            ]
        except MastcheckError:
            continue
        rate = (math.log(ends[0].mass) - math.log(ends[1].mass)) / 2
        for name, force in pull.forces.items():
            if force > 0:
                above, below = (
                    math.exp(log_use(d.uses[name], d)) if name in d.uses else math.nan for d in ends
                )
                rate += force * (math.log(above) - math.log(below)) / 2
        if math.isfinite(rate):
            out.append(Price(key=key, step=step, mass=rate * best.mass))
    return tuple(out)


def agree(sized: Sized) -> bool:
    """Whether all starts that met the limits ended at the same mass."""
    masses = [run.end.mass for run in sized.runs if run.end is not None and run.end.holds]
    return not masses or max(masses) <= (1 + AGREE) * min(masses)
