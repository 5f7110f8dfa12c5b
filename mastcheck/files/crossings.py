"""Loops that cross, touch or repeat each other, and how the rest lie in one another."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import shapely

from mastcheck.files.drawunits import Unit
from mastcheck.files.loops import Flaw, FloatArray, IntArray, Loop, twice

PLACES_SHOWN = 3
"""Places named in one message."""

_PAIRS_KEPT = 2_000
_CHUNK = 512


def crossing_flaws(
    loops: tuple[Loop, ...], *, gap: float, same: float, unit: Unit
) -> tuple[tuple[Loop, ...], tuple[Flaw, ...]]:
    """Faults of loops: no area, drawn twice, crossing themselves or each other, touching.

    Args:
        loops: closed loops.
        gap: loops nearer than this touch [drawing units].
        same: greatest distance between lines that are one line drawn twice [drawing units].
        unit: the drawing's unit, for messages.

    Returns:
        The loops without the second of two drawn twice, and the faults.
    """
    flaws = [
        Flaw(loop.name, f"encloses nothing, at {unit.place(loop.points[0])}", "delete it")
        for loop in loops
        if len(loop.points) < 3
    ]
    loops = tuple(loop for loop in loops if len(loop.points) >= 3)
    twins = twice([np.vstack((loop.points, loop.points[:1])) for loop in loops], same)
    for later, earlier in twins:
        at = unit.place(loops[later].points[0])
        rule = f"lies on {loops[earlier].name}: the same loop is drawn twice, at {at}"
        flaws.append(Flaw(loops[later].name, rule, "delete one of them"))
    again = {later for later, _ in twins}
    loops = tuple(loop for k, loop in enumerate(loops) if k not in again)
    if not loops:
        return loops, tuple(flaws)
    meets = _meets(loops)
    flaws += [_meet_flaw(loops, a, b, places, unit) for (a, b), places in sorted(meets.items())]
    flaws += _near_flaws(loops, set(meets), gap, unit)
    return loops, tuple(flaws)


def parents(loops: tuple[Loop, ...]) -> list[int | None]:
    """The smallest loop around each; loops must not cross or touch."""
    polygons = [shapely.Polygon(loop.points) for loop in loops]
    areas = np.array([p.area for p in polygons])
    tree = shapely.STRtree(polygons)
    starts = shapely.points([loop.points[0] for loop in loops])
    inner, outer = tree.query(starts, predicate="within")
    found: list[int | None] = [None] * len(loops)
    for k, around in zip(inner.tolist(), outer.tolist(), strict=True):
        best = found[k]
        if areas[around] > areas[k] and (best is None or areas[around] < areas[best]):
            found[k] = around
    return found


Meets = dict[tuple[int, int], list[tuple[FloatArray, str]]]
"""By pair of loops (the same twice: with itself): places, and the entities there."""


def _meets(loops: tuple[Loop, ...]) -> Meets:
    """Every place where panels that are not neighbours meet."""
    starts = np.vstack([loop.points for loop in loops])
    ends = np.vstack([np.roll(loop.points, -1, axis=0) for loop in loops])
    loop_of = np.repeat(np.arange(len(loops)), [len(loop.points) for loop in loops])
    first = np.concatenate(([0], np.cumsum([len(loop.points) for loop in loops])))
    panels = shapely.linestrings(np.stack((starts, ends), axis=1))
    tree = shapely.STRtree(panels)
    found: Meets = defaultdict(list)
    kept = 0
    for begin in range(0, len(panels), _CHUNK):
        i, j = tree.query(panels[begin : begin + _CHUNK], predicate="intersects")
        i = i + begin
        i, j = i[i < j], j[i < j]
        met = shapely.intersection(panels[i], panels[j])
        apart = ~_neighbours(i, j, loop_of, first) | (shapely.length(met) > 0)
        for a, b, meet in zip(i[apart], j[apart], met[apart], strict=True):
            owners = [loops[loop_of[k]].owners[k - first[loop_of[k]]].name for k in (a, b)]
            pair = (int(loop_of[a]), int(loop_of[b]))
            found[min(pair), max(pair)].append(
                (shapely.get_coordinates(meet)[0], " and ".join(dict.fromkeys(owners)))
            )
        kept += int(apart.sum())
        if kept > _PAIRS_KEPT:
            break  # a tangle: enough is known to refuse it
    return found


def _neighbours(i: IntArray, j: IntArray, loop_of: IntArray, first: IntArray) -> IntArray:
    """Whether panel j follows or precedes panel i around its loop."""
    same = loop_of[i] == loop_of[j]
    size = first[loop_of[i] + 1] - first[loop_of[i]]
    return np.asarray(same & ((j - i == 1) | (j - i == size - 1)))


def _meet_flaw(
    loops: tuple[Loop, ...], a: int, b: int, places: list[tuple[FloatArray, str]], unit: Unit
) -> Flaw:
    """Two loops, or one with itself, that cross or touch."""
    told = list(dict.fromkeys(f"{unit.place(point)} ({names})" for point, names in places))
    more = len(told) - PLACES_SHOWN
    text = ", ".join(told[:PLACES_SHOWN]) + (f" and {more} more places" if more > 0 else "")
    if a == b:
        rule = f"the loop crosses or touches itself at {text}"
        return Flaw(loops[a].name, rule, "trim or redraw it there")
    one, two = (shapely.Polygon(loops[k].points) for k in (a, b))
    where = f"{loops[a].name} with {loops[b].name}"
    if one.is_valid and two.is_valid and (one.touches(two) or one.covers(two) or two.covers(one)):
        remedy = "draw what they bound as one loop, or move them apart"
        return Flaw(where, f"the loops touch at {text}", remedy)
    return Flaw(where, f"the loops cross at {text}", "trim them to one outline, or move them apart")


def _near_flaws(
    loops: tuple[Loop, ...], met: set[tuple[int, int]], gap: float, unit: Unit
) -> list[Flaw]:
    """Loops that do not meet but come nearer than the gap tolerance."""
    rings = [shapely.LinearRing(loop.points) for loop in loops]
    i, j = shapely.STRtree(rings).query(rings, predicate="dwithin", distance=gap)
    flaws = []
    for a, b in sorted({(int(min(p)), int(max(p))) for p in zip(i, j, strict=True)} - met):
        if a == b:
            continue
        line = shapely.shortest_line(rings[a], rings[b])
        rule = f"the loops touch: {unit.length(line.length)} apart at {unit.place(line.coords[0])}"
        where = f"{loops[a].name} with {loops[b].name}"
        flaws.append(Flaw(where, rule, "draw what they bound as one loop, or move them apart"))
    return flaws


def depth_order(loops: tuple[Loop, ...], parent: list[int | None]) -> list[int]:
    """Places of loops, parents before children, those of one parent by their least x, then y."""
    children: dict[int | None, list[int]] = defaultdict(list)
    for k, around in enumerate(parent):
        children[around].append(k)

    def rank(k: int) -> tuple[float, float]:
        return float(loops[k].points[:, 0].min()), float(loops[k].points[:, 1].min())

    order: list[int] = []
    level: list[int | None] = [None]
    while level:
        below = [k for around in level for k in sorted(children[around], key=rank)]
        order += below
        level = [*below]
    return order
