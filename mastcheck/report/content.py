"""What the report says, as plain data: strings, tables, figures. The page layout is elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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

_FIRST = "A calculation aid, not an approval"

Named = Sequence[tuple[str, MastResult]]
"""Masts, each with its letter."""

_FEW = 3
"""Masts up to which the sentence that compares them stands with the answer."""


def content(
    comparison: Comparison, *, units: System = "metric", drawn: dict[str, Any] | None = None
) -> dict[str, Any]:
    """Everything the page template needs; ``drawn``: its pictures, where they are made already."""
    masts = comparison.masts
    named = list(zip(letters(masts), masts, strict=True))
    data = {
        "id": document_id(comparison, units),
        "single": len(masts) == 1,
        "many": len(masts) > ABREAST,
        "units": units,
        "pictures": pictures(comparison, units) if drawn is None else drawn,
        **_answer(comparison, named, units),
        **_results(named, units),
        "water": water_section(masts, units),
        **_inputs(named, units),
        **_method(masts),
    }
    return data | {"called": [UNDRAWN] if _undrawn(data) else []}


def _answer(comparison: Comparison, named: Named, units: System) -> dict[str, Any]:
    """What was asked, the verdicts, every caution, and the masts side by side."""
    masts = comparison.masts
    cautions = _owned(
        # The engine's own first caution stands in the box above the others, word for word as strong.
        ((letter, c) for letter, m in named for c in m.cautions if not c.startswith(_FIRST)),
        named,
    )
    sentence = _short(comparison.sentence, named) if len(masts) > 1 else ""
    return {
        **_asked(named, units),
        "masts": table(
            ["", "mast", "made as", "length", "rider + gear", "input"],
            "lllrrl",
            inputs.mast_rows(masts, units, LONGEST),
            (0.3, 2.6, 2.8, 0.9, 1.3, 1.9),
        ),
        "names": [
            tidy(f"Name of mast {letter} in full: {m.job.mast.name}")
            for letter, m in named
            if plain(m.job.mast.name) != plain(m.job.mast.name, LONGEST)
        ],
        "verdicts": [{"letter": letter, "name": called(m), **verdict(m)} for letter, m in named],
        "quiver": quiver_sections(masts, units),
        "quiver_words": QUIVER_WORDS,
        "approval": list(APPROVAL),
        "cautions": [_short(c, named) for c in cautions],
        "answer": sentence if len(masts) <= _FEW else "",
        "sentence": sentence if len(masts) > _FEW else "",
        "trade": trade_section(comparison, lambda text: _short(text, named)),
        "ratios": results.ratio_tables(comparison, units),
        "stiffness": results.stiffness_table(masts, units),
        "properties": results.property_table(masts, units),
    }


def _asked(named: Named, units: System) -> dict[str, Any]:
    """Title and question."""
    masts = [m for _, m in named]
    single = len(masts) == 1
    cases = [c.case.name for c in masts[0].cases]
    unlike = len({inputs.rider_words(m, units) for m in masts}) > 1
    return {
        "title": f"Mast check: {plain(masts[0].job.mast.name, LONGEST)}"
        if single
        else f"Mast comparison: {len(masts)} masts",
        "asked": tidy(
            f"{'Is this mast' if single else 'Which mast is stiffer, by how much, and is each'} "
            f"strong enough for a rider of {stated(masts[0].job.rider.mass, 'kg', units)}"
            f"{' (mast A)' if unlike else ''}, in load case{'s' if len(cases) > 1 else ''} "
            f"{', '.join(plain(c, LONGEST) for c in cases)}?"
        ),
    }


def _results(named: Named, units: System) -> dict[str, Any]:
    """Movements, stress, limits, joints, motion, and what they are sensitive to."""
    masts = [m for _, m in named]
    edges, edge_words = edge_part(masts, units)
    return {
        "findings": [
            {"letter": letter, "title": f"{letter}  {called(m)}", **finding_part(m, units)}
            for letter, m in named
            if finding_table(m, units) is not None
        ],
        "moved": stacked([(letter, results.moved_table(m, units)) for letter, m in named]),
        "held": stacked([(letter, results.case_table(m, units)) for letter, m in named]),
        "band_words": BAND_WORDS if any(band_table(m) is not None for m in masts) else "",
        "fatigue": fatigue_sections(masts, units),
        "checks": results.limit_table(masts, units),
        "motion": motion_sections(masts, units),
        "sensitivity": sensitivity_sections(masts, units),
        "sensitivity_words": SENSITIVITY_WORDS,
        "tolerances": tolerance_sections(masts, units),
        "tolerance_words": tolerance_words(masts),
        "joints": joint_sections(masts, units),
        "joint_words": {"budget": BUDGET_WORDS, "criteria": CRITERIA_WORDS, "bolts": BOLT_WORDS},
        "contacts": contact_sections(masts),
        "edges": edges,
        "edge_words": edge_words,
    }


def _inputs(named: Named, units: System) -> dict[str, Any]:
    """What the masts are made of and loaded by, and what was assumed."""
    masts = [m for _, m in named]
    riders = ((letter, inputs.rider_words(m, units)) for letter, m in named)
    notes = ((letter, note) for letter, m in named for note in _notes(m))
    return {
        "geometry": inputs.geometry_table(masts, units),
        "recipes": [inputs.recipe_words(letter, m, units) for letter, m in named],
        "materials": materials.material_table(masts, units),
        "laminas": materials.lamina_table(masts, units),
        "layups": layup_tables(masts, units),
        "laminates": materials.laminate_table(masts, units),
        "loads": inputs.load_table(masts, units),
        "riders": [tidy(t) for t in _owned(riders, named)],
        "notes": [tidy(t) for t in _owned(notes, named)],
    }


def _notes(result: MastResult) -> list[str]:
    """What was assumed; of the joints it stands in their own section."""
    told = set(assumptions(result.job.joints)) if result.joints is not None else set()
    return [note for note in result.job.notes if note not in told]


def _method(masts: Sequence[MastResult]) -> dict[str, Any]:
    """The equations with their sources, the other sources, self-checks and accuracy."""
    method = method_rows(masts)
    shown = {row["source"] for row in method}
    sources = [*(s for m in masts for s in sources_used(m)), *water_sources(masts)]
    return {
        "method": method,
        "sources": _halves(
            materials.source_table([(w, s) for w, s in sources if str(s) not in shown], masts)
        ),
        "self_checks": results.self_check_table(masts),
        "accuracy": [
            *ACCURACY,
            accuracy_words(masts),
            *([LAMINATES] if any(map(_laminated, masts)) else []),
        ],
    }


def _owned(found: Iterable[tuple[str, str]], named: Named) -> list[str]:
    """Each sentence once, with the letters of its masts where it is not of all of them."""
    owners: dict[str, list[str]] = {}
    for letter, text in found:
        owners.setdefault(text, []).append(letter)
    every = len(named)
    return [t if len(whose) == every else f"{t} ({', '.join(whose)})" for t, whose in owners.items()]


def _short(text: str, named: Named) -> str:
    """Words of the engine, in which a long name would drown the sentence."""
    names = {m.job.mast.name: letter for letter, m in reversed(named)}
    for name in sorted(names, key=len, reverse=True):
        if len(name) > LONGEST:
            text = text.replace(name, f"mast {names[name]}")
    text = tidy(text)
    for name in {tidy(name) for name in names if name}:
        text = text.replace(name, isolated(name))
    return text


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
