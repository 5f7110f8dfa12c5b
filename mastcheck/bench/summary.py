"""What a fit says of each direction: how much softer than calculated, and where that comes from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mastcheck.bench.design import GROUPS, PARAMETERS_AT_TIP
from mastcheck.bench.fit import BenchFit, Status, Unknown


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One cause: its part of the tip's calculated movement, half-width of the error at LEVEL."""

    name: str
    share: float
    interval: float | None
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Softness:
    """How a direction's tip movement compares with the calculated one.

    ``softer``: measured over calculated less one, play apart; None where nothing was fitted.
    ``interval``: half-width at LEVEL. ``held``: unknowns of this direction that the readings cannot
    tell from those fitted.
    """

    direction: str
    softer: float | None
    interval: float | None
    parts: tuple[Part, ...]
    held: tuple[str, ...]


def softness(fit: BenchFit) -> tuple[Softness, ...]:
    """Each direction in which something was fitted or could have been."""
    return tuple(
        _softness(fit, direction, [fit.unknown(name) for name in names if name not in PARAMETERS_AT_TIP])
        for direction, names in GROUPS.items()
    )


def _softness(fit: BenchFit, direction: str, group: list[Unknown]) -> Softness:
    known = [u for u in group if u.name in fit.names]
    held = tuple(u.name for u in group if u.status is Status.NOT_SEPARATED)
    parts = tuple(
        Part(
            name=u.name,
            share=(u.value - u.nominal) * u.share,
            interval=None if u.interval is None else u.interval * u.share,
            status=u.status,
        )
        for u in group
        if u.name in fit.names
    )
    if not known:
        return Softness(direction=direction, softer=None, interval=None, parts=(), held=held)
    at = [fit.names.index(u.name) for u in known]
    by = np.array([u.share for u in known])
    spread = float(np.sqrt(by @ fit.covariance[np.ix_(at, at)] @ by))
    return Softness(
        direction=direction,
        softer=sum(p.share for p in parts),
        interval=fit.quantile * spread,
        parts=parts,
        held=held,
    )
