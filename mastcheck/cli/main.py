"""The ``mastcheck`` command: parser, exit status, and the errors a person can act on."""

from __future__ import annotations

import errno
import os
import signal
import sys
from collections.abc import Iterable, Sequence
from io import TextIOWrapper
from typing import NoReturn

from cyclopts import App, CycloptsError

from mastcheck import __version__
from mastcheck.cli.manual import MANUALS, REFUSED, STOPPED, status_table
from mastcheck.cli.text import PLAIN_LETTERS, one_line
from mastcheck.errors import InputError, MastcheckError
from mastcheck.search.quiet import one_thread

OK, EXCEEDED, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130
NO_ROOM = (errno.ENOSPC, errno.EDQUOT)

HELP = """Structural check calculator for surf-foil masts.

Stiffness, strength and stability from a mast file (TOML). A calculation aid,
not approval: a qualified structural review, local rules and the makers'
instructions come first. Begin with: mastcheck new my-mast.toml
"""

FOOT = """mastcheck COMMAND --help says what a command does, its options with their
defaults, its exit statuses, and an example.

""" + status_table(
    (
        (OK, "every limit held, or nothing was judged"),
        (EXCEEDED, "a limit is exceeded, a load case is unstable, or a self-check failed"),
        REFUSED,
        STOPPED,
    )
)

app = App(
    name="mastcheck",
    help=HELP,
    help_epilogue=FOOT,
    help_format="plaintext",
    version=__version__,
    suppress_keyboard_interrupt=False,
    result_action="return_value",
)
# Named as text: a command's module is imported only when it, or the list of commands, is asked for.
for _name, _manual in MANUALS.items():
    _usage = _manual.operands and f"Usage: mastcheck {_name} [OPTIONS] {_manual.operands}"
    app.command(
        f"mastcheck.cli.{_name}:{_name}", name=_name, help=_manual.head, help_epilogue=_manual.foot,
        usage=_usage,
    )  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        arguments: the words after ``mastcheck``; those of the process when None.

    Returns:
        The exit status. Problems are printed on stderr, one line each.
    """
    try:
        status = app(arguments, print_error=False, exit_on_error=False)
        sys.stdout.flush()
    except InputError as error:
        return _complain(str(problem) for problem in error.problems)
    except CycloptsError as error:
        from mastcheck.cli.misread import misread

        return _complain([misread(error)])
    except MastcheckError as error:
        return _complain([str(error)])
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader (a pager, head) has left.
        _let_go()
        return OK
    except OSError as error:
        place = f"{error.filename}: " if error.filename else ""
        _let_go()
        full = "; make room there, and give the command again" if error.errno in NO_ROOM else ""
        return _complain([f"{place}{error.strerror or error}{full}"])
    return status if isinstance(status, int) else OK


def _let_go() -> None:
    """Print what is left; what cannot be (the reader has left, the disk is full) goes nowhere.

    Else the interpreter tries once more at its end, and complains in words of its own.
    """
    try:
        sys.stdout.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _complain(problems: Iterable[str]) -> int:
    """Print each problem as one line on stderr."""
    for problem in problems:
        print(f"mastcheck: {one_line(problem)}", file=sys.stderr)
    return BAD_INPUT


def run() -> NoReturn:
    """Entry point of the ``mastcheck`` script."""
    one_thread()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            # A terminal that cannot show "²" gets a "2", not a traceback.
            stream.reconfigure(errors=PLAIN_LETTERS)
    try:
        status = main()
        # All is done: Ctrl-C while the interpreter puts its things away has nothing left to stop.
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    except KeyboardInterrupt:
        status = INTERRUPTED
    sys.exit(status)
