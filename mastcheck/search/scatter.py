"""The tolerances of a job: those its file states, and those assumed for the likely process."""

from __future__ import annotations

from mastcheck.checks.process import Process, guess_process
from mastcheck.checks.section_rates import size_at, sizes_of
from mastcheck.checks.sensitivity_result import Kind
from mastcheck.errors import InputError, Problem
from mastcheck.job import Job
from mastcheck.mast import Construction, Mast
from mastcheck.scatter import Quantity, Tolerance
from mastcheck.source import Grade, Source

MOST = 0.5
"""Largest tolerance as a share of the least size it is on: beyond, no band means much."""

_PROFILE = Source(
    title="about the limits of EN 755-9 for such a profile, not looked up",
    grade=Grade.MEMORY,
)
_SHOP = Source(title="what a careful shop holds", grade=Grade.ASSUMED)
_MOULD = Source(title="what a mould and a press hold", grade=Grade.ASSUMED)
_PLIES = Source(title="fibre weight and resin content of a careful shop", grade=Grade.ASSUMED)
_FIBRES = Source(
    title="fibre fraction, voids and fibre angles; apart from the plies' thickness, though a ply that"
    " is thick by resin alone is hardly stiffer",
    grade=Grade.ASSUMED,
)
_METAL = Source(
    title="handbooks differ by some 3 % for one alloy; Poisson's ratio held", grade=Grade.ASSUMED
)
_OTHER = Source(title="material of no kind that is known here", grade=Grade.ASSUMED)
_RIDE = Source(title="how hard a rider of the stated mass rides", grade=Grade.ASSUMED)

_WALLS = ((1.5e-3, 0.20e-3), (3e-3, 0.25e-3), (6e-3, 0.40e-3), (float("inf"), 0.60e-3))
"""± [m] for walls of a hollow profile up to so thick."""

KINDS = {Quantity.WALL: Kind.WALL, Quantity.CHORD: Kind.CHORD, Quantity.THICKNESS: Kind.THICKNESS}
"""Sizes, by what sensitivities call them."""


def tolerances_of(job: Job) -> tuple[Tolerance, ...]:
    """All that scatters of a job, in the order of ``Quantity``; one limit each.

    Raises: InputError where a stated one is on something that the mast has not, or too large for it.
    """
    stated = {t.quantity: t for t in job.scatter}
    problems = [p for t in job.scatter if (p := _fault(job, t)) is not None]
    if problems:
        raise InputError(tuple(problems))
    known = _assumed(job.mast) | stated
    return tuple(known[q] for q in Quantity if q in known and known[q].limit > 0)


def limits_at(mast: Mast, tolerance: Tolerance) -> tuple[float, ...]:
    """A size's limit at each station of the mast file [m]."""
    if not tolerance.relative:
        return (tolerance.limit,) * len(mast.stations)
    kind = KINDS[tolerance.quantity]
    return tuple(tolerance.limit * size_at(mast, kind, s.at) for s in mast.stations)


def _fault(job: Job, tolerance: Tolerance) -> Problem | None:
    """What is wrong with a stated tolerance on this mast."""
    mast, quantity = job.mast, tolerance.quantity
    key = f"tolerances.{quantity}"
    if quantity is Quantity.WALL and Kind.WALL not in sizes_of(mast):
        return Problem(
            key=key, found=_shown(tolerance), rule="this mast has no wall", remedy="remove it",
            file=job.file,
        )  # fmt: skip
    if quantity not in KINDS or tolerance.relative:
        return None
    least = min(size_at(mast, KINDS[quantity], s.at) for s in mast.stations)
    if tolerance.limit <= MOST * least:
        return None
    rule = f"is more than half of the least {quantity}, {least * 1e3:.4g} mm"
    return Problem(
        key=key, found=_shown(tolerance), rule=rule, remedy="check the number and its unit",
        file=job.file,
    )  # fmt: skip


def _shown(tolerance: Tolerance) -> str:
    if tolerance.relative:
        return f'"{tolerance.limit * 100:.4g} %"'
    return f'"{tolerance.limit * 1e3:.4g} mm"'


def _assumed(mast: Mast) -> dict[Quantity, Tolerance]:
    hollow = mast.section.construction in (Construction.HOLLOW, Construction.DRAWN)
    process, _ = guess_process(mast, hollow=hollow)
    sizes = sizes_of(mast)
    found: dict[Quantity, tuple[float, bool, Source]] = {
        Quantity.LOAD: (0.10, True, _RIDE),
        Quantity.LENGTH: (1e-3, False, _SHOP),
    }
    match process:
        case Process.EXTRUSION:
            wall = min(size_at(mast, Kind.WALL, s.at) for s in mast.stations) if len(sizes) > 2 else 0.0
            found[Quantity.WALL] = (next(t for to, t in _WALLS if wall <= to), False, _PROFILE)
            found[Quantity.CHORD] = (0.9e-3, False, _PROFILE)
            found[Quantity.THICKNESS] = (0.4e-3, False, _PROFILE)
            found[Quantity.E] = (0.03, True, _METAL)
        case Process.MACHINING:
            found[Quantity.WALL] = (0.05, True, _SHOP)
            found[Quantity.CHORD] = (0.2e-3, False, _SHOP)
            found[Quantity.THICKNESS] = (0.15e-3, False, _SHOP)
            found[Quantity.E] = (0.03, True, _METAL)
        case Process.LAYUP:
            found[Quantity.WALL] = (0.06, True, _PLIES)
            found[Quantity.CHORD] = (0.5e-3, False, _MOULD)
            found[Quantity.THICKNESS] = (0.3e-3, False, _MOULD)
            found[Quantity.E] = (0.08, True, _FIBRES)
            found[Quantity.G] = (0.08, True, _FIBRES)
        case Process.OTHER:
            found[Quantity.WALL] = (0.08, True, _OTHER)
            found[Quantity.CHORD] = (0.5e-3, False, _OTHER)
            found[Quantity.THICKNESS] = (0.3e-3, False, _OTHER)
            found[Quantity.E] = (0.05, True, _OTHER)
    return {
        q: Tolerance(quantity=q, limit=limit, relative=relative, source=source)
        for q, (limit, relative, source) in found.items()
        if q not in KINDS or KINDS[q] in sizes
    }
