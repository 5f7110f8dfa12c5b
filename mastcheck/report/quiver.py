"""The wings a mast is ridden with: words, rows and JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from mastcheck.checks.quiver import governing_wing, listed
from mastcheck.checks.quiver_result import WingResult
from mastcheck.checks.result import MastResult
from mastcheck.report.cells import Cell, Table, called, letters, table, tidy
from mastcheck.report.display import System, breakable, factor, fixed, number, unit_label, used

COLUMNS = (
    "wing", "area", "span", "verdict", "governing check", "used", "least stability factor",
    "divergence", "twist 1 in water",
)  # fmt: skip
WORDS = (
    "A whole check with each wing on the same mast. Everything else here is with the wing that governs: "
    "a failed one before one that holds, then the largest use of a judged check. Cautions are those of "
    "every wing, self-checks the worst over the wings. The strike on a wing's tip has half that wing's "
    "span as its arm, unless the mast file states that load case."
)


def wing_verdict(wing: WingResult) -> str:
    """A wing's verdict as a word."""
    return "fail" if wing.failed else "pass" if wing.passed else "not judged"


def check_words(wing: WingResult) -> str:
    """The governing check and its case."""
    if wing.check is None:
        return "none judged"
    return f"{wing.check}; {wing.case}" if wing.case else wing.check


def used_words(wing: WingResult) -> str:
    """The use of the governing check; endless where a failed check has no number."""
    return used(math.inf if wing.failed and wing.utilisation is None else wing.utilisation)


def governs_words(result: MastResult) -> str:
    """Which wing governs, in a sentence without its full stop; empty where no wing has a name."""
    wing, wings = governing_wing(result), result.quiver or ()
    if wing is None:
        return ""
    if len(wings) == 1:
        return f"with wing {wing.name}"
    failing = [w.name for w in wings if w.failed]
    text = f"wing {wing.name} governs, of {len(wings)} wings"
    if not failing:
        return text
    if len(failing) == len(wings):
        return f"{text}; the mast fails with every one"
    return f"{text}; the mast fails with {listed(failing)}"


def wing_cells(wing: WingResult, units: System) -> list[str]:
    """A wing's row as text: name, sizes, verdict, governing check, its use, and the rest."""
    area = None if wing.area is None else wing.area * 1e4 * _area(units)
    span = None if wing.span is None else wing.span * 1e3 * factor("mm", units)
    speed = wing.divergence_speed
    return [
        wing.name,
        number(area),
        number(span),
        wing_verdict(wing),
        check_words(wing),
        used_words(wing),
        fixed(wing.stability_factor, 2),
        number(None if speed is None else speed * factor("m/s", units)),
        number(wing.twist_frequency),
    ]


def column_units(units: System) -> list[str]:
    """The unit of each column, empty where it has none."""
    area = "in²" if units == "imperial" else "cm²"
    return ["", area, unit_label("mm", units), "", "", "", "", unit_label("m/s", units), "Hz"]


def quiver_sections(masts: Sequence[MastResult], units: System) -> list[dict[str, Any]]:
    """What the page shows of each mast's wings; none where no wing has a name."""
    return [
        {
            "letter": letter,
            "title": f"{letter}  {called(m)}",
            "words": tidy(sentence(governs_words(m))),
            "table": quiver_table(m.quiver, units),
        }
        for letter, m in zip(letters(masts), masts, strict=True)
        if m.quiver
    ]


def quiver_table(wings: Sequence[WingResult], units: System) -> Table:
    """A row a wing, the governing one in bold."""
    moods = {"fail": "bad", "pass": "good", "not judged": "open"}
    rows: list[list[Cell]] = []
    for wing in wings:
        name, area, span, verdict, check, *rest = wing_cells(wing, units)
        told: Cell = {"t": breakable(name), "mood": "strong"} if wing.governs else breakable(name)
        judged: Cell = {"t": verdict, "mood": moods[verdict]}
        rows.append([told, area, span, judged, breakable(check), *rest])
    names = [f"{n} {u}".strip() for n, u in zip(COLUMNS, column_units(units), strict=True)]
    return table(names, "lrrllrrrr", rows, (1.8, 0.8, 0.8, 0.9, 2.8, 0.7, 1.0, 1.4, 1.0))


def quiver_json(wings: Sequence[WingResult]) -> list[dict[str, Any]]:
    """The wings for the result file, in the order of the mast file."""
    return [
        {
            "name": w.name,
            "area_m2": w.area,
            "span_m": w.span,
            "verdict": wing_verdict(w),
            "governs": w.governs,
            "governing_check": None if w.check is None else {"name": w.check, "case": w.case},
            "utilisation": w.utilisation,
            "failed_checks": [{"name": name, "case": case} for name, case in w.failures],
            "least_stability_factor": w.stability_factor,
            "divergence_m_per_s": w.divergence_speed,
            "twist_1_in_water_Hz": w.twist_frequency,
        }
        for w in wings
    ]


def sentence(words: str) -> str:
    """Words as a sentence.

    >>> sentence("wing A governs")
    'Wing A governs.'
    """
    return f"{words[:1].upper()}{words[1:]}." if words else ""


def _area(units: System) -> float:
    """Square inches in a square centimetre, or 1."""
    return (factor("mm", units) * 10) ** 2 if units == "imperial" else 1.0
