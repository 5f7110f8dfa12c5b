"""One bolt: preload from torque, resilience, thread strip areas, design resistances. SI units.

Sources are by memory of the documents named: VDI 2230 part 1 (preload, resilience, embedding, working
stress), EN 1999-1-1 section 8.5 (resistances), FED-STD-H28/2 (strip areas); see ``tests/reference``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from mastcheck.joint import BoltGroup, Head, Thread
from mastcheck.source import Grade, Source

VDI = Source(title="VDI 2230 part 1", grade=Grade.MEMORY)
EN_BOLTS = Source(title="EN 1999-1-1", place="8.5, Table 8.5", grade=Grade.MEMORY)
STRIP = Source(title="FED-STD-H28/2 strip areas, shear strength fu/√3", grade=Grade.MEMORY)

FRICTION = (0.10, 0.20)
"""Least and greatest friction of thread and head where not stated (common practice, no source)."""
TORQUE_SCATTER = 0.10
"""Plus and minus on a stated torque (a torque wrench; common practice, no source)."""
PRELOAD_SCATTER = 0.25
"""Plus and minus on a stated preload (common practice, no source)."""
SLIP_FRICTION = 0.15
"""Between clamped faces where not stated: greased or wet metal (common practice, no source)."""
EMBEDDING = 8e-6
"""Settling of thread, head and one joint face [m], VDI 2230 table of guide values, from memory."""
GAMMA_M2 = 1.25
"""Partial factor of bolts and threads, EN 1999-1-1, from memory."""
CONE = math.tan(math.radians(30))
"""Slope of the clamped cone: 30°, Shigley (from memory); VDI 2230 gives 0.45 to 0.6 here."""
TIGHT = 0.9
"""Share of the yield strength used in tightening, VDI 2230."""
KEPT_TORSION = 0.5
"""Share of the torsion of tightening that stays in a working bolt, VDI 2230."""
LOST_PITCHES = 0.8
"""Pitches of the engaged length that do not carry (run-out and chamfer), VDI 2230."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Preload:
    """Least [N] (after embedding, not below 0) and greatest preload, and the torsion with it [N·m]."""

    least: float
    greatest: float
    torsion: float


def torque_arm(
    thread: Thread, friction: float, bearing_diameter: float, *, head: Head = Head.CAP
) -> float:
    """Torque over preload [m]: P/2π + 0.577 μ d2 + μ D_km/2 (VDI 2230); a countersunk head of 90°
    presses with √2 times the force on its cone.
    """
    cone = math.sqrt(2) if head is Head.COUNTERSUNK else 1.0
    return thread_arm(thread, friction) + cone * friction * bearing_diameter / 2


def thread_arm(thread: Thread, friction: float) -> float:
    """Torque in the thread over preload [m]: P/2π + 0.577 μ d2 (VDI 2230)."""
    return thread.pitch / (2 * math.pi) + 0.577 * friction * thread.pitch_diameter


def head_diameter(group: BoltGroup) -> float:
    """Diameter under the head [m]: as stated, else of a cap screw, or twice the bolt's, countersunk."""
    if group.head_diameter is not None:
        return group.head_diameter
    return 2 * group.thread.diameter if group.head is Head.COUNTERSUNK else group.thread.head_diameter


def hole(group: BoltGroup) -> float:
    """Diameter of the clearance hole [m]: as stated, else medium."""
    return group.thread.hole if group.hole is None else group.hole


def bolt_resilience(group: BoltGroup) -> float:
    """Extension of one bolt per force [m/N]: head, clamped length threaded throughout, engaged part.

    VDI 2230: 0.4 d of the shank in the head, 0.5 d of the thread's root and 0.33 d of the counterpart.
    """
    t, E = group.thread, group.property_class.E
    d = t.diameter
    shank, root = math.pi / 4 * d**2, math.pi / 4 * t.root_diameter**2
    counterpart = group.engaged.E if group.engaged is not None else group.plate.E
    return (
        0.4 * d / (E * shank) + (group.plate_thickness + 0.5 * d) / (E * root)
        + 0.33 * d / (counterpart * shank)
    )  # fmt: skip


def clamped_resilience(group: BoltGroup) -> float:
    """Shortening of the clamped plate per force [m/N], one cone from the head into a tapped part.

    δ = ln[(D + d)(D + 2 t tan α - d)/((D - d)(D + 2 t tan α + d))]/(E π d tan α): the cone of VDI 2230
    and of Shigley.
    """
    D, d = head_diameter(group), hole(group)
    wide = D + 2 * group.plate_thickness * CONE
    ratio = (D + d) * (wide - d) / ((D - d) * (wide + d))
    return math.log(ratio) / (group.plate.E * math.pi * d * CONE)


def cone_diameter(group: BoltGroup) -> float:
    """Diameter of the clamped cone at the joint's face [m]."""
    return head_diameter(group) + 2 * group.plate_thickness * CONE


def load_factor(group: BoltGroup) -> float:
    """Share Φ of a load that the bolt feels while clamped, the load brought in under the head."""
    own, clamped = bolt_resilience(group), clamped_resilience(group)
    return clamped / (own + clamped)


def preload(group: BoltGroup) -> Preload | None:
    """Preload of one bolt, with scatter of torque and friction; None where nothing is stated."""
    how, t = group.tightening, group.thread
    if how is None or (how.preload is None and how.torque is None):
        return None
    low, high = how.friction or FRICTION
    settled = (EMBEDDING if group.embedding is None else group.embedding) / (
        bolt_resilience(group) + clamped_resilience(group)
    )
    if how.torque is not None:
        scatter = TORQUE_SCATTER if how.scatter is None else how.scatter
        mean = (head_diameter(group) + hole(group)) / 2
        least = how.torque * (1 - scatter) / torque_arm(t, high, mean, head=group.head)
        greatest = how.torque * (1 + scatter) / torque_arm(t, low, mean, head=group.head)
        torsion = greatest * thread_arm(t, low)
    else:
        scatter = PRELOAD_SCATTER if how.scatter is None else how.scatter
        wanted = how.preload or 0.0
        least, greatest = wanted * (1 - scatter), wanted * (1 + scatter)
        torsion = greatest * thread_arm(t, high)
    return Preload(least=max(0.0, least - settled), greatest=greatest, torsion=torsion)


def slack(group: BoltGroup) -> bool:
    """Whether the bolts are stated to be slack: a preload or torque of nil."""
    how = group.tightening
    return how is not None and (how.preload == 0 or how.torque == 0)


def bolt_stress(group: BoltGroup, force: float, torsion: float) -> float:
    """Stress [Pa] by von Mises of tension on the stress area and torsion on (d2 + d3)/2 (VDI 2230)."""
    t = group.thread
    tension = force / t.stress_area
    shear = 16 * torsion / (math.pi * ((t.pitch_diameter + t.root_diameter) / 2) ** 3)
    return math.sqrt(tension**2 + 3 * shear**2)


def strip_areas(thread: Thread) -> tuple[float, float]:
    """Shear area of the bolt's and of the internal thread per engaged length [m²/m].

    Least material of 6g in 6H: π/P K (P/2 + 0.57735 (E_s - K)) and π/P D (P/2 + 0.57735 (D - E_n)).
    Source: FED-STD-H28/2, from memory.
    """
    P = thread.pitch
    # Limits of size stand on basic diameters rounded to a micrometre, as ISO 724 prints them.
    d2, inside = round(thread.pitch_diameter, 6), round(thread.minor_diameter, 6)
    outer = thread.diameter - thread.deviation - thread.major
    bolt_pitch = d2 - thread.deviation - thread.bolt_pitch
    inner = inside + thread.minor
    nut_pitch = d2 + thread.nut_pitch
    external = math.pi / P * inner * (P / 2 + 0.57735 * (bolt_pitch - inner))
    internal = math.pi / P * outer * (P / 2 + 0.57735 * (outer - nut_pitch))
    return external, internal


def tension_resistance(group: BoltGroup) -> float:
    """F_t,Rd = k2 f_ub A_s/γ_M2 [N], k2 = 0.9, countersunk 0.63."""
    k2 = 0.63 if group.head is Head.COUNTERSUNK else 0.9
    return k2 * group.property_class.ultimate * group.thread.stress_area / GAMMA_M2


def shear_resistance(group: BoltGroup) -> float:
    """F_v,Rd = α_v f_ub A_s/γ_M2 [N], thread in the shear plane."""
    cls = group.property_class
    return cls.shear_factor * cls.ultimate * group.thread.stress_area / GAMMA_M2


def bearing_resistance(group: BoltGroup) -> float | None:
    """F_b,Rd = k1 α_b f_u d t/γ_M2 [N]; None without an edge distance or the plate's strength.

    α_b = min(e/3d0, p/3d0 - 1/4, f_ub/f_u, 1), k1 = min(2.8 e/d0 - 1.7, 1.4 p/d0 - 1.7, 2.5), e and the
    least spacing p taken in the worst direction. A countersunk head counts half its depth out.
    """
    fu, e = group.plate.ultimate_strength, group.edge_distance
    if fu is None or e is None:
        return None
    d, d0 = group.thread.diameter, hole(group)
    alpha, k1 = min(e / (3 * d0), group.property_class.ultimate / fu, 1.0), min(2.8 * e / d0 - 1.7, 2.5)
    p = _spacing(group)
    if p is not None:
        alpha, k1 = min(alpha, p / (3 * d0) - 0.25), min(k1, 1.4 * p / d0 - 1.7)
    t = group.plate_thickness
    if group.head is Head.COUNTERSUNK:
        t -= (head_diameter(group) - d) / 4
    return max(0.0, k1) * max(0.0, alpha) * fu * d * max(0.0, t) / GAMMA_M2


def _spacing(group: BoltGroup) -> float | None:
    """Least distance between two bolts [m]."""
    at = group.positions
    gaps = [math.dist(a, b) for i, a in enumerate(at) for b in at[:i]]
    return min(gaps) if gaps else None


def strip_resistance(group: BoltGroup) -> tuple[float, str] | None:
    """Force that strips the weaker thread over γ_M2 [N], and which it is; None where not stated.

    Each thread's shear strength is its ultimate strength over √3 (aluminium tests give more).
    """
    if group.engagement is None or group.engaged is None or group.engaged.ultimate_strength is None:
        return None
    length = max(0.0, group.engagement - LOST_PITCHES * group.thread.pitch)
    external, internal = (a * length / math.sqrt(3) / GAMMA_M2 for a in strip_areas(group.thread))
    bolt = external * group.property_class.ultimate
    inside = internal * group.engaged.ultimate_strength
    return (
        (inside, f"thread in {group.engaged.name}") if inside <= bolt else (bolt, "thread of the bolt")
    )
