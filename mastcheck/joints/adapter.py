"""An adapter between board and mast as a Timoshenko cantilever."""

from __future__ import annotations

import math
from itertools import count, takewhile

import numpy as np
from numpy.typing import NDArray

from mastcheck.joint import Adapter, Bar, Given

FloatArray = NDArray[np.float64]


def torsion_constant(bar: Bar) -> float:
    """Saint-Venant's torsion constant [m⁴]: π d⁴/32, or the series of the rectangle.

    J = a³ b (1/3 - 64/π⁵ a/b Σ tanh(n π b/2a)/n⁵), n odd, a the short side (Timoshenko and Goodier).
    """
    if bar.round:
        return math.pi / 32 * bar.along**4
    a, b = sorted((bar.along, bar.across))
    odd = takewhile(lambda n: n < 40, count(1, 2))
    series = sum(math.tanh(n * math.pi * b / (2 * a)) / n**5 for n in odd)
    return a**3 * b * (1 / 3 - 64 / math.pi**5 * a / b * series)


def bar_compliance(bar: Bar, length: float) -> FloatArray:
    """Compliance (6, 6) of its free, mast end; shear area 5/6 of a rectangle, 9/10 of a circle."""
    E, G = bar.material.E, bar.material.G
    if bar.round:
        area = math.pi / 4 * bar.along**2
        Ix = Iy = math.pi / 64 * bar.along**4
        shear = G * area * 9 / 10
    else:
        area = bar.along * bar.across
        Ix, Iy = bar.along * bar.across**3 / 12, bar.across * bar.along**3 / 12
        shear = G * area * 5 / 6
    out = np.diag(
        [
            length**3 / (3 * E * Iy) + length / shear,
            length**3 / (3 * E * Ix) + length / shear,
            length / (E * area),
            length / (E * Ix),
            length / (E * Iy),
            length / (G * torsion_constant(bar)),
        ]
    )
    out[0, 4] = out[4, 0] = length**2 / (2 * E * Iy)
    out[1, 3] = out[3, 1] = -(length**2) / (2 * E * Ix)
    return out


def adapter_compliance(adapter: Adapter) -> FloatArray:
    """Compliance (6, 6) of the adapter's body for loads at its mast end."""
    if isinstance(adapter.body, Given):
        return np.array(adapter.body.compliance, dtype=float)
    return bar_compliance(adapter.body, adapter.length)
