"""An envelope of a mast with several wings: what each allows, and the least of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.envelope_result import EnvelopeLimit, EnvelopeRow, Heaviest, Kind, Reach
from mastcheck.job import Job
from mastcheck.loadcase import Lift

FloatArray = NDArray[np.float64]

Found = dict[int, tuple[Heaviest, float]]
"""By limit: the heaviest rider, and the use by the lightest rider tried."""


def of_the_wing(limit: EnvelopeLimit, first: Job, other: Job) -> bool:
    """Whether a limit may differ between two wings: its case does, or its lift follows the wing.

    Flutter is felt by the foil's mass; nothing else of the foil enters loads or bent shapes.
    """
    names = set(limit.case.split(", ")) if limit.kind is Kind.FATIGUE else {limit.case}
    return any(
        a != b or a.lift is Lift.FOLLOWER
        for a, b in zip(first.cases, other.cases, strict=True)
        if a.name in names
    )


def judged_with_all(every: Sequence[tuple[EnvelopeLimit, ...]]) -> tuple[EnvelopeLimit, ...]:
    """The limits, judged where they are with every wing."""
    return tuple(
        replace(
            same[0],
            judged=all(limit.judged for limit in same),
            judged_at_all=all(limit.judged_at_all for limit in same),
        )
        for same in zip(*every, strict=True)
    )


def least_row(length: float, found: Sequence[Found], names: Sequence[str]) -> EnvelopeRow:
    """Every limit at one length: the least over the wings, named where they are not alike."""
    least, lightest = [], []
    for i in range(len(found[0])):
        every = [one[i] for one in found]
        # A rider found within the range is lighter than one it holds; of wings that fail at the lightest
        # the one of greatest use there.
        k = min(range(len(every)), key=lambda k: _room(*every[k]))
        passed = every[k][0].reach in (Reach.FOUND, Reach.BELOW)
        alike = all(same == every[0] for same in every)
        least.append(replace(every[k][0], wing=names[k] if passed and not alike else ""))
        lightest.append(every[k][1])
    heaviest = tuple(least)
    return EnvelopeRow(
        length=length, heaviest=heaviest, governing=_governing(heaviest, np.array(lightest))
    )


def _room(found: Heaviest, lightest: float) -> tuple[int, float]:
    """Sorts the least rider first; what is not judged stands last, and is no pass."""
    order = (Reach.BELOW, Reach.FOUND, Reach.ABOVE, Reach.NOT_JUDGED)
    if found.reach is Reach.FOUND:
        return order.index(found.reach), found.mass or 0.0
    return order.index(found.reach), -lightest if found.reach is Reach.BELOW else 0.0


def _governing(heaviest: Sequence[Heaviest], lightest: FloatArray) -> int | None:
    """The limit that the lightest rider passes; None where every judged limit holds.

    Of several that the lightest rider tried fails, the one of greatest use ``lightest`` (k,) there.
    """
    below = [k for k, h in enumerate(heaviest) if h.reach is Reach.BELOW]
    if below:
        return max(below, key=lambda k: float(lightest[k]))
    found = [k for k, h in enumerate(heaviest) if h.reach is Reach.FOUND]
    return min(found, key=lambda k: heaviest[k].mass or 0.0) if found else None
