"""Natural frequencies and mode shapes of a mast on its frame model."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from mastcheck.beam.kinematics import DOFS
from mastcheck.beam.model import BeamModel
from mastcheck.beam.solve import FrameModel

FloatArray = NDArray[np.float64]
Inertia = Callable[[FloatArray], FloatArray]

_GAUSS = 4


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Modes:
    """Natural modes, lowest first.

    frequency (k,) [Hz]; z (n,) [m]; displacement and rotation (k, n, 3), scaled so that the largest
    displacement, or rotation times the length, is 1.
    """

    frequency: FloatArray
    z: FloatArray
    displacement: FloatArray
    rotation: FloatArray


def modes(
    model: BeamModel,
    frame: FrameModel,
    *,
    tip: FloatArray | None = None,
    added: Inertia | None = None,
    count: int = 6,
) -> Modes:
    """Free vibration about the unloaded shape.

    Args:
        model: section stiffness and mass along the mast.
        frame: its finite elements, with its joints.
        tip: inertia (6, 6) of what hangs on the loaded point, for velocities (u, θ) there
            [kg, kg·m, kg·m²]; None for a bare mast.
        added: further mass per length (m, 6, 6) at z (m,), such as the water's.
        count: modes asked for.

    Returns:
        The modes.
    """
    m = mass_matrix(model, frame, added)
    if tip is not None:
        last = DOFS * (frame.n - 1)
        m[last : last + 6, last : last + 6] += tip
    # Twist rates carry no mass: they follow the rest without inertia, and are condensed out.
    free = frame.free
    massive = free[free % DOFS != DOFS - 1]
    light = free[free % DOFS == DOFS - 1]
    k = frame.k0
    follow = -np.linalg.solve(k[np.ix_(light, light)], k[np.ix_(light, massive)])
    stiff = k[np.ix_(massive, massive)] + k[np.ix_(massive, light)] @ follow
    mass = m[np.ix_(massive, massive)]
    # 1/ω² as the eigenvalue: accurate for the lowest modes, and mass may be singular.
    scale = 1 / np.sqrt(np.diag(stiff))
    a = (mass + mass.T) / 2 * np.outer(scale, scale)
    b = (stiff + stiff.T) / 2 * np.outer(scale, scale)
    top = len(scale)
    inverse, vectors = scipy.linalg.eigh(a, b, subset_by_index=[top - count, top - 1])
    frequency = 1 / (2 * np.pi * np.sqrt(inverse[::-1]))
    full = np.zeros((count, DOFS * frame.n))
    full[:, massive] = (vectors[:, ::-1] * scale[:, None]).T
    nodal = full.reshape(count, frame.n, DOFS)
    size = np.maximum(
        np.abs(nodal[..., :3]).max(axis=(1, 2)),
        model.length * np.abs(nodal[..., 3:6]).max(axis=(1, 2)),
    )
    nodal = nodal / size[:, None, None]
    return Modes(
        frequency=frequency,
        z=frame.z,
        displacement=nodal[..., :3],
        rotation=nodal[..., 3:6],
    )


def mass_matrix(model: BeamModel, frame: FrameModel, added: Inertia | None = None) -> FloatArray:
    """Mass matrix (7n, 7n) of the mast and of what is added to it."""
    return line_matrix(
        frame, lambda z: model.inertia(z) if added is None else model.inertia(z) + added(z)
    )


def line_matrix(frame: FrameModel, per_length: Inertia) -> FloatArray:
    """Nodal matrix (7n, 7n) of something spread along the mast.

    The mean of the consistent matrix of straight elements and the lumped one: their errors are of
    opposite sign and cancel to the second order in the element's length.

    Args:
        frame: the finite elements.
        per_length: (m, 6, 6) per length at z (m,), for movements (u, θ) of the stacking line; asked
            for inside elements only, so that it may jump at a node.
    """
    out = np.zeros((frame.n, DOFS, frame.n, DOFS))
    t, w = np.polynomial.legendre.leggauss(_GAUSS)
    real = np.flatnonzero(frame.span > 0)  # a joint's spring has no length
    start, span = frame.z[real], frame.span[real]
    z = start[:, None] + span[:, None] * (t + 1) / 2
    slices = per_length(z.ravel()).reshape(*z.shape, 6, 6)
    share = np.stack([(1 - t) / 2, (1 + t) / 2], axis=1)
    weight = span[:, None] * w / 2
    flat = slices.reshape(*z.shape, -1)
    for i in range(2):
        for j in range(2):
            # What is lumped to a node is its share of the whole, and stays on the diagonal.
            by = 0.5 * weight * share[:, i] * (share[:, j] + (i == j))
            block = (by[:, None] @ flat)[:, 0].reshape(-1, 6, 6)
            out[real + i, :6, real + j, :6] += block
    return out.reshape(DOFS * frame.n, -1)
