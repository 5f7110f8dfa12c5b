"""Balanced shapes of a frame under its loads, by Newton's method on all cases together.

Newton's method is started from the linear solution with stress stiffness, whose rotations are carried
along the mast so that nothing is stretched that is not pulled: a few steps then end at the balance that
a slowly rising load would reach. Where that cannot be relied on (the load is at or above the buckling
load of the straight shape, no balance is found, the one found does not stand or lies far from the start)
the load is raised in steps instead, from the straight shape.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.chain import Chain
from mastcheck.beam.kinematics import DOFS, Kinematics, kinematics, rotation_matrix, stress_blocks
from mastcheck.beam.loads import Loads

if TYPE_CHECKING:
    from mastcheck.beam.solve import FrameModel

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

CONVERGED = 1e-6  # residual above which a case is said to have found no balance
_AIM = 1e-8  # residual force over applied force; rounding in EA leaves some 1e-9
_TOLERANCE = 1e-7  # enough where rounding leaves more: a step then gains little
_GAIN = 0.3  # at most so much of the residual before is left by a step that gains
_REACH = 0.3  # rad: a step that turns a node by more has left the tangent's reach
_LARGEST = 0.5  # rad: no node of the linear shape is turned by more
_MOST = 30  # Newton's steps
_DIRECT = 12  # of those from the linear shape
_NEAR = 0.5  # how far from it the balance may lie, over its own greatest turn
_FEW_STEPS = (0.5, 1.0)
_FIRST_STEP, _LEAST_STEP = 0.2, 1 / 400  # shares of the load, where the few steps fail
_SHORT = 12  # Newton's steps after which such a step is taken in half


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Positions x (c, n, 3) [m], rotations r (c, n, 3, 3) and twist rates phi (c, n) [rad/m]."""

    x: FloatArray
    r: FloatArray
    phi: FloatArray

    def pick(self, which: BoolArray) -> Shape:
        """The chosen cases."""
        return Shape(self.x[which], self.r[which], self.phi[which])

    def put(self, which: BoolArray | NDArray[np.int64], other: Shape) -> None:
        """Take the chosen cases from another, in place."""
        self.x[which], self.r[which], self.phi[which] = other.x, other.r, other.phi


@dataclass(frozen=True, slots=True, eq=False)
class Balance:
    """Shapes of c cases, out-of-balance over applied force (c,), and whether each stands a small push.

    ``stable`` is False without a balance, and True of any balance whose lift follows the tip.
    """

    shape: Shape
    residual: FloatArray
    stable: BoolArray


def balanced(frame: FrameModel, load: Loads) -> Balance:
    """The shape of every case under its whole load."""
    shape, sound = linear_shape(frame, load)
    residual = np.full(len(load.lift), np.inf)
    stable = np.zeros(len(residual), dtype=bool)
    if sound.any():
        start, now = shape.pick(sound), load.pick(sound)
        found, left = newton(frame, now, start, _DIRECT)
        shape.put(sound, found)
        residual[sound], stable[sound] = left, _stands(frame, found, left, now) & _near(start, found)
    if not stable.all():
        hard = load.pick(~stable)
        found, left = _follow(frame, hard, _FEW_STEPS)
        stands = _stands(frame, found, left, hard)
        lost = np.flatnonzero(~stands)
        if lost.size:  # close to buckling the bent shape must be followed in small steps
            crept, best = _creep(frame, hard.pick(~stands))
            better = (best < CONVERGED) | ~(left[lost] < CONVERGED)
            taken = lost[better]
            found.put(taken, crept.pick(better))
            left[taken], stands[taken] = best[better], best[better] < CONVERGED
        shape.put(~stable, found)
        residual[~stable], stable[~stable] = left, stands
    return Balance(shape, residual, stable)


def linear_shape(frame: FrameModel, load: Loads) -> tuple[Shape, BoolArray]:
    """Shapes by the linear solution with stress stiffness; whether each is below buckling (c,).

    Each element is given the strains of that solution, and the elements are joined end to end: a
    linear rotation taken as it is would stretch them, which axial stiffness turns into large forces.
    """
    straight = Shape(*frame.unloaded(len(load.lift)))
    applied = load.vector(straight.x, straight.r).reshape(*straight.phi.shape, DOFS)
    first = frame.strains(frame.linear(applied))
    stress = frame.stress_stiffness(np.einsum("eij,cej->cei", frame.k, first))
    own = load.stiffness(straight.r, straight.x)
    whole = Chain(frame.elastic.diagonal + stress.diagonal + own, frame.elastic.above + stress.above)
    held = whole.held(frame.fixed)
    sound = held.positive_definite()
    u = np.zeros_like(applied)
    if sound.any():
        u[sound] = held.pick(sound).solve(np.where(frame.fixed, 0.0, applied[sound]))
    # Close to buckling the linear shape has the right form, and is far too large.
    largest = np.abs(u[..., 3:6]).max(axis=(1, 2))
    u *= np.minimum(1, _LARGEST / np.maximum(largest, 1e-30))[:, None, None]
    return _joined(frame, frame.strains(u), u[..., 6].copy()), sound


def _joined(frame: FrameModel, d: FloatArray, phi: FloatArray) -> Shape:
    """The shape whose elements have deformations d (c, e, 8), joined end to end from the base."""
    c, e = d.shape[:2]
    turn = rotation_matrix(d[..., 3:6])
    r = np.empty((e + 1, c, 3, 3))
    r[0] = np.eye(3)
    for k in range(e):
        np.matmul(r[k], turn[:, k], out=r[k + 1])
    r = np.ascontiguousarray(np.swapaxes(r, 0, 1))
    middle = r[:, :-1] @ rotation_matrix(d[..., 3:6] / 2)
    span = d[..., :3].copy()
    span[..., 2] += frame.span
    x = np.zeros((c, e + 1, 3))
    np.cumsum((middle @ span[..., None])[..., 0], axis=1, out=x[:, 1:])
    return Shape(x, r, phi)


def tangent(frame: FrameModel, at: Kinematics, shape: Shape, load: Loads) -> Chain:
    """Elastic, stress and load stiffness at a shape: its symmetric part, but of a lift that follows."""
    return _tangent(frame, at, np.einsum("eij,cej->cei", frame.k, at.d), shape, load)


def newton(frame: FrameModel, load: Loads, start: Shape, most: int = _MOST) -> tuple[Shape, FloatArray]:
    """Newton's method on all cases together; returns the shapes and relative residuals.

    A step is taken by the strains that it means, from which the shape is joined anew: moving the nodes
    along straight lines would stretch what turns.
    """
    shape = Shape(start.x.copy(), start.r.copy(), start.phi.copy())
    weight = np.ones(DOFS)
    weight[3:6] = 1 / frame.length
    weight[6] = 0  # bimoment has its own dimension; it follows the rest
    residual = np.full(len(start.x), np.inf)
    going, now, here = np.ones(len(residual), dtype=bool), load, shape
    for _ in range(most):
        at = kinematics(here.x, here.r, here.phi, frame.span)
        f = np.einsum("eij,cej->cei", frame.k, at.d)
        applied = now.vector(here.x, here.r).reshape(*here.phi.shape, DOFS)
        free = np.where(frame.fixed, 0.0, applied - _internal(at, f))
        left = np.linalg.norm(free * weight, axis=(1, 2)) / now.size()
        on = ~((left < _AIM) | ((left < _TOLERANCE) & (left > _GAIN * residual[going])))
        residual[going] = left
        if not on.any():
            break
        if not on.all():
            going[going] = on
            now, here, at, f, free = now.pick(on), here.pick(on), at.pick(on), f[on], free[on]
        whole = _tangent(frame, at, f, here, now).plus(now.unsymmetric(here.r, here.x))
        step = whole.held(frame.fixed).solve(free)
        largest = np.abs(step[..., 3:6]).max(axis=(1, 2))
        step *= np.minimum(1, _REACH / np.maximum(largest, 1e-30))[:, None, None]
        ends = np.concatenate([step[:, :-1], step[:, 1:]], axis=-1)
        strain = at.d + (at.gradient @ ends[..., None])[..., 0]
        here = _joined(frame, strain, here.phi + step[..., 6])
        shape.put(going, here)
    return shape, residual


def _tangent(frame: FrameModel, at: Kinematics, f: FloatArray, shape: Shape, load: Loads) -> Chain:
    g = at.gradient
    blocks = np.swapaxes(g, -1, -2) @ (frame.k @ g)
    blocks += stress_blocks(at, f)
    return Chain.of_elements(blocks).plus(load.stiffness(shape.r, shape.x))


def _internal(at: Kinematics, f: FloatArray) -> FloatArray:
    """Nodal forces (c, n, 7) that balance element forces f (c, e, 8)."""
    nodal = (f[..., None, :] @ at.gradient)[..., 0, :]
    out = np.zeros((f.shape[0], f.shape[1] + 1, DOFS))
    out[:, :-1] += nodal[..., :DOFS]
    out[:, 1:] += nodal[..., DOFS:]
    return out


def _stands(frame: FrameModel, shape: Shape, residual: FloatArray, load: Loads) -> BoolArray:
    """Whether each case is balanced, and its tangent positive definite or its lift follows the tip."""
    out: BoolArray = residual < CONVERGED
    if out.any():
        there, now = shape.pick(out), load.pick(out)
        at = kinematics(there.x, there.r, there.phi, frame.span)
        held = tangent(frame, at, there, now).held(frame.fixed)
        out[out] = held.positive_definite() | now.follower
    return out


def _near(start: Shape, found: Shape) -> BoolArray:
    """Whether a balance is the one that the linear shape points to: about its bend and twist."""
    size = np.abs(start.r - np.eye(3)).max(axis=(1, 2, 3))
    out: BoolArray = np.abs(found.r - start.r).max(axis=(1, 2, 3)) <= np.maximum(_NEAR * size, 1e-6)
    return out


def _follow(frame: FrameModel, load: Loads, shares: Sequence[float]) -> tuple[Shape, FloatArray]:
    """Newton's method along rising shares of the load, each from the shape before."""
    shape = Shape(*frame.unloaded(len(load.lift)))
    residual = np.full(len(shape.x), np.inf)
    for share in shares:
        shape, residual = newton(frame, load.scaled(np.full(len(residual), share)), shape)
        if not (residual < CONVERGED).any():
            break  # nothing to follow further: these have found no balance
    return shape, residual


def _creep(frame: FrameModel, load: Loads) -> tuple[Shape, FloatArray]:
    """The same in each case's own steps, halved where one finds no shape that stands; inf at the end."""
    c = len(load.lift)
    shape = Shape(*frame.unloaded(c))
    residual, share, step = np.full(c, np.inf), np.zeros(c), np.full(c, _FIRST_STEP)
    while (going := (share < 1) & (step > _LEAST_STEP)).any():
        aim = np.minimum(1.0, share + step)[going]
        now = load.pick(going).scaled(aim)
        found, left = newton(frame, now, shape.pick(going), _SHORT)
        good = _stands(frame, found, left, now)
        done = np.flatnonzero(going)[good]
        shape.put(done, found.pick(good))
        residual[done] = left[good]
        share[done] = aim[good]
        step[going] *= np.where(good, 1.5, 0.5)
    residual[share < 1] = np.inf
    return shape, residual
