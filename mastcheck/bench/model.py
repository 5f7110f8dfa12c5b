"""What each reading would be, and how much of it comes from the blade and from each joint.

The mast is statically determinate, so a reading is a sum: blade in side bending, in fore-aft bending
and in twist, base joint, tip joint. Each part is proportional to a compliance of its own, and the
whole is linear in all of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.kinematics import DOFS
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.model import BeamModel
from mastcheck.beam.solve import FrameModel
from mastcheck.bench.readings import GRAVITY, Direction, Gauge, GaugeKind, Load, Part
from mastcheck.checks.calibration import scaled
from mastcheck.checks.stations import SolvedMast

FloatArray = NDArray[np.float64]

PARAMETERS = (
    "EI_side", "EI_fore_aft", "GJ",
    "base_roll", "base_pitch", "base_twist",
    "tip_roll", "tip_pitch", "tip_twist",
)  # fmt: skip
"""Unknowns: compliance of the blade over the calculated one, three; then of joints [rad per N·m]."""

PLAYS = ("base_roll", "base_pitch", "base_twist", "tip_twist")
"""Free angles that a bench can show [rad], end to end of the gap."""

SMALL_LOAD = 20.0
"""Below this [N] second order is beneath notice."""
LARGEST_SECOND_ORDER = 0.2
"""A load whose second order is a greater share of the reading is no load for a bench."""


class BenchModel:
    """A solved mast on the bench, with nodes wherever something hangs or is read.

    Args:
        solved: the mast's sections.
        places: z of every load and gauge [m].
        base: compliance (6, 6) of the base joint as calculated, order Fx Fy Fz Mx My Mz; None: rigid.
        tip: that of the tip joint.
    """

    def __init__(
        self,
        solved: SolvedMast,
        places: Iterable[float] = (),
        *,
        base: FloatArray | None = None,
        tip: FloatArray | None = None,
    ) -> None:
        self.solved = solved
        self.length = solved.model.length
        self.base = np.zeros((6, 6)) if base is None else base
        self.tip = np.zeros((6, 6)) if tip is None else tip
        keep = sorted({float(np.clip(z, 0.0, self.length)) for z in places})
        self.frame = FrameModel(solved.model, keep=keep)
        whole = _flexibility(self.frame)
        # A compliance twice as large moves the tip by its own part more: exact, since all is linear.
        parts = [
            _flexibility(FrameModel(_scaled_model(solved, factors), keep=keep)) - whole
            for factors in ((0.5, 1.0, 1.0), (1.0, 0.5, 1.0), (1.0, 1.0, 0.5))
        ]
        self._kept: dict[tuple[Load, Gauge], FloatArray] = {}
        self._parts = np.stack([*parts, whole - sum(parts)])
        joints = np.concatenate([np.diag(self.base)[3:], np.diag(self.tip)[3:]])
        self.nominal = np.concatenate([np.ones(3), joints])
        self.nominal.setflags(write=False)
        z, w = _weights(solved.model)
        self._own_moment = GRAVITY * float(w @ (solved.model.at(z)["mass_per_length"] * z))

    def rows(self, loads: Sequence[Load], gauges: Sequence[Gauge]) -> tuple[FloatArray, FloatArray]:
        """Reading per unit load of each pair: by parameter (n, 9) and what no parameter scales (n,)."""
        made = np.array([self._row(*pair) for pair in zip(loads, gauges, strict=True)])
        made = made.reshape(len(loads), len(PARAMETERS) + 1)
        return made[:, :-1], made[:, -1]

    def _row(self, load: Load, gauge: Gauge) -> FloatArray:
        """One row of ``rows`` (10,), kept."""
        if (load, gauge) not in self._kept:
            zl, fl = self._at(load.z, _force(load))
            zg, fg = self._at(gauge.z, _reading(gauge))
            blade = np.einsum("i,pij,j->p", fg, self._parts[:, self._node(zg), :, self._node(zl)], fl)
            bl, bg = _carried(fl, zl), _carried(fg, zg)
            rest = float(blade[3] + bg @ _without_turns(self.base) @ bl)
            foil = np.zeros(3)
            if load.part is Part.FOIL and gauge.part is Part.FOIL:
                foil = fl[3:] * fg[3:]
                rest += float(fg @ _without_turns(self.tip) @ fl)
            self._kept[load, gauge] = np.concatenate([blade[:3], bl[3:] * bg[3:], foil, [rest]])
        return self._kept[load, gauge]

    def _clamped(self, load: Load, gauge: Gauge) -> float:
        """First-order reading per unit load of the blade without joints, as ``tip_load`` loads it."""
        zg, fg = self._at(gauge.z, _reading(gauge))
        zl = self._node(min(load.z, self.length))
        return float(fg @ self._parts[:, self._node(zg), :, zl].sum(axis=0) @ _force(load))

    def play_rows(
        self, loads: Sequence[Load], amounts: FloatArray, gauges: Sequence[Gauge]
    ) -> FloatArray:
        """Reading per free angle (n, 4), PLAYS: half of it, to the side the load pushes to.

        In a side or fore-aft test the blade's own weight pushes too, and can hold a joint against its
        stop; no load and no weight leaves it anywhere in the gap: 0.
        """
        out = np.zeros((len(loads), len(PLAYS)))
        for i, (load, gauge) in enumerate(zip(loads, gauges, strict=True)):
            zl, fl = self._at(load.z, _force(load))
            zg, fg = self._at(gauge.z, _reading(gauge))
            base, own = amounts[i] * _carried(fl, zl), np.zeros(6)
            if load.direction is Direction.SIDE:
                own[3] = -self._own_moment
            elif load.direction is Direction.FORE_AFT:
                own[4] = self._own_moment
            both_on_foil = load.part is Part.FOIL and gauge.part is Part.FOIL
            seen = np.append(_carried(fg, zg)[3:], fg[5] if both_on_foil else 0.0)
            pushed = np.append((base + own)[3:], amounts[i] * fl[5])
            out[i] = np.sign(np.where(np.abs(pushed) < 1e-9, 0.0, pushed)) * seen / 2
        return out

    def second_order(
        self, loads: Sequence[Load], amounts: FloatArray, gauges: Sequence[Gauge]
    ) -> FloatArray:
        """Second-order reading of the clamped blade less its first-order one (n,).

        NaN where it is more than LARGEST_SECOND_ORDER of the first, or no balance was found: such a
        load is no load for a bench. 0 below SMALL_LOAD.
        """
        # A couple about the straight axis bends nothing: it has no second order to speak of.
        pairs = zip(loads, amounts.tolist(), strict=True)
        distinct = [
            p for p in dict.fromkeys(pairs)
            if abs(p[1]) >= SMALL_LOAD and p[0].direction is not Direction.TORQUE
        ]  # fmt: skip
        if not distinct:
            return np.zeros(len(loads))
        state = self.frame.solve([self.tip_load(load, amount) for load, amount in distinct])
        blade = np.array([self._clamped(*pair) for pair in zip(loads, gauges, strict=True)])
        clamped = blade * amounts
        out = np.zeros(len(loads))
        place = {key: k for k, key in enumerate(distinct)}
        for i, (load, gauge) in enumerate(zip(loads, gauges, strict=True)):
            k = place.get((load, float(amounts[i])))
            if k is None:
                continue
            zg, fg = self._at(gauge.z, _reading(gauge))
            node = self._node(zg)
            moved = np.concatenate([state.displacement[k, node], state.rotation[k, node]])
            out[i] = fg @ moved - clamped[i]
            if not state.converged[k] or abs(out[i]) > LARGEST_SECOND_ORDER * abs(clamped[i]) + 1e-5:
                out[i] = np.nan
        return out

    def tip_load(self, load: Load, amount: float) -> TipLoad:
        """A bench load for the second-order solver: a dead force that moves with its section.

        Raises: ValueError for a torque, which has no second order (see ``second_order``).
        """
        z = min(load.z, self.length)
        match load.direction:
            case Direction.SIDE:
                at, force = (load.arm, 0.0, z), (0.0, amount, 0.0)
            case Direction.FORE_AFT:
                at, force = (0.0, load.arm, z), (amount, 0.0, 0.0)
            case Direction.TORQUE:
                raise ValueError("a couple is no dead force")
        return TipLoad(spread=np.array([force]), spread_at=np.array([at]))

    def _at(self, z: float, vector: FloatArray) -> tuple[float, FloatArray]:
        """Place on the blade, and the load there; beyond the tip all is rigid."""
        if z <= self.length:
            return z, vector
        return self.length, _carried(vector, z - self.length)

    def _node(self, z: float) -> int:
        k = int(np.abs(self.frame.z - z).argmin())
        if abs(float(self.frame.z[k]) - z) > 2e-7 * self.length:
            raise ValueError(f"no node at z = {z} m: name it when the model is made")
        return k


def _force(load: Load) -> FloatArray:
    """The unit load (6,) at the stacking line."""
    match load.direction:
        case Direction.SIDE:
            return np.array([0.0, 1.0, 0.0, 0.0, 0.0, load.arm])
        case Direction.FORE_AFT:
            return np.array([1.0, 0.0, 0.0, 0.0, 0.0, -load.arm])
        case Direction.TORQUE:
            return np.array([0.0, 0.0, 0.0, 0.0, 0.0, 1.0])


def _reading(gauge: Gauge) -> FloatArray:
    """What a gauge reads of a movement (6,) of the stacking line: the load that it is dual to."""
    return _force(Load(direction=_DUAL[gauge.kind], z=gauge.z, arm=gauge.arm))


_DUAL = {
    GaugeKind.SIDE: Direction.SIDE,
    GaugeKind.FORE_AFT: Direction.FORE_AFT,
    GaugeKind.TWIST: Direction.TORQUE,
}


def _carried(load: FloatArray, up: float) -> FloatArray:
    """A load (6,) carried toward the base by a distance [m]."""
    out = load.copy()
    out[3] -= up * load[1]
    out[4] += up * load[0]
    return out


def _without_turns(compliance: FloatArray) -> FloatArray:
    """A joint's compliance without the three that are fitted."""
    out = compliance.copy()
    out[[3, 4, 5], [3, 4, 5]] = 0.0
    return out


def _scaled_model(solved: SolvedMast, factors: tuple[float, float, float]) -> BeamModel:
    side, fore_aft, torsion = factors
    ends = (solved.model.base_end, solved.model.tip_end)
    base, tip = (None if end is None else end / torsion for end in ends)
    return BeamModel(
        solved.z,
        [scaled(s.properties, side=side, fore_aft=fore_aft, torsion=torsion) for s in solved.sections],
        [float(b) for b in solved.model.breaks],
        tip_restrained=solved.model.tip_restrained,
        base_end=base,
        tip_end=tip,
    )


def _flexibility(frame: FrameModel) -> FloatArray:
    """Movement of every node under a unit load at every other (n, 6, n, 6), as [node, 6, node, 6]."""
    full = np.zeros_like(frame.k0)
    free = np.ix_(frame.free, frame.free)
    full[free] = np.linalg.inv(frame.k0[free])
    out: FloatArray = full.reshape(frame.n, DOFS, frame.n, DOFS)[:, :6, :, :6]
    return out


def _weights(model: BeamModel) -> tuple[FloatArray, FloatArray]:
    """Gauss points and weights over the whole length, interval by interval."""
    x, w = np.polynomial.legendre.leggauss(12)
    lo, hi = model.breaks[:-1, None], model.breaks[1:, None]
    return (lo + (hi - lo) * (x + 1) / 2).ravel(), (w * (hi - lo) / 2).ravel()
