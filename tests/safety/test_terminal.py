"""What is printed cannot command a terminal, and says every name."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from contextlib import redirect_stdout

import pytest
from rich.table import Table
from rich.text import Text

from mastcheck.checks.compare import compare
from mastcheck.checks.result import MastResult
from mastcheck.cli.console import console
from mastcheck.cli.tables import print_check, print_comparison
from mastcheck.cli.text import one_line
from tests.safety.contents import CONTENTS
from tests.safety.written import texts, words, written

_STYLE = re.compile(r"\x1b\[[0-9;]*m")
"""Colours and weights: the only commands that the tool's own output holds."""

SHORT = {name: text for name, text in CONTENTS.items() if len(text) < 1000}
WIDELY = list(SHORT)[::8]
"""Some that are put at every place of the largest file as well."""

OURS = "\N{REPLACEMENT CHARACTER}"
"""What the console's last look puts in place of a character that was forgotten before it."""


def printed(show: Callable[[], object], *, terminal: bool = False, width: int = 100) -> str:
    """What a command prints into a pipe, or on a terminal."""
    out = io.StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(out):
        for name in ("NO_COLOR", "TTY_COMPATIBLE", "FORCE_COLOR"):
            patch.delenv(name, raising=False)
        if terminal:
            patch.setenv("FORCE_COLOR", "1")
            patch.setenv("TERM", "xterm-256color")
            patch.setenv("COLUMNS", str(width))
        show()
    return out.getvalue()


def filled(result: MastResult, content: str) -> dict[str, str]:
    """The content for each word of a result; one without end for the mast's name alone."""
    every = words(result) if len(content) < 1000 else {"Zq01q"}
    return texts(every, content)


def harmless(text: str) -> bool:
    """Letters and line feeds alone."""
    return text.replace("\n", "").isprintable()


@pytest.mark.parametrize("name", CONTENTS)
def test_a_check_in_a_pipe_is_letters_alone(name: str, solved: tuple[MastResult, ...]) -> None:
    result = solved[0 if name in WIDELY else 2]
    put = filled(result, CONTENTS[name])
    out = printed(lambda: print_check(console(), written(result, put), "metric"))
    assert harmless(out)
    assert OURS not in out
    # The first line and the lists are not folded in a pipe: there a text is whole.
    for word in {"Zq01q", "Zq02q", "Zq14q", "Zq24q"} & set(put):
        assert one_line(put[word]) in out, word


@pytest.mark.parametrize("name", CONTENTS)
def test_a_check_on_a_terminal_has_no_commands_but_styles(
    name: str, solved: tuple[MastResult, ...]
) -> None:
    result = solved[2]
    plain = printed(lambda: print_check(console(), result, "metric"), terminal=True)
    assert _STYLE.search(plain)
    put = filled(result, CONTENTS[name])
    out = printed(lambda: print_check(console(), written(result, put), "metric"), terminal=True)
    assert harmless(_STYLE.sub("", out))
    assert OURS not in out
    # No markup of a name is read: the styles are those of the tool.
    assert set(_STYLE.findall(out)) <= set(_STYLE.findall(plain))


def test_a_comparison_of_many_contents(solved: tuple[MastResult, ...]) -> None:
    masts = [written(solved[2], texts(words(solved[2]), SHORT[name])) for name in list(SHORT)[::2]]
    for few in (masts[i : i + 12] for i in range(0, len(masts), 12)):
        out = printed(lambda few=few: print_comparison(console(), compare(few), "metric"))  # type: ignore[misc]
        assert harmless(out)
        assert OURS not in out
        for mast in few:
            assert one_line(mast.job.mast.name) in out


@pytest.mark.parametrize("terminal", [True, False])
def test_the_console_lets_no_command_through_that_was_forgotten_before_it(terminal: bool) -> None:
    def show() -> None:
        table = Table()
        table.add_row("\x1b]0;a\x07", Text("\x9b2J\u202e\r"))
        console().print(table, "\x1b[2J[bold]", Text("\x1b[5m"))

    out = _STYLE.sub("", printed(show, terminal=terminal))
    assert harmless(out)
    assert "[bold]" in out
    assert OURS in out


def test_two_names_that_differ_are_not_printed_alike() -> None:
    shown = [one_line(text) for text in CONTENTS.values()]
    assert len(set(shown)) == len({" ".join(text.split()) for text in CONTENTS.values()})
    assert one_line("mast\u202e") != one_line("mast")
