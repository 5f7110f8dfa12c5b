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
from scipy.linalg import lapack

from mastcheck.beam.balance import CONVERGED, balanced, tangent
from mastcheck.beam.chain import Chain
from mastcheck.beam.element import ElementIntegrals
from mastcheck.beam.ends import lever, spread
from mastcheck.beam.kinematics import DOFS, kinematics, rotation_vector, stress_blocks
from mastcheck.beam.loads import Loads
from mastcheck.beam.loads import TipLoad as TipLoad
from mastcheck.beam.model import BeamModel
from mastcheck.errors import GeometryError

FloatArray = NDArray[np.float64]

_ELEMENTS = 40
JOINT_ELEMENT = 1 / 400
"""Length over the mast's of the element that holds a joint. A joint that turns stretches it by an eighth
of the square of the turn, so that it must be short for thrust to do the right work."""


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
        flexibility = ElementIntegrals.along(model, self.z).flexibility
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
                try:
                    self.end_shares[at_tip] = spread(self.z, flexibility, end, at_tip=at_tip)
                except ValueError:
                    _refuse_steep(self.z, flexibility)
                    raise
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
        self._g0 = kinematics(*self.unloaded(1), self.span).gradient
        self.elastic = Chain.of_elements(np.swapaxes(self._g0, -1, -2) @ self.k @ self._g0)
        self.k0 = self.elastic.dense()[0]
        if self._root is None:
            _refuse_steep(self.z, flexibility)

    def tip_compliance(self) -> FloatArray:
        """First-order tip compliance (6, 6), order Fx Fy Fz Mx My Mz."""
        loads = np.zeros((6, self.n, DOFS))
        loads[np.arange(6), -1, np.arange(6)] = 1
        return self.linear(loads)[:, -1, :6].T

    def solve(self, cases: Sequence[TipLoad], factors: Sequence[float] | None = None) -> BeamState:
        """Second-order solution of the cases, each load multiplied by its factor."""
        c = len(cases)
        load = Loads(self.z, cases, np.ones(c) if factors is None else np.asarray(factors, dtype=float))
        found = balanced(self, load)
        shape = found.shape
        at = kinematics(shape.x, shape.r, shape.phi, self.span)
        return BeamState(
            z=self.z,
            displacement=(shape.x - self.x0),
            rotation=rotation_vector(shape.r),
            resultants=self._resultants(self._forces(at.d), at.gradient, shape.r),
            converged=found.residual < CONVERGED,
            residual=found.residual,
            stable=found.stable,
        )

    def equilibrium(
        self, cases: Sequence[TipLoad], factors: Sequence[float] | None = None
    ) -> Equilibrium:
        """The shapes of the second-order solution, with the exact derivative of their balance."""
        c = len(cases)
        load = Loads(self.z, cases, np.ones(c) if factors is None else np.asarray(factors, dtype=float))
        found = balanced(self, load)
        shape = found.shape
        at = kinematics(shape.x, shape.r, shape.phi, self.span)
        return Equilibrium(
            x=shape.x,
            r=shape.r,
            phi=shape.phi,
            forces=self._forces(at.d),
            gradient=at.gradient,
            tangent=tangent(self, at, shape, load).plus(load.unsymmetric(shape.r, shape.x)),
            converged=found.residual < CONVERGED,
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
        free = np.where(self.fixed, 0.0, loads)
        if self._root is None:
            held = self.elastic.held(self.fixed)
            every = Chain(
                *(np.broadcast_to(m, (len(free), *m.shape[1:])) for m in (held.diagonal, held.above))
            )
            return every.solve(free)
        found, _ = lapack.dpbtrs(self._root, free.reshape(len(free), -1).T)
        out: FloatArray = found.T.reshape(loads.shape)
        return out

    def strains(self, u: FloatArray) -> FloatArray:
        """Element deformations (c, e, 8) of small movements u (c, n, 7) of the straight shape."""
        ends = np.concatenate([u[:, :-1], u[:, 1:]], axis=-1)
        out: FloatArray = np.einsum("eij,cej->cei", self._g0[0], ends)
        return out

    def stress_stiffness(self, f: FloatArray) -> Chain:
        """Stiffness from element forces f (c, e, 8) on the straight shape: linear in them there."""
        blocks = np.swapaxes(f, 0, 1) @ self._unit_stress.reshape(self.n - 1, 8, -1)
        return Chain.of_elements(np.swapaxes(blocks, 0, 1).reshape(*f.shape[:2], 2 * DOFS, 2 * DOFS))

    @cached_property
    def _unit_stress(self) -> FloatArray:
        """Stress stiffness (e, 8, 14, 14) of unit element forces on the straight shape."""
        unit = np.broadcast_to(np.eye(8)[:, None], (8, self.n - 1, 8))
        straight = kinematics(*self.unloaded(1), self.span)
        return np.ascontiguousarray(np.swapaxes(stress_blocks(straight, unit), 0, 1))

    @cached_property
    def _root(self) -> FloatArray | None:
        """Cholesky's root of the held elastic stiffness, in upper banded storage.

        None where rounding leaves none: a joint that is all but rigid beside one that gives.
        """
        try:
            return self.elastic.held(self.fixed).cholesky()
        except np.linalg.LinAlgError:
            return None

    def _forces(self, d: FloatArray) -> FloatArray:
        """Element forces (c, e, 8) of deformations d (c, e, 8)."""
        out: FloatArray = np.einsum("eij,cej->cei", self.k, d)
        return out

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


def _refuse_steep(z: FloatArray, flexibility: FloatArray) -> None:
    """Refuse elements (n - 1, 8, 8) that would do work where none is put in, if the whole does too.

    A short element alone may: what it couples with twist falls as the square of its length, and its
    neighbours hold it. Where sections change within less than their own size, what their taper does
    to bending and twist (``section.taper``) outweighs their stiffness: no beam theory holds there.

    Raises: GeometryError naming the place.
    """
    sizes = np.sqrt(np.abs(np.diagonal(flexibility, axis1=1, axis2=2)))
    least = np.linalg.eigvalsh(flexibility / (sizes[:, :, None] * sizes[:, None, :]))[:, 0]
    if not (least > 0).all():
        e = int(np.argmin(least))
        raise GeometryError(
            f"the sections change too steeply for a beam between {z[e] * 1e3:.4g} and"
            f" {z[e + 1] * 1e3:.4g} mm from the base; put the stations there further apart"
        )


_CLEAR = 0.1  # of the decay length of warping: least distance of its nodes from the others


def _nodes(model: BeamModel, keep: Sequence[float], elements: int) -> FloatArray:
    """Node places: even, plus the breaks and kept places, finer where warping decays."""
    length = model.length
    must = {0.0, length, *(float(b) for b in model.breaks), *(float(k) for k in keep)}
    size = length / elements
    finer: set[float] = set()
    for end, inward in ((0.0, 1.0), (length, -1.0))[: 2 if model.tip_restrained else 1]:
        layer = model.warping_length(end)
        places = (end + inward * f * layer for f in (1.5, 4.0, 8.0) if f * layer < 2 * size)
        # One much shorter than its layer gains nothing, and may not stand alone (``_refuse_steep``).
        finer |= {p for p in places if all(abs(p - k) > _CLEAR * layer for k in must)}
    ordered = sorted(must | finer)
    merged = [ordered[0]]
    for z in ordered[1:]:
        if z - merged[-1] > 1e-7 * length:
            merged.append(z)
    merged[-1] = length
    out: list[float] = []
    for a, b in itertools.pairwise(merged):
        out += list(np.linspace(a, b, max(1, round((b - a) / size)), endpoint=False))
    return np.array([*out, length])
