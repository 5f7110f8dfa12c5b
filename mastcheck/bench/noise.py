"""Standard errors of readings: as stated, or from their scatter about the fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.bench.leastsquares import LeastSquares
from mastcheck.bench.readings import GaugeKind, Reading

FloatArray = NDArray[np.float64]

LENGTH_ERROR = 0.25e-3
"""Assumed until the scatter tells: half of a 0.5 mm ruler [m] (common practice, no source)."""
ANGLE_ERROR = float(np.radians(0.1))
"""The same of an angle gauge that reads 0.1 degree [rad] (common practice, no source)."""

_LEAST_DOF = 4.0
"""Scatter of fewer degrees of freedom than this is no measure of the noise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassNoise:
    """Standard error of one kind of gauge, ``paired`` where a twist comes from two lengths.

    ``size`` [m; rad for angles]; ``found``: from the scatter, else assumed.
    """

    kind: GaugeKind
    paired: bool
    size: float
    found: bool

    @property
    def is_angle(self) -> bool:
        """Whether the size is an angle."""
        return self.kind is GaugeKind.TWIST and not self.paired


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Noise:
    """Standard errors sigma (n,) [m, rad] of n readings and where they come from.

    ``classes``: of gauges whose error nobody stated. ``dof``: degrees of freedom of the least known
    of those found from the scatter, infinite where none was.
    """

    sigma: FloatArray
    stated: bool
    classes: tuple[ClassNoise, ...]
    dof: float


def noise_of(
    readings: Sequence[Reading], found: LeastSquares | None, rows: NDArray[np.bool_] | None
) -> Noise:
    """Stated errors as they are; of the others, each kind of gauge by its own scatter.

    Args:
        readings: all n.
        found: a fit, None before the first.
        rows: which readings it fitted (n,).

    Two gauges that give an angle by their distance are read as lengths: their error is that of a
    length times root two over the distance.
    """
    sigma = np.array([r.error if r.error is not None else np.nan for r in readings], dtype=float)
    silent = np.isnan(sigma)
    per = np.array([2**0.5 / r.spacing if r.spacing is not None else 1.0 for r in readings])
    kinds = [(r.gauge.kind, r.spacing is not None) for r in readings]
    classes, dofs = [], []
    for kind, paired in dict.fromkeys(kinds):
        own = silent & np.array([k == (kind, paired) for k in kinds])
        if not own.any():
            continue
        angle = kind is GaugeKind.TWIST and not paired
        size, from_scatter = ANGLE_ERROR if angle else LENGTH_ERROR, False
        if found is not None and rows is not None and (here := own[rows]).any():
            dof = float(np.sum(1 - found.leverage[here]))
            if dof >= _LEAST_DOF:
                scatter = found.residual[here] / per[rows][here]
                # A hundredth of what was assumed: no scatter at all would make a fit without error.
                size = max(float(np.sqrt(scatter @ scatter / dof)), size / 100)
                from_scatter = True
                dofs.append(dof)
        sigma[own] = size * per[own]
        classes.append(ClassNoise(kind=kind, paired=paired, size=size, found=from_scatter))
    return Noise(
        sigma=sigma,
        stated=bool((~silent).any()),
        classes=tuple(classes),
        dof=min(dofs) if dofs else float("inf"),
    )
