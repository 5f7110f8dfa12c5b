"""What a record is written into and read from: shared objects and arrays, each once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mastcheck.report.codec_arrays import ArrayReader, ArrayWriter, Budget, MismatchError

MOST_NODES = 3_000_000
"""Nodes of a record with everything shared counted at each place: what a reader of it may walk."""

MOST_DEPTH = 60
"""Levels of nesting; real records have about 20."""


ARRAY_SHARE = 32
"""Numbers of an array that count as one node."""


class Writer:
    """What a record is written into: shared objects and arrays, each once."""

    def __init__(self, seen: Mapping[int, int]) -> None:
        self.objects: list[dict[str, Any]] = []
        self.arrays = ArrayWriter()
        self._seen = seen
        self._places: dict[int, int] = {}

    def object(self, value: Any, name: str, body: Callable[[], dict[str, Any]]) -> Any:
        """An object in full, or a reference where it stands at several places."""
        if self._seen.get(id(value), 0) < 2:
            return body()
        if id(value) not in self._places:
            made = {"is": name, **body()}
            self._places[id(value)] = len(self.objects)
            self.objects.append(made)
        return {"ref": self._places[id(value)]}


class Reader:
    """What a record is read from; counts what it costs to walk the whole of it."""

    def __init__(self, budget: Budget, arrays: Any) -> None:
        self.arrays = ArrayReader(arrays, budget)
        self.objects: list[tuple[Any, int, int]] = []  # object, nodes in it, levels below it
        self.nodes = 0
        self.depth = self.deepest = 0

    def enter(self, at: str, below: int = 0, nodes: int = 1) -> None:
        """Note one level down, with all that hangs below it already."""
        self.nodes += nodes
        self.depth += 1
        self.deepest = max(self.deepest, self.depth + below)
        if self.deepest > MOST_DEPTH:
            raise MismatchError(at, "", f"is nested more than {MOST_DEPTH} deep")
        if self.nodes > MOST_NODES:
            raise MismatchError(
                at, "", f"holds more than {MOST_NODES} values, shared ones counted each time"
            )

    def array(self, place: Any, dtype: np.dtype[Any], at: str, *, narrow: bool) -> NDArray[Any]:
        """An array by its place, counted at each place where it stands."""
        found = self.arrays.read(place, dtype, at, narrow=narrow)
        self.nodes += 1 + max(found.size, len(found)) // ARRAY_SHARE
        return found

    def leave(self) -> None:
        """Back up one level."""
        self.depth -= 1
