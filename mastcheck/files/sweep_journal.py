"""Rows of a sweep as they come, kept beside its output until that is whole: what to go on from.

A file of lines that is only ever added to. The first names the plan by its hash, each further one
holds a batch of rows with a checksum. A line that a crash cut short, or a disk damaged, counts for
nothing: its designs are solved again.
"""

from __future__ import annotations

import json
import os
import zlib
from collections.abc import Iterator
from contextlib import suppress
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO, NoReturn

from mastcheck.errors import InputError, Problem
from mastcheck.files.limits import JOURNAL_LINE_BYTES
from mastcheck.search.batches import Range, Solved
from mastcheck.search.outcome import NUMBERS
from mastcheck.search.plan import Plan
from mastcheck.search.rows import COLUMNS, Row, is_fault

SUFFIX, OLD = ".partial", ".old"
_FORMAT = "mastcheck-sweep-rows/1"
_KINDS: dict[str, tuple[type, ...]] = {
    **dict.fromkeys(COLUMNS, (str,)),
    **dict.fromkeys(NUMBERS, (float, int, type(None))),
    "doubtful": (bool,),
}
"""Types of a row's values by column."""


class Journal:
    """The rows of a plan there are so far.

    Used as a context manager, which closes the file and leaves it where it is, unless it is empty;
    ``remove`` deletes it.

    Args:
        output: the file that is made of it in the end; the journal is beside it, with ``.partial``
            after its name. What another plan left there (the mast file, the command or this program
            was another) is moved to ``.partial.old``, and not used.
        plan: whose rows they are.

    Raises: InputError where the file cannot be written, or another process is writing it.
    """

    def __init__(self, output: Path, plan: Plan) -> None:
        self.path = output.with_name(output.name + SUFFIX)
        self.count = plan.count
        self._head = [_FORMAT, plan.identity, plan.count, list(COLUMNS)]
        self._lines: list[tuple[int, int, int]] = []  # start, stop, place in the file
        self.replaced: Path | None = None
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            self._file = self._opened()
            if not self._read():
                self._begin()
        except OSError as error:
            words = f"cannot be written ({error.strerror or error})"
            remedy = "choose another place, with room left on its disk"
            raise _refused(self.path, words, remedy) from error

    def __enter__(self) -> Journal:
        """Itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it; one without rows is of no use to anyone."""
        with suppress(OSError):  # what the disk had no room for is told already, and is tried again here
            self._file.close()
        if not self._lines:
            self.remove()

    @property
    def done(self) -> list[Range]:
        """Which designs there are rows of, in order."""
        return [(start, stop) for start, stop, _ in sorted(self._lines)]

    @property
    def solved(self) -> int:
        """How many rows there are."""
        return sum(stop - start for start, stop, _ in self._lines)

    def add(self, solved: Solved) -> None:
        """Add rows, at once and for good.

        Raises: InputError where the disk is full.
        """
        at = self._file.seek(0, os.SEEK_END)
        try:
            self._file.write(_line([solved.start, solved.rows]))
            self._file.flush()  # with the system, whatever happens to this process
        except OSError as error:
            words = f"cannot be written ({error.strerror or error})"
            raise _refused(self.path, words, "make room and give the command again") from error
        self._lines.append((solved.start, solved.stop, at))

    def rows(self) -> Iterator[Row]:
        """All rows there are, in order; a batch at a time is in memory."""
        for _, _, at in sorted(self._lines):
            self._file.seek(at)
            _, rows = _batch(self._file.readline(JOURNAL_LINE_BYTES)) or (0, [])
            yield from rows

    def remove(self) -> None:
        """Delete the file."""
        self.path.unlink(missing_ok=True)

    def _opened(self) -> BinaryIO:
        """The file, for this process alone where the system can see to that."""
        file = self.path.open("r+b" if self.path.exists() else "x+b")
        try:
            import fcntl
        except ImportError:
            return file
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            file.close()
            remedy = "wait for it, or name another --out"
            raise _refused(self.path, "another sweep is writing it", remedy) from None
        except OSError:
            pass  # a file system without locks
        return file

    def _begin(self) -> None:
        """An empty journal in the file's place; what was there is kept under another name."""
        if self.path.stat().st_size:
            self.replaced = self.path.with_name(self.path.name + OLD)
            self._file.close()
            self.path.replace(self.replaced)
            self._file = self._opened()
        try:
            self._file.write(_line(self._head))
            self._file.flush()
        except OSError:
            self._undo()
            raise

    def _undo(self) -> None:
        """Leave the folder as it was found: no journal, or the one of another plan."""
        with suppress(OSError):
            self._file.close()
        with suppress(OSError):
            self.remove()
            if self.replaced is not None:
                self.replaced.replace(self.path)

    def _read(self) -> bool:
        """Find the lines, and drop a last one that is cut short; False for another plan's."""
        with self.path.open("rb") as file:
            first = file.readline(JOURNAL_LINE_BYTES)
            if _content(first) != self._head:
                return False
            at, whole, taken = len(first), len(first), bytearray(self.count)
            for line in iter(partial(file.readline, JOURNAL_LINE_BYTES), b""):
                if found := _batch(line):
                    start, rows = found
                    stop = start + len(rows)
                    fits = 0 <= start < stop <= self.count and not any(taken[start:stop])
                    # A batch that the program failed at is tried again, for it may be mended.
                    if fits and not any(map(is_fault, rows)):
                        taken[start:stop] = b"\1" * len(rows)
                        self._lines.append((start, stop, at))
                at += len(line)
                whole = at if line.endswith(b"\n") else whole
        self._file.truncate(whole)
        return True


def _line(content: object) -> bytes:
    """A line: checksum, then JSON; numbers to their last bit."""
    text = json.dumps(content, ensure_ascii=True, separators=(",", ":")).encode()
    return b"%08x %s\n" % (zlib.crc32(text), text)


def _batch(line: bytes) -> tuple[int, list[Row]] | None:
    """The first design's number and the rows of a line; None where it is not whole."""
    found = _content(line) if line.endswith(b"\n") else None
    if found is None or len(found) != 2:
        return None
    start, rows = found
    whole = isinstance(start, int) and not isinstance(start, bool) and isinstance(rows, list)
    return (start, rows) if whole and all(map(_is_row, rows)) else None


def _is_row(row: object) -> bool:
    """Whether this is a row of values of the kinds that belong there."""
    if not isinstance(row, list) or len(row) != len(COLUMNS):
        return False
    return all(type(value) in _KINDS[name] for name, value in zip(COLUMNS, row, strict=True))


def _content(line: bytes) -> list[Any] | None:
    """What a line holds; None where it is damaged."""
    checksum, _, text = line.rstrip(b"\n").partition(b" ")
    try:
        if int(checksum, 16) != zlib.crc32(text):
            return None
        found = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError):
        return None
    return found if isinstance(found, list) else None


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number in JSON")


def _refused(path: Path, rule: str, remedy: str) -> InputError:
    return InputError((Problem(key="--out", found=str(path), rule=rule, remedy=remedy),))
