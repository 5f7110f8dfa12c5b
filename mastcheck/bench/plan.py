"""The test sheet: what to hang where, what should be read, what would be play, and when to stop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.bench.model import BenchModel
from mastcheck.bench.readings import GRAVITY, Direction, Gauge, GaugeKind, Load
from mastcheck.bench.tolerance import Tolerance
from mastcheck.checks.governing import SectionFaces, governing
from mastcheck.checks.result import LineResult
from mastcheck.errors import InputError, Problem

FloatArray = NDArray[np.float64]

HANDY = (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0)
"""Weights that are at hand in a shop or a gym [kg]."""
MOST_USED = 0.5
"""Largest utilisation of the design strength on the bench."""
MOST_STRAIN = 1e-3
"""Largest strain where no strength is stated (common practice, no source)."""
MOST_BENT = 1 / 20
"""Largest movement of the tip, as a share of the length, and of turn [rad]."""
RULER, DIAL, ANGLE = 0.5e-3, 0.02e-3, float(np.radians(0.1))
"""Error of reading a ruler, a dial gauge [m], an angle gauge [rad] (common practice, no source)."""
CLEAR = 20.0
"""A reading is clear of the ruler when it is so many times its error."""
PAIR = 0.3
"""Distance of two gauges that read a twist [m]."""
PAIRED = DIAL * 2**0.5 / PAIR
"""Error of a twist read by a pair of dial gauges [rad]."""
ARM = 0.3
"""Half of the bar that twists [m]."""

_TRIAL = 10.0  # kg: mass at which stresses are found; they grow with it

_PLACES = {"side": (0.1, 0.3, 0.6, 1.0), "fore-aft": (0.1, 0.4, 1.0), "twist": (0.1, 0.5, 1.0)}
_WAYS = {
    "side": (Direction.SIDE, GaugeKind.SIDE),
    "fore-aft": (Direction.FORE_AFT, GaugeKind.FORE_AFT),
    "twist": (Direction.SIDE, GaugeKind.TWIST),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """A reading to come [m, rad]: predicted, and the band that tolerance and gauge leave.

    ``error`` of reading assumed; ``dial``: whether a ruler or an angle gauge is too coarse for it, and
    a dial gauge (a pair for twist) is called for.
    """

    mass: float
    gauge: Gauge
    predicted: float
    low: float
    high: float
    error: float
    dial: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One set-up: masses [kg] hung one after the other at ``load``, and read at each gauge.

    ``stop_mass``: never hang more. ``utilisation`` of the design strength at the largest mass, None
    where no strength is stated (then the strain decides). ``play``: a jump at the tip at the smallest
    mass, beyond the straight line through the others, that is no error of reading [m, rad].
    ``second_order``: its share of the largest reading.
    """

    name: str
    load: Load
    masses: tuple[float, ...]
    stop_mass: float
    utilisation: float | None
    expected: tuple[Expected, ...]
    play: float
    second_order: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A test sheet: its steps and the tolerances of its bands."""

    steps: tuple[Step, ...]
    tolerance: Tolerance


def plan_places(length: float) -> list[float]:
    """Places z of every load and gauge of a plan [m]."""
    return sorted({_place(f, length) for places in _PLACES.values() for f in places} | {length})


def plan(model: BenchModel, tolerance: Tolerance) -> Plan:
    """A sheet for a mast.

    Args:
        model: with nodes at ``plan_places``.
        tolerance: of its stiffness.

    Raises: InputError when even the smallest weight would be too much, or no balance is found under one.
    """
    faces = SectionFaces.of(model.solved.sections)
    return Plan(steps=tuple(_step(model, tolerance, faces, name) for name in _WAYS), tolerance=tolerance)


def _place(fraction: float, length: float) -> float:
    """A place to the nearest 5 mm."""
    return length if fraction == 1.0 else round(fraction * length / 0.005) * 0.005


def _step(model: BenchModel, tolerance: Tolerance, faces: SectionFaces, name: str) -> Step:
    direction, kind = _WAYS[name]
    length = model.length
    load = Load(direction=direction, z=length, arm=ARM if name == "twist" else 0.0)
    gauges = [Gauge(kind=kind, z=_place(f, length)) for f in _PLACES[name]]
    per_newton = _first_order(model, load, gauges)
    # The blade also sinks sideways where it is twisted by a weight on an arm.
    sinks = (
        _first_order(model, load, [Gauge(kind=GaugeKind.SIDE, z=length)]) if name == "twist" else [0.0]
    )
    used = _utilisation(model, faces, load)
    turn = float(np.abs(per_newton[-1]) * GRAVITY)
    most_bent = min(MOST_BENT * (1.0 if name == "twist" else length) / turn,
                    MOST_BENT * length / max(float(np.abs(sinks[0])) * GRAVITY, 1e-12))  # fmt: skip
    stop = min(MOST_USED / used[1], most_bent, HANDY[-1])
    allowed = [m for m in HANDY if m <= stop]
    if not allowed:
        rule = f"bends too far or is too weak for a weight of {HANDY[0]:g} kg at its tip"
        raise InputError((Problem(key="mast", found="", rule=rule, remedy="check sizes and material"),))
    coarse, fine = (ANGLE, PAIRED) if name == "twist" else (RULER, DIAL)
    clear = [m for m in allowed if turn * m >= 2 * CLEAR * coarse]
    top = clear[0] if clear else allowed[-1]
    masses = tuple(sorted({top, *(_nearest(allowed, top * share) for share in (1 / 3, 2 / 3))}))
    dials = np.abs(per_newton) * GRAVITY * top < CLEAR * coarse
    tol = tolerance.of(name)
    pairs = [(m, k) for k in range(len(gauges)) for m in masses]
    more = model.second_order(
        [load] * len(pairs), np.array([m * GRAVITY for m, _ in pairs]), [gauges[k] for _, k in pairs]
    )
    expected = []
    for (mass, k), extra in zip(pairs, more, strict=True):
        value = float(per_newton[k] * mass * GRAVITY + extra)
        error = fine if dials[k] else coarse
        expected.append(
            Expected(
                mass=mass,
                gauge=gauges[k],
                predicted=value,
                error=error,
                dial=bool(dials[k]),
                low=value / (1 + tol) - error,
                high=value / max(1 - tol, 0.1) + error,
            )
        )
    last = float(per_newton[-1] * masses[-1] * GRAVITY)
    return Step(
        name=name,
        load=load,
        masses=masses,
        stop_mass=stop,
        utilisation=None if used[0] is None else used[0] * top,
        expected=tuple(expected),
        play=4 * expected[-1].error,
        second_order=abs(float(more[-1])) / max(abs(last), 1e-12),
    )


def _first_order(model: BenchModel, load: Load, gauges: Sequence[Gauge]) -> FloatArray:
    columns, rest = model.rows([load] * len(gauges), list(gauges))
    return np.asarray(columns @ model.nominal + rest)


def _nearest(allowed: Sequence[float], mass: float) -> float:
    return min(allowed, key=lambda m: abs(m - mass))


def _utilisation(model: BenchModel, faces: SectionFaces, load: Load) -> tuple[float | None, float]:
    """Utilisation of the design strength per kg, None where none is stated, and that of what decides."""
    state = model.frame.solve([model.tip_load(load, _TRIAL * GRAVITY)])
    if not state.converged[0]:  # what is not known must not pass for little
        rule = f"finds no balance under a weight of {_TRIAL:g} kg at its tip"
        raise InputError((Problem(key="mast", found="", rule=rule, remedy="check sizes and material"),))
    line = LineResult(
        z=state.z, displacement=state.displacement[0], rotation=state.rotation[0],
        resultants=state.resultants[0],
    )  # fmt: skip
    found = governing(model.solved, faces, line)
    if found.utilisation is not None:
        return found.utilisation / _TRIAL, max(found.utilisation / _TRIAL, 1e-9)
    strain = 0.0
    for section, resultants in zip(
        model.solved.sections,
        np.column_stack([np.interp(model.solved.z, line.z, r) for r in line.resultants.T]),
        strict=True,
    ):
        stress = np.abs(np.einsum("kps,k->ps", section.basis.fields, resultants)[:, 0])
        E = np.array([r.material.E for r in section.regions])[section.basis.region]
        strain = max(strain, float((stress / E).max()))
    return None, max(strain / _TRIAL / MOST_STRAIN * MOST_USED, 1e-9)
