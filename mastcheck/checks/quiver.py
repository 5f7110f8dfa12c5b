"""One mast, many wings: a whole check with each, and the result of the one that governs."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from mastcheck.checks.quiver_result import WingResult
from mastcheck.checks.result import Check, MastResult, SelfCheck, Verdict
from mastcheck.foil import QuiverFoil
from mastcheck.job import Job
from mastcheck.loadcase import STANDARD_CASES, LoadCase
from mastcheck.source import PRACTICE, Grade, Source

Progress = Callable[[str, float], None]

STRIKE = next(case for case in STANDARD_CASES if case.name == "wingtip-strike")
"""The standard case whose arm is half the span."""
_RECALLED = "recalled 500 N aft at the tip of wing"


def over_wings(
    job: Job, check: Callable[[Job, Progress | None], MastResult], progress: Progress | None
) -> MastResult:
    """Check a job with each wing of its quiver.

    Args:
        job: a mast with any number of wings.
        check: a whole check of a job with the one foil it looks at.
        progress: called with what is being done and the share done.

    Returns: the result of the wing that governs (a failed one before one that holds, then the largest
        utilisation of its judged checks, then the order of the wings), with ``quiver`` telling of all.
        Its cautions are those of every wing, and each of its self-checks is the worst over the wings.
        Of a job without a quiver: its check, the standard strike at half the wing's span where that is
        more than its own arm.
    """
    wings = job.quiver
    if not wings:
        return check(_with_lone_wing(job), progress)
    results = []
    for k, wing in enumerate(wings):
        if progress is not None:
            progress(f"{job.mast.name}: wing {wing.name}", 0.9 + 0.1 * k / len(wings))
        results.append(check(with_wing(job, wing), None))
    if progress is not None:
        progress(f"{job.mast.name}: done", 1.0)
    told = [_wing_result(wing, result) for wing, result in zip(wings, results, strict=True)]
    first = min(range(len(told)), key=lambda k: _rank(told[k]))
    return replace(
        results[first],
        cautions=_cautions(wings, results),
        self_checks=_self_checks(results),
        quiver=tuple(replace(wing, governs=k == first) for k, wing in enumerate(told)),
    )


def with_wing(job: Job, wing: QuiverFoil) -> Job:
    """The job looking at one wing of its quiver; the standard strike takes its arm from that wing."""
    return replace(job, foil=wing.foil, cases=tuple(_struck(case, wing) for case in job.cases))


def _with_lone_wing(job: Job) -> Job:
    """The job with the strike of a wing that reaches further than the standard one."""
    wing = None if job.foil is None else job.foil.wing
    if job.foil is None or wing is None or STRIKE.force[0] * wing.span / 2 <= abs(STRIKE.moment[2]):
        return job
    named = QuiverFoil(name="the wing", foil=job.foil)
    return replace(job, cases=tuple(_struck(case, named) for case in job.cases))


def governing_wing(result: MastResult) -> WingResult | None:
    """The wing that a result is of, where the mast is ridden with wings by name."""
    return next((wing for wing in result.quiver or () if wing.governs), None)


def _struck(case: LoadCase, wing: QuiverFoil) -> LoadCase:
    """The standard strike at half the wing's span; every other case, a changed strike too, as it is."""
    ours = case.source == PRACTICE or case.source.title.startswith(_RECALLED)
    if not ours or replace(case, moment=STRIKE.moment, source=STRIKE.source) != STRIKE:
        return case
    if wing.foil.wing is None:
        return case
    half = wing.foil.wing.span / 2
    # As in the standard case: aft (+x) on the port tip (y = half the span) is a torque of -force · y.
    return replace(
        case,
        moment=(0.0, 0.0, -STRIKE.force[0] * half),
        source=Source(
            title=f"{_RECALLED} {wing.name}, at half its span of {wing.foil.wing.span * 1e3:.6g} mm",
            grade=Grade.PRACTICE,
        ),
    )


def _wing_result(wing: QuiverFoil, result: MastResult) -> WingResult:
    judged = [c for c in result.checks if c.verdict is not Verdict.REPORT]
    failed = [c for c in judged if c.verdict is Verdict.FAIL]
    unstable = any(not case.stable for case in result.cases)
    worst = max(failed or judged, key=_use, default=None)
    motion, foil = result.motion, wing.foil.wing
    return WingResult(
        name=wing.name,
        area=None if foil is None else foil.area,
        span=None if foil is None else foil.span,
        failed=bool(failed) or unstable,
        passed=len(judged) > len(failed),
        check=None if worst is None else worst.name,
        case="" if worst is None else worst.case,
        utilisation=None if worst is None else worst.utilisation,
        failures=tuple((c.name, c.case) for c in failed),
        stability_factor=min((c.stability_factor for c in result.cases), default=math.inf),
        divergence_speed=None if motion is None else motion.divergence_speed,
        twist_frequency=None
        if motion is None
        else next((m.frequency for m in motion.in_water if m.name.startswith("twist")), None),
    )


def _use(check: Check) -> float:
    """Utilisation; a failed check without one has nothing left to use, and is beyond all numbers."""
    if check.utilisation is not None:
        return check.utilisation
    return math.inf if check.verdict is Verdict.FAIL else -math.inf


def _rank(wing: WingResult) -> tuple[bool, float]:
    """Sorts the wing that governs first."""
    if wing.check is None:
        return not wing.failed, math.inf
    return not wing.failed, -(math.inf if wing.utilisation is None else wing.utilisation)


def _cautions(wings: Sequence[QuiverFoil], results: Sequence[MastResult]) -> tuple[str, ...]:
    """Cautions of all wings; those not said of every one are named by their wings."""
    owners: dict[str, list[str]] = {}
    for wing, result in zip(wings, results, strict=True):
        for caution in dict.fromkeys(result.cautions):
            owners.setdefault(caution, []).append(wing.name)
    return tuple(
        caution if len(names) == len(wings) else f"With {listed(names)}: {caution}"
        for caution, names in owners.items()
    )


def _self_checks(results: Sequence[MastResult]) -> tuple[SelfCheck, ...]:
    """Each self-check at its worst over the wings: a doubt about one is a doubt about the table."""
    return tuple(max(every, key=_doubt) for every in zip(*(r.self_checks for r in results), strict=True))


def _doubt(found: SelfCheck) -> tuple[bool, float]:
    return found.verdict is not Verdict.PASS, math.inf if math.isnan(found.value) else found.value


def listed(names: Sequence[str]) -> str:
    """Names in words.

    >>> listed(["A"]), listed(["A", "B", "C"])
    ('A', 'A, B and C')
    """
    return " and ".join(x for x in (", ".join(names[:-1]), names[-1]) if x)
