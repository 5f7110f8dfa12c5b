"""The numbers of a check that a reader asks for first, as printed, movements without their sign."""

from __future__ import annotations

import math
from dataclasses import dataclass

from mastcheck.checks.result import CaseResult, MastResult

MASS = "mass"
SIDE, FORE_AFT, TWIST = "side", "fore-aft", "twist"
PER_LOAD = {SIDE: "side per load", FORE_AFT: "fore-aft per load", TWIST: "twist per torque"}
USED = "utilisation"
STABILITY = "stability factor"


@dataclass(frozen=True, slots=True)
class Headline:
    """What a number is of: its name, load case ("" for none) and unit."""

    name: str
    case: str
    unit: str


def headlines(result: MastResult) -> dict[Headline, float]:
    """All of a mast; what an unstable case has not, or is endless, is left out."""
    s = result.stiffness
    out = {
        Headline(MASS, "", "kg"): result.mass,
        Headline(PER_LOAD[SIDE], "", "mm per 100 N"): s.side_mm_per_100N,
        Headline(PER_LOAD[FORE_AFT], "", "mm per 100 N"): s.fore_aft_mm_per_100N,
        Headline(PER_LOAD[TWIST], "", "deg per 10 N·m"): s.twist_deg_per_10Nm,
    }
    for case in result.cases:
        out |= _case(case)
    return out


def _case(case: CaseResult) -> dict[Headline, float]:
    name, out = case.case.name, {}
    if case.stable and case.tip is not None:
        out[Headline(SIDE, name, "mm")] = abs(case.tip.side) * 1e3
        out[Headline(FORE_AFT, name, "mm")] = abs(case.tip.fore_aft) * 1e3
        out[Headline(TWIST, name, "deg")] = math.degrees(abs(case.tip.twist))
        if case.utilisation is not None:
            out[Headline(USED, name, "")] = case.utilisation
    if math.isfinite(case.stability_factor):
        out[Headline(STABILITY, name, "")] = case.stability_factor
    return out
