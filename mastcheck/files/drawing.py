"""Sections from DXF drawings: read, checked, chained into loops and nested."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from mastcheck.drawn import Drawing, DrawnLoop
from mastcheck.files.crossings import crossing_flaws, depth_order, parents
from mastcheck.files.drawunits import INSUNITS, WIDTHS, Unit, likely_units, unit_of
from mastcheck.files.dxf import layer_name
from mastcheck.files.dxfread import content_of, document_of, refused
from mastcheck.files.limits import MOST_LOOP_POINTS
from mastcheck.files.loops import Flaw, Loop, chained
from mastcheck.files.pieces import layer_of, pieces_of
from mastcheck.files.problems import nearest
from mastcheck.material import Material
from mastcheck.units import shown

FloatArray = NDArray[np.float64]
Fill = Material | Literal["void", "ignore"] | None
_Chosen = dict[str, Material | Literal["ignore"] | None]
Nose = Literal["left", "right", "up", "down"]

CHORD_ERRORS = (1e-7, 1e-3)
"""Chord errors [m] that are taken."""

GAPS = (0.0, 1e-3)
"""Gap tolerances [m] that are taken."""

TURN: dict[str, FloatArray] = {
    "left": np.array([[1.0, 0.0], [0.0, 1.0]]),
    "right": np.array([[-1.0, 0.0], [0.0, -1.0]]),
    "up": np.array([[0.0, -1.0], [1.0, 0.0]]),
    "down": np.array([[0.0, 1.0], [-1.0, 0.0]]),
}
"""Rotations that bring the leading edge of a drawing to the left, by where it is drawn."""


def read_drawing(
    path: Path,
    *,
    label: str,
    material: Material,
    fills: Mapping[str, Fill],
    unit: float | None = None,
    nose: Nose = "left",
    chord_error: float = 5e-6,
    gap: float = 1e-5,
) -> Drawing:
    """Read a section drawn to size.

    The outermost loop bounds ``material``. A loop inside a material is a void and a loop inside a
    void is ``material`` again, unless its layer names its fill. The drawing is seen with x aft and y
    to port, that is from the tip toward the base; it is turned so that the nose points to -x, and
    never mirrored. Curves become panels inside their chord error: what bulges out loses a little.

    Args:
        path: the DXF file, in text form.
        label: its name in messages and results.
        material: of the outermost loop and of islands.
        fills: by layer name, without regard to case: a material, None or "void" for a void, "ignore"
            to leave out what lies on the layer. Other layers keep the rule above.
        unit: length of a drawing unit [m], where the drawing states none.
        nose: where the leading edge is in the drawing.
        chord_error: greatest distance between a curve and its panels [m].
        gap: greatest distance between ends that are joined, and between loops that touch [m].

    Returns:
        Loops in metres, the leading edge at x = 0 and the mid-height at y = 0.

    Raises:
        InputError: every problem of the drawing, with places in its own unit and handles.
    """
    content = content_of(path, label)
    doc = document_of(content, label)
    chosen: _Chosen = {_key(name): None if fill == "void" else fill for name, fill in fills.items()}
    known, flaws = _unit(doc, unit)
    flaws += _range_flaws(chord_error, gap) + _layer_flaws(doc, fills)
    if any(flaw.where.startswith("section.") for flaw in flaws):
        raise refused(flaws, label)
    working = known or Unit("drawing units", 1e-3)
    pieces, more = pieces_of(
        doc,
        unit=working,
        chord_error=chord_error / working.metres,
        ignored=lambda layer: chosen.get(_key(layer)) == "ignore",
        mapped=lambda layer: _key(layer) in chosen,
    )
    flaws += more
    if not pieces and not more:
        flaws.append(_empty(doc))
    if known is None or not pieces:
        if pieces and flaws and flaws[0].where == "$INSUNITS":
            flaws[0] = _with_guess(flaws[0], np.vstack([p.points for p in pieces]))
        raise refused(flaws, label)
    slack = {"gap": gap / known.metres, "same": max(gap, 2 * chord_error) / known.metres}
    loops, open_flaws = chained(pieces, unit=known, **slack)
    if (count := sum(len(loop.points) for loop in loops)) > MOST_LOOP_POINTS:
        rule = f"its loops have {count:,} points, and at most {MOST_LOOP_POINTS:,} are read"
        remedy = "state a larger chord_error, or draw the outline with fewer lines"
        raise refused([*flaws, Flaw("the drawing", rule, remedy)], label)
    loops, cross_flaws = crossing_flaws(loops, unit=known, **slack)
    turned = tuple(_turned(loop, nose) for loop in loops)
    seen = [loop.points for loop in turned] or [piece.points @ TURN[nose].T for piece in pieces]
    if size_flaws := _size_flaws(np.vstack(seen), known, from_drawing=_stated(doc) != 0, nose=nose):
        raise refused([*flaws, *size_flaws], label)  # the rest may follow from a wrong unit
    flaws += [*open_flaws, *cross_flaws]
    if cross_flaws or not loops:
        raise refused(flaws, label)
    around = parents(turned)
    flaws += _outermost_flaws(turned, around, known) if not open_flaws else []
    order = depth_order(turned, around)
    fill, fill_flaws = _fills(turned, around, order, chosen, material)
    flaws += fill_flaws
    if flaws:
        raise refused(flaws, label)
    return _drawing(turned, around, order, fill, known, label, hashlib.sha256(content).hexdigest())


def _stated(doc: Any) -> int:
    """The code of $INSUNITS, 0 where there is none."""
    code = doc.header.get("$INSUNITS", 0)
    return code if isinstance(code, int) else 0


def _unit(doc: Any, given: float | None) -> tuple[Unit | None, list[Flaw]]:
    """The drawing's unit, and what is wrong with its statement."""
    code = _stated(doc)
    if code == 0:
        if given is not None:
            return unit_of(given), []
        remedy = 'set the units in the drawing ($INSUNITS), or state unit = "mm" in the mast file'
        return None, [Flaw("$INSUNITS", "the drawing states no unit", remedy)]
    if code not in INSUNITS:
        known = ", ".join(name for name, _ in INSUNITS.values())
        rule = f"the drawing states unit code {code}; known are {known}"
        return None, [Flaw("$INSUNITS", rule, "set the units in the drawing")]
    unit = Unit(*INSUNITS[code])
    if given is not None and abs(given - unit.metres) > 1e-9 * unit.metres:
        rule = f"the drawing states {unit.name}, the mast file {unit_of(given).name}"
        return unit, [Flaw("$INSUNITS", rule, "take unit out of the mast file, or mend the drawing")]
    return unit, []


def _with_guess(flaw: Flaw, points: FloatArray) -> Flaw:
    """A missing unit, with the size that is drawn and the unit it suggests."""
    width, height = np.ptp(points, axis=0)
    likely = likely_units(float(max(width, height)))
    guess = f", which suggests {likely}" if likely else ""
    rule = f"{flaw.rule}; what is drawn is {width:.6g} x {height:.6g} units large{guess}"
    return Flaw(flaw.where, rule, flaw.remedy)


def _range_flaws(chord_error: float, gap: float) -> list[Flaw]:
    """Tolerances that cannot be meant."""
    flaws = []
    for key, value, (low, high) in (
        ("section.chord_error", chord_error, CHORD_ERRORS),
        ("section.gap_tolerance", gap, GAPS),
    ):
        if not low <= value <= high:
            rule = f"{value * 1e3:g} mm is out of range"
            flaws.append(Flaw(key, rule, f"give {low * 1e3:g} mm to {high * 1e3:g} mm"))
    return flaws


def _layer_flaws(doc: Any, fills: Mapping[str, Fill]) -> list[Flaw]:
    """Layers the mast file fills that the drawing does not have; one to ignore may be absent."""
    there = {layer_of(entity) for entity in doc.entitydb.values() if _is_drawn(entity)}
    there |= {str(layer.dxf.name) for layer in doc.layers}
    known, keys = sorted(there), {_key(name) for name in there}
    return [
        Flaw(f"section.layers.{shown(name)}", "no such layer in the drawing", nearest(name, known))
        for name, fill in fills.items()
        if fill != "ignore" and _key(name) not in keys
    ]


def _is_drawn(entity: Any) -> bool:
    from ezdxf.entities.dxfgfx import DXFGraphic

    return isinstance(entity, DXFGraphic)


def _key(layer: str) -> str:
    return layer_name(layer).casefold()


def _empty(doc: Any) -> Flaw:
    """Nothing to read in the model space."""
    paper = sum(len(doc.layout(name)) for name in doc.layout_names() if name != "Model")
    rule = "nothing is drawn in the model space, or all of it is on ignored layers"
    remedy = "move it from paper space to model space" if paper else "draw the section's outline"
    return Flaw("the drawing", rule, remedy)


def _turned(loop: Loop, nose: Nose) -> Loop:
    """The loop turned, nose to the left; it begins at its aftmost point (the upper of two)."""
    points = loop.points @ TURN[nose].T
    begin = int(np.lexsort((-points[:, 1], -points[:, 0]))[0])
    owners = loop.owners[begin:] + loop.owners[:begin]
    return Loop(points=np.roll(points, -begin, axis=0), owners=owners)


def _size_flaws(points: FloatArray, unit: Unit, *, from_drawing: bool, nose: Nose) -> list[Flaw]:
    """An outline too wide or too narrow for a mast, or that stands upright."""
    width, height = (float(v) for v in np.ptp(points, axis=0))
    low, high = WIDTHS
    if not low <= width * unit.metres <= high:
        said = "the drawing says" if from_drawing else "the mast file says"
        likely = likely_units(width)
        rule = f"{width * unit.metres:.4g} m wide" if width * unit.metres > 1 else ""
        rule = rule or f"{width * unit.metres * 1e3:.4g} mm wide"
        guess = f"it seems to be in {likely} but {said} {unit.name}" if likely else f"{said} {unit.name}"
        remedy = "set the right unit" if likely else "check the drawing's unit and scale"
        bounds = f"a mast's outline is {low * 1e3:g} mm to {high:g} m wide"
        return [Flaw("the outline", f"{rule}: {guess}; {bounds}", remedy)]
    if height > width * (1 + 1e-6):
        rule = f"is {unit.size(width, height)} with the nose to the {nose}: thicker than its chord"
        if nose in ("up", "down"):
            rule = rule.replace(f"to the {nose}", nose)
        want = '"left" or "right"' if nose in ("up", "down") else '"up" or "down"'
        return [Flaw("the outline", rule, f"state where its leading edge is drawn: nose = {want}")]
    return []


def _outermost_flaws(loops: tuple[Loop, ...], around: list[int | None], unit: Unit) -> list[Flaw]:
    """More than one loop that lies in no other."""
    outer = [loop for loop, parent in zip(loops, around, strict=True) if parent is None]
    if len(outer) < 2:
        return []
    outer.sort(key=lambda loop: -float(np.prod(np.ptp(loop.points, axis=0))))
    sizes = [f"{loop.name} ({unit.size(*np.ptp(loop.points, axis=0))})" for loop in outer[:4]]
    more = f" and {len(outer) - 4} more" if len(outer) > 4 else ""
    rule = f"{len(outer)} loops lie in no other; a section has one outline: {', '.join(sizes)}{more}"
    return [Flaw("the drawing", rule, 'delete the others, or put them on a layer with "ignore"')]


def _fills(
    loops: tuple[Loop, ...],
    around: list[int | None],
    order: list[int],
    chosen: _Chosen,
    material: Material,
) -> tuple[list[Material | None], list[Flaw]]:
    """What each loop is filled with, outermost first, and loops that cannot be told."""
    fill: list[Material | None] = [None] * len(loops)
    flaws = []
    for k in order:
        loop, parent = loops[k], around[k]
        inside = fill[parent] if parent is not None else None
        named = {_key(layer): layer for layer in loop.layers}
        stated = [chosen[key] for key in named if key in chosen]
        by_rule = material if inside is None else None
        kinds = [f for f in stated if f != "ignore"] + ([by_rule] if len(stated) < len(named) else [])
        if any(f is not kinds[0] and f != kinds[0] for f in kinds):
            layers = ", ".join(shown(layer) for layer in loop.layers)
            rule = f"one loop lies on layers that are filled differently: {layers}"
            flaws.append(Flaw(loop.name, rule, "put the whole loop on one layer"))
        fill[k] = kinds[0]
        if fill[k] is None and inside is None:
            where = (
                "the outermost loop" if parent is None else f"a loop in the void {loops[parent].name}"
            )
            rule = f"{where} is a void by its layer {shown(loop.layers[0])}"
            flaws.append(Flaw(loop.name, rule, "put it on a layer of its material, or delete it"))
    return fill, flaws


def _drawing(
    loops: tuple[Loop, ...],
    around: list[int | None],
    order: list[int],
    fill: list[Material | None],
    unit: Unit,
    label: str,
    sha256: str,
) -> Drawing:
    """The loops in metres, moved to the axes of a section and numbered in order."""
    outline = loops[order[0]].points
    low, high = outline.min(axis=0), outline.max(axis=0)
    origin = np.array([low[0], (low[1] + high[1]) / 2])
    rank = {k: place for place, k in enumerate(order)}
    drawn = []
    for k in order:
        points = (loops[k].points - origin) * unit.metres
        points.setflags(write=False)
        parent = around[k]
        drawn.append(
            DrawnLoop(
                points=points,
                parent=None if parent is None else rank[parent],
                fill=fill[k],
                layer=loops[k].layers[0],
            )
        )
    chord, thickness = (float(v) for v in (high - low) * unit.metres)
    return Drawing(loops=tuple(drawn), chord=chord, thickness=thickness, file=label, sha256=sha256)
