"""One cross-section, solved: what is printed, drawn and written of it. Pure: nothing is written."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from mastcheck.checks.buildability import notes
from mastcheck.checks.calibration import calibrated
from mastcheck.checks.cautions import CORNERS, DRAWN, GENERAL
from mastcheck.checks.cautions import _layups as layup_cautions
from mastcheck.checks.process import Note
from mastcheck.errors import GeometryError
from mastcheck.job import Job
from mastcheck.laminate import Laminate, Membrane, membrane
from mastcheck.mast import Construction, Station
from mastcheck.material import Material
from mastcheck.section.measure import outer_shape
from mastcheck.section.model import SectionModel, SectionProperties
from mastcheck.section.solved import section_at

AS_STATED = (
    "The section is as stated or drawn, at the stated moduli: what is made has tolerances on wall and "
    "outline, and stiffness follows them."
)
NOTES_ONLY = "Buildability notes are common practice with no source, not verdicts: ask the shop."


_NOT_OF_SECTIONS = ("rider", "gear", "stance", "wet fraction", "tip ", "limit ", "load case")


@dataclass(frozen=True, slots=True, kw_only=True)
class Principal:
    """Greatest and least bending stiffness [N·m²], and the direction of the soft axis.

    ``angle`` [rad]: of the axis that ``least`` is about, from the chord line (aft) toward port,
    above -pi/2 to pi/2; 0 for a section symmetric about its chord, or one equally stiff all round.
    """

    greatest: float
    least: float
    angle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RegionShare:
    """A region in words and numbers: area [m²], mass per length [kg/m] and its share of the whole.

    ``layup`` (outside in) and ``membrane`` where the material is a laminate.
    """

    material: Material
    area: float
    mass_per_length: float
    share: float
    layup: str = ""
    membrane: Membrane | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Geometry:
    """Plain geometric properties of a section of one material: EI/E, GJ/G and so on [m², m⁴, m⁶]."""

    area: float
    Ixx: float
    Iyy: float
    J: float
    Gamma: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SectionResult:
    """A solved section of a mast.

    ``at``: fraction of the length; ``station``: sizes there; ``leading_edge_x``: of the leading edge
    as built, from the stacking line; ``width`` and ``height`` as built; ``perimeter`` of the
    outside [m]. ``seconds`` it took to solve it, or to find it solved before. ``geometry`` is None
    for more than one material.
    """

    job: Job
    at: float
    station: Station
    model: SectionModel
    principal: Principal
    regions: tuple[RegionShare, ...]
    geometry: Geometry | None
    leading_edge_x: float
    width: float
    height: float
    perimeter: float
    seconds: float
    notes: tuple[Note, ...]
    cautions: tuple[str, ...]

    @property
    def z(self) -> float:
        """Distance from the base [m]."""
        return self.at * self.job.mast.length

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the job's notes assume of the section; rider, loads and limits do not reach it."""
        return tuple(note for note in self.job.notes if not note.startswith(_NOT_OF_SECTIONS))


def solve_at(job: Job, at: float) -> SectionResult:
    """Build and solve the section at a fraction of the length.

    Args:
        job: the mast with its assumptions.
        at: fraction of the length, 0 base to 1 tip.

    Raises: GeometryError when the section cannot be built, naming the file.
    """
    mast = job.mast
    start = time.perf_counter()
    try:
        model = section_at(mast, at, taper=False)
        model = calibrated(model, mast.calibration) if mast.calibration else model
    except GeometryError as fault:
        raise GeometryError(f"{job.file or mast.name}: section at {at:g}: {fault}") from fault
    seconds = time.perf_counter() - start
    shape = outer_shape(model.regions)
    left, low, right, high = shape.bounds
    regions = region_shares(model)
    return SectionResult(
        job=job,
        at=at,
        station=mast.station_at(at),
        model=model,
        principal=principal(model.properties),
        regions=regions,
        geometry=geometry(model),
        leading_edge_x=float(left),
        width=float(right - left),
        height=float(high - low),
        perimeter=float(shape.exterior.length),
        seconds=seconds,
        notes=notes(mast, at, model),
        cautions=section_cautions(job, model),
    )


def principal(p: SectionProperties) -> Principal:
    """Principal bending stiffness of a section.

    The stiffness about an axis u is uᵀ [[EIxx, -EIxy], [-EIxy, EIyy]] u, with EIxy = ∫ E x y.
    """
    values, axes = np.linalg.eigh(np.array([[p.EIxx, -p.EIxy], [-p.EIxy, p.EIyy]]))
    least, greatest = (float(v) for v in values)
    angle = 0.0
    if greatest - least > 1e-9 * greatest:
        x, y = axes[:, 0]
        if abs(x) < 1e-12:
            angle = math.pi / 2
        else:
            angle = math.atan2(float(y) * math.copysign(1, x), abs(float(x)))
            angle = 0.0 if abs(angle) < 1e-9 else angle  # what arithmetic leaves of a symmetric section
    return Principal(greatest=greatest, least=least, angle=angle)


def geometry(model: SectionModel) -> Geometry | None:
    """Geometric properties; None where the section is of more than one material."""
    first = model.regions[0].material
    if any(r.material is not first and r.material != first for r in model.regions):
        return None
    p = model.properties
    return Geometry(
        area=p.EA / first.E,
        Ixx=p.EIxx / first.E,
        Iyy=p.EIyy / first.E,
        J=p.GJ / first.G,
        Gamma=p.EGamma / first.E,
    )


def region_shares(model: SectionModel) -> tuple[RegionShare, ...]:
    """The regions with their share of the mass, in the order of the model."""
    masses = [r.polygon.area * r.material.density for r in model.regions]
    return tuple(
        RegionShare(
            material=r.material,
            area=float(r.polygon.area),
            mass_per_length=float(mass),
            share=float(mass / sum(masses)),
            layup=layup(r.material.laminate) if r.material.laminate else "",
            membrane=membrane(r.material.laminate) if r.material.laminate else None,
        )
        for r, mass in zip(model.regions, masses, strict=True)
    )


def layup(laminate: Laminate) -> str:
    """Plies in words, outside in: runs of one lamina and thickness with their angles.

    >>> from mastcheck.laminate import Lamina, Ply
    >>> from mastcheck.source import PRACTICE
    >>> cloth = Lamina(
    ...     name="cloth", E1=60e9, E2=60e9, G12=4e9, nu12=0.05, density=1500, source=PRACTICE
    ... )
    >>> plies = [Ply(lamina=cloth, angle=math.radians(a), thickness=2e-4) for a in (45, 45, 0)]
    >>> layup(Laminate(plies=tuple(plies)))
    '[45/45/0] cloth 0.2 mm'
    """
    real = [ply for ply in laminate.plies if ply.thickness > 0]
    runs = groupby(real, key=lambda ply: (ply.lamina.name, round(ply.thickness, 9)))
    return ", ".join(
        f"[{'/'.join(f'{round(math.degrees(p.angle), 3) + 0.0:g}' for p in plies)}]"
        f" {name} {thickness * 1e3:.3g} mm"
        for (name, thickness), plies in runs
    )


def section_cautions(job: Job, model: SectionModel) -> tuple[str, ...]:
    """What must be read beside a section's properties."""
    out = [GENERAL[0], AS_STATED]
    construction = job.mast.section.construction
    if construction is Construction.HOLLOW:
        out.append(CORNERS)
    if construction is Construction.DRAWN:
        out.append(DRAWN)
    out += layup_cautions([model])
    return (*out, NOTES_ONLY)
