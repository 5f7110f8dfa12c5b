"""Which points of a section a page must keep, so that the worst place is among them under any load.

The worst place of a section lies nearly always on the boundary of a material, so all of it is kept.
Shear can peak inside, since a shear force loads the section all over: by a little in thin walls, plainly
in solid blades and cores. Which inner points can pass all the boundary is found by trial: resultants of
every mixture, most of them mainly shear, and for each point changes of those that brought it nearest.
Every material criterion (von Mises, shear of a core, either one of a ply) grows with the size of sigma
and of tau and weighs the two in its own way, so plies are tried with several weights.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.material import Material
from mastcheck.section.model import SectionModel, StressBasis
from mastcheck.strength.stress import by_material, is_core

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
Float32Array = NDArray[np.float32]

SEED = 20_261
BATCH = 250
"""Resultants tried at a time."""
TRIALS, CLIMBS = 20, 40
"""Batches drawn at random; then batches that change what brought a point nearest, for those not kept."""
MARGIN = 0.001
"""An inner point is kept that comes to this share of the shear's part below the worst known."""
FAR = 0.1
"""Points that never came nearer than this to the worst known are not tried again."""
LEAST_SHEAR = 3e-3
"""Share of the shear's part below which resultants tell nothing: rounding would."""
PLY_WEIGHTS = (0.3, 3.0, 30.0, np.inf)
"""Weights of tau² beside sigma² by which plies are tried: from mainly sigma to tau alone."""
BENDING, SHEAR = (0, 3, 4, 6), (1, 2, 5)
"""Places in ACTIONS of what gives sigma (N, Mx, My, B), and of what gives tau (Vx, Vy, T)."""


def kept_points(section: SectionModel) -> IntArray:
    """The points to keep of a section: ascending indices of its basis points."""
    basis = section.basis
    kept = boundary_points(basis)
    boundary = kept.copy()
    for material, at in by_material(section):
        kept[governing_points(basis, at, boundary[at], _weights(section, material))] = True
    return np.flatnonzero(kept)


def _weights(section: SectionModel, material: Material) -> tuple[float, ...]:
    """Weights of tau² beside sigma² in the criteria that a material is judged by."""
    if material.laminate is not None:
        return PLY_WEIGHTS
    if not is_core(material, max(r.material.E for r in section.regions)):
        return (3.0,)
    return (np.inf,) if material.design_strength is None else (3.0, np.inf)


def boundary_points(basis: StressBasis) -> BoolArray:
    """Whether a point lies on the boundary of its region (n,): on an edge of one triangle only."""
    t = basis.triangles
    edges = np.sort(np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]]), axis=1)
    edge, count = np.unique(edges, axis=0, return_counts=True)
    out = np.zeros(len(basis.points), dtype=bool)
    out[edge[count == 1]] = True
    return out


def governing_points(
    basis: StressBasis, at: IntArray, known: BoolArray, weights: tuple[float, ...]
) -> IntArray:
    """Points ``at`` that all but pass the ``known`` of them (p,) under some of the resultants tried."""
    rng = np.random.default_rng(SEED)
    size = unit_sizes(basis)
    fields = basis.fields[:, at].astype(np.float32)
    first, others = fields[:, known], fields[:, ~known]
    excess = np.full(others.shape[1], -np.inf)
    own = np.zeros((len(excess), 7))
    live = np.arange(len(excess))
    for batch in range(TRIALS + CLIMBS):
        if batch >= TRIALS:
            live = live[(excess[live] > -FAR) & (excess[live] <= -MARGIN)]
        if not len(live):
            break
        tried = sampled(rng, BATCH) if batch < TRIALS else _changed(rng, own[live], BATCH)
        over = _excess((tried / size).astype(np.float32), first, others[:, live], weights)
        best = over.argmax(axis=0)
        most = over[best, np.arange(len(live))]
        better = most > excess[live]
        excess[live[better]] = most[better]
        own[live[better]] = tried[best[better]]
    return at[~known][excess > -MARGIN]


def unit_sizes(basis: StressBasis) -> FloatArray:
    """Greatest stress of each unit action (7,), 1 where there is none: what makes them comparable."""
    size = np.sqrt((basis.fields**2).sum(axis=2)).max(axis=1)
    return np.where(size > 0, size, 1.0)


def sampled(rng: np.random.Generator, count: int) -> FloatArray:
    """Resultants (count, 7) over their unit sizes: half of them of every mixture, half mainly shear."""
    values = rng.standard_normal((count, 7)) * 10 ** rng.uniform(-2, 0, (count, 7))
    mixed = count // 2
    acting = rng.random((mixed, 7)) < rng.choice([0.3, 0.6, 1.0], (mixed, 1))
    acting[np.arange(mixed), rng.integers(7, size=mixed)] = True
    values[:mixed] *= acting
    sheared = values[mixed:]
    shear = np.linalg.norm(sheared[:, SHEAR], axis=1, keepdims=True)
    bent = np.linalg.norm(sheared[:, BENDING], axis=1, keepdims=True)
    sheared[:, BENDING] *= shear / bent * 10 ** rng.uniform(-3, 0.3, shear.shape)
    return np.asarray(values)


def _changed(rng: np.random.Generator, own: FloatArray, count: int) -> FloatArray:
    """Resultants (count, 7) around some of those given."""
    base = own[rng.integers(len(own), size=count)]
    spread = 10 ** rng.uniform(-2, -0.3, (count, 1))
    each, added = rng.standard_normal((2, *base.shape))
    return np.asarray(
        base * (1 + spread * each) + 0.1 * spread * np.abs(base).max(axis=1)[:, None] * added
    )


def _excess(
    resultants: Float32Array, first: Float32Array, others: Float32Array, weights: tuple[float, ...]
) -> Float32Array:
    """How far points pass the worst of the known, over the shear's part in it (m, q).

    Args:
        resultants: (m, 7).
        first: unit fields (7, p, 3) of the known points.
        others: (7, q, 3) of the others.
        weights: of tau² beside sigma².
    """
    known, unknown = _squares(resultants, first), _squares(resultants, others)
    out = np.full((len(resultants), others.shape[1]), -np.inf, dtype=np.float32)
    most = known[1].max(axis=1, keepdims=True)
    for weight in weights:
        top = _score(*known, weight).max(axis=1, keepdims=True)
        part = most * np.float32(1 if np.isinf(weight) else weight)
        over = _score(*unknown, weight) - top
        sheared = part > LEAST_SHEAR * top
        over /= np.where(sheared, part, 1)
        np.maximum(out, np.where(sheared, over, -np.inf), out=out)
    return out


def _squares(resultants: Float32Array, fields: Float32Array) -> tuple[Float32Array, Float32Array]:
    """Sigma² and tau² (m, p)."""
    sigma, tau_x, tau_y = (resultants @ fields[:, :, k] for k in range(3))
    tau_x *= tau_x
    tau_y *= tau_y
    tau_x += tau_y
    sigma *= sigma
    return sigma, tau_x


def _score(normal: Float32Array, shear: Float32Array, weight: float) -> Float32Array:
    return shear if np.isinf(weight) else normal + np.float32(weight) * shear
