"""Loads at which a lift that follows the tip makes the mast flutter.

Such a lift has no potential: its load stiffness is unsymmetric, and a mast may lose its stability by
growing oscillations without any static buckling (Beck's column; Bolotin, Nonconservative Problems of the
Theory of Elastic Stability, from memory). The dynamic criterion needs the mass: small vibrations about
the straight shape obey

    (K₀ + λ K_σ) u = ω² M u,

and the mast stands while all ω² are real and positive. Two of them meeting is flutter, one reaching
zero is divergence (buckling).

No damping is in it. A little damping inside the material may lower a flutter load by half (Ziegler;
Beck's column from 20.05 to 10.94 EI/L², from memory), so this factor is never to be used alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from mastcheck.beam.buckling import load_stiffness
from mastcheck.beam.kinematics import DOFS
from mastcheck.beam.loads import Loads, TipLoad
from mastcheck.beam.solve import FrameModel

FloatArray = NDArray[np.float64]

_MODES = 30
"""Lowest natural modes that stand for the mast: within 1e-5 (Beck's column) to 2e-3 (a tapered mast with
an eccentric lift and a torque) of sixty. All of them would let in the mesh's own, which mean nothing."""
_SCAN = 240  # load steps up to the greatest; a flutter that begins and ends within one is not seen
_REAL = 1e-6  # imaginary part of ω² over its size that counts as none
_SLOW = 1e-4  # 1/ω² of the modes looked at, over the greatest: frequencies to 100 times the lowest
_PAIR = 1e-3  # imaginary part of 1/ω² that counts: some 1e-6 of the load past where two modes meet


@dataclass(frozen=True, slots=True, kw_only=True)
class Flutter:
    """Loss of stability of one case.

    factor: multiple of the load; inf: none up to the multiple looked at. frequency [Hz] there, 0 for
    divergence. flutters: whether it is by flutter, else by divergence.
    """

    factor: float
    frequency: float
    flutters: bool


def flutter(frame: FrameModel, case: TipLoad, mass: FloatArray, *, up_to: float) -> Flutter:
    """Lowest load factor at which vibrations about the straight shape grow.

    Args:
        frame: finite elements of the mast.
        case: service load; all of it grows together.
        mass: mass matrix (7n, 7n), with what hangs on the tip (``modes.mass_matrix``).
        up_to: greatest multiple to look at.

    Returns:
        The factor, with its frequency.
    """
    load = Loads(frame.z, [case], np.ones(1))
    x, r, _ = frame.unloaded(1)
    k_sigma = load_stiffness(frame, load).plus(load.unsymmetric(r, x)).dense()[0]
    shape, period = _natural(frame, mass)
    stress = shape.T @ k_sigma @ shape
    root = 1 / np.sqrt(period)

    def squares(factor: float) -> NDArray[np.complex128]:
        """ω² of the reduced mast."""
        system = (np.eye(len(root)) + factor * stress) * np.outer(root, root)
        out: NDArray[np.complex128] = np.linalg.eigvals(system).astype(complex)
        return out

    def unstable(factor: float) -> bool:
        found = squares(factor)
        return bool((found.real <= 0).any() or (np.abs(found.imag) > _REAL * np.abs(found)).any())

    steps = np.linspace(0.0, up_to, _SCAN + 1)
    first = next((i for i in range(1, _SCAN + 1) if unstable(steps[i])), None)
    if first is None:
        return Flutter(factor=np.inf, frequency=0.0, flutters=False)
    low, high = float(steps[first - 1]), float(steps[first])
    while high - low > 1e-9 * high:
        middle = (low + high) / 2
        low, high = (low, middle) if unstable(middle) else (middle, high)
    found = squares(high)
    pairs = np.abs(found.imag) > 0.5 * _REAL * np.abs(found)
    flutters = not (found.real <= 0).any()
    omega2 = float(found[pairs].real.min()) if flutters and pairs.any() else 0.0
    return Flutter(factor=low, frequency=float(np.sqrt(omega2)) / (2 * np.pi), flutters=flutters)


def stands(frame: FrameModel, case: TipLoad, factor: float, mass: FloatArray) -> bool:
    """Whether small vibrations about the bent shape at a load multiple do not grow.

    Args:
        frame: finite elements of the mast.
        case: service load.
        factor: its multiple.
        mass: mass matrix (7n, 7n) of the straight mast; here it turns with the nodes.

    Returns:
        False, too, when no balanced shape is found.
    """
    bent = frame.equilibrium([case], [factor])
    if not bent.converged[0]:
        return False
    turn = np.zeros((frame.n, DOFS, DOFS))
    turn[:, :3, :3] = turn[:, 3:6, 3:6] = bent.r[0]
    turn[:, 6, 6] = 1.0
    by_node = mass.reshape(frame.n, DOFS, frame.n, DOFS)
    m = np.einsum("iab,ibjc,jdc->iajd", turn, by_node, turn, optimize=True).reshape(mass.shape)
    free = np.ix_(frame.free, frame.free)
    scale = 1 / np.sqrt(np.diag(frame.k0)[frame.free])
    both = np.outer(scale, scale)
    tangent = bent.tangent.dense()[0]
    periods = np.linalg.eigvals(np.linalg.solve(tangent[free] * both, m[free] * both))
    slow = periods[np.abs(periods) > _SLOW * np.abs(periods).max()]
    return bool((slow.real > 0).all() and (np.abs(slow.imag) < _PAIR * np.abs(slow)).all())


def _natural(frame: FrameModel, mass: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Lowest natural modes (7n, m), of unit stiffness, and their 1/ω² (m,)."""
    # Twist rates carry neither mass nor load stiffness: they follow the rest, and are condensed out.
    massive = frame.free[frame.free % DOFS != DOFS - 1]
    light = frame.free[frame.free % DOFS == DOFS - 1]
    k = frame.k0
    follow = -np.linalg.solve(k[np.ix_(light, light)], k[np.ix_(light, massive)])
    stiff = k[np.ix_(massive, massive)] + k[np.ix_(massive, light)] @ follow
    scale = 1 / np.sqrt(np.diag(stiff))
    m, b = (a * np.outer(scale, scale) for a in (mass[np.ix_(massive, massive)], stiff))
    top = len(scale)
    inverse, vectors = scipy.linalg.eigh(
        (m + m.T) / 2, (b + b.T) / 2, subset_by_index=[max(0, top - _MODES), top - 1]
    )
    carried = inverse > 1e-12 * inverse[-1]  # movements without mass have no frequency
    shape = np.zeros((len(k), int(carried.sum())))
    shape[massive] = vectors[:, carried] * scale[:, None]
    shape[light] = follow @ shape[massive]
    return shape, inverse[carried]
