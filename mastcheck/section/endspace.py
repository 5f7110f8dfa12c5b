"""The displacements near a fixed end, and their energy: polynomials and the section's own warping.

Polynomials are products of Legendre's over the section's box, with the warping of torsion and of shear
added to the axial ones. A product of two Legendre polynomials of one variable is a sum of others, so
every integral of two of the displacements follows from the section's moments, E-, G- and λ-weighted.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

from mastcheck.section.elements import at_gauss, slopes
from mastcheck.section.kernel import Solution

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class EndSpace:
    """Displacements in the section's plane by ``f`` functions (u, then v), along the bar by ``a``.

    The energy per length of amplitudes p (f,) and q (a,) that vary along z is half of
    p·flat·p + q·axial·q + 2 p·cross·q' + 2 q·cross_along·p' + p'·flat_along·p' + q'·axial_along·q'.

    ``flat_norm`` and ``axial_norm``: a measure of displacements by which functions are told apart.
    ``rigid_flat`` (f, .) and ``rigid_axial`` (a, .): movements without energy. ``contraction`` (f, 3):
    forces of a free contraction under unit e0, κx and κy; ``growth`` (a, 3): those of a bending stress
    that grows along z by them. ``torque_flat`` (f,), ``torque_axial`` (a,): torque, about the stacking
    line, of displacements that grow along z and of axial ones. ``warping`` (a,): the axial
    displacement of torsion, its greatest value 1. ``symmetric``: those of twist alone.
    """

    symmetric: bool
    flat_norm: FloatArray
    axial_norm: FloatArray
    flat: FloatArray
    axial: FloatArray
    flat_along: FloatArray
    axial_along: FloatArray
    cross: FloatArray
    cross_along: FloatArray
    rigid_flat: FloatArray
    rigid_axial: FloatArray
    contraction: FloatArray
    growth: FloatArray
    torque_flat: FloatArray
    torque_axial: FloatArray
    warping: FloatArray


def end_space(s: Solution, nu: FloatArray, degree: tuple[int, int], symmetric: bool) -> EndSpace:
    """The displacements and their energy.

    Args:
        s: the solved section.
        nu: Poisson's ratio of each triangle (m,), 0 or more.
        degree: of the polynomials along x and y.
        symmetric: whether the section is its own image in y = 0: then only what twist brings along is
            taken, u and w odd in y and v even.
    """
    mesh, gauss = s.mesh, s.gauss
    n_own = 3
    G = (gauss.w * mesh.G[:, None]).ravel()
    lame = (gauss.w * (mesh.E * nu / ((1 + nu) * (1 - 2 * nu)))[:, None]).ravel()
    E = (gauss.w * mesh.E[:, None]).ravel()
    table = _Polynomials.of(s, degree, symmetric)
    own = np.column_stack([s.w_s, s.flow])
    own = own / np.abs(own).max(axis=0)
    e = np.array([at_gauss(mesh, column).ravel() for column in own.T])
    ex, ey = (slope.reshape(n_own, -1) for slope in slopes(mesh, gauss, own))
    odd = table.index[1] % 2 == 1
    every = np.ones_like(odd)
    u, v = (odd, ~odd) if symmetric else (every, every)
    keep = np.array([True, not symmetric, True]) if symmetric else np.ones(n_own, bool)
    w = np.concatenate([u, keep])

    l00, l0x, l0y, lxx, lxy, lyy = table.products(lame)
    g00, g0x, g0y, gxx, gxy, gyy = table.products(G)
    flat = np.block([[_at(lxx + 2 * gxx + gyy, u, u), _at(lxy + gxy.T, u, v)],
                     [_at(lxy + gxy.T, u, v).T, _at(lyy + 2 * gyy + gxx, v, v)]])  # fmt: skip
    flat_along = np.block([[_at(g00, u, u), np.zeros((u.sum(), v.sum()))],
                           [np.zeros((v.sum(), u.sum())), _at(g00, v, v)]])  # fmt: skip
    slope = table.against(G * ex, "x") + table.against(G * ey, "y")  # (polynomials, own)
    axial = _bordered(gxx + gyy, slope, (G * ex) @ ex.T + (G * ey) @ ey.T)[np.ix_(w, w)]
    stretch = (lame + 2 * G) * e
    axial_along = _bordered(l00 + 2 * g00, table.against(stretch, ""), stretch @ e.T)[np.ix_(w, w)]
    px = np.hstack([l0x.T, table.against(lame * e, "x")])
    py = np.hstack([l0y.T, table.against(lame * e, "y")])
    qx = np.vstack([g0x.T, table.against(G * ex, "").T])
    qy = np.vstack([g0y.T, table.against(G * ey, "").T])
    one, x, y = table.linear()
    along = np.stack([one, y, -x], axis=1)
    if symmetric:
        along[:, [0, 2]] = 0.0
    shapes = np.stack([np.ones(E.size), gauss.y.ravel(), -gauss.x.ravel()])
    growth = np.vstack([table.against(E * shapes, ""), e @ (E * shapes).T])[w]
    if symmetric:
        growth[:, [0, 2]] = 0.0
    thick = np.ptp(gauss.y) / 2
    nil = np.zeros_like(one)
    rigid = np.stack([np.r_[one[u], nil[v]], np.r_[nil[u], one[v]], np.r_[-y[u], x[v]]], axis=1)
    return EndSpace(
        symmetric=symmetric,
        flat_norm=flat + flat_along / thick**2,
        axial_norm=axial + axial_along / thick**2,
        flat=flat,
        axial=axial,
        flat_along=flat_along,
        axial_along=axial_along,
        cross=np.vstack([px[np.ix_(u, w)], py[np.ix_(v, w)]]),
        cross_along=np.hstack([qx[np.ix_(w, u)], qy[np.ix_(w, v)]]),
        rigid_flat=rigid,
        rigid_axial=np.r_[one, np.zeros(n_own)][w][:, None],
        contraction=-np.vstack([(l0x.T @ along)[u], (l0y.T @ along)[v]]),
        growth=growth,
        torque_flat=np.r_[-(g00 @ y)[u], (g00 @ x)[v]],
        torque_axial=(qy @ x - qx @ y)[w],
        warping=np.r_[nil, 1.0, np.zeros(n_own - 1)][w],
    )


def _at(k: FloatArray, rows: NDArray[np.bool_], columns: NDArray[np.bool_]) -> FloatArray:
    return np.asarray(k[np.ix_(rows, columns)])


def _bordered(k: FloatArray, side: FloatArray, corner: FloatArray) -> FloatArray:
    return np.block([[k, side], [side.T, corner]])


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Polynomials:
    """P_i(x) P_j(y) over a box: ``index`` (2, n) of them, its ``middle`` and ``half`` sizes (2,) [m].

    ``px`` (p, 2 dx + 1), ``py`` (p, 2 dy + 1): Legendre polynomials at the Gauss points.
    """

    degree: tuple[int, int]
    index: NDArray[np.int64]
    middle: FloatArray
    half: FloatArray
    px: FloatArray
    py: FloatArray

    @classmethod
    def of(cls, s: Solution, degree: tuple[int, int], symmetric: bool) -> _Polynomials:
        low, high = s.mesh.nodes.min(axis=0), s.mesh.nodes.max(axis=0)
        if symmetric:
            high[1] = max(high[1], -low[1])
            low[1] = -high[1]
        middle, half = (low + high) / 2, (high - low) / 2
        dx, dy = degree
        return cls(
            degree=degree,
            index=_index(degree),
            middle=middle,
            half=half,
            px=legendre.legvander((s.gauss.x.ravel() - middle[0]) / half[0], 2 * dx),
            py=legendre.legvander((s.gauss.y.ravel() - middle[1]) / half[1], 2 * dy),
        )

    def products(self, weight: FloatArray) -> tuple[FloatArray, ...]:
        """Integrals (n, n) of f f, f f,x, f f,y, f,x f,x, f,x f,y and f,y f,y; the first by rows."""
        dx, dy = self.degree
        moments = self.px.T @ (weight[:, None] * self.py)
        (x00, x01, x11), (y00, y01, y11) = _tables(dx), _tables(dy)
        x01, x11, y01, y11 = (
            x01 / self.half[0], x11 / self.half[0] ** 2, y01 / self.half[1], y11 / self.half[1] ** 2
        )  # fmt: skip
        x10 = np.swapaxes(x01, 0, 1)
        i, j = self.index
        rows, columns = i[:, None] * (dx + 1) + i, j[:, None] * (dy + 1) + j

        def both(x: FloatArray, y: FloatArray) -> FloatArray:
            by_pair = x.reshape(-1, 2 * dx + 1) @ moments @ y.reshape(-1, 2 * dy + 1).T
            return np.asarray(by_pair[rows, columns])

        pairs = (x00, y00), (x01, y00), (x00, y01), (x11, y00), (x10, y01), (x00, y11)
        return tuple(both(x, y) for x, y in pairs)

    def against(self, weights: FloatArray, slope: str) -> FloatArray:
        """Integrals (n, k) of f, or its slope by x or y, with weights (k, p)."""
        dx, dy = self.degree
        i, j = self.index
        out = []
        for weight in weights:
            moments = self.px[:, : dx + 1].T @ (weight[:, None] * self.py[:, : dy + 1])
            if slope == "x":
                moments = _slope(dx) @ moments / self.half[0]
            elif slope == "y":
                moments = moments @ _slope(dy).T / self.half[1]
            out.append(moments[i, j])
        return np.stack(out, axis=1)

    def linear(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Amplitudes (n,) of 1, x and y."""
        i, j = self.index
        one, x1, y1 = ((i == a) & (j == b) for a, b in ((0, 0), (1, 0), (0, 1)))
        x = self.middle[0] * one + self.half[0] * x1
        return one.astype(float), x, self.middle[1] * one + self.half[1] * y1


@lru_cache(maxsize=8)
def _index(degree: tuple[int, int]) -> NDArray[np.int64]:
    """All that a contraction needs, and a triangle of the rest."""
    dx, dy = degree
    pairs = [
        (i, j)
        for i in range(dx + 1)
        for j in range(dy + 1)
        if i * dy + j * dx <= dx * dy or max(i, j) <= 2
    ]
    return np.array(pairs).T


@lru_cache(maxsize=8)
def _slope(d: int) -> FloatArray:
    """Slopes (d + 1, d + 1) of Legendre polynomials by Legendre polynomials, a row each."""
    out = np.zeros((d + 1, d + 1))
    for i, row in enumerate(np.eye(d + 1)):
        found = legendre.legder(row)
        out[i, : len(found)] = found
    return out


@lru_cache(maxsize=8)
def _tables(d: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Products P_i P_j, P_i P_j' and P_i' P_j' (d+1, d+1, 2d+1) as sums of Legendre polynomials."""
    t, weight = legendre.leggauss(2 * d + 1)
    value = legendre.legvander(t, 2 * d)
    onto = value.T * weight * (np.arange(2 * d + 1) + 0.5)[:, None]  # (2d+1, t)
    p = value[:, : d + 1]
    s = p @ _slope(d).T
    return (
        np.einsum("ti,tj,lt->ijl", p, p, onto),
        np.einsum("ti,tj,lt->ijl", p, s, onto),
        np.einsum("ti,tj,lt->ijl", s, s, onto),
    )
