"""Drag against speed as a figure: one mast by its terms, several by their totals; and its words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from mastcheck.checks.result import MastResult
from mastcheck.report.cells import letters
from mastcheck.report.display import System, factor, fixed, quantity, unit_label
from mastcheck.report.figure_style import (
    INK,
    SMALL,
    WIDTH,
    apart,
    legend,
    legend_height,
    letter_of,
    line_style,
    style,
)
from mastcheck.report.free_body_figure import free_bodies, free_body_words
from mastcheck.report.water import cases_shown

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FEWEST = 5
"""Speeds that make a line worth drawing."""
# From dark to light, so that neighbours differ in print without colour too; hatched where they are near.
_SHADES = ("#12355b", "#4f7296", "#a9bed2", "#e3c7b2", "#c1551b")
_TALL, _LEFT, _WIDE, _WIDER = 2.0, 0.6, 4.75, 5.45


def water_figures(masts: Sequence[MastResult], *, units: System) -> Iterator[tuple[str, Any, str, str]]:
    """Key, figure, alternative text and caption of each figure of the water side."""
    drag = drag_by_speed(masts, units=units)
    if drag is not None:
        yield ("drag", drag, *drag_words(masts, units))
    for letter, m in zip(letters(masts), masts, strict=True):
        if m.water is None or not cases_shown(m.water):
            continue
        bodies = free_bodies(m, units=units)
        if bodies is not None:
            yield (f"free bodies {letter}", bodies, *free_body_words(m, letter, units))


def drag_by_speed(masts: Sequence[MastResult], *, units: System = "metric") -> Figure | None:
    """Drag of the wet part against speed; None where it was told at too few speeds to draw."""
    from matplotlib.figure import Figure

    drawn = _drawn(masts)
    if not drawn:
        return None
    with style():
        tall = _TALL + legend_height(masts, drawn)
        fig = Figure(figsize=(WIDTH, tall))
        wide = _WIDE if len(masts) == 1 else _WIDER
        ax = fig.add_axes((_LEFT / WIDTH, 0.42 / tall, wide / WIDTH, (_TALL - 0.5) / tall))
        ax.set_xlabel(f"speed [{unit_label('m/s', units)}]")
        ax.set_ylabel(f"drag of the wet mast [{unit_label('N', units)}]")
        ax.set_axisbelow(True)
        if len(masts) == 1:
            _by_terms(ax, masts[0], units)
        else:
            _totals(ax, masts, drawn, units)
            legend(fig, masts, drawn, 1.0)
    return fig


def drag_words(masts: Sequence[MastResult], units: System) -> tuple[str, str]:
    """Alternative text and caption."""
    told = []
    for i in _drawn(masts):
        w = masts[i].water
        if w is None:  # pragma: no cover - only those that were looked at are drawn
            continue
        d = w.side.drag
        ends = "; ".join(
            f"{quantity(float(d.total[k]), 'N', units)} ({quantity(float(d.low[k]), 'N', units)} to "
            f"{quantity(float(d.high[k]), 'N', units)}) at {quantity(float(d.speeds[k]), 'm/s', units)}"
            for k in (0, -1)
        )
        told.append(f"{letter_of(i)} {ends}")
    band = "the band runs from laminar flow all over to the upper end of every term"
    if len(masts) == 1:
        caption = (
            "Drag of the mast's wet part against speed, its terms stacked; dashed are the ends of the "
            f"total's band: {band}."
        )
    else:
        caption = f"Drag of the masts' wet parts against speed; thin lines end the bands: {band}."
    return f"{caption} Total: {'. '.join(told)}.", caption


def _drawn(masts: Sequence[MastResult]) -> list[int]:
    """Masts that have a line to draw: not of a blade that flies clear, nor at a speed or two."""
    return [
        i
        for i, m in enumerate(masts)
        if m.water is not None
        and len(m.water.side.drag.speeds) >= FEWEST
        and m.water.side.drag.high.any()
    ]


def _by_terms(ax: Axes, m: MastResult, units: System) -> None:
    if m.water is None:  # pragma: no cover - callers have looked
        return
    d = m.water.side.drag
    force = factor("N", units)
    x = d.speeds * factor("m/s", units)
    terms = {name: v * force for name, v in d.terms.items()}
    bands = ax.stackplot(x, *terms.values(), colors=_SHADES, edgecolor="white", linewidth=0.4)
    for patch, hatch in zip(bands, ("", "", "", "....", "////"), strict=True):
        patch.set_hatch(hatch)
    ax.plot(x, d.total * force, color=INK, linewidth=1.4)
    for end in (d.low, d.high):
        # White below, so that the dashes are seen on dark too.
        ax.plot(x, end * force, color="white", linewidth=2.0)
        ax.plot(x, end * force, color=INK, linewidth=0.9, linestyle="--")
    top = float(d.high[-1]) * force * 1.04
    ax.set_ylim(0, top)
    ax.set_xlim(float(x[0]), float(x[-1]))
    edges = np.cumsum([float(v[-1]) for v in terms.values()])
    # Where a term is thin its label stands off and a line leads to it.
    wanted = [float(e - v[-1] / 2) for e, v in zip(edges, terms.values(), strict=True)]
    words = [f"{name} {fixed(float(v[-1]), 1)} {unit_label('N', units)}" for name, v in terms.items()]
    wanted += [float(d.high[-1]) * force, float(d.low[-1]) * force]
    words += ["upper end of the band", "lower end"]
    places = apart(wanted, 0.085 * top, 0.03 * top, 0.99 * top)
    for at, place, text in zip(wanted, places, words, strict=True):
        _lead(ax, float(x[-1]), at, place, text)


def _totals(ax: Axes, masts: Sequence[MastResult], drawn: Sequence[int], units: System) -> None:
    force, ends, top = factor("N", units), [], 0.0
    most = max(float(w.side.drag.speeds[-1]) for i in drawn if (w := masts[i].water) is not None)
    for i in drawn:
        w = masts[i].water
        if w is None:  # pragma: no cover - only those that were looked at are drawn
            continue
        d = w.side.drag
        x = d.speeds * factor("m/s", units)
        look = line_style(i)
        ax.plot(x, d.total * force, **look)
        for end in (d.low, d.high):
            ax.plot(x, end * force, **{**look, "linewidth": 0.6})
        last = float(d.total[-1]) * force
        ends.append((float(x[-1]), last, f"{letter_of(i)}  {fixed(last, 1)} {unit_label('N', units)}"))
        top = max(top, float(d.high[-1]) * force * 1.04)
    ax.set_ylim(0, top)
    ax.set_xlim(right=most * factor("m/s", units))
    places = apart([e[1] for e in ends], 0.085 * top, 0.03 * top, 0.99 * top)
    for (x_end, at, text), place in zip(ends, places, strict=True):
        _lead(ax, x_end, at, place, text)


def _lead(ax: Axes, x: float, at: float, place: float, text: str) -> None:
    """A label right of the axes at height ``place``, led to the line's end at ``x`` and ``at``."""
    right = ax.get_xlim()[1] + 0.035 * (ax.get_xlim()[1] - ax.get_xlim()[0])
    ax.plot([x, right], [at, place], color="#777777", linewidth=0.5, clip_on=False)
    ax.annotate(
        text, (right, place), xytext=(2, 0), textcoords="offset points", va="center", fontsize=SMALL,
        annotation_clip=False,
    )  # fmt: skip
