"""Files written whole or not at all: past a full disk, another process and Ctrl-C."""

from __future__ import annotations

import os
import signal
import tempfile
import threading
from collections.abc import Callable, Iterable, Iterator
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
            _pour(path, data)


def is_stream(path: Path) -> bool:
    """Whether a path names a pipe or a device, in whose place no file may be put."""
    return path.exists() and not path.is_file() and not path.is_dir()


def _pour(path: Path, data: bytes) -> None:
    try:
        path.write_bytes(data)
    except OSError as error:
        raise refusal(path, error) from error


def _settled(files: Iterable[tuple[Path, bytes]]) -> None:
    with unbroken(), together() as whole:
        for at, data in files:
            whole.put(at, data)


class Together:
    """Files on the way to their places; see ``together``."""

    def __init__(self) -> None:
        self._made: list[tuple[Path, Path]] = []
        self._folders: list[Path] = []

    def write(self, path: Path, fill: Callable[[Path], object]) -> None:
        """Write what will be ``path``, creating its folder.

        Args:
            path: the target, untouched for now.
            fill: called with the empty file beside it that is to be written in its stead.

        Raises: InputError when it cannot be written.
        """
        try:
            with unbroken():  # else Ctrl-C could leave a file that nobody knows of
                self._folders += [folder for folder in path.parents if not folder.exists()]
                self._made.append((scratch_beside(path), path))
            scratch, _ = self._made[-1]
            fill(scratch)
            with scratch.open("rb+") as file:
                os.fsync(file.fileno())
        except OSError as error:
            raise refusal(path, error) from error

    def put(self, path: Path, data: bytes) -> None:
        """Write ``data`` to what will be ``path``; to a pipe at once.

        Raises: InputError when it cannot be written.
        """
        if is_stream(path):
            _pour(path, data)
        else:
            self.write(path, lambda scratch: scratch.write_bytes(data))

    def settle(self) -> None:
        """Put every file in its place.

        Raises: InputError when one cannot be put there.
        """
        with unbroken():
            for scratch, path in self._made:
                try:
                    settle(scratch, path)
                except OSError as error:
                    raise refusal(path, error) from error

    def clear(self) -> None:
        """Delete what is not in its place, and folders that were made for nothing."""
        for scratch, _ in self._made:
            with suppress(OSError):
                scratch.unlink()
        for folder in sorted(self._folders, key=lambda folder: len(folder.parts), reverse=True):
            with suppress(OSError):  # it is not empty: all went well, or someone else uses it
                folder.rmdir()


@contextmanager
def together() -> Iterator[Together]:
    """Several files written bit by bit: at the end of the block all take their places.

    Where the block fails, none does: old files stay as they were, and nothing else is left.

    Raises: InputError when a file cannot be put in its place.
    """
    files = Together()
    try:
        yield files
        files.settle()
    finally:
        with unbroken():
            files.clear()


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
                remedy="choose a folder you may write to, with room left on its disk,"
                " and give the command again",
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
