"""Motion in words, tables and JSON: modes, shedding, divergence."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from mastcheck.checks.result import MastResult
from mastcheck.foil import Foil
from mastcheck.motion.result import MotionResult
from mastcheck.motion.shedding import BAND, STROUHAL, LockIn
from mastcheck.motion.vibration import Mode
from mastcheck.motion.water import lift_slope
from mastcheck.report.cells import Cell, Table, called, letters, table, tidy
from mastcheck.report.display import System, factor, given, number, quantity, stated, unit_label

_SHAPE_POINTS = 11


def motion_sections(masts: Sequence[MastResult], units: System) -> list[dict[str, Any]]:
    """What the page shows of each mast's motion; none where it was not looked at."""
    return [
        {
            "letter": letter,
            "title": f"{letter}  {called(m, 40)}",
            "basis": [tidy(t) for t in basis_words(m.motion, units)],
            "modes": mode_table(m.motion),
            "shedding": lock_in_table(m.motion, units) if in_full(m, masts) else None,
            "tail": tidy(shedding_words(m.motion, units)),
            "words": [tidy(t) for t in divergence_words(m, units)],
        }
        for letter, m in zip(letters(masts), masts, strict=True)
        if m.motion is not None
    ]


def in_full(m: MastResult, masts: Sequence[MastResult]) -> bool:
    """Whether shapes and speeds are shown: of bare masts side by side the frequencies are enough."""
    return m.motion is not None and (m.job.foil is not None or len(masts) == 1)


def mode_table(found: MotionResult) -> Table:
    """The modes by rank, in air and in water."""
    rows: list[list[Cell]] = [
        [str(k), dry.name, number(dry.frequency), wet.name, number(wet.frequency)]
        for k, (dry, wet) in enumerate(zip(found.in_air, found.in_water, strict=True), 1)
    ]
    return table(["", "in air", "Hz", "in water", "Hz"], "llrlr", rows, (0.3, 3, 0.8, 3, 0.8))


def lock_in_table(found: MotionResult, units: System) -> Table | None:
    """Speeds at which shedding meets each mode in water; None where it does not apply."""
    if not found.shedding.lock_in:
        return None
    size, label = factor("m/s", units), unit_label("m/s", units)
    rows: list[list[Cell]] = [
        [
            lock.mode,
            number(lock.frequency),
            number(lock.speed * size),
            f"{number(lock.slowest * size)} to {number(lock.fastest * size)}",
            met(lock, found.speeds),
        ]
        for lock in found.shedding.lock_in
    ]
    columns = ["mode in water", "Hz", f"meets at {label}", f"band {label}", "within the speeds"]
    return table(columns, "lrrrl", rows, (3, 0.8, 1.1, 1.6, 1.6))


def met(lock: LockIn, speeds: tuple[float, float]) -> str:
    """Whether shedding meets a mode within the speeds."""
    slow, fast = speeds
    if slow <= lock.speed <= fast:
        return "yes"
    return "its band only" if lock.slowest <= fast and lock.fastest >= slow else "no"


def basis_words(found: MotionResult, units: System) -> list[str]:
    """What hung at the tip, and the water."""
    water = (
        f"wet from z = {quantity(found.waterline * 1e3, 'mm', units)} to the tip, water of "
        f"{stated(found.water_density, 'kg/m³', units)}, speeds {_speeds(found, units)}"
    )
    if found.foil is None:
        return [f"Bare mast, nothing at its tip; {water}."]
    return [f"{_foil(found.foil, units)}; {water}."]


def _foil(foil: Foil, units: System) -> str:
    aft = "ahead of" if foil.ahead >= 0 else "behind"
    inertias = ", ".join(
        f"{name} {stated(v, 'kg·m²', units)}"
        for name, v in (
            ("roll", foil.roll_inertia),
            ("pitch", foil.pitch_inertia),
            ("yaw", foil.yaw_inertia),
        )
    )
    text = (
        f"At the tip {stated(foil.mass, 'kg', units)}, centre "
        f"{stated(abs(foil.ahead) * 1e3, 'mm', units)} {aft} the stacking line and "
        f"{stated(foil.below * 1e3, 'mm', units)} below the tip, inertia {inertias}"
    )
    wing = foil.wing
    if wing is None:
        return text
    return (
        f"{text}; wing {stated(wing.area, 'm²', units)}, span {stated(wing.span * 1e3, 'mm', units)}, "
        f"its quarter chord {stated(wing.ahead * 1e3, 'mm', units)} ahead, dihedral "
        f"{given(math.degrees(wing.dihedral))}°, lift slope {number(lift_slope(wing))} per rad"
    )


def _speeds(found: MotionResult, units: System) -> str:
    size = factor("m/s", units)
    slow, fast = (given(v * size) for v in found.speeds)
    return f"{slow} to {fast} {unit_label('m/s', units)}"


def shedding_words(found: MotionResult, units: System) -> str:
    """The tail and its shedding in a sentence."""
    shed = found.shedding
    if shed.thickness is None or shed.frequency is None:
        return f"Shedding at the trailing edge: not applicable; {shed.why}."
    thin, thick = (v * 1e3 for v in shed.thickness)
    size = quantity(thin, "mm", units)
    if thick > thin * 1.001:
        size += f" to {quantity(thick, 'mm', units)}"
    slow, fast = (number(f) for f in shed.frequency)
    text = (
        f"Trailing edge {shed.edge}, {size} thick. Shedding from {slow} to {fast} Hz over the speeds, "
        f"by Strouhal number {STROUHAL:g} on the tail and its boundary layers. The band: {BAND[1]:g} on "
        f"the tail alone to {BAND[0]:g} with boundary layers."
    )
    if shed.frequency[1] > shed.lock_in[-1].frequency:
        text += f" Past {number(shed.lock_in[-1].frequency)} Hz it meets modes higher than those listed."
    return text


def divergence_words(result: MastResult, units: System) -> list[str]:
    """The divergence speeds, and whether they are judged."""
    found = result.motion
    if found is None:
        return []
    fastest = quantity(found.speeds[1], "m/s", units)
    out = [
        f"Divergence in twist, by the side force of the wet strut: {_speed(found.twist_speed, units)}."
    ]
    if found.pitch_speed is not None:
        out.append(
            "Divergence in pitch, by the wing's lift on the mast's fore-aft bending: "
            f"{_speed(found.pitch_speed, units)}."
        )
    need = result.job.divergence_margin
    if math.isinf(found.divergence_speed):
        return out
    ratio = (
        f"The lower is {number(found.divergence_speed / found.speeds[1])} times the fastest, {fastest}; "
    )
    out.append(
        ratio + (f"{given(need)} is asked for." if need else "no margin is asked for: not judged.")
    )
    return out


def _speed(speed: float, units: System) -> str:
    """A divergence speed; none where lift turns the mast back.

    >>> _speed(math.inf, "metric"), _speed(18.2274, "metric")
    ('none, lift turns it back', '18.2 m/s')
    """
    return "none, lift turns it back" if math.isinf(speed) else quantity(speed, "m/s", units)


def motion_json(found: MotionResult | None) -> dict[str, Any] | None:
    """The motion for the result file; None where it was not looked at."""
    if found is None:
        return None
    shed = found.shedding
    foil = found.foil
    return {
        "foil_mass_kg": None if foil is None else foil.mass,
        "wing_lift_slope_per_rad": None if foil is None or foil.wing is None else lift_slope(foil.wing),
        "waterline_z_m": found.waterline,
        "water_density_kg_per_m3": found.water_density,
        "speeds_m_per_s": list(found.speeds),
        "in_air": [_mode(m) for m in found.in_air],
        "in_water": [_mode(m) for m in found.in_water],
        "shedding": {
            "applicable": shed.thickness is not None,
            "why_not": shed.why,
            "trailing_edge": str(shed.edge),
            "thickness_mm": None if shed.thickness is None else [v * 1e3 for v in shed.thickness],
            "strouhal": STROUHAL,
            "strouhal_band": list(BAND),
            "frequency_Hz": None if shed.frequency is None else list(shed.frequency),
            "lock_in": [
                {
                    "mode": lock.mode,
                    "frequency_Hz": lock.frequency,
                    "speed_m_per_s": lock.speed,
                    "slowest_m_per_s": lock.slowest,
                    "fastest_m_per_s": lock.fastest,
                }
                for lock in shed.lock_in
            ],
        },
        "divergence": {
            "twist_m_per_s": found.twist_speed,
            "twist_dynamic_pressure_Pa": found.divergence.twist,
            "pitch_m_per_s": found.pitch_speed,
            "pitch_dynamic_pressure_Pa": found.divergence.pitch,
            "over_fastest": found.divergence_speed / found.speeds[1],
        },
        "basis": [{"what": what, "source": str(source)} for what, source in found.basis],
    }


def _mode(mode: Mode) -> dict[str, Any]:
    z = np.linspace(0.0, float(mode.z[-1]), _SHAPE_POINTS)
    side, twist, fore_aft, stretch = (float(s) for s in mode.shares)
    return {
        "name": mode.name,
        "frequency_Hz": mode.frequency,
        "shares": {"side": side, "twist": twist, "fore_aft": fore_aft, "stretch": stretch},
        "shape": {
            "z_m": z,
            "side": np.interp(z, mode.z, mode.side),
            "fore_aft": np.interp(z, mode.z, mode.fore_aft),
            "edge_by_twist": np.interp(z, mode.z, mode.twist),
        },
    }
