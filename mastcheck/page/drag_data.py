"""What the page works out the mast's drag from, term by term as ``water.drag`` does.

The tail's thickness is the one number that does not follow from the stations by a formula: it is read
off along the mast, and held as a straight line between places that lie as close as it needs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise

from mastcheck.checks.result import MastResult
from mastcheck.mast import Mast
from mastcheck.motion.shedding import tail
from mastcheck.water.base_drag import BASE
from mastcheck.water.drag import PROFILE_SPREAD, cavitation_speed
from mastcheck.water.side import water_of
from mastcheck.water.spray import SPRAY

Data = dict[str, object]

STRAIGHT = 1e-9
"""How far a tail may lie from the straight line between two places [m]."""
MOST_HALVINGS = 7
"""Halvings of an interval between stations after which a tail that jumps or bends is left as it is."""


def drag_data(result: MastResult) -> Data:
    """Drag of a checked mast for ``drag.js``; SI.

    Returns:
        ``taper_about``; ``stations``: ``at``, ``chord``, ``thickness`` (n,), linear between; ``tail``:
        ``at`` and ``thickness`` (m,), linear between; ``density`` and ``viscosity`` of the water;
        ``roughness`` [m]; ``wet_fraction``, and ``ride_height`` (None: not stated); ``speeds`` looked at
        by the check; ``spray`` and ``base``: coefficients (value, low, high); ``spread``: upper end of
        the band of friction and profile drag; ``cavitation``: speed for a thickness over chord of 1.
    """
    job = result.job
    mast, conditions = job.mast, job.conditions
    water = replace(water_of(conditions), density=job.water_density)
    at, thickness = _tail(mast)
    return {
        "taper_about": mast.taper_about,
        "stations": {
            "at": [s.at for s in mast.stations],
            "chord": [s.chord for s in mast.stations],
            "thickness": [s.thickness for s in mast.stations],
        },
        "tail": {"at": at, "thickness": thickness},
        "density": water.density,
        "viscosity": water.viscosity,
        "roughness": conditions.roughness,
        "wet_fraction": job.wet_fraction,
        "ride_height": conditions.ride_height,
        "speeds": list(job.speeds),
        "spray": [SPRAY.value, SPRAY.low, SPRAY.high],
        "base": [BASE.value, BASE.low, BASE.high],
        "spread": PROFILE_SPREAD,
        "cavitation": cavitation_speed(1.0, water),
    }


def _tail(mast: Mast) -> tuple[list[float], list[float]]:
    """Places (fractions of the length) and the tail's thickness there [m]; 0 where sharp or unknown."""

    def thickness(at: float) -> float:
        return tail(mast, at)[1]

    places = [(s.at, thickness(s.at)) for s in mast.stations]
    out = places[:1]
    for first, last in pairwise(places):
        out += [*_between(thickness, first, last, MOST_HALVINGS), last]
    return [at for at, _ in out], [h for _, h in out]


def _between(
    thickness: Callable[[float], float],
    first: tuple[float, float],
    last: tuple[float, float],
    halvings: int,
) -> Iterator[tuple[float, float]]:
    """Places between two, so that straight lines through all of them hold the thickness."""
    (a, low), (b, high) = first, last
    inner = [(a + (b - a) * share, low + (high - low) * share) for share in (0.25, 0.5, 0.75)]
    if not halvings or all(abs(thickness(at) - h) <= STRAIGHT for at, h in inner):
        return
    middle = (a + b) / 2, thickness((a + b) / 2)
    yield from _between(thickness, first, middle, halvings - 1)
    yield middle
    yield from _between(thickness, middle, last, halvings - 1)
