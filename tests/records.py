"""Records of results in tests: their hash by its definition, and whether two results are one."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from typing import Any

import numpy as np
from shapely import Polygon

from mastcheck.section.model import StressBasis


def sha256(value: Any) -> str:
    """The hash of plain data, as a result file means it."""
    text = json.dumps(value, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def sealed(record: dict[str, Any]) -> dict[str, Any]:
    """A record with a hash that fits what is in it now."""
    bare = {k: v for k, v in record.items() if k != "sha256"}
    return {**bare, "sha256": sha256(bare)}


def sealed_file(whole: dict[str, Any], record: dict[str, Any]) -> bytes:
    """A result file with this record and hashes that fit."""
    beside = {k: v for k, v in whole.items() if k != "record"}
    record = sealed({**record, "beside_sha256": sha256(beside)})
    return json.dumps({**beside, "record": record}).encode()


class Likeness:
    """Asserts that two trees of results are equal bit for bit, and shared by identity alike.

    ``narrow``: of the unit stress fields single precision is enough.
    """

    def __init__(self, *, narrow: bool = True) -> None:
        self.narrow = narrow
        self.there: dict[int, int] = {}
        self.back: dict[int, int] = {}
        self.seen = 0

    def same(self, old: Any, new: Any, at: str = "") -> None:
        self.seen += 1
        if dataclasses.is_dataclass(old) or isinstance(old, Polygon):
            assert type(old) is type(new), at
            assert self.there.setdefault(id(old), id(new)) == id(new), at
            assert self.back.setdefault(id(new), id(old)) == id(old), at
        if isinstance(old, Polygon):
            self.same(np.asarray(old.exterior.coords), np.asarray(new.exterior.coords), at)
            assert len(old.interiors) == len(new.interiors), at
            for i, (a, b) in enumerate(zip(old.interiors, new.interiors, strict=True)):
                self.same(np.asarray(a.coords), np.asarray(b.coords), f"{at}[{i}]")
        elif dataclasses.is_dataclass(old):
            for field in dataclasses.fields(old):
                a, b = getattr(old, field.name), getattr(new, field.name)
                if self.narrow and isinstance(old, StressBasis) and field.name == "fields":
                    a = a.astype(np.float32).astype(np.float64)
                self.same(a, b, f"{at}.{field.name}")
        elif isinstance(old, np.ndarray):
            assert (old.dtype, old.shape) == (new.dtype, new.shape), at
            assert np.ascontiguousarray(old).tobytes() == new.tobytes(), at
        elif isinstance(old, tuple | list):
            assert len(old) == len(new), at
            for i, (a, b) in enumerate(zip(old, new, strict=True)):
                self.same(a, b, f"{at}[{i}]")
        elif isinstance(old, dict):
            assert list(old) == list(new), at  # in their order
            for key, value in old.items():
                self.same(value, new[key], f"{at}[{key}]")
        elif isinstance(old, float):
            assert float(old).hex() == float(new).hex(), at
        else:
            assert old == new, at
            assert isinstance(new, type(old)) or isinstance(old, np.generic), at
