"""Stiffness factors from a bench, put on solved sections: movement changes, strength does not.

The unit stress fields are left alone: the stress of a given moment in a section of a given shape does
not depend on how stiff the whole is. Nor are mass and shear flexibility touched.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.mast import Calibration
from mastcheck.section.model import SectionModel, SectionProperties

FloatArray = NDArray[np.float64]


def calibrated(section: SectionModel, calibration: Calibration) -> SectionModel:
    """The section with its bending and torsion stiffness multiplied by the factors."""
    return replace(
        section,
        properties=scaled(
            section.properties,
            side=calibration.factor_EI_side,
            fore_aft=calibration.factor_EI_fore_aft,
            torsion=calibration.factor_GJ,
        ),
        # All it holds is twist or comes from torque.
        end=None if section.end is None else section.end / calibration.factor_GJ,
    )


def scaled(p: SectionProperties, *, side: float, fore_aft: float, torsion: float) -> SectionProperties:
    """Properties with EI_side, EI_fore_aft and GJ multiplied.

    EIxy goes with the root of both bending factors, so that the section stays positive definite.
    Warping stiffness goes with GJ, so that the length over which warping decays stays. The torque
    carried along inclined fibres is geometry: per unit moment it stays, so that per unit strain it
    goes with the bending stiffness.
    """
    out = replace(
        p,
        EIxx=p.EIxx * side,
        EIyy=p.EIyy * fore_aft,
        EIxy=p.EIxy * float(np.sqrt(side * fore_aft)),
        GJ=p.GJ * torsion,
        EGamma=p.EGamma * torsion,
    )
    before, after = _stiffness(p), _stiffness(out)

    def fibre(torque: tuple[float, float, float]) -> tuple[float, float, float]:
        e, x, y = (float(v) for v in after @ np.linalg.solve(before, np.array(torque)))
        return e, x, y

    return replace(out, fibre_before=fibre(p.fibre_before), fibre_after=fibre(p.fibre_after))


def _stiffness(p: SectionProperties) -> FloatArray:
    """(N, Mx, My) per (axial strain, kappa_x, kappa_y), about the stacking line, as the beam has it."""
    ex, ey, both = (
        -p.EA * p.centroid_x,
        p.EA * p.centroid_y,
        -(p.EIxy + p.EA * p.centroid_x * p.centroid_y),
    )
    return np.array(
        [
            [p.EA, ey, ex],
            [ey, p.EIxx + p.EA * p.centroid_y**2, both],
            [ex, both, p.EIyy + p.EA * p.centroid_x**2],
        ]
    )
