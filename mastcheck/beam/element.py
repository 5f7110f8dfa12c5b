"""The beam element: exact by its section flexibility, moving with large rotations.

A two-node element with seven degrees of freedom a node (displacement 3, rotation 3, twist rate).
Its eight deformations (``kinematics``) are conjugate to the resultants (Vx, Vy, N, Mx, My, T) at
mid-length and the bimoments B_b and B_a. Inside the element the resultants follow from equilibrium, so
the 8 x 8 flexibility is the integral of the section flexibility over the element's own taper; the twist
rate inside is a polynomial of its own, condensed out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.model import BeamModel, SectionStiffness

FloatArray = NDArray[np.float64]

_DEGREE = 5
_GAUSS = 8


def _tables(n: int) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """At n Gauss points on [-1, 1]: the points t and weights (n,), Legendre polynomials and their slopes
    (n, degree + 1), and slopes (n, n) of the polynomial through values there.
    """
    t, w = np.polynomial.legendre.leggauss(n)

    def slopes(count: int) -> FloatArray:
        columns = [np.polynomial.legendre.Legendre.basis(k).deriv()(t) for k in range(count)]
        return np.stack(columns, axis=1)

    through: FloatArray = slopes(n) @ np.linalg.inv(np.polynomial.legendre.legvander(t, n - 1))
    shapes = np.asarray(np.polynomial.legendre.legvander(t, _DEGREE), dtype=np.float64)
    return t, w, shapes, slopes(_DEGREE + 1), through


_T, _W, _SHAPES, _SHAPE_SLOPES, _SLOPES = _tables(_GAUSS)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ElementIntegrals:
    """What the flexibilities of e elements are integrated from, at m Gauss points of each.

    z, weight (e, m) [m]; ``interval`` (e,) between the model's breaks; sections there; resultants
    (e, m, 6, 6) and torque that twists (e, m, 6) of unit forces (Vx, Vy, N, Mx, My, T); slopes
    (e, m, m): derivative of what has values at the points; shapes (m, k) and shape_slopes (e, m, k) of
    the twist rate's polynomial, and its coefficients ``twist`` (e, k, 8) for unit forces (Vx, Vy, N, Mx,
    My, T, B_b, B_a); flexibility (e, 8, 8) for these.
    """

    z: FloatArray
    weight: FloatArray
    interval: NDArray[np.int64]
    sections: SectionStiffness
    resultants: FloatArray
    torque: FloatArray
    slopes: FloatArray
    shapes: FloatArray
    shape_slopes: FloatArray
    twist: FloatArray
    flexibility: FloatArray

    @classmethod
    def along(cls, model: BeamModel, nodes: FloatArray) -> ElementIntegrals:
        """Those of the elements between nodes (e + 1,) [m] that follow one another."""
        z_a, length = nodes[:-1, None], np.diff(nodes)[:, None]
        z, w = z_a + length * (_T + 1) / 2, _W * length / 2
        middle = (nodes[:-1] + nodes[1:]) / 2
        interval = np.clip(np.searchsorted(model.breaks, middle) - 1, 0, None)
        sec = model.stiffness(z, np.broadcast_to(interval[:, None], z.shape))
        arm = middle[:, None] - z
        s = np.broadcast_to(np.eye(6), (*z.shape, 6, 6)).copy()
        s[..., 3, 1], s[..., 4, 0] = -arm, arm
        direct, shear = s[..., [2, 3, 4], :], s[..., :2, :]
        strain = sec.flexibility @ direct
        f = np.zeros((len(z), 8, 8))
        f[:, :6, :6] = _integral(w, direct, strain)
        f[:, :6, :6] += _integral(w, shear, sec.shear @ shear)
        centre = sec.shear_centre[..., None]
        torque = s[..., 5, :] - centre[..., 0, :] * s[..., 1, :] + centre[..., 1, :] * s[..., 0, :]
        torque = torque - (sec.fibre[..., None, :] @ direct)[..., 0, :]
        slopes = _SLOPES * (2 / length)[..., None]
        work = sec.contraction[..., :, None] * torque[..., None, :]
        varying = (slopes @ work.reshape(*z.shape, -1)).reshape(work.shape)
        contraction = _integral(w, strain, varying)
        f[:, :6, :6] += contraction + np.swapaxes(contraction, -1, -2)
        slope = _SHAPE_SLOPES * (2 / length)[..., None]
        k_phi = _SHAPES.T @ ((w * sec.GJ)[..., None] * _SHAPES)
        k_phi += np.swapaxes(slope, -1, -2) @ ((w * sec.EGamma)[..., None] * slope)
        r = np.empty((len(z), _DEGREE + 1, 8))
        r[..., :6] = _SHAPES.T @ (w[..., None] * torque)
        r[..., 6] = 1.0  # Legendre polynomials are 1 at the end b
        r[..., 7] = -((-1.0) ** np.arange(_DEGREE + 1))  # and ±1 at the end a; B_a works on -φ_a
        twist = np.asarray(np.linalg.solve(k_phi, r), dtype=np.float64)
        return cls(
            z=z, weight=w, interval=interval, sections=sec, resultants=s, torque=torque, slopes=slopes,
            shapes=_SHAPES, shape_slopes=slope, twist=twist,
            flexibility=f + np.swapaxes(r, -1, -2) @ twist,
        )  # fmt: skip

    def element(self, e: int) -> ElementIntegrals:
        """Those of one element, without the first axis."""
        alone = {name: getattr(self.sections, name)[e] for name in SectionStiffness.__slots__}
        return ElementIntegrals(
            z=self.z[e], weight=self.weight[e], interval=self.interval[e],
            sections=SectionStiffness(**alone), resultants=self.resultants[e], torque=self.torque[e],
            slopes=self.slopes[e], shapes=self.shapes, shape_slopes=self.shape_slopes[e],
            twist=self.twist[e], flexibility=self.flexibility[e],
        )  # fmt: skip


def _integral(weight: FloatArray, a: FloatArray, b: FloatArray) -> FloatArray:
    """∫ aᵀ b over the points, of (e, m, i, j) and (e, m, i, k), (e, j, k)."""
    e, m, i, j = a.shape
    weighted = (weight[..., None, None] * a).reshape(e, m * i, j)
    out: FloatArray = np.swapaxes(weighted, -1, -2) @ b.reshape(e, m * i, -1)
    return out
