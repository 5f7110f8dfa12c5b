"""What a millimetre buys: how mass, movement and utilisation change with sizes and materials.

Asked for on its own, since neighbouring sections have to be solved (``section_rates``). From their
rates on, all is exact and costs no further beam solve (``beam.sensitivity``). Utilisation is that of
the place which governs now: another place may take over after a larger change.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.loads import Loads
from mastcheck.beam.sensitivity import (
    Changes,
    Perturbation,
    PropertyRates,
    compliance_rates,
    element_rates,
    resultant_rates,
    tip_rates,
)
from mastcheck.beam.solve import Equilibrium, FrameModel
from mastcheck.checks.joined import springs
from mastcheck.checks.loads import tip_load
from mastcheck.checks.result import CaseResult, MastResult
from mastcheck.checks.section_rates import (
    SCALARS,
    STEP,
    RatesAlong,
    moved,
    rates_along,
    size_at,
    sizes_of,
)
from mastcheck.checks.sensitivity_result import SIZES, CaseSensitivity, Change, Kind, SensitivityResult
from mastcheck.checks.stations import beam_of
from mastcheck.job import Job
from mastcheck.mast import Mast
from mastcheck.section.ends import at_tip as turned
from mastcheck.section.model import SectionModel
from mastcheck.section.solved import section_at
from mastcheck.strength.faces import faces
from mastcheck.strength.panels import panel_findings
from mastcheck.strength.stress import material_findings, station_stress

FloatArray = NDArray[np.float64]

_BY_E = ("EA", "EIxx", "EIyy", "EIxy", "EGamma")
_SHEAR = ("shear_flex_xx", "shear_flex_yy", "shear_flex_xy")
_SMALL = 1e-3  # share of the stress, or of E or G, by which utilisation is differenced
_LOAD = 1e-3  # m of chord; the loads' arms are linear in it


def sensitivity(
    result: MastResult,
    *,
    progress: Callable[[str, float], None] | None = None,
    along: RatesAlong | None = None,
) -> SensitivityResult:
    """Rates of mass, tip compliance, and each stable case's tip movement and utilisation.

    Args:
        result: a checked mast.
        progress: called with what is being done and the share done (0 to 1).
        along: rates of the sections where they are known already.

    Returns: rates by chord, thickness and wall at each station of the mast file, length, and E and
        G at each station, SI. Joints stay as they are.

    Raises: GeometryError when a section with slightly other sizes cannot be built.
    """
    job, mast = result.job, result.job.mast
    words = f"{mast.name}: sections of slightly other sizes"
    if along is None:
        along = rates_along(
            mast, result.z, result.sections, None if progress is None else lambda s: progress(words, s)
        )
    properties = tuple(s.properties for s in result.sections)
    model = beam_of(mast, result.z, result.sections)
    base, tip = springs(job.joints)
    frame = FrameModel(model, keep=[float(z) for z in result.z], base_joint=base, tip_joint=tip)
    changes = _changes(mast)
    rates = PropertyRates(model, result.z, properties, _property_changes(mast, result, along, changes))
    elements = element_rates(
        frame,
        rates,
        base_end=_end_rates(mast, result, along, changes, at_tip=False),
        tip_end=_end_rates(mast, result, along, changes, at_tip=True),
    )
    return SensitivityResult(
        changes=changes,
        mass=rates.mass(),
        compliance=compliance_rates(frame, elements, rates.length),
        cases=_cases(
            job, result, frame, along, changes, Perturbation(elements=elements, length=rates.length)
        ),
    )


def _changes(mast: Mast) -> tuple[Change, ...]:
    stations = list(enumerate(mast.stations))
    sizes = [Change(kind=k, station=j, at=s.at) for k in sizes_of(mast) for j, s in stations]
    stiffness = [Change(kind=k, station=j, at=s.at) for k in (Kind.E, Kind.G) for j, s in stations]
    return (*sizes, Change(kind=Kind.LENGTH, station=None, at=None), *stiffness)


def _property_changes(
    mast: Mast, result: MastResult, along: RatesAlong, changes: tuple[Change, ...]
) -> Changes:
    """Rates of the section properties at the solved stations by each change."""
    n, p = len(result.z), len(changes)
    sizes = sizes_of(mast)
    values = {name: np.array([getattr(s.properties, name) for s in result.sections]) for name in SCALARS}
    fibre = [np.array([getattr(s.properties, f"fibre_{side}") for s in result.sections])
             for side in ("before", "after")]  # fmt: skip
    scalars = {name: np.zeros((n, p)) for name in SCALARS}
    sides = [np.zeros((n, 3, p)) for _ in range(2)]
    contraction = np.zeros((n, 3, p))
    length = np.zeros(p)
    for i, change in enumerate(changes):
        if change.station is None:
            # All tapers flatten; everything else stays as it was at each fraction.
            length[i] = 1.0
            for side, value in zip(sides, fibre, strict=True):
                side[..., i] = -value / mast.length
            continue
        share, slopes = _share(mast, change.station, result.z)
        if change.kind in SIZES:
            k = sizes.index(change.kind)
            for name in SCALARS:
                scalars[name][:, i] = share * along.scalars[name][:, k]
            contraction[..., i] = share[:, None] * along.contraction[..., k]
            for side, rate, slope in zip(
                sides, (along.fibre_before, along.fibre_after), slopes, strict=True
            ):
                side[..., i] = share[:, None] * rate[..., k] + slope[:, None] * along.slope[..., k]
        elif change.kind is Kind.E:
            for name in _BY_E:
                scalars[name][:, i] = share * values[name]
            for side, value in zip(sides, fibre, strict=True):
                side[..., i] = share[:, None] * value
            contraction[..., i] = share[:, None] * along.by_E
        else:
            scalars["GJ"][:, i] = share * values["GJ"]
            for name in _SHEAR:
                scalars[name][:, i] = -share * values[name]
            contraction[..., i] = -share[:, None] * along.by_E
    return Changes(
        properties=scalars,
        fibre_before=sides[0],
        fibre_after=sides[1],
        contraction=contraction,
        length=length,
    )


def _end_rates(
    mast: Mast, result: MastResult, along: RatesAlong, changes: tuple[Change, ...], *, at_tip: bool
) -> FloatArray | None:
    """Rates (6, 6, p) of what a fixed end adds; None where it adds nothing, or its rates are not known.

    It does not know the length, and only the station at that end changes it.
    """
    k, station = (len(result.z) - 1, len(mast.stations) - 1) if at_tip else (0, 0)
    now, own = result.sections[k].end, along.places[k]
    if now is None or own.end is None or own.end_by_E is None:
        return None
    sizes = sizes_of(mast)
    factor = 1.0 if mast.calibration is None else mast.calibration.factor_GJ
    by_size, by_E = own.end / factor, own.end_by_E / factor
    out = np.zeros((6, 6, len(changes)))
    for i, change in enumerate(changes):
        if change.station != station:
            continue
        if change.kind in SIZES:
            out[..., i] = by_size[..., sizes.index(change.kind)]
        else:  # E and G up by the same share: all of it down by that share
            out[..., i] = by_E if change.kind is Kind.E else -now - by_E
    return turned(out) if at_tip else out


def _share(mast: Mast, station: int, z: FloatArray) -> tuple[FloatArray, tuple[FloatArray, FloatArray]]:
    """How much of a station's change reaches z (n,), and its slopes on the base's and the tip's side."""
    at = np.array([s.at for s in mast.stations]) * mast.length
    mine = np.eye(len(at))[station]
    slope = np.diff(mine) / np.diff(at)
    tol = 1e-9 * mast.length
    last = len(slope) - 1
    before = slope[np.clip(np.searchsorted(at, z - tol) - 1, 0, last)]
    after = slope[np.clip(np.searchsorted(at, z + tol) - 1, 0, last)]
    return np.interp(z, at, mine), (before, after)


def _cases(
    job: Job,
    result: MastResult,
    frame: FrameModel,
    along: RatesAlong,
    changes: tuple[Change, ...],
    perturbation: Perturbation,
) -> tuple[CaseSensitivity, ...]:
    """Stable cases at service and at strength level, all in one solve."""
    stable = [case for case in result.cases if case.stable and case.line is not None]
    if not stable:
        return ()
    loads = [tip_load(job, case.case) for case in stable]
    factors = np.array([1.0] * len(stable) + [case.case.strength_factor for case in stable])
    eq = frame.equilibrium([*loads, *loads], list(factors))
    spread = any(case.case.side_spread for case in stable)
    moving = _load_rates(job, frame, stable, factors, eq, changes) if spread else None
    perturbation = replace(perturbation, loads=moving)
    tips = tip_rates(frame, eq, perturbation)
    out = []
    for i, case in enumerate(stable):
        used = None
        z = None
        if case.utilisation_along_z is not None:
            k = int(case.utilisation_along_z.argmax())
            z = float(result.z[k])
            node = int(np.argmin(np.abs(frame.z - z)))
            resultants = resultant_rates(frame, eq, len(stable) + i, node, perturbation)
            used = _utilisation_rates(result, along, case, k, resultants, changes)
        out.append(CaseSensitivity(name=case.case.name, tip=tips[i], utilisation=used, z=z))
    return tuple(out)


def _load_rates(
    job: Job,
    frame: FrameModel,
    cases: list[CaseResult],
    factors: FloatArray,
    eq: Equilibrium,
    changes: tuple[Change, ...],
) -> FloatArray:
    """Rates of the nodal loads: a load spread at the quarter chord moves with the chord."""
    out = np.zeros((*eq.x.shape[:2], 7, len(changes)))
    for i, change in enumerate(changes):
        if change.kind is not Kind.CHORD:
            continue
        ends = []
        for sign in (1, -1):
            other = replace(
                job, mast=moved(job.mast, Kind.CHORD, sign * _LOAD, at=0.0, station=change.station)
            )
            loads = [tip_load(other, case.case) for case in cases]
            ends.append(Loads(frame.z, [*loads, *loads], factors).vector(eq.x, eq.r))
        out[..., i] = ((ends[0] - ends[1]) / (2 * _LOAD)).reshape(out.shape[:3])
    return out


def station_utilisation(section: SectionModel, resultants: FloatArray, z: float) -> float:
    """Greatest utilisation of a section by all strength criteria, under resultants (7,)."""
    found = station_stress(section, resultants)
    findings = material_findings(section, found, z) + panel_findings(section, faces(section), found, z)
    return max([found.greatest, *(f.utilisation for f in findings if f.utilisation is not None)])


def _utilisation_rates(
    result: MastResult,
    along: RatesAlong,
    case: CaseResult,
    k: int,
    resultants: FloatArray,
    changes: tuple[Change, ...],
) -> FloatArray:
    """Rates (p,) of the utilisation at station k, whose resultants change by ``resultants`` (7, p)."""
    mast, section, z = result.job.mast, result.sections[k], float(result.z[k])
    if case.strength_line is None:
        raise ValueError(f"{case.case.name} has no strength line")
    line = case.strength_line
    now = np.array([np.interp(z, line.z, r) for r in line.resultants.T])
    out = _by_resultants(section, now, z) @ resultants
    by_size = dict(zip(sizes_of(mast), _by_sizes(mast, along, k, now, z), strict=True))
    by_stiffness = {kind: _by_stiffness(section, kind, now, z) for kind in (Kind.E, Kind.G)}
    for i, change in enumerate(changes):
        if change.station is not None:
            share, _ = _share(mast, change.station, np.array([z]))
            out[i] += share[0] * (by_size | by_stiffness)[change.kind]
    return np.asarray(out)


def _by_resultants(section: SectionModel, now: FloatArray, z: float) -> FloatArray:
    """Rates (7,) of a section's utilisation by the resultants on it."""
    fields = section.basis.fields
    stress = np.abs(np.einsum("kps,k->ps", fields, now)).max()
    out = np.zeros(7)
    if not stress:  # nothing bears on it, and it is used as much more by a load as by its opposite
        return out
    for j in range(7):
        step = _SMALL * stress / np.abs(fields[j]).max()
        ends = [station_utilisation(section, now + s * step * np.eye(7)[j], z) for s in (1, -1)]
        out[j] = (ends[0] - ends[1]) / (2 * step)
    return out


def _by_sizes(mast: Mast, along: RatesAlong, k: int, now: FloatArray, z: float) -> list[float]:
    """Rates of a section's utilisation by its sizes [1/m], resultants held."""
    at = z / mast.length
    if k in along.places:
        neighbours = along.places[k].neighbours
    else:
        found = []
        for kind in sizes_of(mast):
            step = STEP[kind] * size_at(mast, kind, at)
            above, below = (
                section_at(moved(mast, kind, s * step, at=at), at, taper=False) for s in (1, -1)
            )
            found.append((above, below, 2 * step))
        neighbours = tuple(found)
    return [
        (station_utilisation(above, now, z) - station_utilisation(below, now, z)) / width
        for above, below, width in neighbours
    ]


def _by_stiffness(section: SectionModel, kind: Kind, now: FloatArray, z: float) -> float:
    """Rate of a section's utilisation by a share of its E or G, resultants held.

    Unit stresses stay; what changes are a laminate's strains, and what holds thin faces.
    """
    ends = []
    for sign in (1, -1):
        by = 1 + sign * _SMALL
        made = {
            id(r.material): replace(r.material, E=r.material.E * by)
            if kind is Kind.E
            else replace(r.material, G=r.material.G * by)
            for r in section.regions
        }
        regions = tuple(replace(r, material=made[id(r.material)]) for r in section.regions)
        ends.append(station_utilisation(replace(section, regions=regions), now, z))
    return (ends[0] - ends[1]) / (2 * _SMALL)
