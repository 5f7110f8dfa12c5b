"""Joints in the result file."""

from __future__ import annotations

import math
from typing import Any

from mastcheck.checks.joint_result import FlexBudget, JointsResult
from mastcheck.joints.finding import JointFinding
from mastcheck.joints.findings import utilisations
from mastcheck.joints.loads import BoltLoads
from mastcheck.joints.play import LostMotion, Play


def joints_json(found: JointsResult | None) -> dict[str, Any] | None:
    """The ``joints`` key of a mast; None where no joint is described."""
    if found is None:
        return None
    return {
        "flex_budget": [_budget(b) for b in found.budgets],
        "findings": [_finding(f) for f in found.findings],
        "bolts": [_bolts(case, loads) for case, every in found.bolts for loads in every],
        "play": [_play(p) for p in found.plays],
        "lost_motion": _lost(found.lost),
    }


def _budget(budget: FlexBudget) -> dict[str, Any]:
    shares = {name: budget.shares(k) for name, k in (("side", 1), ("roll", 3), ("twist", 5))}
    return {
        "case": budget.case,
        "parts": [
            {
                "name": name,
                "fore_aft_mm": float(moved[0]) * 1e3,
                "side_mm": float(moved[1]) * 1e3,
                "axial_mm": float(moved[2]) * 1e3,
                "roll_deg": math.degrees(moved[3]),
                "pitch_deg": math.degrees(moved[4]),
                "twist_deg": math.degrees(moved[5]),
                **{
                    f"{of}_percent": None if share is None else 100 * float(share[i])
                    for of, share in shares.items()
                },
            }
            for i, (name, moved) in enumerate(zip(budget.parts, budget.movement, strict=True))
        ],
    }


def _finding(f: JointFinding) -> dict[str, Any]:
    return {
        "joint": f.joint,
        "criterion": str(f.criterion),
        "case": f.case,
        "bolt": f.bolt,
        "at_xy_m": list(f.xy),
        "value": f.value,
        "limit": f.limit,
        "unit": f.unit,
        "utilisation": f.utilisation,
        "where": f.where,
        "source": str(f.source),
    }


def _bolts(case: str, loads: BoltLoads) -> dict[str, Any]:
    used = utilisations(loads)
    return {
        "joint": loads.joint,
        "case": case,
        "bolts": [
            {
                "bolt": number,
                "at_xy_m": list(loads.group.positions[k]),
                "tension_N": loads.tension[k],
                "shear_xy_N": loads.shear[k],
                "service_tension_N": loads.service_tension[k],
                "service_shear_xy_N": loads.service_shear[k],
                "utilisation": used[k],
            }
            for k, number in enumerate(loads.number)
        ],
    }


def _play(p: Play) -> dict[str, Any]:
    return {
        "joint": p.joint,
        "free": p.free,
        "side_mm": p.side * 1e3,
        "fore_aft_mm": p.fore_aft * 1e3,
        "roll_deg": math.degrees(p.roll),
        "pitch_deg": math.degrees(p.pitch),
        "twist_deg": math.degrees(p.twist),
        "why": p.why,
    }


def _lost(lost: LostMotion) -> dict[str, Any]:
    return {
        "tip_side_mm": lost.tip_side * 1e3,
        "tip_fore_aft_mm": lost.tip_fore_aft * 1e3,
        "tip_roll_deg": math.degrees(lost.tip_roll),
        "tip_pitch_deg": math.degrees(lost.tip_pitch),
        "tip_twist_deg": math.degrees(lost.tip_twist),
        "wing_up_mm": lost.wing_up * 1e3,
        "wing_fore_aft_mm": lost.wing_fore_aft * 1e3,
        "half_span_mm": lost.half_span * 1e3,
    }
