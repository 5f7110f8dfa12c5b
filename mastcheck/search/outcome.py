"""One design, judged: what a table of many designs keeps of a whole check, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from math import degrees, inf

from mastcheck.checks.compare import largest_utilisation, side_area
from mastcheck.checks.result import MastResult, Verdict
from mastcheck.checks.run import check
from mastcheck.checks.water import drag_at
from mastcheck.errors import MastcheckError
from mastcheck.job import Job
from mastcheck.search.variables import varied


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A row of a search. Numbers are None where the design could not be checked, or has no such number.

    ``settings`` [SI] made it. ``verdict``: pass, fail, report (part of it is not judged) or refused
    (``reason`` says why no check was possible). ``side_mm`` and ``twist_deg``: the largest at service
    load over all cases, in ``side_case`` and ``twist_case`` (None when any case is unstable).
    ``drag_N``: of the mast's wet part at the job's fastest speed. ``utilisation``: largest strength
    utilisation. ``governing``: the check that is nearest to its limit, or furthest over it, at
    ``governing_utilisation``. ``buckling_factor``: the least over the cases. ``doubtful``: whether a
    self-check failed.
    """

    settings: Mapping[str, float]
    verdict: str
    reason: str = ""
    mass_kg: float | None = None
    side_mm_per_100N: float | None = None
    fore_aft_mm_per_100N: float | None = None
    twist_deg_per_10Nm: float | None = None
    side_mm: float | None = None
    side_case: str = ""
    twist_deg: float | None = None
    twist_case: str = ""
    side_area_m2: float | None = None
    drag_N: float | None = None
    utilisation: float | None = None
    buckling_factor: float | None = None
    governing: str = ""
    governing_utilisation: float | None = None
    doubtful: bool = False


REFUSED = "refused"
NUMBERS = tuple(f.name for f in fields(Outcome) if str(f.type) == "float | None")
"""Names of an outcome's numbers."""


def outcome(job: Job, settings: Mapping[str, float]) -> Outcome:
    """Check a job with settings [SI] made. Never raises for a bad design: the row says why."""
    try:
        return summary(check(varied(job, settings)), settings)
    except MastcheckError as fault:
        return Outcome(settings=dict(settings), verdict=REFUSED, reason=" ".join(str(fault).split()))


def summary(result: MastResult, settings: Mapping[str, float]) -> Outcome:
    """What a row keeps of a whole result."""
    cases = [(case.case.name, case.tip) for case in result.cases]
    moved = {name: tip for name, tip in cases if tip is not None}
    whole = len(moved) == len(cases) and bool(cases)
    side = max(moved, key=lambda n: abs(moved[n].side)) if whole else ""
    twist = max(moved, key=lambda n: abs(moved[n].twist)) if whole else ""
    judged = [c for c in result.checks if c.verdict is not Verdict.REPORT]
    worst = max(judged, key=lambda c: inf if c.utilisation is None else c.utilisation, default=None)
    return Outcome(
        settings=dict(settings),
        verdict=str(_verdict(result)),
        mass_kg=result.mass,
        side_mm_per_100N=result.stiffness.side_mm_per_100N,
        fore_aft_mm_per_100N=result.stiffness.fore_aft_mm_per_100N,
        twist_deg_per_10Nm=result.stiffness.twist_deg_per_10Nm,
        side_mm=abs(moved[side].side) * 1e3 if side else None,
        side_case=side,
        twist_deg=degrees(abs(moved[twist].twist)) if twist else None,
        twist_case=twist,
        side_area_m2=side_area(result),
        drag_N=drag_at(result, result.job.speeds[1]),
        utilisation=largest_utilisation(result),
        buckling_factor=min((c.stability_factor for c in result.cases), default=None),
        governing="" if worst is None else f"{worst.name} ({worst.case})" if worst.case else worst.name,
        governing_utilisation=None if worst is None else worst.utilisation,
        doubtful=any(c.verdict is Verdict.FAIL for c in result.self_checks),
    )


def _verdict(result: MastResult) -> Verdict:
    if result.failed or any(not case.stable for case in result.cases):
        return Verdict.FAIL
    reported = any(c.verdict is Verdict.REPORT for c in result.checks)
    return Verdict.REPORT if reported else Verdict.PASS
