"""How fast a long search goes: a bar on a terminal, a line now and then elsewhere."""

from __future__ import annotations

import sys
import time
from types import TracebackType

from mastcheck.cli.progress import Waiting

LINE_EVERY = 60.0
"""Seconds between lines where stderr is no terminal: a long run leaves a trace in its log."""


class Pace:
    """Progress over ``count`` designs of which ``before`` were there already, on stderr."""

    def __init__(self, count: int, before: int) -> None:
        self._count, self._before = count, before
        self._waiting = Waiting(1)
        self._start = self._said = time.monotonic()

    def __enter__(self) -> Pace:
        """Start the clock."""
        self._waiting.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Take the bar away."""
        self._waiting.__exit__(kind, error, trace)

    def tell(self, done: int) -> None:
        """Show how many are done."""
        now = time.monotonic()
        words = pace_words(done, self._count, done - self._before, now - self._start)
        self._waiting.tell(words, done / self._count)
        if now - self._said > LINE_EVERY and not sys.stderr.isatty():
            self._said = now
            print(f"mastcheck: {words}", file=sys.stderr, flush=True)


def pace_words(done: int, count: int, here: int, seconds: float) -> str:
    """What is done, how fast, and how long the rest takes.

    >>> pace_words(300, 900, 200, 10.0)
    '300 of 900 masts, 1200 a minute, 0:30 left'
    """
    rate = here / max(seconds, 1e-9)
    words = f"{done} of {count} masts"
    if not here or done >= count:
        return words
    left = round((count - done) / rate)
    hours, minutes, rest = left // 3600, left // 60 % 60, left % 60
    clock = f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
    return f"{words}, {60 * rate:.0f} a minute, {clock} left"
