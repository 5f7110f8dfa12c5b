"""Bars of known stiffness for the verification of beam theory: no section is solved for them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.loads import TipLoad
from mastcheck.beam.model import BeamModel
from mastcheck.section.model import SectionProperties

FloatArray = NDArray[np.float64]

LENGTH = 0.8
EI, GJ, EI_FORE_AFT = 1000.0, 800.0, 50_000.0
"""Stiffnesses of the base section [N·m²]; published factors are ratios, so that any will do."""
BASE = SectionProperties(
    EA=1e9, EIxx=EI, EIyy=EI_FORE_AFT, EIxy=0.0, GJ=GJ, EGamma=1e-9,
    # Shear next to rigid, since the closed forms leave it out.
    shear_flex_xx=1e-14, shear_flex_yy=1e-14, shear_flex_xy=0.0,
    centroid_x=0.0, centroid_y=0.0, shear_centre_x=0.0, shear_centre_y=0.0,
    mass_per_length=1.0, area=1e-3,
)  # fmt: skip
POINTS = 400
"""Forces that stand for a spread load: they leave some 1e-5."""


def scaled(s: float) -> SectionProperties:
    """The base section with every size times s: EI and GJ by the fourth power, mass by the second."""
    b = BASE
    return replace(
        b, EA=b.EA * s**2, EIxx=b.EIxx * s**4, EIyy=b.EIyy * s**4, GJ=b.GJ * s**4,
        EGamma=b.EGamma * s**6, mass_per_length=b.mass_per_length * s**2,
    )  # fmt: skip


def bar(*sections: SectionProperties) -> BeamModel:
    """A bar through evenly spaced sections."""
    return BeamModel(np.linspace(0, LENGTH, len(sections)), list(sections), [0.0, LENGTH])


def uniform(**changes: float) -> BeamModel:
    """A uniform bar of the base section with some of its properties changed."""
    return bar(*[replace(BASE, **changes)] * 3)  # type: ignore[arg-type]


def similar(tip: float, stations: int = 5) -> BeamModel:
    """A bar whose sizes fall linearly to ``tip`` of the base's."""
    return bar(*[scaled(1 - (1 - tip) * t) for t in np.linspace(0, 1, stations)])


def bent_only(tip: float, power: int, stations: int = 17) -> BeamModel:
    """A bar whose EI alone falls, as the ``power`` of a size that falls linearly to ``tip``."""
    sizes = 1 - (1 - tip) * np.linspace(0, 1, stations)
    return bar(*[replace(BASE, EIxx=EI * float(s) ** power) for s in sizes])


def spread(force: tuple[float, float, float], x: float = 0.0) -> TipLoad:
    """A load spread evenly over the length, by its total [N], ``x`` aft of the stacking line [m]."""
    at = np.zeros((POINTS, 3))
    at[:, 0], at[:, 2] = x, (np.arange(POINTS) + 0.5) / POINTS * LENGTH
    return TipLoad(spread=np.tile(np.array(force) / POINTS, (POINTS, 1)), spread_at=at)
