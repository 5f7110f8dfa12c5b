"""The section's one matrix, factored: along a slender section it is a narrow band."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.linalg import lapack

from mastcheck.errors import GeometryError
from mastcheck.section.elements import FloatArray, IntArray

GOOD = 90
"""A band this wide, from the order along the chord, needs no better order."""

WIDEST = 240
"""Beyond this width a general sparse factorisation is as fast as the band's (measured)."""

_I, _J = np.tril_indices(6)


def factored(
    nodes: FloatArray, triangles: IntArray, stiffness: FloatArray
) -> Callable[[FloatArray], FloatArray]:
    """Solver of a singular system that knows gradients only, for loads in balance.

    A spring holds the first node. A balanced load leaves it without force, so it changes nothing.

    Args:
        nodes: (n, 2) [m].
        triangles: (m, 6), corners first, then the middles of edges 0-1, 1-2 and 2-0.
        stiffness: (m, 6, 6) symmetric element matrices.

    Returns:
        A function from loads (n, k) to nodal values (n, k).

    Raises:
        GeometryError: a triangle has no area.
    """
    n = len(nodes)
    rank, width = _order(nodes, triangles)
    lower = stiffness[:, _I, _J]
    own = rank[triangles]
    row, column = own[:, _I], own[:, _J]
    low, high = np.minimum(row, column), np.maximum(row, column)
    if width > WIDEST:
        solve = _sparse(rank, low.ravel(), high.ravel(), lower.ravel())
    else:
        # low * (width + 1) + (high - low): column by column, each from its diagonal down.
        solve = _banded(rank, width, (low * width + high).ravel(), lower.ravel())
    at = triangles.ravel()

    def refined(load: FloatArray) -> FloatArray:
        # What is left of the load, from differences within each triangle: far from the held node
        # the values themselves are large beside those, and would leave rounding of a part in 1e8
        # of the stress.
        found = solve(load)
        own = found[triangles]
        own -= own[:, :1]
        force = (stiffness @ own).reshape(len(at), -1)
        left = load - np.stack([np.bincount(at, f, minlength=n) for f in force.T], axis=1)
        return found + solve(left)

    return refined


def _banded(
    rank: IntArray, width: int, at: IntArray, value: FloatArray
) -> Callable[[FloatArray], FloatArray]:
    n = len(rank)
    band = np.bincount(at, value, minlength=n * (width + 1)).reshape(n, width + 1).T
    band[0, rank[0]] *= 2
    factor, info = lapack.dpbtrf(band, lower=1, overwrite_ab=1)
    if info:
        raise GeometryError("the section could not be solved: a triangle of its mesh has no area")

    def solve(load: FloatArray) -> FloatArray:
        ordered = np.empty_like(load, order="F")
        ordered[rank] = load
        found, _ = lapack.dpbtrs(factor, ordered, lower=1, overwrite_b=1)
        return np.asarray(found[rank])

    return solve


def _sparse(
    rank: IntArray, low: IntArray, high: IntArray, value: FloatArray
) -> Callable[[FloatArray], FloatArray]:
    from scipy.sparse import coo_array
    from scipy.sparse.linalg import splu

    n = len(rank)
    off = low != high
    K = coo_array(
        (
            np.concatenate([value, value[off]]),
            (np.concatenate([high, low[off]]), np.concatenate([low, high[off]])),
        ),
        shape=(n, n),
    ).tocsc()
    held = int(rank[0])
    K[held, held] *= 2
    factor = splu(K, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})

    def solve(load: FloatArray) -> FloatArray:
        ordered = np.empty_like(load)
        ordered[rank] = load
        return np.asarray(factor.solve(ordered)[rank])

    return solve


def _order(nodes: FloatArray, triangles: IntArray) -> tuple[IntArray, int]:
    """Rank (n,) of each node in an order of small bandwidth, and that bandwidth."""
    best = _ranked(nodes[:, int(np.argmax(np.ptp(nodes, axis=0)))])
    width = _bandwidth(best, triangles)
    if width <= GOOD:
        return best, width
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import reverse_cuthill_mckee

    # By Cuthill and McKee over the corners; the middle of an edge lies between its ends.
    corners = triangles[:, :3]
    ends = corners[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    n = len(nodes)
    graph = csr_array((np.ones(2 * len(ends)), (ends.ravel(), ends[:, ::-1].ravel())), shape=(n, n))
    place = np.empty(n)
    place[reverse_cuthill_mckee(graph, symmetric_mode=True)] = np.arange(n)
    place[triangles[:, 3:].ravel()] = place[ends].mean(axis=1)
    other = _ranked(place)
    least = _bandwidth(other, triangles)
    return (other, least) if least < width else (best, width)


def _ranked(value: FloatArray) -> IntArray:
    rank = np.empty(len(value), dtype=np.int64)
    rank[np.argsort(value, kind="stable")] = np.arange(len(value))
    return rank


def _bandwidth(rank: IntArray, triangles: IntArray) -> int:
    own = rank[triangles]
    return int((own.max(axis=1) - own.min(axis=1)).max())
