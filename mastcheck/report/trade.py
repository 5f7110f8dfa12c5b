"""The trade in words for the report: for whom each mast is, what to try next, what is not alike."""

from __future__ import annotations

from collections.abc import Callable

from mastcheck.checks.result import Comparison, Trade
from mastcheck.report.cells import tidy

RULES = (
    "These sentences are rules of thumb of our own about the numbers shown, and no approval. Masts "
    "within 2 % count as alike. Drag carries a wide band (Water side), most of which the masts share."
)


def trade_section(
    comparison: Comparison, words: Callable[[str], str] = tidy
) -> dict[str, object] | None:
    """Sentences for the page, each through ``words``; None where there is nothing to weigh."""
    found = comparison.trade
    if found is None:
        return None
    return {
        "suits": [words(t) for t in found.suits],
        "next": words(found.next),
        "unlike": words(found.unlike),
        "rules": RULES,
    }


def trade_lines(found: Trade) -> list[str]:
    """The sentences for a terminal, what is not alike first."""
    return [*([found.unlike] if found.unlike else []), *found.suits, found.next]
