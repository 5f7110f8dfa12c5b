"""The console that tables are printed on."""

from __future__ import annotations

from rich.console import Console

PIPED_WIDTH = 200
"""Columns when the output is not a terminal: wide enough that nothing is cut or folded."""


def console() -> Console:
    """A console for stdout: colours on a terminal only, NO_COLOR respected, no markup read."""
    plain = Console(markup=False, highlight=False, emoji=False)
    if plain.is_terminal:
        return plain
    return Console(markup=False, highlight=False, emoji=False, width=PIPED_WIDTH, soft_wrap=True)
