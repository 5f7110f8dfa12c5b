"""Section stiffness as smooth functions of z, from sections solved at a few stations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.spline import CubicSpline
from mastcheck.section.model import SectionProperties

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# A scaled section has EI ~ size⁴, EA ~ size², EGamma ~ size⁶, shear flexibility ~ size⁻²: the
# roots are nearly linear along a taper, so their splines need few stations.
_POWER = {
    "EA": 1 / 2,
    "EIxx": 1 / 4,
    "EIyy": 1 / 4,
    "EIxy": 1.0,
    "GJ": 1 / 4,
    "EGamma": 1 / 6,
    "shear_flex_xx": -1 / 2,
    "shear_flex_yy": -1 / 2,
    "shear_flex_xy": 1.0,
    "centroid_x": 1.0,
    "centroid_y": 1.0,
    "shear_centre_x": 1.0,
    "shear_centre_y": 1.0,
    "mass_per_length": 1 / 2,
}

_FIBRE = ("fibre_e", "fibre_x", "fibre_y")
_CONTRACTION = ("contraction_e", "contraction_x", "contraction_y")
_MASS = ("mass_x", "mass_y", "mass_yy", "mass_xx", "mass_xy")
ROOTS = {**_POWER, **dict.fromkeys((*_FIBRE, *_CONTRACTION, *_MASS), 1.0)}
"""Every property along z, with the power of it that is splined."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SectionStiffness:
    """Beam stiffness at m places, all about the stacking line.

    flexibility (m, 3, 3): strains (axial, kappa_x, kappa_y) per (N, Mx, My).
    shear (m, 2, 2): shear strains per (Vx, Vy). GJ, EGamma (m,). shear_centre (m, 2) [m].
    fibre (m, 3): torque that (N, Mx, My) carry along inclined fibres, which twists nothing.
    contraction (m, 3): work of the strains' contraction on varying torsion (``section.taper``).
    """

    flexibility: FloatArray
    shear: FloatArray
    GJ: FloatArray
    EGamma: FloatArray
    shear_centre: FloatArray
    fibre: FloatArray
    contraction: FloatArray


class BeamModel:
    """Splines of section properties along z, with breaks where the mast's outline breaks.

    Args:
        z: solved places (n,) [m], base to tip.
        properties: section properties at them.
        breaks: z of the mast's own stations, ends included [m].
        tip_restrained: whether the tip's warping is held.
        base_end: compliance (6, 6) that the base, fixed all over, adds to restrained warping, for loads
            at its stacking line, order Fx Fy Fz Mx My Mz (``section.ends``); None: nothing.
        tip_end: that of a restrained tip.
    """

    def __init__(
        self,
        z: FloatArray,
        properties: Sequence[SectionProperties],
        breaks: Sequence[float],
        *,
        tip_restrained: bool = False,
        base_end: FloatArray | None = None,
        tip_end: FloatArray | None = None,
    ) -> None:
        self.length = float(breaks[-1])
        self.breaks = np.asarray(breaks, dtype=float)
        self.tip_restrained = tip_restrained
        self.base_end, self.tip_end = base_end, tip_end
        values = np.array([[getattr(p, name) for name in _POWER] for p in properties])
        roots = values ** np.array(list(_POWER.values()))
        tol = 1e-9 * self.length
        self._splines: list[CubicSpline] = []
        for lo, hi in zip(self.breaks[:-1], self.breaks[1:], strict=True):
            inside = (z >= lo - tol) & (z <= hi + tol)
            own = [p for p, chosen in zip(properties, inside, strict=True) if chosen]
            # At a kink each side has its own taper; between kinks the sides are two looks at one.
            sides = np.array([(p.fibre_before, p.fibre_after) for p in own])
            fibre = sides.mean(axis=1)
            fibre[0], fibre[-1] = sides[0, 1], sides[-1, 0]
            contraction = np.array([p.contraction for p in own])
            moments = np.array([p.mass_moments for p in own])
            self._splines.append(
                CubicSpline(z[inside], np.hstack([roots[inside], fibre, contraction, moments]))
            )

    def at(self, z: FloatArray, interval: int | IntArray | None = None) -> dict[str, FloatArray]:
        """Properties at z of any shape; ``interval`` picks the side of a break, else the one above."""
        z = np.asarray(z, dtype=float)
        if interval is None:
            above = np.searchsorted(self.breaks, z, side="right") - 1
            interval = np.clip(above, 0, len(self._splines) - 1)
        which = np.broadcast_to(interval, z.shape)
        roots = np.empty((*z.shape, len(ROOTS)))
        for i, spline in enumerate(self._splines):
            chosen = which == i
            if chosen.any():
                roots[chosen] = spline(z[chosen])
        return {
            name: roots[..., k] if power == 1 else roots[..., k] ** (1 / power)
            for k, (name, power) in enumerate(ROOTS.items())
        }

    def stiffness(self, z: FloatArray, interval: int | IntArray | None = None) -> SectionStiffness:
        """Section flexibility at z (m,), or of any shape, about the stacking line."""
        p = self.at(z, interval)
        xc, yc, EA = p["centroid_x"], p["centroid_y"], p["EA"]
        # sigma = E (e0 + kappa_x y - kappa_y x); N = ∫σ, Mx = ∫yσ, My = -∫xσ.
        k = np.empty((*EA.shape, 3, 3))
        k[..., 0, 0] = EA
        k[..., 0, 1] = k[..., 1, 0] = EA * yc
        k[..., 0, 2] = k[..., 2, 0] = -EA * xc
        k[..., 1, 1] = p["EIxx"] + EA * yc**2
        k[..., 1, 2] = k[..., 2, 1] = -(p["EIxy"] + EA * xc * yc)
        k[..., 2, 2] = p["EIyy"] + EA * xc**2
        shear = np.empty((*EA.shape, 2, 2))
        shear[..., 0, 0] = p["shear_flex_xx"]
        shear[..., 1, 1] = p["shear_flex_yy"]
        shear[..., 0, 1] = shear[..., 1, 0] = p["shear_flex_xy"]
        # A section that hardly warps (a round tube) gets a floor, so that the warping
        # equation keeps its order; it then decays over a hundred-thousandth of the length.
        EGamma = np.maximum(p["EGamma"], p["GJ"] * (self.length * 1e-5) ** 2)
        flexibility = np.linalg.inv(k)
        fibre = np.stack([p[name] for name in _FIBRE], axis=-1)
        return SectionStiffness(
            flexibility=flexibility,
            shear=shear,
            GJ=p["GJ"],
            EGamma=EGamma,
            shear_centre=np.stack([p["shear_centre_x"], p["shear_centre_y"]], axis=-1),
            fibre=np.einsum("...ij,...j->...i", flexibility, fibre),
            contraction=np.stack([p[name] for name in _CONTRACTION], axis=-1),
        )

    def warping_length(self, z: float) -> float:
        """Decay length of restrained warping, sqrt(EGamma/GJ) [m], at z."""
        s = self.stiffness(np.array([z]))
        return float(np.sqrt(s.EGamma[0] / s.GJ[0]))

    def inertia(self, z: FloatArray, interval: int | None = None) -> FloatArray:
        """Mass of a slice per length (m, 6, 6) for velocities (u, θ) at the stacking line, at z."""
        p = self.at(z, interval)
        m, x, y = p["mass_per_length"], p["mass_x"], p["mass_y"]
        out = np.zeros((*m.shape, 6, 6))
        out[..., [0, 1, 2], [0, 1, 2]] = m[..., None]
        # A point at (x, y) moves by u + θ × (x, y, 0).
        for i, j, value in ((0, 5, -y), (1, 5, x), (2, 3, y), (2, 4, -x)):
            out[..., i, j] = out[..., j, i] = value
        out[..., 3, 3], out[..., 4, 4] = p["mass_yy"], p["mass_xx"]
        out[..., 5, 5] = p["mass_yy"] + p["mass_xx"]
        out[..., 3, 4] = out[..., 4, 3] = -p["mass_xy"]
        return out

    def mass(self) -> float:
        """Mass of the blade [kg]."""
        return sum(
            float(_gauss(lo, hi)[1] @ self.at(_gauss(lo, hi)[0], i)["mass_per_length"])
            for i, (lo, hi) in enumerate(zip(self.breaks[:-1], self.breaks[1:], strict=True))
        )


def _gauss(lo: float, hi: float, n: int = 24) -> tuple[FloatArray, FloatArray]:
    x, w = np.polynomial.legendre.leggauss(n)
    return lo + (hi - lo) * (x + 1) / 2, w * (hi - lo) / 2
