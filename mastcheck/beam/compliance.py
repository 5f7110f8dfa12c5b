"""Tip compliance as one integral of the section flexibility: the first of two independent ways.

The mast is a statically determinate cantilever, so the resultants of each unit tip load are known
along z and the 6 x 6 tip compliance is the integral of their products with the section
flexibility. Torsion with restrained warping (Vlasov) follows from

    GJ φ - (EΓ φ')' = T_s(z),   φ = dθ_z/dz,   φ(0) = 0,   EΓ φ'(L) = 0 or φ(L) = 0,

T_s being the torque about the shear centre less what inclined fibres carry, solved here by
Chebyshev collocation on pieces (Trefethen, Spectral Methods in MATLAB, ch. 6 and 12, from memory).
What ends fixed all over add to it comes with the model (``section.ends``).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_banded

from mastcheck.beam.ends import lever
from mastcheck.beam.model import BeamModel

FloatArray = NDArray[np.float64]

ORDER = ("Fx", "Fy", "Fz", "Mx", "My", "Mz")
_POINTS = 40  # Chebyshev intervals a piece
_STEEP = 8.0  # greatest ratio of GJ along a piece


def unit_resultants(z: FloatArray, length: float) -> FloatArray:
    """Resultants (m, 6, 6) of unit tip loads at z: rows Vx, Vy, N, Mx, My, T; columns ORDER.

    >>> unit_resultants(np.array([0.0]), 2.0)[0, 3]
    array([ 0., -2.,  0.,  1.,  0.,  0.])
    """
    s = np.broadcast_to(np.eye(6), (*z.shape, 6, 6)).copy()
    arm = length - z
    s[..., 3, 1] = -arm  # Mx = Mx,tip - (L - z) Fy
    s[..., 4, 0] = arm  # My = My,tip + (L - z) Fx
    return s


def tip_compliance(model: BeamModel) -> FloatArray:
    """First-order compliance (6, 6) of the tip's stacking-line point, SI, order ORDER."""
    pieces = _pieces(model)
    size = _POINTS + 1
    # Rows of each piece, over the columns of the piece before, its own, and those of the one after.
    a = np.zeros((len(pieces), size, 3 * size))
    own = slice(size, 2 * size)
    rhs = np.zeros((size * len(pieces), 6))
    weighted = np.zeros_like(rhs)
    compliance = np.zeros((6, 6))
    nodes, d_unit, w_unit = _chebyshev(_POINTS)
    ends = []
    for i, (lo, hi, interval) in enumerate(pieces):
        z = lo + (hi - lo) * nodes
        d, w = d_unit / (hi - lo), w_unit * (hi - lo)
        sec = model.stiffness(z, interval)
        s = unit_resultants(z, model.length)
        direct = s[:, [2, 3, 4], :]
        compliance += np.einsum("m,mai,mab,mbj->ij", w, direct, sec.flexibility, direct)
        compliance += np.einsum("m,mai,mab,mbj->ij", w, s[:, :2], sec.shear, s[:, :2])
        xs, ys = sec.shear_centre[:, 0, None], sec.shear_centre[:, 1, None]
        torque = s[:, 5] - xs * s[:, 1] + ys * s[:, 0]
        torque = torque - np.einsum("ma,mai->mi", sec.fibre, direct)
        strain = np.einsum("mab,mbi->mai", sec.flexibility, direct)
        varying = np.einsum("mn,nai->mai", d, sec.contraction[:, :, None] * torque[:, None])
        contraction = np.einsum("m,mai,maj->ij", w, strain, varying)
        compliance += contraction + contraction.T
        block = slice(i * size, (i + 1) * size)
        bimoment = sec.EGamma[:, None] * d
        a[i, :, own] = np.diag(sec.GJ) - d @ bimoment
        rhs[block] = torque
        weighted[block] = w[:, None] * torque
        ends.append(bimoment[[0, -1]])
    for i in range(len(pieces)):
        rhs[[i * size, (i + 1) * size - 1]] = 0
        a[i, [0, -1]] = 0
        if i == 0:
            a[i, 0, size] = 1
        else:  # bimoment continuous with the piece before
            a[i, 0, own] = ends[i][0]
            a[i, 0, :size] -= ends[i - 1][1]
        if i + 1 < len(pieces):  # twist rate continuous with the next piece
            a[i, -1, 2 * size - 1], a[i, -1, 2 * size] = 1, -1
        elif model.tip_restrained:
            a[i, -1, 2 * size - 1] = 1
        else:
            a[i, -1, own] = ends[i][1]
    # Rows of mixed dimension: scale each by its largest entry.
    scale = np.abs(a).max(axis=2, keepdims=True)
    phi = solve_banded((size, size), _banded(a / scale), rhs / scale.reshape(-1, 1))
    compliance += weighted.T @ phi
    if model.base_end is not None:
        root = lever(model.length)
        compliance += root.T @ model.base_end @ root
    if model.tip_end is not None:
        compliance += model.tip_end
    return compliance


def _banded(a: FloatArray) -> FloatArray:
    """Rows (k, n, 3 n) of k pieces as the bands (2 n + 1, k n) that ``solve_banded`` reads.

    The time grows with the number of pieces, where that of the whole matrix would with its cube.
    """
    count, size, _ = a.shape
    row, column = np.meshgrid(np.arange(size), np.arange(3 * size) - size, indexing="ij")
    out = np.zeros((2 * size + 1, count * size))
    for i in range(count):
        there = i * size + column
        kept = (np.abs(row - column) <= size) & (there >= 0) & (there < count * size)
        out[(size + row - column)[kept], there[kept]] = a[i][kept]
    return out


def _pieces(model: BeamModel) -> list[tuple[float, float, int]]:
    """Integration pieces (lo, hi, interval), finer in the warping boundary layers."""
    out: list[tuple[float, float, int]] = []
    last = len(model.breaks) - 2
    for i, (lo, hi) in enumerate(zip(model.breaks[:-1], model.breaks[1:], strict=True)):
        cuts = {float(lo), float(hi)}
        for end, inward, held in ((lo, 1, i == 0), (hi, -1, i == last and model.tip_restrained)):
            if held:
                layer = model.warping_length(float(end))
                cuts |= {float(end + inward * f * layer) for f in (8, 40) if f * layer < (hi - lo) / 2}
        edges = sorted(cuts)
        for a, b in itertools.pairwise(edges):
            out += [(c, d, i) for c, d in _gentle(model, a, b, i)]
    return out


def _gentle(
    model: BeamModel, lo: float, hi: float, interval: int, halvings: int = 6
) -> Iterator[tuple[float, float]]:
    """A piece, in halves where GJ changes so much along it that its polynomials would not do."""
    ends = model.stiffness(np.array([lo, hi]), interval).GJ
    if not halvings or ends.max() <= _STEEP * ends.min():
        yield lo, hi
        return
    middle = (lo + hi) / 2
    yield from _gentle(model, lo, middle, interval, halvings - 1)
    yield from _gentle(model, middle, hi, interval, halvings - 1)


def _chebyshev(n: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Nodes on [0, 1] ascending, differentiation matrix and Clenshaw-Curtis weights."""
    theta = np.pi * np.arange(n + 1) / n
    x = -np.cos(theta)
    c = np.where((np.arange(n + 1) == 0) | (np.arange(n + 1) == n), 2.0, 1.0) * (-1.0) ** np.arange(
        n + 1
    )
    dx = x[:, None] - x[None, :] + np.eye(n + 1)
    d = np.outer(c, 1 / c) / dx
    d -= np.diag(d.sum(axis=1))
    # Weights by exactness for Chebyshev polynomials: ∫ T_k over [-1, 1] = 2/(1-k²), k even.
    k = np.arange(n + 1)
    moments = np.where(k % 2 == 0, 2 / (1.0 - np.where(k == 1, 0, k) ** 2.0), 0.0)
    moments[1] = 0.0
    w = np.linalg.solve(np.cos(np.outer(k, np.pi - theta)), moments)
    return (x + 1) / 2, d * 2, w / 2
