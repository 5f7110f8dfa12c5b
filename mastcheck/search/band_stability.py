"""What tolerances change of stability factors: the beams at both limits of each, in differences.

Section properties are drawn out to the limits by their rates, so that no section is solved for it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.buckling import buckling
from mastcheck.beam.solve import FrameModel
from mastcheck.checks.joined import springs
from mastcheck.checks.loads import tip_load
from mastcheck.checks.result import MastResult
from mastcheck.checks.section_rates import SCALARS, RatesAlong, sizes_of
from mastcheck.checks.stations import beam_of
from mastcheck.loadcase import Lift
from mastcheck.scatter import Quantity, Tolerance
from mastcheck.search.changed import is_laminate
from mastcheck.search.scatter import KINDS, limits_at
from mastcheck.section.model import SectionProperties
from mastcheck.section.scaling import Scale, scaled_properties

FloatArray = NDArray[np.float64]


def frame_of(
    result: MastResult, z: FloatArray, properties: Sequence[SectionProperties] | None = None
) -> FrameModel:
    """The mast's finite elements, its sections at z (n,)."""
    job = result.job
    mast = job.mast.with_length(float(z[-1]))
    base, tip = springs(job.joints)
    model = beam_of(mast, z, result.sections, properties)
    return FrameModel(model, keep=[float(at) for at in z], base_joint=base, tip_joint=tip)


def stability_changes(
    result: MastResult, along: RatesAlong, tolerances: tuple[Tolerance, ...]
) -> dict[str, FloatArray]:
    """What each tolerance (k,) changes of the buckling factors, by case: half of limit to limit.

    Cases whose lift follows the wing, and those that never buckle, are left out.
    """
    job = result.job
    cases = [
        case for case in result.cases
        if math.isfinite(case.buckling_factor) and case.case.lift is not Lift.FOLLOWER
    ]  # fmt: skip
    if not cases:
        return {}
    out = np.zeros((len(cases), len(tolerances)))
    now = np.array([case.buckling_factor for case in cases])
    for i, tolerance in enumerate(tolerances):
        if tolerance.quantity is Quantity.LOAD:
            out[:, i] = -now * tolerance.limit
            continue
        if tolerance.quantity is Quantity.G and is_laminate(job.mast):
            continue  # no rate of a section: see ``bands``
        if tolerance.quantity is Quantity.E and not job.joints.stated:
            out[:, i] = now * tolerance.limit
            continue
        ends = []
        for sign in (1, -1):
            z, properties = _moved(result, along, tolerance, sign)
            frame = frame_of(result, z, properties)
            moved = replace(job, mast=job.mast.with_length(float(z[-1])))
            found = buckling(frame, [tip_load(moved, case.case) for case in cases])
            ends.append(found.factor)
        out[:, i] = (ends[0] - ends[1]) / 2
    return {
        case.case.name: change
        for case, change in zip(cases, out, strict=True)
        if np.isfinite(change).all()
    }


def _moved(
    result: MastResult, along: RatesAlong, tolerance: Tolerance, sign: int
) -> tuple[FloatArray, list[SectionProperties]]:
    """Places and section properties of the mast with one quantity at a limit, by their rates."""
    mast, z = result.job.mast, result.z
    own = [s.properties for s in result.sections]
    by = sign * tolerance.limit
    match tolerance.quantity:
        case Quantity.LENGTH:
            share = by if tolerance.relative else by / mast.length
            return z * (1 + share), own
        case Quantity.E:
            return z, [scaled_properties(p, Scale(E=1 + by, G=1 + by)) for p in own]
        case Quantity.G:
            return z, [scaled_properties(p, Scale(G=1 + by)) for p in own]
        case _:
            kind = sizes_of(mast).index(KINDS[tolerance.quantity])
            limits = limits_at(mast, tolerance)
            amount = sign * np.interp(z / mast.length, [s.at for s in mast.stations], limits)
            return z, [_by_rates(p, along, i, kind, float(amount[i])) for i, p in enumerate(own)]


def _by_rates(
    p: SectionProperties, along: RatesAlong, i: int, kind: int, amount: float
) -> SectionProperties:
    scalars = {name: getattr(p, name) + along.scalars[name][i, kind] * amount for name in SCALARS}
    return replace(p, **scalars)
