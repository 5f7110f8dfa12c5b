"""Files written whole or not at all: a full disk, Ctrl-C, two processes, pipes."""

from __future__ import annotations

import errno
import multiprocessing
import os
import signal
import threading
from pathlib import Path

import pytest

from mastcheck.errors import InputError
from mastcheck.section.entry import Entry
from mastcheck.section.solved import section_at
from mastcheck.section.store import Store, using
from mastcheck.whole import unbroken, write_all, write_whole
from tests.masts import mast

SIZE = 300_000


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_all_or_none_where_the_disk_fills(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first, second = tmp_path / "a.json", tmp_path / "b.pdf"
    write_all([(first, b"old a"), (second, b"old b")])
    left = [1]
    sync = os.fsync

    def full(handle: int) -> None:
        sync(handle)
        left[0] -= 1
        if left[0] < 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match=r"b\.pdf.*No space left on device.*room left on its disk"):
        write_all([(first, b"new a"), (second, b"new b"), (tmp_path / "c" / "d" / "e", b"new e")])
    assert (first.read_bytes(), second.read_bytes()) == (b"old a", b"old b")
    assert names(tmp_path) == {"a.json", "b.pdf"}


def test_folders_made_for_nothing_are_taken_away(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    (tmp_path / "file").touch()
    places = [("a", "b", "c"), ("there", "d"), ("file", "e")]
    with pytest.raises(InputError, match=r"file.*cannot be written"):
        write_all([(tmp_path.joinpath(*place), b"x") for place in places])
    assert names(tmp_path) == {"file", "there"}
    assert names(tmp_path / "there") == set()


def test_folders_are_made_and_files_are_for_sharing(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b" / "c.json"
    umask = os.umask(0o027)
    try:
        write_whole(path, b"x")
    finally:
        os.umask(umask)
    assert path.read_bytes() == b"x"
    assert path.stat().st_mode & 0o777 == 0o640


def test_ctrl_c_waits_until_the_file_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sync = os.fsync

    def struck(handle: int) -> None:
        signal.raise_signal(signal.SIGINT)
        sync(handle)

    monkeypatch.setattr(os, "fsync", struck)
    with pytest.raises(KeyboardInterrupt):
        write_all([(tmp_path / name, name.encode()) for name in "abc"])
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {
        n: n.encode() for n in "abc"
    }
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_ctrl_c_comes_even_where_the_block_fails() -> None:
    def failing() -> None:
        with unbroken():
            signal.raise_signal(signal.SIGINT)
            raise OSError("it failed, too")

    with pytest.raises(KeyboardInterrupt):
        failing()


def test_a_thread_writes_as_the_main_one_does(tmp_path: Path) -> None:
    thread = threading.Thread(target=write_whole, args=(tmp_path / "a", b"x"))
    thread.start()
    thread.join()
    assert (tmp_path / "a").read_bytes() == b"x"


def test_nothing_is_put_in_the_place_of_a_pipe(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    seen: list[bytes] = []
    reader = threading.Thread(target=lambda: seen.append(pipe.read_bytes()))
    reader.start()
    write_all([(pipe, b"told"), (tmp_path / "a", b"x")])
    reader.join()
    assert seen == [b"told"]
    assert pipe.is_fifo()
    assert names(tmp_path) == {"pipe", "a"}


def _hammer(folder: Path, letter: bytes, times: int) -> None:
    for _ in range(times):
        write_all([(folder / name, letter * SIZE) for name in ("a", "b")])


def test_two_processes_on_the_same_files(tmp_path: Path) -> None:
    """Whoever reads meanwhile sees what one of them wrote, whole."""
    _hammer(tmp_path, b"0", 1)
    fork = multiprocessing.get_context("fork")
    both = [fork.Process(target=_hammer, args=(tmp_path, letter, 40)) for letter in (b"1", b"2")]
    for process in both:
        process.start()
    seen = set()
    while any(process.is_alive() for process in both):
        content = (tmp_path / "a").read_bytes()
        assert len(content) == SIZE
        assert len(set(content)) == 1
        seen.add(content[:1])
    assert [process.exitcode for process in both] == [0, 0]
    assert seen & {b"1", b"2"}
    assert names(tmp_path) == {"a", "b"}


KEYS = [f"{i:064x}" for i in range(4)]


def _entry() -> Entry:
    store = Store(None)
    with using(store):
        section_at(mast(), 0.0)
    return next(iter(store._entries.values()))


def _keep(folder: Path, entry: Entry, times: int) -> None:
    for i in range(times):
        store = Store(folder)  # nothing in memory: what it gets is what is on the disk
        store.put(KEYS[i % 4], entry)
        found = Store(folder).get(KEYS[(i + 1) % 4])
        assert found is None or found.bytes == entry.bytes


def _harm(folder: Path, times: int) -> None:
    for i in range(times):
        for path in folder.rglob("*.npz"):
            path.write_bytes(b"PK" + bytes([i % 256]) * 500)


def test_processes_on_one_cache_while_it_is_being_damaged(tmp_path: Path) -> None:
    entry = _entry()
    fork = multiprocessing.get_context("fork")
    team = [fork.Process(target=_keep, args=(tmp_path, entry, 60)) for _ in range(2)]
    team.append(fork.Process(target=_harm, args=(tmp_path, 20)))
    for process in team:
        process.start()
    for process in team:
        process.join()
    assert [process.exitcode for process in team] == [0, 0, 0]
    assert {path.suffix for path in tmp_path.rglob("*") if path.is_file()} == {".npz"}
    _keep(tmp_path, entry, 4)
    assert all(Store(tmp_path).get(key) is not None for key in KEYS)
