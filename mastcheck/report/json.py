"""The result file: ``mastcheck-result/1``, units in the key names, finite numbers only."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from importlib.resources import files
from typing import Any

import numpy as np

from mastcheck.checks.result import CaseResult, Comparison, Finding, MastResult, Tip
from mastcheck.checks.sources import sources_used
from mastcheck.report.contacts import edges_json, pairs_json
from mastcheck.report.fatigue import fatigue_json
from mastcheck.report.joint_json import joints_json
from mastcheck.report.motion import motion_json
from mastcheck.report.quiver import quiver_json
from mastcheck.report.record import encode
from mastcheck.report.sensitivity import sensitivity_json
from mastcheck.report.tolerances_json import tolerances_json
from mastcheck.report.water_json import water_json

SCHEMA_NAME = "mastcheck-result/1"

RESULT_SCHEMA: dict[str, Any] = json.loads(
    files("mastcheck").joinpath("data", "result.schema.json").read_text(encoding="utf-8")
)
"""JSON Schema of the result file."""


def result_json(results: Comparison | Sequence[MastResult]) -> str:
    """The results as JSON text, ending with a newline; what is not finite or not known is null.

    Args:
        results: a comparison, of one mast or several, gives all of the file: what scripts read, and the
            ``record`` from which report, figures and page can be made again (``report.record``). Masts
            alone give neither comparison nor record.
    """
    masts = results.masts if isinstance(results, Comparison) else results
    cautions = dict.fromkeys(caution for result in masts for caution in result.cautions)
    whole = {"schema": SCHEMA_NAME, "masts": [_mast(r) for r in masts], "cautions": list(cautions)}
    if not isinstance(results, Comparison):
        return _text(_finite(whole)) + "\n"
    told = _finite({**whole, "comparison": _comparison(results)})
    # On one line, since nobody reads it and each of its lists would fill a page.
    record = json.dumps(
        encode(results, told), separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return f'{_text(told)[:-2]},\n  "record": {record}\n}}\n'


def _text(value: Any) -> str:
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)


def _comparison(comparison: Comparison) -> dict[str, Any]:
    trade = comparison.trade
    return {
        "ratios": [
            {"name": r.name, "unit": r.unit, "values": r.values, "ratios": r.ratios}
            for r in comparison.ratios
        ],
        "sentence": comparison.sentence,
        "trade": None
        if trade is None
        else {"suits": trade.suits, "next": trade.next, "unlike": trade.unlike},
    }


def _finite(value: Any) -> Any:
    """Plain Python values; numbers that JSON cannot hold become null."""
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(item) for item in value]
    if isinstance(value, np.ndarray | np.generic):
        return _finite(value.tolist())
    if isinstance(value, float):
        # Adding zero turns -0.0 into 0.0, which would otherwise differ between machines.
        return value + 0.0 if math.isfinite(value) else None
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode("utf-8")
    return value


def _mast(result: MastResult) -> dict[str, Any]:
    job = result.job
    stiffness = result.stiffness
    return {
        "name": job.mast.name,
        "file": job.file,
        "input_sha256": job.input_sha256,
        "length_m": job.mast.length,
        "mass_kg": result.mass,
        "stations": [
            {
                "z_m": z,
                "EA_N": p.EA,
                "EI_side_Nm2": p.EIxx,
                "EI_fore_aft_Nm2": p.EIyy,
                "GJ_Nm2": p.GJ,
                "EGamma_Nm4": p.EGamma,
                "mass_per_length_kg_per_m": p.mass_per_length,
                "centroid_x_m": p.centroid_x,
                "shear_centre_x_m": p.shear_centre_x,
            }
            for z, p in (
                (float(z), s.properties) for z, s in zip(result.z, result.sections, strict=True)
            )
        ],
        "tip_compliance": {
            "order": ["Fx", "Fy", "Fz", "Mx", "My", "Mz"],
            "matrix_SI": result.tip_compliance,
        },
        "stiffness": {
            "side_mm_per_100N": stiffness.side_mm_per_100N,
            "fore_aft_mm_per_100N": stiffness.fore_aft_mm_per_100N,
            "twist_deg_per_10Nm": stiffness.twist_deg_per_10Nm,
            "torsion_Nm_per_deg": stiffness.torsion_Nm_per_deg,
        },
        "cases": [_case(case) for case in result.cases],
        "checks": [
            {
                "name": c.name,
                "case": c.case,
                "value": c.value,
                "limit": c.limit,
                "unit": c.unit,
                "utilisation": c.utilisation,
                "verdict": str(c.verdict),
            }
            for c in result.checks
        ],
        "self_checks": [
            {"name": s.name, "value": s.value, "limit": s.limit, "verdict": str(s.verdict)}
            for s in result.self_checks
        ],
        **({} if result.quiver is None else {"quiver": quiver_json(result.quiver)}),
        **({} if result.fatigue is None else {"fatigue": fatigue_json(result.fatigue)}),
        "motion": motion_json(result.motion),
        "water": water_json(result.water),
        **({} if result.sensitivity is None else {"sensitivity": sensitivity_json(result.sensitivity)}),
        **({} if result.tolerances is None else {"tolerances": tolerances_json(result.tolerances)}),
        "edges": edges_json(result.edges),
        "mixed_metals": pairs_json(result.pairs),
        "joints": joints_json(result.joints),
        "notes": list(job.notes),
        "sources": [{"what": what, "source": str(source)} for what, source in sources_used(result)],
    }


def _tip(tip: Tip | None) -> dict[str, float] | None:
    if tip is None:
        return None
    return {
        "side_mm": tip.side * 1e3,
        "fore_aft_mm": tip.fore_aft * 1e3,
        "axial_mm": tip.axial * 1e3,
        "roll_deg": math.degrees(tip.roll),
        "pitch_deg": math.degrees(tip.pitch),
        "twist_deg": math.degrees(tip.twist),
    }


def _case(case: CaseResult) -> dict[str, Any]:
    stress = case.max_von_mises
    return {
        "name": case.case.name,
        "lift": str(case.case.lift),
        "strength_factor": case.case.strength_factor,
        "axial_load_N": case.axial_load,
        "stable": bool(case.stable),
        "buckling_factor": case.buckling_factor,
        "flutter_factor": case.flutter_factor,
        "buckling_mode": _mode(case),
        "tip": _tip(case.tip),
        "first_order_tip": _tip(case.first_order_tip),
        "amplification": case.amplification,
        "amplification_by_lift": {
            k: case.amplification_by_lift[k] for k in sorted(case.amplification_by_lift)
        },
        "max_von_mises_MPa": None if stress is None else stress / 1e6,
        "max_at_z_m": case.max_at_z,
        "max_at_xy_m": case.max_at_xy,
        "governing_material": case.governing_material,
        "utilisation": case.utilisation,
        "findings": [_finding(f) for f in case.findings],
    }


def _mode(case: CaseResult) -> dict[str, Any] | None:
    mode = case.buckling_mode
    if mode is None:
        return None
    length = float(mode.z[-1])
    return {
        "kind": str(mode.kind),
        "energy_share": dict(zip(("side", "fore_aft", "twist"), mode.share.tolist(), strict=True)),
        "z_m": mode.z,
        "side_relative": mode.displacement[:, 1],
        "fore_aft_relative": mode.displacement[:, 0],
        "twist_times_length_relative": mode.rotation[:, 2] * length,
    }


def _finding(f: Finding) -> dict[str, Any]:
    return {
        "criterion": str(f.criterion),
        "material": f.material,
        "value": f.value,
        "limit": f.limit,
        "unit": f.unit,
        "utilisation": f.utilisation,
        "max_at_z_m": f.z,
        "max_at_xy_m": f.xy,
        "max_at_place": f.where,
        "basis": f.basis,
    }
