"""The parts of a mast and its joints, and which of them touch; what is not stated is named."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, product

from mastcheck.job import Job
from mastcheck.joint import Adapter, Bar, BoltedPlate, BoltGroup, Fitted, Given, Joints, OnePiece
from mastcheck.mast import Construction
from mastcheck.material import Material
from mastcheck.section.measure import outer_shape
from mastcheck.section.model import Region, SectionModel

TOUCH = 1e-7
"""Regions nearer than this [m] touch; those of a section share their points to far less."""

LIGHT = 1000.0
"""A material without a galvanic group, lighter than this [kg/m³], is a foam or a wood: no conductor."""

MARGIN = 1.5
"""Screw diameters that a plate is taken to reach past its outer screws, to size its surface."""


INNER = ("core", "channel lining")
"""What the joints are taken not to touch, though it may reach the outside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of the assembly, of one material.

    ``group`` as the material states it (empty: not stated; "none": no conductor); ``surface``: about
    how much of it there is [m²], to weigh two parts against each other (None: not known).
    """

    name: str
    material: str
    group: str
    surface: float | None = None

    @property
    def words(self) -> str:
        """The part as printed."""
        return f"{self.name} ({self.material})"


Contact = tuple[Part, Part]


def part_of(name: str, material: Material, surface: float | None = None) -> Part:
    """A part made of a material."""
    group = material.galvanic_group
    if not group and material.density < LIGHT:
        group = "none"
    return Part(name=name, material=material.name, group=group, surface=surface)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """The parts of the mast that joints touch, every two parts that touch, and what is not stated."""

    blade: tuple[Part, ...]
    contacts: tuple[Contact, ...]
    not_stated: tuple[str, ...]


def assembly(job: Job, sections: Sequence[SectionModel]) -> Assembly:
    """The parts of a job and how they touch; every two of different names or materials once.

    Args:
        job: the mast and its joints.
        sections: its solved sections, for what touches inside it.
    """
    named = [_named(job, s) for s in {id(s): s for s in sections}.values()]
    parts = _section_parts(named, job.mast.length)
    outside: dict[Part, None] = {}
    for section in named:
        outside |= dict.fromkeys(parts[r.key] for r in section if r.outside and r.name not in INNER)
    joints = job.joints
    found = (*_section_contacts(named, parts), *joint_contacts(joints, tuple(outside)))
    return Assembly(
        blade=tuple(outside),
        contacts=tuple({frozenset(two): two for two in found if two[0] != two[1]}.values()),
        not_stated=not_stated(joints),
    )


def joint_contacts(joints: Joints, mast: Sequence[Part]) -> Iterator[Contact]:
    """What touches in the joints, board to foil.

    What one screw clamps is taken as touching: the screw joins it even where faces do not meet.

    Args:
        joints: as stated; what is not, is left out (``not_stated`` names it).
        mast: the parts of the mast at its ends.
    """
    pieces: list[Part | None] = []
    for i, adapter in enumerate(joints.adapters):
        name = _adapter_name(adapter, i)
        body = None
        if isinstance(adapter.body, Bar):
            bar = adapter.body
            around = math.pi * bar.along if bar.round else 2 * (bar.along + bar.across)
            body = part_of(name, bar.material, around * adapter.length)
        pieces.append(body)
        if adapter.bolts is not None:
            yield from _bolted(name, "flange", adapter.bolts, [body] if body else [])
    yield from ((a, b) for a, b in pairwise(pieces) if a is not None and b is not None)
    lowest = pieces[-1] if pieces else None
    base, tip = joints.base, joints.tip
    match base:
        case BoltedPlate():
            yield from _bolted("base", "plate", base.bolts, mast)
            if lowest is not None:
                yield _plate("base", "plate", base.bolts), lowest
        case Fitted(screws=BoltGroup() as screws):
            yield from _bolted("base", "box", screws, mast)
        case _:
            pass
    if lowest is not None and not isinstance(base, BoltedPlate):
        yield from product(mast, [lowest])
    match tip:
        case BoltedPlate():
            yield from _bolted("tip", "plate", tip.bolts, mast)
        case Fitted(screws=BoltGroup() as screws):
            yield from _bolted("tip", "socket", screws, mast)
        case _:
            pass


def not_stated(joints: Joints) -> tuple[str, ...]:
    """What of the joints has no stated material, in words."""
    if not joints.stated:
        return ("screws", "plate", "socket", "adapters")
    out = []
    for i, adapter in enumerate(joints.adapters):
        name = _adapter_name(adapter, i)
        if not isinstance(adapter.body, Bar):
            out.append(name)
        out += _silent(f"{name} screws", adapter.bolts)
    match joints.base:
        case BoltedPlate(bolts=bolts):
            out += _silent("base screws", bolts)
        case Fitted(screws=screws):
            out += _silent("base box", screws)
        case Given():
            out.append("base joint")
        case None:
            out.append("base joint" if joints.adapters else "base plate and screws")
    match joints.tip:
        case BoltedPlate(bolts=bolts):
            out += _silent("tip screws", bolts)
        case Fitted(screws=screws):
            out += _silent("tip socket", screws)
        case OnePiece():
            pass
        case _:
            out.append("tip joint")
    return tuple(out)


def _silent(name: str, bolts: BoltGroup | None) -> list[str]:
    if bolts is None:
        return [name]
    return [] if bolts.engaged is not None else [f"thread of the {name.removesuffix(' screws')} screws"]


def _bolted(place: str, what: str, bolts: BoltGroup, held: Sequence[Part]) -> Iterator[Contact]:
    """Screws, the plate they clamp, what they thread into, and the parts that the plate holds."""
    plate = _plate(place, what, bolts)
    d, grip = bolts.thread.diameter, bolts.plate_thickness
    screws = Part(
        name=f"{place} screws",
        material=bolts.property_class.name,
        group=bolts.property_class.galvanic_group,
        surface=len(bolts.positions) * math.pi * d * (grip + (bolts.engagement or d)),
    )
    yield screws, plate
    yield from product([plate], held)
    if bolts.engaged is not None:
        thread = part_of(f"thread of the {place} screws", bolts.engaged)
        yield screws, thread
        yield plate, thread


def _plate(place: str, what: str, bolts: BoltGroup) -> Part:
    """What the screws clamp; its surface by their places."""
    reach = 2 * MARGIN * bolts.thread.diameter
    sides = [max(c) - min(c) + reach for c in zip(*bolts.positions, strict=True)]
    return part_of(f"{place} {what}", bolts.plate, 2 * math.prod(sides))


def _adapter_name(adapter: Adapter, index: int) -> str:
    return adapter.name or f"adapter {index + 1}"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Named:
    """A region with what it is called, and whether it lies at the outside of its section."""

    name: str
    region: Region
    outside: bool

    @property
    def key(self) -> tuple[str, str]:
        return self.name, self.region.material.name


def _named(job: Job, section: SectionModel) -> tuple[_Named, ...]:
    """A section's regions by what they are called."""
    outline = outer_shape(section.regions).exterior
    recipe = job.mast.section
    lined = [c.material for c in recipe.channels if c.material is not None]
    out = []
    for region in section.regions:
        outside = bool(region.polygon.exterior.distance(outline) <= TOUCH)
        if recipe.core is not None and region.material == recipe.core:
            name = "core"
        elif region.material in lined and region.material != recipe.material:
            name = "channel lining"
        elif recipe.construction is Construction.DRAWN:
            name = "mast" if outside else "insert"
        else:
            name = "mast" if recipe.construction is Construction.SOLID else "mast skin"
        out.append(_Named(name=name, region=region, outside=outside))
    return tuple(out)


def _section_parts(sections: Sequence[Sequence[_Named]], length: float) -> dict[tuple[str, str], Part]:
    """The parts by name and material; surface: mean perimeter over the sections times the length."""
    materials: dict[tuple[str, str], Material] = {}
    around: dict[tuple[str, str], float] = {}
    for r in (r for section in sections for r in section):
        materials[r.key] = r.region.material
        around[r.key] = around.get(r.key, 0.0) + float(r.region.polygon.exterior.length)
    share = length / max(1, len(sections))
    return {key: part_of(key[0], m, around[key] * share) for key, m in materials.items()}


def _section_contacts(
    sections: Sequence[Sequence[_Named]], parts: Mapping[tuple[str, str], Part]
) -> Iterator[Contact]:
    """Touching regions of the sections as parts: skin, core, linings, inserts."""
    seen: set[frozenset[tuple[str, str]]] = set()
    for a, b in (two for section in sections for two in combinations(section, 2)):
        both = frozenset((a.key, b.key))
        apart = len(both) == 1 or both in seen
        if not apart and a.region.polygon.distance(b.region.polygon) <= TOUCH:
            seen.add(both)
            yield parts[a.key], parts[b.key]
