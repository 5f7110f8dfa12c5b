"""Second-order solve of many load cases at once on one finite element model.

Every load but a given moment and a follower lift derives from a potential, so the tangent at
equilibrium is a Hessian: a case is stable while it is positive definite, and buckles at the load
factor λ for which K₀ + λ K_σ is singular (K₀ elastic, K_σ the part linear in load: stress stiffness
and the lift's own). A given moment keeps its direction in space; only the symmetric part of its
stiffness enters λ. A lift that follows the tip has no such λ: a static answer proves nothing there.

Base and tip may rest on springs (joints): elements of no length between the ground and the base,
and between the tip and the point that is loaded.
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
)
from mastcheck.beam.loads import Loads
from mastcheck.beam.loads import TipLoad as TipLoad
from mastcheck.beam.model import BeamModel

FloatArray = NDArray[np.float64]

_ELEMENTS = 40
_TOLERANCE = 1e-7  # residual force over applied force; rounding in EA leaves about 1e-8
_CONVERGED = 1e-6  # above this a case is said to have found no balance
_FEW_STEPS = (0.5, 1.0)
_MANY_STEPS = (0.4, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.925, 0.95, 0.975, 1.0)
_RIGID = 1e-7  # share of the blade's own compliance that counts as none: less would drown in rounding
_STEP = 1e-5  # rotation or relative displacement step of the numerical Hessian


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BeamState:
    """Solution of c cases at n nodes.

    From the base to the loaded point (the tip, or past the tip's joint: z[-1] twice).
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
    """Nodes and element stiffnesses of one mast, ready to solve any loads.

    Args:
        model: the mast's section stiffness.
        keep: places that must be nodes [m].
        elements: elements to aim for.
        base_joint: compliance (6, 6) of the joint between ground and base, order ORDER; None is rigid.
        tip_joint: compliance (6, 6) of the joint between tip and loaded point; None is rigid.
    """

    def __init__(
        self,
        model: BeamModel,
        *,
        keep: Sequence[float] = (),
        elements: int = _ELEMENTS,
        base_joint: FloatArray | None = None,
        tip_joint: FloatArray | None = None,
    ) -> None:
        self.length = model.length
        blade = _nodes(model, keep, elements)
        flexibility = np.stack([element_flexibility(model, a, b) for a, b in itertools.pairwise(blade)])
        stiffness = np.linalg.inv(flexibility)
        own = np.einsum("eii->i", flexibility)[:6]
        turn = float(own[3:].min())
        side = turn * self.length**2
        rigid = _RIGID * np.array([side, side, float(own[2]), turn, turn, turn])
        self.jointed = base_joint is not None
        springs = [_spring(c, rigid) if c is not None else None for c in (base_joint, tip_joint)]
        joined = [k for k in (springs[0], stiffness, springs[1]) if k is not None]
        self.z = np.concatenate(
            [blade[:1]] * (base_joint is not None) + [blade] + [blade[-1:]] * (tip_joint is not None)
        )
        self.n = len(self.z)
        self.span = np.diff(self.z)
        self.k = np.concatenate(joined)
        self.k = (self.k + np.swapaxes(self.k, -1, -2)) / 2
        # The ground holds the first node; the blade's base never warps, a spring's far node cannot.
        first, last = int(base_joint is not None), self.n - 1 - int(tip_joint is not None)
        fixed = [*range(DOFS), DOFS * first + 6]
        fixed += [DOFS * (last + 1) - 1] if model.tip_restrained else []
        fixed += [DOFS * self.n - 1] if tip_joint is not None else []
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
        load = Loads(self.z, cases, np.ones(c) if factors is None else np.asarray(factors, dtype=float))
        x, r, phi, residual = self._follow(load, _FEW_STEPS)
        hard = ~(residual < _CONVERGED)
        if hard.any():  # close to buckling the bent shape must be followed in small steps
            x[hard], r[hard], phi[hard], residual[hard] = self._follow(load.pick(hard), _MANY_STEPS)
        d, g = deformation(x, r, phi, self.span)
        f = np.einsum("eij,cej->cei", self.k, d)
        mast = slice(int(self.jointed), None)
        return BeamState(
            z=self.z[mast],
            displacement=(x - self.x0)[:, mast],
            rotation=rotation_vector(r[:, mast]),
            resultants=self._resultants(f, g, r)[:, mast],
            converged=residual < _CONVERGED,
            residual=residual,
        )

    def solve_first_order(self, cases: Sequence[TipLoad]) -> FloatArray:
        """Linear tip movement (c, 6) of the cases on the unbent shape."""
        c = len(cases)
        x, r, _ = self._unloaded(c)
        load = Loads(self.z, cases, np.ones(c))
        return self._linear(load.vector(x, r).T).T.reshape(c, self.n, DOFS)[:, -1, :6]

    def buckling_factors(self, cases: Sequence[TipLoad]) -> FloatArray:
        """Load multiple (c,) at which each case buckles about its straight shape.

        inf: never. nan: the lift follows the tip, and no static answer tells.
        """
        c = len(cases)
        load = Loads(self.z, cases, np.ones(c))
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
            if load.follower[i]:
                out[i] = np.nan
                continue
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

    def _geometric(self, x: FloatArray, r: FloatArray, phi: FloatArray, load: Loads) -> FloatArray:
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
                    step = _STEP * np.maximum(self.span, self.length / 1e3)[:, None]
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
        self, load: Loads, shares: Sequence[float]
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
        self, load: Loads, x: FloatArray, r: FloatArray, phi: FloatArray
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


def _spring(compliance: FloatArray, rigid: FloatArray) -> FloatArray:
    """Stiffness (1, 8, 8) of an element of no length; it holds no twist rate.

    Args:
        compliance: (6, 6), order ORDER.
        rigid: (6,) compliance that is as good as none, where the joint has none of its own.
    """
    out = np.zeros((1, 8, 8))
    out[0, :6, :6] = np.linalg.inv(compliance + np.diag(rigid))
    return out
