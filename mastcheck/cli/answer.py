"""The answer, before all tables: whether each mast holds, and what it fails by."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from mastcheck.checks.result import MastResult
from mastcheck.cli.printing import heading, items
from mastcheck.cli.text import one_line
from mastcheck.report.verdict import answer

_STYLE = {"good": "bold green", "bad": "bold red", "open": "bold yellow"}


def print_answers(console: Console, masts: Sequence[MastResult]) -> None:
    """Each mast's verdict in the report's words, with its reasons."""
    heading(console, "Answer")
    for mast in masts:
        found = answer(mast)
        name = "" if len(masts) == 1 else f"{one_line(mast.job.mast.name)}: "
        line = Text.assemble(name, (found["word"], _STYLE[found["state"]]), f" ({found['count']})")
        console.print(line, soft_wrap=not console.is_terminal)
        items(console, found["reasons"])
