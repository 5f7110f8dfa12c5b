"""A smooth closed contour through the listed points of a foil section.

Straight panels between few points lose torsion, so each face is splined: its height over the angle
whose cosine gives the chord fraction (x = (1 - cos theta) / 2), in which a round nose, a round tail
and a sharp one are all smooth. Corners split the spline, and straight faces stay straight.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

PANELS = 100
"""Cosine-spaced panels of each face (100 hold J within 0.03 %)."""

FEW = 7
"""A face of fewer points is taken as straight between them: no curve can be told from them."""

BULGE = 0.05
"""A point is a corner where rounding it would move the outline by more than this share of the
thickness: turn times the longer panel beside it, over 8, as the sagitta of an arc. Four-digit
sections listed at only every tenth of the chord stay under 0.04."""

SHARP = ((np.radians(30), 2.0), (np.radians(10), 4.0))
"""A point is a corner where it turns by more than the first and more than the second times as much
as both its neighbours: a round nose of few points turns by more than 30 degrees, but gradually."""

LONG = (0.1, 4.0)
"""A panel longer than the first, over the chord, and the second times a neighbour is a straight face."""

STEEP = 1e-9
"""A panel that spans less of the chord is a straight one: a square nose or tail, or a step."""

STRAIGHT = 1e-6
"""Points between two corners that leave the straight line by less, over the chord, are on it."""

ROUND_TAIL = 0.5
"""A face whose last panel is steeper than this ends on a round tail; others keep a finite slope."""


def smoothed(port: FloatArray, starboard: FloatArray, *, panels: int = PANELS) -> FloatArray:
    """A contour through the points of two faces.

    Args:
        port: (n, 2) points from the nose to the tail, x from 0 to 1 and never falling; y in chords.
        starboard: (m, 2) likewise, from the same nose point.
        panels: panels of each face; corners add points.

    Returns:
        (k, 2) ring, counter-clockwise from the port face's tail, first point not repeated.
    """
    ring = np.vstack((port[::-1], starboard[1:]))
    corner = _corners(ring, float(np.ptp(ring[:, 1])))
    n = len(port)
    faces = [
        _resampled(port, corner[n - 1 :: -1], panels),
        _resampled(starboard, corner[n - 1 :], panels),
    ]
    out = np.vstack((faces[0][::-1], faces[1][1:]))
    return out[:-1] if np.allclose(out[0], out[-1], rtol=0, atol=1e-12) else out


def heights(ring: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Places along the chord, and the heights of the port and starboard faces of a ring there."""
    nose = int(ring[:, 0].argmin())
    port, starboard = ring[nose::-1], ring[nose:]
    x = np.unique(ring[:, 0])
    return x, np.interp(x, *port.T), np.interp(x, *starboard.T)


def _corners(ring: FloatArray, thickness: float) -> BoolArray:
    """Which points of an open ring, tail to tail, are corners."""
    step = np.diff(ring, axis=0)
    length = np.hypot(*step.T)
    direction = np.arctan2(step[:, 1], step[:, 0])
    turn = np.abs((np.diff(direction) + np.pi) % (2 * np.pi) - np.pi)
    corner = np.ones(len(ring), bool)
    longer = np.maximum(length[1:], length[:-1])
    beside = np.maximum(np.append(turn[1:], np.inf), np.insert(turn[:-1], 0, np.inf))
    sharp = np.any([(turn > least) & (turn > times * beside) for least, times in SHARP], axis=0)
    corner[1:-1] = (turn * longer / 8 > BULGE * thickness) | sharp
    least, times = LONG
    before, after = np.insert(length[:-1], 0, np.inf), np.append(length[1:], np.inf)
    straight = (length > least) & (length > times * np.minimum(before, after))
    straight |= np.abs(step[:, 0]) < STEEP
    corner[:-1] |= straight
    corner[1:] |= straight
    return corner


def _resampled(face: FloatArray, corner: BoolArray, panels: int) -> FloatArray:
    """A face at cosine-spaced places, its corners kept."""
    from scipy.interpolate import CubicSpline

    ends = np.arange(len(face)) if len(face) < FEW else np.flatnonzero(corner)
    ends = np.unique(np.concatenate(([0], ends, [len(face) - 1])))
    theta = np.arccos(np.clip(1 - 2 * face[:, 0], -1, 1))
    places = np.linspace(0, np.pi, panels + 1)
    near = 0.3 * np.pi / panels  # no panel much shorter than the rest beside a corner
    out = [face[:1]]
    for a, b in pairwise(ends.tolist()):
        at = places[(places > theta[a] + near) & (places < theta[b] - near)]
        x = (1 - np.cos(at)) / 2
        run = face[a : b + 1]
        off = run[:, 1] - np.interp(run[:, 0], *face[[a, b]].T)
        if b - a == 1 or np.abs(off).max() < STRAIGHT:
            y = np.interp(x, run[:, 0], run[:, 1])
        else:
            last = face[b] - face[b - 1]
            finite = face[b, 0] > 1 - 1e-6 and abs(last[1]) < ROUND_TAIL * last[0]
            # A finite slope over x is a slope of nothing over theta, at the tail.
            end = (1, 0.0) if finite else "not-a-knot"
            y = CubicSpline(theta[a : b + 1], run[:, 1], bc_type=("not-a-knot", end))(at)
        out += [np.column_stack((x, y)), face[b : b + 1]]
    return np.vstack(out)
