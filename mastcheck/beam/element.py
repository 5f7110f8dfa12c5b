"""The beam element: exact by its section flexibility, moving with large rotations.

A two-node element with seven degrees of freedom a node (displacement 3, rotation 3, twist rate).
Its eight deformations are measured in the frame half way between its two end rotations,

    d = (R_m^T (x_b - x_a) - l e_z,  log(R_a^T R_b),  φ_b,  -φ_a),

and are conjugate to the resultants (Vx, Vy, N, Mx, My, T) at mid-length and the bimoments
B_b and B_a. Inside the element the resultants follow from equilibrium, so the 8 x 8 flexibility is
the integral of the section flexibility over the element's own taper; the twist rate inside is a
polynomial of its own, condensed out. The deformations do not see rigid motions, so large rotations
and all of geometric stiffness (compression, bending, torque together) come from the kinematics.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.model import BeamModel, SectionStiffness

FloatArray = NDArray[np.float64]

DOFS = 7  # a node: ux, uy, uz, rotation x, y, z, twist rate
_DEGREE = 5
_GAUSS = 8


def _slope_matrix(n: int) -> FloatArray:
    """(n, n): slopes at Gauss points on [-1, 1] of the polynomial through values there."""
    t, _ = np.polynomial.legendre.leggauss(n)
    slope = [np.polynomial.legendre.Legendre.basis(k).deriv()(t) for k in range(n)]
    out: FloatArray = np.stack(slope, axis=1) @ np.linalg.inv(np.polynomial.legendre.legvander(t, n - 1))
    return out


_SLOPES = _slope_matrix(_GAUSS)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ElementIntegrals:
    """What an element's flexibility is integrated from, at its m Gauss points.

    z, weight (m,) [m]; ``interval`` between the model's breaks; sections there; resultants (m, 6, 6)
    and torque that twists (m, 6) of unit forces (Vx, Vy, N, Mx, My, T); slopes (m, m): derivative of
    what has values at the points; shapes and shape_slopes (m, k) of the twist rate's polynomial, and
    its coefficients ``twist`` (k, 8) for unit forces, bimoments included; flexibility (8, 8).
    """

    z: FloatArray
    weight: FloatArray
    interval: int
    sections: SectionStiffness
    resultants: FloatArray
    torque: FloatArray
    slopes: FloatArray
    shapes: FloatArray
    shape_slopes: FloatArray
    twist: FloatArray
    flexibility: FloatArray

    @classmethod
    def of(cls, model: BeamModel, z_a: float, z_b: float) -> ElementIntegrals:
        """Those of the element from z_a to z_b."""
        length = z_b - z_a
        t, w = np.polynomial.legendre.leggauss(_GAUSS)
        z, w = z_a + length * (t + 1) / 2, w * length / 2
        interval = int(np.clip(np.searchsorted(model.breaks, (z_a + z_b) / 2) - 1, 0, None))
        sec = model.stiffness(z, interval)
        arm = (z_a + z_b) / 2 - z
        s = np.broadcast_to(np.eye(6), (len(z), 6, 6)).copy()
        s[:, 3, 1], s[:, 4, 0] = -arm, arm
        direct, shear = s[:, [2, 3, 4]], s[:, :2]
        f = np.zeros((8, 8))
        f[:6, :6] = np.einsum("m,mai,mab,mbj->ij", w, direct, sec.flexibility, direct)
        f[:6, :6] += np.einsum("m,mai,mab,mbj->ij", w, shear, sec.shear, shear)
        torque = s[:, 5] - sec.shear_centre[:, :1] * s[:, 1] + sec.shear_centre[:, 1:] * s[:, 0]
        torque = torque - np.einsum("ma,mai->mi", sec.fibre, direct)
        strain = np.einsum("mab,mbi->mai", sec.flexibility, direct)
        slopes = _SLOPES * (2 / length)
        varying = np.einsum("mn,nai->mai", slopes, sec.contraction[:, :, None] * torque[:, None])
        contraction = np.einsum("m,mai,maj->ij", w, strain, varying)
        f[:6, :6] += contraction + contraction.T
        p = np.asarray(np.polynomial.legendre.legvander(t, _DEGREE), dtype=np.float64)
        slope = np.stack(
            [np.polynomial.legendre.Legendre.basis(k).deriv()(t) for k in range(_DEGREE + 1)], axis=1
        ) * (2 / length)
        k_phi = np.einsum("m,mi,mj->ij", w * sec.GJ, p, p)
        k_phi += np.einsum("m,mi,mj->ij", w * sec.EGamma, slope, slope)
        r = np.empty((_DEGREE + 1, 8))
        r[:, :6] = np.einsum("m,mi,mj->ij", w, p, torque)
        r[:, 6] = 1.0  # Legendre polynomials are 1 at the end b
        r[:, 7] = -((-1.0) ** np.arange(_DEGREE + 1))  # and ±1 at the end a; B_a works on -φ_a
        twist = np.linalg.solve(k_phi, r)
        return cls(
            z=z, weight=w, interval=interval, sections=sec, resultants=s, torque=torque, slopes=slopes,
            shapes=p, shape_slopes=slope, twist=twist, flexibility=f + r.T @ twist,
        )  # fmt: skip


def element_flexibility(model: BeamModel, z_a: float, z_b: float) -> FloatArray:
    """Flexibility (8, 8) of the element from z_a to z_b for (Vx, Vy, N, Mx, My, T, B_b, B_a)."""
    return ElementIntegrals.of(model, z_a, z_b).flexibility


def skew(v: FloatArray) -> FloatArray:
    """Cross-product matrix (..., 3, 3) of v (..., 3).

    >>> skew(np.array([1.0, 2.0, 3.0])) @ np.array([0.0, 0.0, 1.0])
    array([ 2., -1.,  0.])
    """
    out = np.zeros((*v.shape, 3))
    out[..., 0, 1], out[..., 0, 2] = -v[..., 2], v[..., 1]
    out[..., 1, 0], out[..., 1, 2] = v[..., 2], -v[..., 0]
    out[..., 2, 0], out[..., 2, 1] = -v[..., 1], v[..., 0]
    return out


def rotation_matrix(v: FloatArray) -> FloatArray:
    """Rotation (..., 3, 3) of a rotation vector (..., 3) [rad], Rodrigues' formula."""
    angle = np.linalg.norm(v, axis=-1)[..., None, None]
    k = skew(v)
    sinc = np.sinc(angle / np.pi)
    half = np.sinc(angle / (2 * np.pi))
    out: FloatArray = np.eye(3) + sinc * k + 0.5 * half**2 * (k @ k)
    return out


def rotation_vector(r: FloatArray) -> FloatArray:
    """Rotation vector (..., 3) [rad] of a rotation (..., 3, 3); angle below pi."""
    axial = 0.5 * np.stack(
        [r[..., 2, 1] - r[..., 1, 2], r[..., 0, 2] - r[..., 2, 0], r[..., 1, 0] - r[..., 0, 1]], axis=-1
    )
    sine = np.linalg.norm(axial, axis=-1)
    cosine = (np.trace(r, axis1=-2, axis2=-1) - 1) / 2
    angle = np.arctan2(sine, cosine)
    safe = np.where(sine > 1e-12, sine, 1.0)
    ratio = np.where(sine > 1e-12, angle / safe, 1.0)
    out: FloatArray = axial * ratio[..., None]
    return out


def _right_jacobian(v: FloatArray, *, inverse: bool) -> FloatArray:
    """Right Jacobian of the rotation vector (or its inverse), (..., 3, 3).

    Series to fourth order: an element turns by well under 0.3 rad, where it errs below 1e-6.
    """
    k = skew(v)
    k2 = k @ k
    if inverse:
        out: FloatArray = np.eye(3) + k / 2 + k2 / 12 - (k2 @ k2) / 720
    else:
        out = np.eye(3) - k / 2 + k2 / 6 - (k2 @ k) / 24 + (k2 @ k2) / 120
    return out


def deformation(
    x: FloatArray, r: FloatArray, phi: FloatArray, length: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Deformations (..., e, 8) of all elements, and their gradient (..., e, 8, 14).

    x (..., n, 3) positions, r (..., n, 3, 3) rotations, phi (..., n) twist rates, length (e,).
    The gradient is for displacement and spatial spin of the end nodes: δR = skew(δϑ) R.
    """
    ra, rb = r[..., :-1, :, :], r[..., 1:, :, :]
    rab = np.swapaxes(ra, -1, -2) @ rb
    psi = rotation_vector(rab)
    half = rotation_matrix(psi / 2)
    rm = ra @ half
    rm_t = np.swapaxes(rm, -1, -2)
    span = (rm_t @ (x[..., 1:, :] - x[..., :-1, :])[..., None])[..., 0]
    d = np.empty((*psi.shape[:-1], 8))
    d[..., :3] = span
    d[..., 2] -= length
    d[..., 3:6] = psi
    d[..., 6] = phi[..., 1:]
    d[..., 7] = -phi[..., :-1]
    # Body spins w = R^T δϑ: δψ = Jr⁻¹(ψ)(w_b - R_ab^T w_a), w_m = half^T w_a + ½ Jr(ψ/2) δψ.
    inv = _right_jacobian(psi, inverse=True)
    psi_b = inv @ np.swapaxes(rb, -1, -2)
    psi_a = -inv @ np.swapaxes(rab, -1, -2) @ np.swapaxes(ra, -1, -2)
    mid = 0.5 * _right_jacobian(psi / 2, inverse=False)
    wm_a = np.swapaxes(half, -1, -2) @ np.swapaxes(ra, -1, -2) + mid @ psi_a
    wm_b = mid @ psi_b
    cross = skew(span)
    g = np.zeros((*psi.shape[:-1], 8, 2 * DOFS))
    g[..., :3, 0:3], g[..., :3, 7:10] = -rm_t, rm_t
    g[..., :3, 3:6], g[..., :3, 10:13] = cross @ wm_a, cross @ wm_b
    g[..., 3:6, 3:6], g[..., 3:6, 10:13] = psi_a, psi_b
    g[..., 6, 13] = 1.0
    g[..., 7, 6] = -1.0
    return d, g
