"""Foil sections from coordinate lists: any usual running order, one normal form."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely

from mastcheck.drawn import Coordinates
from mastcheck.errors import Problem
from mastcheck.files.columns import FloatArray, Rows, read_columns, refused
from mastcheck.files.smooth import heights, smoothed

LEAST_POINTS = 4
"""Points of a list, the closing one not counted."""

NEAR = 0.1
"""Share of the chord within which a list's first or last point is at the nose or the tail."""

SAME = 1e-6
"""Share of the chord below which two points are one."""

SLENDER = (0.005, 0.5)
"""Thickness over chord of a list taken for a foil section drawn in one unit."""

LEAST_CHORD = 1e-9
"""Range of x, over the greatest coordinate, below which rounding would make the outline."""

LEVEL = 0.03
"""Share of the chord by which nose and tail may differ in height: x must run along the chord."""


@dataclass(frozen=True, slots=True, eq=False)
class _Points:
    """Points (n, 2) [chords from the least x] with their lines."""

    xy: FloatArray
    line: tuple[int, ...]

    def take(self, places: list[int]) -> _Points:
        return _Points(self.xy[places], tuple(self.line[k] for k in places))


class _FaultError(Exception):
    """What is wrong with a list, and the line where it shows."""

    def __init__(self, rule: str, remedy: str, *lines: int) -> None:
        self.rule, self.remedy, self.lines = rule, remedy, lines
        super().__init__(rule)


def read_coordinates(path: Path, *, label: str) -> Coordinates:
    """Read the outline of a foil section from two columns, x along the chord and y across it.

    Both columns are in one unit, any unit. The points run from tail to nose to tail, from nose to
    tail to nose, or in two lists (with or without the line of their counts); either face may come
    first, and the tail may be closed or open. A smooth curve is passed through them and resampled.

    In the result x runs from 0, the least, to 1, the greatest; the list is not turned. y is divided
    by the greatest height of the section: port less starboard, square to the x axis, at a common x.
    So camber is scaled with it. y = 0 is half-way between the heights of nose and tail.

    Args:
        path: the text file.
        label: its name in messages and results.

    Raises:
        InputError: every line that is not two numbers; else what keeps the points from a section.
    """
    rows, content = read_columns(path, label)
    try:
        ring, closed = _ring(_counted(rows))
        port, starboard = _faces(ring, closed)
        contour = _normal(smoothed(port.xy, starboard.xy))
    except _FaultError as fault:
        places = fault.lines or (None,)
        raise refused([_problem(label, line, fault) for line in places]) from None
    contour.setflags(write=False)
    return Coordinates(points=contour, file=label, sha256=hashlib.sha256(content).hexdigest())


def _problem(label: str, line: int | None, fault: _FaultError) -> Problem:
    key = "the list" if line is None else "point"
    return Problem(key=key, found="", rule=fault.rule, remedy=fault.remedy, file=label, line=line)


@dataclass(frozen=True, slots=True, eq=False)
class _List:
    """A list's points and, where the file states two lists by their counts, the first one's."""

    points: _Points
    first: int | None


def _counted(rows: Rows) -> _List:
    """The points in chords, without a leading line of two counts."""
    values, lines, first = rows.values, rows.lines, None
    if len(values) and (values[0] >= 2).all() and (values[0] == np.round(values[0])).all():
        apart = len(values) > 1 and (values[0] > 2 * np.abs(values[1:]).max(axis=0)).all()
        if values[0].sum() == len(values) - 1:
            first = int(values[0, 0])
            values, lines = values[1:], lines[1:]
        elif apart:
            rule = f"looks like the counts of two lists, but {len(values) - 1} points follow"
            raise _FaultError(rule, "mend the counts, or delete the line", lines[0])
    if len(np.unique(values, axis=0)) < LEAST_POINTS:
        count = len(np.unique(values, axis=0))
        rule = f"holds {count} different points; a section needs {LEAST_POINTS} or more"
        raise _FaultError(rule, "list both faces")
    low, chord = values[:, 0].min(), float(np.ptp(values[:, 0]))
    if chord <= LEAST_CHORD * max(1.0, float(np.abs(values).max())):
        raise _FaultError("all points have one x", "give x along the chord and y across it")
    slender = float(np.ptp(values[:, 1])) / chord
    if not SLENDER[0] <= slender <= SLENDER[1]:
        rule = f"its height is {slender:.3g} of its length; want {SLENDER[0]:g} to {SLENDER[1]:g}"
        raise _FaultError(rule, "give x along the chord in the first column, and both in one unit")
    return _List(_Points((values - (low, 0.0)) / chord, lines), first)


def _ring(listed: _List) -> tuple[_Points, bool]:
    """The points once around, counter-clockwise, and whether the list ends where it began."""
    points, x = listed.points, listed.points.xy[:, 0]
    for backward in (False, True):
        run = points.take(list(range(len(x)))[::-1]) if backward else points
        first = len(x) - listed.first if backward and listed.first else listed.first
        k = first or _second_list(run.xy[:, 0])
        if k and _runs_aft(run.xy[:k, 0]) and _runs_aft(run.xy[k:, 0]):
            joined = run.take([*range(k)[::-1], *range(k, len(x))])
            return _closed(_distinct(joined))
    if listed.first and not (_at_tail(x[0]) and _at_tail(x[-1])):
        rule = f"states two lists, but point {listed.first + 1} does not begin the second at the nose"
        raise _FaultError(rule, "mend the counts, or list both faces from nose to tail", points.line[0])
    same_end = bool(np.hypot(*(points.xy[0] - points.xy[-1])) <= SAME)
    ends_meet = (_at_tail(x[0]) and _at_tail(x[-1])) or (_at_nose(x[0]) and _at_nose(x[-1]))
    if not same_end and not ends_meet:
        if (_at_nose(x[0]) and _at_tail(x[-1])) or (_at_tail(x[0]) and _at_nose(x[-1])):
            raise _FaultError("has one face only, from end to end of the chord", "list both faces")
        rule = f"begins at {x[0]:.3g} and ends at {x[-1]:.3g} of the chord"
        raise _FaultError(rule, "begin and end at the tail, or at the nose")
    return _closed(_distinct(points))


def _second_list(x: FloatArray) -> int | None:
    """Where the second of two nose-to-tail lists begins, if it is so."""
    k = int(np.diff(x).argmin()) + 1
    return k if _at_nose(x[k]) and _at_tail(x[k - 1]) and _at_nose(x[0]) and _at_tail(x[-1]) else None


def _runs_aft(x: FloatArray) -> bool:
    """Whether a list runs from nose to tail (faults on its way are found later)."""
    return len(x) > 1 and bool(_at_nose(x[0]) and _at_tail(x[-1]))


def _at_nose(x: float) -> bool:
    return bool(x <= NEAR)


def _at_tail(x: float) -> bool:
    return bool(x >= 1 - NEAR)


def _distinct(points: _Points) -> _Points:
    """Points without neighbours that coincide; only the nose and the tail may be listed twice."""
    again = np.hypot(*np.diff(points.xy, axis=0).T) <= SAME
    end = np.isclose(points.xy[1:, 0], 0, atol=SAME) | np.isclose(points.xy[1:, 0], 1, atol=SAME)
    if (again & ~end).any():
        lines = [points.line[k + 1] for k in np.flatnonzero(again & ~end)]
        raise _FaultError("is the same as the point before it", "delete one of them", *lines)
    return points.take([0, *(np.flatnonzero(~again) + 1).tolist()])


def _closed(points: _Points) -> tuple[_Points, bool]:
    """The ring without its repeated end, counter-clockwise, and whether it ended where it began."""
    count = len(points.line)
    repeated = bool(np.hypot(*(points.xy[0] - points.xy[-1])) <= SAME)
    ring = points.take(list(range(count - 1))) if repeated else points
    _check_simple(ring)
    places = list(range(len(ring.line)))
    x, y = ring.xy.T
    if np.dot(x, np.roll(y, -1)) < np.dot(y, np.roll(x, -1)):
        places.reverse()
    return ring.take(places), repeated or _at_nose(points.xy[0, 0])


def _check_simple(ring: _Points) -> None:
    """Refuse faces that cross or touch, naming the lines of the panels that do."""
    if len(ring.line) < LEAST_POINTS:
        raise _FaultError(f"holds {len(ring.line)} different points", "list both faces")
    ends = np.stack((ring.xy, np.roll(ring.xy, -1, axis=0)), axis=1)
    panels = shapely.linestrings(ends)
    i, j = shapely.STRtree(panels).query(panels, predicate="intersects")
    n = len(panels)
    apart = (j - i > 1) & ~((i == 0) & (j == n - 1))
    if apart.any():
        a, b = int(i[apart][0]), int(j[apart][0])
        x = shapely.get_coordinates(shapely.intersection(panels[a], panels[b]))[0, 0]
        rule = f"the outline meets itself at {x:.3g} of the chord, here and after line {ring.line[b]}"
        remedy = "mend the points there; the two faces may meet only at nose and tail"
        raise _FaultError(rule, remedy, ring.line[a])


def _faces(ring: _Points, closed: bool) -> tuple[_Points, _Points]:
    """Port and starboard faces, each from the nose to the tail."""
    n = len(ring.line)
    low, chord = ring.xy[:, 0].min(), np.ptp(ring.xy[:, 0])  # of two ends that were one, one is left
    ring = _Points((ring.xy - (low, 0.0)) / chord, ring.line)
    top = ring.xy[:, 0] >= 1 - 1e-9
    begin = next(k for k in range(n) if top[k] and not top[(k + 1) % n])
    ring = ring.take([(begin + k) % n for k in range(n)])
    nose = int(ring.xy[:, 0].argmin())
    port = ring.take(list(range(nose, -1, -1)))
    places = list(range(nose, n))
    dx, dy = ring.xy[0] - ring.xy[-1]
    if dx > 1e-9 and (closed or abs(dy) <= dx):
        places.append(0)  # a pointed tail belongs to both faces, the edge of a blunt one to neither
    starboard = ring.take(places)
    for face in (port, starboard):
        back = np.flatnonzero(np.diff(face.xy[:, 0]) < -SAME) + 1
        if len(back):
            rule = "runs back along the chord: on each face x must run one way between nose and tail"
            remedy = "mend or move the point"
            raise _FaultError(rule, remedy, *(face.line[k] for k in back[:5]))
    return _rising(port), _rising(starboard)


def _rising(face: _Points) -> _Points:
    """The face with x made exactly rising, where it falls by rounding only."""
    xy = np.column_stack((np.maximum.accumulate(face.xy[:, 0]), face.xy[:, 1]))
    return _Points(xy, face.line)


def _normal(ring: FloatArray) -> FloatArray:
    """The contour with height 1, and y = 0 half-way between nose and tail."""
    x, port, starboard = heights(ring)
    height = port - starboard
    if height[1:-1].min() <= 0 or not shapely.Polygon(ring).is_valid:
        at = x[1:-1][height[1:-1].argmin()]
        rule = f"the curve through the points crosses itself near {at:.3g} of the chord"
        raise _FaultError(rule, "give more points there, or mend them")
    front = ring[ring[:, 0] <= SAME, 1]
    nose = (front.max() + front.min()) / 2
    before, near = np.interp((0.98, 0.99), x, (port + starboard) / 2)
    tail = 2 * near - before  # along the mean line, however the tail is cut or rounded
    if abs(nose - tail) > LEVEL:
        rule = f"nose and tail differ by {abs(nose - tail):.3g} of the chord in height"
        raise _FaultError(rule, "turn the section so that its chord line runs along x")
    return np.column_stack((ring[:, 0], (ring[:, 1] - (nose + tail) / 2) / height.max()))
