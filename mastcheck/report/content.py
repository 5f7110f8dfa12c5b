"""What the report says, as plain data: strings, tables, figures. The page layout is elsewhere."""

from __future__ import annotations

from typing import Any

from mastcheck.checks.result import Comparison, MastResult
from mastcheck.checks.sources import sources_used
from mastcheck.joints.assumptions import assumptions
from mastcheck.report import inputs, materials, results
from mastcheck.report.amplification import WORDS as BAND_WORDS
from mastcheck.report.amplification import band_table
from mastcheck.report.cells import ABREAST, LONGEST, Cell, Table, called, letters, stacked, table, tidy
from mastcheck.report.contacts import contact_sections, edge_part
from mastcheck.report.display import NAMED, System, isolated, plain, stated
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
from mastcheck.report.method import method_rows
from mastcheck.report.motion import motion_sections
from mastcheck.report.pictures import pictures
from mastcheck.report.quiver import WORDS as QUIVER_WORDS
from mastcheck.report.quiver import quiver_sections
from mastcheck.report.sensitivity import WORDS as SENSITIVITY_WORDS
from mastcheck.report.sensitivity import sensitivity_sections
from mastcheck.report.strength import finding_part, finding_table
from mastcheck.report.tolerances import tolerance_sections, tolerance_words
from mastcheck.report.trade import trade_section
from mastcheck.report.verdict import verdict
from mastcheck.report.water import water_section, water_sources

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


_FEW = 3
"""Masts up to which the sentence that compares them stands with the answer."""


def content(
    comparison: Comparison, *, units: System = "metric", drawn: dict[str, Any] | None = None
) -> dict[str, Any]:
    """Everything the page template needs; ``drawn``: its pictures, where they are made already."""
    masts = comparison.masts
    names = letters(masts)
    single = len(masts) == 1
    whole = [called(m) for m in masts]
    title = (
        f"Mast check: {plain(masts[0].job.mast.name, LONGEST)}"
        if single
        else f"Mast comparison: {len(masts)} masts"
    )
    riders: dict[str, list[str]] = {}
    notes: dict[str, list[str]] = {}
    cautions: dict[str, list[str]] = {}
    for letter, m in zip(names, masts, strict=True):
        riders.setdefault(inputs.rider_words(m, units), []).append(letter)
        for caution in m.cautions:
            # The engine's own first caution stands in the box above the others, word for word as strong.
            if not caution.startswith("A calculation aid, not an approval"):
                cautions.setdefault(caution, []).append(letter)
        # What was assumed of the joints stands in their own section.
        told = set(assumptions(m.job.joints)) if m.joints is not None else set()
        for note in m.job.notes:
            if note not in told:
                notes.setdefault(note, []).append(letter)

    def owned(found: dict[str, list[str]]) -> list[str]:
        every = len(masts)
        return [t if len(w) == every else f"{t} ({', '.join(w)})" for t, w in found.items()]

    def short(text: str) -> str:
        """Words of the engine, in which a long name would drown the sentence."""
        for m, letter in sorted(zip(masts, names, strict=True), key=lambda p: -len(p[0].job.mast.name)):
            if len(m.job.mast.name) > LONGEST:
                text = text.replace(m.job.mast.name, f"mast {letter}")
        text = tidy(text)
        for name in {tidy(m.job.mast.name) for m in masts if m.job.mast.name}:
            text = text.replace(name, isolated(name))
        return text

    first = masts[0].job
    cases = [c.case.name for c in masts[0].cases]
    sentence = "" if single else short(comparison.sentence)
    method = method_rows(masts)
    edges, edge_words = edge_part(masts, units)
    data = {
        "title": title,
        "id": document_id(comparison, units),
        "single": single,
        "many": len(masts) > ABREAST,
        "asked": tidy(
            f"{'Is this mast' if single else 'Which mast is stiffer, by how much, and is each'} "
            f"strong enough for a rider of {stated(first.rider.mass, 'kg', units)}"
            f"{' (mast A)' if len(riders) > 1 else ''}, in load case{'s' if len(cases) > 1 else ''} "
            f"{', '.join(plain(c, LONGEST) for c in cases)}?"
        ),
        "masts": table(
            ["", "mast", "made as", "length", "rider + gear", "input"],
            "lllrrl",
            inputs.mast_rows(masts, units, LONGEST),
            (0.3, 2.6, 2.8, 0.9, 1.3, 1.9),
        ),
        "names": [
            tidy(f"Name of mast {letter} in full: {m.job.mast.name}")
            for letter, m in zip(names, masts, strict=True)
            if plain(m.job.mast.name) != plain(m.job.mast.name, LONGEST)
        ],
        "verdicts": [
            {"letter": letter, "name": name, **verdict(m)}
            for letter, name, m in zip(names, whole, masts, strict=True)
        ],
        "quiver": quiver_sections(masts, units),
        "quiver_words": QUIVER_WORDS,
        "approval": list(APPROVAL),
        "cautions": [short(c) for c in owned(cautions)],
        "answer": sentence if len(masts) <= _FEW else "",
        "sentence": sentence if len(masts) > _FEW else "",
        "trade": trade_section(comparison, short),
        "ratios": results.ratio_tables(comparison, units),
        "stiffness": results.stiffness_table(masts, units),
        "properties": results.property_table(masts, units),
        "pictures": pictures(comparison, units) if drawn is None else drawn,
        "findings": [
            {
                "letter": letter,
                "title": f"{letter}  {name}",
                **finding_part(m, units),
            }
            for letter, name, m in zip(names, whole, masts, strict=True)
            if finding_table(m, units) is not None
        ],
        "moved": stacked(
            [(n, results.moved_table(m, units)) for n, m in zip(names, masts, strict=True)]
        ),
        "held": stacked([(n, results.case_table(m, units)) for n, m in zip(names, masts, strict=True)]),
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
        "contacts": contact_sections(masts),
        "edges": edges,
        "edge_words": edge_words,
        "geometry": inputs.geometry_table(masts, units),
        "recipes": [
            inputs.recipe_words(letter, m, units) for letter, m in zip(names, masts, strict=True)
        ],
        "materials": materials.material_table(masts, units),
        "laminas": materials.lamina_table(masts, units),
        "layups": layup_tables(masts, units),
        "laminates": materials.laminate_table(masts, units),
        "sources": _halves(
            materials.source_table(
                [
                    (what, source)
                    for what, source in [
                        *(s for m in masts for s in sources_used(m)),
                        *water_sources(masts),
                    ]
                    if str(source) not in {row["source"] for row in method}
                ],
                masts,
            )
        ),
        "loads": inputs.load_table(masts, units),
        "riders": [tidy(t) for t in owned(riders)],
        "notes": [tidy(t) for t in owned(notes)],
        "accuracy": [
            *ACCURACY,
            accuracy_words(masts),
            *([LAMINATES] if any(map(_laminated, masts)) else []),
        ],
        "self_checks": results.self_check_table(masts),
        "method": method,
        "units": units,
    }
    return data | {"called": [UNDRAWN] if _undrawn(data) else []}


UNDRAWN = (
    "A character that none of this report's fonts can draw stands as its code point in Unicode, such "
    "as [U+1F3C4]: no letter of a name is dropped or changed for another."
)


def _halves(found: Table | None) -> list[list[list[Cell]]] | None:
    """The rows of a table of words in two halves of about the same length."""
    if found is None:
        return None
    rows, left = found["rows"], 0
    total = sum(len(row[0]) + len(row[1]) for row in rows)
    for k, row in enumerate(rows):
        left += len(row[0]) + len(row[1])
        if 2 * left >= total:
            return [rows[: k + 1], rows[k + 1 :]]
    return [rows, []]


def _undrawn(data: Any) -> bool:
    """Whether a code point stands somewhere in place of a character."""
    if isinstance(data, str):
        return NAMED.search(data) is not None
    if isinstance(data, dict):
        return any(map(_undrawn, data.values()))
    return isinstance(data, list) and any(map(_undrawn, data))


def _laminated(result: MastResult) -> bool:
    return any(r.material.laminate is not None for s in result.sections for r in s.regions)
