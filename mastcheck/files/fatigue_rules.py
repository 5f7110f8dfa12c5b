"""Joint rules of [fatigue]: its load cases, and one whole curve or none."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from mastcheck.files import water_build
from mastcheck.files.parts import Parts, table
from mastcheck.files.problems import Fault, listed, nearest
from mastcheck.loadcase import STANDARD_CASES

_OWN = ("m1", "source")
"""What a curve of the file's own needs beside its strength."""


def faults(p: Parts, materials: Collection[str]) -> Iterator[Fault]:
    """Faults of the table; ``materials``: names of the shipped materials."""
    fatigue = table(p.raw.get("fatigue"))
    known = [c.name for c in STANDARD_CASES] + [c for c in p.cases if c is not None]
    known += water_build.case_names(p)
    for name in table(fatigue.get("cycles")):
        if name not in known:
            remedy = nearest(name, known, "load cases: " + listed(known))
            yield Fault(("fatigue", "cycles", name), "unknown load case", remedy)
    own, category = "delta_sigma_c" in fatigue, "detail" in fatigue
    if own and category:
        rule = "stands beside a detail category, and one curve is needed"
        yield Fault(("fatigue", "delta_sigma_c"), rule, "remove one of them")
    elif own:
        for key in _OWN:
            if key not in fatigue:
                rule = "is required with delta_sigma_c"
                remedy = "state the slope" if key == "m1" else "say where the curve comes from"
                yield Fault(("fatigue", key), rule, remedy)
    for key in ("m1", "m2", "source"):
        if key in fatigue and not own:
            rule = "belongs to a curve of the file's own"
            yield Fault(("fatigue", key), rule, "state delta_sigma_c with it, or remove it")
    for key in ("gamma", "material"):
        if key in fatigue and not own and not category:
            yield Fault(("fatigue", key), "has no curve to go with", "state detail or delta_sigma_c")
    named = fatigue.get("material")
    choice = sorted({*materials, *p.materials})
    if isinstance(named, str) and named not in choice:
        remedy = nearest(named, choice, "materials: " + listed(choice))
        yield Fault(("fatigue", "material"), "unknown material", remedy)
