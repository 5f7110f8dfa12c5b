"""Plies, laminates and classical laminate theory: pure numbers.

Axes of a wall: z along the mast (base to tip), s along the contour, as seen from outside. Theory:
Jones, *Mechanics of Composite Materials*, and Kaw, same title, from memory; the numbers are held
to worked examples by the tests.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mastcheck.errors import GeometryError
from mastcheck.source import Source
from mastcheck.units import UnitError, shown

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lamina:
    """One cured ply material in its own axes: 1 along the fibres (warp), 2 across, SI units.

    E1, E2, G12 [Pa], nu12, density [kg/m³]; strengths [Pa], all positive: Xt, Xc along the fibres
    in tension and compression, Yt, Yc across them, S12 in shear; all five or none (then strength is
    reported, not judged). ``gamma`` is the partial factor on all five.
    """

    name: str
    E1: float
    E2: float
    G12: float
    nu12: float
    density: float
    source: Source
    Xt: float | None = None
    Xc: float | None = None
    Yt: float | None = None
    Yc: float | None = None
    S12: float | None = None
    gamma: float = 2.0
    galvanic_group: str = ""
    note: str = ""

    @property
    def strengths(self) -> tuple[float, float, float, float, float] | None:
        """Xt, Xc, Yt, Yc, S12 [Pa], or None where any is not stated."""
        Xt, Xc, Yt, Yc, S = self.Xt, self.Xc, self.Yt, self.Yc, self.S12
        if Xt is None or Xc is None or Yt is None or Yc is None or S is None:
            return None
        return Xt, Xc, Yt, Yc, S


@dataclass(frozen=True, slots=True, kw_only=True)
class Ply:
    """A ply of a laminate: its lamina, fibre angle from the mast's axis [rad], thickness [m].

    Angles are seen from outside the mast and turn the same way around it on both faces, as a
    braided sleeve does: positive from the mast's axis (base to tip) toward the contour's
    counter-clockwise running direction.
    """

    lamina: Lamina
    angle: float
    thickness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Laminate:
    """Plies from the outside in, and the product of the stated knock-downs on their strengths."""

    plies: tuple[Ply, ...]
    knock_down: float = 1.0

    def __hash__(self) -> int:
        # Enough to tell laminates apart, in a small part of the time that all of every lamina takes.
        return hash((self.knock_down, *((p.lamina.name, p.angle, p.thickness) for p in self.plies)))

    @property
    def thickness(self) -> float:
        """Total thickness [m]."""
        return sum(ply.thickness for ply in self.plies)

    @property
    def gamma(self) -> float:
        """The largest partial factor of its laminas."""
        return max(ply.lamina.gamma for ply in self.plies)


@dataclass(frozen=True, slots=True, kw_only=True)
class Membrane:
    """Membrane stiffness of a long closed thin-walled beam's wall, with no hoop force (N_s = 0).

    K11, K16, K66 [N/m] tie (N_z, N_zs) to (eps_z, gamma_zs); h [m] is the thickness.
    ``unsymmetry``: size of B against that of A and D, 0 for a symmetrical layup.
    """

    K11: float
    K16: float
    K66: float
    h: float
    unsymmetry: float

    @property
    def E(self) -> float:
        """Modulus along the mast, shear strain held at nil [Pa]."""
        return self.K11 / self.h

    @property
    def G(self) -> float:
        """Shear modulus, strain along the mast held at nil [Pa]."""
        return self.K66 / self.h

    @property
    def E_released(self) -> float:
        """Modulus along the mast with the wall free to shear [Pa]."""
        return self.E / self.twist_ratio

    @property
    def coupling(self) -> float:
        """Normalised coupling of stretch and shear, K16/sqrt(K11 K66): -1 to 1, 0 if balanced."""
        return self.K16 / math.sqrt(self.K11 * self.K66)

    @property
    def twist_ratio(self) -> float:
        """Twist of a closed tube of this wall all around, free to stretch, over T/GJ.

        The same ratio holds for its stretch over N/EA (free to twist) and its curvature over M/EI
        (free to shear): a wall of a tube that carries no torque has no shear force.
        """
        return 1 / (1 - self.coupling**2)


def reduced_stiffness(lamina: Lamina) -> FloatArray:
    """Q (3, 3) [Pa] of a lamina in plane stress, in its own axes (1, 2, 12).

    Raises: GeometryError for constants no material can have (nu12² not below E1/E2).
    """
    nu21 = lamina.nu12 * lamina.E2 / lamina.E1
    slack = 1 - lamina.nu12 * nu21
    if min(lamina.E1, lamina.E2, lamina.G12) <= 0 or slack <= 0:
        raise GeometryError(
            f"lamina {lamina.name}: E1, E2 and G12 must be above 0 and nu12 below the root of E1/E2;"
            " check the units and that E1 is along the fibres"
        )
    Q11, Q22 = lamina.E1 / slack, lamina.E2 / slack
    Q12 = nu21 * Q11
    return np.array([[Q11, Q12, 0.0], [Q12, Q22, 0.0], [0.0, 0.0, lamina.G12]])


def strain_to_ply(angle: float) -> FloatArray:
    """(3, 3): engineering strains (z, s, zs) of the wall to those of a ply (1, 2, 12) at ``angle``."""
    c, s = math.cos(angle), math.sin(angle)
    cs = c * s
    return np.array([[c * c, s * s, cs], [s * s, c * c, -cs], [-2 * cs, 2 * cs, c * c - s * s]])


def turned_stiffness(lamina: Lamina, angle: float) -> FloatArray:
    """Q-bar (3, 3) [Pa] of a ply at ``angle`` [rad] in the wall's axes (z, s, zs)."""
    T = strain_to_ply(angle)
    return np.asarray(T.T @ reduced_stiffness(lamina) @ T)


@lru_cache(maxsize=256)
def abd(laminate: Laminate) -> tuple[FloatArray, FloatArray, FloatArray]:
    """A [N/m], B [N] and D [N·m], each (3, 3), about the middle surface.

    Plies run from the outside in, and so does the thickness coordinate. Plies of no thickness
    (dropped) are left out.

    Raises: GeometryError when no ply has a thickness, or a lamina's constants are impossible.
    """
    h = laminate.thickness
    if not h > 0:
        raise GeometryError("a laminate without thickness: no ply is left here")
    A, B, D = np.zeros((3, 3)), np.zeros((3, 3)), np.zeros((3, 3))
    low = -h / 2
    for ply in laminate.plies:
        high = low + ply.thickness
        if ply.thickness > 0:
            Q = turned_stiffness(ply.lamina, ply.angle)
            A += Q * (high - low)
            B += Q * (high**2 - low**2) / 2
            D += Q * (high**3 - low**3) / 3
        low = high
    for matrix in (A, B, D):
        matrix.flags.writeable = False  # kept for the next to ask
    return A, B, D


@lru_cache(maxsize=256)
def membrane(laminate: Laminate) -> Membrane:
    """Membrane stiffness along the mast and in shear with N_s = 0, wall curvature held at nil.

    A closed section holds its walls' curvature, so B does not enter; ``unsymmetry`` names it:
    the Frobenius norm of B over the root of those of A and D.
    Raises: GeometryError as ``abd``.
    """
    A, B, D = abd(laminate)
    size = math.sqrt(float(np.linalg.norm(A) * np.linalg.norm(D)))
    return Membrane(
        K11=float(A[0, 0] - A[0, 1] ** 2 / A[1, 1]),
        K16=float(A[0, 2] - A[0, 1] * A[1, 2] / A[1, 1]),
        K66=float(A[2, 2] - A[1, 2] ** 2 / A[1, 1]),
        h=laminate.thickness,
        unsymmetry=float(np.linalg.norm(B)) / size,
    )


def bending(laminate: Laminate) -> FloatArray:
    """Bending stiffness (3, 3) [N·m] of the wall free to stretch, D - B A⁻¹ B: D if symmetrical."""
    A, B, D = abd(laminate)
    return np.asarray(D - B @ np.linalg.solve(A, B))


# --- the standard laminate code -----------------------------------------------------------------

MOST_PLIES = 1000
"""A code for more plies than this is taken for a slip."""

MOST_BRACKETS = 50

_EXAMPLE = 'write it like "[0/±45/90]2s" (degrees; outermost ply first)'
_ITEM = re.compile(
    r"(±|∓|\+-|-\+|[+-])?\s*(\d{1,3}(?:\.\d{1,6})?)\s*(?:°|deg)?\s*(?:_\s*(\d{1,4}))?", re.ASCII
)
_AFTER = re.compile(r"\s*_?\s*(\d{1,4}|[sStT](?![a-zA-Z]))", re.ASCII)
_SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_OPEN = {"[": "]", "(": ")", "{": "}"}


def parse_code(text: str) -> tuple[float, ...]:
    """Ply angles [deg], outermost first, of a layup in the standard laminate code.

    Numbers with ±, ∓, +-, -+; a repeat as ``_2`` or a subscript; slashes or commas between; brackets
    may nest; after a bracket a repeat count and ``s`` (symmetrical), in the order written, or ``T``
    (total). Raises: UnitError saying what was found, the rule it breaks, and the remedy.

    >>> parse_code("[0/±45/90]s")
    (0.0, 45.0, -45.0, 90.0, 90.0, -45.0, 45.0, 0.0)
    """
    plain = re.sub(r"[₀-₉]+", lambda m: "_" + m[0].translate(_SUBSCRIPTS), text)
    plain = plain.replace("−", "-").replace("–", "-").replace("+/-", "±").strip()
    if sum(c in _OPEN for c in plain) > MOST_BRACKETS:
        raise UnitError(shown(text), f"has more than {MOST_BRACKETS} brackets", _EXAMPLE)
    angles, end = _sequence(plain, 0, "", text)
    if end != len(plain):
        raise UnitError(shown(text), f"not understood from {shown(plain[end:], 20)} on", _EXAMPLE)
    return tuple(angles)


def _sequence(s: str, at: int, closing: str, text: str) -> tuple[list[float], int]:
    """Angles of items between separators, up to the closing bracket or the end of the text."""
    out: list[float] = []
    while True:
        at = _skip(s, at)
        part, at = _group(s, at, text) if at < len(s) and s[at] in _OPEN else _item(s, at, text)
        out += part
        if len(out) > MOST_PLIES:
            raise UnitError(shown(text), f"stands for more than {MOST_PLIES} plies", "check its repeats")
        at = _skip(s, at)
        if at < len(s) and s[at] in "/,":
            at += 1
            continue
        if closing and (at >= len(s) or s[at] != closing):
            found = f"found {shown(s[at], 4)}" if at < len(s) else "the code ends"
            raise UnitError(shown(text), f"{closing} is missing: {found}", _EXAMPLE)
        return out, at


def _group(s: str, at: int, text: str) -> tuple[list[float], int]:
    """A bracket, and the repeat count and symmetry after it."""
    angles, at = _sequence(s, at + 1, _OPEN[s[at]], text)
    at += 1
    while match := _AFTER.match(s, at):
        mark, at = match[1], match.end()
        if mark.isdigit():
            angles = angles * _repeat(mark, text) if len(angles) <= MOST_PLIES else angles
        elif mark in "sS":
            angles = angles + angles[::-1]
    return angles, at


def _item(s: str, at: int, text: str) -> tuple[list[float], int]:
    match = _ITEM.match(s, at)
    if match is None:
        found = shown(s[at : at + 12], 20) if at < len(s) else "the end"
        raise UnitError(shown(text), f"an angle in degrees is wanted where {found} stands", _EXAMPLE)
    sign, number, repeat = match.groups()
    angle = float(number)
    if angle > 180:
        rule = f"{number} degrees is no ply angle"
        raise UnitError(shown(text), rule, "give angles from -90 to 90 degrees")
    first = -angle if sign in ("-", "∓", "-+") else angle
    angles = [first + 0.0, -first + 0.0] if sign in ("±", "∓", "+-", "-+") else [first + 0.0]
    return angles * (1 if repeat is None else _repeat(repeat, text)), match.end()


def _repeat(digits: str, text: str) -> int:
    count = int(digits)
    if not 1 <= count <= MOST_PLIES:
        raise UnitError(shown(text), f"a repeat of {count}", f"repeat 1 to {MOST_PLIES} times")
    return count


def _skip(s: str, at: int) -> int:
    while at < len(s) and s[at].isspace():
        at += 1
    return at
