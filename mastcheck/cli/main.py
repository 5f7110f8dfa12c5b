"""The ``mastcheck`` command: parser, exit status, and the errors a person can act on."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Sequence
from io import TextIOWrapper
from typing import NoReturn

from cyclopts import App, CycloptsError

from mastcheck import __version__
from mastcheck.cli.text import PLAIN_LETTERS, one_line
from mastcheck.errors import InputError, MastcheckError

OK, EXCEEDED, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130

HELP = """Structural check calculator for surf-foil masts.

Stiffness, strength and stability from a mast file. A calculation aid, not approval.

Exit status: 0 every limit held; 1 a limit exceeded, a load case unstable or a self-check failed;
2 bad input.
"""

app = App(
    name="mastcheck",
    help=HELP,
    help_format="plaintext",
    version=__version__,
    suppress_keyboard_interrupt=False,
    result_action="return_value",
)
# Named as text: a command's module is imported only when it, or the list of commands, is asked for.
for _name, _help in (
    ("bench", "Plan a bench test, or find from its readings where the flex comes from."),
    ("check", "Check one mast: stiffness, each load case, limits, cautions."),
    ("compare", "Compare masts: the same side by side, with ratios to the first."),
    ("envelope", "The heaviest rider at each length, for every limit."),
    ("materials", "List the shipped materials, or one with all its sources."),
    ("new", "Write a commented starter mast file, or one inferred from measurements."),
    ("page", "Write one HTML file to play with, offline: sliders, shapes, stresses."),
    ("profiles", "List the shipped masts."),
    ("redraw", "Draw an old check again from its result file: tables, report, figures."),
    ("section", "Solve one cross-section: properties, picture, outline, buildability notes."),
    ("size", "Find the lightest mast that meets its limits, and what governs it."),
    ("sweep", "Check every combination of sizes, lengths and riders; mark the best."),
    ("verify", "Compute published values anew and hold them against their tolerances."),
):
    app.command(f"mastcheck.cli.{_name}:{_name}", name=_name, help=_help)


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
    except (CycloptsError, MastcheckError) as error:
        return _complain([str(error)])
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader (a pager, head) has left: let the interpreter's last flush go nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    except OSError as error:
        place = f"{error.filename}: " if error.filename else ""
        return _complain([f"{place}{error.strerror or error}"])
    return status if isinstance(status, int) else OK


def _complain(problems: Iterable[str]) -> int:
    """Print each problem as one line on stderr."""
    for problem in problems:
        print(f"mastcheck: {one_line(problem)}", file=sys.stderr)
    return BAD_INPUT


def run() -> NoReturn:
    """Entry point of the ``mastcheck`` script."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            # A terminal that cannot show "²" gets a "2", not a traceback.
            stream.reconfigure(errors=PLAIN_LETTERS)
    sys.exit(main())
