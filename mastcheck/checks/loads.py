"""A load case and a rider, turned into loads on the beam."""

from __future__ import annotations

import numpy as np

from mastcheck.beam.loads import TipLoad
from mastcheck.job import Job
from mastcheck.loadcase import Lift, LoadCase

_SPREAD_POINTS = 60  # points that stand for a load spread over the wet part


def tip_load(job: Job, case: LoadCase, lift: Lift | None = None) -> TipLoad:
    """Service loads of a case in mast axes; ``lift`` overrides which way the lift points.

    A lift n·W toward the board with My = n·W·offset and Mx = n·W·roll_offset is a force -n·W
    along z on the wing at (offset, -roll_offset) from the tip.
    """
    weight = job.rider.weight
    adapters = sum(adapter.length for adapter in job.joints.adapters)  # between board and mast
    direction = case.lift if lift is None else lift
    side = case.side_force * weight
    fx, fy, fz = case.force
    mx, my, mz = case.moment
    feet = case.feet_twist * weight * job.rider.stance_width
    spread = spread_at = None
    if case.side_spread:
        share = (np.arange(_SPREAD_POINTS) + 0.5) / _SPREAD_POINTS
        at = 1 - job.wet * (1 - share)
        stations = job.mast.stations
        chord = np.interp(at, [s.at for s in stations], [s.chord for s in stations])
        quarter = (0.25 - job.mast.taper_about) * chord
        spread_at = np.column_stack([quarter, np.zeros_like(at), at * job.mast.length])
        spread = np.tile([0.0, side / _SPREAD_POINTS, 0.0], (_SPREAD_POINTS, 1))
    return TipLoad(
        lift=case.n * weight,
        arm=(case.offset, -case.roll_offset, 0.0),
        aim=-job.rider.rider_height - adapters if direction is Lift.THROUGH_RIDER else None,
        follower=direction is Lift.FOLLOWER,
        force=(fx, fy + (0.0 if case.side_spread else side), fz),
        moment=(mx, my, mz + feet),
        spread=spread,
        spread_at=spread_at,
    )
