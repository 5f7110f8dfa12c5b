"""Limits, utilisation and verdicts. What has no limit is reported and never counted as a pass."""

from __future__ import annotations

import math

from mastcheck.checks.result import CaseResult, Check, Tip, Verdict
from mastcheck.job import Job
from mastcheck.limit import Limit, Quantity


def case_checks(job: Job, case: CaseResult) -> tuple[Check, ...]:
    """Stability, strength, and the user's limits for one case."""
    return (
        _stability(case),
        _strength(job, case),
        *(_limit(limit, case) for limit in job.limits if limit.case == case.case.name),
    )


def _stability(case: CaseResult) -> Check:
    """Service load's buckling factor against the strength factor it must exceed."""
    need, have = max(1.0, case.case.strength_factor), case.buckling_factor
    return Check(
        name="buckling factor, at least",
        case=case.case.name,
        value=have,
        limit=need,
        unit="",
        utilisation=need / have,
        verdict=Verdict.PASS if case.stable else Verdict.FAIL,
    )


def _strength(job: Job, case: CaseResult) -> Check:
    """Von Mises stress at factored loads against the governing material's design strength."""
    recipe = job.mast.section
    by_name = {m.name: m for m in (recipe.material, recipe.core) if m is not None}
    material = by_name.get(case.governing_material, recipe.material)
    capacity = material.design_strength
    name = f"von Mises stress, {material.name}"
    limit = None if capacity is None else capacity / 1e6
    if case.max_von_mises is None:  # unstable: no stress to report, and not a pass
        return Check(
            name=name, case=case.case.name, value=math.inf, limit=limit, unit="MPa",
            utilisation=None, verdict=Verdict.FAIL,
        )  # fmt: skip
    if case.utilisation is None or limit is None:
        verdict = Verdict.REPORT
    else:
        verdict = Verdict.PASS if case.utilisation <= 1 else Verdict.FAIL
    return Check(
        name=name, case=case.case.name, value=case.max_von_mises / 1e6, limit=limit, unit="MPa",
        utilisation=case.utilisation, verdict=verdict,
    )  # fmt: skip


def _limit(limit: Limit, case: CaseResult) -> Check:
    """A tip quantity against the user's limit."""
    unit = "mm" if limit.quantity in (Quantity.SIDE_DEFLECTION, Quantity.FORE_AFT_DEFLECTION) else "deg"
    factor = 1e3 if unit == "mm" else math.degrees(1)
    value = math.inf if case.tip is None else abs(tip_value(case.tip, limit.quantity)) * factor
    bound = limit.maximum * factor
    return Check(
        name=limit.quantity.value.replace("_", " "),
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
