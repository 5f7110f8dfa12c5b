"""How an element moves: its deformations under large rotations, with their first two derivatives.

Eight deformations are measured in the frame half way between an element's two end rotations,

    d = (R_m^T (x_b - x_a) - l e_z,  log(R_a^T R_b),  φ_b,  -φ_a).

They do not see rigid motions, so that large rotations and all of geometric stiffness (compression,
bending, torque together) come from here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

DOFS = 7  # a node: ux, uy, uz, rotation x, y, z, twist rate


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


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Kinematics:
    """Deformations (..., e, 8) of all elements, their gradient (..., e, 8, 14), and what both rest on.

    The gradient is for displacement and spatial spin of the end nodes: δR = skew(δϑ) R. In the
    elements' middle frames rm (..., e, 3, 3): the span (..., e, 3) from end to end. rb (..., e, 3, 3):
    rotations of the ends b; psi (..., e, 3) [rad] those from end to end; wm_b (..., e, 3, 3) the middle
    frame's turn, in its own axes, for a spin of the end b.
    """

    d: FloatArray
    gradient: FloatArray
    rm: FloatArray
    rb: FloatArray
    span: FloatArray
    psi: FloatArray
    wm_b: FloatArray

    def pick(self, which: NDArray[np.bool_]) -> Kinematics:
        """The chosen cases, along the first axis."""
        return Kinematics(
            d=self.d[which], gradient=self.gradient[which], rm=self.rm[which], rb=self.rb[which],
            span=self.span[which], psi=self.psi[which], wm_b=self.wm_b[which],
        )  # fmt: skip


def kinematics(x: FloatArray, r: FloatArray, phi: FloatArray, length: FloatArray) -> Kinematics:
    """Of all elements between nodes that follow one another.

    Args:
        x: positions (..., n, 3) [m].
        r: rotations (..., n, 3, 3).
        phi: twist rates (..., n) [rad/m].
        length: of the unbent elements (e,) [m].
    """
    ra, rb = r[..., :-1, :, :], r[..., 1:, :, :]
    ra_t, rb_t = _transposed(ra), _transposed(rb)
    rab = ra_t @ rb
    psi = rotation_vector(rab)
    half = rotation_matrix(psi / 2)
    rm = ra @ half
    rm_t = _transposed(rm)
    span = (rm_t @ (x[..., 1:, :] - x[..., :-1, :])[..., None])[..., 0]
    d = np.empty((*psi.shape[:-1], 8))
    d[..., :3] = span
    d[..., 2] -= length
    d[..., 3:6] = psi
    d[..., 6] = phi[..., 1:]
    d[..., 7] = -phi[..., :-1]
    # Body spins w = R^T δϑ: δψ = Jr⁻¹(ψ)(w_b - R_ab^T w_a), w_m = half^T w_a + ½ Jr(ψ/2) δψ.
    inv = _right_jacobian(psi, inverse=True)
    psi_b = inv @ rb_t
    psi_a = -psi_b  # R_ab^T R_a^T is R_b^T: a spin of both ends bends nothing
    mid = 0.5 * _right_jacobian(psi / 2, inverse=False)
    wm_b = mid @ psi_b
    wm_a = rm_t - wm_b  # and turns the middle by as much
    cross = skew(span)
    g = np.zeros((*psi.shape[:-1], 8, 2 * DOFS))
    g[..., :3, 0:3], g[..., :3, 7:10] = -rm_t, rm_t
    g[..., :3, 3:6], g[..., :3, 10:13] = cross @ wm_a, cross @ wm_b
    g[..., 3:6, 3:6], g[..., 3:6, 10:13] = psi_a, psi_b
    g[..., 6, 13] = 1.0
    g[..., 7, 6] = -1.0
    return Kinematics(d=d, gradient=g, rm=rm, rb=rb, span=span, psi=psi, wm_b=wm_b)


def deformation(
    x: FloatArray, r: FloatArray, phi: FloatArray, length: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Deformations (..., e, 8) and gradient (..., e, 8, 14) alone; arguments as of ``kinematics``."""
    found = kinematics(x, r, phi, length)
    return found.d, found.gradient


def stress_blocks(at: Kinematics, f: FloatArray) -> FloatArray:
    """Second derivative of f·d (..., e, 14, 14) for element forces f (..., e, 8), symmetric part.

    Only the turn of node b is worked out. A shift of a node changes no nodal force, and a turn of node
    a is a turn of the whole element, which carries all forces with it, less that of node b and the
    shift that comes with it.
    """
    f1, f2 = f[..., 0:3], f[..., 3:6]
    force = (at.rm @ f1[..., None])[..., 0]
    by_force = -skew(force) @ at.rm @ at.wm_b
    moment, by_moment = _turned_moment(at, f1, f2)
    # What acts on node a follows by balance: -F, and -m_b - (x_b - x_a) × F.
    lever = skew((at.rm @ at.span[..., None])[..., 0])
    moment_a = -moment - (lever @ force[..., None])[..., 0]
    by_moment_a = -by_moment - lever @ by_force
    out = np.zeros((*f.shape[:-1], 2 * DOFS, 2 * DOFS))
    by_a = -skew(force) - by_force
    for k, by_own, m, by_turn in (
        (3, by_a, moment_a, by_moment_a),
        (10, by_force, moment, by_moment),
    ):
        own = slice(k, k + 3)
        shift = _transposed(by_own)
        out[..., 7:10, own], out[..., own, 7:10] = by_own, shift
        out[..., 0:3, own], out[..., own, 0:3] = -by_own, -shift
        out[..., own, 10:13] = by_turn
        out[..., own, 3:6] = -skew(m) - by_turn + shift @ lever
    return (out + _transposed(out)) / 2


def _turned_moment(at: Kinematics, f1: FloatArray, f2: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Moment (..., 3) on node b, and its derivative (..., 3, 3) by the spin of node b.

    R_b J⁻ᵀ(ψ) (f2 + ½ Jᵀ(ψ/2) (f1 × span)), J the right Jacobian by the series below; odd powers of
    skew(ψ) are -ψ² times the power two lower.
    """
    psi, h = at.psi, at.psi / 2
    k, kh = skew(psi), skew(h)
    square = (psi * psi).sum(axis=-1)[..., None]
    a1, a2 = 1 / 2 - square / 96, 1 / 6 - square / 480
    b2 = 1 / 12 + square / 720
    q = np.cross(f1, at.span)
    hq = np.cross(h, q)
    hhq = np.cross(h, hq)
    v = f2 + 0.5 * (q + a1 * hq + a2 * hhq)
    kv = np.cross(psi, v)
    kkv = np.cross(psi, kv)
    moment = (at.rb @ (v - kv / 2 + b2 * kkv)[..., None])[..., 0]
    # By h = ψ/2 at constant f1 × span, and by what the turning middle frame makes of the span.
    a1, a2, b2 = a1[..., None], a2[..., None], b2[..., None]
    skew_q, skew_v = skew(q), skew(v)
    v_by_h = 0.5 * (
        -a1 * skew_q
        - a2 * (skew(hq) + kh @ skew_q)
        - (hq / 12 + hhq / 60)[..., :, None] * h[..., None, :]
    )
    eye = np.eye(3)
    psi_b = at.gradient[..., 3:6, 10:13]
    mid_t = 0.5 * (eye + a1 * kh + a2 * (kh @ kh))
    v_by = 0.5 * v_by_h @ psi_b + mid_t @ skew(f1) @ at.gradient[..., 0:3, 10:13]
    own = skew_v / 2 - b2 * (skew(kv) + k @ skew_v) + kkv[..., :, None] * psi[..., None, :] / 360
    inv_t = eye - k / 2 + b2 * (k @ k)
    return moment, -skew(moment) + at.rb @ (own @ psi_b + inv_t @ v_by)


def _transposed(m: FloatArray) -> FloatArray:
    return np.swapaxes(m, -1, -2)
