"""Joints as a person describes them: what holds the base, what stacks under it, what holds the tip.

What is not stated is None, never a made-up number: ``mastcheck.joints`` names what it takes instead
(``joints.assumptions``). SI units. Places (x, y) [m] are in mast axes from the stacking line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum

from mastcheck.material import Material
from mastcheck.source import Source


class Head(StrEnum):
    """Shape of a bolt's head."""

    CAP = "cap"
    COUNTERSUNK = "countersunk"


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A coarse metric thread, tolerances 6g in 6H [m].

    diameter, pitch; ``head_diameter`` of a cap screw, ``hole`` for it (medium). ``deviation``: how far
    the bolt's profile lies inside the basic one. Tolerances: ``major`` and ``bolt_pitch`` of the bolt,
    ``minor`` and ``nut_pitch`` of the internal thread.
    """

    name: str
    diameter: float
    pitch: float
    head_diameter: float
    hole: float
    deviation: float
    major: float
    bolt_pitch: float
    minor: float
    nut_pitch: float
    source: Source

    @property
    def pitch_diameter(self) -> float:
        """Basic pitch diameter d2 [m]: d - 3/4 H, H = P √3/2 (ISO 68-1)."""
        return self.diameter - 3 / 8 * math.sqrt(3) * self.pitch

    @property
    def root_diameter(self) -> float:
        """Minor diameter of the bolt d3 [m]: d - 17/12 H."""
        return self.diameter - 17 / 24 * math.sqrt(3) * self.pitch

    @property
    def minor_diameter(self) -> float:
        """Basic minor diameter D1 of the internal thread [m]: d - 5/4 H."""
        return self.diameter - 5 / 8 * math.sqrt(3) * self.pitch

    @property
    def stress_area(self) -> float:
        """Tensile stress area A_s [m²]: π/4 (d - 0.938194 P)² (ISO 898-1)."""
        return math.pi / 4 * (self.diameter - 0.938194 * self.pitch) ** 2


@dataclass(frozen=True, slots=True, kw_only=True)
class PropertyClass:
    """Strength class of a bolt [Pa]; ``proof`` is None where the standard states none.

    ``shear_factor``: α_v of EN 1999-1-1 with the thread in the shear plane.
    """

    name: str
    ultimate: float
    yield_strength: float
    proof: float | None
    E: float
    shear_factor: float
    galvanic_group: str
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Tightening:
    """How a bolt is tightened; exactly one of ``preload`` [N] and ``torque`` [N·m].

    ``friction``: least and greatest friction of thread and head. ``scatter``: of the torque or the
    preload, plus and minus, as a share. A preload of 0 is a slack bolt.
    """

    preload: float | None = None
    torque: float | None = None
    friction: tuple[float, float] | None = None
    scatter: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltGroup:
    """Equal bolts along z, from a plate into a thread, an insert or a box.

    ``positions`` ((x, y), ...) [m]. ``plate``: thickness [m] and material of what they clamp.
    ``engagement`` [m]: length of thread engaged, in ``engaged``. ``edge_distance`` [m]: least from a
    hole's centre to the plate's edge. ``slip_friction``: between the clamped faces. ``embedding`` [m]:
    how far the faces settle. ``face`` [m]: extent along x and y of the contact, centred on the bolts:
    the lever of bolts that stand on one line. Stiffness of one insert [N/m], along z and across it;
    ``insert_pull_out`` [N]: what pulls it out of the board. ``tightening`` None: not stated.
    """

    thread: Thread
    property_class: PropertyClass
    positions: tuple[tuple[float, float], ...]
    plate_thickness: float
    plate: Material
    tightening: Tightening | None = None
    head: Head = Head.CAP
    head_diameter: float | None = None
    hole: float | None = None
    edge_distance: float | None = None
    slip_friction: float | None = None
    embedding: float | None = None
    face: tuple[float, float] | None = None
    engagement: float | None = None
    engaged: Material | None = None
    insert_stiffness: float | None = None
    insert_shear_stiffness: float | None = None
    insert_pull_out: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltedPlate:
    """A plate bolted on a flat face. ``loose_screw``: one bolt is loose, the one that costs most."""

    bolts: BoltGroup
    loose_screw: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """An end held between two contacts ``engagement`` apart: a head wedged in a box, or a socket.

    The first contact is at the mast's own end, the second beyond it. Each springs sideways (half of
    ``contact_stiffness`` [N/m] at each end of ``chord``) and fore and aft. ``clearance`` [m]: the whole
    gap, side to side, and fore and aft. ``chord`` [m]: from nose to tail of the contacts, what holds
    the torque. ``axial_stiffness`` [N/m].
    ``screws`` hold a socket along z; ``loose_screw``: one of them is loose, the one that costs most.
    """

    engagement: float
    contact_stiffness: float
    chord: float
    contact_stiffness_fore_aft: float | None = None
    clearance: float | None = None
    clearance_fore_aft: float | None = None
    axial_stiffness: float | None = None
    screws: BoltGroup | None = None
    loose_screw: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A compliance (6, 6) as given, SI, order Fx Fy Fz Mx My Mz, for loads at the joint's own place.

    ``rigid``: the movements that were not stated and do not give.
    """

    compliance: tuple[tuple[float, ...], ...]
    rigid: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A straight member: rectangular, ``along`` x by ``across`` y [m], or round where they are equal
    and ``round`` is set.
    """

    along: float
    across: float
    material: Material
    round: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OnePiece:
    """No joint: mast and foil are made as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapter:
    """A piece between board and mast: ``length`` [m] along z beyond the mast's own length.

    ``body``: what it is made of, or its given compliance, for loads at its mast end (its far end
    held). ``bolts`` hold it on its board side, to the board or the next adapter; None: not stated.
    """

    length: float
    body: Bar | Given
    name: str = ""
    bolts: BoltGroup | None = None


BaseJoint = BoltedPlate | Fitted | Given
TipJoint = BoltedPlate | Fitted | Given | OnePiece


@dataclass(frozen=True, slots=True, kw_only=True)
class Joints:
    """All joints of a mast, board to foil; by default clamped and rigidly joined.

    ``base`` joins the mast's base to the board, or to the last of the ``adapters``, which are listed
    from the board to the mast.
    """

    base: BaseJoint | None = None
    adapters: tuple[Adapter, ...] = field(default=())
    tip: TipJoint | None = None

    @property
    def stated(self) -> bool:
        """Whether any joint is described."""
        return self.base is not None or self.tip is not None or bool(self.adapters)
