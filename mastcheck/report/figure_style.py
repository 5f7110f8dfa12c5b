"""What all figures share: settings, colours, dashes, the legend, and SVG that repeats.

Lines differ in dash as well as in colour, so that grey printing and colour blindness lose nothing.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from mastcheck.checks.result import MastResult
from mastcheck.report.display import plain

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
WIDTH = 7.0  # inches: the text width of the report's A4 page
_LINES: tuple[tuple[str, Any], ...] = (
    ("#12355b", "-"),
    ("#c1551b", "--"),
    ("#2f8f83", "-."),
    ("#7a7a7a", ":"),
    ("#8a4f9e", (0, (9, 2))),
    ("#4b7f2a", (0, (6, 1.5, 1, 1.5, 1, 1.5))),
    ("#b0892b", (0, (2, 1))),
    ("#222222", (0, (1, 3))),
)
INK = "#222222"


@contextmanager
def style() -> Iterator[None]:
    """Our own settings over matplotlib's defaults: a user's settings must not change a report."""
    import matplotlib as mpl

    with mpl.rc_context(), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        mpl.rcdefaults()
        mpl.rcParams.update(
            {
                "svg.hashsalt": "mastcheck",
                "svg.fonttype": "none",  # text stays text: searchable, and drawn in the page's fonts
                "text.parse_math": False,  # a dollar sign in a name is a dollar sign
                "font.family": "DejaVu Sans",
                "hatch.linewidth": 0.4,
                "font.size": 7.5,
                "axes.titlesize": 8,
                "axes.labelsize": 7.5,
                "axes.edgecolor": "#666666",
                "axes.linewidth": 0.6,
                "axes.spines.top": False,
                "axes.spines.right": False,
                "axes.grid": True,
                "grid.color": "#e2e2e2",
                "grid.linewidth": 0.5,
                "text.color": INK,
                "axes.labelcolor": INK,
                "lines.linewidth": 1.5,
                "xtick.labelsize": 7,
                "ytick.labelsize": 7,
                "xtick.color": "#444444",
                "ytick.color": "#444444",
            }
        )
        yield


def svg(fig: Figure) -> bytes:
    """The figure as SVG; the same figure gives the same bytes."""
    out = io.BytesIO()
    with style():
        fig.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()


def label(index: int, result: MastResult, longest: int = 30) -> str:
    """How a mast is called in figures: its letter and its name, cut where it is long."""
    return f"{LETTERS[index % 26]}  {plain(result.job.mast.name, longest)}"


def line_style(index: int) -> dict[str, Any]:
    """Colour and dash of the mast at this place in the comparison."""
    colour, dash = _LINES[index % len(_LINES)]
    return {"color": colour, "linestyle": dash}


def legend(fig: Figure, masts: Sequence[MastResult], drawn: Sequence[int], top: float) -> None:
    """The masts' lines by letter and name, in one row or two under ``top``."""
    from matplotlib.lines import Line2D

    handles = [Line2D([], [], **line_style(i)) for i in drawn]
    columns = 2 if len(drawn) > 1 else 1
    fig.legend(
        handles,
        [label(i, masts[i], 44) for i in drawn],
        loc="upper center",
        bbox_to_anchor=(0.5, top),
        ncols=columns,
        frameon=False,
        handlelength=3.2,
        fontsize=7.5,
    )


def apart(places: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places for labels near the given ones, in their order, at least ``gap`` apart.

    >>> apart([1.0, 1.1, 5.0], 1.0, 0.0, 6.0)
    [1.0, 2.0, 5.0]
    """
    order = sorted(range(len(places)), key=lambda i: places[i])
    out = list(places)
    last = low - gap
    for i in order:
        out[i] = last = max(places[i], last + gap)
    top = high + gap
    for i in reversed(order):
        out[i] = top = min(out[i], top - gap)
    return out
