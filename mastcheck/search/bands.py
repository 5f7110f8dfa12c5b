"""Linear propagation: what each tolerance at its limit changes, by the exact sensitivities of a check.

Sizes, length, E and G by the rates of ``checks.sensitivity``; load by the tangent of each case's second
order balance; stability factors, which no adjoint gives, by the beams at both limits of each tolerance,
on section properties drawn out by their rates. What G scatters beside E in a laminate is no rate of
those: it is put on the torsional stiffness of solved sections, and whole checks are differenced.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.loads import Loads
from mastcheck.beam.sensitivity import Perturbation, resultant_rates, tip_rates
from mastcheck.checks.loads import tip_load
from mastcheck.checks.result import CaseResult, MastResult
from mastcheck.checks.run import check
from mastcheck.checks.section_rates import RatesAlong, rates_along
from mastcheck.checks.sensitivity import sensitivity, station_utilisation
from mastcheck.checks.sensitivity_result import CaseSensitivity, Kind, SensitivityResult
from mastcheck.checks.tolerance_result import Band
from mastcheck.material import Material
from mastcheck.scatter import Quantity, Tolerance, half_width
from mastcheck.search.band_stability import frame_of, stability_changes
from mastcheck.search.changed import changed, is_laminate, stiffer
from mastcheck.search.headline import (
    FORE_AFT,
    MASS,
    PER_LOAD,
    SIDE,
    STABILITY,
    TWIST,
    USED,
    Headline,
    headlines,
)
from mastcheck.search.scatter import KINDS, limits_at
from mastcheck.section.model import SectionModel

FloatArray = NDArray[np.float64]

_SHARE = 1e-3  # of a modulus, by which utilisation is differenced
_NEAR = 0.2  # of a limit, by which whole checks are differenced
_PLACE = {FORE_AFT: 0, SIDE: 1, TWIST: 5}
_PRINTED = {FORE_AFT: 1e3, SIDE: 1e3, TWIST: math.degrees(1)}
_COMPLIANCE = {
    PER_LOAD[FORE_AFT]: (0, 1e5), PER_LOAD[SIDE]: (1, 1e5), PER_LOAD[TWIST]: (5, math.degrees(10)),
}  # fmt: skip


def bands(
    result: MastResult,
    tolerances: tuple[Tolerance, ...],
    *,
    progress: Callable[[str, float], None] | None = None,
) -> tuple[Band, ...]:
    """The 95 % band of every headline number of a checked mast.

    Args:
        result: the mast, checked.
        tolerances: what scatters, each independent of the others.
        progress: called with what is being done and the share done (0 to 1).

    Raises: GeometryError when a section with slightly other sizes cannot be built.
    """
    mast = result.job.mast
    words = f"{mast.name}: sections of slightly other sizes"
    along = rates_along(
        mast, result.z, result.sections, None if progress is None else lambda s: progress(words, s)
    )
    rates = result.sensitivity or sensitivity(result, along=along)
    change = _Changes(result, rates, along, tolerances)
    twisting = {
        i: _by_twisting(result, tolerances, i)
        for i, t in enumerate(tolerances)
        if t.quantity is Quantity.G and is_laminate(mast)
    }
    out = []
    for head, value in headlines(result).items():
        changes = change.of(head)
        if changes is None:
            continue
        for i, by_case in twisting.items():
            changes[i] = by_case.get(head, 0.0)
        out.append(
            Band(
                name=head.name,
                case=head.case,
                unit=head.unit,
                value=value,
                changes=tuple(float(c) for c in changes),
                half_width=float(half_width(changes, tolerances)),
                worst=float(np.abs(changes).sum()),
            )
        )
    return tuple(out)


def _by_twisting(
    result: MastResult, tolerances: tuple[Tolerance, ...], which: int
) -> dict[Headline, float]:
    """What a laminate's G at its limit adds to each headline number, by checks on either side."""
    ends = []
    for sign in (1, -1):
        amounts = [0.0] * len(tolerances)
        amounts[which] = sign * _NEAR
        ends.append(headlines(check(changed(result.job, tolerances, amounts))))
    above, below = ends
    return {head: (above[head] - below[head]) / (2 * _NEAR) for head in above if head in below}


class _Changes:
    """What each of k tolerances, at its upper limit, adds to a headline number, by its rate."""

    def __init__(
        self,
        result: MastResult,
        rates: SensitivityResult,
        along: RatesAlong,
        tolerances: tuple[Tolerance, ...],
    ) -> None:
        self._result, self._rates, self._tolerances = result, rates, tolerances
        # (p, k): by how much each change of the sensitivities is made by each tolerance.
        self._made = np.stack([_made(result, rates, t) for t in tolerances], axis=-1)
        self._by_case = {case.name: case for case in rates.cases}
        self._by_load = _by_load(result, rates)
        self._stability = stability_changes(result, along, tolerances)

    def of(self, head: Headline) -> FloatArray | None:
        """The changes (k,), None where no rate is known."""
        if head.name == MASS:
            return np.asarray(self._rates.mass @ self._made)
        if head.name in _COMPLIANCE:
            i, by = _COMPLIANCE[head.name]
            return np.asarray(self._rates.compliance[i, i] @ self._made) * by
        if head.name == STABILITY:
            return self._stability.get(head.case)
        found = self._by_case.get(head.case)
        case = next(c for c in self._result.cases if c.case.name == head.case)
        if found is None or case.tip is None:
            return None
        by_load_tip, by_load_used = self._by_load[head.case]
        if head.name == USED:
            if found.utilisation is None or by_load_used is None:
                return None
            own = found.utilisation @ self._made + self._corrected(case, found)
            return np.asarray(own + by_load_used * self._loads())
        i = _PLACE[head.name]
        moved = {FORE_AFT: case.tip.fore_aft, SIDE: case.tip.side, TWIST: case.tip.twist}[head.name]
        sign = -1.0 if moved < 0 else 1.0
        changes = found.tip[i] @ self._made + by_load_tip[i] * self._loads()
        return np.asarray(changes * sign * _PRINTED[head.name])

    def _loads(self) -> FloatArray:
        """(k,) the limit of the load, nil elsewhere."""
        return np.array([t.limit if t.quantity is Quantity.LOAD else 0.0 for t in self._tolerances])

    def _corrected(self, case: CaseResult, found: CaseSensitivity) -> FloatArray:
        """(k,) what the utilisation's rates by E and G together have too much of in a laminate.

        They change a wall's moduli and leave its plies' constants; here E changes the plies', strengths
        held, so that the same forces use as much of them as before.
        """
        out = np.zeros(len(self._tolerances))
        mast = self._result.job.mast
        if not is_laminate(mast) or found.z is None or case.strength_line is None:
            return out
        section = self._result.sections[int(np.argmin(np.abs(self._result.z - found.z)))]
        line, z = case.strength_line, found.z
        now = np.array([np.interp(z, line.z, r) for r in line.resultants.T])

        def used(change: Callable[[Material, float], Material], by: float) -> float:
            return station_utilisation(_made_of(section, lambda m: change(m, by)), now, z)

        def rate(change: Callable[[Material, float], Material]) -> float:
            return (used(change, 1 + _SHARE) - used(change, 1 - _SHARE)) / (2 * _SHARE)

        by_E = rate(lambda m, by: replace(m, E=m.E * by))
        by_G = rate(lambda m, by: replace(m, G=m.G * by))
        own = rate(lambda m, by: stiffer(m, E=by, G=by))
        for i, tolerance in enumerate(self._tolerances):
            if tolerance.quantity is Quantity.E:
                out[i] = tolerance.limit * (own - by_E - by_G)
        return out


def _made_of(section: SectionModel, change: Callable[[Material], Material]) -> SectionModel:
    """The section with its materials changed, each once."""
    made = {id(r.material): change(r.material) for r in section.regions}
    regions = tuple(replace(r, material=made[id(r.material)]) for r in section.regions)
    return replace(section, regions=regions)


def _made(result: MastResult, rates: SensitivityResult, tolerance: Tolerance) -> FloatArray:
    """(p,) by how much each change of the sensitivities is made by a tolerance at its limit."""
    out = np.zeros(len(rates.changes))
    mast, quantity = result.job.mast, tolerance.quantity
    match quantity:
        case Quantity.LOAD:
            pass
        case Quantity.LENGTH:
            by = tolerance.limit * (mast.length if tolerance.relative else 1.0)
            out[list(rates.total(Kind.LENGTH))] = by
        case Quantity.E:
            out[[*rates.total(Kind.E), *rates.total(Kind.G)]] = tolerance.limit
        case Quantity.G:
            out[list(rates.total(Kind.G))] = tolerance.limit
        case _:
            limits = limits_at(mast, tolerance)
            for i in rates.total(KINDS[quantity]):
                station = rates.changes[i].station
                out[i] = 0.0 if station is None else limits[station]
    return out


def _by_load(result: MastResult, rates: SensitivityResult) -> dict[str, tuple[FloatArray, float | None]]:
    """Rates of each stable case's tip movement (6,) and utilisation by a share of its load."""
    names = {case.name for case in rates.cases}
    cases = [case for case in result.cases if case.case.name in names]
    if not cases:
        return {}
    frame = frame_of(result, result.z)
    loads = [tip_load(result.job, case.case) for case in cases]
    factors = np.array([1.0] * len(cases) + [case.case.strength_factor for case in cases])
    eq = frame.equilibrium([*loads, *loads], list(factors))
    # On a given shape all loads are in proportion to their share.
    pushed = Loads(frame.z, [*loads, *loads], factors).vector(eq.x, eq.r)
    change = Perturbation(
        elements=np.zeros((frame.n - 1, 8, 8, 1)),
        length=np.zeros(1),
        loads=pushed.reshape(len(factors), frame.n, -1, 1),
    )
    tips = tip_rates(frame, eq, change)[..., 0]
    out: dict[str, tuple[FloatArray, float | None]] = {}
    for i, case in enumerate(cases):
        used = None
        if case.utilisation_along_z is not None:
            k = int(case.utilisation_along_z.argmax())
            node = int(np.argmin(np.abs(frame.z - result.z[k])))
            by = resultant_rates(frame, eq, len(cases) + i, node, change)[:, 0]
            used = _used_by_resultants(result, case, k, by)
        out[case.case.name] = tips[i], used
    return out


def _used_by_resultants(result: MastResult, case: CaseResult, k: int, by: FloatArray) -> float | None:
    """Rate of the utilisation at station k, where all resultants change at once by ``by`` (7,)."""
    line = case.strength_line
    if line is None:
        return None
    z = float(result.z[k])
    now = np.array([np.interp(z, line.z, r) for r in line.resultants.T])
    ends = [station_utilisation(result.sections[k], now + s * _SHARE * by, z) for s in (1, -1)]
    return (ends[0] - ends[1]) / (2 * _SHARE)
