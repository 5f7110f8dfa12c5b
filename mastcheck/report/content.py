"""What the report says, as plain data: strings, tables, figures. The page layout is elsewhere."""

from __future__ import annotations

from typing import Any

from mastcheck.checks.result import Comparison, MastResult
from mastcheck.checks.sources import sources_used
from mastcheck.joints.assumptions import assumptions
from mastcheck.report import inputs, materials, results
from mastcheck.report.amplification import WORDS as BAND_WORDS
from mastcheck.report.amplification import band_table
from mastcheck.report.cells import letters, table, tidy
from mastcheck.report.contacts import contact_sections
from mastcheck.report.display import System, plain, stated
from mastcheck.report.fatigue import fatigue_sections
from mastcheck.report.identity import document_id
from mastcheck.report.joints import (
    BOLT_WORDS,
    BUDGET_WORDS,
    CRITERIA_WORDS,
    accuracy_words,
    joint_sections,
)
from mastcheck.report.layup import layup_tables
from mastcheck.report.motion import motion_sections
from mastcheck.report.pictures import pictures
from mastcheck.report.quiver import WORDS as QUIVER_WORDS
from mastcheck.report.quiver import quiver_sections
from mastcheck.report.sensitivity import WORDS as SENSITIVITY_WORDS
from mastcheck.report.sensitivity import sensitivity_sections
from mastcheck.report.strength import finding_table
from mastcheck.report.tolerances import tolerance_sections, tolerance_words
from mastcheck.report.trade import trade_section
from mastcheck.report.verdict import verdict
from mastcheck.report.water import water_section

APPROVAL = (
    "This report is a calculation aid. It is not an approval, a certificate or a permission to "
    "build or to ride.",
    "A qualified structural review, local rules and the makers' instructions come first, and "
    "overrule it wherever they differ.",
    "A mast that breaks can injure or kill the rider and people nearby. Test a sample before "
    "anyone rides it, and inspect masts in use for cracks, play and corrosion.",
)
ACCURACY = (
    "Against quadratic solid finite element models with a fully fixed root, this method gives "
    "bending within 2 %, on the soft side (the fixed root also stops the section from "
    "contracting; of that the method takes only what concerns twist), and twist under torque within "
    "0.5 %. Twist under a side force is within 1.5 %; the small twist under a roll moment has the right "
    "sign and is within 12 %. Where a material's E and G imply a Poisson's ratio outside 0 to 0.45 "
    "(most laminates), the fixed ends hold the warping of torsion alone: 1.6 %, 4 % and 24 %.",
)
LAMINATES = (
    "The figures above were not measured on laminates. A laminate's walls enter the section by their "
    "membrane stiffness in each zone; a zone's plies are judged up to the first failure, each with the "
    "strain of the worst point through the wall. Coupling of stretch and twist by an unbalanced layup "
    "is named and not carried."
)


def content(
    comparison: Comparison, *, units: System = "metric", drawn: dict[str, Any] | None = None
) -> dict[str, Any]:
    """Everything the page template needs; ``drawn``: its pictures, where they are made already."""
    masts = comparison.masts
    names = letters(masts)
    single = len(masts) == 1
    title = f"Mast check: {masts[0].job.mast.name}" if single else f"Mast comparison: {len(masts)} masts"
    riders: dict[str, list[str]] = {}
    notes: dict[str, list[str]] = {}
    for letter, m in zip(names, masts, strict=True):
        riders.setdefault(inputs.rider_words(m, units), []).append(letter)
        # What was assumed of the joints stands in their own section.
        told = set(assumptions(m.job.joints)) if m.joints is not None else set()
        for note in m.job.notes:
            if note not in told:
                notes.setdefault(note, []).append(letter)

    def owned(found: dict[str, list[str]]) -> list[str]:
        every = len(masts)
        return [tidy(t if len(w) == every else f"{t} ({', '.join(w)})") for t, w in found.items()]

    first = masts[0].job
    cases = [c.case.name for c in masts[0].cases]
    return {
        "title": plain(title, 120),
        "id": document_id(comparison, units),
        "single": single,
        "asked": tidy(
            f"{'Is this mast' if single else 'Which mast is stiffer, by how much, and is each'} "
            f"strong enough for a rider of {stated(first.rider.mass, 'kg', units)}"
            f"{' (mast A)' if len(riders) > 1 else ''}, in load case{'s' if len(cases) > 1 else ''} "
            f"{', '.join(cases)}?"
        ),
        "masts": table(
            ["", "mast", "made as", "length", "rider + gear", "input"],
            "lllrrl",
            inputs.mast_rows(masts, units),
            (0.3, 2.6, 2.8, 0.9, 1.3, 1.9),
        ),
        "verdicts": [
            {"letter": letter, "name": plain(m.job.mast.name, 56), **verdict(m)}
            for letter, m in zip(names, masts, strict=True)
        ],
        "quiver": quiver_sections(masts, units),
        "quiver_words": QUIVER_WORDS,
        "approval": list(APPROVAL),
        "cautions": [
            # The engine's own first caution stands above already, word for word as strong.
            tidy(c)
            for c in dict.fromkeys(c for m in masts for c in m.cautions)
            if not c.startswith("A calculation aid, not an approval")
        ],
        "sentence": "" if single else tidy(comparison.sentence),
        "trade": trade_section(comparison),
        "ratios": None if single or not comparison.ratios else results.ratio_table(comparison, units),
        "stiffness": results.stiffness_table(masts, units),
        "properties": results.property_table(masts, units),
        "pictures": pictures(comparison, units) if drawn is None else drawn,
        "cases": [
            {
                "letter": letter,
                "title": f"{letter}  {plain(m.job.mast.name, 90)}",
                "table": results.case_table(m, units),
                "findings": finding_table(m, units),
                "band": band_table(m),
            }
            for letter, m in zip(names, masts, strict=True)
        ],
        "band_words": BAND_WORDS if any(band_table(m) is not None for m in masts) else "",
        "fatigue": fatigue_sections(masts, units),
        "checks": results.limit_table(masts, units),
        "motion": motion_sections(masts, units),
        "water": water_section(masts, units),
        "sensitivity": sensitivity_sections(masts, units),
        "sensitivity_words": SENSITIVITY_WORDS,
        "tolerances": tolerance_sections(masts, units),
        "tolerance_words": tolerance_words(masts),
        "joints": joint_sections(masts, units),
        "joint_words": {"budget": BUDGET_WORDS, "criteria": CRITERIA_WORDS, "bolts": BOLT_WORDS},
        "contacts": contact_sections(masts, units),
        "geometry": inputs.geometry_table(masts, units),
        "recipes": [
            inputs.recipe_words(letter, m, units) for letter, m in zip(names, masts, strict=True)
        ],
        "materials": materials.material_table(masts, units),
        "laminas": materials.lamina_table(masts, units),
        "layups": layup_tables(masts, units),
        "laminates": materials.laminate_table(masts, units),
        "sources": materials.source_table([s for m in masts for s in sources_used(m)], masts),
        "loads": inputs.load_table(masts, units),
        "riders": owned(riders),
        "notes": owned(notes),
        "accuracy": [
            *ACCURACY,
            accuracy_words(masts),
            *([LAMINATES] if any(map(_laminated, masts)) else []),
        ],
        "self_checks": results.self_check_table(masts),
        "units": units,
    }


def _laminated(result: MastResult) -> bool:
    return any(r.material.laminate is not None for s in result.sections for r in s.regions)
