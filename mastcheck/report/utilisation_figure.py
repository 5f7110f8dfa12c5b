"""Utilisation along each mast, a line for each load case, named where it begins at the base."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from mastcheck.checks.result import CaseResult, FloatArray, MastResult
from mastcheck.report.cells import letters
from mastcheck.report.display import System, factor, fixed, plain, quantity, unit_label
from mastcheck.report.figure_style import INK, SMALL, TINY, WIDTH, apart, line_style, style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_TALL = 2.0  # inches of one panel with its labels
_NAMES = 1.05  # inches left of a panel for the names of its lines


def case_line(result: MastResult, case: CaseResult) -> tuple[FloatArray, FloatArray] | None:
    """Places along the mast [m] and utilisation there; None where the case is not judged."""
    used = case.utilisation_along_z
    return None if used is None else (result.z, used)


def utilisation_by_case(masts: Sequence[MastResult], *, units: System = "metric") -> Figure | None:
    """A panel a mast, two in a row; None where nothing is judged."""
    from matplotlib.figure import Figure

    drawn = [i for i, m in enumerate(masts) if any(case_line(m, c) is not None for c in m.cases)]
    if not drawn:
        return None
    across = min(len(drawn), 2)
    down = math.ceil(len(drawn) / across)
    tall, wide = _TALL * down, WIDTH / across
    peak = max(
        float(line[1].max())
        for i in drawn
        for c in masts[i].cases
        if (line := case_line(masts[i], c)) is not None
    )
    top = 1.12 * max(1.0, peak)
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for place, i in enumerate(drawn):
            row, column = divmod(place, across)
            ax = fig.add_axes(
                (
                    (column * wide + _NAMES) / WIDTH,
                    1 - ((row + 1) * _TALL - 0.42) / tall,
                    (wide - _NAMES - 0.5) / WIDTH,
                    (_TALL - 0.42 - 0.22) / tall,
                )
            )
            _panel(ax, masts[i], top, units)
            if len(masts) > 1:
                ax.set_title(f"{letters(masts)[i]}  {plain(masts[i].job.mast.name, 34)}", loc="left")
    return fig


def _panel(ax: Axes, result: MastResult, top: float, units: System) -> None:
    """Lines of one mast: labels on the base's side, the scale on the tip's."""
    mm = 1e3 * factor("mm", units)
    begins: list[tuple[float, str, str]] = []
    for k, case in enumerate(result.cases):
        line = case_line(result, case)
        if line is None:
            continue
        z, used = line
        look = line_style(k)
        ax.plot(z * mm, used, linewidth=1.2, **look)
        begins.append((float(used[0]), plain(case.case.name, 18), str(look["color"])))
    ax.axhline(1, color=INK, linewidth=0.8)
    ax.text(
        0.99, 1 + 0.015 * top, "limit", transform=ax.get_yaxis_transform(), ha="right", fontsize=TINY
    )
    ax.set_ylim(0, top)
    ax.set_xlim(0, result.job.mast.length * mm)
    ax.yaxis.tick_right()
    ax.yaxis.set_label_position("right")
    ax.spines["right"].set_visible(True)
    ax.set_ylabel("utilisation [–]")
    ax.set_xlabel(f"z from base [{unit_label('mm', units)}]")
    places = apart([y for y, _, _ in begins], 0.105 * top, 0.0, top)
    for (y, words, colour), at in zip(begins, places, strict=True):
        ax.annotate(
            words, (0.0, y), (-0.06, at), xycoords=("axes fraction", "data"),
            textcoords=("axes fraction", "data"), color=colour, fontsize=SMALL, ha="right", va="center",
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": "#aaaaaa", "linewidth": 0.5, "relpos": (1, 0.5)},
        )  # fmt: skip


def utilisation_words(masts: Sequence[MastResult], units: System) -> str:
    """The greatest of each case and its place, and the cases that are not drawn."""
    out = []
    for letter, m in zip(letters(masts), masts, strict=True):
        found, absent = [], []
        for c in m.cases:
            line = case_line(m, c)
            if line is None:
                absent.append(c.case.name)
                continue
            k = int(np.argmax(line[1]))
            at = quantity(float(line[0][k]) * 1e3, "mm", units)
            found.append(f"{c.case.name} {fixed(float(line[1][k]), 2)} at z = {at}")
        words = "; ".join(found) or "none"
        if absent:
            words += f" (unstable or not judged: {', '.join(absent)})"
        out.append(words if len(masts) == 1 else f"{letter}: {words}")
    return ". ".join(out)
