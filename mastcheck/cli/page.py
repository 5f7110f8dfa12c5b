"""``mastcheck page``: checked masts as one HTML file to play with, offline."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any
from typing import Literal as Literal

from cyclopts import Parameter

from mastcheck import __version__

# Quantity and Literal are looked up here by name, since the types of what is inherited are read here.
from mastcheck.cli.options import Asked, Options, exit_status, read_jobs
from mastcheck.cli.options import Quantity as Quantity
from mastcheck.cli.outputs import can_hold_files, first_existing
from mastcheck.cli.show import Units
from mastcheck.cli.text import place
from mastcheck.errors import InputError, Problem

if TYPE_CHECKING:
    from mastcheck.checks.result import Comparison
    from mastcheck.page.told import Told


@Parameter(name="*")
@dataclass(frozen=True, kw_only=True)
class PageOptions(Asked):
    """Options of a page; those of a check among them, since the masts are checked first."""

    units: Units = "metric"
    """Units that the page opens with; its reader may change them."""

    def of_check(self) -> dict[str, Any]:
        """Those that change what is checked, where they are given."""
        names = ("length", "trim", "rider", "speed", "ride_height", "case", "allow_outside")
        return {name: value for name in names if (value := getattr(self, name))}


def page(
    file: Annotated[Path, Parameter(name="FILE")],
    /,
    *others: Annotated[Path, Parameter(name="FILE")],
    out: Path,
    options: PageOptions | None = None,
) -> int:
    """Write one HTML file that works offline: sliders, shapes and stresses of checked masts.

    Args:
        file: A mast file (TOML), checked first; or one result file (JSON) of an old check.
        others: Further mast files.
        out: The HTML file to write.
        options: Shared options.

    Returns:
        The exit status: that of the check of the files as they are.
    """
    options = options or PageOptions()
    paths = [file, *others]
    recorded = any(path.suffix.lower() == ".json" for path in paths)
    problems = [*_out_problems(out), *(_record_problems(paths, options) if recorded else ())]
    if recorded:
        if problems:
            raise InputError(tuple(problems))
        comparison = _recorded(file)
    else:
        comparison = _checked(paths, options, problems)

    from mastcheck.cli.redraw import hanging_together
    from mastcheck.page.build import page as whole_page
    from mastcheck.whole import write_whole

    with hanging_together(file) if recorded else nullcontext():
        made = whole_page(comparison, told(comparison, options.units))
    write_whole(out, made)
    print(f"{place(out)}: {len(made) / 1e6:.2f} MB, works offline. A calculation aid, not approval.")
    return exit_status(comparison)


def _checked(paths: list[Path], options: PageOptions, problems: list[Problem]) -> Comparison:
    """The masts of the files, checked side by side."""
    try:
        jobs = read_jobs(paths, Options(**options.of_check()))
    except InputError as error:
        raise InputError((*problems, *error.problems)) from error
    if problems:
        raise InputError(tuple(problems))

    from mastcheck.checks.both_ways import worst_both_ways
    from mastcheck.checks.compare import compare
    from mastcheck.checks.run import check
    from mastcheck.cli.progress import Waiting
    from mastcheck.report.record import decode, encode
    from mastcheck.section.store import without

    with without(when=options.no_cache), Waiting(len(jobs)) as waiting:
        checked = [check(job, progress=waiting.of(i)) for i, job in enumerate(jobs)]
        # As the report has it: one governing section solved a second way; and as a result file holds
        # it, so that the page of a check and that of its file are the same.
        return decode(encode(worst_both_ways(compare(checked))))


def _recorded(file: Path) -> Comparison:
    """The masts of an old check, from its result file alone."""
    from mastcheck.cli.redraw import record_bytes
    from mastcheck.report.record import read_result

    return read_result(record_bytes(file), str(file)).comparison


def _record_problems(paths: list[Path], options: PageOptions) -> list[Problem]:
    """What does not go with a result file: other files, and options that would need a new check."""
    found = []
    if len(paths) > 1:
        rule = "a result file holds its masts already, and stands alone"
        found.append(Problem(key="page", found="", rule=rule, remedy="give the result file alone"))
    found += [
        Problem(
            key=f"--{name.replace('_', '-')}",
            found="",
            rule="needs a new check, and a result file is only drawn",
            remedy="give the mast files, or move the page's own sliders",
        )
        for name in options.of_check()
    ]
    return found


def _out_problems(out: Path) -> list[Problem]:
    """What would stop the page from being written: told before the computing, not after it."""

    def problem(rule: str, remedy: str) -> list[Problem]:
        return [Problem(key="--out", found=str(out), rule=rule, remedy=remedy)]

    if out.is_dir():
        return problem("is a folder", "name a file in it")
    if out.suffix.lower() not in (".html", ".htm"):
        return problem("must end in .html", "rename it")
    folder = first_existing(out)
    if not can_hold_files(folder):
        return problem(f"{folder} is no folder that you may write to", "choose another place")
    return []


def told(comparison: Comparison, units: Units = "metric") -> Told:
    """The words that the report uses of each mast, and its document id, for the page."""
    from mastcheck.page.told import MastTold, Told
    from mastcheck.report.identity import document_id
    from mastcheck.report.inputs import file_words
    from mastcheck.report.verdict import verdict
    from mastcheck.report.words import made_of

    def words(text: str) -> str:
        # Places to break a word are for paper; a page breaks words by itself.
        return text.replace("\u200b", "")

    masts = []
    for m in comparison.masts:
        found = verdict(m)
        masts.append(
            MastTold(
                made=made_of(m.job.mast),
                files=file_words(m.job),
                state=found["state"],
                word=words(found["word"]),
                count=words(found["count"]),
                reasons=tuple(words(reason) for reason in found["reasons"]),
            )
        )
    return Told(
        document=document_id(comparison, units), version=__version__, units=units, masts=tuple(masts)
    )
