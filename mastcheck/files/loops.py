"""Pieces of a drawing chained into closed loops, and what keeps them from closing.

Only the ends of pieces are joined: a piece that ends on the middle of another is a fault.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from mastcheck.files.drawunits import Unit
from mastcheck.units import shown

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

NAMES_SHOWN = 4
"""Entities named in one message."""


CHAINS_SHOWN = 20
"""Open loops told in full."""

COINCIDENT = 0.05
"""Share of the gap tolerance within which ends are taken as drawn at one place."""


@dataclass(frozen=True, slots=True)
class Flaw:
    """A fault of a drawing: the entities it is about, what is wrong and where, how to mend it."""

    where: str
    rule: str
    remedy: str = ""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Piece:
    """A flattened entity: points (n, 2) in drawing units, its type and handle, its layer."""

    name: str
    layer: str
    points: FloatArray


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Loop:
    """A closed ring (n, 2) in drawing units, first point not repeated, counter-clockwise.

    ``owners`` holds the piece of each panel, from its point to the next.
    """

    points: FloatArray
    owners: tuple[Piece, ...]

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Its pieces, each once, in running order."""
        return tuple(dict.fromkeys(self.owners))

    @property
    def name(self) -> str:
        """Its entities in words."""
        return named(self.pieces)

    @property
    def layers(self) -> tuple[str, ...]:
        """Layers of its pieces, sorted."""
        return tuple(sorted({p.layer for p in self.pieces}))


def named(pieces: tuple[Piece, ...]) -> str:
    """Names of pieces, the first few."""
    names = list(dict.fromkeys(p.name for p in pieces))
    more = len(names) - NAMES_SHOWN
    return ", ".join(names[:NAMES_SHOWN]) + (f" and {more} more" if more > 0 else "")


def chained(
    pieces: list[Piece], *, gap: float, same: float, unit: Unit
) -> tuple[tuple[Loop, ...], tuple[Flaw, ...]]:
    """Loops of pieces whose ends lie within ``gap`` of each other.

    Args:
        pieces: flattened entities.
        gap: greatest distance between ends that are joined, at their mean [drawing units].
        same: greatest distance between lines that are one line drawn twice [drawing units].
        unit: the drawing's unit, for messages.

    Returns:
        Loops that close, and faults: zero length, drawn twice, open, ends that are not two.
    """
    flaws: list[Flaw] = []
    lines: list[Piece] = []
    for piece in pieces:
        points = _distinct(piece.points)
        if len(points) < 2 or _length(points) < 1e-9 / unit.metres:
            rule = f"has no length, at {unit.place(piece.points[0])}"
            flaws.append(Flaw(_on_layer(piece), rule, "delete it"))
        else:
            lines.append(Piece(name=piece.name, layer=piece.layer, points=points))
    kept = []
    twins = dict(twice([p.points for p in lines], same))
    for place, piece in enumerate(lines):
        if (first := twins.get(place)) is None:
            kept.append(piece)
            continue
        at = unit.place(piece.points[0])
        rule = f"lies on {lines[first].name}: the same line is drawn twice, at {at}"
        flaws.append(Flaw(_on_layer(piece), rule, "delete one of them"))
    closes = [_ends_gap(p) <= gap < _length(p.points) for p in kept]
    loops = [_loop([(p.points[:-1], p)]) for p, ring in zip(kept, closes, strict=True) if ring]
    joined, more = _joined([p for p, ring in zip(kept, closes, strict=True) if not ring], gap, unit)
    return (*loops, *joined), (*flaws, *more)


def twice(lines: list[FloatArray], same: float) -> list[tuple[int, int]]:
    """Pairs (later, earlier) of lines that lie on each other throughout, in either direction.

    Lines shorter than four times ``same`` [the lines' unit] are not judged.
    """
    if len(lines) < 2:
        return []
    bounds = np.array([(*line.min(axis=0), *line.max(axis=0)) for line in lines])
    shapes = [shapely.LineString(line) for line in lines]
    long = np.array([shape.length > 4 * same for shape in shapes])
    found = []
    for later in range(1, len(lines)):
        near = (np.abs(bounds[:later] - bounds[later]) <= 2 * same).all(axis=1) & long[:later]
        for earlier in np.flatnonzero(near) if long[later] else ():
            if shapely.hausdorff_distance(shapes[later], shapes[earlier]) <= same:
                found.append((later, int(earlier)))
                long[later] = False  # a third copy is compared with the first only
                break
    return found


def _joined(pieces: list[Piece], gap: float, unit: Unit) -> tuple[list[Loop], list[Flaw]]:
    """Loops of open pieces, and the places where they do not join in pairs."""
    if not pieces:
        return [], []
    graph, flaws = _graph(pieces, gap, unit)
    bad = {int(graph.group[n]) for n, at in graph.at.items() if len(at) != 2}
    sound = [k for k in graph.real if int(graph.group[graph.node[k, 0]]) not in bad]
    return _walked(graph, sound), [*flaws, *_open(graph, unit, gap)]


@dataclass(frozen=True, slots=True, eq=False)
class _Graph:
    """Open pieces between nodes, where ends meet.

    real: places of the pieces that are longer than the gap tolerance; node (n, 2) of each piece's
    ends; places (m, 2) and connected group (m,) of each node; at: pieces that end at each node.
    """

    pieces: list[Piece]
    real: list[int]
    node: IntArray
    places: FloatArray
    group: IntArray
    at: dict[int, list[int]]


def _graph(pieces: list[Piece], gap: float, unit: Unit) -> tuple[_Graph, list[Flaw]]:
    """Pieces and nodes; and nodes that would swallow pieces."""
    ends = np.array([(p.points[0], p.points[-1]) for p in pieces]).reshape(-1, 2)
    node = _clusters(ends, COINCIDENT * gap)
    # Ends that meet in pairs are done. Only the rest is joined across gaps, or a curve drawn in
    # lines shorter than the gap tolerance would shrink to a point.
    rest = np.flatnonzero(np.bincount(node)[node] != 2)
    if len(rest):
        node[rest] = node.max() + 1 + _clusters(ends[rest], gap)
        node = np.unique(node, return_inverse=True)[1].ravel()
    size = int(node.max()) + 1
    count = np.bincount(node, minlength=size)
    places = np.column_stack([np.bincount(node, ends[:, k], size) / count for k in (0, 1)])
    flaws = []
    far = np.hypot(*(ends - places[node]).T) > 2 * gap
    for n in dict.fromkeys(node[far].tolist()):
        names = named(tuple(pieces[k // 2] for k in np.flatnonzero(node == n)))
        rule = f"many ends lie within the gap tolerance of each other at {unit.place(places[n])}"
        flaws.append(Flaw(names, rule, "state a smaller gap_tolerance, or draw fewer, longer lines"))
    pairs = node.reshape(-1, 2)
    # A piece shorter than the gap tolerance may bridge its neighbours' ends, and is then gone.
    swallowed = [a == b and _length(p.points) <= gap for p, (a, b) in zip(pieces, pairs, strict=True)]
    real = [k for k, gone in enumerate(swallowed) if not gone]
    links = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(size, size))
    _, group = connected_components(links, directed=False)
    at: dict[int, list[int]] = {}
    for k in real:
        for n in pairs[k].tolist():
            at.setdefault(n, []).append(k)
    return _Graph(pieces, real, pairs, places, np.asarray(group, np.int64), at), flaws


def _clusters(ends: FloatArray, gap: float) -> IntArray:
    """Node of each end: ends within ``gap`` of each other share one."""
    scale = max(gap, 1e-12)
    # Equal ends first, or a star of many lines would make very many pairs.
    grid, place = np.unique(np.round(ends / scale * 1e3), axis=0, return_inverse=True)
    pairs = cKDTree(grid * scale / 1e3).query_pairs(gap, output_type="ndarray")
    links = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(grid), len(grid)))
    _, label = connected_components(links, directed=False)
    return np.asarray(label[place.ravel()], np.int64)


def _walked(graph: _Graph, pieces: list[int]) -> list[Loop]:
    """Loops of pieces that join in pairs everywhere."""
    left = dict.fromkeys(pieces)
    loops = []
    while left:
        k = next(iter(left))
        here, parts = int(graph.node[k, 0]), []
        while k in left:
            del left[k]
            piece = graph.pieces[k]
            forward = graph.node[k, 0] == here
            points = piece.points if forward else piece.points[::-1]
            points = np.vstack((graph.places[here], points[1:-1]))
            here = int(graph.node[k, 1] if forward else graph.node[k, 0])
            parts.append((points, piece))
            k = next((other for other in graph.at[here] if other in left), k)
        loops.append(_loop(parts))
    return loops


def _loop(parts: list[tuple[FloatArray, Piece]]) -> Loop:
    """A counter-clockwise loop of runs of points, each with its piece."""
    points = np.vstack([p for p, _ in parts])
    owners = [piece for run, piece in parts for _ in run]
    new = np.hypot(*(points - np.roll(points, 1, axis=0)).T) > 0
    points, owners = points[new], [o for o, keep in zip(owners, new, strict=True) if keep]
    if _twice_area(points) < 0:
        # Reversed, panel i runs from old point i + 1 back to old point i.
        points, owners = points[::-1], [*owners[-2::-1], *owners[-1:]]
    return Loop(points=points, owners=tuple(owners))


def _open(graph: _Graph, unit: Unit, gap: float) -> list[Flaw]:
    """What is wrong at nodes where one end, or more than two, lie."""
    flaws = []
    for n, at in graph.at.items():
        if len(at) > 2:
            names = named(tuple(graph.pieces[k] for k in at))
            rule = f"{len(at)} ends meet at {unit.place(graph.places[n])}; a loop passes a point once"
            remedy = (
                "delete what is no part of an outline, or draw each region as a closed loop of its own"
            )
            flaws.append(Flaw(names, rule, remedy))
    loose: dict[int, list[int]] = {}
    for n, at in graph.at.items():
        if len(at) == 1:
            loose.setdefault(int(graph.group[n]), []).append(n)
    lines = [shapely.LineString(p.points) for p in graph.pieces] if loose else []
    for group, ends in list(loose.items())[:CHAINS_SHOWN]:
        chain = [k for k in graph.real if graph.group[graph.node[k, 0]] == group]
        flaws.append(_open_flaw(graph, lines, ends, chain, unit, gap))
    if (more := len(loose) - CHAINS_SHOWN) > 0:
        flaws.append(Flaw("the drawing", f"has {more} more open loops", "mend these first"))
    return flaws


def _open_flaw(
    graph: _Graph,
    lines: list[shapely.LineString],
    ends: list[int],
    chain: list[int],
    unit: Unit,
    gap: float,
) -> Flaw:
    """An open chain: where its ends are loose, and what lies nearest to each."""
    told, shortest = [], np.inf
    others = np.array([n for n, at in graph.at.items() if len(at) != 2])
    for n in ends[:NAMES_SHOWN]:
        piece = graph.pieces[graph.at[n][0]]
        text = f"{unit.place(graph.places[n])} of {piece.name}"
        if middle := _on_middle(graph, lines, n, gap):
            told.append(f"{text} (on the middle of {middle})")
            continue
        rest = others[others != n]  # never none: each piece has two ends, so odd nodes come in pairs
        away = np.hypot(*(graph.places[rest] - graph.places[n]).T)
        nearest = int(rest[away.argmin()])
        shortest = min(shortest, float(away.min()))
        other = graph.pieces[graph.at[nearest][0]].name
        told.append(f"{text} (nearest other end: {unit.length(float(away.min()))} away, of {other})")
    rule = f"the loop is open: loose end at {' and at '.join(told)}"
    if crossed := _crossed(graph, lines, chain, unit):
        rule += f"; it crosses {crossed}"
    remedy = "join the ends"
    if shortest <= 0.5e-3 / unit.metres:
        remedy += f", or state a gap_tolerance above {unit.length(shortest)} if the drawing is no better"
    remedy += "; what is no part of the section goes on a layer of its own, which the mast file sets to"
    remedy += ' "ignore" under [section.layers]'
    return Flaw(named(tuple(graph.pieces[k] for k in chain)), rule, remedy)


def _on_middle(graph: _Graph, lines: list[shapely.LineString], n: int, gap: float) -> str:
    """The piece on whose middle a loose end lies, if any."""
    away = shapely.distance(shapely.Point(graph.places[n]), lines)
    hits = [k for k in np.flatnonzero(away <= gap) if n not in graph.node[k]]
    return f"{graph.pieces[hits[0]].name}: split that there" if hits else ""


def _crossed(graph: _Graph, lines: list[shapely.LineString], chain: list[int], unit: Unit) -> str:
    """Where an open chain crosses other pieces, as an outline does that was not trimmed."""
    told: list[str] = []
    for k in chain[:CHAINS_SHOWN]:
        for other in np.flatnonzero(shapely.crosses(lines[k], lines)):
            meet = shapely.intersection(lines[k], lines[other])
            point = shapely.get_coordinates(meet)[0]
            told.append(f"{graph.pieces[other].name} at {unit.place(point)}")
        if len(told) > NAMES_SHOWN:
            break
    return ", ".join(dict.fromkeys(told[:NAMES_SHOWN])) + (": trim both there" if told else "")


def _on_layer(piece: Piece) -> str:
    return f"{piece.name} on layer {shown(piece.layer)}"


def _distinct(points: FloatArray) -> FloatArray:
    """Points without repeated neighbours."""
    step = np.hypot(*np.diff(points, axis=0).T)
    return points[np.concatenate(([True], step > 0))]


def _length(points: FloatArray) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _ends_gap(piece: Piece) -> float:
    return float(np.hypot(*(piece.points[0] - piece.points[-1])))


def _twice_area(points: FloatArray) -> float:
    x, y = (points - points[0]).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
