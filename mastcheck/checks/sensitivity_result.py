"""What a sensitivity is: rates of mass, tip movement and utilisation by each change of a mast."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


class Kind(StrEnum):
    """What is changed. Sizes and length by the metre; E and G by their own share."""

    CHORD = "chord"
    THICKNESS = "thickness"
    WALL = "wall"
    LENGTH = "length"
    E = "E"
    G = "G"


SIZES = (Kind.CHORD, Kind.THICKNESS, Kind.WALL)
"""What each station of a mast file states; linear between stations."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change: its kind, and the station of the mast file where it is made (None: whole mast).

    A size changes in full at its station and linearly less toward the neighbours, where it is nil. E
    (G held) and G (E held) change so too, those of all materials of the section together. Wall of a
    laminate: the whole wall changes so, its plies in the proportions they have at each place. Length:
    all stations keep their fractions.
    """

    kind: Kind
    station: int | None
    at: float | None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CaseSensitivity:
    """Rates of one stable load case by p changes.

    ``tip`` (6, p): ux, uy, uz [m], rotation about x, y, z [rad] at service load, second order.
    ``utilisation`` (p,) at the place that governs now, at ``z`` [m] (None: not judged).
    """

    name: str
    tip: FloatArray
    utilisation: FloatArray | None
    z: float | None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SensitivityResult:
    """Rates by p changes, per metre of a size or of length, per unit share of E or G.

    ``mass`` (p,) [kg]; ``compliance`` (6, 6, p) of the tip, first order, SI; ``cases``: those that
    are stable.
    """

    changes: tuple[Change, ...]
    mass: FloatArray
    compliance: FloatArray
    cases: tuple[CaseSensitivity, ...]

    def total(self, kind: Kind) -> tuple[int, ...]:
        """Indices of a kind's changes: their sum is that change on the whole mast."""
        return tuple(i for i, c in enumerate(self.changes) if c.kind is kind)
