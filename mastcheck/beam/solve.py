"""Second-order solve of many load cases at once on one finite element model.

Every load but a given moment and a follower lift derives from a potential, so the tangent at
equilibrium is a Hessian, and the shape found is stable while it is positive definite. Newton's method
finds unstable shapes as readily as stable ones, so every one is held to that. A given moment keeps its
direction in space; only the symmetric part of its stiffness is looked at. Of a lift that follows the
tip a static answer proves nothing (``flutter``); for the loads at which a mast buckles see ``buckling``.

Base and tip may rest on joints: the compliance of each is part of the flexibility of the short element
beside it, so that a joint may give in some ways and be rigid in others. What fixed ends add to the blade
itself is in the elements near them (``ends``).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.chain import Chain
from mastcheck.beam.element import (
    DOFS,
    deformation,
    element_flexibility,
    rotation_matrix,
    rotation_vector,
    skew,
)
from mastcheck.beam.ends import lever, spread
from mastcheck.beam.loads import Loads
from mastcheck.beam.loads import TipLoad as TipLoad
from mastcheck.beam.model import BeamModel

FloatArray = NDArray[np.float64]

_ELEMENTS = 40
_TOLERANCE = 1e-7  # residual force over applied force; rounding in EA leaves about 1e-8
_CONVERGED = 1e-6  # above this a case is said to have found no balance
_FEW_STEPS = (0.5, 1.0)
_FIRST_STEP, _LEAST_STEP = 0.2, 1 / 400  # shares of the load, where the few steps fail
_SHORT = 12  # iterations after which such a step is taken in half
JOINT_ELEMENT = 1 / 400
"""Length over the mast's of the element that holds a joint. A joint that turns stretches it by an eighth
of the square of the turn, so that it must be short for thrust to do the right work."""
_STEP = 1e-5  # rotation step of the numerical Hessian [rad]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BeamState:
    """Solution of c cases at n nodes.

    From the base to the loaded point (the tip, or past the tip's joint: z[-1] twice).
    displacement, rotation (c, n, 3) [m, rad]; resultants (c, n, 7): N, Vx, Vy, Mx, My, T, B in
    the axes of the turned section; converged (c,); residual (c,): out-of-balance over applied force.
    stable (c,): whether a shape was found that withstands a small push: its tangent is positive
    definite. Of a lift that follows the tip that tells nothing (see ``flutter``): True when found.
    """

    z: FloatArray
    displacement: FloatArray
    rotation: FloatArray
    resultants: FloatArray
    converged: NDArray[np.bool_]
    residual: FloatArray
    stable: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Equilibrium:
    """Second-order shapes of c cases, all n nodes and e elements, springs of joints included.

    x (c, n, 3) [m], r (c, n, 3, 3), phi (c, n) twist rate [rad/m]; forces (c, e, 8) of the elements,
    gradient (c, e, 8, 14) of their deformations; tangent: -d(out-of-balance force)/d(shape), for
    spatial spins. Unlike Newton's it is exact: unsymmetric where a moment is given or a lift follows
    the tip. converged (c,).
    """

    x: FloatArray
    r: FloatArray
    phi: FloatArray
    forces: FloatArray
    gradient: FloatArray
    tangent: Chain
    converged: NDArray[np.bool_]


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
        near = {JOINT_ELEMENT * self.length} if base_joint is not None else set()
        near |= {(1 - JOINT_ELEMENT) * self.length} if tip_joint is not None else set()
        self.z = _nodes(model, [*keep, *near], elements)
        self.n = len(self.z)
        self.span = np.diff(self.z)
        flexibility = np.stack([element_flexibility(model, a, b) for a, b in itertools.pairwise(self.z)])
        self.joint_elements = [
            (e, joint, arm)
            for e, joint, arm in (
                (0, base_joint, self.span[0] / 2),
                (self.n - 2, tip_joint, -self.span[-1] / 2),
            )
            if joint is not None
        ]
        self.end_shares: dict[bool, list[tuple[int, float, float]]] = {}
        for at_tip, end in ((False, model.base_end), (True, model.tip_end)):
            if end is not None:
                self.end_shares[at_tip] = spread(self.z, flexibility, end, at_tip=at_tip)
                self.joint_elements += [(e, part * end, arm) for e, part, arm in self.end_shares[at_tip]]
        for e, joint, arm in self.joint_elements:
            flexibility[e, :6, :6] += lever(arm).T @ joint @ lever(arm)
        self.k = np.linalg.inv(flexibility)
        self.k = (self.k + np.swapaxes(self.k, -1, -2)) / 2
        fixed = [*range(DOFS)]
        fixed += [DOFS * self.n - 1] if model.tip_restrained else []
        self.free = np.setdiff1d(np.arange(DOFS * self.n), fixed)
        self.fixed = np.zeros((self.n, DOFS), dtype=bool)
        self.fixed.reshape(-1)[fixed] = True
        self.x0 = np.zeros((self.n, 3))
        self.x0[:, 2] = self.z
        straight = self.unloaded(1)
        _, self._g0 = deformation(*straight, self.span)
        self.elastic = Chain.of_elements(np.swapaxes(self._g0, -1, -2) @ self.k @ self._g0)
        self.k0 = self.elastic.dense()[0]

    def tip_compliance(self) -> FloatArray:
        """First-order tip compliance (6, 6), order Fx Fy Fz Mx My Mz."""
        loads = np.zeros((6, self.n, DOFS))
        loads[np.arange(6), -1, np.arange(6)] = 1
        return self.linear(loads)[:, -1, :6].T

    def solve(self, cases: Sequence[TipLoad], factors: Sequence[float] | None = None) -> BeamState:
        """Second-order solution of the cases, each load multiplied by its factor."""
        c = len(cases)
        load = Loads(self.z, cases, np.ones(c) if factors is None else np.asarray(factors, dtype=float))
        x, r, phi, residual = self._balance(load)
        d, g = deformation(x, r, phi, self.span)
        f = np.einsum("eij,cej->cei", self.k, d)
        stable = residual < _CONVERGED
        found = self._tangent(x[stable], r[stable], phi[stable], load.pick(stable))
        stable[stable] = found.held(self.fixed).positive_definite() | load.follower[stable]
        return BeamState(
            z=self.z,
            displacement=(x - self.x0),
            rotation=rotation_vector(r),
            resultants=self._resultants(f, g, r),
            converged=residual < _CONVERGED,
            residual=residual,
            stable=stable,
        )

    def equilibrium(
        self, cases: Sequence[TipLoad], factors: Sequence[float] | None = None
    ) -> Equilibrium:
        """The shapes of the second-order solution, with the exact derivative of their balance."""
        c = len(cases)
        load = Loads(self.z, cases, np.ones(c) if factors is None else np.asarray(factors, dtype=float))
        x, r, phi, residual = self._balance(load)
        d, g = deformation(x, r, phi, self.span)
        return Equilibrium(
            x=x,
            r=r,
            phi=phi,
            forces=np.einsum("eij,cej->cei", self.k, d),
            gradient=g,
            tangent=self._tangent(x, r, phi, load).plus(load.unsymmetric(r, x)),
            converged=residual < _CONVERGED,
        )

    def solve_first_order(self, cases: Sequence[TipLoad]) -> FloatArray:
        """Linear tip movement (c, 6) of the cases on the unbent shape."""
        c = len(cases)
        x, r, _ = self.unloaded(c)
        load = Loads(self.z, cases, np.ones(c))
        return self.linear(load.vector(x, r).reshape(c, self.n, DOFS))[:, -1, :6]

    def unloaded(self, c: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Positions, rotations and twist rates of c cases on the straight shape."""
        x = np.broadcast_to(self.x0, (c, self.n, 3)).copy()
        r = np.broadcast_to(np.eye(3), (c, self.n, 3, 3)).copy()
        return x, r, np.zeros((c, self.n))

    def linear(self, loads: FloatArray) -> FloatArray:
        """First-order displacements, rotations and twist rates (c, n, 7) under loads (c, n, 7)."""
        c = len(loads)
        held = self.elastic.held(self.fixed)
        every = Chain(*(np.broadcast_to(m, (c, *m.shape[1:])) for m in (held.diagonal, held.above)))
        return every.solve(np.where(self.fixed, 0.0, loads))

    def strains(self, u: FloatArray) -> FloatArray:
        """Element deformations (c, e, 8) of small movements u (c, n, 7) of the straight shape."""
        ends = np.concatenate([u[:, :-1], u[:, 1:]], axis=-1)
        out: FloatArray = np.einsum("eij,cej->cei", self._g0[0], ends)
        return out

    def stress_stiffness(self, f: FloatArray) -> Chain:
        """Stiffness from element forces f (c, e, 8) on the straight shape: linear in them there."""
        return Chain.of_elements(np.einsum("cek,keij->ceij", f, self._unit_stress))

    @cached_property
    def _unit_stress(self) -> FloatArray:
        """Stress stiffness (8, e, 14, 14) of unit element forces on the straight shape."""
        unit = np.broadcast_to(np.eye(8)[:, None], (8, self.n - 1, 8))
        return self._stress_blocks(*self.unloaded(8), unit)

    def _balance(self, load: Loads) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Balanced shapes, and their relative residuals."""
        x, r, phi, residual = self._follow(load, _FEW_STEPS)
        hard = ~(residual < _CONVERGED)
        if hard.any():  # close to buckling the bent shape must be followed in small steps
            x[hard], r[hard], phi[hard], residual[hard] = self._creep(load.pick(hard))
        return x, r, phi, residual

    def _internal(self, f: FloatArray, g: FloatArray) -> FloatArray:
        """Nodal forces (c, 7n) that balance element forces f (c, e, 8)."""
        nodal = np.einsum("ceij,cei->cej", g, f)
        out = np.zeros((f.shape[0], self.n, DOFS))
        out[:, :-1] += nodal[..., :DOFS]
        out[:, 1:] += nodal[..., DOFS:]
        return out.reshape(f.shape[0], -1)

    def _tangent(self, x: FloatArray, r: FloatArray, phi: FloatArray, load: Loads) -> Chain:
        """The whole tangent: elastic, stress and load stiffness."""
        d, g = deformation(x, r, phi, self.span)
        f = np.einsum("eij,cej->cei", self.k, d)
        blocks = np.swapaxes(g, -1, -2) @ self.k @ g + self._stress_blocks(x, r, phi, f)
        return Chain.of_elements(blocks).plus(load.stiffness(r, x))

    def _stress_blocks(self, x: FloatArray, r: FloatArray, phi: FloatArray, f: FloatArray) -> FloatArray:
        """Second derivative of f·d (c, e, 14, 14), symmetric part.

        Only the turn of node b is differenced (of the exact gradient, centrally). A shift of a node
        changes no nodal force, and a turn of node a is a turn of the whole element, which carries all
        forces with it, less that of node b and the shift that comes with it.
        """
        # Each element is taken as a two-node mast of its own, so that all are moved at once.
        ends_x = np.stack([x[:, :-1], x[:, 1:]], axis=2)
        ends_r = np.stack([r[:, :-1], r[:, 1:]], axis=2)
        ends_phi = np.stack([phi[:, :-1], phi[:, 1:]], axis=2)

        def forces(turn: FloatArray | None) -> FloatArray:
            rr = ends_r.copy()
            if turn is not None:
                rr[:, :, 1] = rotation_matrix(turn) @ rr[:, :, 1]
            _, g = deformation(ends_x, rr, ends_phi, self.span[:, None])
            out: FloatArray = np.einsum("ceij,cei->cej", g[:, :, 0], f)
            return out

        steps = _STEP * np.eye(3)
        by_turn = np.stack([(forces(s) - forces(-s)) / (2 * _STEP) for s in steps], axis=-1)
        nodal = forces(None)
        force = by_turn[..., 7:10, :], -skew(nodal[..., 7:10]) - by_turn[..., 7:10, :]
        lever = skew(ends_x[:, :, 1] - ends_x[:, :, 0])
        out = np.zeros((*f.shape[:2], 2 * DOFS, 2 * DOFS))
        for k, by_own in ((3, force[1]), (10, force[0])):
            moment = slice(k, k + 3)
            shift = np.swapaxes(by_own, -1, -2)
            out[..., 7:10, moment], out[..., moment, 7:10] = by_own, shift
            out[..., 0:3, moment], out[..., moment, 0:3] = -by_own, -shift
            out[..., moment, 10:13] = by_turn[..., moment, :]
            out[..., moment, 3:6] = -skew(nodal[..., moment]) - by_turn[..., moment, :] + shift @ lever
        return (out + np.swapaxes(out, -1, -2)) / 2

    def _follow(
        self, load: Loads, shares: Sequence[float]
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Newton's method along rising shares of the load, each from the shape before."""
        x, r, phi = self.unloaded(len(load.lift))
        residual = np.full(len(x), np.inf)
        for share in shares:
            x, r, phi, residual = self._newton(load.scaled(np.full(len(x), share)), x, r, phi)
            if not (residual < _CONVERGED).any():
                break  # nothing to follow further: these have found no balance
        return x, r, phi, residual

    def _creep(self, load: Loads) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """The same in each case's own steps, halved where one fails; inf where no balance is found."""
        c = len(load.lift)
        x, r, phi = self.unloaded(c)
        residual, share, step = np.full(c, np.inf), np.zeros(c), np.full(c, _FIRST_STEP)
        while (going := (share < 1) & (step > _LEAST_STEP)).any():
            aim = np.minimum(1.0, share + step)[going]
            found = self._newton(
                load.pick(going).scaled(aim), x[going], r[going], phi[going], most=_SHORT
            )
            good = found[-1] < _CONVERGED
            done = np.flatnonzero(going)[good]
            for kept, new in zip((x, r, phi, residual), found, strict=True):
                kept[done] = new[good]
            share[done] = aim[good]
            step[going] *= np.where(good, 1.5, 0.5)
        residual[share < 1] = np.inf
        return x, r, phi, residual

    def _newton(
        self, load: Loads, x: FloatArray, r: FloatArray, phi: FloatArray, most: int = 30
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Newton's method on all cases together; returns the shapes and relative residuals."""
        x, r, phi = x.copy(), r.copy(), phi.copy()
        c = len(x)
        size = load.size()
        weight = np.ones(DOFS)
        weight[3:6] = 1 / self.length
        weight[6] = 0  # bimoment has its own dimension; it follows the rest
        residual = np.full(c, np.inf)
        for _ in range(most):
            d, g = deformation(x, r, phi, self.span)
            f = np.einsum("eij,cej->cei", self.k, d)
            out_of_balance = (load.vector(x, r) - self._internal(f, g)).reshape(c, self.n, DOFS)
            free = np.where(self.fixed, 0.0, out_of_balance)
            residual = np.linalg.norm(free * weight, axis=(1, 2)) / size
            active = ~(residual < _TOLERANCE)
            if not active.any():
                break
            now, xx, rr = load.pick(active), x[active], r[active]
            tangent = self._tangent(xx, rr, phi[active], now).plus(now.unsymmetric(rr, xx))
            step = tangent.held(self.fixed).solve(free[active])
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
