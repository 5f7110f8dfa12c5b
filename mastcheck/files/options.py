"""Options of a command applied to a job, each noted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

from mastcheck.conditions import WATER_CASES
from mastcheck.errors import InputError, Problem
from mastcheck.job import Job
from mastcheck.units import shown

LENGTHS = (0.05, 10.0)  # m, as for mast.length
RIDER_MASSES = (10.0, 300.0)  # kg, as for rider.mass
SPEEDS = (0.1, 50.0)  # m/s, as for conditions.speed
_HEIGHTS_SAID = ("wet fraction", "ride height")
_SPEEDS_SAID = ("speeds from", "speed from")


def apply(
    job: Job,
    *,
    length: float | None = None,
    trim: Literal["base", "tip"] | None = None,
    rider_mass: float | None = None,
    cases: Sequence[str] = (),
    speeds: tuple[float, float] | None = None,
    ride_height: float | None = None,
) -> Job:
    """The job with the options of a command applied, each noted.

    Args:
        job: what a file or a script described.
        length: new length [m]; stations are fractions, so a taper stretches with it.
        trim: cut to the length at this end instead.
        rider_mass: rider's mass [kg].
        cases: names of the only load cases to keep; all if empty.
        speeds: slowest and fastest [m/s].
        ride_height: the board's bottom above still water [m], in place of a wet fraction too.

    Raises: InputError with every option that does not fit.
    """
    problems = (
        *_length_problems(job, length, trim),
        *_mass_problems(rider_mass),
        *_case_problems(job, cases),
        *_speed_problems(speeds),
        *_height_problems(ride_height, job.mast.length if length is None else length),
        *_dry_problems(job, length, ride_height),
    )
    if problems:
        raise InputError(problems)
    notes = list(job.notes)
    if length is not None:
        how = f"cut at the {trim}" if trim else "stations stretched with it"
        notes.append(f"length {_mm(length)} instead of {_mm(job.mast.length)}: {how}")
        job = replace(job, mast=job.mast.with_length(length, trim))
    if rider_mass is not None:
        notes = [note for note in notes if not note.startswith("rider mass")]
        notes.append(f"rider mass {rider_mass:g} kg given with the command")
        job = replace(job, rider=replace(job.rider, mass=rider_mass))
    if speeds is not None:
        notes = [note for note in notes if not note.startswith(_SPEEDS_SAID)]
        notes.append(f"speeds {_range(speeds)} given with the command")
        job = replace(job, speeds=speeds)
    if ride_height is not None:
        notes = [note for note in notes if not note.startswith(_HEIGHTS_SAID)]
        notes.append(f"ride height {_mm(ride_height)} given with the command")
        job = replace(job, conditions=replace(job.conditions, ride_height=ride_height))
    if cases:
        kept = tuple(case for case in job.cases if case.name in cases)
        dropped = [limit for limit in job.limits if limit.case not in cases]
        notes += [f"limit on {d.quantity} not judged: case {d.case} was not chosen" for d in dropped]
        limits = tuple(limit for limit in job.limits if limit.case in cases)
        loads = tuple(name for name in WATER_CASES if name in cases)
        job = replace(job, cases=kept, limits=limits, water_loads=loads)
    return replace(job, notes=tuple(notes))


def _length_problems(job: Job, length: float | None, trim: str | None) -> Iterator[Problem]:
    if length is None:
        if trim is not None:
            rule, remedy = "says where to cut, but no length is given", 'add --length, such as "700 mm"'
            yield Problem(key="--trim", found=str(trim), rule=rule, remedy=remedy)
        return
    low, high = LENGTHS
    if not low <= length <= high:
        rule = "must be from 50 mm to 10 m"
        yield Problem(
            key="--length", found=_mm(length), rule=rule, remedy="check the number and its unit"
        )
    elif trim is not None and length > job.mast.length:
        rule = f"a trim can only shorten {job.mast.name}, {_mm(job.mast.length)} long"
        yield Problem(
            key="--length", found=_mm(length), rule=rule, remedy="leave out --trim to stretch it"
        )


def _dry_problems(job: Job, length: float | None, ride_height: float | None) -> Iterator[Problem]:
    """A length that the file's own ride height lifts out of the water."""
    height = job.conditions.ride_height
    if length is not None and ride_height is None and height is not None and length <= height:
        rule = f"is no more than the ride height of {_mm(height)}: the whole mast is out of the water"
        yield Problem(key="--length", found=_mm(length), rule=rule, remedy="state a --ride-height too")


def _mass_problems(mass: float | None) -> Iterator[Problem]:
    low, high = RIDER_MASSES
    if mass is not None and not low <= mass <= high:
        rule, remedy = "must be from 10 kg to 300 kg", "check the number and its unit"
        yield Problem(key="--rider", found=f"{mass:g} kg", rule=rule, remedy=remedy)


def _case_problems(job: Job, names: Sequence[str]) -> Iterator[Problem]:
    from mastcheck.files.problems import listed, nearest

    known = [*(case.name for case in job.cases), *WATER_CASES]
    for name in names:
        if name not in known:
            remedy = nearest(name, known, "load cases: " + listed(known))
            yield Problem(
                key="--case",
                found=shown(name),
                rule="unknown load case",
                remedy=remedy,
                file=job.file,
            )


def _speed_problems(speeds: tuple[float, float] | None) -> Iterator[Problem]:
    if speeds is None:
        return
    low, high = SPEEDS
    if not (low <= speeds[0] <= high and low <= speeds[1] <= high):
        rule, remedy = "must be from 0.1 m/s to 50 m/s", "check the number and its unit"
        yield Problem(key="--speed", found=_range(speeds), rule=rule, remedy=remedy)
    elif speeds[0] > speeds[1]:
        rule = "runs from the faster to the slower"
        yield Problem(
            key="--speed", found=_range(speeds), rule=rule, remedy='slowest first: "5 m/s:12 m/s"'
        )


def _height_problems(height: float | None, length: float) -> Iterator[Problem]:
    if height is not None and not 0 <= height < length:
        rule = f"must be from 0 mm to less than the mast's length, {_mm(length)}"
        yield Problem(
            key="--ride-height", found=_mm(height), rule=rule, remedy="ride lower than the mast is long"
        )


def _range(speeds: tuple[float, float]) -> str:
    slow, fast = speeds
    return f"{slow:g} m/s" if slow == fast else f"{slow:g} to {fast:g} m/s"


def _mm(metres: float) -> str:
    return f"{metres * 1000:g} mm"
