"""Second-order solve of many load cases at once on one finite element model.

Every load but a given moment derives from a potential, so the tangent at equilibrium is a Hessian:
a case is stable while it is positive definite, and buckles at the load factor λ for which
K₀ + λ K_σ is singular (K₀ elastic, K_σ the part linear in load: stress stiffness and the lift's own).
A given moment keeps its direction in space; only the symmetric part of its stiffness enters λ.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from mastcheck.beam.element import (
    DOFS,
    deformation,
    element_flexibility,
    rotation_matrix,
    rotation_vector,
    skew,
)
from mastcheck.beam.model import BeamModel

FloatArray = NDArray[np.float64]

_ELEMENTS = 40
_TOLERANCE = 1e-7  # residual force over applied force; rounding in EA leaves about 1e-8
_CONVERGED = 1e-6  # above this a case is said to have found no balance
_FEW_STEPS = (0.5, 1.0)
_MANY_STEPS = (0.4, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.925, 0.95, 0.975, 1.0)
_STEP = 1e-5  # rotation or relative displacement step of the numerical Hessian


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TipLoad:
    """One case's loads in mast axes [N, N·m, m].

    ``lift``: magnitude of the force on the wing toward the board, at ``arm`` from the tip (an
    arm that turns with the tip). ``aim``: z of the fixed point on the mast's axis the lift
    points to, or None when it keeps its direction (-z). ``force``, ``moment``: dead loads at the
    tip point. ``spread`` (m, 3) dead forces at ``spread_at`` (m, 3): points of the unbent
    mast, each moving with the section at its z; None when there are none.
    """

    lift: float = 0.0
    arm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    aim: float | None = None
    force: tuple[float, float, float] = (0.0, 0.0, 0.0)
    moment: tuple[float, float, float] = (0.0, 0.0, 0.0)
    spread: FloatArray | None = None
    spread_at: FloatArray | None = None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BeamState:
    """Solution of c cases at n nodes.

    displacement, rotation (c, n, 3) [m, rad]; resultants (c, n, 7): N, Vx, Vy, Mx, My, T, B in
    the axes of the turned section; converged (c,); residual (c,): out-of-balance over applied force.
    """

    z: FloatArray
    displacement: FloatArray
    rotation: FloatArray
    resultants: FloatArray
    converged: NDArray[np.bool_]
    residual: FloatArray


class FrameModel:
    """Nodes and element stiffnesses of one mast, ready to solve any loads."""

    def __init__(
        self, model: BeamModel, *, keep: Sequence[float] = (), elements: int = _ELEMENTS
    ) -> None:
        self.length = model.length
        self.z = _nodes(model, keep, elements)
        self.n = len(self.z)
        self.span = np.diff(self.z)
        flexibility = np.stack(
            [element_flexibility(model, a, b) for a, b in zip(self.z[:-1], self.z[1:], strict=True)]
        )
        self.k = np.linalg.inv(flexibility)
        self.k = (self.k + np.swapaxes(self.k, -1, -2)) / 2
        fixed = list(range(DOFS))
        if model.tip_restrained:
            fixed.append(DOFS * self.n - 1)
        self.free = np.setdiff1d(np.arange(DOFS * self.n), fixed)
        self.x0 = np.zeros((self.n, 3))
        self.x0[:, 2] = self.z
        base = self._unloaded(1)
        _, g = deformation(*base, self.span)
        self.k0 = self._assemble(np.swapaxes(g, -1, -2) @ self.k @ g)[0]

    def tip_compliance(self) -> FloatArray:
        """First-order tip compliance (6, 6), order Fx Fy Fz Mx My Mz."""
        loads = np.zeros((DOFS * self.n, 6))
        loads[DOFS * (self.n - 1) + np.arange(6), np.arange(6)] = 1
        return self._linear(loads)[DOFS * (self.n - 1) :][:6]

    def solve(self, cases: Sequence[TipLoad], factors: Sequence[float] | None = None) -> BeamState:
        """Second-order solution of the cases, each load multiplied by its factor."""
        c = len(cases)
        load = _Loads(self, cases, np.ones(c) if factors is None else np.asarray(factors, dtype=float))
        x, r, phi, residual = self._follow(load, _FEW_STEPS)
        hard = ~(residual < _CONVERGED)
        if hard.any():  # close to buckling the bent shape must be followed in small steps
            x[hard], r[hard], phi[hard], residual[hard] = self._follow(load.pick(hard), _MANY_STEPS)
        d, g = deformation(x, r, phi, self.span)
        f = np.einsum("eij,cej->cei", self.k, d)
        return BeamState(
            z=self.z,
            displacement=x - self.x0,
            rotation=rotation_vector(r),
            resultants=self._resultants(f, g, r),
            converged=residual < _CONVERGED,
            residual=residual,
        )

    def solve_first_order(self, cases: Sequence[TipLoad]) -> FloatArray:
        """Linear tip movement (c, 6) of the cases on the unbent shape."""
        c = len(cases)
        x, r, _ = self._unloaded(c)
        load = _Loads(self, cases, np.ones(c))
        return self._linear(load.vector(x, r).T).T.reshape(c, self.n, DOFS)[:, -1, :6]

    def buckling_factors(self, cases: Sequence[TipLoad]) -> FloatArray:
        """Load multiple (c,) at which each case buckles about its straight shape; inf if never."""
        c = len(cases)
        load = _Loads(self, cases, np.ones(c))
        x, r, phi = self._unloaded(c)
        # Forces of the linear solution, on the straight shape: to carry the linear shape into the
        # tangent too would extrapolate small rotations of a very stiff axial term.
        u = self._linear(load.vector(x, r).T).T.reshape(c, self.n, DOFS)
        _, g = deformation(x, r, phi, self.span)
        ends = np.concatenate([u[:, :-1], u[:, 1:]], axis=-1)
        f = np.einsum("eij,cejk,cek->cei", self.k, g, ends)
        k_sigma = self._assemble(self._stress_blocks(x, r, phi, f)) + load.stiffness(r, x)
        free = np.ix_(self.free, self.free)
        # Displacements, rotations and twist rates differ in size: scale to unit diagonal.
        scale = 1 / np.sqrt(np.diag(self.k0)[self.free])
        k0 = self.k0[free] * np.outer(scale, scale)
        out = np.full(c, np.inf)
        for i in range(c):
            ks = k_sigma[i][free] * np.outer(scale, scale)
            top = len(scale) - 1
            mu = scipy.linalg.eigh(-(ks + ks.T) / 2, k0, eigvals_only=True, subset_by_index=[top, top])
            if mu[0] > 1e-4:  # a factor beyond 10,000 is rounding, or never
                out[i] = 1 / mu[0]
        return out

    def _unloaded(self, c: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        x = np.broadcast_to(self.x0, (c, self.n, 3)).copy()
        r = np.broadcast_to(np.eye(3), (c, self.n, 3, 3)).copy()
        return x, r, np.zeros((c, self.n))

    def _linear(self, loads: FloatArray) -> FloatArray:
        out = np.zeros_like(loads)
        out[self.free] = np.linalg.solve(self.k0[np.ix_(self.free, self.free)], loads[self.free])
        return out

    def _assemble(self, blocks: FloatArray) -> FloatArray:
        """Element matrices (c, e, 14, 14) to (c, 7n, 7n)."""
        out = np.zeros((blocks.shape[0], DOFS * self.n, DOFS * self.n))
        for e in range(self.n - 1):
            span = slice(DOFS * e, DOFS * (e + 2))
            out[:, span, span] += blocks[:, e]
        return out

    def _internal(self, f: FloatArray, g: FloatArray) -> FloatArray:
        """Nodal forces (c, 7n) that balance element forces f (c, e, 8)."""
        nodal = np.einsum("ceij,cei->cej", g, f)
        out = np.zeros((f.shape[0], self.n, DOFS))
        out[:, :-1] += nodal[..., :DOFS]
        out[:, 1:] += nodal[..., DOFS:]
        return out.reshape(f.shape[0], -1)

    def _geometric(self, x: FloatArray, r: FloatArray, phi: FloatArray, load: _Loads) -> FloatArray:
        """The whole tangent (c, 7n, 7n): elastic, stress and load stiffness."""
        d, g = deformation(x, r, phi, self.span)
        f = np.einsum("eij,cej->cei", self.k, d)
        blocks = np.swapaxes(g, -1, -2) @ self.k @ g + self._stress_blocks(x, r, phi, f)
        return self._assemble(blocks) + load.stiffness(r, x)

    def _stress_blocks(self, x: FloatArray, r: FloatArray, phi: FloatArray, f: FloatArray) -> FloatArray:
        """Second derivative of f·d (c, e, 14, 14) by central differences of its exact gradient."""
        c, e = f.shape[:2]
        # Each element is taken as a two-node mast of its own, so that all are moved at once.
        ends_x = np.stack([x[:, :-1], x[:, 1:]], axis=2)
        ends_r = np.stack([r[:, :-1], r[:, 1:]], axis=2)
        ends_phi = np.stack([phi[:, :-1], phi[:, 1:]], axis=2)
        out = np.zeros((c, e, 2 * DOFS, 2 * DOFS))
        for j in range(2 * DOFS):
            node, dof = divmod(j, DOFS)
            if dof == DOFS - 1:
                continue  # twist rates enter linearly
            gradients = []
            for sign in (1, -1):
                xx, rr = ends_x, ends_r
                if dof < 3:
                    step = _STEP * self.span[:, None]
                    xx = ends_x.copy()
                    xx[:, :, node, dof] += sign * step[:, 0]
                else:
                    step = np.full((e, 1), _STEP)
                    spin = np.zeros(3)
                    spin[dof - 3] = sign * _STEP
                    rr = ends_r.copy()
                    rr[:, :, node] = rotation_matrix(spin) @ rr[:, :, node]
                _, g = deformation(xx, rr, ends_phi, self.span[:, None])
                gradients.append(np.einsum("ceij,cei->cej", g[:, :, 0], f))
            out[..., j, :] = (gradients[0] - gradients[1]) / (2 * step)
        return (out + np.swapaxes(out, -1, -2)) / 2

    def _follow(
        self, load: _Loads, shares: Sequence[float]
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Newton's method along rising shares of the load, each from the shape before."""
        x, r, phi = self._unloaded(len(load.lift))
        residual = np.full(len(x), np.inf)
        for share in shares:
            x, r, phi, residual = self._newton(load.scaled(share), x, r, phi)
            if not (residual < _CONVERGED).any():
                break  # nothing to follow further: these have found no balance
        return x, r, phi, residual

    def _newton(
        self, load: _Loads, x: FloatArray, r: FloatArray, phi: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Newton's method on all cases together; returns the shapes and relative residuals."""
        x, r, phi = x.copy(), r.copy(), phi.copy()
        c = len(x)
        size = load.size()
        weight = np.ones(DOFS)
        weight[3:6] = 1 / self.length
        weight[6] = 0  # bimoment has its own dimension; it follows the rest
        residual = np.full(c, np.inf)
        for _ in range(30):
            d, g = deformation(x, r, phi, self.span)
            f = np.einsum("eij,cej->cei", self.k, d)
            out_of_balance = load.vector(x, r) - self._internal(f, g)
            free = np.zeros_like(out_of_balance)
            free[:, self.free] = out_of_balance[:, self.free]
            residual = np.linalg.norm(free.reshape(c, self.n, DOFS) * weight, axis=(1, 2)) / size
            active = ~(residual < _TOLERANCE)
            if not active.any():
                break
            tangent = self._geometric(x[active], r[active], phi[active], load.pick(active))
            flat = np.zeros((int(active.sum()), DOFS * self.n))
            flat[:, self.free] = np.linalg.solve(
                tangent[:, self.free[:, None], self.free[None, :]], free[active][:, self.free, None]
            )[..., 0]
            step = flat.reshape(-1, self.n, DOFS)
            # A step that turns a node by more than 0.3 rad has left the tangent's reach.
            largest = np.abs(step[..., 3:6]).max(axis=(1, 2))
            step *= np.minimum(1, 0.3 / np.maximum(largest, 1e-30))[:, None, None]
            x[active] += step[..., :3]
            r[active] = rotation_matrix(step[..., 3:6]) @ r[active]
            phi[active] += step[..., 6]
        return x, r, phi, residual

    def _resultants(self, f: FloatArray, g: FloatArray, r: FloatArray) -> FloatArray:
        """N, Vx, Vy, Mx, My, T, B at the nodes (c, n, 7), in the axes of each turned node."""
        nodal = np.einsum("ceij,cei->cej", g, f)
        force = np.concatenate([-nodal[..., 0:3], nodal[:, -1:, 7:10]], axis=1)
        moment = np.concatenate([-nodal[..., 3:6], nodal[:, -1:, 10:13]], axis=1)
        bimoment = np.concatenate([f[..., 7], f[:, -1:, 6]], axis=1)
        r_t = np.swapaxes(r, -1, -2)
        v = (r_t @ force[..., None])[..., 0]
        m = (r_t @ moment[..., None])[..., 0]
        out: FloatArray = np.concatenate([v[..., 2:3], v[..., 0:2], m, bimoment[..., None]], axis=-1)
        return out


class _Loads:
    """The loads of all cases as arrays over cases and nodes, with their stiffness."""

    def __init__(self, frame: FrameModel, cases: Sequence[TipLoad], factor: FloatArray) -> None:
        c, n = len(cases), frame.n
        self.lift = np.array([p.lift for p in cases]) * factor
        self.arm = np.array([p.arm for p in cases], dtype=float).reshape(c, 3)
        self.aimed = np.array([p.aim is not None for p in cases])
        self.aim = np.array([[0.0, 0.0, p.aim if p.aim is not None else 0.0] for p in cases])
        self.moment = np.array([p.moment for p in cases], dtype=float).reshape(c, 3) * factor[:, None]
        # Dead forces as sum over points of each node's section: total, and first moments
        # about the node, kept per axis so that they turn with the section.
        self.force = np.zeros((c, n, 3))
        self.couple = np.zeros((c, n, 3, 3))  # sum of arm ⊗ force
        for i, p in enumerate(cases):
            self.force[i, -1] += np.asarray(p.force) * factor[i]
            if p.spread is None or p.spread_at is None:
                continue
            for point, force in zip(p.spread_at, p.spread, strict=True):
                # Shared between the two nodes beside it, as a simple beam would.
                b = int(np.clip(np.searchsorted(frame.z, point[2]), 1, n - 1))
                t = (point[2] - frame.z[b - 1]) / (frame.z[b] - frame.z[b - 1])
                for node, share in ((b - 1, 1 - t), (b, t)):
                    self.force[i, node] += share * factor[i] * force
                    arm = np.array([point[0], point[1], 0.0])
                    self.couple[i, node] += share * factor[i] * np.outer(arm, force)

    def scaled(self, share: float) -> _Loads:
        """The same loads times a share."""
        out = self.pick(np.ones(len(self.lift), dtype=bool))
        out.lift, out.moment = out.lift * share, out.moment * share
        out.force, out.couple = out.force * share, out.couple * share
        return out

    def pick(self, which: NDArray[np.bool_]) -> _Loads:
        """The chosen cases."""
        out = object.__new__(_Loads)
        for name in ("lift", "arm", "aimed", "aim", "moment", "force", "couple"):
            setattr(out, name, getattr(self, name)[which])
        return out

    def size(self) -> FloatArray:
        """A force that measures each case, for relative residuals."""
        out: FloatArray = np.maximum(
            np.abs(self.lift)
            + np.linalg.norm(self.force, axis=(1, 2))
            + np.linalg.norm(self.moment, axis=1),
            1e-12,
        )
        return out

    def _lift(self, r: FloatArray, x: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Arm in space (c, 3), lift vector (c, 3), and its stiffness by position (c, 3, 3)."""
        arm = (r[:, -1] @ self.arm[..., None])[..., 0]
        to = self.aim - (x[:, -1] + arm)
        distance = np.linalg.norm(to, axis=1)
        distance = np.where(self.aimed, distance, 1.0)
        unit = np.where(self.aimed[:, None], to / distance[:, None], np.array([0.0, 0.0, -1.0]))
        tie = (np.eye(3) - unit[:, :, None] * unit[:, None, :]) / distance[:, None, None]
        tie = np.where(self.aimed[:, None, None], tie, 0.0) * self.lift[:, None, None]
        return arm, unit * self.lift[:, None], tie

    def vector(self, x: FloatArray, r: FloatArray) -> FloatArray:
        """Nodal loads (c, 7n) on the given shape."""
        c, n = self.force.shape[:2]
        arm, lift, _ = self._lift(r, x)
        out = np.zeros((c, n, DOFS))
        out[..., :3] = self.force
        turned = r @ self.couple  # sum of (R arm) ⊗ force
        out[..., 3:6] = _axial(turned)
        out[:, -1, :3] += lift
        out[:, -1, 3:6] += np.cross(arm, lift) + self.moment
        return out.reshape(c, -1)

    def stiffness(self, r: FloatArray, x: FloatArray) -> FloatArray:
        """Load stiffness -d(load)/d(shape), symmetric part (c, 7n, 7n)."""
        c, n = self.force.shape[:2]
        out = np.zeros((c, n * DOFS, n * DOFS))
        turned = r @ self.couple
        for i in range(n):
            block = slice(DOFS * i + 3, DOFS * i + 6)
            out[:, block, block] -= _spin_stiffness(turned[:, i])
        arm, lift, tie = self._lift(r, x)
        last = DOFS * (n - 1)
        move = np.concatenate([np.broadcast_to(np.eye(3), tie.shape), -skew(arm)], axis=-1)
        block = slice(last, last + 6)
        out[:, block, block] += np.swapaxes(move, -1, -2) @ tie @ move
        spin = slice(last + 3, last + 6)
        out[:, spin, spin] -= _spin_stiffness(arm[:, :, None] * lift[:, None, :])
        return out


def _axial(couple: FloatArray) -> FloatArray:
    """Moment (…, 3) of couple = sum of arm ⊗ force (…, 3, 3)."""
    return np.stack(
        [
            couple[..., 1, 2] - couple[..., 2, 1],
            couple[..., 2, 0] - couple[..., 0, 2],
            couple[..., 0, 1] - couple[..., 1, 0],
        ],
        axis=-1,
    )


def _spin_stiffness(couple: FloatArray) -> FloatArray:
    """Derivative of (R arm) x force by spin, symmetric: sym(arm ⊗ force) - (arm·force) I."""
    sym = (couple + np.swapaxes(couple, -1, -2)) / 2
    out: FloatArray = sym - np.trace(couple, axis1=-2, axis2=-1)[..., None, None] * np.eye(3)
    return out


def _nodes(model: BeamModel, keep: Sequence[float], elements: int) -> FloatArray:
    """Node places: even, plus the breaks and kept places, finer where warping decays."""
    length = model.length
    must = {0.0, length, *(float(b) for b in model.breaks), *(float(k) for k in keep)}
    size = length / elements
    layer = model.warping_length(0.0)
    must |= {f * layer for f in (1.5, 4.0, 8.0) if f * layer < 2 * size}
    if model.tip_restrained:
        layer = model.warping_length(length)
        must |= {length - f * layer for f in (1.5, 4.0, 8.0) if f * layer < 2 * size}
    ordered = sorted(must)
    merged = [ordered[0]]
    for z in ordered[1:]:
        if z - merged[-1] > 1e-7 * length:
            merged.append(z)
    merged[-1] = length
    out: list[float] = []
    for a, b in itertools.pairwise(merged):
        out += list(np.linspace(a, b, max(1, round((b - a) / size)), endpoint=False))
    return np.array([*out, length])
