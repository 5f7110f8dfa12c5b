"""What hangs at the tip: the mass of fuselage and wings, and the wing that carries."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Wing:
    """The front wing.

    area [m²] and span [m] as projected from above. ``ahead`` [m]: its aerodynamic centre (quarter
    chord) ahead of the stacking line at the tip. ``dihedral`` [rad]: mean slope of its panels, up or
    down. ``lift_slope`` [1/rad], None: from the aspect ratio (``motion.water``).
    """

    area: float
    span: float
    ahead: float
    dihedral: float = 0.0
    lift_slope: float | None = None

    @property
    def aspect_ratio(self) -> float:
        """Span squared over area."""
        return self.span**2 / self.area


@dataclass(frozen=True, slots=True, kw_only=True)
class Foil:
    """Fuselage and wings as one rigid body at the tip.

    mass [kg]; its centre of mass ``ahead`` [m] of the stacking line (negative: behind) and ``below``
    [m] the tip, where the wing is taken to lie too; inertias [kg·m²] about that centre, about x
    (roll), y (pitch) and z (yaw). ``wing`` None: no lift is counted.
    """

    mass: float
    ahead: float = 0.0
    below: float = 0.0
    roll_inertia: float = 0.0
    pitch_inertia: float = 0.0
    yaw_inertia: float = 0.0
    wing: Wing | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class QuiverFoil:
    """One of the foils a mast is ridden with: the wing's name, and fuselage and wings with that wing."""

    name: str
    foil: Foil
