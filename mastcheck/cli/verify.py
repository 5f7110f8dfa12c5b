"""``mastcheck verify``: published values computed anew on this machine."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from mastcheck.cli.progress import Waiting
    from mastcheck.report.verification_words import Sources
    from mastcheck.verify.run import Outcome

Area = Literal[
    "sections", "materials", "laminates", "strength", "plates", "fatigue", "beams", "stability",
    "motion", "bolts", "joints", "water", "tolerances",
]  # fmt: skip
WIDE = 125
"""Columns that the table needs; on a narrower terminal its rows are sentences."""


def verify(
    *,
    only: Annotated[
        tuple[Area, ...], Parameter(negative=(), consume_multiple=False, show_default=False)
    ] = (),
    report: Path | None = None,
    json: Path | None = None,
) -> int:
    """Compute every published value of the verification table anew, and hold it against its tolerance.

    Each value stands with its source, how it was come by, and why its tolerance is as wide as it is.

    Args:
        only: One area of the table; may be repeated. Without it, all.
        report: Also write the verification report to this file (.pdf).
        json: Also write the results to this file as JSON.

    Returns:
        The exit status: 0 all values held, 1 one did not.
    """
    from mastcheck.cli.console import console
    from mastcheck.cli.outputs import Outputs, output_problems
    from mastcheck.cli.progress import Waiting
    from mastcheck.errors import InputError

    if problems := output_problems(Outputs(report=report, json=json)):
        raise InputError(tuple(problems))
    with Waiting(1) as waiting:
        outcomes = _run(only, waiting)
    _write(outcomes, report, json)
    print_verification(console(), outcomes)
    return 0 if all(o.held for o in outcomes) else 1


def _run(only: Sequence[str], waiting: Waiting) -> tuple[Outcome, ...]:
    from mastcheck.files.shipped import shipped
    from mastcheck.verify.run import run
    from mastcheck.verify.table import rows

    chosen = [r for r in rows() if not only or r.area in only]
    tell = waiting.of(0)
    return run(chosen, shipped(), lambda done: tell("verifying", done / len(chosen)))


def _write(outcomes: Sequence[Outcome], report: Path | None, json: Path | None) -> None:
    """The files asked for, all made before one is written."""
    from mastcheck import __version__

    made: list[tuple[Path, bytes]] = []
    if json is not None:
        from mastcheck.report.verification import verification_json

        made.append((json, verification_json(outcomes, __version__).encode()))
    if report is not None:
        from mastcheck.report.verification import verification_pdf

        made.append((report, verification_pdf(outcomes, __version__)))
    if made:
        from mastcheck.whole import write_all

        write_all(made)


def print_verification(console: Console, outcomes: Sequence[Outcome]) -> None:
    """A table an area, its sources below it by number; the answer and what failed last."""
    from rich.text import Text

    from mastcheck import __version__
    from mastcheck.cli.printing import heading, items, print_cautions, safe, show, title
    from mastcheck.report import verification_words as say

    title(console, f"Verification of mastcheck {__version__}")
    sources = say.Sources.of(outcomes)
    last = 0
    for area, each in say.by_area(outcomes).items():
        heading(console, area.capitalize())
        if console.width >= WIDE:
            show(console, _table(each, sources))
        else:
            items(console, (_line(o, sources) for o in each))
        numbers = sorted({sources.number[say.source(o.row)] for o in each})
        for number in (n for n in numbers if n > last):
            line = Text(f"[{number}] ", style="dim").append_text(safe(sources.words[number - 1]))
            console.print(line, style="dim", soft_wrap=not console.is_terminal)
        last = max(last, numbers[-1])
    heading(console, "How to read it")
    items(console, [*say.grades(outcomes), say.NUMBERS, *say.READING])
    heading(console, "Answer")
    console.print(safe(say.answer(outcomes)), style="bold")
    items(console, say.failures(outcomes))
    print_cautions(
        console,
        [
            "What is verified is the arithmetic and the method, not your mast. What the model leaves out"
            " stands at the end of the report (--report)."
        ],
    )


def _line(o: Outcome, sources: Sources) -> str:
    """A row as a sentence, where the table would leave its words no room."""
    from mastcheck.report import verification_words as say

    unit = f" {o.row.unit}" if o.row.unit else ""
    return (
        f"{o.row.id} {o.row.quantity}: published {_plain(say.published(o.row))}{unit},"
        f" computed {_plain(say.computed(o))}{unit}, difference {_plain(say.difference(o))}"
        f" of {_plain(say.tolerance(o.row))}: {say.verdict(o)} [{sources.number[say.source(o.row)]}]"
    )


def _table(outcomes: Sequence[Outcome], sources: Sources) -> Table:
    from rich.text import Text

    from mastcheck.cli.printing import bare, safe
    from mastcheck.report import verification_words as say

    table = bare()
    for name in say.COLUMNS:
        words = name in ("row", "quantity", "unit", "verdict")
        table.add_column(
            name,
            justify="left" if words else "right",
            overflow="fold",
            no_wrap=name != "quantity",
        )
    for o in outcomes:
        verdict = Text(say.verdict(o), style="green" if o.held else "bold red")
        numbers = (say.published(o.row), say.computed(o))
        table.add_row(
            safe(o.row.id),
            safe(o.row.quantity),
            *(safe(_plain(text)) for text in numbers),
            safe(o.row.unit),
            safe(_plain(say.difference(o))),
            safe(_plain(say.tolerance(o.row))),
            verdict,
            safe(f"[{sources.number[say.source(o.row)]}]"),
        )
    return table


def _plain(text: str) -> str:
    """A plain hyphen for minus, so that what is piped can be read as numbers again."""
    return text.replace("−", "-")
