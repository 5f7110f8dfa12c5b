"""``mastcheck redraw``: tables, report and figures of an old check, from its result file alone."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from mastcheck.cli.options import exit_status
from mastcheck.cli.outputs import Outputs, drawing, output_problems, write_again
from mastcheck.errors import InputError, MastcheckError, Problem
from mastcheck.version import __version__

if TYPE_CHECKING:
    from mastcheck.checks.result import Comparison
    from mastcheck.cli.show import Units


def redraw(file: Path, /, *, outputs: Outputs | None = None) -> int:
    """Draw an old check again from its result file (JSON); nothing is computed anew.

    Prints what ``check`` or ``compare`` printed, and writes the report, figures and tables asked for.

    Args:
        file: A result file that check or compare wrote with --json.
        outputs: Shared options.

    Returns:
        The exit status: that of the check.
    """
    outputs = outputs or Outputs()
    problems = output_problems(outputs)
    if problems:
        raise InputError(tuple(problems))

    from mastcheck.report.record import read_result

    recorded = read_result(record_bytes(file), str(file))
    comparison = recorded.comparison
    with hanging_together(file), drawing(outputs) as beside:
        # Set before anything is written or printed, so that a refusal leaves nothing half done.
        tables = _tables(comparison, outputs.units)
        write_again(comparison, outputs, beside)
    sys.stdout.write(tables)
    if recorded.written_by != (drawn_by := f"mastcheck {__version__}"):
        print(f"Computed by {recorded.written_by}, drawn by {drawn_by}.", file=sys.stderr)
    return exit_status(comparison)


def record_bytes(file: Path) -> bytes:
    """The bytes of a result file, but no more of them than a result file can have.

    Raises: InputError where it is no file that can be read.
    """
    from mastcheck.report.record import MOST_FILE

    if not file.exists():
        _refuse(
            file, "there is no such file", "name a result file that check or compare wrote with --json"
        )
    if not file.is_file():
        _refuse(file, "is no file", "name a result file")
    try:
        with file.open("rb") as stream:
            return stream.read(MOST_FILE + 1)
    except OSError as error:
        _refuse(file, f"cannot be read ({error.strerror or error})", "check its permissions")


def _tables(comparison: Comparison, units: Units) -> str:
    """What check prints of one mast, and compare of several, as text for this terminal."""
    from mastcheck.cli.console import console
    from mastcheck.cli.tables import print_check, print_comparison

    out = console()
    with out.capture() as caught:
        if len(comparison.masts) == 1:
            print_check(out, comparison.masts[0], units)
        else:
            print_comparison(out, comparison, units)
    return caught.get()


@contextmanager
def hanging_together(file: Path) -> Iterator[None]:
    """Turn what fails while a record is drawn into a refusal.

    Nothing is computed here, so that the record is at fault, or this program, where it draws what
    another version wrote: both are said.

    Raises: InputError in place of any error but those that tell a person something already.
    """
    try:
        yield
    except (MastcheckError, OSError, ImportError):  # a broken installation is no fault of a record
        raise
    except BaseException as error:
        # Not Exception alone: the page setter's own panics are outside of it.
        if isinstance(error, KeyboardInterrupt | SystemExit | GeneratorExit):
            raise
        why = f"{type(error).__name__}: {error}"[:200]
        rule = f"cannot be drawn ({why}): it does not hang together, or this mastcheck has a fault"
        _refuse(file, rule, "take the file as it was written, or check the mast file again")


def _refuse(file: Path, rule: str, remedy: str) -> NoReturn:
    raise InputError((Problem(key="record", found="", rule=rule, remedy=remedy, file=str(file)),))
