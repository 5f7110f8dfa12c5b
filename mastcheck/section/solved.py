"""Solved sections by way of the store: none is solved twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mastcheck.errors import GeometryError
from mastcheck.mast import Mast
from mastcheck.material import Material
from mastcheck.section.entry import entry_of
from mastcheck.section.identity import code_version, digest
from mastcheck.section.likeness import Likeness, likeness
from mastcheck.section.model import Motion, Region, SectionModel
from mastcheck.section.regions import regions_at
from mastcheck.section.scaling import Scale, scaled
from mastcheck.section.solve import solve_section
from mastcheck.section.store import current


def section_at(mast: Mast, at: float, *, taper: bool = True, end: bool = False) -> SectionModel:
    """The section at a fraction of the length, without the mast's calibration.

    Args:
        mast: the mast.
        at: fraction of the length.
        taper: with the couplings of its taper.
        end: with what a fixed end here does.

    Raises: GeometryError when it cannot be built or solved.
    """
    like = likeness(mast, at, taper=taper, end=end)
    try:
        return _solved(like)
    except GeometryError:
        # In its own sizes, so that the message names them; on the edge of what can be built, only its
        # own size may do.
        regions_at(mast, at)
        return _solved(likeness(mast, at, taper=taper, end=end, own_size=True))


def _solved(like: Likeness) -> SectionModel:
    store, key = current(), like.key()
    entry = store.get(key)
    if entry is None:
        entry = entry_of(*like.solve())
        store.put(key, entry)
    return scaled(entry, like.scale, like.materials)


def solved_regions(
    regions: tuple[Region, ...],
    *,
    before: Motion | None = None,
    after: Motion | None = None,
    end: bool = False,
    elements: int | None = None,
) -> SectionModel:
    """``solve_section`` of regions as they are, once. Same arguments, same errors."""
    store = current()
    key = digest(
        "regions", code_version(), _content(regions), *(m and (m.step, _content(m.regions)) for m in
        (before, after)), end, elements,
    )  # fmt: skip
    entry = store.get(key)
    if entry is None:
        model = solve_section(regions, before=before, after=after, end=end, elements=elements)
        entry = entry_of(model, range(len(regions)))
        store.put(key, entry)
    return replace(scaled(entry, Scale(), [r.material for r in regions]), regions=regions)


def _content(regions: Sequence[Region]) -> tuple[tuple[bytes, Material], ...]:
    return tuple((bytes(r.polygon.wkb), r.material) for r in regions)
