"""Readings as linear equations in the unknowns, and what may be mistaken for what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.bench.leastsquares import LeastSquares, solve
from mastcheck.bench.model import PARAMETERS, BenchModel
from mastcheck.bench.noise import noise_of
from mastcheck.bench.readings import Direction, Gauge, GaugeKind, Load, Part, Reading
from mastcheck.bench.series import Series
from mastcheck.errors import InputError, Problem

FloatArray = NDArray[np.float64]

SECOND_ORDER = 0.01
"""Readings are corrected for second order where it moves any of them by more than this."""
LEAST_SHARE = 0.2
"""A blade compliance is sought above this share of the calculated one: stiffness up to five times."""

GROUPS = {
    "side": ("EI_side", "base_roll", "tip_roll"),
    "fore-aft": ("EI_fore_aft", "base_pitch", "tip_pitch"),
    "twist": ("GJ", "base_twist", "tip_twist"),
}
"""Unknowns by direction: those of one direction can be mistaken for each other."""

PARAMETERS_AT_TIP = ("tip_roll", "tip_pitch")
"""Joint turns that no weight hung at the tip bends: a force there has no lever about it."""


@dataclass(frozen=True, slots=True, eq=False)
class Design:
    """Columns of all readings: parameters (n, 9), plays (n, 4), zeros (n, s); fixed part (n,)."""

    columns: FloatArray
    plays: FloatArray
    zeros: FloatArray
    fixed: FloatArray
    value: FloatArray
    loaded: NDArray[np.bool_]
    corrected: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """What is fitted: places of parameters in PARAMETERS, and of play in PLAYS."""

    parameters: tuple[int, ...]
    plays: tuple[int, ...]


def tip_shares(model: BenchModel) -> FloatArray:
    """Share (9,) of the tip's calculated movement that a unit of each unknown makes.

    Bending by a force at the tip; a joint at the tip, which a force there does not bend, by a moment.
    """
    tip = model.length
    out = np.zeros(len(PARAMETERS))
    for k, (direction, kind) in enumerate(
        ((Direction.SIDE, GaugeKind.SIDE), (Direction.FORE_AFT, GaugeKind.FORE_AFT),
         (Direction.TORQUE, GaugeKind.TWIST))
    ):  # fmt: skip
        load = Load(direction=direction, z=tip, part=Part.FOIL)
        (columns,), (rest,) = model.rows([load], [Gauge(kind=kind, z=tip, part=Part.FOIL)])
        whole = float(columns @ model.nominal + rest)
        for name in GROUPS[kind.value]:
            i = PARAMETERS.index(name)
            out[i] = columns[i] / whole
        if direction is not Direction.TORQUE:
            turn = model.solved.compliance[3 + k, 3 + k]
            out[PARAMETERS.index(("tip_roll", "tip_pitch")[k])] = 1 / float(turn)
    return out


def design_of(
    model: BenchModel, readings: Sequence[Reading], series: Sequence[Series], *, second_order: bool
) -> Design:
    """The equations of all readings.

    Raises: InputError for a load under which the calculated mast finds no balance.
    """
    loads, gauges = [r.load for r in readings], [r.gauge for r in readings]
    amount = np.array([r.amount for r in readings])
    columns, rest = model.rows(loads, gauges)
    fixed = rest * amount
    corrected = False
    if second_order:
        more = model.second_order(loads, amount, gauges)
        if np.isnan(more).any():
            k = int(np.isnan(more).argmax())
            rule = "the calculated mast finds no balance under this load"
            raise InputError((_problem(readings[k], "load", rule, "check the load and its unit"),))
        whole = np.abs(columns @ model.nominal * amount + fixed)
        if (np.abs(more) > SECOND_ORDER * np.maximum(whole, 1e-5)).any():
            fixed, corrected = fixed + more, True
    plays = model.play_rows(loads, amount, gauges)
    zeros = np.zeros((len(readings), len(series)))
    for k, s in enumerate(series):
        rows = list(s.rows)
        # One side of a gap tells nothing of its width: only loads that push both ways do.
        both = (plays[rows].max(axis=0) > 0) & (plays[rows].min(axis=0) < 0)
        plays[np.ix_(rows, ~both)] = 0.0
        loads_here = {(readings[i].load, readings[i].amount) for i in rows}
        # Where the load comes from both sides the rest may lie anywhere in a gap: its zero is free.
        if (s.zeroed or both.any()) and len(loads_here) > 1:
            zeros[rows, k] = 1.0
    return Design(
        columns=columns * amount[:, None], plays=plays, zeros=zeros, fixed=fixed,
        value=np.array([r.value for r in readings]), loaded=amount != 0, corrected=corrected,
    )  # fmt: skip


def refuse(readings: Sequence[Reading], design: Design, model: BenchModel) -> None:
    """Readings that cannot be fitted, told before they are."""
    if int(design.loaded.sum()) < 3:
        rule = "has fewer than three readings under load"
        remedy = "read each place at two loads or more, and write down the readings without load too"
        raise InputError((Problem(key="readings", found="", rule=rule, remedy=remedy),))
    calculated = design.columns @ model.nominal
    problems = []
    for gauge in dict.fromkeys(r.gauge for r in readings):
        rows = np.array([r.gauge == gauge for r in readings])
        # Within the series of one zero each: readings against what they should be.
        a, b = calculated[rows], design.value[rows]
        z = design.zeros[rows]
        z = z[:, z.any(axis=0)]
        if z.shape[1]:
            fit_a, fit_b = (v - z @ np.linalg.lstsq(z, v, rcond=None)[0] for v in (a, b))
        else:
            fit_a, fit_b = a, b
        size = float(np.linalg.norm(fit_a) * np.linalg.norm(fit_b))
        # Movement that drowns in the error of reading may fall by chance.
        clear = float(np.linalg.norm(fit_a)) > 3 * float(
            np.linalg.norm(noise_of(readings, None, None).sigma[rows])
        )
        if clear and float(fit_a @ fit_b) < -0.8 * size:
            first = readings[int(np.flatnonzero(rows)[0])]
            rule = "reads the other way throughout: it falls as the load grows"
            remedy = "write movement along the load (down) positive, twist positive trailing edge down"
            problems.append(_problem(first, "reading", rule, remedy))
    if problems:
        raise InputError(tuple(problems))


def _problem(reading: Reading, key: str, rule: str, remedy: str) -> Problem:
    place = f"{reading.gauge.kind} gauge at z = {1e3 * reading.gauge.z:g} mm"
    return Problem(key=key, found=place, rule=rule, remedy=remedy, line=reading.line or None)


def standard_errors(
    design: Design,
    kept: Sequence[int],
    plays: Sequence[int],
    sigma: FloatArray,
    used: NDArray[np.bool_],
) -> FloatArray:
    """Standard errors (k,) of parameters fitted together with play and zeros; inf where dependent."""
    a = columns_of(design, kept, plays, used) / sigma[used, None]
    if a.shape[0] <= a.shape[1]:  # nothing is left over to judge the fit by
        return np.full(len(kept), np.inf)
    size = np.linalg.norm(a, axis=0)
    size[size == 0] = 1.0
    _, s, vt = np.linalg.svd(a / size, full_matrices=False)
    with np.errstate(divide="ignore", over="ignore"):
        spread = (vt.T / np.where(s > 1e-9 * s[0], s, 1e-150)) ** 2
        out: FloatArray = np.sqrt(spread.sum(axis=1))[: len(kept)] / size[: len(kept)]
    return np.where(np.abs(a[:, : len(kept)]).max(axis=0) > 0, out, np.inf)


def columns_of(
    design: Design, parameters: Sequence[int], plays: Sequence[int], rows: NDArray[np.bool_]
) -> FloatArray:
    """Columns of the chosen unknowns at some readings: parameters, play, then the zeros they share."""
    zeros = design.zeros[rows]
    zeros = zeros[:, zeros.any(axis=0)]
    return np.hstack(
        [design.columns[rows][:, list(parameters)], design.plays[rows][:, list(plays)], zeros]
    )


def resting(design: Design, choice: Choice) -> NDArray[np.bool_]:
    """Readings that nothing pushes to either side of a gap their gauge feels: they rest anywhere."""
    out = np.zeros(len(design.value), dtype=bool)
    for column in design.zeros.T:
        rows = column > 0
        for k in choice.plays:
            if design.plays[rows, k].any():
                out |= rows & (design.plays[:, k] == 0)
    return out


def solved(
    model: BenchModel, design: Design, choice: Choice, sigma: FloatArray, rows: NDArray[np.bool_]
) -> LeastSquares:
    """The fit of a choice to some readings, all else as calculated; zeros come last.

    Raises: ValueError where the columns are dependent.
    """
    held = [i for i in range(len(PARAMETERS)) if i not in choice.parameters]
    rest = design.value - design.fixed - design.columns[:, held] @ model.nominal[held]
    a = columns_of(design, choice.parameters, choice.plays, rows)
    lower = np.full(a.shape[1], -np.inf)
    for at, i in enumerate(choice.parameters):
        lower[at] = LEAST_SHARE if i < 3 else 0.0
    n = len(choice.parameters)
    lower[n : n + len(choice.plays)] = 0.0
    return solve(a, rest[rows], sigma[rows], lower)
