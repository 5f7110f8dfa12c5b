"""The trade as a picture: what each mast gains and what it pays, better always to the right.

One row a quantity, one lane in it for each mast but the first, which is the line at 1. How far a mark
stands from that line is how many times as good, or as bad, it is; the number beside it is the real one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from mastcheck.checks.result import MastResult
from mastcheck.checks.trade import failures
from mastcheck.checks.trade_measures import Measure, Side, Stand, measures, stand
from mastcheck.report.cells import letters
from mastcheck.report.display import System, factor, number, plain, unit_label
from mastcheck.report.figure_style import INK, SMALL, TEXT, TINY, WIDTH, letter_of, line_style, style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST = 5
"""Masts that fit; further ones stand in the table only."""
HEADS = {Side.GAIN: "What is gained", Side.PAY: "What is paid"}
_MARKS = ("|", "o", "s", "^", "D", "v")
_GAP = {2: 0.085, 3: 0.075, 4: 0.06, 5: 0.045}  # inches between rows, by masts
_LANE = {2: 0.15, 3: 0.125, 4: 0.118, 5: 0.118}
_HEAD, _LINE, _FOOT = 0.2, 0.14, 0.36
_LEFT, _RIGHT = 2.95, 0.05  # words, and the first mast's number, stand left of the plot
_LABEL = 1.12  # room for a label beyond the farthest mark
_TICKS = (1.1, 1.25, 1.5, 2, 3, 5, 10, 20, 50, 100)
_PALE = "#555555"
_BACKED = {"facecolor": "white", "edgecolor": "none", "pad": 0.3}  # no line runs through a number
_FARTHEST = 8.0
"""Times as good, or as bad, that the scale reaches at most; farther marks stand at its end."""
_FEW = 3
"""Masts up to which the drag at the slower speed is drawn too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scale:
    """From times as good to inches right of the line at 1."""

    reach: float  # log of the farthest; what lies beyond stands at the end
    room: float  # inches for it

    def place(self, merit: float) -> float:
        return max(-1.0, min(1.0, math.log(merit) / self.reach)) * self.room


def trade_picture(masts: Sequence[MastResult], *, units: System = "metric") -> Figure | None:
    """Both sides of the trade of two masts to five; None where there is nothing to weigh."""
    from matplotlib.figure import Figure

    masts = masts[:MOST]
    rows = shown(masts)
    if len(masts) < 2 or not rows:
        return None
    n = len(masts)
    gap = _GAP[n]
    heights = [_height(m, n) for m in rows]
    top = 0.06 + n * _LINE + 0.2
    tall = top + len({m.side for m in rows}) * _HEAD + sum(heights) + gap * len(rows) + _FOOT
    merits = [v for m in rows for i in range(1, n) if (v := m.merit(i, 0)) is not None]
    merits += [v for m in rows if (v := _limit(m)) is not None]
    half = (WIDTH - _LEFT - _RIGHT) / 2
    reach = min(max([math.log(1.15), *(abs(math.log(v)) for v in merits)]), math.log(_FARTHEST))
    scale = _Scale(reach=reach, room=half - _LABEL)
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        # Inches, downwards from the top edge and sideways from the line at 1.
        ax = fig.add_axes((0.0, 0.0, 1.0, 1.0))
        ax.set_xlim(-_LEFT - half, half + _RIGHT)
        ax.set_ylim(tall, 0.0)
        ax.axis("off")
        _names(ax, masts, -_LEFT - half + 0.05)
        y = top
        ax.text(-half, y - 0.09, "  ← worse than A", ha="left", va="center", color=_PALE, fontsize=SMALL)
        ax.text(half, y - 0.09, "better than A →", ha="right", va="center", color=_PALE, fontsize=SMALL)
        ax.text(-half - 0.06, y - 0.09, "A", ha="right", va="center", fontweight="bold", fontsize=TEXT)
        ax.text(0, y - 0.09, "A", ha="center", va="center", fontweight="bold", fontsize=TEXT)
        start, side = y, None
        for m, height in zip(rows, heights, strict=True):
            if m.side is not side:
                side = m.side
                left = -_LEFT - half + 0.05
                ax.text(left, y + _HEAD / 2, HEADS[side], va="center", fontweight="bold", fontsize=TEXT)
                y += _HEAD
            ax.plot([-_LEFT - half + 0.05, half], [y, y], color="#d8d8d8", linewidth=0.4, zorder=0)
            _row(ax, m, masts, y + gap / 2, scale, half, units)
            y += height + gap
        _scale(ax, scale, start, y)
    return fig


def shown(masts: Sequence[MastResult]) -> tuple[Measure, ...]:
    """The measures drawn: of several masts the drag at the faster speed alone, to keep it short."""
    found = measures(masts) if len(masts) > 1 else ()
    drags = [m for m in found if m.key.startswith("drag")]
    left_out = drags[:-1] if len(masts) > _FEW else []
    return tuple(m for m in found if m not in left_out)


def value_words(m: Measure, mast: int, units: System) -> str:
    """A mast's value with its unit, or why there is none."""
    value = m.values[mast]
    if value is None:
        return m.missing[mast] if m.missing else "–"
    if m.key == "strength":
        return f"{100 * value:.0f} %"
    _, unit = _split(m, units)
    label = unit_label(unit, units)
    shown = number(value * factor(m.unit, units))
    return f"{shown}{label}" if label == "°" else f"{shown} {plain(label, 12)}"


def name_words(m: Measure, units: System) -> str:
    """A measure's name, with the load that its unit is told for."""
    under, _ = _split(m, units)
    return f"{m.name} under {under}" if under else m.name


def _split(m: Measure, units: System) -> tuple[str, str]:
    """Load and unit of movement of a stiffness, as ``mm per 100 N``; no load for other units."""
    label = unit_label(m.unit, units)
    if " per " not in label:
        return "", m.unit
    unit, load = label.split(" per ", 1)
    return load, unit


def _height(m: Measure, masts: int) -> float:
    """Inches; a limit needs a lane for its word."""
    lanes = masts - 1 + (1 if _limit(m) is not None else 0)
    return max(lanes * _LANE[masts], 0.14)


def _limit(m: Measure) -> float | None:
    """How many times as good as the first mast one at the limit would be."""
    first = m.values[0]
    return None if m.limit is None or not first else first / m.limit


def _names(ax: Axes, masts: Sequence[MastResult], left: float) -> None:
    """A line a mast: its mark, letter, name, and whether it holds."""
    for i, m in enumerate(masts):
        y = 0.06 + (i + 0.5) * _LINE
        _stem(ax, i, left, left + 0.32, y, stand(m))
        tail = {
            Stand.HOLDS: "",
            Stand.FAILS: f": FAILS {plain(', '.join(failures(m)), 56)}",
            Stand.UNJUDGED: ": not judged in full",
        }[stand(m)]
        name = f"{letter_of(i)}  {plain(m.job.mast.name, 40)}"
        measure = " (the line at 1)" if not i else ""
        ax.text(left + 0.42, y, f"{name}{measure}{tail}", va="center", fontsize=SMALL)


def _stem(ax: Axes, mast: int, start: float, end: float, y: float, how: Stand) -> None:
    """A line in the mast's dash and its mark at the end; hollow where the mast does not hold."""
    drawn = line_style(mast)
    if mast == 0:
        ax.plot([(start + end) / 2] * 2, [y - 0.06, y + 0.06], color=INK, linewidth=1.6)
        return
    ax.plot([start, end], [y, y], linewidth=1.3, zorder=2, **drawn)
    filled = drawn["color"] if how is Stand.HOLDS else "white"
    ax.plot(
        [end], [y], marker=_MARKS[mast], markersize=4.6, linestyle="none", zorder=3,
        markerfacecolor=filled, markeredgecolor=drawn["color"], markeredgewidth=1.0,
    )  # fmt: skip


def _row(
    ax: Axes,
    m: Measure,
    masts: Sequence[MastResult],
    y: float,
    scale: _Scale,
    half: float,
    units: System,
) -> None:
    n = len(masts)
    lane = _LANE[n]
    lanes = max((n - 1) * lane, 0.14)
    middle = y + lanes / 2
    ax.text(-_LEFT - half + 0.05, middle, name_words(m, units), va="center", fontsize=SMALL)
    ax.text(-half - 0.06, middle, value_words(m, 0, units), va="center", ha="right", fontsize=SMALL,
            fontweight="bold")  # fmt: skip
    limit = _limit(m)
    if limit is not None:
        x = scale.place(limit)
        ax.plot([x, x], [y - 0.01, y + lanes], color="#a3271b", linewidth=1.2, zorder=1)
        ax.text(x, y + lanes + lane / 2, "limit: 100 % ", ha="right" if x <= 0 else "left", va="center",
                fontsize=SMALL if n == 2 else TINY, color="#a3271b")  # fmt: skip
    for i in range(1, n):
        at = y + (i - 0.5) * lanes / (n - 1)
        merit = m.merit(i, 0)
        words = f"{letter_of(i)} {value_words(m, i, units)}"
        x = 0.0 if merit is None else scale.place(merit)
        if merit is not None:
            _stem(ax, i, 0.0, x, at, stand(masts[i]))
            words += f" ({change_words(m, i)})"
        right = x >= 0 and merit is not None  # what is not known stands on the worse side
        ax.text(x + (0.07 if right else -0.07), at, words, ha="left" if right else "right",
                va="center", fontsize=SMALL if n == 2 else TINY, bbox=_BACKED)  # fmt: skip


def change_words(m: Measure, mast: int) -> str:
    """The change of a value against the first mast's, as a signed percentage or a multiple."""
    a, b = m.values[0], m.values[mast]
    if not a or b is None:
        return "–"
    ratio = b / a
    if ratio >= 2.5:
        return f"×{ratio:.1f}" if ratio < 100 else f"×{ratio:.0f}"
    percent = round(100 * (ratio - 1))
    return "same" if percent == 0 else f"{percent:+d} %".replace("-", "−")


def _scale(ax: Axes, scale: _Scale, top: float, bottom: float) -> None:
    """The line at 1 and light lines at round multiples, named below."""
    ax.plot([0, 0], [top, bottom], color=INK, linewidth=1.6, zorder=1)
    taken = 0.0
    for tick in _TICKS:
        if math.log(tick) > scale.reach:  # it would stand at the end, short of its own place
            break
        x = scale.place(tick)
        if x - taken < 0.3:
            continue
        taken = x
        for end, word in ((x, f"{tick:g} ×"), (-x, f"1/{tick:g}")):
            ax.plot([end, end], [top, bottom], color="#e2e2e2", linewidth=0.6, zorder=0)
            ax.text(end, bottom + 0.08, word, ha="center", va="center", fontsize=TINY, color=_PALE)
    ax.text(0, bottom + 0.08, "1", ha="center", va="center", fontsize=TINY, color=_PALE)
    ax.text(0, bottom + 0.22, "times as good as A", ha="center", va="center", fontsize=TINY,
            color=_PALE)  # fmt: skip


def trade_words(masts: Sequence[MastResult], units: System) -> tuple[str, str]:
    """Alternative text with every number drawn, and the caption."""
    drawn = masts[:MOST]
    names = letters(drawn)
    caption = (
        "The trade against mast A, better always to the right; a mark twice as good stands as far from "
        "the line as one half as good. Beside each mark the real number and its change against A. "
        "Hollow marks: the mast fails or is not judged in full, and what it has better counts for "
        "nothing until it holds."
    )
    logs = [abs(math.log(v)) for m in shown(drawn) for i in range(1, len(drawn)) if (v := m.merit(i, 0))]
    if max(logs, default=0.0) > math.log(_FARTHEST):
        caption += f" Marks at the end of the scale lie beyond {_FARTHEST:g} times."
    if len(masts) > MOST:
        caption += f" The first {MOST} masts are drawn; the table has all."
    said = [
        f"{name_words(m, units)}: "
        + ", ".join(f"{letter} {value_words(m, i, units)}" for i, letter in enumerate(names))
        for m in shown(drawn)
    ]
    held = {Stand.HOLDS: "holds", Stand.FAILS: "fails", Stand.UNJUDGED: "is not judged in full"}
    who = "; ".join(
        f"{letter} is {m.job.mast.name} and {held[stand(m)]}"
        for letter, m in zip(names, drawn, strict=True)
    )
    return f"What each mast gains and pays against mast A. {who}. {'; '.join(said)}.", caption
