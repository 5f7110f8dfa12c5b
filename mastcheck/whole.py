"""Files written whole or not at all: past a full disk, another process and Ctrl-C."""

from __future__ import annotations

import os
import signal
import tempfile
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType

from mastcheck.errors import InputError, Problem

PART = ".part"
"""Ends the name of a file that is not whole yet."""


def write_whole(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path`` in one step, creating its folder.

    Raises: InputError when the folder or the file cannot be written; what was there stays.
    """
    write_all([(path, data)])


def write_all(files: Iterable[tuple[Path, bytes]]) -> None:
    """Write several files, creating their folders: all of them, or none where one cannot be written.

    The data goes to temporary files beside the targets. Only when all are on the disk does each take
    its target's place: a reader sees an old file or a new one, never a part, and a full disk changes
    nothing. What is no file, such as a pipe, is written to last.

    Raises: InputError naming the first file that cannot be written.
    """
    every = [(Path(path), data) for path, data in files]
    _settled([(path, data) for path, data in every if not is_stream(path)])
    for path, data in every:
        if is_stream(path):
            try:
                path.write_bytes(data)
            except OSError as error:
                raise refusal(path, error) from error


def is_stream(path: Path) -> bool:
    """Whether a path names a pipe or a device, in whose place no file may be put."""
    return path.exists() and not path.is_file() and not path.is_dir()


def _settled(files: Iterable[tuple[Path, bytes]]) -> None:
    made: list[tuple[Path, Path]] = []
    at = Path()
    with unbroken():
        try:
            for at, data in files:
                made.append((scratch_beside(at), at))
                with made[-1][0].open("wb") as stream:
                    stream.write(data)
                    stream.flush()
                    os.fsync(stream.fileno())
            for scratch, at in made:
                settle(scratch, at)
        except OSError as error:
            raise refusal(at, error) from error
        finally:
            for scratch, _ in made:
                with suppress(OSError):
                    scratch.unlink()


def scratch_beside(path: Path) -> Path:
    """An empty temporary file in the folder of ``path``, which is created.

    Raises: OSError.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name[:40]}.", suffix=PART, dir=path.parent)
    os.close(handle)
    return Path(name)


def settle(scratch: Path, path: Path) -> None:
    """Put a temporary file in the place of ``path``.

    Raises: OSError.
    """
    # mkstemp makes files private; a report is for sharing, as far as the umask allows.
    umask = os.umask(0)
    os.umask(umask)
    scratch.chmod(0o666 & ~umask)
    scratch.replace(path)


def refusal(path: Path, error: OSError) -> InputError:
    """What a person is told of a file that cannot be written."""
    return InputError(
        (
            Problem(
                key="output",
                found=str(path),
                rule=f"cannot be written ({error.strerror or error})",
                remedy="choose a folder you may write to, with room left on its disk",
            ),
        )
    )


@contextmanager
def unbroken() -> Iterator[None]:
    """Hold Ctrl-C back until the end of the block, so that nothing within is left half done.

    For moments only. Outside the main thread nothing is done: Ctrl-C never comes there.
    """
    before = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or before is None:
        yield
        return
    came: list[tuple[int, FrameType | None]] = []
    signal.signal(signal.SIGINT, lambda number, frame: came.append((number, frame)))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
        if came:
            signal.raise_signal(signal.SIGINT)
