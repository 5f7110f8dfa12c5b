"""Bolts judged: the worst of each joint by each criterion, in each case.

Strength at loads times the strength factor, separation and slip at service loads with the least preload.
What is not stated is not judged. Prying, fatigue of bolts, bending of plates and bolts, heads pulling
through, the adapters' own strength, and pressure in sockets and boxes are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from mastcheck.joint import Joints
from mastcheck.joints.bolts import (
    EN_BOLTS,
    GAMMA_M2,
    KEPT_TORSION,
    SLIP_FRICTION,
    STRIP,
    TIGHT,
    VDI,
    Preload,
    bearing_resistance,
    bolt_stress,
    load_factor,
    preload,
    shear_resistance,
    strip_resistance,
    tension_resistance,
)
from mastcheck.joints.finding import JointCase, JointCriterion, JointFinding
from mastcheck.joints.loads import BoltLoads, bolt_loads
from mastcheck.source import Grade, Source
from mastcheck.ties import greatest

FloatArray = NDArray[np.float64]

STATED = Source(title="strength as stated", grade=Grade.USER)


def joint_findings(joints: Joints, cases: Sequence[JointCase]) -> tuple[JointFinding, ...]:
    """Findings of every bolted joint in every case.

    Args:
        joints: the joints of a mast.
        cases: forces at its base and tip; without NaN (leave out a case that found no balance).
    """
    return tuple(
        found for case in cases for loads in bolt_loads(joints, case) for found in _found(case, loads)
    )


def utilisations(loads: BoltLoads) -> FloatArray:
    """Greatest utilisation of each bolt (n,) over all criteria; NaN where none can be judged."""
    every = [u for _, _, _, _, u, _, _ in _criteria(loads) if u is not None]
    out: FloatArray = np.full(len(loads.tension), np.nan)
    return np.fmax.reduce(every) if every else out


def _found(case: JointCase, loads: BoltLoads) -> Iterator[JointFinding]:
    for criterion, value, limit, unit, used, where, source in _criteria(loads):
        worst = greatest(value if used is None else used)
        yield JointFinding(
            joint=loads.joint,
            criterion=criterion,
            case=case.name,
            bolt=loads.number[worst],
            xy=loads.group.positions[worst],
            value=float(value[worst]),
            limit=None if limit is None else float(limit),
            unit=unit,
            utilisation=None if used is None else float(used[worst]),
            where=where,
            source=source,
        )


_Row = tuple[JointCriterion, FloatArray, float | None, str, FloatArray | None, str, Source]


def _criteria(loads: BoltLoads) -> Iterator[_Row]:
    """Each criterion: values (n,), limit, unit, utilisation (n,) or None, words, source."""
    yield from _resistances(loads)
    tightened = preload(loads.group)
    pull = np.maximum(loads.tension, 0.0)
    if tightened is not None:
        yield from _preloaded(loads, tightened, pull)
        pull = np.maximum(pull, tightened.greatest + load_factor(loads.group) * pull)
    yield from _thread(loads, pull)


def _resistances(loads: BoltLoads) -> Iterator[_Row]:
    """Tension, shear, both, bearing by EN 1999-1-1: the load without preload."""
    group = loads.group
    pull, across = np.maximum(loads.tension, 0.0), np.hypot(*loads.shear.T)
    t, v = tension_resistance(group), shear_resistance(group)
    cls = group.property_class.name
    words = f"{group.thread.name} {cls}, resistance over {GAMMA_M2:g}; prying left out"
    C = JointCriterion
    yield C.TENSION, pull, t, "N", pull / t, words, EN_BOLTS
    if not across.any():
        return
    yield C.SHEAR, across, v, "N", across / v, f"{words}; thread in the shear plane", EN_BOLTS
    both = across / v + pull / (1.4 * t)
    yield C.COMBINED, both, 1.0, "", both, "Fv/Fv,Rd + Ft/(1.4 Ft,Rd)", EN_BOLTS
    limit = bearing_resistance(group)
    missing = "strength of the plate's material" if group.edge_distance is not None else "edge distance"
    words = f"in {group.plate.name}" + (f"; no {missing} stated" if limit is None else "")
    used = None if limit is None else across / limit if limit > 0 else np.full(len(across), math.inf)
    yield C.BEARING, across, limit, "N", used, words, EN_BOLTS


def _preloaded(loads: BoltLoads, tightened: Preload, pull: FloatArray) -> Iterator[_Row]:
    """Stress with the greatest preload, tightened and at work; separation and slip with the least."""
    group, C = loads.group, JointCriterion
    cls, n = group.property_class, len(pull)
    most, least = tightened.greatest, tightened.least
    value = np.full(n, bolt_stress(group, most, tightened.torsion)) / 1e6
    limit = TIGHT * cls.yield_strength / 1e6
    words = f"greatest preload {most:.0f} N, {TIGHT:g} of the yield strength"
    yield C.TIGHTENING, value, limit, "MPa", value / limit, words, VDI
    phi = load_factor(group)
    work = [bolt_stress(group, most + phi * f, KEPT_TORSION * tightened.torsion) / 1e6 for f in pull]
    value, limit = np.array(work), cls.yield_strength / 1e6
    words = f"greatest preload {most:.0f} N, {phi:.2f} of the load, half the torsion left"
    yield C.WORKING, value, limit, "MPa", value / limit, words, VDI
    value = _factor(np.full(n, least), np.maximum(loads.opening, 0.0))
    words = f"least preload {least:.0f} N, the whole load taken off it; service loads"
    yield C.SEPARATION, value, 1.0, "", _inverse(value), words, VDI
    across = np.hypot(*loads.service_shear.T)
    if not across.any():
        return
    mu = SLIP_FRICTION if group.slip_friction is None else group.slip_friction
    value = _factor(mu * np.maximum(least - loads.service_tension, 0.0), across)
    words = f"friction {mu:g} on the least preload {least:.0f} N less the load; service loads"
    yield C.SLIP, value, 1.0, "", _inverse(value), words, VDI


def _thread(loads: BoltLoads, pull: FloatArray) -> Iterator[_Row]:
    """Thread and insert; ``pull`` (n,): the bolt's greatest force, preload included."""
    group, C = loads.group, JointCriterion
    stripped = strip_resistance(group)
    if stripped is not None:
        limit, which = stripped
        breaks = group.property_class.ultimate * group.thread.stress_area
        first = (
            "the bolt breaks first" if limit * GAMMA_M2 >= breaks else "it strips before the bolt breaks"
        )
        used = pull / limit if limit > 0 else np.full(len(pull), math.inf)
        yield C.STRIPPING, pull, limit, "N", used, f"{which}, preload included; {first}", STRIP
    elif group.engagement is not None or group.engaged is not None:
        missing = "length or strength of the thread engaged not stated"
        yield C.STRIPPING, pull, None, "N", None, missing, STRIP
    if group.insert_pull_out is not None:
        # What clamps within the insert does not pull on the board; the maker knows whether it does.
        load, limit = np.maximum(loads.tension, 0.0), group.insert_pull_out
        words = "the load without preload: plate and bolt are taken to clamp the insert's own face"
        yield C.PULL_OUT, load, limit, "N", load / limit, words, STATED
        words = "if the plate bears on the board and not on the insert"
        yield C.INSERT_FORCE, pull, None, "N", None, words, STATED


def _factor(held: FloatArray, load: FloatArray) -> FloatArray:
    """Held over load; infinite where there is no load."""
    out = np.full(len(load), math.inf)
    np.divide(held, load, out=out, where=load > 0)
    return out


def _inverse(factor: FloatArray) -> FloatArray:
    """Utilisation of a factor that must be at least 1."""
    out = np.full(len(factor), math.inf)
    np.divide(1.0, factor, out=out, where=factor > 0)
    return out
