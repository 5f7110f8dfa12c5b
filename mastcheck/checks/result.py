"""Results: plain frozen data that every writer (terminal, JSON, PDF) reads. SI units."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.buckling import BucklingMode
from mastcheck.checks.edge_result import EdgeResult
from mastcheck.checks.galvanic import Pair
from mastcheck.checks.joint_result import JointsResult
from mastcheck.checks.quiver_result import WingResult
from mastcheck.checks.sensitivity_result import SensitivityResult
from mastcheck.checks.shown import shown
from mastcheck.checks.tolerance_result import TolerancesResult
from mastcheck.checks.water_result import WaterResult
from mastcheck.job import Job
from mastcheck.loadcase import LoadCase
from mastcheck.motion.result import MotionResult
from mastcheck.section.model import SectionModel
from mastcheck.strength.fatigue import FatigueResult
from mastcheck.strength.finding import Criterion as Criterion
from mastcheck.strength.finding import Finding as Finding

FloatArray = NDArray[np.float64]


class Verdict(StrEnum):
    """Outcome of a check; ``report`` means no limit was set, and is never counted as a pass."""

    PASS = "pass"
    FAIL = "fail"
    REPORT = "report"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tip:
    """Movement of the tip's stacking-line point [m] and rotations [rad], in mast axes.

    side: along y, to port. fore_aft: along x, aft. axial: along z. roll, pitch, twist:
    rotation about x, y, z.
    """

    side: float
    fore_aft: float
    axial: float
    roll: float
    pitch: float
    twist: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LineResult:
    """Along the mast, base to tip: z (n,), displacement (n, 3), rotation (n, 3),
    resultants (n, 7) N, Vx, Vy, Mx, My, T, B in the axes of the deformed section.
    """

    z: FloatArray
    displacement: FloatArray
    rotation: FloatArray
    resultants: FloatArray


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CaseResult:
    """One load case: serviceability values, strength values, and stability.

    ``tip`` and ``line`` are at service loads, second order; ``strength_line`` at loads times
    the strength factor. ``amplification``: lateral tip movement over its first-order value;
    ``amplification_by_lift`` gives it for each way the lift may point (None: unstable).
    ``buckling_factor``: multiple of the service load at which the case buckles (inf: never; of a lift
    that follows the wing: that of one which keeps its direction); ``buckling_mode``: the shape it
    buckles into. ``flutter_factor``: where the lift follows the wing, the multiple at which it flutters
    (inf: none found), without damping. ``stable``: whether the factored load stays below both and the
    bent shapes found are stable themselves; ``shaky``: whether they were found and are not. When it is
    not stable, tip, lines and stresses are None.
    ``max_von_mises`` [Pa] at (``max_at_z``, ``max_at_xy``) [m] in ``governing_material``, the place
    of greatest utilisation by the material criteria (von Mises, first ply, core shear).
    ``governing_station``: index into MastResult.sections.
    ``von_mises``: (n,) at that station's basis points, for the stress map; ``point_utilisation``
    (n,) there by the material criteria, NaN where a material states no strength.
    ``findings``: the worst place of each criterion and material, wrinkling and plate buckling of
    faces among them. ``utilisation`` (and ``utilisation_along_z``): the largest over all of them;
    None when none could be judged.
    """

    case: LoadCase
    axial_load: float
    stable: bool
    buckling_factor: float
    tip: Tip | None
    first_order_tip: Tip
    amplification: float | None
    amplification_by_lift: dict[str, float | None]
    line: LineResult | None
    strength_line: LineResult | None
    max_von_mises: float | None
    max_at_z: float | None
    max_at_xy: tuple[float, float] | None
    governing_material: str
    governing_station: int | None
    von_mises: FloatArray | None
    utilisation: float | None
    utilisation_along_z: FloatArray | None
    findings: tuple[Finding, ...] = ()
    point_utilisation: FloatArray | None = None
    buckling_mode: BucklingMode | None = None
    flutter_factor: float | None = None
    shaky: bool = False

    @property
    def stability_factor(self) -> float:
        """Multiple of the service load at which the case buckles or flutters, whichever comes first."""
        flutter = self.flutter_factor
        return self.buckling_factor if flutter is None else min(self.buckling_factor, flutter)

    @property
    def gives_way(self) -> str:
        """How it loses its stability: 'buckles' or 'flutters'."""
        return "buckles" if self.stability_factor == self.buckling_factor else "flutters"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A judged (or merely reported) value; unit as printed ('mm', 'deg', 'MPa', '')."""

    name: str
    case: str
    value: float
    limit: float | None
    unit: str
    utilisation: float | None
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class SelfCheck:
    """The tool checking itself: a difference between two ways to one number, and its limit."""

    name: str
    value: float
    limit: float
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Stiffness:
    """Tip stiffness in the trade's words, first order (as a bench test would read it)."""

    side_mm_per_100N: float
    fore_aft_mm_per_100N: float
    twist_deg_per_10Nm: float
    torsion_Nm_per_deg: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class MastResult:
    """Everything computed for one mast.

    ``z`` (n,) and ``sections`` (n) are the solved stations, base to tip.
    ``tip_compliance`` (6, 6), first order, order Fx Fy Fz Mx My Mz. ``motion``: modes, shedding and
    divergence. ``sensitivity``: None where it was not asked for. ``edges``: radii of nose and tail.
    ``pairs``: touching parts of different galvanic groups. ``joints``: bolts, play and flex budget,
    where the file describes joints. ``tolerances``: None where they were not asked for.
    ``water``: drag, tracking, clearance and loads from the water. ``quiver``: what was found of each
    wing, where the mast is ridden with wings by name; all else is of the one that governs.
    """

    job: Job
    mass: float
    z: FloatArray
    sections: tuple[SectionModel, ...]
    tip_compliance: FloatArray
    stiffness: Stiffness
    cases: tuple[CaseResult, ...]
    checks: tuple[Check, ...]
    self_checks: tuple[SelfCheck, ...]
    cautions: tuple[str, ...]
    fatigue: FatigueResult | None = None
    motion: MotionResult | None = None
    sensitivity: SensitivityResult | None = None
    edges: EdgeResult | None = None
    pairs: tuple[Pair, ...] = ()
    joints: JointsResult | None = None
    tolerances: TolerancesResult | None = None
    water: WaterResult | None = None
    quiver: tuple[WingResult, ...] | None = None

    @property
    def failed(self) -> bool:
        """Whether any limit is exceeded, with any of the wings."""
        wings = self.quiver or ()
        return any(c.verdict is Verdict.FAIL for c in self.checks) or any(w.failed for w in wings)

    def _repr_html_(self) -> str | None:
        """As a notebook shows it."""
        return shown(self, "html")

    def _repr_markdown_(self) -> str | None:
        return shown(self, "markdown")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratio:
    """A quantity across masts, with ratios to the first."""

    name: str
    unit: str
    values: tuple[float | None, ...]
    ratios: tuple[float | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trade:
    """Plain sentences: for whom each mast is, in their order; what to try next; ``unlike``: in what the
    masts were not asked the same (empty: in nothing).
    """

    suits: tuple[str, ...]
    next: str
    unlike: str = ""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Comparison:
    """Masts side by side; ``sentence`` says in plain words what the choice costs and buys, ``trade``
    for whom each is (None: one mast, or no water side).
    """

    masts: tuple[MastResult, ...]
    ratios: tuple[Ratio, ...]
    sentence: str
    trade: Trade | None = None

    def _repr_html_(self) -> str | None:
        """As a notebook shows it."""
        return shown(self, "html")

    def _repr_markdown_(self) -> str | None:
        return shown(self, "markdown")
