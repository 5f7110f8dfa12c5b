"""Motion of one job: modes in air and water, shedding, divergence; and what must be said of them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from mastcheck.beam.solve import FrameModel
from mastcheck.checks.joined import springs
from mastcheck.checks.result import Check, MastResult, Ratio, Verdict
from mastcheck.checks.stations import SolvedMast
from mastcheck.job import Job
from mastcheck.motion import water
from mastcheck.motion.divergence import DIVERGENCE_SOURCE, divergence, speed
from mastcheck.motion.result import MotionResult
from mastcheck.motion.shedding import LAYER_SOURCE, STROUHAL_SOURCE, shedding
from mastcheck.motion.vibration import COUNT, MOST, modes_in_air, modes_in_water, waterline
from mastcheck.source import Grade, Source

BARE = (
    "Motion is that of the bare mast: the file has no [foil] with the mass of fuselage and wings, which "
    "lower the frequencies, and no wing, whose lift may bring divergence in pitch."
)
HUM = (
    "Shedding at the trailing edge that meets a mode may make a mast hum and tire it; it is no failure "
    f"of strength, and the speeds are a wide band. Modes above the lowest {MOST}, and bending of the "
    "section across its chord, are not in it. Frequencies take the foil and the board as rigid, and "
    "what is not described of the joints: real ones are lower."
)
DIVERGENCE = (
    "Divergence speeds are static, by strip theory in deep water: no free surface, air drawn down, "
    "cavitation or flutter, and the unbent mast. Keep well below them.{judged}"
)
NOT_JUDGED = " No margin to top speed is set ([limits] divergence_margin), so it is not judged."


def motion(job: Job, solved: SolvedMast) -> MotionResult:
    """Modes, shedding and divergence of a solved mast.

    Args:
        job: the mast, its foil, water and speeds.
        solved: its sections and beam.
    """
    mast, model, foil = job.mast, solved.model, job.foil
    level = waterline(mast, job.wet)
    # A node at the waterline, where added mass and lift begin at once.
    base, tip = springs(job.joints)
    frame = FrameModel(model, keep=[level], base_joint=base, tip_joint=tip)
    wet = modes_in_water(mast, model, frame, foil, level=level, density=job.water_density)
    found = divergence(mast, frame, foil, level=level)
    return MotionResult(
        foil=foil,
        waterline=level,
        water_density=job.water_density,
        speeds=job.speeds,
        in_air=modes_in_air(mast, model, frame, foil),
        in_water=wet[:COUNT],
        shedding=shedding(mast, wet, level=level, speeds=job.speeds),
        divergence=found,
        twist_speed=speed(found.twist, job.water_density),
        pitch_speed=None if found.pitch is None else speed(found.pitch, job.water_density),
        basis=tuple(_basis(job)),
    )


def motion_checks(job: Job, found: MotionResult) -> tuple[Check, ...]:
    """Divergence over top speed against the user's margin; nothing where none is set."""
    need = job.divergence_margin
    if need is None:
        return ()
    have = found.divergence_speed / found.speeds[1]
    return (
        Check(
            name="divergence speed over top speed, at least",
            case="",
            value=have,
            limit=need,
            unit="",
            utilisation=need / have,
            verdict=Verdict.PASS if have >= need else Verdict.FAIL,
        ),
    )


def motion_ratios(masts: Sequence[MastResult]) -> tuple[Ratio, ...]:
    """The first modes and divergence across masts; nothing where motion was not looked at."""
    found = [m.motion for m in masts]
    if not any(found):
        return ()

    def first(kind: str, m: MotionResult | None, *, wet: bool) -> float | None:
        modes = () if m is None else m.in_water if wet else m.in_air
        return next((mode.frequency for mode in modes if mode.name.startswith(kind)), None)

    kinds = ("side bending 1", "twist 1", "fore-aft bending 1")
    rows: list[tuple[str, str, list[float | None]]] = [
        (f"{kind}, in {'water' if wet else 'air'}", "Hz", [first(kind, m, wet=wet) for m in found])
        for wet in (False, True)
        for kind in kinds
    ]
    rows.append(("divergence in twist", "m/s", [None if m is None else m.twist_speed for m in found]))
    rows.append(("divergence in pitch", "m/s", [None if m is None else m.pitch_speed for m in found]))
    return tuple(
        Ratio(name=name, unit=unit, values=tuple(values), ratios=tuple(_over(values)))
        for name, unit, values in rows
        if any(v is not None for v in values)
    )


def _over(values: Sequence[float | None]) -> list[float | None]:
    """Each value over the first, where both are finite."""
    a = values[0]
    return [None if v is None or not a or math.isinf(a) or math.isinf(v) else v / a for v in values]


def motion_cautions(job: Job, found: MotionResult) -> tuple[str, ...]:
    """What a reader of the frequencies and speeds must know."""
    judged = NOT_JUDGED if job.divergence_margin is None else ""
    bare = (BARE,) if found.foil is None else ()
    return (*bare, HUM, DIVERGENCE.format(judged=judged))


def _basis(job: Job) -> list[tuple[str, Source]]:
    """What each number of the motion rests on."""
    wing = None if job.foil is None else job.foil.wing
    out = [("water density", water.DENSITY_SOURCE)] if job.water_density == 1026.0 else []
    out += [
        ("added mass of the mast", water.ADDED_MASS_SOURCE),
        ("shedding frequency", STROUHAL_SOURCE),
        ("boundary layer at the tail", LAYER_SOURCE),
        ("divergence", DIVERGENCE_SOURCE),
        ("lift of the strut", water.STRIP_SOURCE),
    ]
    if wing is not None:
        stated = Source(title="lift_slope of the foil", grade=Grade.USER)
        slope = water.LIFT_SLOPE_SOURCE if wing.lift_slope is None else stated
        out += [("added mass of the wing", water.WING_MASS_SOURCE), ("lift slope of the wing", slope)]
    return out
