"""Work on another core: the same result there and here, whatever goes wrong on the way."""

from __future__ import annotations

import os
import signal
import time

import pytest

from mastcheck.cli import beside
from mastcheck.cli.beside import Beside


def whereabouts(words: str) -> tuple[str, int]:
    """Some words, and the process that says them."""
    return words, os.getpid()


def only_at_home(home: int) -> str:
    """Dies anywhere but in one process."""
    if os.getpid() != home:
        os.kill(os.getpid(), signal.SIGKILL)
    return "done here"


def refuses() -> None:
    """Fails anywhere."""
    raise ZeroDivisionError("as always")


@pytest.fixture(autouse=True)
def two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "cores", lambda: 2)


def test_work_is_done_in_another_process_while_this_one_goes_on() -> None:
    with Beside("json") as other:
        result = other.start(whereabouts, "hello")
        words, process = result()
    assert words == "hello"
    assert process != os.getpid()


def test_a_large_message_does_not_wait_for_the_process_to_be_ready() -> None:
    words = "x" * 10_000_000
    with Beside() as other:
        result = other.start(whereabouts, words)  # were it sent at once, it would fill the pipe
        assert result()[0] == words


@pytest.mark.parametrize("cores", [1, 2])
def test_without_work_or_a_second_core_no_process_is_started(
    cores: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(beside, "cores", lambda: cores)
    with Beside(wanted=cores == 1) as other:
        assert other.start(whereabouts, "hello")() == ("hello", os.getpid())


def test_where_no_process_can_be_had_the_work_is_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: Beside) -> None:
        raise OSError("no more processes")

    monkeypatch.setattr(Beside, "_begin", refuse)
    with Beside() as other:
        assert other.start(whereabouts, "hello")() == ("hello", os.getpid())


@pytest.mark.skipif(os.name == "nt", reason="kills a process the POSIX way")
def test_what_dies_over_there_is_done_here() -> None:
    with Beside() as other:
        assert other.start(only_at_home, os.getpid())() == "done here"


def test_what_cannot_be_sent_or_prepared_is_done_here() -> None:
    with Beside() as other:
        assert other.start(lambda: "unsent")() == "unsent"
    with Beside("mastcheck.no_such_module") as other:
        assert other.start(whereabouts, "hello")() == ("hello", os.getpid())


def test_an_error_is_the_same_as_here() -> None:
    with Beside() as other, pytest.raises(ZeroDivisionError, match="as always"):
        other.start(refuses)()


def test_leaving_early_ends_the_process_at_once() -> None:
    with Beside() as other:
        other.start(time.sleep, 60.0)
        process = other._process
        assert process is not None
    assert not process.is_alive()
    assert process.exitcode  # stopped in its sleep: one that ends by itself ends with 0
