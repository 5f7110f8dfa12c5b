"""Arrays of a record: base64 of little-endian numbers, compressed where that pays, each kept once."""

from __future__ import annotations

import base64
import binascii
import math
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

MOST_SIDE = 10_000_000
"""Entries along one side of an array, and four sides at most: beyond all that a check makes."""

SINGLE, DOUBLE, SHORT, LONG = "<f4", "<f8", "<i4", "<i8"

_KEYS = {"type", "shape", "packed", "data"}
_WORTH = 0.95
"""Compressed only where it saves a twentieth: what is random is quicker read as it is."""


class MismatchError(ValueError):
    """A place in a record that is not as it was written: where, what was found, what it must be."""

    def __init__(self, at: str, found: str, rule: str) -> None:
        self.at, self.found, self.rule = at, found, rule
        super().__init__(f"{at}{f' = {found}' if found else ''}: {rule}")


class Budget:
    """Bytes that arrays may still unpack to."""

    def __init__(self, size: int) -> None:
        self._left = size

    def spend(self, size: int, at: str) -> None:
        """Take ``size`` off. Raises: MismatchError when too little is left."""
        self._left -= size
        if self._left < 0:
            raise MismatchError(at, "", "unpacks to more than a result may hold")


class ArrayWriter:
    """The arrays of one record; equal ones share a place."""

    def __init__(self) -> None:
        self.written: list[dict[str, Any]] = []
        self._places: dict[tuple[str, tuple[int, ...], bytes], int] = {}

    def write(self, value: NDArray[Any], dtype: np.dtype[Any], *, narrow: bool = False) -> int:
        """The place of an array, whose numbers a ``dtype`` must hold without loss.

        Args:
            value: the array.
            dtype: what it is in Python, float64 or int64.
            narrow: single precision is enough, where its range is.
        """
        if not np.can_cast(value.dtype, dtype, casting="safe"):
            raise TypeError(f"an array of {value.dtype} stands where a record has {dtype}")
        kind = _kind(value, dtype, narrow)
        raw = np.ascontiguousarray(value, dtype=kind).tobytes()
        key = (kind, value.shape, raw)
        if key not in self._places:
            pressed = zlib.compress(raw, 6)
            packed = len(pressed) < _WORTH * len(raw)
            self._places[key] = len(self.written)
            self.written.append(
                {
                    "type": kind,
                    "shape": list(value.shape),
                    "packed": packed,
                    "data": base64.b64encode(pressed if packed else raw).decode("ascii"),
                }
            )
        return self._places[key]


class ArrayReader:
    """Arrays by their place in a record, read only as the classes that hold them are frozen."""

    def __init__(self, raw: Any, budget: Budget) -> None:
        if not isinstance(raw, list):
            raise MismatchError("arrays", "", "must be a list")
        self._arrays = [_unpacked(item, f"arrays[{i}]", budget) for i, item in enumerate(raw)]

    def read(self, place: Any, dtype: np.dtype[Any], at: str, *, narrow: bool) -> NDArray[Any]:
        """The array at a place, if it is of the kind that this field holds. Raises: MismatchError."""
        if type(place) is not int or not 0 <= place < len(self._arrays):
            raise MismatchError(at, str(place)[:40], "must be the number of an array")
        found, single = self._arrays[place]
        if found.dtype.kind != dtype.kind or (single and not narrow):
            rule = "must be an array of " + (
                "whole numbers" if dtype.kind == "i" else "numbers of 8 bytes"
            )
            raise MismatchError(at, str(place), rule)
        return found


def _kind(value: NDArray[Any], dtype: np.dtype[Any], narrow: bool) -> str:
    """How the numbers of an array are written."""
    if dtype.kind == "i":
        short = np.iinfo(np.int32)
        return (
            SHORT if not value.size or (value.min() >= short.min and value.max() <= short.max) else LONG
        )
    most = float(np.finfo(np.float32).max)
    return SINGLE if narrow and bool((np.abs(value[np.isfinite(value)]) <= most).all()) else DOUBLE


def _unpacked(raw: Any, at: str, budget: Budget) -> tuple[NDArray[Any], bool]:
    """The array, as float64 or int64, and whether it was written in single precision."""
    if not isinstance(raw, dict) or raw.keys() != _KEYS:
        raise MismatchError(at, "", "must hold type, shape, packed and data, and nothing else")
    kind, shape, packed, data = raw["type"], raw["shape"], raw["packed"], raw["data"]
    if kind not in (SINGLE, DOUBLE, SHORT, LONG):
        raise MismatchError(
            f"{at}.type", str(kind)[:40], f"must be {SINGLE}, {DOUBLE}, {SHORT} or {LONG}"
        )
    if not isinstance(shape, list) or not 1 <= len(shape) <= 4 or not all(map(_side, shape)):
        raise MismatchError(f"{at}.shape", "", f"must be one to four sizes of at most {MOST_SIDE}")
    if not isinstance(packed, bool):
        raise MismatchError(f"{at}.packed", str(packed)[:40], "must be true or false")
    count = math.prod(shape)
    size = count * np.dtype(kind).itemsize
    budget.spend(count * 8, at)
    content = _bytes(data, f"{at}.data", size if packed else None)
    if len(content) != size:
        raise MismatchError(f"{at}.data", f"{len(content)} bytes", f"must be {size} bytes for its shape")
    wide = np.int64 if kind in (SHORT, LONG) else np.float64
    found = np.frombuffer(content, dtype=kind).reshape(shape).astype(wide)
    found.flags.writeable = False
    return found, kind == SINGLE


def _side(size: Any) -> bool:
    return type(size) is int and 0 <= size <= MOST_SIDE


def _bytes(data: Any, at: str, unpacked: int | None) -> bytes:
    """The bytes of base64 text; unpacked, where they were packed, but never to more than expected."""
    if not isinstance(data, str):
        raise MismatchError(at, "", "must be text (base64)")
    try:
        content = base64.b64decode(data, validate=True)
    except (binascii.Error, ValueError) as error:
        raise MismatchError(at, "", "is damaged (no base64)") from error
    if unpacked is None:
        return content
    press = zlib.decompressobj()
    try:
        out = press.decompress(content, unpacked + 1)
    except zlib.error as error:
        raise MismatchError(at, "", "is damaged (cannot be unpacked)") from error
    if not press.eof or press.unused_data:
        raise MismatchError(at, "", "is damaged (not its length)")
    return out
