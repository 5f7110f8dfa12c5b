"""Loads at which a mast buckles about its straight shape, with the shape it buckles into.

The mast buckles at the load factor λ for which K₀ + λ K_σ is singular: K₀ elastic, K_σ linear in the
load, from the forces of the first-order solution and from the lift's own direction. Compression,
bending and torque enter K_σ together, so that columns, lateral-torsional buckling and all between are
one eigenproblem. It is a matrix of a chain of nodes, so that Lanczos' method on its band finds the
lowest λ; that none was passed over is then proved by Cholesky's decomposition just below it.

What it is not: bending before buckling is left out of the shape (the second-order solve has it, and
proves each shape it finds stable on its own); a lift that follows the tip has no static λ at all
(``flutter``). Of a given moment, which keeps its direction in space, the symmetric part of the stiffness
is taken: that of a moment which turns half with the mast. A moment made of forces on arms, as an
eccentric lift is, is exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import scipy.linalg
from numpy.typing import NDArray
from scipy.linalg import blas
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh

from mastcheck.beam.chain import Chain
from mastcheck.beam.loads import Loads, TipLoad
from mastcheck.beam.solve import FrameModel

FloatArray = NDArray[np.float64]

NEVER = 1e4
"""A factor beyond this is rounding, or never."""
MIXED = 0.1
"""Share of a mode's energy above which a second kind of movement is named: our own rule, no source."""
_SURE = 1e-7  # relative step below the factor found at which the mast is proved to stand


class ModeKind(StrEnum):
    """What a buckling mode mostly is, by its strain energy."""

    SIDEWAYS = "sideways"
    FORE_AFT = "fore-aft"
    TWIST = "twist"
    LATERAL_TORSIONAL = "lateral-torsional"  # bending and twist together
    SKEW = "sideways and fore-aft"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BucklingMode:
    """The shape one case buckles into; fields as in BucklingResult, for that case."""

    kind: ModeKind
    share: FloatArray
    z: FloatArray
    displacement: FloatArray
    rotation: FloatArray


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BucklingResult:
    """Buckling of c cases on n nodes from the base to the loaded point.

    factor (c,): load multiple at which each case buckles; inf: never, nan: the lift follows the tip.
    z (n,) [m]. displacement, rotation (c, n, 3): the mode, scaled so that the largest displacement, or
    twist times the length, is 1, to port where it moves sideways, else positive where it is largest; nan
    where there is no mode. share (c, 3): parts of the mode's strain energy in sideways bending,
    fore-aft bending and twist, joints included. kind: None where there is no mode.
    """

    factor: FloatArray
    z: FloatArray
    displacement: FloatArray
    rotation: FloatArray
    share: FloatArray
    kind: tuple[ModeKind | None, ...]

    def mode(self, case: int) -> BucklingMode | None:
        """The mode of one case; None where there is none."""
        kind = self.kind[case]
        if kind is None:
            return None
        return BucklingMode(
            kind=kind,
            share=self.share[case],
            z=self.z,
            displacement=self.displacement[case],
            rotation=self.rotation[case],
        )


def buckling(
    frame: FrameModel, cases: Sequence[TipLoad], *, whether: Sequence[bool] | None = None
) -> BucklingResult:
    """Lowest buckling factor and mode of each case.

    Args:
        frame: finite elements of the mast, with its joints.
        cases: service loads, all of which grow together.
        whether: cases of which it is only asked whether they buckle below their load: inf, and no mode,
            where they do not.

    Returns:
        The factors and modes.
    """
    c = len(cases)
    load = Loads(frame.z, cases, np.ones(c))
    stress = load_stiffness(frame, load)
    # Displacements, rotations and twist rates differ in size: scale to unit diagonal.
    size = np.diag(frame.k0).reshape(frame.n, -1)
    scale = 1 / np.sqrt(np.where(frame.fixed, 1.0, size))
    elastic = frame.elastic.held(frame.fixed, scale)
    unity = frame.fixed[:, :, None] * np.eye(frame.fixed.shape[1])
    changed = stress.held(frame.fixed, scale).plus(-unity)
    factor = np.full(c, np.inf)
    u = np.full((c, *frame.fixed.shape), np.nan)
    k0 = elastic.banded()
    root = scipy.linalg.cholesky_banded(k0)
    for i in range(c):
        if load.follower[i]:
            factor[i] = np.nan
            continue
        ks = changed.banded(i)
        if whether is not None and whether[i] and _stands(k0 + ks):
            continue
        if _stands(k0 + NEVER * ks):
            continue
        found, mode = _lowest(k0, ks, root)
        if found <= NEVER:
            factor[i], u[i] = found, mode.reshape(frame.fixed.shape) * scale
    share = _shares(frame, u)
    u = _normalised(u, frame.length)
    return BucklingResult(
        factor=factor,
        z=frame.z,
        displacement=u[..., :3],
        rotation=u[..., 3:6],
        share=share,
        kind=tuple(mode_kind(s) for s in share),
    )


def load_stiffness(frame: FrameModel, load: Loads) -> Chain:
    """K_σ of all cases: what their first-order forces and their own directions add to the stiffness.

    Forces of the linear solution, on the straight shape: to carry the linear shape into the tangent
    too would extrapolate small rotations of a very stiff axial term.
    """
    x, r, _ = frame.unloaded(len(load.lift))
    u = frame.linear(load.vector(x, r).reshape(len(x), frame.n, -1))
    forces = np.einsum("eij,cej->cei", frame.k, frame.strains(u))
    return frame.stress_stiffness(forces).plus(load.stiffness(r, x))


def mode_kind(share: FloatArray) -> ModeKind | None:
    """The kind of a mode with energy shares (3,): sideways, fore-aft, twist.

    >>> mode_kind(np.array([0.55, 0.0, 0.45])), mode_kind(np.array([0.02, 0.97, 0.01])).value
    (<ModeKind.LATERAL_TORSIONAL: 'lateral-torsional'>, 'fore-aft')
    """
    if not np.isfinite(share).all():
        return None
    side, fore_aft, twist = share > MIXED
    if twist:
        return ModeKind.LATERAL_TORSIONAL if side or fore_aft else ModeKind.TWIST
    if side and fore_aft:
        return ModeKind.SKEW
    return ModeKind.SIDEWAYS if side else ModeKind.FORE_AFT


def _stands(band: FloatArray) -> bool:
    """Whether a matrix in upper banded storage is positive definite."""
    try:
        scipy.linalg.cholesky_banded(band, check_finite=False)
    except np.linalg.LinAlgError:
        return False
    return True


def _lowest(k0: FloatArray, ks: FloatArray, root: FloatArray) -> tuple[float, FloatArray]:
    """Lowest λ > 0 of K₀ + λ K_σ, and its mode; matrices and Cholesky root U in banded storage."""
    width, n = k0.shape

    def product(v: FloatArray) -> FloatArray:  # U⁻ᵀ (-K_σ) U⁻¹ v: its greatest eigenvalue is 1/λ
        w = blas.dtbsv(width - 1, root, v)
        out: FloatArray = blas.dtbsv(width - 1, root, blas.dsbmv(width - 1, -1.0, ks, w), trans=1)
        return out

    start = np.random.default_rng(1).standard_normal(n)
    operator = LinearOperator((n, n), matvec=product, dtype=float)
    try:
        mu, mode = eigsh(operator, k=1, which="LA", v0=start, ncv=20, tol=1e-12)
        found = 1 / float(mu[0])
        if found > 0 and _stands(k0 + (1 - _SURE) * found * ks):
            return found, blas.dtbsv(width - 1, root, mode[:, 0])
    except ArpackNoConvergence:
        pass
    mu, modes = scipy.linalg.eigh(_full(-ks), _full(k0), subset_by_index=[n - 1, n - 1])
    return (1 / float(mu[0]) if mu[0] > 0 else np.inf), modes[:, 0]


def _full(band: FloatArray) -> FloatArray:
    """A symmetric matrix from its upper banded storage."""
    width, n = band.shape
    out = np.zeros((n, n))
    for k in range(width):
        above = np.diag(band[width - 1 - k, k:], k)
        out += above + (above.T if k else 0.0)
    return out


def _shares(frame: FrameModel, u: FloatArray) -> FloatArray:
    """Shares (c, 3) of strain energy in sideways bending, fore-aft bending and twist."""
    d = frame.strains(u)
    work = np.einsum("cei,eij,cej->ci", d, frame.k, d)
    # Each resultant's work on its own deformation: Vy and Mx, Vx and My, T and the bimoments. Those of
    # one kind are summed with their signs, for bimoments at the ends of an element all but cancel.
    parts = np.abs(
        np.stack([work[:, 1] + work[:, 3], work[:, 0] + work[:, 4], work[:, 5:].sum(axis=1)], axis=1)
    )
    out: FloatArray = parts / parts.sum(axis=1, keepdims=True)
    return out


def _normalised(u: FloatArray, length: float) -> FloatArray:
    """Modes (c, n, 7) scaled to a largest movement of 1, and turned to one side."""
    moved = np.concatenate([u[..., 1::-1], u[..., 5:6] * length, u[..., 2:3]], axis=-1)
    peaks = np.abs(moved).max(axis=1)  # (c, 4): sideways, fore-aft, twist, along
    size = peaks.max(axis=1)
    which = np.where(peaks[:, 0] > 0.05 * size, 0, np.nan_to_num(peaks).argmax(axis=1))
    cases = np.arange(len(u))
    one = moved[cases, :, which]
    sign = np.sign(one[cases, np.nan_to_num(np.abs(one)).argmax(axis=1)])
    out: FloatArray = u * (sign / size)[:, None, None]
    return out
