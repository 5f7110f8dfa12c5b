"""Buckling, second-order bending and flutter, with as many elements as a check takes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from mastcheck.beam.buckling import buckling
from mastcheck.beam.flutter import Flutter, flutter
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.modes import mass_matrix
from mastcheck.beam.solve import FrameModel
from mastcheck.verify.bars import BASE, EI, GJ, LENGTH, bar, spread, uniform
from mastcheck.verify.given import Compute, Given

L = LENGTH
_EULER = math.pi**2 / 4 * EI / L**2
_TORSION = math.sqrt(EI * GJ)


def _factor(frame: FrameModel, load: TipLoad) -> float:
    return float(buckling(frame, [load]).factor[0])


def _strip() -> FrameModel:
    """Narrow: bending before buckling is next to nothing, and so is warping."""
    return FrameModel(uniform(EIyy=1e8, EGamma=GJ * 1e-12))


def _column(given: Given) -> float:
    """P over EI/L²: a dead load, or one toward a point ``aim`` lengths above the base."""
    aim = given.values.get("aim")
    load = TipLoad(lift=EI / L**2, aim=None if aim is None else -float(aim) * L)
    return _factor(FrameModel(uniform()), load)


def _own_weight(_: Given) -> float:
    """(qL) over EI/L²."""
    return _factor(FrameModel(uniform()), spread((0.0, 0.0, -EI / L**2)))


def _tapered(given: Given) -> float:
    """P over EI/L² of the base: I as the power ``n`` of the size, at the tip ``ratio`` of the base's."""
    n, ratio = given.number("n"), given.number("ratio")
    sizes = 1 - (1 - ratio ** (1 / n)) * np.linspace(0, 1, 17)
    model = bar(*[replace(BASE, EIxx=EI * float(s) ** n) for s in sizes])
    return _factor(FrameModel(model), TipLoad(lift=EI / L**2))


def _tip_force(_: Given) -> float:
    """P over √(EI GJ)/L²."""
    return _factor(_strip(), TipLoad(force=(_TORSION / L**2, 0, 0)))


def _spread_force(_: Given) -> float:
    """(qL) over √(EI GJ)/L²."""
    return _factor(_strip(), spread((_TORSION / L**2, 0.0, 0.0)))


def _moment(_: Given) -> float:
    """M over √(EI GJ)/L, of two forces along the mast."""
    arm = 0.05
    pair = TipLoad(
        spread=np.array([[0, 0, -1.0], [0, 0, 1.0]]) * _TORSION / L / (2 * arm),
        spread_at=np.array([[arm, 0, L], [-arm, 0, L]]),
    )
    return _factor(_strip(), pair)


def _amplified(given: Given) -> float:
    """Second order over first, by ``of``, at the ``share`` of Euler's load."""
    n, frame = given.number("share") * _EULER, FrameModel(uniform())
    loads = [TipLoad(lift=n, force=(0, 1e-2, 0)), TipLoad(lift=n, arm=(0, 1e-6, 0))]
    state, first = frame.solve(loads), frame.solve_first_order(loads)
    return {
        "deflection": float(state.displacement[0, -1, 1] / first[0, 1]),
        "moment": -float(state.resultants[0, 0, 3]) / (1e-2 * L),
        "eccentric moment": abs(float(state.resultants[1, 0, 3])) / (n * 1e-6),
    }[given.words("of")]


def _amplified_spread(given: Given) -> float:
    """Second order over first under a spread side force, by ``of``, at the ``share`` of Euler's load."""
    frame, load = FrameModel(uniform()), spread((0.0, 1e-2, 0.0))
    load = replace(load, lift=given.number("share") * _EULER)
    state, first = frame.solve([load]), frame.solve_first_order([load])
    return {
        "deflection": float(state.displacement[0, -1, 1] / first[0, 1]),
        "moment": -float(state.resultants[0, 0, 3]) / (1e-2 * L / 2),
    }[given.words("of")]


def _amplified_moment(given: Given) -> float:
    """Side movement under a tip moment, over first order, at the ``share`` of Euler's load."""
    frame = FrameModel(uniform())
    load = TipLoad(lift=given.number("share") * _EULER, moment=(1e-3, 0, 0))
    moved = float(frame.solve([load]).displacement[0, -1, 1])
    return moved / float(frame.solve_first_order([load])[0, 1])


def _flutter() -> Flutter:
    model = uniform()
    frame = FrameModel(model)
    load = TipLoad(lift=EI / L**2, follower=True)
    return flutter(frame, load, mass_matrix(model, frame, None), up_to=30.0)


def _following(given: Given) -> float:
    """Of a load that turns with the tip: P over EI/L², or ω over √(EI/m)/L²."""
    found = _flutter()
    if not found.flutters:
        raise ArithmeticError("no flutter was found")
    per_hertz = 2 * math.pi * math.sqrt(BASE.mass_per_length * L**4 / EI)
    return {"load": found.factor, "frequency": found.frequency * per_hertz}[given.words("of")]


COMPUTATIONS: dict[str, Compute] = {
    "column": _column,
    "column under its own weight": _own_weight,
    "tapered column": _tapered,
    "lateral buckling, tip force": _tip_force,
    "lateral buckling, spread force": _spread_force,
    "lateral buckling, moment": _moment,
    "beam-column": _amplified,
    "beam-column, spread force": _amplified_spread,
    "beam-column, tip moment": _amplified_moment,
    "following load": _following,
}
