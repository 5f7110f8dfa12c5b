"""All combinations of what a sweep varies, in an order of their own, by number.

Sizes of the section change slowest, then the length, then the rider, so that neighbours share
sections: what costs most is solved once and used for every length and rider.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from math import prod
from pathlib import Path

from mastcheck.errors import InputError, Problem
from mastcheck.job import Job
from mastcheck.search.variables import DesignError, Variable, key_of
from mastcheck.section.identity import code_version, digest

MOST_DESIGNS = 2_000_000
"""Most combinations of one sweep: what a cluster does in days, and a table of some 500 MB."""

CONDITIONS = ("length", "rider")
"""Keys that say what a mast is for, not what it is: designs are set against each other where these
are the same, since a shorter mast under a lighter rider is stiffer without being better."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A job and the variables, slowest first, whose every combination is a design."""

    job: Job
    variables: tuple[Variable, ...]

    @property
    def count(self) -> int:
        """How many designs there are."""
        return prod(len(v.values) for v in self.variables)

    @property
    def keys(self) -> tuple[str, ...]:
        """What is varied, slowest first."""
        return tuple(v.key for v in self.variables)

    @property
    def alike(self) -> int:
        """How many designs in a row have the same sections."""
        return prod(len(v.values) for v in self.variables if v.key in CONDITIONS)

    def settings(self, number: int) -> dict[str, float]:
        """The settings [SI] of a design, counted from 0."""
        out = {}
        for v in reversed(self.variables):
            number, place = divmod(number, len(v.values))
            out[v.key] = v.values[place]
        return {key: out[key] for key in self.keys}

    @property
    def identity(self) -> str:
        """Hash of all that its rows depend on: the job (the mast file's bytes, cases, rider), what
        is varied, and the code.
        """
        return digest(self.job, self.variables, code())


def plan_of(job: Job, variables: Iterable[Variable]) -> Plan:
    """A plan with its variables in their order.

    Raises: InputError for a key that the mast has not, is given twice or without values, or for more
        than MOST_DESIGNS.
    """
    given = list(variables)
    problems = []
    for i, v in enumerate(given):
        try:
            kind = key_of(v.key)
            if kind.current(job) is None:
                raise DesignError(f"this mast has no {kind.words}")
        except DesignError as fault:
            problems.append(Problem(key=f"vary {v.key}", found="", rule=str(fault), file=job.file))
        if not v.values or any(v.key == other.key for other in given[:i]):
            rule = "is varied twice" if v.values else "has no values"
            problems.append(Problem(key=f"vary {v.key}", found="", rule=rule))
    if not given:
        remedy = "name a key and its values, such as wall=2mm:3.5mm:4"
        problems.append(Problem(key="vary", found="", rule="nothing is varied", remedy=remedy))
    # Not the file's name: neither where it lies nor how that is written changes a design.
    nameless = replace(job, file="")
    plan = Plan(job=nameless, variables=tuple(sorted(given, key=lambda v: _place(v.key))))
    if plan.count > MOST_DESIGNS:
        words = " × ".join(f"{v.key} {len(v.values)}" for v in plan.variables)
        rule = f"more than {MOST_DESIGNS:,} designs in one sweep ({words})"
        remedy = "take fewer values, or split it into several sweeps"
        problems.append(Problem(key="vary", found=f"{plan.count:,}", rule=rule, remedy=remedy))
    if problems:
        raise InputError(tuple(problems))
    return plan


def _place(key: str) -> int:
    """Sections first, in the order given; then the length; the rider last."""
    return CONDITIONS.index(key) if key in CONDITIONS else -1


@cache
def code() -> str:
    """Hash of all code of this package and of the libraries it computes with.

    Rows are kept, and given to workers, under it: no two versions are mixed in one table.
    """
    package = Path(__file__).parent.parent
    sources = tuple(
        (path.relative_to(package).as_posix(), path.read_bytes())
        for pattern in ("**/*.py", "data/*")
        for path in sorted(package.glob(pattern))
        if path.is_file()
    )
    return digest(sources, code_version() or "")
