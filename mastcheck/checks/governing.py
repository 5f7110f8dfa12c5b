"""The worst of a case over all stations, by every strength criterion."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.result import LineResult
from mastcheck.checks.stations import SolvedMast
from mastcheck.section.model import SectionModel
from mastcheck.strength.faces import Face, faces
from mastcheck.strength.finding import Criterion, Finding
from mastcheck.strength.panels import panel_findings
from mastcheck.strength.stress import StationStress, material_findings, station_stress
from mastcheck.ties import exceeds, greatest

FloatArray = NDArray[np.float64]

EACH_MATERIAL = (Criterion.VON_MISES, Criterion.CORE_SHEAR, Criterion.PLY_STRAIN)
"""Criteria of which every material keeps its own worst; of the others the worst of all is kept."""


@dataclass(frozen=True, slots=True, eq=False)
class SectionFaces:
    """Faces of each section, read off once for all cases."""

    _by_section: dict[int, tuple[Face, ...]]

    @classmethod
    def of(cls, sections: Iterable[SectionModel]) -> SectionFaces:
        """Those of different sections; a uniform mast's stations share one."""
        return cls({key: faces(s) for key, s in {id(s): s for s in sections}.items()})

    def __getitem__(self, section: SectionModel) -> tuple[Face, ...]:
        """The faces of a section."""
        return self._by_section[id(section)]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Governing:
    """The worst of a case, or nothing when the case is unstable; fields as in CaseResult."""

    von_mises: float | None = None
    z: float | None = None
    xy: tuple[float, float] | None = None
    material: str = ""
    station: int | None = None
    field: FloatArray | None = None
    point_utilisation: FloatArray | None = None
    utilisation: float | None = None
    along_z: FloatArray | None = None
    findings: tuple[Finding, ...] = ()


def governing(solved: SolvedMast, panels: SectionFaces, line: LineResult) -> Governing:
    """Stresses of a case's strength-level resultants at every station, and the worst of them.

    Utilisation is the largest over all criteria, known only where a material criterion is: faces
    that do not buckle say nothing about a material whose strength is not stated.
    """
    resultants = np.column_stack([np.interp(solved.z, line.z, r) for r in line.resultants.T])
    stresses = [station_stress(s, r) for s, r in zip(solved.sections, resultants, strict=True)]
    found = [
        _station_findings(section, panels[section], stress, float(z))
        for section, stress, z in zip(solved.sections, stresses, solved.z, strict=True)
    ]
    material = np.array([s.greatest for s in stresses])
    peak = np.array([s.von_mises[s.worst] for s in stresses])
    judged = not np.isnan(material).any()
    k = greatest(material if judged else peak)
    section, stress = solved.sections[k], stresses[k]
    x, y = section.basis.points[stress.worst]
    along = np.array(
        [
            max([used, *(f.utilisation for f in here if f.utilisation is not None)])
            for used, here in zip(material, found, strict=True)
        ]
    )
    return Governing(
        von_mises=float(peak[k]),
        z=float(solved.z[k]),
        xy=(float(x), float(y)),
        material=section.regions[int(section.basis.region[stress.worst])].material.name,
        station=k,
        field=stress.von_mises,
        point_utilisation=stress.utilisation,
        utilisation=float(along.max()) if judged else None,
        along_z=along if judged else None,
        findings=worst_findings(f for here in found for f in here),
    )


def worst_findings(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """The worst of each criterion (and material), in the order of the criteria, worst first.

    What cannot be judged keeps a finding of its own beside what can, so that it is not hidden.
    """
    worst: dict[tuple[Criterion, str], Finding] = {}
    for f in found:
        own = f.criterion in EACH_MATERIAL or f.utilisation is None
        key = (f.criterion, f.material if own else "")
        if key not in worst or exceeds(_size(f), _size(worst[key])):
            worst[key] = f
    order = list(Criterion)
    return tuple(sorted(worst.values(), key=lambda f: (order.index(f.criterion), -(f.utilisation or 0))))


def _size(f: Finding) -> float:
    return f.value if f.utilisation is None else f.utilisation


def _station_findings(
    section: SectionModel, panels: tuple[Face, ...], stress: StationStress, z: float
) -> list[Finding]:
    return material_findings(section, stress, z) + panel_findings(section, panels, stress, z)
