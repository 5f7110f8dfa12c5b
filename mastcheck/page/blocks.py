"""Arrays of numbers as the page's script reads them: base64, little endian, with their shape."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
from numpy.typing import NDArray

KINDS = {"f64": "<f8", "f32": "<f4", "u16": "<u2", "i32": "<i4"}


def packed(values: NDArray[Any], kind: str) -> dict[str, object]:
    """An array as ``arrayOf`` of ``beam_arrays.js`` reads it, in rows.

    Args:
        values: any shape; whole numbers that fit where the kind holds whole numbers.
        kind: one of KINDS.

    Raises: ValueError for whole numbers that do not fit.

    >>> packed(np.array([1, 2]), "u16")
    {'u16': 'AQACAA==', 'shape': [2]}
    """
    values = np.asarray(values)
    if kind in ("u16", "i32") and values.size:
        held = np.iinfo(KINDS[kind])
        if values.min() < held.min or values.max() > held.max:
            raise ValueError(f"{values.min()} to {values.max()} does not fit {kind}")
    array = np.ascontiguousarray(values, dtype=KINDS[kind])
    return {kind: base64.b64encode(array.tobytes()).decode("ascii"), "shape": list(array.shape)}


def stepped(values: NDArray[np.float64], size: int) -> dict[str, object]:
    """A table as whole numbers of steps, which ``steppedTable`` of ``strength_data.js`` reads.

    A value is low + step · whole number, within half a step: of 1, 2 or 3 bytes a 510th, 130,000th or
    33-millionth of its column's range. Float32 would take 4 bytes for the last.

    Args:
        values: (n, k).
        size: bytes of each number: 1, 2 or 3.

    Returns:
        ``size``, ``scale`` (k, 2) least value and step of each column, ``rows`` n, and ``steps``: the
        numbers in rows, each little endian, two bytes in every ``u16``.
    """
    low, high = (
        (values.min(axis=0), values.max(axis=0)) if len(values) else np.zeros((2, values.shape[1]))
    )
    step = np.where(high > low, (high - low) / (256**size - 1), 1.0)
    whole = np.rint((values - low) / step).astype("<u4")
    each = whole.reshape(-1, 1).view(np.uint8)[:, :size].ravel()
    pairs = np.append(each, np.zeros(len(each) % 2, dtype=np.uint8)).view("<u2")
    return {
        "size": size,
        "scale": [[float(v) for v in pair] for pair in zip(low, step, strict=True)],
        "rows": len(values),
        "steps": packed(pairs, "u16"),
    }
