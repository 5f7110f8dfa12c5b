"""Stress at every mesh point, and the worst of it against each material's own criterion.

Metals and other plain materials: von Mises. Laminates: first ply. Cores: shear stress.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.material import Material
from mastcheck.section.model import SectionModel
from mastcheck.source import Grade, Source
from mastcheck.strength.finding import Criterion, Finding
from mastcheck.strength.plies import (
    PlyUtilisation,
    laminate_utilisation,
    material_plies,
    ply_findings,
)
from mastcheck.ties import greatest

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

VON_MISES_SOURCE = Source(
    title="von Mises stress against the lower of proof and ultimate strength over their factors",
    place="EN 1999-1-1, 6.2.1 (elastic criterion), partial factors 6.1.3",
    grade=Grade.MEMORY,
)
CORE_SHEAR_SOURCE = Source(
    title="core shear stress of the section solve against the core's shear strength over its factor",
    grade=Grade.PRACTICE,
)
CORE_SOFTNESS = 0.1
"""A plain material below this share of the section's greatest E, stating no strength, is a core."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class StationStress:
    """Stress of one station under one resultant set, at the station's p basis points.

    stress (p, 3) sigma_zz, tau_zx, tau_zy and von_mises (p,) [Pa]; utilisation (p,) by the
    point's material criteria, NaN where its material states no strength; ``worst``: the point of
    greatest utilisation (of greatest von Mises stress where nothing is judged). ``plies``: of each
    material in the order of ``by_material``, the utilisations of its plies.
    """

    stress: FloatArray
    von_mises: FloatArray
    utilisation: FloatArray
    worst: int
    plies: tuple[tuple[PlyUtilisation, ...], ...]

    @property
    def greatest(self) -> float:
        """Utilisation at the worst point, NaN where nothing is judged."""
        return float(self.utilisation[self.worst])


def von_mises(stress: FloatArray) -> FloatArray:
    """sqrt(σ² + 3τ²) of (..., 3) sigma_zz, tau_zx, tau_zy [Pa]; in-plane stresses are nil in a beam.

    >>> float(von_mises(np.array([3.0, 0.0, 4.0])))
    7.54983443527075
    """
    out: FloatArray = np.sqrt(stress[..., 0] ** 2 + 3 * (stress[..., 1] ** 2 + stress[..., 2] ** 2))
    return out


def station_stress(section: SectionModel, resultants: FloatArray) -> StationStress:
    """Stresses of resultants (7,) N, Vx, Vy, Mx, My, T, B at the stacking line."""
    stress = np.einsum("kps,k->ps", section.basis.fields, resultants)
    vm = von_mises(stress)
    used = np.full(len(vm), np.nan)
    plies = []
    for material, at in by_material(section):
        plies.append(material_plies(material, stress[at]))
        used[at] = _utilisation(material, stress[at], vm[at], plies[-1])
    judged = ~np.isnan(used)
    worst = greatest(np.where(judged, used, -1.0) if judged.any() else vm)
    return StationStress(stress=stress, von_mises=vm, utilisation=used, worst=worst, plies=tuple(plies))


def by_material(section: SectionModel) -> Iterator[tuple[Material, IntArray]]:
    """Each material of a section with the indices of its basis points."""
    materials = {id(r.material): r.material for r in section.regions}
    owner = np.array([list(materials).index(id(r.material)) for r in section.regions])
    for i, material in enumerate(materials.values()):
        yield material, np.flatnonzero(owner[section.basis.region] == i)


def is_core(material: Material, stiffest: float) -> bool:
    """Whether a material is a core: it states a shear strength, or is soft and states none at all.

    stiffest: the greatest E of the section [Pa].
    """
    if material.shear_strength is not None:
        return True
    soft = CORE_SOFTNESS * stiffest > material.E
    return soft and material.laminate is None and material.design_strength is None


def _utilisation(
    material: Material, stress: FloatArray, vm: FloatArray, plies: tuple[PlyUtilisation, ...]
) -> FloatArray:
    """Utilisation (p,) of one material's points; the worst where it states two strengths."""
    if material.laminate is not None:
        return laminate_utilisation(plies, len(vm))
    used = np.full(len(vm), np.nan)
    if (strength := material.design_strength) is not None:
        used = vm / strength
    if (shear := material.design_shear_strength) is not None:
        used = np.fmax(used, np.hypot(stress[:, 1], stress[:, 2]) / shear)
    return used


def material_findings(section: SectionModel, found: StationStress, z: float) -> list[Finding]:
    """The worst point of each material of a station by each of its criteria."""
    out: list[Finding] = []
    stiffest = max(r.material.E for r in section.regions)
    for (material, at), plies in zip(by_material(section), found.plies, strict=True):
        stress, points = found.stress[at], section.basis.points[at]
        if material.laminate is not None:
            out += ply_findings(material, stress, points, z, plies)
            continue
        core = is_core(material, stiffest)
        if not core or material.design_strength is not None:
            vm, limit = found.von_mises[at], material.design_strength
            out.append(_stress_finding(Criterion.VON_MISES, material, vm, limit, points, z))
        if core:
            tau, limit = np.hypot(stress[:, 1], stress[:, 2]), material.design_shear_strength
            out.append(_stress_finding(Criterion.CORE_SHEAR, material, tau, limit, points, z))
    return [replace(f, where=", ".join(w for w in (f.where, _place(section, f.xy)) if w)) for f in out]


def _place(section: SectionModel, xy: tuple[float, float]) -> str:
    """A point in words: how far along the chord, and on which side of the chord line."""
    x = section.basis.points[:, 0]
    share = (xy[0] - x.min()) / np.ptp(x)
    return f"at {share:.0%} of the chord, {'port' if xy[1] >= 0 else 'starboard'}"


def _stress_finding(
    criterion: Criterion,
    material: Material,
    value: FloatArray,
    limit: float | None,
    points: FloatArray,
    z: float,
) -> Finding:
    k = greatest(value)
    return Finding(
        criterion=criterion,
        material=material.name,
        value=float(value[k]) / 1e6,
        limit=None if limit is None else limit / 1e6,
        unit="MPa",
        utilisation=None if limit is None else float(value[k]) / limit,
        z=z,
        xy=(float(points[k, 0]), float(points[k, 1])),
        where="",
        source=VON_MISES_SOURCE if criterion is Criterion.VON_MISES else CORE_SHEAR_SOURCE,
    )
