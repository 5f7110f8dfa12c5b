"""One input tried: a result, a refusal, or a fault of the program."""

from __future__ import annotations

import signal
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Literal

from mastcheck.errors import InputError

LONGEST = 10
"""Seconds of the processor that reading one input may take; most take milliseconds."""

LONGEST_MESSAGE = 200_000
"""Characters of a refusal."""


@dataclass(frozen=True)
class Outcome:
    """How one input went; ``where`` names a fault: its kind and the place it came from."""

    kind: Literal["result", "refusal", "fault"]
    where: str = ""
    told: str = ""


class TooSlowError(BaseException):
    """Reading took too long; no reader may catch it."""


def tried(read: Callable[[Path], object], path: Path, longest: float | None = None) -> Outcome:
    """Read a file and say how it went; warnings are faults, since users would see them."""
    try:
        with _within(longest or LONGEST):
            read(path)
    except InputError as error:
        return _refusal(error)
    except (Exception, TooSlowError) as error:
        frames = traceback.extract_tb(error.__traceback__)
        own = [f for f in frames if "mastcheck" in f.filename] or list(frames)
        place = f"{Path(own[-1].filename).name}:{own[-1].lineno}"
        return Outcome("fault", f"{type(error).__name__} at {place}", str(error)[:200])
    return Outcome("result")


def _refusal(error: InputError) -> Outcome:
    """A refusal says what is wrong, in lines that can be printed and are not endless."""
    told = str(error)
    if not error.problems or any(not p.rule for p in error.problems):
        return Outcome("fault", "a refusal without words", told[:200])
    if any(not str(p).isprintable() for p in error.problems):
        return Outcome("fault", "a refusal that cannot be printed", ascii(told[:200]))
    if len(told) > LONGEST_MESSAGE:
        return Outcome("fault", "an endless refusal", told[:200])
    return Outcome("refusal", told=told)


@contextmanager
def _within(seconds: float) -> Iterator[None]:
    """Stop what takes longer, by the process's own time: a busy machine is no fault."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        raise TooSlowError(f"more than {seconds:g} s")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
