"""A mast on a bench for tests: beams without a mesh, a set of readings, and invented scatter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.model import BeamModel
from mastcheck.bench.model import PLAYS, BenchModel
from mastcheck.bench.readings import GRAVITY, Direction, Gauge, GaugeKind, Load, Phase, Reading
from mastcheck.bench.setup import FRACTIONS
from mastcheck.checks.stations import SolvedMast
from mastcheck.section.model import SectionModel, SectionProperties, StressBasis
from tests.beams import properties

L = 0.75
ARM = 0.3
RULER, DIAL, ANGLE = 0.15e-3, 0.005e-3, float(np.radians(0.02))
"""Fine enough that every unknown is known well within the bound below which it is fitted."""
_NO_STRESS = StressBasis(
    points=np.zeros((1, 2)),
    region=np.zeros(1, int),
    fields=np.zeros((7, 1, 3)),
    triangles=np.zeros((0, 3), int),
)


def solved(*sections: SectionProperties, length: float = L) -> SolvedMast:
    """A mast through evenly spaced sections that were never meshed."""
    z = np.linspace(0, length, len(sections))
    model = BeamModel(z, sections, [0.0, length])
    made = tuple(SectionModel(regions=(), properties=p, basis=_NO_STRESS, elements=0) for p in sections)
    return SolvedMast(z=z, sections=made, model=model, compliance=tip_compliance(model), change=0.0)


def slim(**changes: float) -> SolvedMast:
    """A uniform mast, as soft in shear and as much off its shear centre as a real one."""
    real = {
        "shear_flex_xx": 3e-8,
        "shear_flex_yy": 1e-7,
        "shear_centre_x": -0.008,
        "EGamma": 0.01,
        "EA": 6e7,
    }
    return solved(*[properties(**(real | changes))] * 5)


def at_tip(direction: Direction, arm: float = 0.0) -> Load:
    """A weight at the tip."""
    return Load(direction=direction, z=L, arm=arm)


def ladder(load: Load, gauge: Gauge, masses: Sequence[float]) -> list[Reading]:
    """Zero, up, down and zero again, all reading nothing yet."""
    up = [(0.0, Phase.LOADING), *((m, Phase.LOADING) for m in masses)]
    down = [*((m, Phase.UNLOADING) for m in masses[-2::-1]), (0.0, Phase.UNLOADING)]
    return [
        Reading(load=load, amount=m * GRAVITY, gauge=gauge, value=0.0, phase=phase)
        for m, phase in up + down
    ]


def sheet(
    *, side=(0.1, 0.3, 0.6, 1.0), fore_aft=(0.1, 0.4, 1.0), twist=(0.1, 0.5, 1.0)
) -> list[Reading]:
    """Readings of a full bench test, at fractions of the length."""
    out: list[Reading] = []
    for f in side:
        gauge = Gauge(kind=GaugeKind.SIDE, z=f * L)
        out += ladder(at_tip(Direction.SIDE), gauge, (5.0, 10.0, 15.0))
    for f in fore_aft:
        gauge = Gauge(kind=GaugeKind.FORE_AFT, z=f * L)
        out += ladder(at_tip(Direction.FORE_AFT), gauge, (10.0, 20.0, 30.0))
    for f in twist:
        gauge = Gauge(kind=GaugeKind.TWIST, z=f * L)
        for arm in (ARM, -ARM):
            out += ladder(at_tip(Direction.SIDE, arm), gauge, (5.0, 10.0, 15.0))
    return [replace(r, line=k) for k, r in enumerate(out, 2)]


def on_bench(mast: SolvedMast, readings: Sequence[Reading], **joints) -> BenchModel:
    """The mast with nodes at every place of the readings, and at those that are proposed."""
    places = [z for r in readings for z in (r.load.z, r.gauge.z)]
    return BenchModel(mast, [*places, *(f * L for f in FRACTIONS)], **joints)


def true_values(model: BenchModel, readings: Sequence[Reading], theta, play=None) -> np.ndarray:
    """What a mast of these unknowns reads, without error."""
    loads, gauges = [r.load for r in readings], [r.gauge for r in readings]
    amounts = np.array([r.amount for r in readings])
    columns, rest = model.rows(loads, gauges)
    free = np.array([(play or {}).get(name, 0.0) for name in PLAYS])
    return (columns @ np.asarray(theta) + rest) * amounts + model.play_rows(
        loads, amounts, gauges
    ) @ free


def errors(readings: Sequence[Reading]) -> np.ndarray:
    """Standard errors of the test's gauges."""
    size = {GaugeKind.SIDE: RULER, GaugeKind.FORE_AFT: DIAL, GaugeKind.TWIST: ANGLE}
    return np.array([size[r.gauge.kind] for r in readings])


def with_values(readings: Sequence[Reading], values, stated=None) -> list[Reading]:
    """The readings with their values, and with their errors where these are stated."""
    out = [replace(r, value=float(v)) for r, v in zip(readings, values, strict=True)]
    return (
        out if stated is None else [replace(r, error=float(e)) for r, e in zip(out, stated, strict=True)]
    )
