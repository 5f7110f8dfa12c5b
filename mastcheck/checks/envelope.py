"""The heaviest rider a mast holds at each length, for every limit.

Stations are fractions of the length, so a mast of another length has the same sections: they are solved
once. Only the beam changes, and with it the taper's slope, which the torque of inclined fibres is
in proportion to. For each limit the rider is bracketed and then closed in on, all limits of a length
together, so that the loads of many riders share each second-order run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.buckling import buckling
from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.solve import BeamState, FrameModel
from mastcheck.checks.cautions import cautions
from mastcheck.checks.coupling import materials_of, worst_coupling
from mastcheck.checks.envelope_result import (
    BOLTS,
    CLOSE,
    MARGIN,
    SCANNED,
    WATER,
    Envelope,
    EnvelopeLimit,
    EnvelopeRow,
    Heaviest,
    Kind,
    Reach,
)
from mastcheck.checks.envelope_wings import Found, judged_with_all, least_row, of_the_wing
from mastcheck.checks.fatigue import assess, cycle_loads, judging_curve, stands
from mastcheck.checks.governing import SectionFaces
from mastcheck.checks.joined import springs
from mastcheck.checks.loads import tip_load
from mastcheck.checks.quiver import with_wing
from mastcheck.checks.stability import stability
from mastcheck.checks.stations import SolvedMast, beam_of, solve_stations
from mastcheck.checks.thickness import beyond_range
from mastcheck.errors import GeometryError
from mastcheck.job import Job
from mastcheck.limit import Quantity
from mastcheck.loadcase import Lift
from mastcheck.mast import Mast
from mastcheck.section.model import SectionModel
from mastcheck.strength.panels import panel_findings
from mastcheck.strength.stress import StationStress, material_findings, station_stress

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

FALLS = 1e-3
"""A use that falls by more than this from a rider to a heavier one is named as not growing steadily."""


def envelope(
    job: Job,
    riders: tuple[float, float],
    lengths: Sequence[float],
    *,
    progress: Callable[[str, float], None] | None = None,
) -> Envelope:
    """The heaviest rider for each limit at each length.

    Args:
        job: mast, load cases, limits; its own length and rider's mass give way.
        riders: lightest and heaviest rider [kg].
        lengths: lengths of the mast [m].
        progress: called with what is being done and the share done.

    Returns: the envelope, the least over all wings; masses are within CLOSE, at the side that holds.

    Raises: GeometryError when a section cannot be built.
    """
    try:
        solved = solve_stations(job.mast, progress)
    except GeometryError as fault:
        raise GeometryError(f"{job.file or job.mast.name}: section: {fault}") from fault
    faces = SectionFaces.of(solved.sections)
    jobs = [with_wing(job, wing) for wing in job.quiver] or [job]
    limits = _limits(job)
    rows = []
    for i, length in enumerate(lengths):
        if progress is not None:
            progress(f"{job.mast.name}: {length * 1e3:g} mm", 0.4 + 0.6 * i / len(lengths))
        mast = job.mast.with_length(length)
        longer = stretched(solved, mast)
        winged = [_Riders(replace(one, mast=mast), longer, faces, limits) for one in jobs]
        if i == 0:
            limits = judged_with_all([here.judged(riders[0]) for here in winged])
            for here in winged:
                here.limits = limits
        rows.append(_row(winged, length, riders, [wing.name for wing in job.quiver]))
    return Envelope(
        job=job,
        riders=riders,
        limits=limits,
        rows=tuple(rows),
        cautions=(
            *cautions(job, (), solved.sections),
            *((BOLTS,) if job.joints.stated else ()),
            *((MARGIN,) if job.divergence_margin is not None else ()),
            *((WATER.format(cases=", ".join(job.water_loads)),) if job.water_loads else ()),
        ),
    )


def stretched(solved: SolvedMast, mast: Mast) -> SolvedMast:
    """The solved mast at the length of ``mast``, whose stations are the same fractions.

    A section is watched moving over a given share of the length, so that its fibre moments go with
    1/length; all else about it stays, and so does what a fixed end adds. The beam has them so;
    ``sections`` are left as they were, for their stresses.
    """
    ratio = mast.length / solved.model.length
    properties = [
        replace(
            s.properties,
            fibre_before=_over(s.properties.fibre_before, ratio),
            fibre_after=_over(s.properties.fibre_after, ratio),
        )
        for s in solved.sections
    ]
    z = solved.z * ratio
    model = beam_of(mast, z, solved.sections, properties)
    return replace(solved, z=z, model=model, compliance=tip_compliance(model))


def _over(moments: tuple[float, float, float], ratio: float) -> tuple[float, float, float]:
    a, b, c = moments
    return a / ratio, b / ratio, c / ratio


def _limits(job: Job) -> tuple[EnvelopeLimit, ...]:
    """The user's limits, then strength and stability of each case, then fatigue where it is judged."""
    cases = {case.name for case in job.cases}
    out = [
        EnvelopeLimit(kind=Kind.MOVEMENT, case=limit.case, limit=limit)
        for limit in job.limits
        if limit.case in cases
    ]
    for kind in (Kind.STRENGTH, Kind.STABILITY):
        out += [EnvelopeLimit(kind=kind, case=case.name) for case in job.cases]
    fatigue = job.fatigue
    if fatigue is not None and {name for name, _ in fatigue.cycles} <= cases:
        out.append(EnvelopeLimit(kind=Kind.FATIGUE, case=", ".join(n for n, _ in fatigue.cycles)))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class _Load:
    """A load to solve: a case, or a state of fatigue, under a rider [kg], times a factor."""

    index: int
    mass: float
    factor: float
    fatigue: bool = False


class _Riders:
    """One mast under any rider, and what has been found of it so far."""

    def __init__(
        self, job: Job, solved: SolvedMast, faces: SectionFaces, limits: tuple[EnvelopeLimit, ...]
    ) -> None:
        self.job, self.solved, self.faces, self.limits = job, solved, faces, limits
        base, tip = springs(job.joints)
        self.frame = FrameModel(
            solved.model, keep=[float(z) for z in solved.z], base_joint=base, tip_joint=tip
        )
        self.cases = {case.name: i for i, case in enumerate(job.cases)}
        self.need = [max(1.0, case.strength_factor) for case in job.cases]
        coupling = worst_coupling(solved.sections)
        self.ratio = 1.0 if coupling is None else coupling.ratio
        self.uses: dict[tuple[int, float], float] = {}
        self.factors: dict[tuple[int, float], float] = {}

    def used(self, which: IntArray, masses: FloatArray) -> FloatArray:
        """Use of the limits ``which`` (k,) by riders ``masses`` (k,) [kg]; inf where unstable."""
        asked = [(int(i), float(m)) for i, m in zip(which, masses, strict=True)]
        fresh = [key for key in dict.fromkeys(asked) if key not in self.uses]
        self._buckle(fresh)
        wanted = {key: self._loads(*key) for key in fresh}
        loads = list(dict.fromkeys(load for listed in wanted.values() for load in listed or ()))
        slot = {load: k for k, load in enumerate(loads)}
        state = self._solve(loads)
        for (i, mass), listed in wanted.items():
            slots = None if listed is None else [slot[load] for load in listed]
            self.uses[i, mass] = self._use(i, mass, slots, state)
        return np.array([self.uses[key] for key in asked])

    def judged(self, mass: float) -> tuple[EnvelopeLimit, ...]:
        """The limits, with what of each is judged as seen under a rider [kg]."""
        thick = beyond_range(self.job.mast)
        strength = [i for i, limit in enumerate(self.limits) if limit.kind is Kind.STRENGTH]
        self._buckle([(i, mass) for i in strength])
        loads = {i: listed[0] for i in strength if (listed := self._loads(i, mass))}
        state = self._solve(list(loads.values()))
        told: dict[int, list[bool]] = {}
        for k, i in enumerate(loads):
            told[i] = [
                f.utilisation is not None and f.material not in thick
                for section, stress, z in self._stresses(state, k)
                for f in (
                    *material_findings(section, stress, z),
                    *panel_findings(section, self.faces[section], stress, z),
                )
            ]
        fatigue = self.job.fatigue
        for i, limit in enumerate(self.limits):
            if limit.kind is Kind.FATIGUE and fatigue is not None:
                told[i] = [
                    judging_curve(fatigue, self.job.mast.section, m) is not None
                    for m in materials_of(self.solved.sections)
                ]
        return tuple(
            replace(limit, judged=all(told[i]), judged_at_all=any(told[i])) if i in told else limit
            for i, limit in enumerate(self.limits)
        )

    def _buckle(self, asked: Sequence[tuple[int, float]]) -> None:
        """Buckling factors of every case that is asked of, each once."""
        wanted = dict.fromkeys(
            (self.cases[self.limits[i].case], mass)
            for i, mass in asked
            if self.limits[i].kind is not Kind.FATIGUE
        )
        fresh = [key for key in wanted if key not in self.factors]
        if not fresh:
            return
        still = [key for key in fresh if self.job.cases[key[0]].lift is not Lift.FOLLOWER]
        loads = [tip_load(_ridden(self.job, mass), self.job.cases[i]) for i, mass in still]
        if loads:
            found = buckling(self.frame, loads).factor
            self.factors.update(zip(still, map(float, found), strict=True))
        for i, mass in fresh:
            if (i, mass) not in self.factors:
                self.factors[i, mass] = self._following(i, mass)

    def _following(self, i: int, mass: float) -> float:
        """Stability factor of a case whose lift follows the wing; 0 where its bent shape falls."""
        job = replace(_ridden(self.job, mass), cases=(self.job.cases[i],))
        loads = {lift: [tip_load(job, job.cases[0], lift)] for lift in Lift}
        found = stability(job, self.solved, self.frame, loads)
        return 0.0 if found.shaky else float(found.factors[Lift.FOLLOWER][0])

    def _loads(self, i: int, mass: float) -> list[_Load] | None:
        """The loads that a limit's use is read from; None where the mast does not stand them."""
        limit = self.limits[i]
        if limit.kind is Kind.STABILITY:
            return []
        if limit.kind is Kind.FATIGUE:
            cycle = cycle_loads(_ridden(self.job, mass))
            if not all(stands(self.frame, cycle)):
                return None
            return [_Load(k, mass, 1.0, fatigue=True) for k in range(len(cycle))]
        case = self.cases[limit.case]
        # As in a check, no movement is given of a case that its factored load would buckle.
        if not self.factors[case, mass] > self.need[case]:
            return None
        strength = limit.kind is Kind.STRENGTH
        return [_Load(case, mass, self.job.cases[case].strength_factor if strength else 1.0)]

    def _solve(self, loads: Sequence[_Load]) -> BeamState | None:
        if not loads:
            return None
        made: list[TipLoad] = []
        for load in loads:
            job = _ridden(self.job, load.mass)
            cycle = load.fatigue
            made.append(cycle_loads(job)[load.index] if cycle else tip_load(job, job.cases[load.index]))
        return self.frame.solve(made, [load.factor for load in loads])

    def _use(self, i: int, mass: float, slots: list[int] | None, state: BeamState | None) -> float:
        """Value over limit of one limit; inf where there is no stable shape to read it from."""
        limit = self.limits[i]
        if limit.kind is Kind.STABILITY:
            case = self.cases[limit.case]
            have = self.factors[case, mass] / self.ratio
            return self.need[case] / have if have else float("inf")
        if slots is None or state is None:
            return float("inf")
        if not all(bool(state.converged[k] and state.stable[k]) for k in slots):
            return float("inf")
        if limit.kind is Kind.FATIGUE:
            found = assess(_ridden(self.job, mass), self.solved, state, slots)
            return max(w.used or 0.0 for w in found.worst)
        if limit.limit is not None:
            field, part = _PART[limit.limit.quantity]
            moved = abs(float(getattr(state, field)[slots[0], -1, part]))
            return moved * self.ratio / limit.limit.maximum
        return self._strength(state, slots[0])

    def _strength(self, state: BeamState, k: int) -> float:
        """Greatest use over all stations by every criterion that judges; 0 where none does."""
        worst = 0.0
        for section, stress, z in self._stresses(state, k):
            panels = panel_findings(section, self.faces[section], stress, z)
            worst = max(worst, float(np.nan_to_num(stress.greatest)))
            worst = max([worst, *(f.utilisation for f in panels if f.utilisation is not None)])
        return worst

    def _stresses(
        self, state: BeamState | None, k: int
    ) -> Iterator[tuple[SectionModel, StationStress, float]]:
        """Each station's section, its stresses in the k-th solved load, and its z [m]."""
        if state is None:
            return
        at = [np.interp(self.solved.z, state.z, r) for r in state.resultants[k].T]
        for section, resultants, z in zip(
            self.solved.sections, np.column_stack(at), self.solved.z, strict=True
        ):
            yield section, station_stress(section, resultants), float(z)


_PART = {
    Quantity.SIDE_DEFLECTION: ("displacement", 1),
    Quantity.FORE_AFT_DEFLECTION: ("displacement", 0),
    Quantity.ROLL: ("rotation", 0),
    Quantity.PITCH: ("rotation", 1),
    Quantity.TWIST: ("rotation", 2),
}
"""Where a beam's state holds the quantity of a limit."""


def _ridden(job: Job, mass: float) -> Job:
    return replace(job, rider=replace(job.rider, mass=mass))


def _row(
    winged: Sequence[_Riders], length: float, riders: tuple[float, float], names: Sequence[str] = ()
) -> EnvelopeRow:
    """Every limit at one length: the least over the wings ``names``, or of the one mast without."""
    first = winged[0]
    found = [_found(first, range(len(first.limits)), riders)]
    for here in winged[1:]:
        # Most limits take no notice of the wing, and are those of the first.
        own = [k for k, limit in enumerate(first.limits) if of_the_wing(limit, first.job, here.job)]
        found.append({**found[0], **_found(here, own, riders)})
    return least_row(length, found, names or [""])


def _found(here: _Riders, which: Sequence[int], riders: tuple[float, float]) -> Found:
    """The heaviest rider of each limit ``which`` at one length, with one wing."""
    n, limits = len(which), np.array(which, dtype=np.int64)
    if not n:
        return {}
    masses = np.linspace(*riders, SCANNED)
    scanned = here.used(np.repeat(limits, SCANNED), np.tile(masses, n)).reshape(n, SCANNED)
    over = scanned > 1
    first = over.argmax(axis=1)
    crossed = np.flatnonzero(over.any(axis=1) & (first > 0))
    closed = _close_in(here, limits[crossed], masses[first[crossed] - 1], masses[first[crossed]])
    found = dict(zip(crossed.tolist(), closed, strict=True))
    return {
        int(i): (
            _heaviest(here, int(i), over=bool(over[k].any()), mass=found.get(k)),
            float(scanned[k, 0]),
        )
        for k, i in enumerate(limits)
    }


def _heaviest(here: _Riders, i: int, *, over: bool, mass: float | None) -> Heaviest:
    seen = np.array([use for (k, _), use in sorted(here.uses.items()) if k == i])
    seen = seen[np.isfinite(seen)]
    steady = bool((np.diff(seen) > -FALLS).all())
    if mass is not None:
        return Heaviest(reach=Reach.FOUND, mass=mass, steady=steady)
    if over:
        return Heaviest(reach=Reach.BELOW, steady=steady)
    judged = here.limits[i].judged_at_all
    return Heaviest(reach=Reach.ABOVE if judged else Reach.NOT_JUDGED, steady=steady)


def _close_in(here: _Riders, which: IntArray, low: FloatArray, high: FloatArray) -> list[float]:
    """The heaviest riders that hold, between one that holds and a heavier that does not."""
    if not len(which):
        return []
    from scipy.optimize import elementwise

    def past(mass: FloatArray, limit: IntArray) -> FloatArray:
        use = here.used(limit, mass)
        # Bounded, so that a use without end (unstable) is as good a bracket as any.
        return np.where(np.isinf(use), 1.0, (use - 1) / (np.where(np.isinf(use), 0.0, use) + 1))

    closed = elementwise.find_root(
        past,
        (low, high),
        args=(which,),
        tolerances={"xatol": CLOSE, "xrtol": 0.0, "fatol": 0.0, "frtol": 0.0},
    )
    # Of the two ends of each bracket the heavier that holds; both do where one is the very edge.
    ends, past_ends = np.stack(closed.bracket), np.stack(closed.f_bracket)
    return [float(m) for m in np.where(past_ends <= 0, ends, -np.inf).max(axis=0)]
