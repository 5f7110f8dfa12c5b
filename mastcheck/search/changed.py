"""A job that is off by so much of each of its tolerances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mastcheck.checks.section_rates import moved
from mastcheck.drawn import Drawing
from mastcheck.job import Job
from mastcheck.laminate import Lamina
from mastcheck.mast import Calibration, Mast, Outline, SkinPly, Station
from mastcheck.material import Material
from mastcheck.scatter import Quantity, Tolerance
from mastcheck.search.scatter import KINDS, limits_at


def changed(job: Job, tolerances: Sequence[Tolerance], amounts: Sequence[float]) -> Job:
    """The job with each quantity off by an amount, in limits (1: at its upper one).

    What G scatters beside E is, in a laminate, put on its torsional stiffness: no ply's constants are
    the wall's G alone.
    """
    mast, by_load = job.mast, 1.0
    for tolerance, amount in zip(tolerances, amounts, strict=True):
        by = tolerance.limit * amount
        match tolerance.quantity:
            case Quantity.LOAD:
                by_load = 1 + by
            case Quantity.LENGTH:
                longer = mast.length * (1 + by) if tolerance.relative else mast.length + by
                mast = mast.with_length(longer)
            case Quantity.E:
                mast = _stiffer(mast, E=1 + by, G=1 + by)
            case Quantity.G:
                mast = _twisting(mast, 1 + by) if is_laminate(mast) else _stiffer(mast, E=1.0, G=1 + by)
            case _:
                # By the sizes as stated: none depends on what was changed before it.
                for j, limit in enumerate(limits_at(job.mast, tolerance)):
                    at = mast.stations[j].at
                    mast = moved(mast, KINDS[tolerance.quantity], limit * amount, at=at, station=j)
    return loaded(replace(job, mast=mast), by_load)


def loaded(job: Job, by: float) -> Job:
    """The job with every force and moment of every case multiplied."""
    cases = tuple(
        replace(
            case,
            force=(case.force[0] * by, case.force[1] * by, case.force[2] * by),
            moment=(case.moment[0] * by, case.moment[1] * by, case.moment[2] * by),
        )
        for case in job.cases
    )
    rider = replace(job.rider, mass=job.rider.mass * by, gear_mass=job.rider.gear_mass * by)
    return replace(job, rider=rider, cases=cases)


def is_laminate(mast: Mast) -> bool:
    """Whether any wall is made of plies, whose constants are its own."""
    return mast.section.material.laminate is not None or any(s.plies for s in mast.stations)


def stiffer(material: Material, *, E: float, G: float) -> Material:
    """A material with its moduli multiplied; of a laminate all constants of its laminas, by E."""
    laminate = material.laminate
    if laminate is not None:
        plies = tuple(replace(p, lamina=_lamina(p.lamina, E)) for p in laminate.plies)
        laminate = replace(laminate, plies=plies)
    return replace(material, E=material.E * E, G=material.G * G, laminate=laminate)


def _lamina(lamina: Lamina, by: float) -> Lamina:
    return replace(lamina, E1=lamina.E1 * by, E2=lamina.E2 * by, G12=lamina.G12 * by)


def _stiffer(mast: Mast, *, E: float, G: float) -> Mast:
    """All materials of the mast, each made anew once: the solver tells them apart by identity."""
    made: dict[int, Material] = {}
    outlines: dict[int, Outline] = {}

    def material(old: Material) -> Material:
        if id(old) not in made:
            made[id(old)] = stiffer(old, E=E, G=G)
        return made[id(old)]

    def outline(old: Outline) -> Outline:
        if not isinstance(old, Drawing):
            return old
        if id(old) not in outlines:
            loops = tuple(
                replace(loop, fill=None if loop.fill is None else material(loop.fill))
                for loop in old.loops
            )
            outlines[id(old)] = replace(old, loops=loops)
        return outlines[id(old)]

    def ply(old: SkinPly) -> SkinPly:
        return replace(old, lamina=_lamina(old.lamina, E))

    def station(old: Station) -> Station:
        own = None if old.outline is None else outline(old.outline)
        return replace(old, outline=own, plies=tuple(map(ply, old.plies)))

    recipe = mast.section
    section = replace(
        recipe,
        outline=outline(recipe.outline),
        material=material(recipe.material),
        core=None if recipe.core is None else material(recipe.core),
        channels=tuple(
            replace(c, material=None if c.material is None else material(c.material))
            for c in recipe.channels
        ),
    )
    return replace(mast, section=section, stations=tuple(map(station, mast.stations)))


def _twisting(mast: Mast, by: float) -> Mast:
    now = mast.calibration or Calibration()
    return replace(mast, calibration=replace(now, factor_GJ=now.factor_GJ * by))
