"""Rules of the mast file's joints that join several keys."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

import numpy as np

from mastcheck.files.joint_schema import TERMS, AdapterTable, BaseJointTable, BoltsTable, TipJointTable
from mastcheck.files.locate import Place
from mastcheck.files.parts import Part, Parts, items, mm, read_part, table
from mastcheck.files.problems import Fault, listed, nearest

_FITTED = (
    "engagement", "contact_stiffness", "contact_stiffness_fore_aft", "chord", "clearance",
    "clearance_fore_aft", "axial_stiffness",
)  # fmt: skip
_GIVEN = (*TERMS, "compliance")
_KINDS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "bolted-plate": (("bolts",), ("bolts",)),
    "flange": (("bolts",), ("bolts", "loose_screw")),
    "wedged-head": (("engagement", "contact_stiffness"), (*_FITTED, "bolts")),
    "socket": (("engagement", "contact_stiffness"), (*_FITTED, "bolts", "loose_screw")),
    "given": ((), _GIVEN),
    "one-piece": ((), ()),
}
"""Keys that each kind needs, and those that it may have."""


def faults(p: Parts, materials: Collection[str]) -> Iterator[Fault]:
    """All faults of the joints. ``materials``: names of the shipped materials."""
    known = sorted({*materials, *p.materials})
    for key, model in (("base_joint", BaseJointTable), ("tip_joint", TipJointTable)):
        raw = table(p.raw.get(key))
        if raw:
            yield from _joint((key,), raw, read_part(model, raw), known)
    adapters = [table(raw) for raw in items(p.raw.get("adapter"))]
    for i, raw in enumerate(adapters):
        yield from _adapter(("adapter", i), raw, known)
    yield from _names(adapters)


def _names(adapters: list[Mapping[str, Any]]) -> Iterator[Fault]:
    """Parts are told apart by their names: no two alike, and none that another part bears."""
    taken = {"blade", "base joint", "tip joint"}
    for i, raw in enumerate(adapters):
        stated = read_part(AdapterTable, raw)["name"]
        name = stated or f"adapter {i + 1}"
        if {name, f"{name} bolts"} & taken:
            place: Place = ("adapter", i, "name")
            yield Fault(place, f'"{name}" is the name of another part', "give each adapter its own name")
        taken |= {name, f"{name} bolts"}


def _joint(place: Place, raw: Mapping[str, Any], read: Part, known: Collection[str]) -> Iterator[Fault]:
    kind = read["kind"]
    if kind is None:
        return
    needed, may = _KINDS[kind]
    for key in needed:
        if key not in raw:
            yield Fault((*place, key), f'is required where kind is "{kind}"', _add(key, place))
    for key in raw:
        if key in read and key != "kind" and key not in may:
            yield Fault(
                (*place, key), f'does not belong to kind "{kind}"', "remove it, or change the kind"
            )
    if kind == "given":
        yield from _given(place, raw, read)
    if raw.get("loose_screw") is True and "bolts" not in raw:
        yield Fault((*place, "loose_screw"), "there is no screw to be loose", _add("bolts", place))
    if "bolts" in raw and "bolts" in may:
        yield from _bolts((*place, "bolts"), table(raw["bolts"]), known)
        held = read_part(BoltsTable, table(raw["bolts"]))
        if kind == "flange" and raw.get("loose_screw") is True and _count(held) == 1:
            rule = "the only screw is loose: nothing would hold the foil"
            yield Fault((*place, "loose_screw"), rule, "remove it, or state more bolts")


def _given(place: Place, raw: Mapping[str, Any], read: Part) -> Iterator[Fault]:
    """Six stiffnesses or a compliance, which gives back no more work than it was given."""
    terms = [key for key in TERMS if key in raw]
    if "compliance" in raw and terms:
        rule = "stands beside the compliance, and one of the two is needed"
        yield Fault((*place, terms[0]), rule, "remove one of them")
    elif "compliance" not in raw and not terms:
        yield Fault(place, "states no stiffness", f"state {', '.join(TERMS)}, or compliance")
    if read["compliance"] is None:
        return
    c = np.array(read["compliance"])
    size = np.sqrt(np.abs(np.outer(np.diag(c), np.diag(c))))
    if (np.abs(c - c.T) > 1e-6 * np.maximum(size, 1e-30)).any():
        yield Fault((*place, "compliance"), "must be symmetric", "check rows against columns")
    else:
        least = float(np.linalg.eigvalsh(_scaled(c)).min())
        if least < -1e-9:
            yield Fault(
                (*place, "compliance"), "would give out work", "check its signs; order Fx Fy Fz Mx My Mz"
            )


def _scaled(c: np.ndarray) -> np.ndarray:
    """With a unit diagonal, so that m/N and rad/N m compare."""
    root = np.sqrt(np.abs(np.diag(c)))
    by = np.where(root > 0, root, 1.0)
    out: np.ndarray = c / np.outer(by, by)
    return out


def _adapter(place: Place, raw: Mapping[str, Any], known: Collection[str]) -> Iterator[Fault]:
    read = read_part(AdapterTable, raw)
    given = [key for key in _GIVEN if key in raw]
    sizes = {"rectangular": ("along", "across"), "round": ("diameter",)}
    bar = [key for key in ("section", "along", "across", "diameter", "material") if key in raw]
    if given and bar:
        rule = "stands beside a given stiffness, and one of the two is needed"
        yield Fault((*place, bar[0]), rule, "remove one of them")
    elif given:
        yield from _given(place, raw, read)
    elif "section" not in raw:
        rule = "states neither a section nor a stiffness"
        yield Fault(place, rule, 'state section = "rectangular", along, across and material')
    elif read["section"] is not None:
        needed = (*sizes[read["section"]], "material")
        for key in needed:
            if key not in raw:
                yield Fault(
                    (*place, key), f"is required for a {read['section']} section", _add(key, place)
                )
        for key in bar:
            if key not in (*needed, "section"):
                yield Fault(
                    (*place, key), f"does not belong to a {read['section']} section", "remove it"
                )
    if read["material"] is not None:
        yield from _material((*place, "material"), read["material"], known)
    if "bolts" in raw:
        yield from _bolts((*place, "bolts"), table(raw["bolts"]), known)


def _bolts(place: Place, raw: Mapping[str, Any], known: Collection[str]) -> Iterator[Fault]:
    read = read_part(BoltsTable, raw)
    yield from _pattern(place, raw, read)
    if "preload" in raw and "torque" in raw:
        yield Fault(
            (*place, "preload"), "stands beside a torque, and one is needed", "remove one of them"
        )
    for key in ("friction", "scatter"):
        if key in raw and "preload" not in raw and "torque" not in raw:
            yield Fault((*place, key), "has no torque or preload to go with", "state torque or preload")
    for key in ("plate_material", "thread_material"):
        if read[key] is not None:
            yield from _material((*place, key), read[key], known)
    for key, other in (
        ("thread_engagement", "thread_material"), ("thread_material", "thread_engagement")
    ):  # fmt: skip
        if key in raw and other not in raw:
            yield Fault((*place, key), f"needs {other} as well", _add(other, place))
    yield from _hole(place, read)


def _hole(place: Place, read: Part) -> Iterator[Fault]:
    """Bolt in hole, hole under head, hole within the plate."""
    from mastcheck.files.bolt_data import threads

    thread = threads().get(read["size"] or "")
    if thread is None:
        return
    hole = read["hole"] or thread.hole
    if hole <= thread.diameter:
        rule = f"must be more than the bolt, {mm(thread.diameter)}"
        yield Fault((*place, "hole"), rule, "state the diameter of the hole in the plate")
    usual = 2 * thread.diameter if read["head"] == "countersunk" else thread.head_diameter
    if (read["head_diameter"] or usual) <= hole * 1.02:
        key = "head_diameter" if read["head_diameter"] is not None else "hole"
        yield Fault((*place, key), "the head would pass through the hole", "check both diameters")
    edge = read["edge_distance"]
    if edge is not None and edge <= hole / 2:
        rule = f"must be more than half the hole, {mm(hole / 2)}"
        yield Fault((*place, "edge_distance"), rule, "measure from the centre of the hole")


def _pattern(place: Place, raw: Mapping[str, Any], read: Part) -> Iterator[Fault]:
    grid = [key for key in ("rows", "columns") if key in raw]
    if "positions" in raw and grid:
        yield Fault(
            (*place, grid[0]), "stands beside positions, and one is needed", "remove one of them"
        )
    elif "positions" not in raw and len(grid) < 2:
        missing = next(key for key in ("positions", "rows", "columns") if key not in raw)
        rule = "the bolts' places are needed" if not grid else f"{grid[0]} needs the other as well"
        remedy = "state positions, or rows (places along x) and columns (along y)"
        yield Fault((*place, grid[0] if grid else missing), rule, remedy)
    at = pattern(read)
    for i, a in enumerate(at):
        for b in at[:i]:
            if np.hypot(a[0] - b[0], a[1] - b[1]) < 1e-3:
                key = "positions" if "positions" in raw else grid[0]
                yield Fault((*place, key), "two bolts stand in one place", "check the places")
                return


def pattern(read: Mapping[str, Any]) -> tuple[tuple[float, float], ...]:
    """Places of the bolts ((x, y), ...) [m]: as listed, or where rows and columns cross."""
    if read["positions"] is not None:
        return tuple(read["positions"])
    return tuple((x, y) for x in read["rows"] or () for y in read["columns"] or ())


def _count(read: Part) -> int:
    return len(pattern(read))


def _material(place: Place, name: str, known: Collection[str]) -> Iterator[Fault]:
    if name not in known:
        remedy = f"write a [material.NAME] table, or one of: {listed(known)}"
        yield Fault(place, "unknown material", nearest(name, known, remedy))


def _add(key: str, place: Place) -> str:
    from mastcheck.files.problems import key_text

    return f"add a [{key_text(place)}.bolts] table" if key == "bolts" else f"add {key}"
