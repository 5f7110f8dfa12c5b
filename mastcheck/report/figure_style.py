"""What all figures share: settings, colours, dashes, the legend, and SVG that repeats.

Lines differ in dash as well as in colour, so that grey printing and colour blindness lose nothing.
"""

from __future__ import annotations

import io
import math
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from mastcheck.checks.result import MastResult
from mastcheck.report.by_font import by_font
from mastcheck.report.display import plain
from mastcheck.report.fonts import families
from mastcheck.report.settle import settle

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 7.0  # inches: the text width of the report's A4 page
HIGHEST = 620 / 72  # inches: the page template draws what is taller smaller (``tallest``)
TITLE, TEXT, SMALL, TINY = 8.0, 7.5, 7.0, 6.5
"""The type scale of figures [pt]: titles, words, labels of lines and bars, marks beside them."""
_LINES: tuple[tuple[str, Any], ...] = (
    ("#12355b", "-"),
    ("#b84f17", "--"),
    ("#23786e", "-."),
    ("#6b6b6b", ":"),
    ("#8a4f9e", (0, (9, 2))),
    ("#44752a", (0, (6, 1.5, 1, 1.5, 1, 1.5))),
    ("#85660f", (0, (2, 1))),
    ("#222222", (0, (1, 3))),
)
"""Colour and dash of masts in turn; each dark enough on white for words (contrast 4.5 and more)."""
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
                "font.family": list(families()),
                "hatch.linewidth": 0.4,
                "font.size": TEXT,
                "axes.titlesize": TITLE,
                "axes.labelsize": TEXT,
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
                "xtick.labelsize": SMALL,
                "ytick.labelsize": SMALL,
                "xtick.color": "#444444",
                "ytick.color": "#444444",
            }
        )
        yield


def svg(fig: Figure) -> bytes:
    """The figure as SVG; the same figure gives the same bytes, on any machine."""
    out = io.BytesIO()
    with style():
        fig.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return by_font(settle(out.getvalue()))


def letter_of(index: int) -> str:
    """The letter of the mast at this place; past Z two letters, as columns of a sheet have them.

    >>> [letter_of(i) for i in (0, 25, 26, 27, 701, 702)]
    ['A', 'Z', 'AA', 'AB', 'ZZ', 'AAA']
    """
    out = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        out = chr(ord("A") + rest) + out
    return out


def label(index: int, result: MastResult, longest: int = 30) -> str:
    """How a mast is called in figures: its letter and its name, cut where it is long."""
    return f"{letter_of(index)}  {plain(result.job.mast.name, longest)}"


def line_style(index: int) -> dict[str, Any]:
    """Colour and dash of the mast at this place in the comparison."""
    colour, dash = _LINES[index % len(_LINES)]
    return {"color": colour, "linestyle": dash}


def legend(fig: Figure, masts: Sequence[MastResult], drawn: Sequence[int], top: float) -> None:
    """The masts' lines by letter and name, two in a row under ``top``; none for one mast alone."""
    from matplotlib.lines import Line2D

    if len(masts) < 2:
        return
    handles = [Line2D([], [], **line_style(i)) for i in drawn]
    fig.legend(
        handles,
        [label(i, masts[i], 36) for i in drawn],
        loc="upper center",
        bbox_to_anchor=(0.5, top),
        ncols=min(2, len(drawn)),
        frameon=False,
        handlelength=3.2,
        fontsize=TEXT,
    )


def legend_height(masts: Sequence[MastResult], drawn: Sequence[int]) -> float:
    """Inches that ``legend`` takes at the top."""
    return 0.1 + 0.18 * math.ceil(len(drawn) / 2) if len(masts) > 1 else 0.1


def mark_ends(ax: Axes, ends: dict[int, tuple[float, float]]) -> None:
    """The letter of each mast right of its line, whose end is given; none for one line."""
    if len(ends) < 2:
        return
    low, high = ax.get_ylim()
    height = ax.get_window_extent().height / ax.figure.dpi * 72
    places = apart([y for _, y in ends.values()], 1.05 * SMALL / height * (high - low), low, high)
    for (i, end), at in zip(ends.items(), places, strict=True):
        ax.annotate(
            letter_of(i), end, (1.035, at), xycoords="data",
            textcoords=("axes fraction", "data"), color=line_style(i)["color"], fontsize=SMALL,
            va="center", annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": "#999999", "linewidth": 0.4, "relpos": (0, 0.5)},
        )  # fmt: skip


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
