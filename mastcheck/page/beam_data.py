"""What the page's beam solve needs, as plain data, from a result alone: no section is solved again.

A page lets length, rider and load be changed. At another length the stations stay at their fractions and
so keep their sections; of a section's numbers only the torque along inclined fibres (``fibre``) depends
on the length, as 1/length, since a taper stretches with it (``section.scaling``). What is shipped of it
is therefore the torque times the length. Whether a fixed end has room to die away depends on the length
too, and so the least length goes along.

How many stations are enough was found at the result's own length. A check at another length may find
that it needs more or fewer (``checks.stations``), and then differs by up to that rule's 0.1 %.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.model import ROOTS
from mastcheck.checks.joined import springs
from mastcheck.checks.result import MastResult
from mastcheck.checks.stations import LEAST_SLENDER
from mastcheck.loadcase import LoadCase
from mastcheck.page.blocks import packed
from mastcheck.section.ends import at_tip

FloatArray = NDArray[np.float64]
Data = dict[str, object]

SCALARS = (
    "EA", "EIxx", "EIyy", "EIxy", "GJ", "EGamma", "shear_flex_xx", "shear_flex_yy", "shear_flex_xy",
    "centroid_x", "centroid_y", "shear_centre_x", "shear_centre_y", "mass_per_length",
)  # fmt: skip
"""Columns of one number a station, in the order in which ``beam_model.js`` reads them."""
TRIPLES = ("fibre_before", "fibre_after", "contraction")
"""Columns of three numbers that follow them; both fibres times the length."""


def beam_data(result: MastResult) -> Data:
    """The beam of a checked mast for ``beam_solve.js``; SI, per station where nothing else is said.

    Args:
        result: of the mast.

    Returns:
        ``at`` (n,) fractions of the length and ``values`` (n, k), columns SCALARS and TRIPLES;
        ``powers``: of which power of each scalar the spline is; ``breaks``: fractions where the outline
        breaks; ``tip_restrained``; ``base_end`` and ``tip_end``: compliance (6, 6) that the fixed ends
        add, or None, taken from the length ``ends_from`` [m] on; ``base_joint`` and ``tip_joint``:
        compliance (6, 6) of the joints, None where rigid.
    """
    mast = result.job.mast
    sections, length = result.sections, mast.length
    scalars = [[getattr(s.properties, name) for name in SCALARS] for s in sections]
    by = {"fibre_before": length, "fibre_after": length, "contraction": 1.0}
    triples = [
        [value * by[name] for name in TRIPLES for value in getattr(s.properties, name)] for s in sections
    ]
    restrained = mast.tip_warping == "restrained"
    base_end, tip_end = sections[0].end, sections[-1].end if restrained else None
    base_joint, tip_joint = springs(result.job.joints)
    return {
        "at": _fractions(result),
        "values": packed(np.hstack([np.array(scalars), np.array(triples)]), "f64"),
        "powers": [ROOTS[name] for name in SCALARS],
        "breaks": [s.at for s in mast.stations],
        "tip_restrained": restrained,
        "base_end": _matrix(base_end),
        "tip_end": _matrix(None if tip_end is None else at_tip(tip_end)),
        "ends_from": LEAST_SLENDER * max(s.chord for s in mast.stations),
        "base_joint": _matrix(base_joint),
        "tip_joint": _matrix(tip_joint),
    }


def load_data(result: MastResult) -> Data:
    """What ``beam_loads.js`` makes the tip loads of all cases from, as ``checks.loads`` does; SI.

    Returns:
        ``length``, ``rider`` (mass and gear [kg], height and stance [m]), ``adapters_m``,
        ``wet_fraction`` and ``ride_height`` (None: not stated), ``taper_about``, ``stations`` (``at``,
        ``chord``) and ``cases``, as in ``loadcase``. ``from_water``: names of the cases whose loads were
        worked out from this length, rider and ride height and stay as they are at another.
    """
    job = result.job
    rider, mast = job.rider, job.mast
    return {
        "length": mast.length,
        "rider": {
            "mass": rider.mass,
            "gear": rider.gear_mass,
            "height": rider.rider_height,
            "stance": rider.stance_width,
        },
        "adapters_m": sum(adapter.length for adapter in job.joints.adapters),
        "wet_fraction": job.wet_fraction,
        "ride_height": job.conditions.ride_height,
        "taper_about": mast.taper_about,
        "stations": [{"at": s.at, "chord": s.chord} for s in mast.stations],
        "cases": [_case(case) for case in job.cases],
        "from_water": [case.name for case in job.cases if case.name in job.water_loads],
    }


def _case(case: LoadCase) -> Data:
    return {
        "name": case.name,
        "n": case.n,
        "offset": case.offset,
        "roll_offset": case.roll_offset,
        "side_force": case.side_force,
        "side_spread": case.side_spread,
        "feet_twist": case.feet_twist,
        "force": list(case.force),
        "moment": list(case.moment),
        "lift": case.lift.value,
        "strength_factor": case.strength_factor,
    }


def _fractions(result: MastResult) -> list[float]:
    """Fractions of the length that the stations lie at.

    To the last bit those of ``checks.stations``, which a place over the length is not: a node more or
    less may hang on it.
    """
    stations = result.job.mast.stations
    per_interval = (len(result.z) - 1) // (len(stations) - 1)
    at = [stations[0].at]
    for a, b in pairwise(stations):
        at += [a.at + (b.at - a.at) * i / per_interval for i in range(1, per_interval)]
        at.append(b.at)
    own = result.z / result.job.mast.length
    if len(at) != len(own) or np.abs(np.array(at) - own).max() > 1e-12:
        return [float(share) for share in own]
    return at


def _matrix(values: FloatArray | None) -> list[list[float]] | None:
    return None if values is None else [[float(v) for v in row] for row in values]
