"""Outer contours of the built-in outline families: pure numbers.

Each family is a half-thickness law over the chord, mirrored about it. All laws and slopes are
dimensionless: place and half thickness in chords, ``t`` = thickness / chord.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mastcheck.errors import GeometryError
from mastcheck.roots import root

FloatArray = NDArray[np.float64]
Law = Callable[[FloatArray, float], tuple[FloatArray, FloatArray]]

NACA = (0.2969, -0.1260, -0.3516, 0.2843, -0.1036)
"""Coefficients of the four-digit thickness law (NACA Report 824), closing variant."""

SLAB_TAIL = 0.30
"""Share of a slab's chord that tapers, straight, from full thickness to the trailing edge."""

ARC_PANELS = 12
"""Straight panels around a rounded trailing edge."""

OPEN_TAIL = 0.002
"""Half thickness of the modified family's trailing edge, for t = 0.2: 1 % of the thickness."""

CHORD_RANGE = (0.005, 2.0)
"""Chords [m] taken for a mast's; anything else is a slip of the unit."""


def _naca(x: FloatArray, t: float) -> tuple[FloatArray, FloatArray]:
    a, b, c, d, e = NACA
    root = np.sqrt(np.maximum(x, 1e-30))  # the slope is infinite at the nose; keep it a number
    y = a * np.sqrt(x) + x * (b + x * (c + x * (d + x * e)))
    slope = a / (2 * root) + b + x * (2 * c + x * (3 * d + x * 4 * e))
    return 5 * t * np.maximum(y, 0.0), 5 * t * slope


def _ellipse(x: FloatArray, t: float) -> tuple[FloatArray, FloatArray]:
    root = np.sqrt(np.maximum(x * (1 - x), 1e-30))
    return t * np.sqrt(np.maximum(x * (1 - x), 0.0)), t * (1 - 2 * x) / (2 * root)


def _lens(x: FloatArray, t: float) -> tuple[FloatArray, FloatArray]:
    # Two arcs of radius R through both ends of the chord, each t/2 high at mid-chord.
    R = (1 + t**2) / (4 * t)
    u = x - 0.5
    root = np.sqrt(R**2 - u**2)
    return np.maximum(root - (R - t / 2), 0.0), -u / root


def _slab(x: FloatArray, t: float) -> tuple[FloatArray, FloatArray]:
    h = t / 2
    nose = np.sqrt(np.maximum(x * (2 * h - x), 0.0))
    nose_slope = (h - x) / np.maximum(nose, 1e-15)
    tail = h * (1 - x) / SLAB_TAIL
    in_nose, in_tail = x < h, x > 1 - SLAB_TAIL
    y = np.where(in_nose, nose, np.where(in_tail, tail, h))
    return y, np.where(in_nose, nose_slope, np.where(in_tail, -h / SLAB_TAIL, 0.0))


def _modified_naca(nose_index: float, greatest_at: float) -> Law:
    """Thickness law of the four-digit-modified family (NASA TM-4741; its first form NACA Report 492).

    Written for t = 0.2: y = a0 sqrt(x) + a1 x + a2 x^2 + a3 x^3 ahead of the greatest thickness, and
    d0 + d1 (1 - x) + d2 (1 - x)^2 + d3 (1 - x)^3 behind it; height, slope and curvature agree there.
    """
    m, h = greatest_at, 1 - greatest_at
    # Index 9 is a nose of three times the plain family's radius, so sqrt(3) times its a0.
    a0 = 0.296904 * (np.sqrt(3.0) if nose_index == 9 else nose_index / 6)
    # The slope parameter is tabled for m = 0.2 ... 0.6 (0.200, 0.234, 0.315, 0.465, 0.700); this is the
    # quartic through the table. The closed formula printed beside it misses published ordinates.
    d1 = 0.155 + m * (0.151 / 0.3 + m * (-2.725 + m * (21.5 / 3 - 2.5 * m)))
    d2 = (0.294 - 2 * h * d1) / h**2
    d3 = (-0.196 + h * d1) / h**3
    a3 = 0.1 / m**3 + (2 * d1 * h - 0.588) / (2 * m * h**2) - 3 * a0 / (8 * m**2.5)
    a2 = -0.1 / m**2 + a0 / (2 * m**1.5) - 2 * m * a3
    a1 = -a0 / (2 * np.sqrt(m)) - 2 * m * a2 - 3 * m**2 * a3

    def law(x: FloatArray, t: float) -> tuple[FloatArray, FloatArray]:
        root = np.sqrt(np.maximum(x, 1e-30))
        fore = a0 * np.sqrt(x) + x * (a1 + x * (a2 + x * a3))
        fore_slope = a0 / (2 * root) + a1 + x * (2 * a2 + x * 3 * a3)
        u = 1 - x
        aft = OPEN_TAIL + u * (d1 + u * (d2 + u * d3))
        aft_slope = -(d1 + u * (2 * d2 + u * 3 * d3))
        ahead = x < m
        return 5 * t * np.where(ahead, fore, aft), 5 * t * np.where(ahead, fore_slope, aft_slope)

    return law


_LAWS: dict[str, tuple[Law, float]] = {
    "naca-4-digit": (_naca, 0.3),
    "ellipse": (_ellipse, 0.5),
    "lens": (_lens, 0.5),
    "slab": (_slab, 1 - SLAB_TAIL),
}
"""Thickness law, and last place of (nearly) full thickness: a rounded tail starts behind it."""

MODIFIED = "naca-4-digit-modified"
FAMILIES = (*_LAWS, MODIFIED)
"""Names of the built-in families."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sides:
    """Both faces of a section, nose to tail: port (n, 2) and starboard (m, 2) points [m].

    They share the nose; the tail points differ where the tail is cut square.
    """

    port: FloatArray
    starboard: FloatArray

    def ring(self) -> FloatArray:
        """Closed ring, counter-clockwise from the tail over the port side, no point repeated."""
        closed = bool(np.all(self.port[-1] == self.starboard[-1]))
        return np.concatenate([self.port[::-1], self.starboard[1 : len(self.starboard) - closed]])


def half_thickness(
    family: str,
    x: FloatArray,
    *,
    chord: float,
    thickness: float,
    nose_index: float = 6.0,
    greatest_at: float = 0.3,
) -> FloatArray:
    """Half thickness of a family along the chord, before any rounding of the tail.

    Args:
        family: one of ``FAMILIES``.
        x: (n,) places from the leading edge [m], 0 to chord.
        chord: chord [m].
        thickness: greatest thickness [m].
        nose_index: nose index of the modified family.
        greatest_at: chord fraction of its greatest thickness.

    Returns:
        (n,) half thickness [m].

    Raises:
        GeometryError: unknown family, or an index or place the modified family does not have.

    >>> round(float(half_thickness("lens", np.array([0.5]), chord=1.0, thickness=0.2)[0]), 12)
    0.1
    """
    law, _ = _law(family, nose_index, greatest_at)
    return chord * law(np.asarray(x, float) / chord, thickness / chord)[0]


def contour(
    family: str,
    *,
    chord: float,
    thickness: float,
    trailing_edge_radius: float = 0.0,
    trailing_edge_thickness: float = 0.0,
    nose_index: float = 6.0,
    greatest_at: float = 0.3,
    panels: int = 100,
) -> FloatArray:
    """Outer contour of a built-in family: the ring of ``family_sides``, same arguments.

    Returns:
        (n, 2) points [m], counter-clockwise from the trailing edge, the first not repeated.
    """
    return family_sides(
        family,
        chord=chord,
        thickness=thickness,
        trailing_edge_radius=trailing_edge_radius,
        trailing_edge_thickness=trailing_edge_thickness,
        nose_index=nose_index,
        greatest_at=greatest_at,
        panels=panels,
    ).ring()


def family_sides(
    family: str,
    *,
    chord: float,
    thickness: float,
    trailing_edge_radius: float = 0.0,
    trailing_edge_thickness: float = 0.0,
    nose_index: float = 6.0,
    greatest_at: float = 0.3,
    panels: int = 100,
) -> Sides:
    """Faces of a built-in family, cosine-spaced (clustered at nose and tail).

    A radius rounds the tail by the circle centred on the chord line and tangent to both faces; a
    tail thickness cuts it square there. Either would shorten the blade, so the family's law is
    drawn over a chord longer by that much: the finished blade measures ``chord``. A tail of the
    family that is blunter already is left as it is. The slab has a semicircular nose, parallel
    faces, and a straight taper over the last ``SLAB_TAIL`` of the chord.

    Args:
        family: one of ``FAMILIES``.
        chord: finished chord [m]; the leading edge is at x = 0.
        thickness: greatest thickness [m].
        trailing_edge_radius: radius [m]; 0 keeps the family's own tail.
        trailing_edge_thickness: thickness of a square tail [m]; 0 keeps the family's own tail.
        nose_index: nose index of the modified family, 0 to 8, or 9.
        greatest_at: chord fraction of its greatest thickness, 0.2 to 0.6.
        panels: straight panels on each side (100 hold J within 0.03 %, measured).

    Returns:
        The two faces [m].

    Raises:
        GeometryError: sizes that are no blade's, or a tail the blade cannot hold.
    """
    law, _ = _law(family, nose_index, greatest_at)
    radius, blunt = trailing_edge_radius, trailing_edge_thickness
    _check_sizes(family, chord, thickness, radius, panels)
    if radius and blunt:
        raise GeometryError("a tail is rounded or cut square, not both: state a radius or a thickness")
    if not 0 <= blunt < thickness:
        raise GeometryError(
            f"trailing edge thickness {blunt * 1e3:.6g} mm must lie between 0 and the thickness"
            f" ({thickness * 1e3:.6g} mm)"
        )

    longer, end = _drawn_over(
        str(family), nose_index, greatest_at, thickness / chord, radius / chord, blunt / chord
    )
    law_chord = chord * longer
    t, r = thickness / law_chord, radius / law_chord
    x = _places(family, t, end, panels)
    y, slope = law(x, t)
    y[0] = 0.0
    if end < 1.0 and not blunt:
        tail = _tail_arc(end, float(y[-1]), float(slope[-1]), r)
        x, y = np.concatenate([x, tail[1:, 0]]), np.concatenate([y, tail[1:, 1]])
    if not blunt and (end < 1.0 or y[-1] < 1e-12):
        y[-1] = 0.0
    side = law_chord * np.column_stack([x, y])
    return Sides(port=side, starboard=side * (1.0, -1.0))


def _law(family: str, nose_index: float, greatest_at: float) -> tuple[Law, float]:
    """The law, and the last place of (nearly) full thickness."""
    if str(family) == MODIFIED:
        if not (0 <= nose_index <= 8 or nose_index == 9) or not 0.2 <= greatest_at <= 0.6:
            raise GeometryError(
                f"nose index {nose_index:g}, thickest at {greatest_at:g} of the chord: {MODIFIED} runs"
                " from index 0 to 8, or 9, and from 0.2 to 0.6"
            )
        return _modified_naca(nose_index, greatest_at), greatest_at
    try:
        return _LAWS[str(family)]
    except KeyError:
        raise GeometryError(f"unknown outline {family!r}; known: {', '.join(FAMILIES)}") from None


def _check_sizes(family: str, chord: float, thickness: float, radius: float, panels: int) -> None:
    low, high = CHORD_RANGE
    if not low <= chord <= high:
        raise GeometryError(
            f"chord {chord * 1e3:.6g} mm is outside"
            f" {low * 1e3:.0f} to {high * 1e3:.0f} mm; check its unit"
        )
    if not 0.01 <= thickness / chord <= 1.0:
        raise GeometryError(
            f"thickness {thickness * 1e3:.6g} mm is outside 1 to 100 % of the chord"
            f" {chord * 1e3:.6g} mm; check its unit"
        )
    if not 0 <= radius < thickness / 2:
        raise GeometryError(
            f"trailing edge radius {radius * 1e3:.6g} mm must lie between 0 and half the thickness"
            f" ({thickness * 500:.6g} mm)"
        )
    if panels < 8:
        raise GeometryError(f"{panels} panels a side are too few for a contour; use 8 or more (100)")
    if family == "slab" and thickness / chord > 1 - SLAB_TAIL:
        raise GeometryError(
            f"a slab {thickness * 1e3:.6g} mm thick leaves no room for its round nose before the tail"
            f" of a {chord * 1e3:.6g} mm chord; make it thinner or use the ellipse"
        )


def _places(family: str, t: float, end: float, panels: int) -> FloatArray:
    """(panels + 1,) places [chords] from 0 to end."""
    if family != "slab":
        return end * (1 - np.cos(np.linspace(0, np.pi, panels + 1))) / 2
    # The slab's corners must be points, or panels would cut them.
    nose_n, tail_n = round(0.4 * panels), round(0.3 * panels)
    h, shoulder = t / 2, 1 - SLAB_TAIL
    nose = h * (1 - np.cos(np.linspace(0, np.pi / 2, nose_n + 1)))
    face = np.linspace(h, shoulder, panels - nose_n - tail_n + 1)
    tail = np.linspace(shoulder, end, tail_n + 1)
    return np.concatenate([nose, face[1:], tail[1:]])


@lru_cache(maxsize=4096)
def _drawn_over(
    family: str, nose_index: float, greatest_at: float, t: float, r: float, blunt: float
) -> tuple[float, float]:
    """The chord that a family's law is drawn over, and where its own tail ends there.

    Args:
        family: one of ``FAMILIES``.
        nose_index: of the modified family.
        greatest_at: of the modified family.
        t: thickness over finished chord.
        r: radius of the tail over finished chord.
        blunt: thickness of a square tail over finished chord.

    Returns:
        The law's chord over the finished one, and the place in the law's chords where a rounded tail
        begins or a square one cuts (1: nowhere).
    """
    law, shoulder = _law(family, nose_index, greatest_at)

    def end(chord: float) -> float:
        if blunt:
            return _cut_place(law, shoulder, t / chord, blunt / chord)
        return _tangent_place(law, shoulder, t / chord, r / chord)

    def spare(chord: float) -> float:
        place = end(chord)
        if place < 1.0 and not blunt:
            y, slope = law(np.array([place]), t / chord)
            place = float(place + y[0] * slope[0] + r / chord)
        return chord * place - 1

    if not (r or blunt) or spare(1.0) >= 0:
        return 1.0, end(1.0) if r or blunt else 1.0
    try:
        longer = root(spare, 1.0, 1.2 / shoulder)
    except ValueError:
        raise GeometryError("the blade cannot hold the tail asked for: make it smaller") from None
    return longer, end(longer)


def _tangent_place(law: Law, shoulder: float, t: float, r: float) -> float:
    """Where the normal, from face to chord line, is as long as the radius (1.0: nowhere)."""

    def spare(x: float) -> float:
        y, slope = law(np.array([x]), t)
        return float(y[0] * np.hypot(1.0, slope[0])) - r

    high = 1 - 1e-9
    # Nowhere: the family's own tail is blunter than the radius asked for.
    return 1.0 if spare(high) >= 0 else root(spare, shoulder, high)


def _cut_place(law: Law, shoulder: float, t: float, blunt: float) -> float:
    """Where the law is as thick as the square tail (1: nowhere before the trailing edge)."""

    def spare(x: float) -> float:
        return float(2 * law(np.array([x]), t)[0][0]) - blunt

    return 1.0 if spare(1.0) >= 0 else root(spare, shoulder, 1.0)


def _tail_arc(x: float, y: float, slope: float, r: float) -> FloatArray:
    """(ARC_PANELS/2 + 1, 2) points of the upper half of the rounded tail, from the tangent point."""
    centre = x + y * slope
    angle = np.linspace(np.arctan2(y, x - centre), 0.0, ARC_PANELS // 2 + 1)
    return np.column_stack([centre + r * np.cos(angle), r * np.sin(angle)])
