"""The ``water`` key of a mast's results."""

from __future__ import annotations

import math
from typing import Any

from mastcheck.checks.water_result import WaterResult
from mastcheck.water.balance import FreeBody
from mastcheck.water.manoeuvres import WaterCase
from mastcheck.water.model import Clearance, Coefficient, Drag, Handling, Tracking, WetArea, Yaw


def water_json(found: WaterResult | None) -> dict[str, Any] | None:
    """Numbers in the units they name; what is not known or has no end is null."""
    if found is None:
        return None
    side = found.side
    return {
        "water": {
            "name": side.water.name,
            "temperature_C": side.water.temperature,
            "density_kg_per_m3": side.water.density,
            "kinematic_viscosity_m2_per_s": side.water.viscosity,
        },
        "waterline_z_m": side.level,
        "wing": {
            "area_m2": found.wing_area,
            "span_m": found.wing_span,
            "assumed": found.wing_assumed,
            "carrying_speed_m_per_s": found.carrying_speed,
        },
        "drag": _drag(side.drag),
        "tracking": _tracking(side.tracking),
        "yaw": _yaw(side.yaw),
        "clearance": _clearance(side.clearance),
        "handling": _handling(side.handling),
        "cases": [_case(case, found) for case in found.cases],
        "notes": list(side.notes),
        "sources": [
            {"what": what, "source": str(source), "grade": str(source.grade)}
            for what, source in side.basis
        ],
    }


def _drag(d: Drag) -> dict[str, Any]:
    return {
        "speeds_m_per_s": d.speeds,
        **{f"{name}_N": values for name, values in d.terms.items()},
        "total_N": d.total,
        "low_N": d.low,
        "high_N": d.high,
        "power_W": d.power,
        "reynolds_least": d.reynolds[:, 0],
        "reynolds_greatest": d.reynolds[:, 1],
        "bubbles_from_m_per_s": d.cavitation_speed,
    }


def _tracking(t: Tracking) -> dict[str, Any]:
    return {
        "wet": _wet(t.area),
        "lift_slope_per_rad": _banded(t.lift_slope),
        "side_per_rad_N": t.side_per_rad,
        "stall_leeway_deg": _banded(t.stall_leeway, degrees=True),
        "stall_force_N": t.stall_force,
        "ventilation_leeway_deg": _banded(t.ventilation_leeway, degrees=True),
        "ventilation_force_low_N": t.ventilation_force[:, 0],
        "ventilation_force_high_N": t.ventilation_force[:, 1],
        "axis_ahead_m": t.axis_ahead,
        "weathercock_Nm_per_rad": t.weathercock,
        "yaw_damping_Nms_per_rad": t.yaw_damping,
        "roll_damping_Nms_per_rad": t.roll_damping,
    }


def _wet(a: WetArea) -> dict[str, Any]:
    return {
        "depth_m": a.depth,
        "side_area_m2": a.side,
        "wetted_area_m2": a.wetted,
        "centre_z_m": a.centre,
        "centre_x_m": a.aft,
        "quarter_chord_x_m": a.quarter,
        "aspect_ratio": a.aspect_ratio,
    }


def _yaw(y: Yaw) -> dict[str, Any]:
    return {
        "stiffness_Nm_per_rad": y.stiffness,
        "feet_torque_Nm": y.feet_torque,
        "feet_lag_deg": _degrees(y.feet_lag),
        "turn_rate_deg_per_s": _degrees(y.turn_rate),
        "entry_time_s": y.entry_time,
        "yaw_acceleration_deg_per_s2": _degrees(y.yaw_acceleration),
        "yaw_inertia_kgm2": y.yaw_inertia,
        "start_torque_Nm": y.start_torque,
        "start_lag_deg": _degrees(y.start_lag),
        "twist_frequency_Hz": y.twist_frequency,
        "response_time_s": y.response_time,
    }


def _clearance(c: Clearance) -> dict[str, Any]:
    return {
        "ride_height_m": c.ride_height,
        "lowest_ride_height_m": c.lowest,
        "highest_ride_height_m": c.highest,
        "wing_depth_m": c.wing_depth,
        "trough_depth_m": c.trough_depth,
        "least_depth_m": c.least_depth,
        "rail_bank_deg": _degrees(c.rail_bank),
        "tip_bank_deg": _degrees(c.tip_bank),
        "best_bank_deg": _degrees(c.best_bank),
        "best_height_m": c.best_height,
    }


def _handling(h: Handling) -> dict[str, Any]:
    return {
        "mass_kg": h.mass,
        "centre_z_m": h.centre,
        "swing_inertia_kgm2": h.swing_inertia,
        "foil_mass_kg": h.foil_mass,
        "swing_inertia_with_foil_kgm2": h.with_foil,
    }


def _case(case: WaterCase, found: WaterResult) -> dict[str, Any]:
    return {
        "name": case.name,
        "checked": case.name in found.loaded,
        "refused": case.case is None,
        "reason": case.reason,
        "figures": [{"name": n, "value": v, "unit": unit} for n, v, unit in case.figures],
        "assumptions": list(case.assumptions),
        "free_body": None if case.body is None else _body(case.body),
    }


def _body(body: FreeBody) -> dict[str, Any]:
    force, moment = body.residual()
    return {
        "weight_N": body.weight,
        "lean_deg": math.degrees(body.lean),
        "forces": [
            {"name": f.name, "at_m": f.at, "force_N": f.force, "moment_Nm": f.moment}
            for f in body.forces
        ],
        "moments_balanced": list(body.watched),
        "left_out": body.left_out,
        "residual_force_N": force,
        "residual_moment_Nm": moment,
    }


def _banded(c: Coefficient | None, *, degrees: bool = False) -> dict[str, Any] | None:
    if c is None:
        return None
    by = math.degrees(1) if degrees else 1.0
    return {"value": c.value * by, "low": c.low * by, "high": c.high * by}


def _degrees(value: float | None) -> float | None:
    return None if value is None else math.degrees(value)
