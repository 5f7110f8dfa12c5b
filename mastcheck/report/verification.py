"""The verification as JSON and as a report, both of nothing that depends on the machine."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from mastcheck.report import validity
from mastcheck.report import verification_words as say
from mastcheck.report.cells import Cell, Table, table, tidy
from mastcheck.report.content import APPROVAL
from mastcheck.report.figure_style import svg
from mastcheck.report.pdf import set_page
from mastcheck.verify.run import Outcome
from mastcheck.verify.table import Known

_KEPT = "\u00a0"  # a number and its unit stay on one line
SCHEMA_NAME = "mastcheck-verification/1"


def verification_json(outcomes: Sequence[Outcome], version: str) -> str:
    """The outcomes as JSON text, ending with a newline; values in the unit that each row names.

    ``computed`` is rounded to a hundredth of the tolerance; ``difference`` below that is None.
    """
    whole = {
        "schema": SCHEMA_NAME,
        "mastcheck": version,
        "held": all(o.held for o in outcomes),
        "rows": [_row(o) for o in outcomes],
    }
    return json.dumps(whole, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _row(o: Outcome) -> dict[str, Any]:
    r = o.row
    known = o.shown is not None and not o.negligible
    return {
        "id": r.id,
        "area": r.area,
        "quantity": r.quantity,
        "source": r.source,
        "grade": str(r.known),
        "unit": r.unit,
        "published": r.published,
        "computed": o.shown,
        "compared": "absolute" if r.absolute else "relative",
        "difference": float(f"{o.difference:.1e}") if known else None,
        "tolerance": r.tolerance,
        "why": r.why,
        "verdict": "held" if o.held else "failed",
        **({"fault": o.fault} if o.fault else {}),
    }


def verification_pdf(outcomes: Sequence[Outcome], version: str, *, paper: str = "a4") -> bytes:
    """The verification as a report (PDF/A-2a, PDF/UA-1); the same outcomes give the same bytes."""
    from mastcheck.report.verification_figure import ALT, CAPTION, spread

    sources = say.Sources.of(outcomes)
    failed = say.failures(outcomes)
    fig = spread(outcomes)
    wide, _ = fig.get_size_inches()
    data = {
        "title": f"Verification of mastcheck {version}",
        "id": hashlib.sha256(verification_json(outcomes, version).encode()).hexdigest()[:10],
        "asked": "Does this installation compute what others have published or the equations say?",
        "answer": say.answer(outcomes),
        "held": not failed,
        "failed": [tidy(words) for words in failed],
        "approval": list(APPROVAL),
        "grades": [tidy(words) for words in say.grades(outcomes)],
        "reading": list(say.READING),
        "summary": _summary(outcomes),
        "areas": [
            {"title": area.capitalize(), "table": _area(each, sources)}
            for area, each in say.by_area(outcomes).items()
        ],
        "halves": _halves([tidy(words) for words in sources.words]),
        "validity": {
            "title": validity.TITLE,
            "parts": [
                {"title": p.title, "lines": list(p.lines), "listed": p.listed}
                for p in validity.PARTS
                if p.lines != APPROVAL  # it stands on the first page
            ],
        },
        "pictures": {
            "spread": {
                "svg": svg(fig).decode("utf-8"),
                "alt": f"{ALT} {say.answer(outcomes)}",
                "caption": CAPTION,
                "width": float(wide) * 72,
            }
        },
    }
    return set_page("verification.typ", data, paper)


def _halves(lines: list[str]) -> list[dict[str, Any]]:
    """Numbered lines in two halves of about the same length, each with its first number."""
    total = sum(map(len, lines))
    cut = next((k for k in range(len(lines)) if 2 * sum(map(len, lines[:k])) >= total), len(lines))
    return [{"start": 1, "lines": lines[:cut]}, {"start": cut + 1, "lines": lines[cut:]}]


def _summary(outcomes: Sequence[Outcome]) -> Table:
    """A row an area: how many values of each grade, and how many held."""
    rows: list[list[Cell]] = []
    parts = [*say.by_area(outcomes).items(), ("all", list(outcomes))]
    for area, each in parts:
        held = sum(o.held for o in each)
        whole = held == len(each)
        rows.append(
            [
                area,
                str(len(each)),
                *(str(sum(o.row.known is known for o in each)) for known in Known),
                {"t": f"{held} of {len(each)}", "mood": "good" if whole else "bad"},
            ]
        )
    return table(
        ("area", "values", *map(str, Known), "held"), "lrrrrr", rows, (1.4, 0.9, 0.8, 1.4, 1.5, 1.5)
    )


def _area(outcomes: Sequence[Outcome], sources: say.Sources) -> Table:
    rows: list[list[Cell]] = [
        [
            o.row.id,
            tidy(o.row.quantity),
            say.published(o.row),
            say.computed(o),
            o.row.unit,
            say.difference(o).replace(" ", _KEPT),
            say.tolerance(o.row).replace(" ", _KEPT),
            {"t": say.verdict(o), "mood": "good" if o.held else "bad"},
            str(sources.number[say.source(o.row)]),
        ]
        for o in outcomes
    ]
    return table(say.COLUMNS, "llrrlrrlr", rows, (1.3, 6.0, 1.5, 1.65, 1.0, 1.75, 1.05, 0.85, 0.85))
