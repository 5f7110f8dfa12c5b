"""``mastcheck profiles``: the shipped masts."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console


def profiles() -> int:
    """List the shipped masts, all invented for demonstration.

    Returns:
        The exit status.
    """
    from mastcheck.cli.console import console
    from mastcheck.files.profiles import shipped

    print_profiles(console(), shipped())
    return 0


def print_profiles(console: Console, shipped: Iterable[tuple[Path, str, str]]) -> None:
    """The shipped masts: path, name, and what the file says of itself."""
    # Not in mastcheck.cli.tables, which loads all that a check needs.
    from mastcheck.cli.printing import safe, show, table_of

    table = table_of("file", "mast", "note")
    here = Path.cwd()
    for path, name, note in shipped:
        shown = path.relative_to(here) if path.is_relative_to(here) else path
        table.add_row(safe(str(shown)), safe(name), safe(note))
    show(console, table)
