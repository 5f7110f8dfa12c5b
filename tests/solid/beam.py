"""The beam's answers to the questions asked of the solids, and the same without the taper coupling."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.buckling import buckling
from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.model import BeamModel
from mastcheck.beam.modes import modes
from mastcheck.beam.solve import FrameModel
from mastcheck.checks.stations import SolvedMast
from mastcheck.mast import Mast
from mastcheck.section.ends import at_tip
from mastcheck.section.model import StressBasis

FloatArray = NDArray[np.float64]

NONE = (0.0, 0.0, 0.0)


def model(mast: Mast, found: SolvedMast, *, coupled: bool = True, restrained: bool = False) -> BeamModel:
    """The beam, its tip free to warp or held; uncoupled: no taper coupling, ends by Vlasov's theory."""
    ends = found.sections[0].end, found.sections[-1].end
    properties = [s.properties for s in found.sections]
    if not coupled:
        properties = [
            replace(p, fibre_before=NONE, fibre_after=NONE, contraction=NONE) for p in properties
        ]
    breaks = [s.at * mast.length for s in mast.stations]
    if not coupled:
        return BeamModel(found.z, properties, breaks, tip_restrained=restrained)
    tip = at_tip(ends[1]) if restrained and ends[1] is not None else None
    return BeamModel(
        found.z, properties, breaks, tip_restrained=restrained, base_end=ends[0], tip_end=tip
    )


def compliance(mast: Mast, found: SolvedMast, *, coupled: bool, restrained: bool) -> FloatArray:
    """Tip compliance (6, 6)."""
    return tip_compliance(model(mast, found, coupled=coupled, restrained=restrained))


def buckling_load(beam: BeamModel) -> float:
    """Least axial force at the tip's stacking line [N], keeping its direction, that buckles the beam."""
    return float(buckling(FrameModel(beam), [TipLoad(lift=1.0)]).factor[0])


def frequencies(beam: BeamModel, count: int) -> FloatArray:
    """Lowest natural frequencies [Hz] of the bare mast in air."""
    return modes(beam, FrameModel(beam), count=count).frequency


def beside_the_axis(beam: BeamModel, push: float, off: float) -> tuple[float, float]:
    """Side movement [m] of the tip, first and second order, under a dead push beside the mast's axis.

    The force [N] acts toward the base at a point ``off`` [m] to port that goes with the tip.
    """
    frame, load = FrameModel(beam), TipLoad(lift=push, arm=(0.0, off, 0.0))
    second = frame.solve([load])
    assert second.converged.all()
    return float(frame.solve_first_order([load])[0, 1]), float(second.displacement[0, -1, 1])


def interpolated(basis: StressBasis, values: FloatArray, points: FloatArray) -> FloatArray:
    """Nodal values (n, ...) of a stress basis at points (p, 2), linear over its triangles.

    A point that rounding puts just outside the mesh takes the nearest triangle.
    """
    corner = basis.points[basis.triangles]
    a = corner[:, 0]
    inverse = np.linalg.inv(np.stack([corner[:, 1] - a, corner[:, 2] - a], axis=2))
    out = np.empty((len(points), *values.shape[1:]))
    for i, p in enumerate(points):
        uv = np.einsum("tij,tj->ti", inverse, p - a)
        share = np.column_stack([1 - uv.sum(axis=1), uv])
        t = int(np.argmax(share.min(axis=1)))
        out[i] = np.einsum("a,a...->...", share[t], values[basis.triangles[t]])
    return out
