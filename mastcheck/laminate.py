"""Plies, laminates and classical laminate theory: pure numbers."""

from __future__ import annotations

from dataclasses import dataclass

from mastcheck.source import Source


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

    @property
    def thickness(self) -> float:
        """Total thickness [m]."""
        return sum(ply.thickness for ply in self.plies)
