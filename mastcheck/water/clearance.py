"""Room above and below the water, straight and leaning over; and what swings below the board."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mastcheck.foil import Foil
from mastcheck.source import Grade, Source
from mastcheck.water.model import Clearance, Handling

FloatArray = NDArray[np.float64]

DEPTH_SOURCE = Source(
    title="a wing nearer to the surface than about one mean chord loses lift and draws air",
    grade=Grade.MEMORY,
)
WAVE_SOURCE = Source(
    title="a wave much longer than the board: trough and crest half its height off still water",
    grade=Grade.ASSUMED,
)


def clearance(
    *,
    length: float,
    level: float,
    below: float,
    half_span: float,
    half_width: float,
    wave_height: float,
    least_depth: float,
) -> Clearance:
    """Ride heights that can be held, and how far the board may lean.

    Leaning over by φ with the wing's middle held d deep, H the distance from board to wing, w the
    board's half width and s the half span: the rail meets the water where H cos φ - w sin φ = d, the
    tip where s sin φ = d. Both at once, tan φ = H/(w + s), is the most that any ride height allows.

    Args:
        length: of the mast [m].
        level: ride height [m].
        below: wing below the tip [m].
        half_span: of a straight wing [m].
        half_width: of the board at the mast [m].
        wave_height: trough to crest [m].
        least_depth: that the wing needs [m].
    """
    reach = length + below
    depth = reach - level
    half_wave = wave_height / 2
    best = math.atan2(reach, half_width + half_span)
    lean = math.acos(min(1.0, max(0.0, depth) / math.hypot(reach, half_width)))
    return Clearance(
        ride_height=level,
        lowest=half_wave,
        highest=reach - least_depth - half_wave,
        wing_depth=depth,
        trough_depth=depth - half_wave,
        least_depth=least_depth,
        half_span=half_span,
        half_width=half_width,
        rail_bank=max(0.0, lean - math.atan2(half_width, reach)),
        tip_bank=None if depth >= half_span else math.asin(max(0.0, depth) / half_span),
        best_bank=best,
        best_height=reach - half_span * math.sin(best),
        notes=_notes(depth, depth - half_wave, least_depth, half_wave, level, reach),
    )


def _notes(
    depth: float, trough: float, least: float, half_wave: float, level: float, reach: float
) -> tuple[str, ...]:
    out = []
    if reach - least - half_wave < half_wave:
        out.append(
            f"In waves of {2 * half_wave * 1e3:.0f} mm no ride height keeps the board off the crests and"
            f" the wing {least * 1e3:.0f} mm below the troughs."
        )
    if depth <= 0:
        out.append("At this ride height the wing is out of the water.")
    elif trough < least:
        out.append(
            f"In a trough the wing is {trough * 1e3:.0f} mm deep, less than the {least * 1e3:.0f} mm it"
            " needs: it may lose its lift."
        )
    if level < half_wave:
        out.append("The board touches the crests at this ride height.")
    return tuple(out)


def handling(
    *, z: FloatArray, mass_per_length: FloatArray, length: float, foil: Foil | None
) -> Handling:
    """Mass and swing inertia about the base.

    Args:
        z: solved places (k,) from base to tip, with every break of the outline [m].
        mass_per_length: there (k,) [kg/m]; its root is linear between them, as of scaled sections.
        length: of the mast [m].
        foil: what hangs at the tip.
    """
    x, w = np.polynomial.legendre.leggauss(4)  # exact for the quartic
    step = np.diff(z)[:, None]
    share = (x + 1) / 2
    root = np.sqrt(mass_per_length)[:, None]
    per_length = (root[:-1] + (root[1:] - root[:-1]) * share) ** 2
    at = z[:-1, None] + step * share
    mass = per_length * step * w / 2
    total = float(mass.sum())
    swing = float((mass * at**2).sum())
    return Handling(
        mass=total,
        centre=float((mass * at).sum()) / total,
        swing_inertia=swing,
        foil_mass=None if foil is None else foil.mass,
        with_foil=None
        if foil is None
        else swing + foil.mass * (length + foil.below) ** 2 + foil.roll_inertia,
    )
