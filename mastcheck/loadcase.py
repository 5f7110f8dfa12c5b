"""Riders and load cases. Loads act at the tip and are reacted at the base."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from mastcheck.source import PRACTICE, Source

GRAVITY = 9.80665  # standard gravity [m/s²], ISO 80000-3


class Lift(StrEnum):
    """Which way the lift points as the mast bends."""

    THROUGH_RIDER = "through-rider"  # toward a point rider_height above the base
    DEAD = "dead"  # keeps its direction
    FOLLOWER = "follower"  # turns with the wing


@dataclass(frozen=True, slots=True, kw_only=True)
class Rider:
    """Rider and gear; every default is common practice recalled from memory, no source."""

    mass: float = 80.0  # kg
    gear_mass: float = 8.0  # board and gear above the mast [kg]
    rider_height: float = 1.0  # centre of mass of rider and board above the base [m]
    stance_width: float = 0.45  # m

    @property
    def weight(self) -> float:
        """Weight of rider and gear, W [N]."""
        return (self.mass + self.gear_mass) * GRAVITY


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase:
    """A load case in terms of the rider's weight W, or of given tip forces.

    ``n``: load factor. Offsets [m] of the lift from the stacking line. ``side_force`` in W, at
    the tip, or spread over the wet part at the quarter chord if ``side_spread``. ``feet_twist``
    in W times stance width. ``force`` [N] and ``moment`` [N·m]: further tip loads in mast axes.
    """

    name: str
    n: float = 0.0
    offset: float = 0.0
    roll_offset: float = 0.0
    side_force: float = 0.0
    side_spread: bool = False
    feet_twist: float = 0.0
    force: tuple[float, float, float] = (0.0, 0.0, 0.0)
    moment: tuple[float, float, float] = (0.0, 0.0, 0.0)
    lift: Lift = Lift.DEAD
    strength_factor: float = 1.5
    source: Source = PRACTICE


STANDARD_CASES: tuple[LoadCase, ...] = (
    LoadCase(name="cruise", n=1.0, offset=0.060, lift=Lift.THROUGH_RIDER),
    # The roll offset is to the side that adds its bending to that of the side force, whose own
    # twist about a shear centre ahead of the stacking line adds to that of the feet: a carve goes
    # either way, and the other signs would cancel part of each other and flatter the mast.
    LoadCase(
        name="carve",
        n=1.5,
        offset=0.060,
        roll_offset=-0.060,
        side_force=0.15,
        feet_twist=0.10,
        lift=Lift.THROUGH_RIDER,
    ),
    LoadCase(
        name="pump",
        n=2.0,
        offset=0.150,
        roll_offset=0.020,
        feet_twist=0.03,
        lift=Lift.THROUGH_RIDER,
    ),
    LoadCase(name="touchdown", n=3.0, offset=0.100, roll_offset=0.040, strength_factor=1.2),
    LoadCase(
        name="side-push",
        n=1.0,
        offset=0.060,
        side_force=0.5,
        side_spread=True,
        lift=Lift.THROUGH_RIDER,
    ),
    LoadCase(
        # 500 N aft at a half span of 0.4 m: force +x at y = 0.4 m gives a torque -200 N·m.
        name="wingtip-strike",
        n=1.0,
        offset=0.060,
        force=(500.0, 0.0, 0.0),
        moment=(0.0, 0.0, -200.0),
        strength_factor=1.0,
    ),
)
