"""Which unknowns the readings support: those that stay tell apart, and play that shows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mastcheck.bench.design import GROUPS, Choice, Design, resting, solved, standard_errors
from mastcheck.bench.model import PARAMETERS, PLAYS, BenchModel
from mastcheck.bench.noise import noise_of
from mastcheck.bench.readings import Reading

FloatArray = NDArray[np.float64]

KNOWN_TO = 0.10
"""An unknown is fitted when its standard error is below this share of the tip's calculated movement."""
LEVEL = 0.99
"""Confidence of the stated errors."""
# When readings cannot tell these apart the earlier is held as calculated. A section's stiffness is
# known within some per cent and a joint's hardly at all, so the blade is held before its base joint.
_HELD_FIRST = ("tip_roll", "tip_pitch", "tip_twist", "EI_side", "EI_fore_aft", "GJ")


def chosen(
    model: BenchModel, design: Design, sigma: FloatArray, used: NDArray[np.bool_], shares: FloatArray
) -> Choice:
    """Unknowns that the readings support: parameters first, then play that shows."""
    seen = [i for i in range(len(PARAMETERS)) if np.abs(design.columns[used, i]).max() * shares[i] > 0]
    parameters = supported(design, seen, sigma, used, shares, KNOWN_TO)
    swapped: set[int] = set()
    while True:  # a joint stiffer than rigid: then it is the blade that is stiffer, each swapped once
        found = solved(model, design, Choice(parameters, ()), sigma, used)
        bad = [
            (joint, blade)
            for name, joint_name, _ in GROUPS.values()
            for joint, blade in [(PARAMETERS.index(joint_name), PARAMETERS.index(name))]
            if joint in parameters and blade not in parameters and blade in seen and blade not in swapped
            and found.bound[parameters.index(joint)]
        ]  # fmt: skip
        if not bad:
            break
        for joint, blade in bad:
            swapped.add(blade)
            parameters = tuple(sorted({*parameters, blade} - {joint}))
    plays: tuple[int, ...] = ()
    candidates = [k for k in range(len(PLAYS)) if np.abs(design.plays[used, k]).max() > 0]
    while candidates:
        best: tuple[float, int] | None = None
        for k in candidates:
            choice = Choice(parameters, tuple(sorted((*plays, k))))
            rows = used & ~resting(design, choice)
            try:
                found = solved(model, design, choice, sigma, rows)
            except ValueError:
                continue
            at = len(parameters) + choice.plays.index(k)
            scale = found.variance**0.5 if found.dof > 0 else np.inf
            score = float(found.x[at] / (found.errors[at] * max(scale, 1e-12)))
            # It must also show over the gauges' own errors: a lucky scatter proves nothing.
            shows = found.x[at] > t_quantile(np.inf) * found.errors[at]
            if shows and score > t_quantile(found.dof) and (best is None or score > best[0]):
                best = score, k
        if best is None:
            break
        plays = tuple(sorted((*plays, best[1])))
        candidates.remove(best[1])
    return Choice(parameters, plays)


def raw_noise(
    model: BenchModel,
    readings: Sequence[Reading],
    design: Design,
    used: NDArray[np.bool_],
    shares: FloatArray,
) -> FloatArray:
    """Standard errors (n,) from the scatter about all that could be fitted, known well or not.

    So that what a poor model leaves over is not taken for noise when the model is chosen.
    """
    seen = [i for i in range(len(PARAMETERS)) if np.abs(design.columns[used, i]).max() * shares[i] > 0]
    sigma = noise_of(readings, None, None).sigma
    every = supported(design, seen, sigma, used, shares, 1e6)
    for plays in (tuple(k for k in range(len(PLAYS)) if design.plays[used, k].any()), ()):
        choice = Choice(every, plays)
        rows = used & ~resting(design, choice)
        try:
            for _ in range(2):
                found = solved(model, design, choice, sigma, rows)
                sigma = noise_of(readings, found, rows).sigma
        except ValueError:
            continue
        return sigma
    return sigma


def supported(
    design: Design,
    candidates: Sequence[int],
    sigma: FloatArray,
    used: NDArray[np.bool_],
    shares: FloatArray,
    known_to: float,
) -> tuple[int, ...]:
    """Candidates left when those that the readings cannot pin down have been held, one by one."""
    kept = list(candidates)
    while kept:
        errors = standard_errors(design, kept, (), sigma, used) * shares[kept]
        worst = int(np.nan_to_num(errors, nan=np.inf).argmax())
        if errors[worst] < known_to:
            break
        group = next(g for g in GROUPS.values() if PARAMETERS[kept[worst]] in g)
        loose = [
            i for i, e in zip(kept, errors, strict=True) if PARAMETERS[i] in group and not e < known_to
        ]
        first = [i for i in loose if PARAMETERS[i] in _HELD_FIRST]
        kept.remove(min(first, key=lambda i: _HELD_FIRST.index(PARAMETERS[i])) if first else loose[0])
    return tuple(kept)


def t_quantile(dof: float) -> float:
    """Two-sided quantile of Student's t at LEVEL; infinite without degrees of freedom."""
    from scipy.stats import t

    return float(t.ppf((1 + LEVEL) / 2, dof)) if dof > 0 else float("inf")
