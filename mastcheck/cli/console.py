"""The console that tables are printed on."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment

from mastcheck.cli.text import printed

PIPED_WIDTH = 200
"""Columns when the output is not a terminal: wide enough that nothing is cut or folded."""


class SafeConsole(Console):
    """A console through which no text can command the terminal; styles are put in after that."""

    def render(
        self, renderable: RenderableType, options: ConsoleOptions | None = None
    ) -> Iterable[Segment]:
        """The pieces to print, each looked over."""
        for piece in super().render(renderable, options):
            text = piece.text if piece.control else printed(piece.text)
            yield piece if text == piece.text else Segment(text, piece.style)

    def on_broken_pipe(self) -> None:
        """The reader (a pager, head) has left: go on unheard, so that the exit status is the verdict's.

        Else the library ends with 1, which says here that a limit is exceeded.
        """
        self.quiet = True
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def console() -> Console:
    """A console for stdout: colours on a terminal only, NO_COLOR respected, no markup read."""
    plain = SafeConsole(markup=False, highlight=False, emoji=False)
    if plain.is_terminal:
        return plain
    return SafeConsole(markup=False, highlight=False, emoji=False, width=PIPED_WIDTH, soft_wrap=True)
