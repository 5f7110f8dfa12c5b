"""What every reader must see beside the numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from mastcheck.checks.coupling import materials_of, unsymmetrical, worst_coupling
from mastcheck.checks.result import CaseResult, Criterion
from mastcheck.checks.thickness import beyond_range
from mastcheck.job import Job
from mastcheck.loadcase import Lift
from mastcheck.mast import Construction
from mastcheck.material import Material
from mastcheck.section.model import SectionModel

GENERAL = (
    "A calculation aid, not an approval: a qualified structural review, local rules and the "
    "makers' instructions come first. A mast that breaks can hurt people.",
    "The base plate, screws, socket and adapters are not in these numbers: a real mast, measured "
    "with its joints, is softer. Screw holes, welds, fatigue, impact, corrosion and manufacturing "
    "faults need checks of their own.",
    "Load cases and partial factors are common practice recalled from memory, with no source: "
    "edit them to your own use.",
)
TAPER = (
    "Twist under side force of a tapered mast is within 4 % of solid models, and its small twist under "
    "roll moment within 24 %: the taper's coupling of bending and twist is modelled, but a root that "
    "also holds back the warping of shear is not."
)
FOLLOWER = (
    "Case {name}: a lift that turns with the wing has no static buckling load, and a static answer "
    "is no proof that it is stable; its buckling factor is that of a lift that keeps its direction."
)
CORNERS = (
    "Torsion stress at the sharp inner corners of a hollow depends on their radius, here a tenth of "
    "the wall: a sharper corner in the metal sees more."
)
ALUMINIUM = (
    "Aluminium corrodes beside stainless steel, titanium or carbon in salt water: isolate screws and "
    "plates with compound or sleeves, rinse, and take the joints apart regularly."
)
CARBON = "Carbon eats aluminium and zinc parts it touches in salt water: isolate every contact."
CORE = (
    "The bond between skin and core, core crushing at fittings, and dents are not checked. Wrinkling of "
    "a skin on its core is judged by Hoff's rule with 0.5 in place of theory's 0.91, from memory."
)
STIFF = (
    "{names}: a core this stiff along the mast carries bending stress of its own, which is not judged."
)
STIFF_CORE = 1e9
"""A core's E [Pa] above which its own bending stress is worth naming: wood, not foam."""
PLATE = (
    "Plate buckling of faces over a hollow is judged by rules recalled from memory: each face hinged at "
    "the ends of its hollow, pressed all over as at its worst point. Shear buckling is not checked."
)
PLIES = (
    "Plies are judged one by one up to the first failure, each given the strain of the wall's worst "
    "point. Strains left by cure, heat and water, free edges, ply ends, delamination and fatigue are "
    "not in it: test your own laminate."
)
PLAIN_LAMINATE = (
    "{names}: a laminate judged by von Mises stress against one strength is a first look, not a "
    "laminate check; list its plies for that."
)
DRAWN = (
    "Stress at a sharp inner corner of a drawing has no true value, and grows with a finer mesh: draw "
    "the radius that will be made."
)


def cautions(
    job: Job, cases: tuple[CaseResult, ...], sections: Sequence[SectionModel]
) -> tuple[str, ...]:
    """General cautions, then those this mast, its sections and these cases call for."""
    out = list(GENERAL)
    stations, recipe = job.mast.stations, job.mast.section
    if any((s.chord, s.thickness) != (stations[0].chord, stations[0].thickness) for s in stations):
        out.append(TAPER)
    if recipe.construction is Construction.HOLLOW:
        out.append(CORNERS)
    if recipe.construction is Construction.DRAWN:
        out.append(DRAWN)
    materials = materials_of(sections)
    if any(m.galvanic_group.startswith("alumin") for m in materials):
        out.append(ALUMINIUM)
    if any(m.galvanic_group.startswith(("carbon", "graphite")) for m in materials):
        out.append(CARBON)
    out += [
        f"{name}: its strengths hold for walls up to {bound * 1e3:g} mm, and this mast is"
        f" {wall * 1e3:.3g} mm thick there: not a pass. Take the entry for that thickness."
        for name, (wall, bound) in beyond_range(job.mast).items()
    ]
    out += [*_unjudged(materials), *_criteria(materials, cases), *_layups(sections)]
    out += [FOLLOWER.format(name=c.case.name) for c in cases if c.case.lift is Lift.FOLLOWER]
    out += [text for c in cases if (text := _case_caution(c))]
    return tuple(out)


def _unjudged(materials: Sequence[Material]) -> Iterator[str]:
    """Names what states no strength: the laminas of a laminate, else the material."""
    names: dict[str, None] = {}
    for m in materials:
        if m.laminate is not None:
            names.update((lamina.name, None) for lamina in m.laminas if lamina.strengths is None)
        elif not m.judged:
            names[m.name] = None
    if names:
        yield (
            f"Not judged for strength (none stated): {', '.join(names)}. "
            "Stresses there are reported, and are not a pass."
        )


def _criteria(materials: Sequence[Material], cases: tuple[CaseResult, ...]) -> Iterator[str]:
    """What each criterion that was used leaves out."""
    used = {f.criterion for c in cases for f in c.findings}
    if used & {Criterion.CORE_SHEAR, Criterion.WRINKLING}:
        yield CORE
    if Criterion.BUCKLING in used:
        yield PLATE
    stiff = [m.name for m in materials if m.shear_strength is not None and m.E > STIFF_CORE]
    if stiff:
        yield STIFF.format(names=", ".join(dict.fromkeys(stiff)))
    if any(m.laminate is not None for m in materials):
        yield PLIES
    plain = [
        m.name
        for m in materials
        if m.galvanic_group.startswith(("carbon", "graphite"))
        and m.laminate is None
        and m.design_strength is not None
    ]
    if plain:
        yield PLAIN_LAMINATE.format(names=", ".join(dict.fromkeys(plain)))


def _layups(sections: Sequence[SectionModel]) -> Iterator[str]:
    """Unbalanced and unsymmetrical layups, with what this model leaves out of them."""
    coupling = worst_coupling(sections)
    if coupling is not None:
        yield (
            f"{coupling.material} is unbalanced: its coupling term K16/sqrt(K11 K66) is "
            f"{coupling.term:.2f}. This beam model does not carry extension-twist coupling, nor that of "
            f"bending with shear. A mast free to do both twists up to {coupling.ratio:.2f} times "
            f"T/GJ, bends up to {coupling.ratio:.2f} times what is printed, and buckles that much "
            "sooner; stresses grown by the second order are too low as well. Limits on movement and "
            "buckling are judged with that factor. A -45 ply for each +45 balances the layup."
        )
    layups = unsymmetrical(sections)
    if layups:
        named = ", ".join(f"{name} ({size:.2f})" for name, size in layups.items())
        yield (
            f"Unsymmetrical from outside to inside: {named} (size of B over the root of A and D; 0 is "
            "symmetrical). This model holds the wall to its shape, as a closed section nearly does. Such"
            " a laminate warps as it cools from cure, and may spring out of shape where it is cut."
        )


def _case_caution(c: CaseResult) -> str:
    if not c.stable:
        need = max(1.0, c.case.strength_factor)
        why = (
            f"{need:.2f} is required"
            if c.buckling_factor <= need
            else f"no balanced shape was found at the required {need:.2f}"
        )
        return (
            f"Case {c.case.name} is unstable: the mast buckles at {c.buckling_factor:.2f} times its "
            f"service load; {why}."
        )
    if c.line is not None and np.abs(c.line.rotation).max() > np.radians(10):
        return (
            f"Case {c.case.name} turns a section by more than 10 degrees: the large-rotation solve "
            "holds, but loads on real water would have changed before."
        )
    return ""
