"""Joints: springs of bolts, sockets and adapters, what they add at the tip, and play."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.buckling import buckling
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.solve import FrameModel
from mastcheck.joint import Adapter, Bar, BoltGroup, Fitted, Joints, Tightening
from mastcheck.joints.bolts import clamped_resilience, load_factor, preload
from mastcheck.joints.chain import base_compliance, carried
from mastcheck.joints.fitted import fitted_compliance
from mastcheck.joints.plate import plate_compliance
from mastcheck.joints.play import lost_motion, plays
from mastcheck.units import Dimension
from mastcheck.verify.bars import EI, LENGTH, uniform
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.shapes import METAL

_FOUR = ((-45e-3, -20e-3), (-45e-3, 20e-3), (45e-3, -20e-3), (45e-3, 20e-3))


def _bolts(given: Given) -> BoltGroup:
    """Four M8 of class 8.8, well tightened, through 10 mm of metal into the same."""
    return BoltGroup(
        thread=given.shipped.threads["M8"],
        property_class=given.shipped.classes["8.8"],
        positions=_FOUR,
        plate_thickness=0.010,
        plate=METAL,
        tightening=Tightening(preload=20e3, scatter=0.0),
    )


def _cone(given: Given) -> float:
    """Stiffness of one cone of clamped metal [N/m]."""
    group = replace(
        _bolts(given),
        head_diameter=given.length("head"),
        hole=given.length("hole"),
        plate_thickness=given.length("thickness"),
        plate=replace(METAL, E=given.of(Dimension.STRESS, "E")),
    )
    return 1 / clamped_resilience(group)


def _bolt_spring(given: Given) -> float:
    """Share of a load that a bolt feels, or moment per turn of four of them [N·m]."""
    group = _bolts(given)
    return {
        "share": load_factor(group),
        "turn": 1 / float(plate_compliance(group)[4, 4]),
    }[given.words("of")]


def _tightened(given: Given) -> float:
    """Preload [N] of a bolt of one friction, tightened to a torque without scatter."""
    mu = given.number("friction")
    how = Tightening(torque=given.of(Dimension.MOMENT, "torque"), friction=(mu, mu), scatter=0.0)
    found = preload(replace(_bolts(given), tightening=how))
    return math.nan if found is None else found.greatest


_SOCKET = Fitted(engagement=0.080, contact_stiffness=20e6, chord=0.100, clearance=0.2e-3)
"""Contacts 80 mm apart, 100 mm from nose to tail, of 20 kN/mm each; a gap of 0.2 mm."""


def _socket_turn(_: Given) -> float:
    """Moment per turn, roll of the mast's end [N·m]."""
    return 1 / float(fitted_compliance(_SOCKET, towards=-1)[3, 3])


def _socket_tip(_: Given) -> float:
    """Side force per side movement [N/m] of a rigid mast's tip, 0.75 m from the socket."""
    return 1 / float(carried(fitted_compliance(_SOCKET, towards=-1), 0.75)[1, 1])


def _socket_play(_: Given) -> float:
    """Side play of the tip of a mast of 0.75 m [m], stop to stop."""
    return lost_motion(plays(Joints(base=_SOCKET)), 0.75).tip_side


def _adapter(given: Given) -> float:
    """Side force per side movement [N/m], ``beyond`` an adapter of ``length``; the mast rigid."""
    body = Bar(
        along=given.length("along"), across=given.length("across"), material=METAL,
        round=given.number("round", 0.0) > 0,
    )  # fmt: skip
    held = base_compliance(Joints(adapters=(Adapter(length=given.length("length"), body=body),)))
    return 1 / float(carried(held, given.length("beyond"))[1, 1])


def _turning_base(given: Given) -> NDArray[np.float64]:
    """A base that turns by M ``softness`` L/EI."""
    return np.diag([0, 0, 0, given.number("softness") * LENGTH / EI, 0, 0])


def _column(given: Given) -> float:
    """Buckling load over EI/L² of a column on a base that turns."""
    frame = FrameModel(uniform(), base_joint=_turning_base(given))
    return float(buckling(frame, [TipLoad(lift=EI / LENGTH**2)]).factor[0])


def _amplified(given: Given) -> float:
    """Movement under a side force with a thrust of so much of Euler's load, over that without.

    Euler's load is that of the clamped column.
    """
    frame = FrameModel(uniform(), base_joint=_turning_base(given))
    thrust = given.number("share") * math.pi**2 / 4 * EI / LENGTH**2
    load = TipLoad(lift=thrust, force=(0, 1e-2, 0))
    both = float(frame.solve([load]).displacement[0, -1, 1])
    return both / float(frame.solve_first_order([load])[0, 1])


COMPUTATIONS: dict[str, Compute] = {
    "cone of clamped metal": _cone,
    "spring of a bolted plate": _bolt_spring,
    "preload by torque": _tightened,
    "socket, moment per turn": _socket_turn,
    "socket, stiffness at the tip": _socket_tip,
    "socket, play of the tip": _socket_play,
    "adapter, stiffness beyond it": _adapter,
    "column on a turning base": _column,
    "beam-column on a turning base": _amplified,
}
