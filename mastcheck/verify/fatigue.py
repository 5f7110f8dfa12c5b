"""Fatigue: the curve, its partial factor, the sum of damage, and ranges of stress at a point."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.errors import MastcheckError
from mastcheck.source import PRACTICE
from mastcheck.strength.fatigue import (
    DetailCurve,
    category,
    damage,
    normal_range,
    point_ranges,
    used,
)
from mastcheck.units import Dimension, parse
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.sections import solved
from mastcheck.verify.strength import resultants

FloatArray = NDArray[np.float64]


def _curve(given: Given) -> DetailCurve:
    """The curve of a category's name, its second slope ``m2`` and partial factor."""
    name = given.words("category")
    read = category(name)
    if read is None:
        raise MastcheckError(f"{name!r} is no detail category")
    return DetailCurve(
        name=name, delta_sigma_c=read[0], m1=read[1], m2=given.number("m2"),
        gamma=given.number("gamma", 1.0), source=PRACTICE,
    )  # fmt: skip


def _blocks(given: Given) -> tuple[FloatArray, FloatArray]:
    """Ranges (c,) [Pa] and cycles (c,), given as ``"150 MPa x 2e5, 115 MPa x 1e6"``."""
    parts = [part.split(" x ") for part in given.words("blocks").split(",")]
    return (
        np.array([parse(size, Dimension.STRESS) for size, _ in parts]),
        np.array([float(count) for _, count in parts]),
    )


def _range_at(given: Given) -> float:
    """Range [Pa] that fails after so many cycles."""
    return _curve(given).range_at(given.number("cycles"))


def _cycles(given: Given) -> float:
    """Cycles to failure under a range."""
    return float(_curve(given).cycles(np.array(given.of(Dimension.STRESS, "range"))))


def _knee(given: Given) -> float:
    """Range at 5 million cycles over that at 2 million."""
    curve = _curve(given)
    return curve.knee / curve.delta_sigma_c


def _past_knee(given: Given) -> float:
    """Range at so many cycles over that at 5 million."""
    curve = _curve(given)
    return curve.range_at(given.number("cycles")) * curve.gamma / curve.knee


def _damage(given: Given) -> float:
    """Sum of damage of blocks of cycles."""
    ranges, cycles = _blocks(given)
    return float(damage(_curve(given), ranges[:, None], cycles)[0])


def _used(given: Given) -> float:
    """The ranges over those at which the sum of damage is 1."""
    ranges, cycles = _blocks(given)
    return used(_curve(given), ranges, cycles)


def _worst_plane(given: Given) -> float:
    """Range of normal stress on the worst plane of a range along the mast and one of shear [Pa]."""
    along = given.of(Dimension.STRESS, "along")
    return float(normal_range(np.array([along, given.of(Dimension.STRESS, "shear"), 0.0])))


def _reversed(given: Given) -> float:
    """Greatest range in a section as its load turns about [Pa]."""
    load = resultants(given)
    return float(point_ranges(solved(given), [load, -load]).max())


COMPUTATIONS: dict[str, Compute] = {
    "fatigue range at cycles": _range_at,
    "fatigue cycles at a range": _cycles,
    "fatigue range at the knee": _knee,
    "fatigue range past the knee": _past_knee,
    "sum of damage": _damage,
    "range over that of a damage of one": _used,
    "range on the worst plane": _worst_plane,
    "range of a reversed load": _reversed,
}
