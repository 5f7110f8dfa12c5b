"""What sizing gives: plain data for the terminal and JSON. SI units, but for a check's printed ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from mastcheck.checks.result import MastResult
from mastcheck.job import Job
from mastcheck.search.size_limits import Name, Use
from mastcheck.search.size_space import Free


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Design:
    """One design that was checked: what makes it [SI], mass [kg], what it uses of each limit.

    ``refused``: why it could not be checked; it has no mass and no uses then. ``holds``: every limit,
    every load case stable, no self-check failed.
    """

    settings: Mapping[str, float]
    mass: float
    uses: Mapping[Name, Use]
    holds: bool
    refused: str = ""

    @property
    def worst(self) -> Use | None:
        """The check nearest to its limit, or furthest over it."""
        return max(self.uses.values(), key=lambda use: use.used, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Governing:
    """A limit that stops the mast from being lighter (or from existing).

    ``force``: per cent of mass saved by per cent more of this limit; where no design holds, this limit's
    share in what is in the way, all shares adding up to 1.
    """

    use: Use
    force: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AtBound:
    """A size that ends at a bound. ``force``: per cent of mass that 1 % of the bound would save (where
    no design holds: how much it would ease the worst limit).
    """

    key: str
    upper: bool
    force: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SideStep:
    """One size moved to one side, all others held: what comes of it.

    ``beyond``: whether that is outside the bounds.
    """

    key: str
    design: Design
    beyond: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Jump:
    """A check that uses ``before`` of its limit, and ``after`` over one step of the size ``key``."""

    name: Name
    key: str
    before: float
    after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What a change of the demand costs in mass [kg], by the forces of the limits that govern.

    ``step`` is of ``key``: "rider" [kg] or "length" [m].
    """

    key: str
    step: float
    mass: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Run:
    """One search from one start; ``end`` None where the start could not be checked."""

    start: Design
    end: Design | None
    converged: bool


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sized:
    """The lightest mast that meets its limits, or the one that comes nearest.

    ``given``: the mast as it was. ``best``: what was found, None where no start could be checked;
    ``result`` its whole check. ``found``: whether it holds. ``remainder``: what of the slope of the mass
    the limits and bounds leave unbalanced, as a share (0: no small change of all sizes at once does
    better). ``jumps``: checks that change over a step by much more than their rates say: they are no
    smooth function of the sizes here. ``blocked``: why smaller steps were taken at the end, where what
    lies ahead cannot be built.
    ``rounded``: the design with sizes rounded to what can be made, where that was asked for. ``checks``:
    how many designs were checked.
    """

    job: Job
    free: tuple[Free, ...]
    given: Design
    best: Design | None
    result: MastResult | None
    found: bool
    governing: tuple[Governing, ...]
    at_bounds: tuple[AtBound, ...]
    remainder: float
    blocked: str
    steps: tuple[SideStep, ...]
    jumps: tuple[Jump, ...]
    prices: tuple[Price, ...]
    runs: tuple[Run, ...]
    rounded: Design | None
    checks: int
