"""Materials: elastic constants, density, strength and the source of each."""

from __future__ import annotations

from dataclasses import dataclass

from mastcheck.laminate import Laminate
from mastcheck.source import Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A material in SI units; E along the mast, G in the plane of the wall.

    E, G [Pa]; density [kg/m³]; strengths [Pa] or None (then strength is reported, not
    judged). ``gamma_proof`` and ``gamma_ultimate`` are partial factors on the two strengths.
    ``shear_strength`` [Pa] is a core's, judged over ``gamma_proof``. ``laminate`` holds the plies
    whose membrane stiffness E and G are; then the plies are judged, and no strength is stated here.
    """

    name: str
    E: float
    G: float
    density: float
    source: Source
    proof_strength: float | None = None
    ultimate_strength: float | None = None
    gamma_proof: float = 1.10
    gamma_ultimate: float = 1.25
    shear_strength: float | None = None
    laminate: Laminate | None = None
    galvanic_group: str = ""
    note: str = ""

    @property
    def nu(self) -> float:
        """Poisson's ratio that E and G imply, E/(2G) - 1 (may pass 0.5 for laminates)."""
        return self.E / (2 * self.G) - 1

    @property
    def design_strength(self) -> float | None:
        """Lower of proof and ultimate strength, each over its partial factor [Pa]."""
        known = [
            strength / gamma
            for strength, gamma in (
                (self.proof_strength, self.gamma_proof),
                (self.ultimate_strength, self.gamma_ultimate),
            )
            if strength is not None
        ]
        return min(known) if self.proof_strength is not None else None
