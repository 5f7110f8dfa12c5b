"""A solved section as plain arrays: what is kept of it in memory and in files.

Materials are not kept, only which of the section's materials each region is of: they are the live
recipe's own, so that nothing but numbers is ever read from a file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Generic, TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from mastcheck.section.model import ACTIONS, SectionModel, SectionProperties, StressBasis

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
Number = TypeVar("Number", np.float64, np.int64)

_ACTIONS = len(ACTIONS)
_PROPERTIES = {"fibre_before": 3, "fibre_after": 3, "contraction": 3, "mass_moments": 5}
"""Properties that are more than one number."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Entry:
    """A solved section without its materials.

    ``coordinates`` (k, 2) of all rings [m], ``rings`` where each begins, ``parts`` where each
    region's rings begin; ``material`` (regions,): place in the section's list of materials.
    """

    coordinates: FloatArray
    rings: IntArray
    parts: IntArray
    material: tuple[int, ...]
    properties: SectionProperties
    basis: StressBasis
    elements: int
    end: FloatArray | None

    def __post_init__(self) -> None:
        # Sections made from it share some: what is kept must not change under them.
        for array in self._arrays():
            array.flags.writeable = False

    def _arrays(self) -> tuple[FloatArray | IntArray, ...]:
        b = self.basis
        return self.coordinates, self.rings, self.parts, b.points, b.region, b.fields, b.triangles

    @property
    def bytes(self) -> int:
        """Memory that its arrays take."""
        return sum(array.nbytes for array in self._arrays())

    def polygons(self, scale: float = 1.0) -> list[Polygon]:
        """The regions' polygons, times a factor."""
        made = shapely.from_ragged_array(
            shapely.GeometryType.POLYGON, self.coordinates * scale, (self.rings, self.parts)
        )
        return list(made)


def entry_of(model: SectionModel, material: Sequence[int]) -> Entry:
    """What is kept of a solved section; ``material``: place of each region's in the list of them."""
    _, coordinates, (rings, parts) = shapely.to_ragged_array([r.polygon for r in model.regions])
    return Entry(
        coordinates=coordinates,
        rings=rings.astype(np.int64),
        parts=parts.astype(np.int64),
        material=tuple(material),
        properties=model.properties,
        basis=model.basis,
        elements=model.elements,
        end=model.end,
    )


def packed(entry: Entry) -> tuple[FloatArray, NDArray[np.int32]]:
    """The entry as two vectors. Stress components that are nil everywhere are left out."""
    b = entry.basis
    used = np.any(b.fields != 0, axis=1)
    properties = [getattr(entry.properties, f.name) for f in fields(SectionProperties)]
    floats = [
        np.concatenate([np.atleast_1d(np.array(value, dtype=np.float64)) for value in properties]),
        np.zeros(0) if entry.end is None else entry.end.ravel(),
        entry.coordinates.ravel(),
        b.points.ravel(),
        b.fields.transpose(0, 2, 1)[used].ravel(),
    ]
    sizes = [
        entry.elements, entry.end is not None, len(entry.coordinates), len(entry.rings),
        len(entry.parts), len(b.points), len(b.triangles),
    ]  # fmt: skip
    ints = [
        np.array(sizes), used.ravel(), np.array(entry.material), entry.rings, entry.parts, b.region,
        b.triangles.ravel(),
    ]  # fmt: skip
    return np.concatenate(floats), np.concatenate([np.asarray(a, dtype=np.int32) for a in ints])


def unpacked(floats: FloatArray, ints: NDArray[np.int32]) -> Entry:
    """The entry from its two vectors.

    Raises: ValueError where they are not what ``packed`` makes.
    """
    f, i = _Reader(floats.astype(np.float64, copy=False)), _Reader(ints.astype(np.int64))
    elements, ended, k, rings, parts, n, m = (int(v) for v in i.take(7))
    used = i.take(_ACTIONS * 3).reshape(_ACTIONS, 3) != 0
    material = tuple(int(v) for v in i.take(parts - 1))
    ring, part, region = i.take(rings), i.take(parts), i.take(n)
    triangles = i.take(3 * m).reshape(m, 3)
    values: dict[str, float | tuple[float, ...]] = {}
    for field in fields(SectionProperties):
        size = _PROPERTIES.get(field.name, 1)
        found = f.take(size).tolist()
        values[field.name] = tuple(found) if field.name in _PROPERTIES else found[0]
    end = f.take(36).reshape(6, 6).copy() if ended else None
    coordinates, points = f.take(2 * k).reshape(k, 2), f.take(2 * n).reshape(n, 2)
    stress = np.zeros((_ACTIONS, 3, n))
    stress[used] = f.take(int(used.sum()) * n).reshape(-1, n)
    if not (f.ended and i.ended and np.isfinite(floats).all() and min(material, default=-1) >= 0):
        raise ValueError("not a kept section")
    # Wrong places would crash the geometry library's whole process.
    if not (_cut(ring, k, least=4) and _cut(part, rings - 1, least=1)):
        raise ValueError("not a kept section's rings")
    if np.any(coordinates[ring[:-1]] != coordinates[ring[1:] - 1]):
        raise ValueError("rings that do not close")
    if not (n and m and triangles.min() >= 0 and triangles.max() < n and region.min() >= 0):
        raise ValueError("not a kept section's triangles")
    return Entry(
        coordinates=coordinates,
        rings=ring,
        parts=part,
        material=material,
        properties=SectionProperties(**values),  # type: ignore[arg-type]
        basis=StressBasis(
            points=points,
            region=region,
            fields=np.ascontiguousarray(stress.transpose(0, 2, 1)),
            triangles=triangles,
        ),
        elements=elements,
        end=end,
    )


def _cut(places: IntArray, end: int, *, least: int) -> bool:
    """Whether places cut 0 to end into pieces of at least so many."""
    whole = len(places) > 1 and places[0] == 0 and places[-1] == end
    return bool(whole and np.diff(places).min() >= least)


class _Reader(Generic[Number]):
    """A vector read from its start."""

    def __init__(self, values: NDArray[Number]) -> None:
        self._values: NDArray[Number] = values
        self._at = 0

    def take(self, count: int) -> NDArray[Number]:
        """The next values. Raises: ValueError where there are not so many."""
        if count < 0 or self._at + count > len(self._values):
            raise ValueError("a kept section ends too early")
        self._at += count
        found: NDArray[Number] = self._values[self._at - count : self._at]
        return found

    @property
    def ended(self) -> bool:
        """Whether all is read."""
        return self._at == len(self._values)
