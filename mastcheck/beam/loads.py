"""Loads of many cases as arrays, on whatever shape the mast has taken, with their stiffness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.kinematics import DOFS, skew

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TipLoad:
    """One case's loads in mast axes [N, N·m, m].

    ``lift``: magnitude of the force on the wing toward the board, at ``arm`` from the tip (an
    arm that turns with the tip). ``aim``: z of the fixed point on the mast's axis the lift
    points to, or None when it keeps its direction (-z); with ``follower`` it turns with the
    tip's section instead. ``force``, ``moment``: dead loads at the
    tip point. ``spread`` (m, 3) dead forces at ``spread_at`` (m, 3): points of the unbent
    mast, each moving with the section at its z; None when there are none.
    """

    lift: float = 0.0
    arm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    aim: float | None = None
    follower: bool = False
    force: tuple[float, float, float] = (0.0, 0.0, 0.0)
    moment: tuple[float, float, float] = (0.0, 0.0, 0.0)
    spread: FloatArray | None = None
    spread_at: FloatArray | None = None


class Loads:
    """The loads of all cases as arrays over cases and nodes, with their stiffness."""

    def __init__(self, z: FloatArray, cases: Sequence[TipLoad], factor: FloatArray) -> None:
        c, n = len(cases), len(z)
        self.lift = np.array([p.lift for p in cases]) * factor
        self.arm = np.array([p.arm for p in cases], dtype=float).reshape(c, 3)
        self.follower = np.array([p.follower for p in cases])
        self.aimed = np.array([p.aim is not None and not p.follower for p in cases])
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
            # Shared between the two nodes beside each point, as a simple beam would.
            force = p.spread * factor[i]
            after = np.clip(np.searchsorted(z, p.spread_at[:, 2]), 1, n - 1)
            width = z[after] - z[after - 1]
            t = np.ones(len(after))
            np.divide(p.spread_at[:, 2] - z[after - 1], width, out=t, where=width > 0)
            arm = p.spread_at * np.array([1.0, 1.0, 0.0])
            couple = arm[:, :, None] * force[:, None, :]
            for node, share in ((after - 1, 1 - t), (after, t)):
                np.add.at(self.force[i], node, share[:, None] * force)
                np.add.at(self.couple[i], node, share[:, None, None] * couple)

    def scaled(self, share: FloatArray) -> Loads:
        """The same loads, each case times its share (c,)."""
        out = self.pick(np.ones(len(self.lift), dtype=bool))
        out.lift, out.moment = out.lift * share, out.moment * share[:, None]
        by = share[:, None, None]
        out.force, out.couple = out.force * by, out.couple * by[..., None]
        return out

    def pick(self, which: NDArray[np.bool_]) -> Loads:
        """The chosen cases."""
        out = object.__new__(Loads)
        for name in ("lift", "arm", "follower", "aimed", "aim", "moment", "force", "couple"):
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
        down = np.where(self.follower[:, None], -r[:, -1, :, 2], np.array([0.0, 0.0, -1.0]))
        unit = np.where(self.aimed[:, None], to / distance[:, None], down)
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
        """Load stiffness -d(load)/d(shape) of each node on itself (c, n, 7, 7).

        Symmetric, since all but a follower lift derive from a potential; of a given moment only the
        symmetric part is taken. A follower's is unsymmetric, and is given whole.
        """
        c, n = self.force.shape[:2]
        out = np.zeros((c, n, DOFS, DOFS))
        turn = slice(3, 6)
        out[..., turn, turn] -= _spin_stiffness(r @ self.couple)
        arm, lift, tie = self._lift(r, x)
        move = np.concatenate([np.broadcast_to(np.eye(3), tie.shape), -skew(arm)], axis=-1)
        out[:, -1, :6, :6] += np.swapaxes(move, -1, -2) @ tie @ move
        follows = self.follower[:, None, None]
        fixed = -_spin_stiffness(arm[:, :, None] * lift[:, None, :])
        out[:, -1, turn, turn] += np.where(follows, skew(np.cross(arm, lift)), fixed)
        out[:, -1, :3, turn] += np.where(follows, skew(lift), 0.0)
        return out

    def unsymmetric(self, r: FloatArray, x: FloatArray) -> FloatArray:
        """What the tangent lacks of the exact one at equilibrium (c, n, 7, 7), each node on itself.

        By spins that follow one another, the second derivative of a potential is unsymmetric by half
        the skew matrix of its moment, since rotations do not commute. At a balanced node the elements'
        and the loads' parts cancel, but for a moment that has no potential: one given in space, or
        that of a lift which follows the tip.
        """
        c, n = self.force.shape[:2]
        arm, lift, _ = self._lift(r, x)
        moment = self.moment + np.where(self.follower[:, None], np.cross(arm, lift), 0.0)
        out = np.zeros((c, n, DOFS, DOFS))
        out[:, -1, 3:6, 3:6] = -skew(moment) / 2
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
