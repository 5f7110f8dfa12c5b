"""Entities of a DXF drawing as flattened pieces in drawing units, and those that cannot be."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from mastcheck.files.limits import MOST_DRAWN
from mastcheck.files.loops import Flaw, FloatArray, Piece
from mastcheck.units import shown

if TYPE_CHECKING:
    from mastcheck.files.drawunits import Unit

TEXTS = frozenset(("TEXT", "MTEXT", "RTEXT", "ATTDEF", "ATTRIB", "ACAD_TABLE", "TOLERANCE"))
DIMENSIONS = frozenset(("DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION"))
POINTERS = frozenset(("LEADER", "MULTILEADER", "MLEADER", "POINT", "HATCH", "MPOLYGON", "VIEWPORT"))
ANNOTATION = TEXTS | DIMENSIONS | POINTERS
"""Entities that describe a drawing and bound nothing: left out."""

LARGEST_POINTS = 200_000
"""Points of a flattened drawing."""

LARGEST_DEPTH = 8
"""Blocks within blocks."""

LARGEST_COORDINATE = 1e9
"""Drawing units."""

_LEAST_ARC_PANELS = 16  # of a full circle, however coarse the chord error


class _TooLargeError(Exception):
    """The drawing is larger than is read."""


@dataclass(slots=True)
class _Reader:
    """What the walk through the drawing collects."""

    doc: Any
    unit: Unit
    chord_error: float
    ignored: Callable[[str], bool]
    mapped: Callable[[str], bool]
    pieces: list[Piece] = field(default_factory=list)
    flaws: list[Flaw] = field(default_factory=list)
    hidden: dict[str, int] = field(default_factory=dict)
    count: int = 0
    points: int = 0


def pieces_of(
    doc: Any,
    *,
    unit: Unit,
    chord_error: float,
    ignored: Callable[[str], bool],
    mapped: Callable[[str], bool],
) -> tuple[list[Piece], list[Flaw]]:
    """Every drawn line of the model space, flattened, in drawing units.

    Args:
        doc: the ezdxf document.
        unit: the drawing's unit, for messages.
        chord_error: greatest distance between a curve and its panels [drawing units].
        ignored: whether a layer is left out.
        mapped: whether the mast file speaks of a layer, which is then read even if hidden.

    Returns:
        Pieces, and what is neither a piece nor an annotation.
    """
    reader = _Reader(doc, unit, chord_error, ignored, mapped)
    try:
        for entity in doc.modelspace():
            _take(reader, entity, "", "", 0)
    except _TooLargeError as error:
        remedy = "keep only the section's outline in the file"
        reader.flaws.append(Flaw("the drawing", str(error), remedy))
    reader.flaws += [
        Flaw(
            f"layer {shown(layer)}",
            f"is off, frozen or invisible, but {count} drawn entities lie on it",
            f'turn it on, or write {shown(layer)} = "ignore" under [section.layers]',
        )
        for layer, count in sorted(reader.hidden.items())
    ]
    return reader.pieces, reader.flaws


def _take(reader: _Reader, entity: Any, inherited: str, where: str, depth: int) -> None:
    """Read one entity; what is in a block on layer 0 lies on the block reference's layer."""
    reader.count += 1
    if reader.count > MOST_DRAWN:
        raise _TooLargeError(f"has more than {MOST_DRAWN:,} entities, blocks taken apart")
    kind = entity.dxftype()
    layer = layer_of(entity)
    layer = inherited if inherited and layer == "0" else layer
    if kind in ANNOTATION or reader.ignored(layer):
        return
    if _is_hidden(reader, entity, layer):
        reader.hidden[layer] = reader.hidden.get(layer, 0) + 1
        return
    name = _name(entity, kind) + where
    if kind == "INSERT":
        _take_block(reader, entity, name, layer, depth)
        return
    try:
        parts = list(_flattened(entity, kind, reader.chord_error))
    except (ValueError, TypeError, ArithmeticError, IndexError, AttributeError) as error:
        reader.flaws.append(_flaw(name, layer, f"cannot be read ({error})", "draw it again"))
        return
    if not parts:
        reader.flaws.append(_stray(reader.unit, entity, name, layer))
    for part in parts:
        _keep(reader, part, name, layer)


def _keep(reader: _Reader, points: FloatArray, name: str, layer: str) -> None:
    """Keep a flattened part, if it is a line in the drawing's plane."""
    reader.points += len(points)
    if reader.points > LARGEST_POINTS:
        raise _TooLargeError(f"has more than {LARGEST_POINTS:,} points at this chord error")
    if not len(points) or not np.isfinite(points).all() or np.abs(points).max() > LARGEST_COORDINATE:
        reader.flaws.append(_flaw(name, layer, "has a coordinate that is no number", "draw it again"))
        return
    if float(np.ptp(points[:, 2])) > max(reader.chord_error, 1e-9):
        low, high = (reader.unit.length(z) for z in (points[:, 2].min(), points[:, 2].max()))
        rule = f"leaves the drawing's plane (z from {low} to {high})"
        reader.flaws.append(_flaw(name, layer, rule, "flatten it to z = 0"))
        return
    reader.pieces.append(Piece(name=name, layer=layer, points=points[:, :2].copy()))


def _take_block(reader: _Reader, insert: Any, name: str, layer: str, depth: int) -> None:
    """Read a block reference's content where it is placed, all rows and columns of it."""
    block = insert.block()
    title = shown(str(insert.dxf.get("name", "")))
    if depth >= LARGEST_DEPTH:
        rule = f"blocks lie more than {LARGEST_DEPTH} deep in each other"
        reader.flaws.append(_flaw(name, layer, rule, "explode them"))
        return
    if block is None or block.block is None or block.block.is_xref:
        rule = f"block {title} is not in the file"
        reader.flaws.append(_flaw(name, layer, rule, "bind or insert it in the drawing"))
        return
    if insert.mcount > MOST_DRAWN:
        raise _TooLargeError(f"has more than {MOST_DRAWN:,} entities, blocks taken apart")
    skipped: list[str] = []

    def note(entity: Any, why: str) -> None:
        """Keep the library's own words for what it cannot transform, so that none is dropped unsaid."""
        skipped.append(f"{entity}: {why}")

    top = name.split(" in block ")[0] if not depth else name.rsplit(" of ", 1)[-1]
    copies = insert.multi_insert() if insert.mcount > 1 else [insert]
    for copy in copies:
        for entity in copy.virtual_entities(skipped_entity_callback=note):
            _take(reader, entity, layer, f" in block {title} of {top}", depth + 1)
    reader.flaws += [
        _flaw(name, layer, f"block {title} holds what cannot be placed, {text}", "explode the block")
        for text in dict.fromkeys(skipped)
    ]


def layer_of(entity: Any) -> str:
    """An entity's layer; the library keeps none for a kind it does not know."""
    return str(entity.dxf.get("layer", "0")) if entity.dxf.hasattr("layer") else "0"


def _is_hidden(reader: _Reader, entity: Any, layer: str) -> bool:
    """Whether a CAD program would not show it; a layer the mast file names is read all the same."""
    if reader.mapped(layer):
        return False
    if entity.dxf.hasattr("invisible") and entity.dxf.get("invisible"):
        return True
    if not reader.doc.layers.has_entry(layer):
        return False
    entry = reader.doc.layers.get(layer)
    return bool(entry.is_off() or entry.is_frozen())


def _name(entity: Any, kind: str) -> str:
    """Type and handle, those of the original for what is in a block."""
    handle = entity.dxf.get("handle")
    if handle is None and (origin := entity.origin_of_copy) is not None:
        handle = origin.dxf.get("handle")
    return f"{kind} {handle or '(no handle)'}"


def _flaw(name: str, layer: str, rule: str, remedy: str) -> Flaw:
    return Flaw(f"{name} on layer {shown(layer)}", rule, remedy)


def _stray(unit: Unit, entity: Any, name: str, layer: str) -> Flaw:
    """An entity of a kind that cannot be part of an outline."""
    place = ""
    for key in ("insert", "start", "center", "location", "vtx0"):
        if entity.dxf.hasattr(key):
            at = entity.dxf.get(key)
            place = f" at {unit.place((at[0], at[1]))}"
            break
    remedy = "delete it or draw it as lines and arcs"
    remedy += f', or write {shown(layer)} = "ignore" under [section.layers] if nothing else lies there'
    return _flaw(name, layer, f"is not a line or curve that can bound a section{place}", remedy)


def _flattened(entity: Any, kind: str, error: float) -> Iterator[FloatArray]:
    """Points (n, 3) of a drawn line in world axes; nothing for what is no line."""
    match kind:
        case "LINE":
            yield _array([entity.dxf.start, entity.dxf.end])
        case "ARC":
            start, end = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
            sweep = (end - start) % math.tau or math.tau
            yield _in_world(entity, _circular(entity.dxf.center, entity.dxf.radius, start, sweep, error))
        case "CIRCLE":
            circle = _circular(entity.dxf.center, entity.dxf.radius, 0.0, math.tau, error)
            yield _in_world(entity, circle)
        case "ELLIPSE":
            # Asked first, since the library would make the points of a vast one, one by one.
            _angles(float(entity.dxf.major_axis.magnitude), 0.0, math.tau, error)
            yield _array(entity.flattening(error, segments=_LEAST_ARC_PANELS))
        case "SPLINE":
            yield _spline(entity, error)
        case "LWPOLYLINE":
            vertices = [(x, y, entity.dxf.elevation, b) for x, y, b in entity.get_points("xyb")]
            yield _in_world(entity, _bulged(vertices, entity.closed, error))
        case "POLYLINE" if entity.is_2d_polyline or entity.is_3d_polyline:
            # Bit 16 of a vertex marks the frame of a fitted spline, which is not on the line.
            kept = [v for v in entity.vertices if not v.dxf.flags & 16]
            vertices = [(*v.dxf.location.xyz, v.dxf.get("bulge", 0.0)) for v in kept]
            points = _bulged(vertices, entity.is_closed, error)
            yield _in_world(entity, points) if entity.is_2d_polyline else points


def _array(points: Any) -> FloatArray:
    return np.array([tuple(p) for p in points], float).reshape(-1, 3)


def _in_world(entity: Any, points: FloatArray) -> FloatArray:
    """From an entity's own plane (which may look at the drawing from behind) to world axes."""
    ocs = entity.ocs()
    return _array(ocs.points_to_wcs(points.tolist())) if ocs.transform else points


def _check_numbers(numbers: Sequence[float]) -> None:
    """Refuse what would overflow on the way to a point.

    Raises: ValueError, which is told of the entity.
    """
    if not all(abs(number) <= LARGEST_COORDINATE for number in numbers):  # false of NaN too
        raise ValueError(f"a number of it is beyond {LARGEST_COORDINATE:g}, or is none")


def _angles(radius: float, start: float, sweep: float, error: float) -> FloatArray:
    """Angles [rad] of an arc's points, of sagitta at most ``error``; the quarters are among them.

    So the drawn width and height are exact where an arc bounds them.
    """
    _check_numbers((radius, start, sweep))
    step = 2 * math.acos(max(-1.0, 1 - error / radius)) if radius > 0 else math.tau
    step = min(step, math.tau / _LEAST_ARC_PANELS)
    low, high = sorted((start, start + sweep))
    if high - low > step * LARGEST_POINTS:
        raise _TooLargeError(f"has more than {LARGEST_POINTS:,} points at this chord error")
    quarter = math.pi / 2
    first, last = math.ceil(low / quarter), math.floor(high / quarter)
    inner = [k * quarter for k in range(first, last + 1) if low + 1e-9 < k * quarter < high - 1e-9]
    runs = [
        np.linspace(a, b, max(1, math.ceil((b - a) / step - 1e-9)) + 1)[:-1]
        for a, b in pairwise([low, *inner, high])
    ]
    angles = np.append(np.concatenate(runs), high)
    return angles if sweep > 0 else angles[::-1]


def _circular(center: Any, radius: float, start: float, sweep: float, error: float) -> FloatArray:
    """A circle's arc (n, 3) in its own plane; a full circle ends at its first point exactly."""
    radius = abs(radius)
    angles = _angles(radius, start, sweep, error)
    if sweep == math.tau:
        angles[-1] = angles[0]
    ring = np.column_stack((np.cos(angles), np.sin(angles), np.zeros(len(angles))))
    return np.asarray(tuple(center) + radius * ring)


def _bulged(vertices: Sequence[tuple[float, ...]], closed: bool, error: float) -> FloatArray:
    """A polyline (n, 3) from (x, y, z, bulge): bulge is the tangent of a quarter of an arc's angle."""
    _check_numbers([number for vertex in vertices for number in vertex])
    points: list[tuple[float, float, float]] = []
    ring = [*vertices, vertices[0]] if closed and vertices else vertices
    for (x0, y0, z, bulge), (x1, y1, _, _) in pairwise(ring):
        points.append((x0, y0, z))
        dx, dy = x1 - x0, y1 - y0
        if not bulge or not (dx or dy):
            continue
        sweep = 4 * math.atan(bulge)
        lean = (1 - bulge**2) / (4 * bulge)  # centre's distance from the chord, over the chord
        cx, cy = (x0 + x1) / 2 - lean * dy, (y0 + y1) / 2 + lean * dx
        radius, start = math.hypot(x0 - cx, y0 - cy), math.atan2(y0 - cy, x0 - cx)
        angles = _angles(radius, start, sweep, error)[1:-1]
        points += [(cx + radius * math.cos(a), cy + radius * math.sin(a), z) for a in angles]
    return _array([*points, ring[-1][:3]]) if ring else np.empty((0, 3))


def _spline(entity: Any, error: float) -> FloatArray:
    """A B-spline, rational or not, over its own range of knots only.

    The drawing library evaluates a periodic spline's outer knots too, which are not on the curve.
    """
    from scipy.interpolate import BSpline

    tool = entity.construction_tool()
    degree = tool.order - 1
    knots = np.array(tool.knots(), float)
    control = _array(tool.control_points)
    weights = np.array(tool.weights(), float)
    weights = weights if len(weights) else np.ones(len(control))
    if len(knots) != len(control) + degree + 1 or (weights <= 0).any() or (np.diff(knots) < 0).any():
        raise ValueError("its knots and weights do not fit its control points")
    breaks = np.unique(knots[degree : len(control) + 1])
    if len(breaks) < 2:
        raise ValueError("its knots span nothing")
    curve = BSpline(knots, np.column_stack((control * weights[:, None], weights)), degree)

    def at(t: FloatArray) -> FloatArray:
        homogeneous = curve(t)
        return np.asarray(homogeneous[:, :3] / homogeneous[:, 3:])

    t = np.unique(np.concatenate([np.linspace(a, b, 5) for a, b in pairwise(breaks)]))
    while len(t) <= LARGEST_POINTS:
        points, step = at(t), np.diff(t)
        # Quarter points too: the middle of an S lies on its chord.
        between = [_off_chord(points, at(t[:-1] + q * step)) for q in (0.25, 0.5, 0.75)]
        off = np.max(between, axis=0) > error
        if not off.any():
            return points
        t = np.sort(np.concatenate((t, (t[:-1] + step / 2)[off])))
    raise _TooLargeError(f"has more than {LARGEST_POINTS:,} points at this chord error")


def _off_chord(points: FloatArray, middle: FloatArray) -> FloatArray:
    """Distance of a point of the curve from the panel it lies over, for each panel."""
    along = points[1:] - points[:-1]
    length = np.linalg.norm(along, axis=1)
    off = middle - points[:-1]
    cross = np.linalg.norm(np.cross(along, off), axis=1)
    short = length <= 0
    return np.asarray(np.where(short, np.linalg.norm(off, axis=1), cross / np.where(short, 1, length)))
