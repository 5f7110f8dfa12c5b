"""One mast asked the same questions as a beam and as a solid."""

from __future__ import annotations

import atexit
import importlib
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.stations import SolvedMast, solve_stations
from mastcheck.mast import Mast
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import solve_section
from tests.solid import beam, calculix, solve
from tests.solid.masts import MASTS
from tests.solid.mesh import Solid, solid

FloatArray = NDArray[np.float64]

MODES = 4
MESHES = {  # greatest edge of a triangle [m], layers (odd), height of the end layers [m]
    "uniform": (0.012, 31, 0.006),
    "tapered": (0.012, 31, 0.006),
    "hollow": (0.008, 31, 0.006),
}

QUANTITIES = {  # row and column of the tip compliance, order Fx Fy Fz Mx My Mz
    "side movement per side force": (1, 1),
    "fore-aft movement per fore-aft force": (0, 0),
    "shortening per axial force": (2, 2),
    "roll per roll moment": (3, 3),
    "pitch per pitch moment": (4, 4),
    "roll per side force": (3, 1),
    "pitch per fore-aft force": (4, 0),
    "twist per torque": (5, 5),
    "twist per side force": (5, 1),
    "twist per roll moment": (5, 3),
}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Pair:
    """A mast's beam, its solid, and a folder for the runs; answers are worked out once each."""

    mast: Mast
    found: SolvedMast
    solid: Solid
    folder: Path


def missing() -> str | None:
    """Why the solids cannot be solved on this machine, or None."""
    if calculix.program() is None:
        return "CalculiX is not installed (Debian: apt-get install calculix-ccx)"
    try:
        importlib.import_module("gmsh")
    except ImportError:
        return "gmsh is not installed (pip install gmsh)"
    except OSError as fault:
        return f"gmsh lacks a system library ({fault}); Debian: libglu1-mesa and the X11 libraries"
    return None


def pair(mast: Mast, mesh: tuple[float, int, float], folder: Path) -> Pair:
    """Beam and solid of a mast, not yet asked anything."""
    size, layers, finest = mesh
    return Pair(
        mast=mast,
        # Both ends solved for: the beam takes the tip's where it is asked for a rigid one.
        found=solve_stations(replace(mast, tip_warping="restrained")),
        solid=solid(mast, size=size, layers=layers, finest=finest),
        folder=folder,
    )


@lru_cache
def known(name: str) -> Pair:
    """One of the three masts on its usual mesh."""
    folder = Path(tempfile.mkdtemp(prefix="solid-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return pair(MASTS[name], MESHES[name], folder)


@lru_cache
def free_tip(of: Pair) -> solve.FreeTip:
    """The solid with a free tip: compliance, and stress at half length."""
    return solve.free_tip(of.folder, of.solid, of.mast.section.material)


@lru_cache
def rigid_tip(of: Pair, columns: Sequence[int] = solve.ALL) -> FloatArray:
    """The solid's compliance (6, 6) with a rigid tip; columns not asked for are NaN."""
    return solve.rigid_tip(of.folder, of.solid, of.mast.section.material, columns)


@lru_cache
def beam_compliance(of: Pair, *, rigid: bool, coupled: bool = True) -> FloatArray:
    """The beam's tip compliance (6, 6), with or without the taper coupling."""
    return beam.compliance(of.mast, of.found, coupled=coupled, restrained=rigid)


@lru_cache
def frequencies(of: Pair) -> tuple[FloatArray, FloatArray]:
    """Lowest natural frequencies [Hz] of beam and solid, tip free."""
    return (
        beam.frequencies(beam.model(of.mast, of.found), MODES),
        solve.frequencies(of.folder, of.solid, of.mast.section.material, MODES),
    )


@lru_cache
def buckling_loads(of: Pair) -> tuple[float, float]:
    """Buckling force [N] of beam and solid under a dead axial force at the stacking line, tip free."""
    return (
        beam.buckling_load(beam.model(of.mast, of.found)),
        solve.buckling_load(of.folder, of.solid, of.mast.section.material),
    )


@lru_cache
def middle_stress(of: Pair) -> tuple[FloatArray, FloatArray]:
    """Stress (p, 3, 6) at half length of beam and solid, at the same points, per unit tip load.

    sigma_zz, tau_zx, tau_zy [Pa]; loads in the tip compliance's order.
    """
    found = free_tip(of)
    section = solve_section(regions_at(of.mast, 0.5))
    # Resultants N, Vx, Vy, Mx, My, T, B of Fx, Fy, Fz, Mx, My, Mz half a length further on.
    resultants = np.zeros((7, 6))
    resultants[[1, 2, 0, 3, 4, 5], range(6)] = 1.0
    resultants[3, 1], resultants[4, 0] = -of.mast.length / 2, of.mast.length / 2
    nodal = np.einsum("kps,kc->psc", section.basis.fields, resultants)
    return beam.interpolated(section.basis, nodal, found.points[:, :2]), found.stress


def away_from_corners(of: Pair) -> NDArray[np.bool_]:
    """(p,) which points of the middle section lie further than a wall and a half from a hollow's ends.

    A hollow's nose and tail are sharp corners cut into the wall: by the theory of elasticity torsion's
    shear stress has no limit there, and each mesh has a value of its own.
    """
    points = free_tip(of).points
    out = np.ones(len(points), dtype=bool)
    wall = of.mast.stations[0].wall
    for ring in regions_at(of.mast, 0.5)[0].polygon.interiors:
        assert isinstance(wall, float)
        corner = np.asarray(ring.coords)
        for end in (corner[:, 0].argmin(), corner[:, 0].argmax()):
            out &= np.hypot(*(points[:, :2] - corner[end]).T) > 1.5 * wall
    return out


def rows(of: Pair, *, rigid: bool) -> list[tuple[str, float, float, float]]:
    """Name, beam without the coupling, beam with it, and solid, of the tip compliance's terms."""
    found = rigid_tip(of) if rigid else free_tip(of).compliance
    plain, coupled = (beam_compliance(of, rigid=rigid, coupled=c) for c in (False, True))
    return [(name, plain[k], coupled[k], found[k]) for name, k in QUANTITIES.items()]
