"""Outlines that come from a file: coordinate lists and drawings, as plain numbers.

Both keep the leading edge at x = 0 and run aft along x, y to port. Reading them is ``files``' work.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.material import Material

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Coordinates:
    """A foil section given by points, scaled by chord and thickness where it is used.

    ``points`` (n, 2): closed ring, counter-clockwise from the trailing edge (over the port side to
    the nose and back), first point not repeated, x from 0 to 1, greatest height difference across
    """

    points: FloatArray
    file: str = ""
    sha256: str = ""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DrawnLoop:
    """One closed loop of a drawing [m]: counter-clockwise ring (n, 2), first point not repeated.

    ``parent`` is the place of the loop around it in ``Drawing.loops`` (None for the outermost);
    ``fill`` is the material inside it, down to the loops within; None is a void.
    """

    points: FloatArray
    parent: int | None
    fill: Material | None
    layer: str = "0"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Drawing:
    """Closed loops of a section drawn to size, the outermost first and parents before children.

    The outermost loop's leading edge is at x = 0 and its mid-height at y = 0; ``chord`` and
    ``thickness`` are its width and height [m]. Loops of one parent are in order of their least x.
    """

    loops: tuple[DrawnLoop, ...]
    chord: float
    thickness: float
    file: str = ""
    sha256: str = ""
