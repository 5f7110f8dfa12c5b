"""Every check that can fail a mast, under a name that stays the same from design to design.

A check's printed name may hold numbers of its own (the bolt that governs, the ratio of a coupling), so
that one design's cannot be told from another's; here they can.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from mastcheck.checks.governing import EACH_MATERIAL
from mastcheck.checks.result import CaseResult, Check, Finding, MastResult, Verdict
from mastcheck.checks.verdicts import BUCKLING, FLUTTER
from mastcheck.limit import Quantity

Name = tuple[str, str]
"""What is checked, and in which load case ("" for none)."""

_OWN = re.compile(
    r", bolt \d+$|, by the strength of thinner walls$|,? (?:times|over) [\d.]+ for coupling left out"
)


class Kind(StrEnum):
    """Kinds of check, by how their rates are found."""

    STABILITY = "stability"
    STRENGTH = "strength"
    MOVEMENT = "movement"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """One check of one design: how much of its limit is used, 1 being all of it.

    ``finding`` belongs to a strength check, ``quantity`` to a limit on movement. ``value`` and
    ``limit`` are in ``unit`` as printed.
    """

    name: Name
    kind: Kind
    used: float
    value: float
    limit: float | None
    unit: str
    finding: Finding | None = None
    quantity: Quantity | None = None


def uses(result: MastResult) -> dict[Name, Use]:
    """All checks that have a limit, the worst of each name; inf where one failed without a number."""
    cases = {case.case.name: case for case in result.cases}
    out: dict[Name, Use] = {}
    for check in result.checks:
        if check.utilisation is None and check.verdict is not Verdict.FAIL:
            continue
        use = _use(check, cases.get(check.case))
        if use.name not in out or use.used > out[use.name].used:
            out[use.name] = use
    return out


def unjudged(result: MastResult) -> tuple[str, ...]:
    """Names of what was reported and not judged, for want of a limit."""
    return tuple(
        dict.fromkeys(
            _OWN.sub("", c.name)
            for c in result.checks
            if c.utilisation is None and c.verdict is Verdict.REPORT
        )
    )


def finding_name(finding: Finding, case: str) -> Name:
    """The name of a finding's check: with its material where each material has its own."""
    own = finding.criterion in EACH_MATERIAL
    return (finding.name if own else str(finding.criterion)), case


def _use(check: Check, case: CaseResult | None) -> Use:
    words = _OWN.sub("", check.name)
    kind, finding, quantity = Kind.OTHER, None, None
    name: Name = words, check.case
    if case is not None:
        finding = next((f for f in case.findings if f.name == words), None)
        quantity = next((q for q in Quantity if q.value.replace("_", " ") == words), None)
        if words.startswith((BUCKLING, FLUTTER)):
            kind, name = Kind.STABILITY, (str(Kind.STABILITY), check.case)
        elif finding is not None:
            kind, name = Kind.STRENGTH, finding_name(finding, check.case)
        elif quantity is not None:
            kind = Kind.MOVEMENT
    used = math.inf if check.utilisation is None else check.utilisation
    # A limit exceeded by a hair counts as exceeded, whatever its number is rounded to.
    if check.verdict is Verdict.FAIL:
        used = max(used, 1 + 1e-9)
    return Use(
        name=name, kind=kind, used=used, value=check.value, limit=check.limit, unit=check.unit,
        finding=finding, quantity=quantity,
    )  # fmt: skip
