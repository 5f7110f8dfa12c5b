"""The report's figures as a page takes them: SVG and words, which may cross from another process."""

from __future__ import annotations

from typing import Any

from mastcheck.checks.result import Comparison
from mastcheck.report.display import System
from mastcheck.report.drawings import Drawing, drawings
from mastcheck.report.figure_style import svg


def pictures(comparison: Comparison, units: System) -> dict[str, Any]:
    """The report's figures by name: SVG, alternative text, caption, width and height [pt]."""
    return {key: picture(drawn) for key, drawn in drawings(comparison, units).items()}


def picture(drawn: Drawing) -> dict[str, Any]:
    """One figure as plain data."""
    wide, high = drawn.figure.get_size_inches()
    return {
        "svg": svg(drawn.figure).decode("utf-8"),
        "alt": drawn.alt,
        "caption": drawn.caption,
        "width": float(wide) * 72,
        "height": float(high) * 72,
    }
