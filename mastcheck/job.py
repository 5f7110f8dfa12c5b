"""All that one check needs, read from a mast file or built in Python."""

from __future__ import annotations

from dataclasses import dataclass, field

from mastcheck.conditions import Conditions
from mastcheck.foil import Foil, QuiverFoil
from mastcheck.joint import Joints
from mastcheck.limit import Limit
from mastcheck.loadcase import STANDARD_CASES, LoadCase, Rider
from mastcheck.mast import Mast
from mastcheck.scatter import Tolerance
from mastcheck.strength.fatigue import Fatigue


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A mast, a rider, load cases and limits.

    ``wet_fraction``: part of the length, from the tip up, that is under water (common
    practice, no source), unless ``conditions`` states a ride height (see ``wet``). ``foil``: what hangs
    at the tip; of a ``quiver``, the foils the mast is ridden with, it is the one looked at.
    ``water_loads``: names of the load cases from the water to be checked beside ``cases``. ``price``:
    amount and currency, as stated.
    ``speeds``: slowest and fastest [m/s] (common
    practice, no source); ``water_density`` [kg/m³]; ``divergence_margin``: least divergence speed
    over the fastest (None: reported, not judged); ``edge_radius`` [m]: least of nose and tail (None: the
    same). ``file`` and ``input_sha256`` name what was read, empty when built in Python;
    ``outline_files`` are the (name as written, SHA-256) of the drawings and coordinates it names, and
    are part of ``input_sha256``. ``notes``: what was assumed because the file was silent. ``fatigue``:
    cycles to bear, None where nothing is asked. ``joints``: by default the base is clamped and the tip
    rigidly joined. ``scatter``: tolerances that the file states, in place of those assumed.
    """

    mast: Mast
    rider: Rider = field(default_factory=Rider)
    cases: tuple[LoadCase, ...] = STANDARD_CASES
    limits: tuple[Limit, ...] = ()
    wet_fraction: float = 0.6
    foil: Foil | None = None
    quiver: tuple[QuiverFoil, ...] = ()
    conditions: Conditions = field(default_factory=Conditions)
    water_loads: tuple[str, ...] = ()
    price: tuple[float, str] | None = None
    speeds: tuple[float, float] = (3.0, 12.0)
    water_density: float = 1026.0
    divergence_margin: float | None = None
    edge_radius: float | None = None
    file: str = ""
    input_sha256: str = ""
    outline_files: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    fatigue: Fatigue | None = None
    joints: Joints = field(default_factory=Joints)
    scatter: tuple[Tolerance, ...] = ()

    @property
    def wet(self) -> float:
        """Part of the length, from the tip up, that is under water: by the ride height where stated."""
        height = self.conditions.ride_height
        return self.wet_fraction if height is None else max(0.0, 1 - height / self.mast.length)
