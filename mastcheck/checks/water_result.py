"""The water side of a checked mast, and the load cases that the water gives it."""

from __future__ import annotations

from dataclasses import dataclass

from mastcheck.water.manoeuvres import WaterCase
from mastcheck.water.model import WaterSide


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WaterResult:
    """What the mast costs and gives in the water.

    ``side``: drag and the rest over the job's range of speeds. ``cases``: steady flight, turn, pumping
    and strike with their free bodies, refused ones too; ``loaded``: names of those that the mast was
    checked under. ``carrying_speed`` [m/s]: below which the wing cannot carry rider and gear;
    ``wing_area`` [m²] and ``wing_span`` [m] of it, ``wing_assumed`` where the file states none.
    """

    side: WaterSide
    cases: tuple[WaterCase, ...]
    loaded: tuple[str, ...]
    carrying_speed: float
    wing_area: float
    wing_span: float
    wing_assumed: bool
