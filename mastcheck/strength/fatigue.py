"""Fatigue of plain material: stress ranges, a stated detail curve, and the sum of damage.

The range at a point is the greatest range of the normal stress on any one plane as the loads pass from
one state to another: the largest principal value, in size, of the difference of the two stress
tensors. Where only bending and axial force act that is the range of the axial stress. In a beam
the difference holds Δσ along the mast and a shear Δτ, and its principal values are
Δσ/2 ± sqrt(Δσ²/4 + Δτ²); the mean stress does not enter, as in the standards for detail categories.

The curve is that of EN 1999-1-3, 6.2.1, from memory: Δσ_C at 2 million cycles, slope m1 to 5 million
and m2 beyond. The standard's cut-off at 100 million cycles, below which ranges do no damage, is left
out: it is not safe in salt water. Damage is summed by Palmgren and Miner.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from mastcheck.roots import root
from mastcheck.section.model import SectionModel
from mastcheck.source import Grade, Source

FloatArray = NDArray[np.float64]

CURVE_SOURCE = Source(
    title="EN 1999-1-3, design fatigue strength curve, without its cut-off",
    place="6.2.1; the category's name read as its strength [MPa] at 2 million cycles and its slope",
    grade=Grade.MEMORY,
)
MINER_SOURCE = Source(
    title="Palmgren-Miner sum of damage; range of the normal stress on the worst plane",
    place="as in EN 1999-1-3; the mean stress is left out",
    grade=Grade.MEMORY,
)
REFERENCE = 2e6
"""Cycles at which a curve's strength is stated."""

KNEE = 5e6
"""Cycles at which its slope changes."""

GAMMA = 1.35
"""Partial factor on the curve where none is stated: EN 1993-1-9 Table 3.1, safe life, high
consequence of failure, from memory."""

_CATEGORY = re.compile(r"([0-9]{1,3}(?:\.[0-9])?)-([0-9]{1,2}(?:[.,][0-9])?)")


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailCurve:
    """Stress range against cycles: ``delta_sigma_c`` [Pa] at 2e6 cycles, slopes m1 and m2.

    ``gamma`` multiplies the ranges. ``material`` names what the curve is for; empty: of a
    standard's category every aluminium, of an own curve the mast's skin.
    """

    name: str
    delta_sigma_c: float
    m1: float
    m2: float
    gamma: float
    source: Source
    material: str = ""
    aluminium_only: bool = False

    @property
    def knee(self) -> float:
        """Range [Pa] at 5 million cycles, Δσ_D = Δσ_C (2/5)^(1/m1), before the partial factor."""
        return float(self.delta_sigma_c * (REFERENCE / KNEE) ** (1 / self.m1))

    def cycles(self, delta: FloatArray) -> FloatArray:
        """Cycles (...) to failure under ranges (...) [Pa]; infinite where there is no range."""
        factored = self.gamma * np.asarray(delta, dtype=np.float64)
        with np.errstate(divide="ignore"):
            steep = REFERENCE * (self.delta_sigma_c / factored) ** self.m1
            flat = KNEE * (self.knee / factored) ** self.m2
        out: FloatArray = np.where(factored >= self.knee, steep, flat)
        return out

    def range_at(self, cycles: float) -> float:
        """The range [Pa] that reaches failure after so many cycles."""
        if cycles <= KNEE:
            return float(self.delta_sigma_c * (REFERENCE / cycles) ** (1 / self.m1) / self.gamma)
        return float(self.knee * (KNEE / cycles) ** (1 / self.m2) / self.gamma)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fatigue:
    """What a mast must bear over its life: (load case, cycles), and by which curve it is judged.

    With ``alternating`` a cycle passes through the case, the unloaded mast, and the case with left and
    right changed about; else through the case and the unloaded mast.
    """

    cycles: tuple[tuple[str, float], ...]
    curve: DetailCurve | None = None
    alternating: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class FatigueRange:
    """One case's part in the damage at a point: cycles asked, range [Pa], cycles to failure (None:
    no curve).
    """

    case: str
    cycles: float
    range: float
    life: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FatigueWorst:
    """The worst point of one material.

    ``damage``: Miner sum there, None where no curve judges the material (then the point of greatest
    range). ``used``: the ranges over those of a sum of 1. ``z`` [m] from the base; ``xy`` [m] in
    section axes.
    """

    material: str
    damage: float | None
    used: float | None
    z: float
    xy: tuple[float, float]
    ranges: tuple[FatigueRange, ...]

    @property
    def greatest(self) -> FatigueRange:
        """The case of greatest range there."""
        return max(self.ranges, key=lambda r: r.range)


@dataclass(frozen=True, slots=True, kw_only=True)
class FatigueResult:
    """The worst point of each material, greatest damage first, what is not judged last.

    ``unstable``: cases that stand no service load, and have no range. ``missing``: cases that the file
    names and this check was not asked for; then nothing is summed.
    """

    fatigue: Fatigue
    worst: tuple[FatigueWorst, ...] = ()
    unstable: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


def category(name: str) -> tuple[float, float] | None:
    """Δσ_C [Pa] and m1 of a detail category such as "90-7"; None where it is no such name.

    >>> category("90-7"), category("strong")
    ((90000000.0, 7.0), None)
    """
    found = _CATEGORY.fullmatch(name.strip())
    if found is None:
        return None
    strength, slope = float(found[1]) * 1e6, float(found[2].replace(",", "."))
    return (strength, slope) if 10e6 <= strength <= 200e6 and 3 <= slope <= 12 else None


def normal_range(delta: FloatArray) -> FloatArray:
    """Greatest range (...) of normal stress on any plane, from differences (..., 3) of
    sigma_zz, tau_zx, tau_zy [Pa].

    >>> float(normal_range(np.array([0.0, 3.0, 4.0])))
    5.0
    """
    half = np.abs(delta[..., 0]) / 2
    out: FloatArray = half + np.sqrt(half**2 + delta[..., 1] ** 2 + delta[..., 2] ** 2)
    return out


def point_ranges(section: SectionModel, states: Sequence[FloatArray]) -> FloatArray:
    """Greatest range (p,) [Pa] at a section's basis points between any two load states.

    ``states``: two or more sets of resultants (7,) N, Vx, Vy, Mx, My, T, B at the stacking line.
    """
    ranges = [
        normal_range(np.einsum("kps,k->ps", section.basis.fields, a - b))
        for a, b in combinations(states, 2)
    ]
    out: FloatArray = np.max(ranges, axis=0)
    return out


def used(curve: DetailCurve, ranges: FloatArray, cycles: FloatArray) -> float:
    """Size of ranges (c,) [Pa] over that at which their sum of damage over the cycles (c,) is 1.

    Damage grows as a high power of the range, and says little of what is left; this is in step with
    stress, and passes 1 where the damage does.
    """
    asked = ranges > 0
    if not asked.any():
        return 0.0

    def over(log_size: float) -> float:
        sizes = np.exp(log_size) * ranges[asked, None]
        return float(np.log(damage(curve, sizes, cycles[asked])[0]))

    # One case alone bears the least, each at its part of the cycles together with the others the most.
    alone = [
        float(np.log(curve.range_at(n) / r)) for r, n in zip(ranges[asked], cycles[asked], strict=True)
    ]
    shared = [
        float(np.log(curve.range_at(n * asked.sum()) / r))
        for r, n in zip(ranges[asked], cycles[asked], strict=True)
    ]
    low, high = min(shared) - 1e-6, min(alone) + 1e-6
    return float(np.exp(-root(over, low, high)))


def damage(curve: DetailCurve, ranges: FloatArray, cycles: FloatArray) -> FloatArray:
    """Miner sum (p,) of ranges (c, p) [Pa], each borne so many times (c,)."""
    out: FloatArray = (cycles[:, None] / curve.cycles(ranges)).sum(axis=0)
    return out
