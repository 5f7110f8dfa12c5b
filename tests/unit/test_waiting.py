"""Progress for who waits: silent where work is short or nobody looks, one bar over all masts."""

from __future__ import annotations

import pytest
from rich.console import Console
from rich.progress import Progress

from mastcheck.cli import pace, progress
from mastcheck.cli.progress import PATIENCE, Waiting


class Clock:
    """A clock that stands until it is set."""

    now = 100.0

    def later(self, seconds: float) -> None:
        self.now += seconds


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    found = Clock()
    monkeypatch.setattr(progress.time, "monotonic", lambda: found.now)
    return found


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, object]]:
    """What a bar on a terminal is asked to do."""
    done: list[tuple[str, object]] = []
    monkeypatch.setattr(
        progress, "Console", lambda *, stderr: Console(stderr=stderr, force_terminal=True)
    )
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(Progress, "start", lambda _: done.append(("start", None)))
    monkeypatch.setattr(Progress, "stop", lambda _: done.append(("stop", None)))
    monkeypatch.setattr(
        Progress,
        "update",
        lambda *_, description, completed: done.append((description, completed)),
    )
    return done


def test_short_work_shows_no_bar(told: list[tuple[str, object]], clock: Clock) -> None:
    with Waiting(1) as waiting:
        clock.later(PATIENCE / 2)
        waiting.tell("sections", 0.5)
    assert told == [("stop", None)]


def test_long_work_shows_how_far_all_masts_have_come(
    told: list[tuple[str, object]], clock: Clock
) -> None:
    with Waiting(4) as waiting:
        clock.later(2 * PATIENCE)
        waiting.of(0)("first", 0.5)
        waiting.of(2)("third\x1b[2J", 0.5)
    # Half of the first of four is an eighth of all; the third begins at one half.
    bars = [(str(words), share) for words, share in told if share is not None]
    assert [share for _, share in bars] == [0.125, 0.625]
    assert bars[0][0] == "first"
    assert "\x1b" not in bars[1][0], "a mast's name must not steer the terminal"
    assert told[-1] == ("stop", None)


def test_the_bar_is_taken_away_when_work_fails(told: list[tuple[str, object]], clock: Clock) -> None:
    def failing() -> None:
        with Waiting(1) as waiting:
            clock.later(2 * PATIENCE)
            waiting.tell("sections", 0.5)
            raise ArithmeticError

    with pytest.raises(ArithmeticError):
        failing()
    assert told[-1] == ("stop", None)


def test_without_a_terminal_nothing_is_shown(
    told: list[tuple[str, object]], clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        progress, "Console", lambda *, stderr: Console(stderr=stderr, force_terminal=False)
    )
    with Waiting(1) as waiting:
        clock.later(10 * PATIENCE)
        waiting.tell("sections", 0.5)
    assert told == []


def test_a_long_search_leaves_a_line_a_minute_in_its_log(
    clock: Clock, capsys: pytest.CaptureFixture[str]
) -> None:
    with pace.Pace(900, 100) as going:
        for done, seconds in ((200, 30.0), (300, 31.0), (301, 1.0), (400, 60.0)):
            clock.later(seconds)
            going.tell(done)
    lines = capsys.readouterr().err.splitlines()
    # 200 of those done here in 61 s leave 600 for 183 s; the next line comes a minute after the first.
    assert lines == [
        "mastcheck: 300 of 900 masts, 197 a minute, 3:03 left",
        "mastcheck: 400 of 900 masts, 148 a minute, 3:23 left",
    ]
