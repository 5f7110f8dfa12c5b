"""Stress at every mesh point, and the worst of it against the material's design strength."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.section.model import SectionModel

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class StationStress:
    """Stress of one station under c resultant sets.

    von_mises (c, p) [Pa] at the station's basis points; worst (c,) index of the governing point;
    utilisation (c,): von Mises over design strength there, NaN where no strength is stated for
    any material of the section (the worst is then the largest stress).
    """

    von_mises: FloatArray
    worst: NDArray[np.int64]
    utilisation: FloatArray


def von_mises(stress: FloatArray) -> FloatArray:
    """sqrt(σ² + 3τ²) of (..., 3) sigma_zz, tau_zx, tau_zy [Pa]; in-plane stresses are nil in a beam.

    >>> float(von_mises(np.array([3.0, 0.0, 4.0])))
    7.54983443527075
    """
    out: FloatArray = np.sqrt(stress[..., 0] ** 2 + 3 * (stress[..., 1] ** 2 + stress[..., 2] ** 2))
    return out


def station_stress(section: SectionModel, resultants: FloatArray) -> StationStress:
    """Stresses of resultants (c, 7) N, Vx, Vy, Mx, My, T, B at the stacking line."""
    basis = section.basis
    vm = von_mises(np.einsum("kps,ck->cps", basis.fields, resultants))
    strengths = np.array(
        [
            np.nan if r.material.design_strength is None else r.material.design_strength
            for r in section.regions
        ]
    )[basis.region]
    ratio = vm / strengths
    judged = ~np.isnan(strengths)
    rank = np.where(judged, ratio, -1.0) if judged.any() else vm
    worst = rank.argmax(axis=1)
    return StationStress(von_mises=vm, worst=worst, utilisation=ratio[np.arange(len(vm)), worst])
