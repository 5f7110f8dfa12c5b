"""How a section is most likely made, and what a buildability note is."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from mastcheck.mast import Mast
from mastcheck.material import Material

BASIS = "common practice, no source"

SAME = 1e-6
"""Sizes nearer than this [m] are the same: a built polygon is on a grid and its arcs are panels."""


class Process(StrEnum):
    """How a section is most likely made."""

    EXTRUSION = "extrusion"
    MACHINING = "machining"
    LAYUP = "layup"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A remark with its basis; ``beyond`` when the number found is past that of practice.

    ``found`` and ``practice`` in SI, in ``unit`` ("" for ratios and counts), None where the note is
    words only. ``name`` says what it is about.
    """

    name: str
    text: str
    basis: str = BASIS
    found: float | None = None
    practice: float | None = None
    unit: str = ""
    beyond: bool = False


def guess_process(mast: Mast, *, hollow: bool) -> tuple[Process, str]:
    """The likely process and why, from the construction and the skin's material.

    ``hollow``: whether the section has cells.
    """
    material = mast.section.material
    group = material.galvanic_group.lower()
    if material.laminate is not None or any(s.plies for s in mast.stations):
        return Process.LAYUP, "laminated from plies"
    if group.startswith(("carbon fib", "carbon/", "graphite", "glass")) or group == "carbon":
        return Process.LAYUP, "a fibre laminate"
    # A file's own material may leave its group out: then its density tells.
    if group.startswith("alumin") or (not group and 2500 <= material.density <= 3000):
        if mast.section.core is not None:  # no die fills its cells
            return Process.OTHER, "aluminium skins on a core"
        if hollow:
            return Process.EXTRUSION, "hollow aluminium"
        if one_section(mast):
            return Process.EXTRUSION, "solid aluminium, the same all along; or machined from bar"
        return Process.MACHINING, "solid aluminium that changes along the mast"
    if group.startswith(("titan", "stainless", "steel", "carbon steel", "mild")) or (
        not group and material.density > 3000
    ):
        if mast.section.core is not None:
            return Process.OTHER, "metal skins on a core"
        return Process.MACHINING, "hollow metal, no aluminium: halves, joined" if hollow else "metal"
    if not group and 1200 <= material.density <= 2200 and material.E > 5e9:
        return Process.LAYUP, "density and stiffness of a fibre laminate"
    return Process.OTHER, f"material {material.name}"


def one_section(mast: Mast) -> bool:
    """Whether every station has the same sizes and outline, as one die gives."""
    first = mast.stations[0]
    return all(
        (s.chord, s.thickness, s.wall) == (first.chord, first.thickness, first.wall)
        and (s.outline is first.outline or s.outline == first.outline)
        for s in mast.stations
    )


def is_hard_alloy(material: Material) -> bool:
    """Whether the name holds a 2000, 5000 or 7000 series designation.

    >>> from mastcheck.source import PRACTICE
    >>> sizes = {"E": 70e9, "G": 27e9, "density": 2700.0, "source": PRACTICE}
    >>> [is_hard_alloy(Material(name=n, **sizes)) for n in ("EN AW-7075-T6", "6082-T6", "lot 72")]
    [True, False, False]
    """
    found = re.search(r"(?<!\d)([1-8])\d{3}[A-Z]?(?!\d)", material.name)
    return found is not None and found[1] in "257"


def mm(metres: float) -> str:
    """A length in millimetres, to a hundredth.

    >>> mm(0.00251)
    '2.51 mm'
    """
    return f"{round(metres * 1e3, 2) + 0.0:g} mm"
