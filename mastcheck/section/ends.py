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

Displacements are polynomials over the section, with the warping of torsion and of shear added to the
axial ones, and of the fourth degree along a thin slice, which is doubled until it is as good as endless.
The section is taken as uniform along z near the end; each material as isotropic, with the ν that its E
and G imply. Derived for this project; the proof is the solid models.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

from mastcheck.section.elements import Gauss, Mesh

FloatArray = NDArray[np.float64]

DEGREE = (14, 7)
"""Of the displacements, along x and y. A space of few functions is stiffer than the bar, which leaves
twist a little too stiff: of a hollow mast held at both ends by 0.52 % at (8, 4), 0.25 % at (12, 6),
0.15 % at (14, 7), 0.09 % at (16, 8), against a solid model; in solid sections the degree hardly
matters."""
GREATEST_NU = 0.45  # beyond it a full solid is nearly incompressible: no longer what E and G tell
_SLICE = 0.02  # thickness of the first slice, in half widths of the section
_DOUBLINGS = 9  # to ten half widths
_ALONG = 4  # degree along a slice
_DIFFERENT = 1e-9  # least share of the energy by which functions differ
_ROUNDING = 1e-11
_T = 5


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Space:
    """Displacements over the section: u and v by n functions, w by m, of which the first n are the same.

    value, by_x, by_y (p, m) at the Gauss points. The energy of a slice whose amplitudes a (2n + m,)
    vary along z is (a·aa·a + 2 a·ab·a' + a'·bb·a')/2 per length.
    """

    n: int
    value: FloatArray
    by_x: FloatArray
    by_y: FloatArray
    aa: FloatArray
    ab: FloatArray
    bb: FloatArray


def end_correction(
    mesh: Mesh,
    gauss: Gauss,
    *,
    w_s: FloatArray,
    flow: FloatArray,
    S: FloatArray,
    centroid: FloatArray,
    shear_centre: FloatArray,
    GJ: float,
    EGamma: float,
    degree: tuple[int, int] = DEGREE,
) -> FloatArray | None:
    """Compliance (6, 6) to add to a beam with Vlasov's warping held at its base.

    Args:
        mesh: the section's mesh.
        gauss: its Gauss points.
        w_s: warping function about the shear centre at the nodes (n,) [m²].
        flow: potentials (n, 2) [m/N] of the shear flow under unit Vx and Vy.
        S: stiffness (3, 3) of (e0, κx, κy) about the centroid.
        centroid: (2,) [m].
        shear_centre: (2,) [m].
        GJ: torsional stiffness [N·m²].
        EGamma: warping stiffness [N·m⁴].
        degree: of the polynomials along x and y.

    Returns:
        Order Fx, Fy, Fz, Mx, My, Mz, for loads at the stacking line in the end: nil but in the row and
        column of Mz. For an end at z = 0; see ``at_tip`` for the other. None where a material's E and G
        imply a ν outside 0 to GREATEST_NU (most laminates), or the numbers fail: Vlasov's theory then
        stands alone. That is not conservative: measured on isotropic masts it is up to 1.5 % too stiff
        under torque (a hollow mast held at both ends), 2.8 % in twist by a side force.
    """
    nu = mesh.E / (2 * mesh.G) - 1
    if nu.min() < -_ROUNDING or nu.max() > GREATEST_NU:
        return None
    nu = np.maximum(nu, 0.0)
    lame = gauss.w * (mesh.E * nu / ((1 + nu) * (1 - 2 * nu)))[:, None]
    space = _space(mesh, gauss, np.column_stack([w_s, flow]), lame, degree)
    face = _face(mesh, gauss, space, lame, S, centroid, np.abs(w_s).max() / GJ)
    norm = space.aa + space.bb / (np.ptp(gauss.y) / 2) ** 2
    basis = _independent(norm)
    aa, ab, bb = (basis.T @ k @ basis for k in (space.aa, space.ab, space.bb))
    # In energy, not by coefficients: functions that hardly differ have large ones.
    r = basis.T @ norm @ face
    off = r.T @ _half_infinite(aa, ab, bb, _SLICE * np.ptp(gauss.x) / 2) @ r
    vlasov = (
        np.sqrt(EGamma / GJ) / GJ * np.array([shear_centre[1], -shear_centre[0], 0.0, 0.0, 0.0, 1.0])
    )
    row = vlasov - (off[_T] + off[:, _T]) / 2
    if not np.isfinite(row).all() or off[_T, _T] <= 0:
        return None
    out = np.zeros((6, 6))
    out[_T], out[:, _T] = row, row
    return out


def at_tip(end: FloatArray) -> FloatArray:
    """The same section's compliance (6, 6), or rates of it (6, 6, p), with the bar on its other side.

    Seen from there z and the twist turn round: the terms of twist with Fz, Mx and My change sign.
    """
    sign = np.array([1.0, 1.0, -1.0, -1.0, -1.0, 1.0])
    return np.asarray((end.T * np.outer(sign, sign)).T)


def _space(
    mesh: Mesh, gauss: Gauss, own: FloatArray, lame: FloatArray, degree: tuple[int, int]
) -> _Space:
    """The displacements and their energy.

    ``own`` (nodes, 3): the section's own axial functions; ``lame`` (m, q): Lamé's λ at the Gauss
    points, times their weights [N].
    """
    own = own / np.abs(own).max(axis=0)
    f, fx, fy = _polynomials(gauss.x.ravel(), gauss.y.ravel(), degree)
    e = np.einsum("qa,mak->mqk", gauss.N, own[mesh.triangles]).reshape(-1, 3)
    slope = np.einsum("mqxa,mak->xmqk", gauss.B, own[mesh.triangles]).reshape(2, -1, 3)
    value, by_x, by_y = np.hstack([f, e]), np.hstack([fx, slope[0]]), np.hstack([fy, slope[1]])
    n, m = f.shape[1], value.shape[1]
    every = np.hstack([value, by_x, by_y])

    def gram(weight: FloatArray) -> tuple[FloatArray, ...]:
        products = every.T @ (weight.reshape(-1, 1) * every)
        blocks = products.reshape(3, m, 3, m).transpose(0, 2, 1, 3)
        return blocks[0, 0], blocks[1, 1], blocks[2, 2], blocks[0, 1], blocks[0, 2], blocks[1, 2]

    l00, lxx, lyy, l0x, l0y, lxy = gram(lame)
    g00, gxx, gyy, g0x, g0y, gxy = gram(gauss.w * mesh.G[:, None])
    u, v, z = slice(0, n), slice(n, 2 * n), slice(2 * n, 2 * n + m)
    aa, ab, bb = (np.zeros((2 * n + m, 2 * n + m)) for _ in range(3))
    aa[u, u] = (lxx + 2 * gxx + gyy)[:n, :n]
    aa[v, v] = (lyy + 2 * gyy + gxx)[:n, :n]
    aa[u, v] = (lxy + gxy.T)[:n, :n]
    aa[v, u] = aa[u, v].T
    aa[z, z] = gxx + gyy
    ab[u, z], ab[v, z] = l0x.T[:n], l0y.T[:n]
    ab[z, u], ab[z, v] = g0x.T[:, :n], g0y.T[:, :n]
    bb[u, u] = bb[v, v] = g00[:n, :n]
    bb[z, z] = l00 + 2 * g00
    return _Space(n=n, value=value, by_x=by_x, by_y=by_y, aa=aa, ab=ab, bb=bb)


def _polynomials(
    x: FloatArray, y: FloatArray, degree: tuple[int, int]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Products of Legendre polynomials (p, n), and their slopes by x and y."""
    along = []
    for v, d in ((x, degree[0]), (y, degree[1])):
        half = np.ptp(v) / 2
        t = (v - v.min()) / half - 1
        along.append((legendre.legvander(t, d), _slopes(t, d) / half))
    (px, dx), (py, dy) = along
    # All that a contraction needs, and a triangle of the rest.
    i, j = np.array(
        [
            (i, j)
            for i in range(degree[0] + 1)
            for j in range(degree[1] + 1)
            if i * degree[1] + j * degree[0] <= degree[0] * degree[1] or max(i, j) <= 2
        ]
    ).T
    return px[:, i] * py[:, j], dx[:, i] * py[:, j], px[:, i] * dy[:, j]


def _slopes(t: FloatArray, degree: int) -> FloatArray:
    """Slopes (p, degree + 1) of the Legendre polynomials at t (p,)."""
    each = [legendre.legval(t, legendre.legder(row)) for row in np.eye(degree + 1)]
    return np.stack(each, axis=1)


def _face(
    mesh: Mesh,
    gauss: Gauss,
    space: _Space,
    lame: FloatArray,
    S: FloatArray,
    centroid: FloatArray,
    twist: float,
) -> FloatArray:
    """Saint-Venant's displacements (2n + m, 6) of the end face, for unit Vx, Vy, N, Mx, My, T.

    ``twist``: amplitude of the section's first own function by a unit torque.
    """
    n, m = space.n, space.value.shape[1]
    flat, axial = slice(0, 2 * n), slice(2 * n, 2 * n + m)
    x, y, w = gauss.x.ravel(), gauss.y.ravel(), gauss.w
    size = np.ptp(x) / 2
    G = (w * mesh.G[:, None]).ravel()
    # Strains (e0, κx, κy) at the stacking line by N, Mx and My there, and their growth by Vx and Vy.
    to_centroid = np.array([[1.0, 0.0, 0.0], [-centroid[1], 1.0, 0.0], [centroid[0], 0.0, 1.0]])
    strain = np.linalg.solve(S, to_centroid)
    strain[0] += centroid[0] * strain[2] - centroid[1] * strain[1]
    rate = np.stack([-strain[:, 2], strain[:, 1]], axis=1)
    # Contraction: what the section's plane does freely under the strain along z.
    along = np.stack([np.ones_like(x), y, -x], axis=1)
    unit = np.array([1.0, 1 / size, 1 / size])
    push = np.vstack(
        [d[:, :n].T @ (lame.reshape(-1, 1) * along * unit) for d in (space.by_x, space.by_y)]
    )
    free = -_least(space.aa[flat, flat], push) / unit
    # Shear: its warping balances the growing bending stress, dragged at by the growing contraction.
    drag = free @ rate
    growth = (along @ rate) * (w * mesh.E[:, None]).reshape(-1, 1)
    warp = _least(space.aa[axial, axial], space.value.T @ growth - space.ab[axial, flat] @ drag)
    f = space.value[:, :n]
    tau_x, tau_y = space.by_x @ warp + f @ drag[:n], space.by_y @ warp + f @ drag[n:]
    torque = (G * x) @ tau_y - (G * y) @ tau_x
    out = np.zeros((2 * n + m, 6))
    out[axial, :2] = warp
    out[flat, 2:5] = free @ strain
    out[3 * n, 5] = twist
    out[:, :2] -= np.outer(out[:, 5], torque)
    return out


def _least(k: FloatArray, f: FloatArray) -> FloatArray:
    """Least solution of a symmetric system that leaves rigid movements free."""
    diagonal = np.diag(k)
    scale = 1 / np.sqrt(np.where(diagonal > 0, diagonal, 1.0))
    found = np.linalg.lstsq(k * np.outer(scale, scale), scale[:, None] * f, rcond=_ROUNDING)[0]
    return np.asarray(scale[:, None] * found)


def _independent(norm: FloatArray) -> FloatArray:
    """Combinations (n, k) of the functions that differ, orthonormal in an energy."""
    scale = 1 / np.sqrt(np.diag(norm))
    value, vector = np.linalg.eigh(norm * np.outer(scale, scale))
    keep = value > _DIFFERENT * value.max()
    return np.asarray(scale[:, None] * vector[:, keep] / np.sqrt(value[keep]))


def _half_infinite(aa: FloatArray, ab: FloatArray, bb: FloatArray, h: float) -> FloatArray:
    """Stiffness (n, n) of the end face of an endless bar, by doubling a slice of thickness h [m]."""
    n, q = len(aa), _ALONG
    t, w = legendre.leggauss(q + 1)
    at_nodes = np.linalg.inv(legendre.legvander(np.cos(np.pi * np.arange(q, -1, -1) / q), q))
    value, slope = legendre.legvander(t, q) @ at_nodes, _slopes(t, q) @ at_nodes * 2 / h
    w = w[:, None] * h / 2
    mixed = np.kron(value.T @ (w * slope), ab)
    k = np.kron(value.T @ (w * value), aa) + mixed + mixed.T + np.kron(slope.T @ (w * slope), bb)
    ends, inside = np.r_[0:n, q * n : (q + 1) * n], np.r_[n : q * n]
    cross = k[np.ix_(inside, ends)]
    k = k[np.ix_(ends, ends)] - cross.T @ np.linalg.solve(k[np.ix_(inside, inside)], cross)
    for _ in range(_DOUBLINGS):
        near, far, cross = k[:n, :n], k[n:, n:], k[:n, n:]
        joined = np.linalg.solve(far + near, np.hstack([cross.T, cross]))
        k = np.block(
            [
                [near - cross @ joined[:, :n], -cross @ joined[:, n:]],
                [-(cross @ joined[:, n:]).T, far - cross.T @ joined[:, n:]],
            ]
        )
        k = (k + k.T) / 2
    return np.asarray(k[:n, :n] - k[:n, n:] @ np.linalg.solve(k[n:, n:], k[n:, :n]))
