"""Load cases built from physics: steady flight, a carved turn, pumping, a strike.

Rider and gear are one rigid body of mass m with its centre G ``height`` above the base, mast and foil
without weight of their own: what they weigh is carried by the wing but not by the mast's base. Every
case is a free body that is shown to balance, and is refused where it does not or where wing or mast
would have to carry more than water lets them.

Carved turn. The mast leans by β from upright toward the centre of a turn of radius R at speed v.
Along the mast and across it Newton's law reads

    lift = m (g cos β + v²/R sin β),    side force = m (v²/R cos β - g sin β),

so that at tan β = v²/(g R) the mast carries no side force. The outer half of the wing flies faster: of a
lift that grows with the square of the local speed (1 - y/R)², spread elliptically over the span b, the
centre lies b²/(8 R) outside. The side force acts at the wet part's centre; what it and the lift turn is
balanced by the rider's weight, leant across the board by the lean that is printed.

Pumping. The rider's mass rises and falls by ± a at frequency f: load factors 1 ± a (2π f)²/g.

Strike. The tip is stopped within a distance d by a steady force F aft. A free rigid body turns about G
as it stops, so that the mass felt at the tip, r below G, is m / (1 + r²/k²), k the radius of gyration
in pitch, and F = ½ v² (that mass + the foil's) / d.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mastcheck.conditions import Conditions
from mastcheck.foil import Wing
from mastcheck.loadcase import GRAVITY, Lift, LoadCase, Rider
from mastcheck.source import Grade, Source
from mastcheck.water.balance import BalanceError, Force, FreeBody

MOST_LIFT = 1.1
"""Largest lift coefficient of a wing before it stalls."""
MOST_LIFT_SOURCE = Source(title="largest lift coefficient 1.1 of a small thin wing", grade=Grade.MEMORY)
GYRATION = 0.40
"""Radius of gyration of a standing rider about the pitch axis through the centre of mass [m]."""
GYRATION_SOURCE = Source(
    title="a standing person's radius of gyration about the centre of mass, about 0.4 m",
    grade=Grade.MEMORY,
)
SOURCE = Source(title="balance of forces on a rigid rider, board and foil", grade=Grade.ASSUMED)
LEANS = 0.60
"""How far a rider can lean the centre of mass out of the mast's plane [m]: assumed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ride:
    """What a manoeuvre is made with: ``length`` of the mast [m], ``wet`` share of it from the tip,
    ``depth`` [m] of the wet part's side force below the base, ``density`` [kg/m³], ``side_slope`` [N
    per rad of leeway and Pa of dynamic pressure, m²/rad], ``most_leeway`` [rad] at which it stalls.
    """

    rider: Rider
    conditions: Conditions
    wing: Wing
    length: float
    depth: float
    density: float
    foil_mass: float = 0.0
    side_slope: float = math.inf
    most_leeway: float = math.inf

    @property
    def mass(self) -> float:
        """Rider and gear [kg]."""
        return self.rider.weight / GRAVITY


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterCase:
    """A load case from physics: ``figures`` (name, value, unit) that a reader checks it by; ``body``.

    ``case`` is None where it was refused, for the ``reason``.
    """

    name: str
    case: LoadCase | None
    body: FreeBody | None
    figures: tuple[tuple[str, float, str], ...] = ()
    assumptions: tuple[str, ...] = ()
    reason: str = ""


def water_cases(ride: Ride) -> tuple[WaterCase, ...]:
    """Steady flight, turn, pumping and strike; a case that cannot be is refused with its reason."""
    out = []
    for name, made in (
        ("steady-flight", steady_flight),
        ("carved-turn", carved_turn),
        ("pumping", pumping),
        ("strike", strike),
    ):
        try:
            out.append(made(ride))
        except BalanceError as fault:
            out.append(WaterCase(name=name, case=None, body=None, reason=str(fault)))
    return tuple(out)


def carrying_speed(weight: float, area: float, density: float, coefficient: float = MOST_LIFT) -> float:
    """Speed [m/s] at which a wing of an area [m²] carries a weight [N] at a lift coefficient.

    >>> round(carrying_speed(863.0, 0.12, 1026.0), 3)
    3.57
    """
    return math.sqrt(2 * weight / (density * area * coefficient))


def lift_coefficient(lift: float, speed: float, ride: Ride) -> float:
    """Lift coefficient of the wing.

    Raises: BalanceError where it is more than a wing can have.
    """
    found = lift / (0.5 * ride.density * speed**2 * ride.wing.area)
    if found > MOST_LIFT:
        slowest = carrying_speed(lift, ride.wing.area, ride.density)
        raise BalanceError(
            f"at {speed:.3g} m/s a wing of {ride.wing.area * 1e4:.4g} cm² would need a lift coefficient"
            f" of {found:.2f}, above {MOST_LIFT:g}: ride at {slowest:.3g} m/s or more, or take a larger"
            " wing"
        )
    return found


def steady_flight(ride: Ride) -> WaterCase:
    """Lift for rider and gear, at the turn's speed, upright and straight."""
    weight, speed = ride.rider.weight, ride.conditions.turn_speed
    found = lift_coefficient(weight, speed, ride)
    ahead = ride.wing.ahead
    body = FreeBody(
        forces=(
            Force(name="weight", at=(-ahead, 0.0, -ride.rider.rider_height), force=(0, 0, weight)),
            Force(name="lift", at=(-ahead, 0.0, ride.length), force=(0, 0, -weight)),
        ),
        weight=weight,
        left_out="drag and what drives",
    ).balanced()
    return WaterCase(
        name="steady-flight",
        case=LoadCase(
            name="steady-flight", n=1.0, offset=-ahead, lift=Lift.THROUGH_RIDER, source=SOURCE
        ),
        body=body,
        figures=(("speed", speed, "m/s"), ("lift", weight, "N"), ("lift coefficient", found, "")),
        assumptions=(_AHEAD,),
    )


def carved_turn(ride: Ride) -> WaterCase:
    """A steady turn to port.

    Raises: BalanceError where wing, mast or rider cannot do it.
    """
    c, weight, m = ride.conditions, ride.rider.weight, ride.mass
    inward = c.turn_speed**2 / c.turn_radius
    upright = math.atan2(inward, GRAVITY)
    lean = upright if c.turn_bank is None else c.turn_bank
    cos, sin = math.cos(lean), math.sin(lean)
    lift = m * (GRAVITY * cos + inward * sin)
    side = 0.0 if c.turn_bank is None else m * (inward * cos - GRAVITY * sin)
    found = lift_coefficient(lift, c.turn_speed, ride)
    leeway = _leeway(side, c.turn_speed, ride)
    out = -(ride.wing.span**2) / (8 * c.turn_radius)  # to starboard, the outer side of a turn to port
    height, ahead = ride.rider.rider_height, ride.wing.ahead
    leant = out + side * (ride.depth + height) / lift
    if abs(leant) > LEANS:
        raise BalanceError(
            f"at a bank of {math.degrees(lean):.3g}° the rider would have to lean {abs(leant):.2g} m"
            f" across the board"
            f" to hold the mast's side force: bank nearer to {math.degrees(upright):.3g}°"
        )
    # In mast axes gravity and the turn's inertia have parts along the mast and across it.
    along, across = weight * cos + m * inward * sin, weight * sin - m * inward * cos
    at = (-ahead, leant, -height)
    body = FreeBody(
        forces=(
            Force(name="weight and inertia of rider and gear", at=at, force=(0, across, along)),
            Force(name="lift", at=(-ahead, out, ride.length), force=(0, 0, -lift)),
            Force(name="side force", at=(-ahead, 0, ride.depth), force=(0, side, 0)),
        ),
        weight=weight,
        lean=lean,
        watched=("x", "y"),
        left_out="drag, what drives, and yaw, which the feet hold",
    ).balanced()
    return WaterCase(
        name="carved-turn",
        case=LoadCase(
            name="carved-turn", n=lift / weight, offset=-ahead, roll_offset=-out,
            side_force=side / weight, side_spread=True, lift=Lift.THROUGH_RIDER, source=SOURCE,
        ),
        body=body,
        figures=(
            ("speed", c.turn_speed, "m/s"), ("radius", c.turn_radius, "m"),
            ("bank", math.degrees(lean), "deg"),
            ("bank without side force", math.degrees(upright), "deg"),
            ("lift", lift, "N"), ("load factor", lift / weight, ""), ("lift coefficient", found, ""),
            ("side force of the mast", side, "N"), ("leeway it needs", math.degrees(leeway), "deg"),
            ("lift outside of mid-span", -out, "m"), ("rider's lean across the board", leant, "m"),
        ),
        assumptions=(_AHEAD, "the turn is steady; entering it adds the twist of the yaw response"),
    )  # fmt: skip


def pumping(ride: Ride) -> WaterCase:
    """The peak of a stroke: the rider's mass accelerated upward."""
    c, weight, ahead = ride.conditions, ride.rider.weight, ride.wing.ahead
    more = c.pump_amplitude * (2 * math.pi * c.pump_frequency) ** 2 / GRAVITY
    lift = weight * (1 + more)
    found = lift_coefficient(lift, c.turn_speed, ride)
    g = (-ahead, 0.0, -ride.rider.rider_height)
    body = FreeBody(
        forces=(
            Force(name="weight", at=g, force=(0, 0, weight)),
            Force(name="inertia", at=g, force=(0, 0, weight * more)),
            Force(name="lift", at=(-ahead, 0.0, ride.length), force=(0, 0, -lift)),
        ),
        weight=weight,
        left_out="drag and what drives",
    ).balanced()
    figures = [
        ("frequency", c.pump_frequency, "Hz"), ("amplitude", c.pump_amplitude, "m"),
        ("largest load factor", 1 + more, ""), ("least load factor", 1 - more, ""),
        ("lift coefficient", found, ""),
    ]  # fmt: skip
    told = [_AHEAD, "board and rider move as one, up and down by a sine"]
    if more > 1:
        told.append("at the top of the stroke the rider is thrown off the board: less is realistic")
    return WaterCase(
        name="pumping",
        case=LoadCase(name="pumping", n=1 + more, offset=-ahead, lift=Lift.THROUGH_RIDER, source=SOURCE),
        body=body,
        figures=tuple(figures),
        assumptions=tuple(told),
    )


def strike(ride: Ride) -> WaterCase:
    """The foil stopped by sand or a rope: a steady force aft at the tip while it stops."""
    c, weight, m = ride.conditions, ride.rider.weight, ride.mass
    r = ride.length + ride.rider.rider_height
    felt = m / (1 + (r / GYRATION) ** 2)
    force = 0.5 * c.strike_speed**2 * (felt + ride.foil_mass) / c.stop_distance
    # The foil's own inertia is held by the sand, not by the mast.
    held = 0.5 * c.strike_speed**2 * felt / c.stop_distance
    slowed, spin = held / m, held * r / (m * GYRATION**2)
    g = (0.0, 0.0, -ride.rider.rider_height)
    body = FreeBody(
        forces=(
            Force(name="weight", at=g, force=(0, 0, weight)),
            Force(name="lift", at=(0, 0, ride.length), force=(0, 0, -weight)),
            Force(
                name="inertia", at=g, force=(-m * slowed, 0, 0), moment=(0, -m * GYRATION**2 * spin, 0)
            ),
            Force(
                name="strike, less the foil's own inertia", at=(0, 0, ride.length), force=(held, 0, 0)
            ),
        ),
        weight=weight,
    ).balanced()
    return WaterCase(
        name="strike",
        case=LoadCase(
            name="strike", n=1.0, force=(held, 0.0, 0.0), lift=Lift.DEAD, strength_factor=1.0,
            source=SOURCE,
        ),
        body=body,
        figures=(
            ("speed", c.strike_speed, "m/s"), ("stopped within", c.stop_distance, "m"),
            ("mass felt at the tip", felt, "kg"), ("force on the foil", force, "N"),
            ("force on the mast's tip", held, "N"),
            ("rider pitched forward at", math.degrees(spin), "deg/s²"),
        ),
        assumptions=(
            "rider and board are one rigid body that turns about its centre; a rider who holds on"
            " stiffly, or a shorter stop, means more",
            str(GYRATION_SOURCE),
        ),
    )  # fmt: skip


_AHEAD = (
    "the lift acts at the front wing's quarter chord, the stabiliser left out, and the rider stands"
    " over it"
)


def _leeway(side: float, speed: float, ride: Ride) -> float:
    """Leeway [rad] at which the wet mast gives a side force [N].

    Raises: BalanceError beyond the one at which it stalls.
    """
    if not side:
        return 0.0
    if not ride.side_slope:
        raise BalanceError(
            f"the turn asks {abs(side):.4g} N of the mast, of which nothing is wet: ride lower, or bank"
            " so that no side force is needed"
        )
    pressure = 0.5 * ride.density * speed**2
    found = abs(side) / (pressure * ride.side_slope)
    if found > ride.most_leeway:
        most = ride.most_leeway * pressure * ride.side_slope
        raise BalanceError(
            f"the turn asks {abs(side):.4g} N of the mast, which stalls at {most:.4g} N"
            f" ({math.degrees(ride.most_leeway):.3g}° of leeway): bank further, or turn wider"
        )
    return found
