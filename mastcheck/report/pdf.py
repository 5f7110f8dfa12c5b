"""The PDF report, set by Typst from plain data; the same input gives the same bytes."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

from mastcheck.checks.result import Comparison
from mastcheck.report.content import content

# A fixed date, since a clock would make every run differ and archival PDF asks for some date; the
# review box takes the real one.
_TIMESTAMP = 0


def pdf(
    comparison: Comparison,
    *,
    units: Literal["metric", "imperial"] = "metric",
    paper: str = "a4",
    drawn: dict[str, Any] | None = None,
) -> bytes:
    """The report on one mast or several, tagged for screen readers and fit for an archive.

    Args:
        comparison: the masts; one mast gives a report on that mast alone.
        units: what numbers are shown in.
        paper: a paper size by Typst's name, such as ``a4`` or ``us-letter``.
        drawn: the figures (``pictures.pictures``), where they are made already.

    Returns:
        The PDF (PDF/A-2a and PDF/UA-1).
    """
    return set_page("report.typ", content(comparison, units=units, drawn=drawn), paper)


def set_page(page: str, data: dict[str, Any], paper: str) -> bytes:
    """A page template of this package set with its data, below ``prelude.typ``."""
    import matplotlib
    import typst

    # Pages are read as bytes, so that an installed package in a zip file works as well.
    parts = [files("mastcheck.report").joinpath(name).read_bytes() for name in ("prelude.typ", page)]
    # Figures keep their text as text, in the font that matplotlib brings. No font of the machine
    # may join in: a report would then differ from machine to machine.
    folder = str(Path(matplotlib.get_data_path()) / "fonts" / "ttf")
    fonts = typst.Fonts(include_system_fonts=False, font_paths=[folder])
    made = typst.compile(
        b"\n".join(parts),
        format="pdf",
        font_paths=fonts,
        sys_inputs={"data": json.dumps(data), "paper": paper},
        pdf_standards=["a-2a", "ua-1"],
        timestamp=_TIMESTAMP,
    )
    if not isinstance(made, bytes):  # pragma: no cover - one PDF is always one run of bytes
        raise TypeError("the page setter returned no PDF")
    return made
