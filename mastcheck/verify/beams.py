"""Beam theory: tip movement by the tool's integral and by its elements, against closed forms.

Elements are as many as a check takes.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.model import BeamModel
from mastcheck.beam.solve import FrameModel
from mastcheck.errors import MastcheckError
from mastcheck.verify.bars import EI, GJ, LENGTH, bent_only, similar, spread, uniform
from mastcheck.verify.given import Compute, Given

FloatArray = NDArray[np.float64]
L = LENGTH


def _compliance(model: BeamModel, given: Given) -> FloatArray:
    """Tip compliance by the integral, or by the elements."""
    match given.words("by"):
        case "integral":
            return tip_compliance(model)
        case "elements":
            return FrameModel(model).tip_compliance()
        case other:
            raise MastcheckError(f"given.by = {other!r}: want integral or elements")


def _bar(given: Given) -> BeamModel:
    """Uniform; or tapered to ``tip``: all sizes, or EI alone by its ``power``."""
    tip, power = given.number("tip", 1.0), int(given.number("power", 0.0))
    if power:
        return bent_only(tip, power)
    return uniform() if tip == 1.0 else similar(tip)


def _deflection(given: Given) -> float:
    """Tip movement under a tip force, over P L³/3EI."""
    return float(_compliance(_bar(given), given)[1, 1]) * 3 * EI / L**3


def _slope(given: Given) -> float:
    """Tip slope under a tip force, over P L²/2EI."""
    return -float(_compliance(_bar(given), given)[3, 1]) * 2 * EI / L**2


def _twist(given: Given) -> float:
    """Tip twist under a torque, over T L/GJ."""
    return float(_compliance(_bar(given), given)[5, 5]) * GJ / L


def _spread(given: Given) -> float:
    """Tip movement under a spread force, over w L⁴/8EI."""
    moved = FrameModel(_bar(given)).solve_first_order([spread((0.0, 1.0, 0.0))])
    return float(moved[0, 1]) * 8 * EI / L**3


def _warping(given: Given) -> float:
    """Tip twist with warping held at the base, over T L/GJ; ``kL`` = L √(GJ/EΓ)."""
    held = uniform(EGamma=GJ * (L / given.number("kL")) ** 2)
    return float(_compliance(held, given)[5, 5]) * GJ / L


def _bimoment(given: Given) -> float:
    """Bimoment at the base over T L."""
    frame = FrameModel(uniform(EGamma=GJ * (L / given.number("kL")) ** 2))
    state = frame.solve([TipLoad(moment=(0, 0, 1e-2))])
    return float(state.resultants[0, 0, 6]) / (1e-2 * L)


def _spread_torque(given: Given) -> float:
    """Tip twist under a spread torque, over m L²/GJ: a spread force ahead of the shear centre."""
    x = 0.05
    frame = FrameModel(uniform(EGamma=GJ * (L / given.number("kL")) ** 2))
    return float(frame.solve_first_order([spread((0.0, 1.0, 0.0), x)])[0, 5]) * GJ / (x * L)


def _shear(given: Given) -> float:
    """Movement by shear over that by bending; rectangle of depth L/``slenderness``, κ 5/6, ``nu``."""
    h, nu = L / given.number("slenderness"), given.number("nu")
    # With I = A h²/12: 1/(κGA) = (6/5) 2(1 + ν)/E · h²/(12 I).
    flexibility = 6 / 5 * 2 * (1 + nu) * h**2 / (12 * EI)
    bent = float(_compliance(uniform(), given)[1, 1])
    both = uniform(shear_flex_xx=flexibility, shear_flex_yy=flexibility)
    return float(_compliance(both, given)[1, 1]) / bent - 1


def _circle(given: Given) -> float:
    """A bar bent by its tip moment: ``of`` its turn, its side movement or its height over L."""
    turn = given.number("turn_deg") * math.pi / 180
    moment = turn * EI / L
    state = FrameModel(uniform(EA=1e10)).solve([TipLoad(moment=(moment, 0, 0))])
    return {
        "turn": float(state.rotation[0, -1, 0]) / turn,
        "side": -float(state.displacement[0, -1, 1]) / L,
        "height": 1 + float(state.displacement[0, -1, 2]) / L,
    }[given.words("of")]


def _elastica(given: Given) -> float:
    """A bar far bent by a tip force of ``force`` EI/L²: ``of`` its side movement or its drop, over L."""
    force = given.number("force") * EI / L**2
    state = FrameModel(uniform(EA=1e10)).solve([TipLoad(force=(0, force, 0))])
    tip = state.displacement[0, -1]
    return {"side": float(tip[1]), "drop": -float(tip[2])}[given.words("of")] / L


COMPUTATIONS: dict[str, Compute] = {
    "tip deflection": _deflection,
    "tip slope": _slope,
    "tip twist": _twist,
    "tip deflection, spread load": _spread,
    "tip twist, warping held": _warping,
    "base bimoment": _bimoment,
    "tip twist, spread torque": _spread_torque,
    "shear over bending": _shear,
    "bar bent to a circle": _circle,
    "bar far bent by a force": _elastica,
}
