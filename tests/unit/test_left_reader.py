"""The command when its reader has left, its disk fails, or a key stops it: no traceback."""

from __future__ import annotations

import errno
import importlib
import os
import sys
from typing import Any

import pytest

command = importlib.import_module("mastcheck.cli.main")


class Deaf:
    """Standard output whose reader has left: nothing can be flushed into it."""

    def __init__(self, place: int) -> None:
        self._place = place

    def write(self, text: str) -> int:
        return len(text)

    def flush(self) -> None:
        raise BrokenPipeError

    def fileno(self) -> int:
        return self._place


def ending(monkeypatch: pytest.MonkeyPatch, error: BaseException | None) -> None:
    """Every command ends so."""

    def app(*_: Any, **__: Any) -> int:
        if error is not None:
            raise error
        return 1

    monkeypatch.setattr(command, "app", app)


def test_a_reader_who_leaves_is_no_fault(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], tmp_path: Any
) -> None:
    out = os.open(tmp_path / "out", os.O_WRONLY | os.O_CREAT)
    monkeypatch.setattr(sys, "stdout", Deaf(out))
    ending(monkeypatch, None)
    assert command.main(["check"]) == command.OK
    assert capfd.readouterr().err == ""
    # What is still to be written goes nowhere, and no longer into what was left.
    os.write(out, b"more")
    os.close(out)
    assert (tmp_path / "out").read_bytes() == b""


def test_a_failing_disk_is_told_with_its_place(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    ending(monkeypatch, OSError(errno.EIO, "Input/output error", "mast.json"))
    assert command.main(["check"]) == command.BAD_INPUT
    assert capsys.readouterr().err == "mastcheck: mast.json: Input/output error\n"
    ending(monkeypatch, OSError(errno.ENOSPC, "No space left on device", "mast.json"))
    assert command.main(["check"]) == command.BAD_INPUT
    assert "make room there, and give the command again" in capsys.readouterr().err


def test_a_command_stopped_by_a_key_has_the_status_of_one(monkeypatch: pytest.MonkeyPatch) -> None:
    ending(monkeypatch, KeyboardInterrupt())
    assert command.main(["check"]) == command.INTERRUPTED == 130
