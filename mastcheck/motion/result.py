"""All that is found about a mast's motion."""

from __future__ import annotations

import math
from dataclasses import dataclass

from mastcheck.foil import Foil
from mastcheck.motion.divergence import Divergence
from mastcheck.motion.shedding import Shedding
from mastcheck.motion.vibration import Mode
from mastcheck.source import Source


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class MotionResult:
    """Modes, shedding and divergence of one mast, SI units.

    foil: what hung at the tip (None: the bare mast). waterline: z [m] from which the mast is wet;
    speeds: slowest and fastest [m/s]; in_air, in_water: the lowest modes. twist_speed and
    pitch_speed [m/s]: static divergence, inf where there is none; pitch_speed is None without a wing.
    basis: what each number rests on.
    """

    foil: Foil | None
    waterline: float
    water_density: float
    speeds: tuple[float, float]
    in_air: tuple[Mode, ...]
    in_water: tuple[Mode, ...]
    shedding: Shedding
    divergence: Divergence
    twist_speed: float
    pitch_speed: float | None
    basis: tuple[tuple[str, Source], ...]

    @property
    def divergence_speed(self) -> float:
        """The lower of the two divergence speeds [m/s]."""
        return min(self.twist_speed, math.inf if self.pitch_speed is None else self.pitch_speed)
