"""What fixed ends add to the beam, inside its elements (``section.ends``).

An end's compliance couples twist with forces that it does not go with elsewhere, and may be negative, so
that no element can be made of it alone. It is spread over the elements next to the end, for the
resultants that equilibrium carries to it: first-order answers do not depend on how far it is spread, and
the elements stay positive definite if it is far enough. A short element takes less than its length: the
bimoments at its nodes can hold its twist almost without work, so that what twist may couple with falls
as the square of its length.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

LEAST_REACH = 1 / 50  # of the length: about an element
_LEFT = 0.5  # least share of an element's own flexibility that is left, in any direction


def lever(arm: float) -> FloatArray:
    """Forces and moments (6, 6) ``arm`` [m] nearer the base than those given."""
    out = np.eye(6)
    out[3, 1], out[4, 0] = -arm, arm
    return out


def spread(
    z: FloatArray, flexibility: FloatArray, end: FloatArray, *, at_tip: bool
) -> list[tuple[int, float, float]]:
    """Elements with their part of an end's compliance and the arm [m] from their middle to the end.

    Args:
        z: nodes (n,) [m].
        flexibility: the elements' own (n - 1, 8, 8).
        end: the end's compliance (6, 6).
        at_tip: whether the end is the last node, else the first.

    Raises: ValueError where half the length is not enough to spread it.
    """
    span, length = np.diff(z), z[-1] - z[0]
    arm = (z[:-1] + z[1:]) / 2 - (z[-1] if at_tip else z[0])
    order = np.arange(len(span))[:: -1 if at_tip else 1]
    for m in range(1, len(order) + 1):
        near = order[:m]
        reach = span[near].sum()
        if reach < LEAST_REACH * length:
            continue
        if reach > length / 2:
            break
        part = span[near] ** 2 / (span[near] ** 2).sum()
        found = [(int(e), float(p), float(arm[e])) for e, p in zip(near, part, strict=True)]
        if all(_left(flexibility[e], p * lever(a).T @ end @ lever(a)) for e, p, a in found):
            return found
    raise ValueError("a fixed end does not fit into half the beam")


def _left(flexibility: FloatArray, added: FloatArray) -> bool:
    """Whether an element (8, 8) keeps enough flexibility with what is added (6, 6) to it.

    A very short one may have too little to begin with: its neighbours hold it, and nothing is added.
    """
    try:
        inverse = np.linalg.inv(np.linalg.cholesky(flexibility))[:, :6]
    except np.linalg.LinAlgError:
        return False
    return bool(np.linalg.eigvalsh(inverse @ added @ inverse.T)[0] > _LEFT - 1)
