"""The parts of the page that stand in it without any script: verdict, cautions, results.

All of it is HTML text made here from results; every word from a mast file goes through ``safe``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from mastcheck.checks.result import CaseResult, Check, Comparison, MastResult, Verdict
from mastcheck.checks.water import drag_at
from mastcheck.page.data import default_speed, letter
from mastcheck.page.text import LONGEST, figures, percent, quantity, safe
from mastcheck.page.told import MastTold, Told

MARKS = {"good": "✓", "bad": "✕", "open": "–"}
WORDS = {
    Verdict.PASS: ("good", "pass"),
    Verdict.FAIL: ("bad", "fail"),
    Verdict.REPORT: ("open", "not judged"),
}


def chip(state: str, word: str) -> str:
    """A verdict as a sign and a word, so that colour alone never tells it."""
    return (
        f'<span class="chip {state}"><span aria-hidden="true">{MARKS[state]}</span> {safe(word)}</span>'
    )


def title(comparison: Comparison) -> str:
    """What the page is about, in a line."""
    masts = comparison.masts
    if len(masts) == 1:
        return f"Mast check: {safe(masts[0].job.mast.name, LONGEST)}"
    return f"Mast comparison: {len(masts)} masts"


def answer(comparison: Comparison, told: Told) -> str:
    """The full check's verdict on each mast, and the sentence that compares them."""
    cards = "".join(
        _card(letter(i), m, t) for i, (m, t) in enumerate(zip(comparison.masts, told.masts, strict=True))
    )
    return f'<p class="sentence">{safe(comparison.sentence)}</p><ul class="cards">{cards}</ul>'


def _card(name: str, m: MastResult, t: MastTold) -> str:
    reasons = "".join(f"<li>{safe(r)}</li>" for r in t.reasons)
    return (
        f'<li class="card"><h3><span class="letter">{name}</span> <bdi>{safe(m.job.mast.name, LONGEST)}'
        f'</bdi></h3><p>{chip(t.state, t.word.lower())} <span class="quiet">{safe(t.count)}</span></p>'
        f"<ul>{reasons}</ul></li>"
    )


def cautions(comparison: Comparison) -> tuple[str, str, int]:
    """The first caution, the others as a list, and how many those are."""
    owners: dict[str, list[str]] = {}
    for i, m in enumerate(comparison.masts):
        for text in m.cautions:
            owners.setdefault(text, []).append(letter(i))
    every = len(comparison.masts)
    lines = [t if len(w) == every else f"{t} ({', '.join(w)})" for t, w in owners.items()]
    return (
        safe(lines[0]) if lines else "",
        "".join(f"<li>{safe(t)}</li>" for t in lines[1:]),
        len(lines) - 1,
    )


def results(comparison: Comparison) -> str:
    """Each mast's results by load case as Python computed them, and every check with its verdict."""
    return "".join(_mast_results(letter(i), m) for i, m in enumerate(comparison.masts))


def _mast_results(name: str, m: MastResult) -> str:
    mast, rider = m.job.mast, m.job.rider
    head = (
        f'<h3><span class="letter">{name}</span> <bdi>{safe(mast.name, LONGEST)}</bdi></h3><p>'
        f"Length {quantity(1e3 * mast.length, 'mm', stated=True)}, mass {quantity(m.mass, 'kg')}, rider "
        f"{quantity(rider.mass, 'kg', stated=True)} with {quantity(rider.gear_mass, 'kg', stated=True)} "
        f"of board and gear{_drag_words(m)}.</p>"
    )
    columns = (
        "case", "sideways", "fore-aft", "twist", "amplification", "buckling factor", "strength used",
        "governed by",
    )  # fmt: skip
    cases = table(
        f"Mast {name}: load cases as checked",
        columns,
        [_case_row(c) for c in m.cases],
        numeric=range(1, 7),
    )
    rows = [_check_row(c) for c in m.checks]
    checks = table(
        f"Mast {name}: every check",
        ("check", "case", "value", "limit", "used", "verdict"),
        rows,
        numeric=(2, 3, 4),
    )
    selves = table(
        f"Mast {name}: self-checks",
        ("self-check", "difference", "at most", "verdict"),
        [
            (safe(s.name), figures(s.value, 2), figures(s.limit, 2), chip(*WORDS[s.verdict]))
            for s in m.self_checks
        ],
        numeric=(1, 2),
    )
    every, own = f"Every check of mast {name} ({len(rows)})", f"Self-checks of mast {name}"
    return f'<section class="mast">{head}{cases}{folded(every, checks)}{folded(own, selves)}</section>'


def _drag_words(m: MastResult) -> str:
    speed = default_speed([m])
    drag = drag_at(m, speed)
    if drag is None:
        return ""
    return f", drag of the mast alone {quantity(drag, 'N')} at {quantity(speed, 'm/s', stated=True)}"


def _case_row(c: CaseResult) -> tuple[str, ...]:
    if c.tip is None:
        words = (
            f"unstable: no balance found; {c.gives_way} at {figures(c.stability_factor)} times the load"
        )
        return (safe(c.case.name, 60), "–", "–", "–", "–", figures(c.stability_factor), "–", safe(words))
    worst = max(
        (f for f in c.findings if f.utilisation is not None),
        key=lambda f: f.utilisation or 0.0,
        default=None,
    )
    return (
        safe(c.case.name, 60),
        quantity(1e3 * c.tip.side, "mm"),
        quantity(1e3 * c.tip.fore_aft, "mm"),
        quantity(math.degrees(c.tip.twist), "deg"),
        figures(c.amplification),
        figures(c.buckling_factor),
        percent(c.utilisation),
        safe(worst.name) if worst is not None else safe(c.governing_material),
    )


def _check_row(c: Check) -> tuple[str, ...]:
    used = "–" if c.utilisation is None else percent(c.utilisation)
    value = (
        "no balance" if math.isinf(c.value) and c.verdict is Verdict.FAIL else quantity(c.value, c.unit)
    )
    limit = quantity(c.limit, c.unit, stated=c.unit != "MPa")
    return safe(c.name), safe(c.case, 60), value, limit, used, chip(*WORDS[c.verdict])


def table(
    caption: str, columns: Sequence[str], rows: Sequence[Sequence[str]], numeric: Iterable[int] = ()
) -> str:
    """A table that scrolls in a box of its own, its first column heading each row; cells are HTML."""
    right = set(numeric)
    head = "".join(
        f'<th scope="col"{" class=num" if i in right else ""}>{safe(c)}</th>'
        for i, c in enumerate(columns)
    )
    body = "".join(
        "<tr>"
        + "".join(
            f'<th scope="row">{cell}</th>'
            if i == 0
            else f"<td{' class=num' if i in right else ''}>{cell}</td>"
            for i, cell in enumerate(row)
        )
        + "</tr>"
        for row in rows
    )
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{safe(caption)}"><table>'
        f"<caption>{safe(caption)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def folded(heading: str, content: str) -> str:
    """HTML behind a heading that unfolds it."""
    return f"<details><summary>{safe(heading)}</summary>{content}</details>"
