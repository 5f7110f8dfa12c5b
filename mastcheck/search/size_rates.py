"""How a design's mass and checks change with what is sized, so that a search needs few designs.

The beam's part is exact (``beam.sensitivity``: one transposed solve, no second beam). Sections have no
closed derivative: those of two neighbouring designs are solved, a small step to either side of each
size, and differenced, as ``checks.section_rates`` does for single stations. From the same neighbours
come the rates of buckling and flutter (eigenvalues of the neighbouring beams) and, where a mast has such
checks, those of fatigue, divergence, edges and joints (whole checks).

Sizes are taken by their logarithm: most checks go by powers of sizes, which are straight lines then.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.loads import Loads
from mastcheck.beam.sensitivity import (
    Changes,
    Perturbation,
    PropertyRates,
    element_rates,
    resultant_rates,
    tip_rates,
)
from mastcheck.beam.solve import Equilibrium, FrameModel
from mastcheck.checks.calibration import calibrated
from mastcheck.checks.coupling import worst_coupling
from mastcheck.checks.joined import springs
from mastcheck.checks.loads import tip_load
from mastcheck.checks.result import CaseResult, MastResult
from mastcheck.checks.run import check
from mastcheck.checks.section_rates import SCALARS
from mastcheck.checks.stability import stability
from mastcheck.checks.stations import SolvedMast, beam_of, section_key, solve_at
from mastcheck.checks.verdicts import tip_value
from mastcheck.errors import MastcheckError
from mastcheck.job import Job
from mastcheck.limit import Quantity
from mastcheck.loadcase import Lift
from mastcheck.mast import Mast
from mastcheck.search.size_limits import Kind, Name, Use, finding_name, uses
from mastcheck.search.size_space import Free
from mastcheck.search.variables import DesignError, varied
from mastcheck.section.ends import at_tip
from mastcheck.section.model import SectionModel
from mastcheck.strength.faces import faces
from mastcheck.strength.panels import panel_findings
from mastcheck.strength.stress import material_findings, station_stress

FloatArray = NDArray[np.float64]

FAR = 0.5
"""A check that uses less of its limit than this is taken not to change. A step that makes it fail
all the same is not taken but shortened, and then its rate is known."""

_COUPLINGS = ("fibre_before", "fibre_after", "contraction")
_PLACE = {
    Quantity.FORE_AFT_DEFLECTION: 0,
    Quantity.SIDE_DEFLECTION: 1,
    Quantity.ROLL: 3,
    Quantity.PITCH: 4,
    Quantity.TWIST: 5,
}
"""Place of a quantity in the tip's movement ux, uy, uz and rotations about x, y, z."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Rates:
    """Rates by n coordinates (``Free.coordinate``) of the logarithms of mass and of what is used of
    each limit, (n,) each. Checks that are far from their limit are left out.
    """

    mass: FloatArray
    used: Mapping[Name, FloatArray]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Neighbours:
    """Two designs on either side in one coordinate, ``width`` apart, and their sections (n) each.

    One that cannot be built is replaced by the design itself.
    """

    above: Job
    below: Job
    sections_above: tuple[SectionModel, ...]
    sections_below: tuple[SectionModel, ...]
    up: float
    down: float

    @property
    def width(self) -> float:
        return self.up + self.down


def rates(job: Job, settings: Mapping[str, float], free: Sequence[Free], result: MastResult) -> Rates:
    """Rates of a checked design.

    Args:
        job: the mast as it was given.
        settings: what makes it the design [SI].
        free: what is sized.
        result: the design, checked.

    Raises: DesignError when a size can be moved neither way.
    """
    near = [_neighbours(job, settings, f, result) for f in free]
    known = {name: use for name, use in uses(result).items() if use.used > FAR}
    beam = _Beam.of(result, near)
    out = _strength(result, near, beam, known) | _movement(near, beam, known)
    if any(use.kind is Kind.STABILITY for use in known.values()):
        out |= _stability(result, near, known)
    if any(use.kind is Kind.OTHER for use in known.values()):
        out |= _others(near, known)
    return Rates(mass=beam.mass / result.mass, used=out)


def _neighbours(job: Job, settings: Mapping[str, float], free: Free, result: MastResult) -> _Neighbours:
    at, mast = free.coordinate(settings[free.key]), result.job.mast
    fractions = (result.z / mast.length).tolist()
    found: list[tuple[Job, tuple[SectionModel, ...], float]] = []
    fault: MastcheckError | None = None
    for sign in (1, -1):
        try:
            other = varied(job, {**settings, free.key: free.value(at + sign * free.step)})
            found.append((other, _sections(other.mast, fractions), free.step))
        except MastcheckError as caught:
            fault = caught
            found.append((result.job, result.sections, 0.0))
    (above, sections_above, up), (below, sections_below, down) = found
    if up + down == 0:
        raise DesignError(f"{free.key}: no slightly other size can be built ({fault})")
    return _Neighbours(
        above=above, below=below, sections_above=sections_above, sections_below=sections_below,
        up=up, down=down,
    )  # fmt: skip


def _sections(mast: Mast, fractions: Sequence[float]) -> tuple[SectionModel, ...]:
    """The sections at given places; equal ones are solved once."""
    fixed = {0.0, 1.0} if mast.tip_warping == "restrained" else {0.0}
    fixed_keys = {section_key(mast, at) for at in fixed}
    solved: dict[Hashable, SectionModel] = {}
    out = []
    for at in fractions:
        key = section_key(mast, at)
        if key not in solved:
            section = solve_at(mast, at, end=key in fixed_keys)
            solved[key] = calibrated(section, mast.calibration) if mast.calibration else section
        out.append(solved[key])
    return tuple(out)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Beam:
    """The design's beam with the rates of its elements, and the balance of its stable cases: all at
    service loads, then all at strength loads. ``mass`` (n,): its rate [kg].
    """

    frame: FrameModel
    mass: FloatArray
    moves: Perturbation
    stable: tuple[CaseResult, ...]
    balance: Equilibrium | None

    @classmethod
    def of(cls, result: MastResult, near: Sequence[_Neighbours]) -> _Beam:
        job, mast, z = result.job, result.job.mast, result.z
        model = beam_of(mast, z, result.sections)
        base, tip = springs(job.joints)
        frame = FrameModel(model, keep=[float(at) for at in z], base_joint=base, tip_joint=tip)
        rates = PropertyRates(
            model, z, tuple(s.properties for s in result.sections), _property_changes(near)
        )
        elements = element_rates(
            frame, rates, base_end=_end_rates(near, 0), tip_end=_end_rates(near, -1)
        )
        moves = Perturbation(elements=elements, length=rates.length)
        stable = tuple(c for c in result.cases if c.stable and c.line is not None)
        if not stable:
            return cls(frame=frame, mass=rates.mass(), moves=moves, stable=(), balance=None)
        loads = [tip_load(job, case.case) for case in stable]
        factors = [1.0] * len(stable) + [case.case.strength_factor for case in stable]
        balance = frame.equilibrium([*loads, *loads], factors)
        if any(case.case.side_spread for case in stable):
            moves = replace(moves, loads=_load_rates(near, frame, stable, factors, balance))
        return cls(frame=frame, mass=rates.mass(), moves=moves, stable=stable, balance=balance)


def _property_changes(near: Sequence[_Neighbours]) -> Changes:
    def rate(name: str) -> FloatArray:
        return np.stack(
            [
                np.array(
                    [
                        (
                            np.asarray(getattr(a.properties, name))
                            - np.asarray(getattr(b.properties, name))
                        )
                        / pair.width
                        for a, b in zip(pair.sections_above, pair.sections_below, strict=True)
                    ]
                )
                for pair in near
            ],
            axis=-1,
        )

    couplings = {name: rate(name) for name in _COUPLINGS}
    return Changes(
        properties={name: rate(name) for name in SCALARS},
        fibre_before=couplings["fibre_before"],
        fibre_after=couplings["fibre_after"],
        contraction=couplings["contraction"],
        length=np.zeros(len(near)),
    )


def _end_rates(near: Sequence[_Neighbours], place: int) -> FloatArray | None:
    """Rates (6, 6, n) of what a fixed end adds; None where it adds nothing, or they are not known."""
    each = []
    for pair in near:
        above, below = pair.sections_above[place].end, pair.sections_below[place].end
        if above is None or below is None:
            return None
        each.append((above - below) / pair.width)
    out = np.stack(each, axis=-1)
    return at_tip(out) if place else out


def _load_rates(
    near: Sequence[_Neighbours],
    frame: FrameModel,
    stable: Sequence[CaseResult],
    factors: Sequence[float],
    balance: Equilibrium,
) -> FloatArray:
    """Rates of the nodal loads on the same shapes: a spread load keeps to the quarter chord."""
    out = np.zeros((*balance.x.shape[:2], 7, len(near)))
    for i, pair in enumerate(near):
        ends = []
        for job in (pair.above, pair.below):
            loads = [tip_load(job, case.case) for case in stable]
            ends.append(Loads(frame.z, [*loads, *loads], np.array(factors)).vector(balance.x, balance.r))
        out[..., i] = ((ends[0] - ends[1]) / pair.width).reshape(out.shape[:3])
    return out


def _strength(
    result: MastResult, near: Sequence[_Neighbours], beam: _Beam, known: Mapping[Name, Use]
) -> dict[Name, FloatArray]:
    """Each criterion at the place where it governs: by its section, and by what acts on it."""
    if beam.balance is None:
        return {}
    out: dict[Name, FloatArray] = {}
    for i, case in enumerate(beam.stable):
        mine = [
            use
            for use in known.values()
            if use.kind is Kind.STRENGTH and use.name[1] == case.case.name and use.finding is not None
        ]
        at: dict[int, list[Use]] = {}
        for use in mine:
            assert use.finding is not None
            at.setdefault(int(np.argmin(np.abs(result.z - use.finding.z))), []).append(use)
        for k, here in at.items():
            ends = _station_ends(result, near, beam, case, i, k)
            for use in here:
                logs = [[found.get(use.name) for found in pair] for pair in ends]
                if all(v is not None and v > 0 for pair in logs for v in pair):
                    out[use.name] = np.array(
                        [
                            (math.log(a or 1) - math.log(b or 1)) / pair.width
                            for (a, b), pair in zip(logs, near, strict=True)
                        ]
                    )
    return out


def _station_ends(
    result: MastResult, near: Sequence[_Neighbours], beam: _Beam, case: CaseResult, i: int, k: int
) -> list[tuple[dict[Name, float], dict[Name, float]]]:
    """What a station's criteria come to in the neighbouring designs, under the resultants there."""
    if beam.balance is None or case.strength_line is None:
        raise ValueError(f"{case.case.name} has no balance")
    z, line = float(result.z[k]), case.strength_line
    now = np.array([np.interp(z, line.z, r) for r in line.resultants.T])
    node = int(np.argmin(np.abs(beam.frame.z - z)))
    moved = resultant_rates(beam.frame, beam.balance, len(beam.stable) + i, node, beam.moves)
    return [
        (
            _criteria(pair.sections_above[k], now + pair.up * moved[:, j], z, case.case.name),
            _criteria(pair.sections_below[k], now - pair.down * moved[:, j], z, case.case.name),
        )
        for j, pair in enumerate(near)
    ]


def _criteria(section: SectionModel, resultants: FloatArray, z: float, case: str) -> dict[Name, float]:
    """What a section uses by each criterion, under resultants (7,)."""
    stress = station_stress(section, resultants)
    found = material_findings(section, stress, z) + panel_findings(section, faces(section), stress, z)
    out: dict[Name, float] = {}
    for f in found:
        if f.utilisation is not None:
            name = finding_name(f, case)
            out[name] = max(out.get(name, 0.0), f.utilisation)
    return out


def _movement(
    near: Sequence[_Neighbours], beam: _Beam, known: Mapping[Name, Use]
) -> dict[Name, FloatArray]:
    """The user's limits on the tip, by the exact rates of its second-order movement."""
    limits = [use for use in known.values() if use.kind is Kind.MOVEMENT]
    if beam.balance is None or not limits:
        return {}
    tips = tip_rates(beam.frame, beam.balance, beam.moves)
    order = {case.case.name: i for i, case in enumerate(beam.stable)}
    coupled = _by_coupling(near)
    out = {}
    for use in limits:
        i = order.get(use.name[1])
        if i is None or use.quantity is None or (tip := beam.stable[i].tip) is None:
            continue
        out[use.name] = tips[i, _PLACE[use.quantity]] / tip_value(tip, use.quantity) + coupled
    return out


def _by_coupling(near: Sequence[_Neighbours]) -> FloatArray:
    """Rates (n,) of the logarithm of what every movement is multiplied by for a coupling left out."""
    ratios = [
        [
            1.0 if (found := worst_coupling(sections)) is None else found.ratio
            for sections in (pair.sections_above, pair.sections_below)
        ]
        for pair in near
    ]
    return np.array([math.log(a / b) / pair.width for (a, b), pair in zip(ratios, near, strict=True)])


def _stability(
    result: MastResult, near: Sequence[_Neighbours], known: Mapping[Name, Use]
) -> dict[Name, FloatArray]:
    """Buckling and flutter, by the factors of the neighbouring beams on the same stations."""
    ends = [
        (
            _factors(pair.above, result.z, pair.sections_above),
            _factors(pair.below, result.z, pair.sections_below),
        )
        for pair in near
    ]
    coupled = _by_coupling(near)
    out = {}
    for name, use in known.items():
        case = name[1]
        if use.kind is Kind.STABILITY and all(math.isfinite(f[case]) for pair in ends for f in pair):
            logs = [
                math.log(b[case] / a[case]) / pair.width for (a, b), pair in zip(ends, near, strict=True)
            ]
            out[name] = np.array(logs) + coupled
    return out


def _factors(job: Job, z: FloatArray, sections: tuple[SectionModel, ...]) -> dict[str, float]:
    """Each case's stability factor, of a mast with these sections at z."""
    model = beam_of(job.mast, z, sections)
    base, tip = springs(job.joints)
    frame = FrameModel(model, keep=[float(at) for at in z], base_joint=base, tip_joint=tip)
    solved = SolvedMast(
        z=z, sections=sections, model=model, compliance=tip_compliance(model), change=0.0
    )
    loads = {lift: [tip_load(job, case, lift) for case in job.cases] for lift in Lift}
    found = stability(job, solved, frame, loads)
    return {
        case.name: min(float(buckles), math.inf if flutters is None else flutters)
        for case, buckles, flutters in zip(job.cases, found.buckling, found.flutter, strict=True)
    }


def _others(near: Sequence[_Neighbours], known: Mapping[Name, Use]) -> dict[Name, FloatArray]:
    """Fatigue, divergence, edges and joints, by whole checks of the neighbours."""
    found = [(uses(check(pair.above)), uses(check(pair.below))) for pair in near]
    out = {}
    for name, use in known.items():
        if use.kind is not Kind.OTHER:
            continue
        ends = [(a[name].used, b[name].used) for a, b in found if name in a and name in b]
        if len(ends) == len(near) and all(0 < v < math.inf for pair in ends for v in pair):
            out[name] = np.array(
                [math.log(a / b) / pair.width for (a, b), pair in zip(ends, near, strict=True)]
            )
    return out
