"""Where solved sections are kept: in memory, and as files of plain numbers.

One npz file for each section, named by the hash of all it depends on, and renamed into place when
whole: processes and threads may share the folder. Nothing about it can fail a calculation. A file that
is damaged, cut short or not ours counts as none and is written anew; a folder that cannot be written is
not used. When the files pass their limit, those not used for longest are deleted.

The folder is the platform's for caches; the environment can change it:

- ``MASTCHECK_CACHE``: another folder; ``off`` for none,
- ``MASTCHECK_CACHE_MB``: greatest size of all files, 500 if not stated.
"""

from __future__ import annotations

import io
import os
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path
from tempfile import NamedTemporaryFile

import numpy as np

from mastcheck.section.entry import Entry, packed, unpacked
from mastcheck.section.identity import code_version
from mastcheck.whole import unbroken

FOLDER, SIZE = "MASTCHECK_CACHE", "MASTCHECK_CACHE_MB"
OFF = "off"

MEMORY = 256_000_000
"""Bytes of sections kept in memory."""

DISK = 500_000_000
"""Bytes of files, where the environment states none."""

_KEEP = 0.8  # share of the limit that is left when files are deleted
_WRITES = 64  # files written by a process from one look at the folder's size to the next
_DAY, _HOUR = 86_400.0, 3_600.0
_PART, _WHOLE = ".part", ".npz"


class Store:
    """Solved sections by their key.

    Args:
        folder: of the files; None keeps them in memory alone.
        memory: most bytes in memory.
        disk: most bytes of files.
    """

    def __init__(self, folder: Path | None, *, memory: int = MEMORY, disk: int = DISK) -> None:
        self.folder = folder
        self._memory, self._disk = memory, disk
        self._entries: dict[str, Entry] = {}  # those used last are last
        self._bytes = 0
        self._written = 0
        self._lock = threading.Lock()

    def get(self, key: str) -> Entry | None:
        """The section of that key, or None."""
        with self._lock:
            entry = self._entries.pop(key, None)
            if entry is not None:
                self._entries[key] = entry
                return entry
        entry = self._read(key)
        if entry is not None:
            self._remember(key, entry)
        return entry

    def put(self, key: str, entry: Entry) -> None:
        """Keep a section."""
        self._remember(key, entry)
        self._write(key, entry)

    def _remember(self, key: str, entry: Entry) -> None:
        with self._lock:
            old = self._entries.pop(key, None)
            self._entries[key] = entry
            self._bytes += entry.bytes - (old.bytes if old else 0)
            while self._bytes > self._memory and len(self._entries) > 1:
                first = next(iter(self._entries))
                self._bytes -= self._entries.pop(first).bytes

    def _path(self, folder: Path, key: str) -> Path:
        return folder / key[:2] / f"{key}{_WHOLE}"

    def _read(self, key: str) -> Entry | None:
        if self.folder is None:
            return None
        path = self._path(self.folder, key)
        try:
            content = path.read_bytes()
            if not content.startswith(b"PK"):  # numpy would take other kinds, and warn of some
                return None
            with np.load(io.BytesIO(content), allow_pickle=False) as file:
                if file["key"].tobytes() != bytes.fromhex(key):
                    return None
                entry = unpacked(file["floats"], file["ints"])
        except Exception:  # whatever a damaged file makes numpy or zipfile say, it is none of ours
            return None
        with suppress(OSError):
            now = time.time()
            if now - path.stat().st_mtime > _DAY:
                os.utime(path, (now, now))
        return entry

    def _write(self, key: str, entry: Entry) -> None:
        if self.folder is None:
            return
        floats, ints = packed(entry)
        name = np.frombuffer(bytes.fromhex(key), dtype=np.uint8)
        content = io.BytesIO()
        np.savez(content, key=name, floats=floats, ints=ints)
        path = self._path(self.folder, key)
        made: Path | None = None
        with unbroken():
            try:
                path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
                with NamedTemporaryFile(dir=path.parent, suffix=_PART, delete=False) as file:
                    made = Path(file.name)
                    file.write(content.getvalue())
                made.replace(path)
            except OSError:  # no room, or no permission: it goes without
                if made is not None:
                    with suppress(OSError):
                        made.unlink()
                return
        if self._written % _WRITES == 0:
            self.prune()
        self._written += 1

    def prune(self) -> None:
        """Delete the files not used for longest where all together pass the limit, and leftovers."""
        files: list[tuple[float, int, Path]] = []
        for shard in _listed(self.folder):
            for file in _listed(shard):
                with suppress(OSError):
                    at = file.stat()
                    if file.suffix == _PART and time.time() - at.st_mtime > _HOUR:
                        file.unlink()  # of a process that was killed
                    elif file.suffix == _WHOLE:
                        files.append((at.st_mtime, at.st_size, file))
        total = sum(size for _, size, _ in files)
        if total <= self._disk:
            return
        for _, size, file in sorted(files):
            with suppress(OSError):
                file.unlink()
            total -= size
            if total <= _KEEP * self._disk:
                return


def _listed(folder: Path | None) -> list[Path]:
    """What is in a folder; nothing where it cannot be read."""
    if folder is None:
        return []
    try:
        return list(folder.iterdir())
    except OSError:
        return []


_CURRENT: ContextVar[Store | None] = ContextVar("store", default=None)


def current() -> Store:
    """The store in use here: that of ``using``, or else the one that the environment states."""
    return _CURRENT.get() or default()


def default() -> Store:
    """The process's store, in the folder that the environment states."""
    return _store(os.environ.get(FOLDER), os.environ.get(SIZE))


@contextmanager
def using(store: Store) -> Iterator[Store]:
    """Within: sections are looked for and kept in this store."""
    token = _CURRENT.set(store)
    try:
        yield store
    finally:
        _CURRENT.reset(token)


@contextmanager
def without(*, when: bool = True) -> Iterator[None]:
    """Within: nothing kept before is used, and no file is written. ``when`` False: as without it."""
    if not when:
        yield
        return
    with using(Store(None)):
        yield


@lru_cache(maxsize=4)
def _store(folder: str | None, size: str | None) -> Store:
    try:
        disk = int(float(size) * 1e6) if size else DISK
    except (ValueError, OverflowError):
        disk = DISK
    if code_version() is None or (folder or "").lower() == OFF:
        return Store(None)
    place = Path(folder) if folder else platform_folder(os.environ)
    return Store(place, disk=disk)


def platform_folder(environ: Mapping[str, str]) -> Path | None:
    """Where this platform keeps what can be made again; None where it does not say."""
    home = environ.get("HOME") or environ.get("USERPROFILE")
    base: Path | None = Path(home) if home else None
    match sys.platform:
        case "win32":
            base = Path(environ["LOCALAPPDATA"]) if environ.get("LOCALAPPDATA") else base
        case "darwin":
            base = base and base / "Library" / "Caches"
        case _:
            stated = environ.get("XDG_CACHE_HOME", "")
            base = Path(stated) if stated.startswith("/") else base and base / ".cache"
    return base and base / "mastcheck" / "sections"
