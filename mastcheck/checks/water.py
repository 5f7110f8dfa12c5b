"""The water side of one job: loads from the water before a check, drag and handling after it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.result import MastResult
from mastcheck.checks.water_result import WaterResult
from mastcheck.fluid import Water
from mastcheck.foil import Wing
from mastcheck.job import Job
from mastcheck.motion.result import MotionResult
from mastcheck.motion.vibration import waterline
from mastcheck.water.manoeuvres import Ride, WaterCase, carrying_speed, water_cases
from mastcheck.water.side import water_of, water_side
from mastcheck.water.tracking import tracking

FloatArray = NDArray[np.float64]

SPEEDS = 31
"""Speeds between the slowest and the fastest at which drag is told."""
ASSUMED_AHEAD = 0.10
"""The wing's quarter chord ahead of the mast where no wing is stated [m]: common practice, no source."""


def with_water_loads(job: Job) -> Job:
    """The job with those of its load cases from the water that are not refused."""
    if not job.water_loads:
        return job
    taken = {case.name for case in job.cases}
    made = [c.case for c in _cases(job) if c.name in job.water_loads and c.name not in taken]
    return replace(job, cases=(*job.cases, *(case for case in made if case is not None)))


def refused(job: Job) -> tuple[str, ...]:
    """Why a load case that was asked for is not among those checked, a caution each."""
    if not job.water_loads:
        return ()
    return tuple(
        f"Load case {c.name} from the water is not checked: {c.reason}."
        for c in _cases(job)
        if c.name in job.water_loads and c.case is None
    )


def water_result(job: Job, result: MastResult) -> WaterResult:
    """Drag, tracking, yaw, clearance and handling of a checked mast, over the job's speeds.

    Args:
        job: as given; its load cases may hold those from the water.
        result: the check of it.
    """
    slow, fast = job.speeds
    wing, assumed = _wing(job)
    side = water_side(
        job.mast,
        water=_water(job),
        conditions=job.conditions,
        level=waterline(job.mast, job.wet),
        speeds=np.unique(np.append(np.linspace(slow, fast, SPEEDS), job.conditions.turn_speed)),
        foil=job.foil,
        tip_compliance=result.tip_compliance,
        twist_frequency=_twist(result.motion),
        z=result.z,
        mass_per_length=np.array([s.properties.mass_per_length for s in result.sections]),
    )
    return WaterResult(
        side=side,
        cases=_cases(job),
        loaded=tuple(case.name for case in job.cases if case.name in job.water_loads),
        carrying_speed=carrying_speed(job.rider.weight, wing.area, side.water.density),
        wing_area=wing.area,
        wing_span=wing.span,
        wing_assumed=assumed,
    )


def drag_at(result: MastResult, speed: float) -> float | None:
    """Drag [N] of the mast's wet part at a speed [m/s] within the range it was told for; else None."""
    if result.water is None:
        return None
    drag = result.water.side.drag
    if not drag.speeds[0] - 1e-9 <= speed <= drag.speeds[-1] + 1e-9:
        return None
    # Between two speeds drag over speed squared changes slowly, with friction only.
    return float(np.interp(speed, drag.speeds, drag.total / drag.speeds**2) * speed**2)


def _cases(job: Job) -> tuple[WaterCase, ...]:
    water, level = _water(job), waterline(job.mast, job.wet)
    found = tracking(job.mast, level=level, speeds=np.array([job.conditions.turn_speed]), water=water)
    wing, _ = _wing(job)
    depth = found.area.centre
    return water_cases(
        Ride(
            rider=job.rider,
            conditions=job.conditions,
            wing=wing,
            length=job.mast.length,
            depth=job.mast.length if depth is None else depth,
            density=water.density,
            foil_mass=0.0 if job.foil is None else job.foil.mass,
            side_slope=found.slope_area,
            most_leeway=math.inf if found.stall_leeway is None else found.stall_leeway.value,
        )
    )


def _wing(job: Job) -> tuple[Wing, bool]:
    """The front wing, and whether it had to be assumed."""
    if job.foil is not None and job.foil.wing is not None:
        return job.foil.wing, False
    c = job.conditions
    return Wing(area=c.wing_area, span=c.wing_span, ahead=ASSUMED_AHEAD), True


def _water(job: Job) -> Water:
    """Water of the conditions, at the job's density."""
    return replace(water_of(job.conditions), density=job.water_density)


def _twist(motion: MotionResult | None) -> float | None:
    """Frequency [Hz] of the first twist mode in water."""
    modes = () if motion is None else motion.in_water
    return next((m.frequency for m in modes if m.name.startswith("twist")), None)
