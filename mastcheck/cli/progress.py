"""Progress on a terminal, on stderr, for work that takes more than a second."""

from __future__ import annotations

import time
from types import TracebackType

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn

from mastcheck.cli.text import one_line

PATIENCE = 0.8
"""Seconds before anything is shown: short work stays silent."""


class Waiting:
    """A progress bar over ``masts`` checks, silent unless stderr is a terminal.

    Used as a context manager; ``of(i)`` gives the callback for mast ``i``.
    """

    def __init__(self, masts: int) -> None:
        console = Console(stderr=True)
        self._masts = masts
        self._shown = console.is_terminal and not console.is_dumb_terminal
        self._progress = Progress(
            TextColumn("{task.description}", style="dim", markup=False),
            BarColumn(bar_width=24, style="dim", complete_style="cyan", finished_style="cyan"),
            console=console,
            transient=True,
        )
        self._task = self._progress.add_task("solving", total=1.0)
        self._start = time.monotonic()

    def __enter__(self) -> Waiting:
        """Start the clock; the bar comes with the first news after a second."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Take the bar away, whatever happened."""
        if self._shown:
            self._progress.stop()

    def tell(self, words: str, fraction: float) -> None:
        """Show what is being done, and how far the whole of it has come."""
        if not self._shown or time.monotonic() - self._start < PATIENCE:
            return
        self._progress.start()
        self._progress.update(self._task, description=one_line(words), completed=fraction)

    def of(self, mast: int) -> _Part:
        """The callback for one mast among several."""
        return _Part(self, mast, self._masts)


class _Part:
    """Turns a mast's own fraction into the fraction of all masts."""

    def __init__(self, whole: Waiting, mast: int, masts: int) -> None:
        self._whole, self._mast, self._masts = whole, mast, masts

    def __call__(self, words: str, fraction: float) -> None:
        """Pass the news on."""
        self._whole.tell(words, (self._mast + fraction) / self._masts)
