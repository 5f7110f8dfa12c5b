"""Limits, utilisation and verdicts. What has no limit is reported and never counted as a pass."""

from __future__ import annotations

import math

from mastcheck.checks.coupling import Coupling
from mastcheck.checks.result import CaseResult, Check, Criterion, Finding, Tip, Verdict
from mastcheck.checks.thickness import beyond_range
from mastcheck.job import Job
from mastcheck.limit import Limit, Quantity

BUCKLING = "buckling factor"
FLUTTER = "least of buckling factor under a dead lift and flutter factor"


def case_checks(job: Job, case: CaseResult, coupling: Coupling | None = None) -> tuple[Check, ...]:
    """Stability, strength, and the user's limits for one case; ``coupling`` is left out of the beam."""
    return (
        _stability(case, coupling),
        *_strength(job, case),
        *_coupling(case, coupling),
        *(_limit(limit, case, coupling) for limit in job.limits if limit.case == case.case.name),
    )


def _stability(case: CaseResult, coupling: Coupling | None) -> Check:
    """Service load's stability factor against the strength factor it must exceed."""
    need, have = max(1.0, case.case.strength_factor), case.stability_factor
    what, stable = BUCKLING if case.flutter_factor is None else FLUTTER, case.stable
    name = f"{what}, at least"
    if coupling is not None:
        have /= coupling.ratio
        name = f"{what} over {coupling.ratio:.2f} for coupling left out, at least"
        stable = stable and have > need
    return Check(
        name=name,
        case=case.case.name,
        value=have,
        limit=need,
        unit="",
        utilisation=need / have,
        verdict=Verdict.PASS if stable else Verdict.FAIL,
    )


def _strength(job: Job, case: CaseResult) -> tuple[Check, ...]:
    """Each finding at factored loads against its limit; what has none is reported."""
    if case.max_von_mises is not None:
        beyond = beyond_range(job.mast)
        return tuple(_found(case, f, f.material in beyond) for f in case.findings)
    # Unstable: no stress to report, and not a pass.
    material = job.mast.section.material
    capacity = material.design_strength
    criterion = Criterion.VON_MISES if material.laminate is None else Criterion.MAX_STRAIN
    return (
        Check(
            name=f"{criterion}, {material.name}",
            case=case.case.name,
            value=math.inf,
            limit=None if capacity is None else capacity / 1e6,
            unit="MPa" if material.laminate is None else "%",
            utilisation=None,
            verdict=Verdict.FAIL,
        ),
    )


def _found(case: CaseResult, finding: Finding, too_thick: bool) -> Check:
    """A finding as a check; strengths stated for thinner walls can fail a mast, not pass it."""
    used = finding.utilisation
    held = Verdict.PASS if used is not None and used <= 1 else Verdict.FAIL
    verdict = Verdict.REPORT if used is None or (too_thick and held is Verdict.PASS) else held
    name = f"{finding.name}, by the strength of thinner walls" if too_thick else finding.name
    return Check(
        name=name, case=case.case.name, value=finding.value, limit=finding.limit,
        unit=finding.unit, utilisation=used, verdict=verdict,
    )  # fmt: skip


def _coupling(case: CaseResult, coupling: Coupling | None) -> tuple[Check, ...]:
    """A row that keeps an unbalanced mast from passing plainly: its stresses lack the coupling."""
    if coupling is None:
        return ()
    return (
        Check(
            name=f"coupling left out: movement may be so many times more, {coupling.material}",
            case=case.case.name, value=coupling.ratio, limit=None, unit="",
            utilisation=None, verdict=Verdict.REPORT,
        ),
    )  # fmt: skip


def _limit(limit: Limit, case: CaseResult, coupling: Coupling | None) -> Check:
    """A tip quantity against the user's limit, times the coupling's ratio where there is one."""
    unit = "mm" if limit.quantity.is_length else "deg"
    factor = 1e3 if unit == "mm" else math.degrees(1)
    name = limit.quantity.value.replace("_", " ")
    if coupling is not None:
        name += f", times {coupling.ratio:.2f} for coupling left out"
    ratio = 1.0 if coupling is None else coupling.ratio
    value = math.inf if case.tip is None else abs(tip_value(case.tip, limit.quantity)) * factor * ratio
    bound = limit.maximum * factor
    return Check(
        name=name,
        case=case.case.name,
        value=value,
        limit=bound,
        unit=unit,
        utilisation=None if math.isinf(value) else value / bound,
        verdict=Verdict.PASS if value <= bound else Verdict.FAIL,
    )


def tip_value(tip: Tip, quantity: Quantity) -> float:
    """The tip quantity a limit names [m or rad]."""
    match quantity:
        case Quantity.SIDE_DEFLECTION:
            return tip.side
        case Quantity.FORE_AFT_DEFLECTION:
            return tip.fore_aft
        case Quantity.ROLL:
            return tip.roll
        case Quantity.PITCH:
            return tip.pitch
        case Quantity.TWIST:
            return tip.twist
