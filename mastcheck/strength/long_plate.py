"""Buckling of a long plate along its length, its two long edges hinged: laminates of every layup.

Plies at an angle that lie at unlike depths tie bending to twisting (D16 and D26) even where the layup is
balanced and symmetrical. The waves then lean, and the plate buckles sooner than the closed form for
orthotropic plates says: by a quarter for [±45]s of carbon plies, by a tenth for [±45/0]s.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

TERMS = 16
"""Polynomials across the plate. With twice as many the force is the same to 1e-8 for plies a hundred
times as stiff along as across, and to 1e-4 for plies ten thousand times as stiff.
"""

_WAVES = math.pi * np.geomspace(1 / 64, 64, 49)
"""Waves q tried first: half waves from 64 widths long to a 64th, in the measure of ``plate_force``. Of
single plies, up to a thousand times as stiff along as across, the least take a third of a width to one.
"""

_NONE = 1e-9
"""D16 and D26 below this share of the bending stiffness are rounding."""


def plate_force(D: FloatArray, width: float) -> float:
    """Force per width [N/m] that buckles an endless plate, least over all waves along it.

    The movement is Re f(y) exp(iqx), f a sum of polynomials that are nil at both edges, at which the
    plate may turn freely (Ritz). Without D16 and D26 the closed form is taken,
    2π²/b² (√(D11 D22) + D12 + 2 D66); tests hold the rest to the roots of the plate's own equation.

    Args:
        D: (3, 3) bending stiffness [N·m] in the order of stretch along, across, and shear.
        width: between the hinged edges [m].
    """
    size = math.sqrt(D[0, 0] * D[1, 1])
    # With lengths along the plate in the measure of (D11/D22)^(1/4) three numbers are left (Nemeth).
    beta = (D[0, 1] + 2 * D[2, 2]) / size
    gamma = D[0, 2] / (D[0, 0] ** 3 * D[1, 1]) ** 0.25
    delta = D[1, 2] / (D[0, 0] * D[1, 1] ** 3) ** 0.25
    leaning = max(abs(gamma), abs(delta)) > _NONE
    factor = _factor(beta, gamma, delta) if leaning else 2 * math.pi**2 * (1 + beta)
    return float(size / width**2 * factor)


@lru_cache(maxsize=512)
def _factor(beta: float, gamma: float, delta: float) -> float:
    """N b²/√(D11 D22), least over the waves q = k b."""
    from scipy.optimize import minimize_scalar  # it takes long to import, and few masts need it

    k = int(_forces(_WAVES, beta, gamma, delta).argmin())
    beside = _WAVES[max(k - 1, 0)], _WAVES[min(k + 1, len(_WAVES) - 1)]
    found = minimize_scalar(
        lambda q: _forces(np.array([q]), beta, gamma, delta)[0],
        bounds=beside,
        method="bounded",
        options={"xatol": 1e-5 * _WAVES[k]},
    )
    return float(found.fun)


def _forces(q: FloatArray, beta: float, gamma: float, delta: float) -> FloatArray:
    """The least force (n,) at each of the waves q (n,)."""
    bent, turned, ahead, across = _integrals()
    q = q[:, None, None]
    real = q**4 * np.eye(TERMS) + bent + 2 * beta * q**2 * turned
    leaning = -4 * gamma * q**3 * ahead + 2 * delta * q * (across - across.T)
    least: FloatArray = np.linalg.eigvalsh(real + 1j * leaning)[:, 0] / q[:, 0, 0] ** 2
    return least


@cache
def _integrals() -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """∫f"f", ∫f'f', ∫ff', ∫f"f' (k, k) over a width of 1, of polynomials with ∫ff the unit matrix."""
    from numpy.polynomial import Legendre
    from numpy.polynomial.legendre import leggauss

    at, weight = leggauss(TERMS + 3)
    edge = Legendre([2 / 3, 0, -2 / 3])  # 1 - y²
    shapes = [edge * Legendre.basis(k) for k in range(TERMS)]
    # The width runs from -1 to 1 in them.
    f, f1, f2 = (np.array([s.deriv(n)(at) if n else s(at) for s in shapes]) * 2**n for n in range(3))
    weight = weight / 2
    own = np.linalg.inv(np.linalg.cholesky((f * weight) @ f.T))
    f, f1, f2 = own @ f, own @ f1, own @ f2
    return (f2 * weight) @ f2.T, (f1 * weight) @ f1.T, (f * weight) @ f1.T, (f2 * weight) @ f1.T
