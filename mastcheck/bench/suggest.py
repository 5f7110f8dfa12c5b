"""Which further reading would tell apart what these readings cannot."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.bench.choose import KNOWN_TO
from mastcheck.bench.design import GROUPS, PARAMETERS_AT_TIP, Design, standard_errors
from mastcheck.bench.fit import BenchFit, Status
from mastcheck.bench.model import PARAMETERS
from mastcheck.bench.noise import ANGLE_ERROR, LENGTH_ERROR
from mastcheck.bench.readings import Direction, Gauge, GaugeKind, Load, Part
from mastcheck.bench.setup import FRACTIONS

FloatArray = NDArray[np.float64]

REPEATS = 4
"""Readings of each proposed gauge, half of them loading and half unloading, with as many zeros."""
_KINDS = {
    "side": (Direction.SIDE, GaugeKind.SIDE),
    "fore-aft": (Direction.FORE_AFT, GaugeKind.FORE_AFT),
    "twist": (Direction.SIDE, GaugeKind.TWIST),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """Gauges to read under a load at the tip, and what they leave open.

    ``before``, ``after``: standard error of the unknown, as a share of the tip's calculated movement
    (infinite where nothing is known); ``enough``: whether it would then be fitted.
    """

    name: str
    load: Load
    amount: float
    gauges: tuple[Gauge, ...]
    before: float
    after: float
    enough: bool


def suggestions(fit: BenchFit) -> tuple[Suggestion, ...]:
    """One for each unknown that was not fitted, in the directions in which something was hung.

    Gauges at FRACTIONS of the length are tried, one and then two together, each read REPEATS times
    at the largest load that was used in that direction.
    """
    out = []
    for direction, names in GROUPS.items():
        for name in names:
            u = fit.unknown(name)
            open_ = u.status in (Status.NOT_SEPARATED, Status.NOT_SEEN)
            wanted = name not in PARAMETERS_AT_TIP and (name != "tip_twist" or _foil_read(fit))
            if open_ and wanted and (found := _best(fit, direction, name)) is not None:
                out.append(found)
    return tuple(out)


def _foil_read(fit: BenchFit) -> bool:
    return any(r.gauge.part is Part.FOIL or r.load.part is Part.FOIL for r in fit.readings)


def _best(fit: BenchFit, direction: str, name: str) -> Suggestion | None:
    model, way, kind = fit.model, *_KINDS[direction]
    at_tip = name == "tip_twist"
    part = Part.FOIL if at_tip else Part.BLADE
    own = [
        r for r in fit.readings
        if r.load.direction is way and r.amount and (direction != "twist" or r.load.arm)
    ]  # fmt: skip
    if not own:
        return None
    arm = max(abs(r.load.arm) for r in own) if direction == "twist" else 0.0
    load = Load(direction=way, z=model.length, arm=arm, part=part)
    amount = max(abs(r.amount) for r in own)
    # Together with what is fitted and all that could be of this direction.
    others = [
        n for n in GROUPS[direction]
        if n not in PARAMETERS_AT_TIP and (n != "tip_twist" or at_tip or n in fit.names)
    ]  # fmt: skip
    kept = [i for i, p in enumerate(PARAMETERS) if p in others or p in fit.names]
    shares = np.array([u.share for u in fit.unknowns])
    at = kept.index(PARAMETERS.index(name))
    size = min(
        (float(s) for r, s in zip(fit.readings, fit.sigma, strict=True) if r.gauge.kind is kind),
        default=ANGLE_ERROR if kind is GaugeKind.TWIST else LENGTH_ERROR,
    )

    def error(gauges: tuple[Gauge, ...]) -> float:
        design, sigma, used = _with(fit, load, amount, gauges, size)
        return float(standard_errors(design, kept, (), sigma, used)[at] * shares[kept[at]])

    gauges = [Gauge(kind=kind, z=f * model.length) for f in FRACTIONS]
    if at_tip:
        gauges.append(Gauge(kind=kind, z=model.length, part=Part.FOIL))
    before = error(())
    alone: list[tuple[float, tuple[Gauge, ...]]] = [(error((g,)), (g,)) for g in gauges]
    single = best = min(alone, key=lambda pair: pair[0])
    if best[0] >= KNOWN_TO:
        both: list[tuple[float, tuple[Gauge, ...]]] = [
            (error((a, b)), (a, b)) for i, a in enumerate(gauges) for b in gauges[i + 1 :]
        ]
        double = min(both, key=lambda pair: pair[0])
        best = double if double[0] < 0.8 * single[0] else single
    if not best[0] < min(0.8 * before, 10.0):
        return None
    return Suggestion(
        name=name, load=load, amount=amount, gauges=best[1], before=before, after=best[0],
        enough=best[0] < KNOWN_TO,
    )  # fmt: skip


def _with(
    fit: BenchFit, load: Load, amount: float, gauges: tuple[Gauge, ...], size: float
) -> tuple[Design, FloatArray, NDArray[np.bool_]]:
    """The design with readings of further gauges, each with a zero of its own."""
    design, n = fit.design, len(gauges)
    columns, _ = fit.model.rows([load] * n, list(gauges))
    loaded = np.repeat(columns * amount, REPEATS, axis=0)
    more = np.vstack([loaded, np.zeros_like(loaded)]) if n else np.zeros((0, len(PARAMETERS)))
    rows = len(more)
    own_zero = np.tile(np.repeat(np.eye(n), REPEATS, axis=0), (2, 1)) if n else np.zeros((0, 0))
    zeros = np.zeros((len(design.value) + rows, design.zeros.shape[1] + n))
    zeros[: len(design.value), : design.zeros.shape[1]] = design.zeros
    zeros[len(design.value) :, design.zeros.shape[1] :] = own_zero
    bigger = replace(
        design,
        columns=np.vstack([design.columns, more]),
        plays=np.vstack([design.plays, np.zeros((rows, design.plays.shape[1]))]),
        zeros=zeros,
        fixed=np.append(design.fixed, np.zeros(rows)),
        value=np.append(design.value, np.zeros(rows)),
        loaded=np.append(design.loaded, np.ones(rows, dtype=bool)),
    )
    sigma = np.append(fit.sigma, np.full(rows, size))
    return bigger, sigma, np.append(fit.used, np.ones(rows, dtype=bool))
