"""How words and tables are put on a terminal, or into a pipe."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.table import Table
from rich.text import Text

from mastcheck.cli.text import one_line

CALCULATION_AID = (
    "A calculation aid, not approval: a qualified structural review, local rules and the makers' "
    "instructions come first. A mast that breaks can hurt people."
)


def bare(*, header: bool = True) -> Table:
    """A table without lines, so that nothing depends on the width or on line-drawing letters."""
    return Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="dim", show_header=header)


def table_of(*left: str, **columns: int) -> Table:
    """A table of ``left`` columns of words, then named ones (1: of numbers)."""
    table = bare()
    for name in left:
        table.add_column(name, overflow="fold")
    for name, is_number in columns.items():
        table.add_column(name, justify="right" if is_number else "left")
    return table


def show(console: Console, content: Table | Text) -> None:
    """Print a table; in a pipe without the blanks that fill its last column."""
    if console.is_terminal:
        console.print(content)
        return
    with console.capture() as caught:
        console.print(content)
    for line in caught.get().splitlines():
        console.print(Text(line.rstrip()), soft_wrap=True)


def safe(words: str) -> Text:
    """Text from a file: no markup read, no control characters let through."""
    return Text(one_line(words))


def title(console: Console, words: str) -> None:
    """The first line."""
    console.print(Text(one_line(words), style="bold"))


def heading(console: Console, words: str) -> None:
    """A heading with air above it."""
    console.print()
    console.print(Text(one_line(words), style="bold cyan"))


def items(console: Console, lines: Iterable[str]) -> None:
    """A list; folded with a hanging indent on a terminal, one line each in a pipe."""
    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_column()
    grid.add_column(overflow="fold")
    for line in lines:
        if console.is_terminal:
            grid.add_row("·", safe(line))
        else:
            console.print(Text(f"- {one_line(line)}"), soft_wrap=True)
    if console.is_terminal:
        console.print(grid)


def print_cautions(console: Console, cautions: Iterable[str]) -> None:
    """Cautions come last, where the eye rests when the command is done."""
    console.print()
    console.print(Text("CAUTIONS", style="bold yellow"))
    said = list(cautions)
    if not any("approval" in caution for caution in said):
        said.append(CALCULATION_AID)
    items(console, said)
