"""Beams for tests: section properties without a section, so that beam theory is tested alone."""

from __future__ import annotations

import numpy as np

from mastcheck.beam.model import BeamModel
from mastcheck.section.model import SectionProperties

EI, GJ, EIYY = 1000.0, 800.0, 50_000.0


def properties(scale: float = 1.0, **changes: float) -> SectionProperties:
    """A section whose stiffness scales as a similar section of size ``scale``; shear nearly rigid."""
    values = {
        "EA": 1e9 * scale**2, "EIxx": EI * scale**4, "EIyy": EIYY * scale**4, "EIxy": 0.0,
        "GJ": GJ * scale**4, "EGamma": 1e-9 * scale**6,
        "shear_flex_xx": 1e-14, "shear_flex_yy": 1e-14, "shear_flex_xy": 0.0,
        "centroid_x": 0.0, "centroid_y": 0.0, "shear_centre_x": 0.0, "shear_centre_y": 0.0,
        "mass_per_length": 1.0, "area": 1e-3,
    }  # fmt: skip
    return SectionProperties(**(values | changes))


def beam(*sections: SectionProperties, length: float = 0.8, tip_restrained: bool = False) -> BeamModel:
    """A beam through evenly spaced sections."""
    return BeamModel(
        np.linspace(0, length, len(sections)), sections, [0, length], tip_restrained=tip_restrained
    )


def uniform(length: float = 0.8, **changes: float) -> BeamModel:
    """A uniform beam."""
    return beam(*[properties(**changes)] * 3, length=length)
