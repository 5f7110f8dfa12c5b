"""Vibration in air and in water, divergence, shedding."""

from __future__ import annotations

import math

import numpy as np

from mastcheck.beam.model import BeamModel
from mastcheck.beam.modes import modes
from mastcheck.beam.solve import FrameModel
from mastcheck.foil import Foil, Wing
from mastcheck.mast import Construction, Mast, OutlineKind, SectionRecipe, Station
from mastcheck.motion import water
from mastcheck.motion.divergence import divergence, speed
from mastcheck.motion.shedding import shedding_frequency
from mastcheck.motion.vibration import KINDS, Mode, modes_in_air, modes_in_water
from mastcheck.units import Dimension
from mastcheck.verify.bars import BASE, EI, GJ, LENGTH, similar, uniform
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.shapes import METAL

L = LENGTH
_CHORD, _THICKNESS = 0.12, 0.0144
_E = 0.03  # quarter chord ahead of mid-chord, where these masts are stacked


def _mast() -> Mast:
    """An elliptical blade of 120 x 14.4 mm, stacked about mid-chord."""
    ends = tuple(Station(at=at, chord=_CHORD, thickness=_THICKNESS) for at in (0.0, 1.0))
    recipe = SectionRecipe(outline=OutlineKind.ELLIPSE, construction=Construction.SOLID, material=METAL)
    return Mast(name="verification", length=L, stations=ends, section=recipe)


def _sideways(model: BeamModel, tip_mass: float, mode: int) -> float:
    """ω √(m L⁴/EI) of a mode that moves sideways; ``tip_mass`` over the bar's."""
    tip = np.diag([1.0, 1.0, 1.0, 0, 0, 0]) * tip_mass * BASE.mass_per_length * L
    found = modes(model, FrameModel(model), tip=tip, count=16)
    side = np.abs(found.displacement[..., 1]).max(axis=1) > 0.05
    return float(2 * math.pi * found.frequency[side][mode - 1]) * math.sqrt(L**4 / EI)


def _bending(given: Given) -> float:
    """(β L)² of a cantilever, tapered to ``tip``, a ``mass`` at its tip, by ``mode``."""
    tip = given.number("tip", 1.0)
    model = uniform() if tip == 1.0 else similar(tip)
    return _sideways(model, given.number("mass", 0.0), int(given.number("mode")))


def _bending_root(given: Given) -> float:
    """β L, the root of the same."""
    return math.sqrt(_bending(given))


def _turning(given: Given) -> float:
    """λ = ω L √(m/GJ) of torsion with a tip inertia over the bar's own."""
    own = 2e-3  # kg m
    model = uniform(mass_moments=(0.0, 0.0, own / 2, own / 2, 0.0))  # type: ignore[arg-type]
    tip = np.zeros((6, 6))
    tip[5, 5] = given.number("inertia") * own * L
    found = modes(model, FrameModel(model), tip=tip, count=8)
    twist = np.abs(found.rotation[..., 2]).max(axis=1) * L > 0.99
    return float(2 * math.pi * found.frequency[twist][0]) * L * math.sqrt(own / GJ)


def _first(found: tuple[Mode, ...]) -> float:
    return next(m.frequency for m in found if KINDS[int(m.shares.argmax())] == "side bending")


def _wet_over_dry(given: Given) -> float:
    """Lowest bending frequency in water over that in air, of a solid ellipse."""
    own = math.pi * _CHORD / 2 * _THICKNESS / 2 * given.of(Dimension.DENSITY, "material")
    moments = (0.0, 0.0, own * _THICKNESS**2 / 16, own * _CHORD**2 / 16, 0.0)
    model = uniform(mass_per_length=own, mass_moments=moments)  # type: ignore[arg-type]
    mast, frame = _mast(), FrameModel(model)
    density = given.of(Dimension.DENSITY, "water")
    wet = modes_in_water(mast, model, frame, None, level=0.0, density=density)
    return _first(wet) / _first(modes_in_air(mast, model, frame, None))


def _added(given: Given) -> float:
    """Added mass [kg/m] or inertia [kg·m] per length of that blade, by its direction."""
    at = {"side": (1, 1), "fore-aft": (0, 0), "twist": (5, 5)}[given.words("of")]
    density = given.of(Dimension.DENSITY, "water")
    return float(water.added_inertia(_mast(), np.array([L / 2]), 0.0, density)[0][at])


def _plate(given: Given) -> float:
    """Added mass of a plate of finite span over that of a strip of an endless one."""
    return water.pabst_factor(given.number("aspect_ratio"))


def _wing_slope(given: Given) -> float:
    """Lift slope of a wing [1/rad] by its aspect ratio."""
    ratio = given.number("aspect_ratio")
    return water.lift_slope(Wing(area=1.0, span=math.sqrt(ratio), ahead=0.0))


def _strip_pressure() -> float:
    frame = FrameModel(uniform(GJ=1000.0))
    return divergence(_mast(), frame, None, level=0.0).twist


def _strip(_: Given) -> float:
    """Dynamic pressure of divergence of a strip that lifts [Pa]; GJ 1000 N·m²."""
    return _strip_pressure()


def _strip_speed(given: Given) -> float:
    """The same as a speed [m/s]."""
    return speed(_strip_pressure(), given.of(Dimension.DENSITY, "water"))


def _fin(_: Given) -> float:
    """Dynamic pressure of divergence by an upright surface of 0.1 m² at the tip alone [Pa]."""
    fin = Wing(area=0.1, span=0.5, ahead=_E, dihedral=math.pi / 2, lift_slope=2 * math.pi)
    frame = FrameModel(uniform(GJ=1000.0))
    foil = Foil(mass=1.0, wing=fin)
    return divergence(_mast(), frame, foil, level=0.0, strip_slope=0.0).twist


def _shedding(given: Given) -> float:
    """Frequency of shedding at a tail, no boundary layer added [Hz]."""
    return shedding_frequency(given.of(Dimension.SPEED, "speed"), given.length("tail"))


COMPUTATIONS: dict[str, Compute] = {
    "bending frequency": _bending,
    "bending frequency, root": _bending_root,
    "torsion frequency": _turning,
    "frequency in water over air": _wet_over_dry,
    "added mass": _added,
    "added mass of a plate": _plate,
    "lift slope of a wing": _wing_slope,
    "divergence of a strip": _strip,
    "divergence speed of a strip": _strip_speed,
    "divergence by a surface at the tip": _fin,
    "shedding frequency": _shedding,
}
