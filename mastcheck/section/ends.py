"""What a fixed end does to twist: it holds back contraction, warping and shear warping together.

Away from its ends a bar takes Saint-Venant's states: bending and stretching with their contraction
across the section, torsion and shear with their warping. An end fixed all over allows none of it, so
near the end a further field, dying away along the bar, cancels the displacements r of the end face in
these states. By Betti's theorem it takes rᵀ S r off the compliance, S being the stiffness of a
half-infinite bar against displacements of its end face (rigid ones cost nothing: the far end is free).

Vlasov's theory, which the beam has, knows only the warping of torsion, holds that alone and takes a
closed wall's end for stiffer than it is, for its walls also bend. What is given here is the difference
to it, and only of the terms of twist and of torque: in bending the beam stays on the soft side (a fixed
end makes it some 1 % stiffer).

Displacements are those of ``section.endspace`` over the section, and of the fourth degree along a thin
slice, which is doubled until it is as good as endless. A slice is its own image in its middle plane, so
its stiffness is that against ends that move alike and against ends that move oppositely.
The section is taken as uniform along z near the end; each material as isotropic, with the ν that its E
and G imply. Derived for this project; the proof is the solid models.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.polynomial import legendre
from numpy.typing import NDArray

from mastcheck.section.endspace import EndSpace, end_space
from mastcheck.section.kernel import Solution

FloatArray = NDArray[np.float64]

DEGREE = (14, 7)
"""Of the displacements, along x and y. A space of few functions is stiffer than the bar, which leaves
twist a little too stiff: of a hollow mast held at both ends by 0.52 % at (8, 4), 0.25 % at (12, 6),
0.15 % at (14, 7), 0.09 % at (16, 8), against a solid model; in solid sections the degree hardly
matters."""
GREATEST_NU = 0.45  # beyond it a full solid is nearly incompressible: no longer what E and G tell
_SLICE = 0.02  # thickness of the first slice, in half widths of the section
_DOUBLINGS = 9  # to ten half widths
_DIFFERENT = 1e-9  # least share of the energy by which functions differ
_ROUNDING = 1e-11
_T = 5


def end_correction(
    s: Solution, *, symmetric: bool = False, degree: tuple[int, int] = DEGREE
) -> FloatArray | None:
    """Compliance (6, 6) to add to a beam with Vlasov's warping held at its base.

    Args:
        s: the solved section.
        symmetric: whether the section is its own image about its chord line. Twist then keeps
            apart from stretching and fore-aft bending, and half of the displacements do for it.
        degree: of the polynomials along x and y.

    Returns:
        Order Fx, Fy, Fz, Mx, My, Mz, for loads at the stacking line in the end: nil but in the row and
        column of Mz. For an end at z = 0; see ``at_tip`` for the other. None where a material's E and G
        imply a ν outside 0 to GREATEST_NU (most laminates), or the numbers fail: Vlasov's theory then
        stands alone. That is not conservative: measured on isotropic masts it is up to 1.5 % too stiff
        under torque (a hollow mast held at both ends), 2.8 % in twist by a side force.
    """
    nu = s.mesh.E / (2 * s.mesh.G) - 1
    if nu.min() < -_ROUNDING or nu.max() > GREATEST_NU:
        return None
    try:
        row = _twist_row(s, end_space(s, np.maximum(nu, 0.0), degree, symmetric))
    except np.linalg.LinAlgError:
        return None
    if row is None or not np.isfinite(row).all():
        return None
    out = np.zeros((6, 6))
    out[_T], out[:, _T] = row, row
    return out


def _twist_row(s: Solution, space: EndSpace) -> FloatArray | None:
    """The row of Mz; None where the field at the end takes no work."""
    flat, axial = _independent(space.flat_norm, space.axial_norm)
    bar = _Bar(
        flat=flat.T @ space.flat @ flat,
        axial=axial.T @ space.axial @ axial,
        flat_along=flat.T @ space.flat_along @ flat,
        axial_along=axial.T @ space.axial_along @ axial,
        cross=flat.T @ space.cross @ axial,
        cross_along=axial.T @ space.cross_along @ flat,
    )
    # Rigid movements are left free: springs hold them, without force where the load is in balance.
    held_flat, held_axial = (
        k + _springs(basis.T @ norm @ rigid)
        for k, basis, norm, rigid in (
            (bar.flat, flat, space.flat_norm, space.rigid_flat),
            (bar.axial, axial, space.axial_norm, space.rigid_axial),
        )
    )
    free = _solved(held_flat, flat.T @ space.contraction)
    to_centroid = np.array([[1.0, 0.0, 0.0], [-s.centroid[1], 1.0, 0.0], [s.centroid[0], 0.0, 1.0]])
    # Strains (e0, κx, κy) at the stacking line by N, Mx and My there, and their growth by Vx and Vy.
    strain = np.linalg.solve(s.S, to_centroid)
    strain[0] += s.centroid[0] * strain[2] - s.centroid[1] * strain[1]
    rate = np.stack([-strain[:, 2], strain[:, 1]], axis=1)
    # Shear: its warping balances the growing bending stress, dragged at by the growing contraction.
    drag = free @ rate
    warp = _solved(held_axial, axial.T @ (space.growth @ rate) - bar.cross_along @ drag)
    torque = space.torque_axial @ axial @ warp + space.torque_flat @ flat @ drag
    face = np.zeros((len(bar.flat) + len(bar.axial), 6))
    k = len(bar.flat)
    face[k:, :2], face[:k, :2], face[:k, 2:5] = warp, 0.0, free @ strain
    twist = np.abs(s.w_s).max() / s.GJ
    face[k:, 5] = twist * (axial.T @ space.axial_norm @ space.warping)
    face[:, :2] -= np.outer(face[:, 5], torque)
    off = _force(bar, face[:, _T], _SLICE * np.ptp(s.gauss.x) / 2) @ face
    if off[_T] <= 0:
        return None
    xs, ys = s.shear_centre
    vlasov = np.sqrt(s.EGamma / s.GJ) / s.GJ * np.array([ys, -xs, 0.0, 0.0, 0.0, 1.0])
    row = vlasov - off
    if space.symmetric:
        row[[0, 2, 4]] = 0.0
    return np.asarray(row)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Bar:
    """An ``EndSpace``'s energy in functions that are independent."""

    flat: FloatArray
    axial: FloatArray
    flat_along: FloatArray
    axial_along: FloatArray
    cross: FloatArray
    cross_along: FloatArray


def _independent(*norms: FloatArray) -> tuple[FloatArray, ...]:
    """Combinations (n, k) of each group's functions that differ, orthonormal in an energy."""
    found = []
    for norm in norms:
        scale = 1 / np.sqrt(np.diag(norm))
        found.append((scale, *scipy.linalg.eigh(norm * np.outer(scale, scale), check_finite=False)))
    least = _DIFFERENT * max(float(value[-1]) for _, value, _ in found)
    return tuple(
        scale[:, None] * vector[:, value > least] / np.sqrt(value[value > least])
        for scale, value, vector in found
    )


def _springs(rigid: FloatArray) -> FloatArray:
    """Stiffness (n, n) of springs as stiff as the rest (about 1) against movements (n, k), some nil."""
    q = np.linalg.svd(rigid, full_matrices=False)
    held = q.U[:, _ROUNDING * q.S.max(initial=0.0) < q.S]
    return np.asarray(held @ held.T)


def _solved(k: FloatArray, f: FloatArray) -> FloatArray:
    return np.asarray(scipy.linalg.solve(k, f, assume_a="pos", check_finite=False))


def _force(bar: _Bar, r: FloatArray, h: float) -> FloatArray:
    """Force of an endless bar's end face against the displacement r, by doubling a slice h [m].

    Let K be a slice's stiffness, near end first, and R the sign of a displacement seen in a mirror
    (axial ones turn round). As the slice is its own image, K22 = R K11 R, and C = K12 R is symmetric:
    K11 + C and K11 - C are the stiffness where the far end moves like the image of the near one, and
    oppositely. Two slices that move alike meet where nothing moves along the bar; oppositely, where
    all that moves does so along it.
    """
    n = len(bar.flat)
    alike, opposite = _slice(bar, h)
    for _ in range(_DOUBLINGS):
        near, far = (alike + opposite) / 2, (alike - opposite) / 2
        alike = near - _condensed(near[:n, :n], far[:n])
        opposite = near - _condensed(near[n:, n:], far[n:])
    near, far = (alike + opposite) / 2, (alike - opposite) / 2
    return np.asarray(near @ r - far @ _solved(near, far @ r))


def _condensed(k: FloatArray, cross: FloatArray) -> FloatArray:
    """Crossᵀ k⁻¹ cross, by k = L Lᵀ."""
    factor = scipy.linalg.cholesky(k, lower=True, check_finite=False)
    half = scipy.linalg.solve_triangular(factor, cross, lower=True, check_finite=False)
    return np.asarray(half.T @ half)


def _slice(bar: _Bar, h: float) -> tuple[FloatArray, FloatArray]:
    """K11 + C and K11 - C of a slice of thickness h [m], displacements of the fourth degree along it."""
    n, m = len(bar.flat), len(bar.axial)
    found = []
    for u, w in (_EVEN_ODD, _EVEN_ODD[::-1]):
        # Of the first function alone the near end's value is not nil.
        blocks = (
            np.kron(_over(u, u, 0, 0, h), bar.flat) + np.kron(_over(u, u, 1, 1, h), bar.flat_along),
            np.kron(_over(u, w, 0, 1, h), bar.cross) + np.kron(_over(u, w, 1, 0, h), bar.cross_along.T),
            np.kron(_over(w, w, 0, 0, h), bar.axial) + np.kron(_over(w, w, 1, 1, h), bar.axial_along),
        )
        k = np.block([[blocks[0], blocks[1]], [blocks[1].T, blocks[2]]])
        flat, axial = n * len(u), m * len(w)
        ends = np.r_[:n, flat : flat + m]
        inside = np.r_[n:flat, flat + m : flat + axial]
        cross = k[np.ix_(inside, ends)]
        full = k[np.ix_(ends, ends)] - _condensed(k[np.ix_(inside, inside)], cross)
        found.append(full / 2)
    return found[0], found[1]


_EVEN_ODD = (
    np.array([[1.0, 0, 0, 0, 0], [-1.0, 0, 1, 0, 0], [-1.0, 0, 0, 0, 1]]),
    np.array([[0, -1.0, 0, 0, 0], [0, -1.0, 0, 1, 0]]),
)
"""Functions along a slice from -1 to 1 by Legendre polynomials: even and odd ones, one each that is 1 at
the near end, the others nil at both ends."""


def _over(a: FloatArray, b: FloatArray, da: int, db: int, h: float) -> FloatArray:
    """∫ of products of functions (or slopes, where da or db is 1) along a slice of thickness h."""
    t, weight = legendre.leggauss(5)
    values = [
        legendre.legval(t, (legendre.legder(f.T) if d else f.T)) * (2 / h) ** d
        for f, d in ((a, da), (b, db))
    ]
    return np.asarray((values[0] * weight) @ values[1].T) * h / 2


def at_tip(end: FloatArray) -> FloatArray:
    """The same section's compliance (6, 6), or rates of it (6, 6, p), with the bar on its other side.

    Seen from there z and the twist turn round: the terms of twist with Fz, Mx and My change sign.
    """
    sign = np.array([1.0, 1.0, -1.0, -1.0, -1.0, 1.0])
    return np.asarray((end.T * np.outer(sign, sign)).T)
