"""What a strength criterion found: the worst place of one case, with the rule it was judged by."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from mastcheck.source import Source


class Criterion(StrEnum):
    """Kinds of strength finding."""

    VON_MISES = "von Mises stress"
    MAX_STRAIN = "first ply, maximum strain"
    TSAI_WU = "first ply, Tsai-Wu"
    PLY_STRAIN = "greatest ply strain"
    CORE_SHEAR = "core shear stress"
    WRINKLING = "skin wrinkling stress"
    BUCKLING = "plate buckling stress"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """The worst place of one criterion in one case, at loads times the strength factor.

    ``value`` and ``limit`` are in ``unit`` as printed ("MPa", "‰", ""); ``limit`` and
    ``utilisation`` are None where nothing can be judged. ``z`` [m] from the base; ``xy`` [m]
    in section axes. ``where`` says the place in words (ply, angle, zone, face, class);
    ``material`` names what is judged; ``source`` is the rule's.
    """

    criterion: Criterion
    material: str
    value: float
    limit: float | None
    unit: str
    utilisation: float | None
    z: float
    xy: tuple[float, float]
    where: str
    source: Source

    @property
    def name(self) -> str:
        """The criterion and the material it judges, as printed."""
        return f"{self.criterion}, {self.material}"

    @property
    def basis(self) -> str:
        """The rule's source as printed, with its grade."""
        return str(self.source)
