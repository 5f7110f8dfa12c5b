"""The PDF report, set by Typst from plain data; the same input gives the same bytes."""

from __future__ import annotations

import json
from bisect import bisect_left
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from typing import Any, Literal

from mastcheck.checks.result import Comparison
from mastcheck.errors import InputError, Problem
from mastcheck.report.brief import BRIEF_PAGES, TIGHTNESS, brief_content
from mastcheck.report.content import content
from mastcheck.report.fonts import setter_fonts

# A fixed date, since a clock would make every run differ and archival PDF asks for some date; the
# review box takes the real one.
_TIMESTAMP = 0


def pdf(
    comparison: Comparison,
    *,
    units: Literal["metric", "imperial"] = "metric",
    paper: str = "a4",
    brief: bool = False,
    drawn: dict[str, Any] | None = None,
) -> bytes:
    """The report on one mast or several, tagged for screen readers and fit for an archive.

    Args:
        comparison: the masts; one mast gives a report on that mast alone.
        units: what numbers are shown in.
        paper: a paper size by Typst's name, such as ``a4`` or ``us-letter``.
        brief: two pages in place of all: the answer and what it rests on. Every caution stands in it;
            where they leave no room, drawings give way, and past that the pages are more than two.
        drawn: the figures (``pictures.pictures``), where they are made already.

    Returns:
        The PDF (PDF/A-2a and PDF/UA-1).
    """
    data = content(comparison, units=units, drawn=drawn)
    if not brief:
        return set_page("report.typ", data, paper, also=("method.typ",))
    short = brief_content(comparison, data, units)

    def fits(tightness: dict[str, Any]) -> bool:
        return pages_of("brief.typ", short | {"tightness": tightness}, paper) <= BRIEF_PAGES

    # Each is tighter than the one before it: the first that fits; where none does, the tightest.
    level = min(bisect_left(TIGHTNESS, True, key=fits), len(TIGHTNESS) - 1)
    return set_page("brief.typ", short | {"tightness": TIGHTNESS[level]}, paper)


def set_page(page: str, data: dict[str, Any], paper: str, *, also: tuple[str, ...] = ()) -> bytes:
    """A page template of this package set with its data, below ``prelude.typ`` and others."""
    import typst

    with set_or_refused():
        made = typst.compile(
            _source(page, also),
            format="pdf",
            font_paths=setter_fonts(),
            sys_inputs={"data": json.dumps(data), "paper": paper},
            pdf_standards=["a-2a", "ua-1"],
            timestamp=_TIMESTAMP,
        )
    if not isinstance(made, bytes):  # pragma: no cover - one PDF is always one run of bytes
        raise TypeError("the page setter returned no PDF")
    return made


@contextmanager
def set_or_refused() -> Iterator[None]:
    """Turn what the page setter refuses into words: most likely a character that it has no glyph for.

    Raises: InputError.
    """
    import typst

    try:
        yield
    except typst.TypstError as fault:
        problem = Problem(
            key="page",
            found="",
            rule=f"the page setter refuses it ({str(fault)[:200]})",
            remedy="try plainer letters in names and notes; tables, --json and --csv do not need it",
        )
        raise InputError((problem,)) from fault


def pages_of(page: str, data: dict[str, Any], paper: str) -> int:
    """How many pages a template takes that ends with its count, labelled ``pages``."""
    import typst

    with set_or_refused():
        found = typst.query(
            _source(page, ()),
            "<pages>",
            field="value",
            one=True,
            font_paths=setter_fonts(),
            sys_inputs={"data": json.dumps(data), "paper": paper},
        )
    return int(json.loads(found))


def _source(page: str, also: tuple[str, ...]) -> bytes:
    # Pages are read as bytes, so that an installed package in a zip file works as well.
    home = files("mastcheck.report")
    return b"\n".join(home.joinpath(name).read_bytes() for name in ("prelude.typ", *also, page))
