"""What every reader must see beside the numbers."""

from __future__ import annotations

import numpy as np

from mastcheck.checks.result import CaseResult
from mastcheck.job import Job
from mastcheck.mast import Construction

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
    "Twist under side force of a tapered mast may be off by up to 10 %, and its twist under roll "
    "moment is left out: the coupling of bending and twist by the taper is not modelled."
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
    "Skin wrinkling, core shear and the bond line are not checked; a laminate judged by von Mises "
    "stress against one strength is a first look, not a laminate check."
)


def cautions(job: Job, cases: tuple[CaseResult, ...]) -> tuple[str, ...]:
    """General cautions, then those this mast and these cases call for."""
    out = list(GENERAL)
    stations, recipe = job.mast.stations, job.mast.section
    if any((s.chord, s.thickness) != (stations[0].chord, stations[0].thickness) for s in stations):
        out.append(TAPER)
    if recipe.construction is Construction.HOLLOW:
        out.append(CORNERS)
    materials = [m for m in (recipe.material, recipe.core) if m is not None]
    if any(m.galvanic_group.startswith("alumin") for m in materials):
        out.append(ALUMINIUM)
    if any(m.galvanic_group.startswith(("carbon", "graphite")) for m in materials):
        out.append(CARBON)
    unjudged = [m.name for m in materials if m.design_strength is None]
    if unjudged:
        out.append(
            f"Not judged for strength (no proof strength stated): {', '.join(unjudged)}. "
            "Stresses there are reported, and are not a pass."
        )
    if recipe.core is not None:
        out.append(CORE)
    out += [text for c in cases if (text := _case_caution(c))]
    return tuple(out)


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
