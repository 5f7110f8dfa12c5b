"""What an envelope of riders over lengths is: plain frozen data that its writers read. SI units."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from mastcheck.job import Job
from mastcheck.limit import Limit

CLOSE = 0.05
"""How closely a rider is found [kg]; the lighter end, which holds, is given."""
SCANNED = 4
"""Riders tried first, evenly from the lightest to the heaviest: they find where a limit is passed."""

BOLTS = (
    "Bolts and play of the joints are not judged over riders and lengths: run a check of the mast for "
    "the heaviest rider you mean to carry."
)
"""What an envelope of a mast with joints leaves out."""

MARGIN = (
    "The divergence margin asked for ([limits] divergence_margin) is not judged over riders and "
    "lengths: a longer mast diverges at a lower speed, whoever rides it. Run a check of the mast at "
    "each length."
)
"""What an envelope of a mast with a divergence margin leaves out."""


WATER = (
    "The load cases from the water ({cases}) are not judged over riders and lengths: run a check of the "
    "mast for the heaviest rider you mean to carry."
)
"""What an envelope of a mast with load cases from the water leaves out."""


class Kind(StrEnum):
    """What a limit of an envelope is."""

    MOVEMENT = "movement"
    STRENGTH = "strength"
    STABILITY = "stability"
    FATIGUE = "fatigue"


class Reach(StrEnum):
    """Where in the range of riders a limit is passed."""

    FOUND = "found"
    ABOVE = "holds at the heaviest"
    BELOW = "fails at the lightest"
    NOT_JUDGED = "not judged"


@dataclass(frozen=True, slots=True, kw_only=True)
class EnvelopeLimit:
    """One limit: its kind, its load case (empty for fatigue), and the user's limit where it is one.

    ``judged`` is False where some of what it looks at states no strength; ``judged_at_all`` where none
    does.
    """

    kind: Kind
    case: str
    limit: Limit | None = None
    judged: bool = True
    judged_at_all: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Heaviest:
    """The heaviest rider [kg] of one limit at one length; ``mass`` is None unless found.

    ``wing``: of several wings the one that allows the least; empty where there are none, or where all
    are alike. ``steady``: the use grew from rider to rider wherever it was looked at. Where it did not,
    the lightest rider past the limit counts.
    """

    reach: Reach
    mass: float | None = None
    steady: bool = True
    wing: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EnvelopeRow:
    """One length [m]: the heaviest rider of each limit, and which limit governs (None: all hold)."""

    length: float
    heaviest: tuple[Heaviest, ...]
    governing: int | None

    @property
    def overall(self) -> Heaviest:
        """The heaviest rider of all that is judged."""
        if self.governing is not None:
            return self.heaviest[self.governing]
        judged = any(h.reach is Reach.ABOVE for h in self.heaviest)
        return Heaviest(reach=Reach.ABOVE if judged else Reach.NOT_JUDGED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """Riders from the lightest to the heaviest [kg] over lengths [m]; ``rows`` by length."""

    job: Job
    riders: tuple[float, float]
    limits: tuple[EnvelopeLimit, ...]
    rows: tuple[EnvelopeRow, ...]
    cautions: tuple[str, ...]
