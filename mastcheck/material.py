"""Materials: elastic constants, density, strength and the source of each."""

from __future__ import annotations

from dataclasses import dataclass

from mastcheck.laminate import Lamina, Laminate, membrane
from mastcheck.source import Grade, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A material in SI units; E along the mast, G in the plane of the wall.

    E, G [Pa]; density [kg/m³]; strengths [Pa] or None (then strength is reported, not
    judged). ``gamma_proof`` and ``gamma_ultimate`` are partial factors on the two strengths.
    ``shear_strength`` [Pa] is a core's, judged over ``gamma_proof``. ``laminate`` holds the plies
    whose membrane stiffness E and G are; then the plies are judged, and no strength is stated here.
    ``thickness_to`` [m]: the strengths hold for walls up to it (None: no bound stated).
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
    thickness_to: float | None = None
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

    @property
    def design_shear_strength(self) -> float | None:
        """A core's shear strength over its partial factor [Pa]."""
        return None if self.shear_strength is None else self.shear_strength / self.gamma_proof

    @property
    def laminas(self) -> tuple[Lamina, ...]:
        """The different laminas of its plies, outside in; none if it is not a laminate."""
        plies = () if self.laminate is None else self.laminate.plies
        return tuple({ply.lamina.name: ply.lamina for ply in plies if ply.thickness > 0}.values())

    @property
    def judged(self) -> bool:
        """Whether strengths are stated for all of it (all its laminas, or itself)."""
        if self.laminate is not None:
            return all(lamina.strengths is not None for lamina in self.laminas)
        return self.design_strength is not None or self.shear_strength is not None


def laminate_material(name: str, laminate: Laminate) -> Material:
    """The homogenised wall of a laminate: E along the mast and G in its plane, N_s = 0.

    E = K11/h holds the shear strain at nil and G = K66/h the stretch, so that EA and GJ are those
    of the wall before coupling; for an unbalanced layup both are too stiff for a mast that is free
    to twist and stretch (``Membrane.twist_ratio``). Density by thickness. The source is the
    theory with the laminas' own, at the grade of the least trusted.

    Raises: GeometryError for no plies, or impossible constants.
    """
    m = membrane(laminate)
    plies = [ply for ply in laminate.plies if ply.thickness > 0]
    laminas = {ply.lamina.name: ply.lamina for ply in plies}.values()
    groups = [lamina.galvanic_group for lamina in laminas if lamina.galvanic_group]
    carbon = [g for g in groups if g.startswith(("carbon", "graphite"))]
    return Material(
        name=name,
        E=m.E,
        G=m.G,
        density=sum(ply.lamina.density * ply.thickness for ply in plies) / m.h,
        source=Source(
            title="classical laminate theory, no hoop force; "
            + "; ".join(f"{lamina.name}: {lamina.source}" for lamina in laminas)
            + "; on the whole",
            grade=max((lamina.source.grade for lamina in laminas), key=_DOUBT.index),
        ),
        laminate=laminate,
        galvanic_group=(carbon or groups or [""])[0],
        note="; ".join(f"{lamina.name}: {lamina.note}" for lamina in laminas if lamina.note),
    )


_DOUBT = [
    Grade.MEASURED, Grade.STANDARD, Grade.USER, Grade.MEMORY, Grade.ASSUMED, Grade.PRACTICE,
]  # fmt: skip
"""Grades from the most to the least trusted."""
