"""Rules of plies and laminas that join several keys."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from typing import Any

from mastcheck.files.limits import MOST_PLIES
from mastcheck.files.locate import Place
from mastcheck.files.parts import Part, Parts, mm
from mastcheck.files.problems import Fault
from mastcheck.mast import Construction, Zone

STRENGTHS = ("Xt", "Xc", "Yt", "Yc", "S12")
_LAMINATE_KEYS = ("symmetric_plies", "repeat_plies", "nose_to", "tail_from", "knock_down")
SKIN = (Zone.NOSE, Zone.FACES, Zone.TAIL)
_CALLED = {Zone.NOSE: "nose has", Zone.FACES: "faces have", Zone.TAIL: "tail has"}


def faults(p: Parts) -> Iterator[Fault]:
    """All faults of the plies and of the file's own laminas, but for unknown names."""
    yield from _laminas(p)
    if not p.laminated:
        for key in p.has_in_section(*_LAMINATE_KEYS):
            remedy = "remove it, or add [[section.ply]] tables"
            yield Fault(("section", key), "has no effect without plies", remedy)
        return
    if p.section["construction"] in (Construction.SOLID, Construction.DRAWN):
        return  # plies have no place there at all
    nose_to, tail_from = (_or(p.section[key], d) for key, d in (("nose_to", 0.10), ("tail_from", 0.85)))
    if nose_to >= tail_from:
        place = next(iter(p.has_in_section("nose_to", "tail_from")), "nose_to")
        rule = f"leaves no faces: the nose ends at {nose_to:g} and the tail starts at {tail_from:g}"
        yield Fault(("section", place), rule, "keep nose_to below tail_from")
    for i, ply in enumerate(p.plies):
        yield from _ply(p, i, ply)
    yield from _stack(p)


def _ply(p: Parts, i: int, ply: Part) -> Iterator[Fault]:
    """Keys of one ply."""
    place: Place = ("section", "ply", i)
    angle, code = p.has(*place, "angle"), p.has(*place, "layup")
    if angle and code:
        rule = "exactly one of angle and layup is needed, both are given"
        yield Fault((*place, "layup"), rule, "remove one of them")
    if not angle and not code:
        remedy = 'add angle = "45 deg", or layup = "[0/±45]"'
        yield Fault((*place, "angle"), "exactly one of angle and layup is needed", remedy)
    thickness, stations = ply["thickness"], len(p.stations)
    if isinstance(thickness, tuple):
        if len(thickness) != stations:
            rule = f"has {len(thickness)} entries, and the mast has {stations} stations"
            remedy = 'give one for each station, base to tip, "0 mm" where the ply is dropped'
            yield Fault((*place, "thickness"), rule, remedy)
        elif not any(thickness):
            yield Fault((*place, "thickness"), "is nil at every station", "remove the ply, or mend it")


def _stack(p: Parts) -> Iterator[Fault]:
    """The plies together: how many, in every zone, and room for them."""
    repeats = _or(p.section["repeat_plies"], 1) * (2 if p.section["symmetric_plies"] else 1)
    counts = [_or(ply["count"], 1) * len(ply["layup"] or (0.0,)) * repeats for ply in p.plies]
    if sum(counts) > MOST_PLIES:
        rule = f"stands for {sum(counts)} plies, and at most {MOST_PLIES} are read"
        remedy = "check count, layup, repeat_plies and symmetric_plies"
        yield Fault(("section", "ply"), rule, remedy)
        return
    unread = any(_unreadable(p, i, "region") for i in range(len(p.plies)))
    for_webs = any(Zone.WEBS in (ply["region"] or ()) for ply in p.plies)
    if p.has("section", "webs") and not for_webs and not unread:
        yield Fault(("section", "webs"), "the webs have no ply", 'add a ply with region = "webs"')
    if not p.has("section", "webs"):
        for i, ply in enumerate(p.plies):
            if Zone.WEBS in (ply["region"] or ()):
                remedy = 'add webs = [{ at = 0.30 }], or remove "webs"'
                yield Fault(("section", "ply", i, "region"), "there is no web for it", remedy)
    if unread or any(ply["thickness"] is None for ply in p.plies):
        return
    yield from _zones(p, counts)


def _zones(p: Parts, counts: list[int]) -> Iterator[Fault]:
    """Every zone has a ply at every station, and the faces leave a hollow."""
    webs = [Zone.WEBS] if p.has("section", "webs") else []
    for zone in (*SKIN, *webs):
        own = [
            (ply, n) for ply, n in zip(p.plies, counts, strict=True) if zone in _or(ply["region"], SKIN)
        ]
        if not own:
            if zone is not Zone.WEBS:  # said above
                remedy = f'give a ply region = "skin" (nose, faces and tail), or one with "{zone}"'
                yield Fault(("section", "ply"), f"the {_CALLED[zone]} no ply", remedy)
            continue
        for i, station in enumerate(p.stations):
            thickness = sum(_at_station(ply["thickness"], i) * n for ply, n in own)
            if thickness == 0:
                called = _CALLED.get(zone, "webs have")
                rule = f"the {called} no ply left at mast.station[{i}]"
                yield Fault(("section", "ply"), rule, "let one ply of it run through")
                break
            whole = station["thickness"]
            if zone is Zone.FACES and whole is not None and thickness >= whole / 2:
                rule = (
                    f"leaves nothing hollow: the plies of the faces are {mm(thickness)} thick, and must"
                    f" be less than half the thickness of mast.station[{i}], {mm(whole / 2)}"
                )
                yield Fault(("section", "ply"), rule, "take plies out, or drop them toward the tip")
                break


def _at_station(thickness: float | tuple[float, ...], i: int) -> float:
    """Thickness [m] of a ply at a station; a list of another length is reported apart."""
    if isinstance(thickness, tuple):
        return thickness[i] if i < len(thickness) else math.nan
    return thickness


def _unreadable(p: Parts, i: int, key: str) -> bool:
    return p.has("section", "ply", i, key) and p.plies[i][key] is None


def _laminas(p: Parts) -> Iterator[Fault]:
    """The file's own laminas: strengths all or none, constants that a ply can have."""
    for name, m in p.laminas.items():
        place: Place = ("lamina", name)
        given = [key for key in STRENGTHS if p.has(*place, key)]
        if given and len(given) < len(STRENGTHS):
            absent = [key for key in STRENGTHS if key not in given]
            rule = f"all five strengths are needed, or none: {', '.join(absent)} not given"
            yield Fault((*place, absent[0]), rule, f"add {', '.join(absent)}, or remove the others")
        E1, E2, nu12 = m["E1"], m["E2"], m["nu12"]
        if E1 is None or E2 is None:
            continue
        if E1 < E2:
            rule = "must not be above E1: 1 runs along the fibres"
            yield Fault((*place, "E2"), rule, "check which is which")
        elif nu12 is not None and abs(nu12) >= math.sqrt(E1 / E2):
            bound = math.sqrt(E1 / E2)
            rule = f"must be nearer to nil than the root of E1/E2, {bound:.4g}: no material can pass it"
            yield Fault((*place, "nu12"), rule, "give the strain across for a pull along the fibres")


def unknown_laminas(p: Parts, laminas: Collection[str], materials: Collection[str]) -> Iterator[Fault]:
    """Plies of a material that is no known lamina."""
    from mastcheck.files.problems import listed, nearest

    known = sorted({*laminas, *p.laminas})
    for i, ply in enumerate(p.plies):
        name = ply["material"]
        if name is None or name in known:
            continue
        place: Place = ("section", "ply", i, "material")
        if name in materials or name in p.materials:
            rule = "is a material, and a ply needs a lamina (E1, E2, G12)"
            remedy = f"write a [lamina.NAME] table, or one of: {listed(known)}"
        else:
            rule = "unknown lamina"
            remedy = nearest(name, known, f"write a [lamina.NAME] table, or one of: {listed(known)}")
        yield Fault(place, rule, remedy)


def _or(value: Any, default: Any) -> Any:
    return default if value is None else value
