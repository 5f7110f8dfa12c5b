"""The picture of a sweep: mass against what it buys, designs that none other beats named.

Designs that hold and designs that exceed a limit differ in marker as well as in colour. What is not
drawn is counted below.
"""

from __future__ import annotations

import io
import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mastcheck.report.display import System, factor, given, plain, unit_label
from mastcheck.report.figure_style import INK, TINY, WIDTH, apart, line_style, style
from mastcheck.search.sweep import Judged
from mastcheck.search.variables import key_of
from mastcheck.units import Dimension

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SUFFIXES = (".png", ".svg", ".pdf")
MOST_LABELS = 14
"""Most designs named in a panel; the table has them all."""

_DPI = 200
_HEIGHT, _TOP, _FOOT = 2.75, 0.2, 0.78  # inches: of a panel, above the first, below the last
_LEFT, _ACROSS, _BETWEEN = 0.62, 4.2, 0.22
_LINES = 8  # as many groups as there are dashes; more are not told apart by line
_CELLS = 240  # a panel's pixels each way: of many points in one, one is drawn
_MANY = 2000
_ROOM = 0.06

_AXES = {
    "mass_kg": ("mass", "kg"),
    "twist_deg": ("largest twist at service load", "deg"),
    "side_mm": ("largest side deflection at service load", "mm"),
    "twist_deg_per_10Nm": ("twist", "deg/10 N·m"),
    "side_mm_per_100N": ("side deflection", "mm/100 N"),
    "drag_N": ("drag at the fastest speed", "N"),
}
_HOLDS: dict[str, Any] = {"marker": "o", "s": 9, "color": "#7f9cbd", "linewidths": 0}
_EXCEEDS: dict[str, Any] = {"marker": "x", "s": 9, "color": "#b9714f", "linewidths": 0.7}
_FRONT: dict[str, Any] = {"marker": "o", "markersize": 4.5, "markeredgewidth": 0.6}
_CROWD = 60  # points of a front from which on they are drawn smaller
_UNIT = {Dimension.LENGTH: ("mm", 1e3), Dimension.MASS: ("kg", 1.0)}


def front_figure(judged: Judged, *, units: System = "metric") -> Figure:
    """The first objective along, a panel for each of the others; of any number of designs."""
    from matplotlib.figure import Figure

    first, *others = judged.objectives
    shown = _shown(judged)
    labelled = _labelled(judged, shown)
    entries = _entries(judged, units)
    top = _TOP + 0.13 * max(-(-len(entries) // 2), 2)
    height = top + len(others) * _HEIGHT + (len(others) - 1) * _BETWEEN + _FOOT
    with style():
        fig = Figure(figsize=(WIDTH, height))
        for i, name in enumerate(others):
            bottom = height - top - (i + 1) * _HEIGHT - i * _BETWEEN
            ax = fig.add_axes((_LEFT / WIDTH, bottom / height, _ACROSS / WIDTH, _HEIGHT / height))
            _panel(ax, judged, shown, labelled, i + 1, units)
            ax.set_ylabel(_axis(name, units))
            if i < len(others) - 1:
                ax.tick_params(labelbottom=False)
            else:
                ax.set_xlabel(_axis(first, units))
        x = (_LEFT + 1.04 * _ACROSS) / WIDTH
        fig.text(
            x, 1 - 0.1 / height, _heading(judged, units), fontsize=TINY, va="top", color=INK,
            weight="bold",
        )  # fmt: skip
        fig.legend(
            [line for line, _ in entries], [words for _, words in entries], loc="upper left",
            bbox_to_anchor=((_LEFT - 0.1) / WIDTH, 1 - 0.02 / height), ncols=2,
            frameon=False, fontsize=TINY, handlelength=2.4, columnspacing=1.2, labelspacing=0.25,
            borderaxespad=0.2,
        )  # fmt: skip
        words = "\n".join(textwrap.wrap(" ".join(_caption(judged, shown, labelled)), 132))
        fig.text(_LEFT / WIDTH, 0.06 / height, words, fontsize=TINY, va="bottom", color="#444444")
    return fig


def picture(judged: Judged, suffix: str, *, units: System = "metric") -> bytes:
    """The picture as a file's bytes; the same designs give the same bytes.

    Raises: ValueError for a suffix that is none of SUFFIXES.
    """
    if suffix not in SUFFIXES:
        raise ValueError(f"no picture format {suffix!r}; known: {', '.join(SUFFIXES)}")
    import matplotlib as mpl

    name = plain(f"{judged.plan.job.mast.name}, designs")
    none: dict[str, dict[str, Any]] = {
        ".png": {"Software": None},
        ".svg": {"Date": None, "Creator": None, "Title": name},
        ".pdf": {"CreationDate": None, "Creator": None, "Producer": None, "Title": name},
    }
    fig = front_figure(judged, units=units)
    out = io.BytesIO()
    with style():
        mpl.rcParams.update({"svg.fonttype": "path", "pdf.fonttype": 42})
        fig.savefig(out, format=suffix[1:], dpi=_DPI, metadata=none[suffix])
    return out.getvalue()


def _shown(judged: Judged) -> IntArray:
    """Designs within the picture: all on the front or holding, and of the others those near them."""
    whole = np.isfinite(judged.values).all(axis=1)
    near = whole & (judged.front | judged.holds)
    if near.any():
        top = judged.values[near].max(axis=0)
        low = judged.values[near].min(axis=0)
        whole &= (judged.values <= top + 0.25 * (top - low) + 0.1 * np.abs(top)).all(axis=1)
    return np.flatnonzero(whole)


def _labelled(judged: Judged, shown: IntArray) -> IntArray:
    """The designs to be named: the front, or as many of it as there is room for, evenly by mass."""
    on = shown[judged.front[shown]]
    on = on[np.argsort(judged.values[on, 0], kind="stable")]
    if len(on) <= MOST_LABELS:
        return on
    return on[np.unique(np.linspace(0, len(on) - 1, MOST_LABELS).round().astype(np.int64))]


def _panel(
    ax: Axes, judged: Judged, shown: IntArray, labelled: IntArray, column: int, units: System
) -> None:
    by = np.array([factor(_AXES[judged.objectives[k]][1], units) for k in (0, column)])
    at = judged.values[:, [0, column]] * by
    low, high = _limits(at[shown])
    ax.set_xlim(low[0], high[0])
    ax.set_ylim(low[1], high[1])
    for holds, look in ((False, _EXCEEDS), (True, _HOLDS)):
        drawn = shown[judged.holds[shown] == holds]
        drawn = _thinned(at, drawn, low, high)
        # Many thousand dots are a small picture and a huge drawing.
        ax.scatter(at[drawn, 0], at[drawn, 1], zorder=2, rasterized=len(drawn) > _MANY, **look)
    groups = _groups(judged)
    for group in groups if len(groups) <= _LINES else [np.concatenate(groups)]:
        on = group[np.argsort(at[group, 0], kind="stable")]
        look = _look(judged, int(group[0]))
        # The lower edge of the front in this panel: what no lighter design of the group undercuts.
        edge = on[np.minimum.accumulate(at[on, 1]) >= at[on, 1]]
        ax.plot(at[edge, 0], at[edge, 1], linewidth=0.9, zorder=3, **look)
        face = look["color"] if not judged.none_holds else "white"
        on = _thinned(at, on, low, high)
        ax.plot(
            at[on, 0], at[on, 1], linestyle="none", color=look["color"], markerfacecolor=face,
            zorder=4, **{**_FRONT, "markersize": 2.5 if len(on) > _CROWD else 4.5},
        )  # fmt: skip
    _names(ax, judged, at, labelled, low, high, units)


def _names(
    ax: Axes, judged: Judged, at: FloatArray, labelled: IntArray, low: FloatArray, high: FloatArray,
    units: System,
) -> None:  # fmt: skip
    """The settings of designs beside the panel, a thin line from each to its point."""
    gap = 0.066 * (high[1] - low[1])
    places = apart([float(at[i, 1]) for i in labelled], gap, low[1] + gap / 2, high[1] - gap / 2)
    for i, place in zip(labelled, places, strict=True):
        ax.annotate(
            _settings(judged, int(i), units), (at[i, 0], at[i, 1]), (1.04, place), xycoords="data",
            textcoords=("axes fraction", "data"), fontsize=TINY, va="center", annotation_clip=False,
            color=_look(judged, int(i))["color"],
            arrowprops={
                "arrowstyle": "-", "color": "#b5b5b5", "linewidth": 0.4, "relpos": (0, 0.5),
                "shrinkB": 2.5,
            },
        )  # fmt: skip


def _groups(judged: Judged) -> list[IntArray]:
    """The front of each length and rider that has one."""
    on = np.flatnonzero(judged.front)
    group = on % judged.plan.alike
    return [on[group == g] for g in np.unique(group)]


def _limits(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    if not len(points):
        return np.zeros(2), np.ones(2)
    low, high = points.min(axis=0), points.max(axis=0)
    room = _ROOM * np.where(high > low, high - low, np.maximum(np.abs(high), 1e-3))
    return low - room, high + room


def _thinned(at: FloatArray, drawn: IntArray, low: FloatArray, high: FloatArray) -> IntArray:
    """The first of all points that fall into one small cell of the panel: what the eye can tell."""
    if len(drawn) < _CELLS:
        return drawn
    cell = ((at[drawn] - low) / (high - low) * _CELLS).astype(np.int64)
    _, first = np.unique(cell @ np.array([1, 10 * _CELLS]), return_index=True)
    return drawn[np.sort(first)]


def _entries(judged: Judged, units: System) -> list[tuple[Line2D, str]]:
    """What markers and lines mean."""
    from matplotlib.lines import Line2D

    dot: dict[str, Any] = {"linestyle": "none", "markersize": 4}
    entries = [
        (Line2D([], [], marker="o", color=_HOLDS["color"], markeredgewidth=0, **dot), "holds"),
        (Line2D([], [], marker="x", color=_EXCEEDS["color"], **dot), "exceeds a limit, or in doubt"),
    ]
    groups = _groups(judged)
    for group in groups[:1] if len(groups) > _LINES else groups:
        look = _look(judged, int(group[0]))
        face = "white" if judged.none_holds else look["color"]
        words = "none is better"
        if len(groups) > _LINES:
            words += " at the same length and rider"
        elif len(groups) > 1:
            words += f" at {_condition(judged, int(group[0]), units)}"
        entries.append((Line2D([], [], markerfacecolor=face, linewidth=0.9, **look, **_FRONT), words))
    return entries


def _look(judged: Judged, number: int) -> dict[str, Any]:
    """Colour and dash of the front that a design is on."""
    groups = np.unique(np.flatnonzero(judged.front) % judged.plan.alike)
    if len(groups) > _LINES:
        return {"color": "#12355b", "linestyle": "none"}
    return line_style(int(np.searchsorted(groups, number % judged.plan.alike)))


def _caption(judged: Judged, shown: IntArray, labelled: IntArray) -> list[str]:
    """What is drawn, and what is not."""
    count, solved = len(judged.holds), np.isfinite(judged.values).all(axis=1)
    still = count - int(solved.sum())
    beyond = int(solved.sum()) - len(shown)
    on = int(judged.front.sum())
    words = [f"{count} designs, {int(judged.holds.sum())} of them hold."]
    if judged.none_holds:
        words = [f"{count} designs, and none holds: named are the best of those that exceed a limit."]
    if beyond:
        words.append(f"Beyond the edges: {beyond}, over a limit.")
    if still:
        words.append(f"Not drawn: {still}, unstable in a load case or not to be built.")
    if on > len(labelled):
        words.append(f"{len(labelled)} of the {on} than which none is better are named.")
    words.append("A calculation aid, not approval.")
    return words


def _axis(name: str, units: System) -> str:
    words, unit = _AXES.get(name, (name.replace("_", " "), ""))
    return f"{words} [{unit_label(unit, units)}]" if unit else words


def _varied(judged: Judged) -> list[str]:
    """The keys that differ between designs."""
    return [v.key for v in judged.plan.variables if len(v.values) > 1]


def _heading(judged: Judged, units: System) -> str:
    """What the numbers of a label are."""
    parts = []
    for key in _varied(judged):
        unit, _ = _UNIT.get(key_of(key).dimension, ("deg", 1.0))
        parts.append(f"{key.replace('_', ' ')} [{unit_label(unit, units)}]")
    return "\n".join(textwrap.wrap(" · ".join(parts), 30, break_long_words=False))


def _settings(judged: Judged, number: int, units: System) -> str:
    """A design's settings, in the order of the heading."""
    settings = judged.plan.settings(number)
    return " · ".join(_value(key, settings[key], units) for key in _varied(judged))


def _condition(judged: Judged, number: int, units: System) -> str:
    """The length and the rider of a design, where they differ between designs."""
    settings, words = judged.plan.settings(number), []
    for key in [k for k in _varied(judged) if k in ("length", "rider")]:
        unit, _ = _UNIT[key_of(key).dimension]
        words.append(f"{_value(key, settings[key], units)} {unit_label(unit, units)}")
    return ", ".join(words)


def _value(key: str, value: float, units: System) -> str:
    unit, by = _UNIT.get(key_of(key).dimension, ("deg", float(np.degrees(1.0))))
    return given(value * by * factor(unit, units))
