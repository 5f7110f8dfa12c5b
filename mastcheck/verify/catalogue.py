"""Every computation by its name: the closed list that the rows of the table choose from."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from mastcheck.verify import (
    beams,
    bolts,
    box,
    fatigue,
    joints,
    laminates,
    materials,
    motion,
    outlines,
    plates,
    plies,
    sections,
    stability,
    strength,
    tolerances,
    water,
)
from mastcheck.verify.given import Compute


def _joined(*parts: Mapping[str, Compute]) -> Mapping[str, Compute]:
    whole: dict[str, Compute] = {}
    for part in parts:
        if twice := whole.keys() & part.keys():
            raise ValueError(f"two computations are called {', '.join(sorted(twice))}")
        whole.update(part)
    return MappingProxyType(whole)


COMPUTATIONS = _joined(
    outlines.COMPUTATIONS,
    sections.COMPUTATIONS,
    materials.COMPUTATIONS,
    laminates.COMPUTATIONS,
    box.COMPUTATIONS,
    strength.COMPUTATIONS,
    plies.COMPUTATIONS,
    plates.COMPUTATIONS,
    fatigue.COMPUTATIONS,
    beams.COMPUTATIONS,
    stability.COMPUTATIONS,
    motion.COMPUTATIONS,
    bolts.COMPUTATIONS,
    joints.COMPUTATIONS,
    tolerances.COMPUTATIONS,
    water.COMPUTATIONS,
)
"""Name to computation: each takes what its row gives, and returns a value in SI."""
