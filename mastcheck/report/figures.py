"""Graphs along the mast, as matplotlib figures; nothing is shown, and nothing is written.

Each function returns a ``Figure``; ``figure_style.svg`` turns one into bytes that repeat.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from mastcheck.checks.result import CaseResult, FloatArray, MastResult
from mastcheck.report.display import System, factor, unit_label
from mastcheck.report.figure_style import (
    INK,
    SMALL,
    TITLE,
    WIDTH,
    apart,
    legend,
    legend_height,
    letter_of,
    line_style,
    mark_ends,
    style,
)
from mastcheck.section.model import SectionModel

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def stiffness_along(masts: Sequence[MastResult], *, units: System = "metric") -> Figure:
    """EI_side, EI_fore_aft and GJ from base to tip."""
    from matplotlib.figure import Figure

    kinds: tuple[tuple[str, Callable[[SectionModel], float]], ...] = (
        ("EI side", lambda s: s.properties.EIxx),
        ("EI fore-aft", lambda s: s.properties.EIyy),
        ("GJ", lambda s: s.properties.GJ),
    )
    head = legend_height(masts, range(len(masts)))
    tall = 2.0 + head
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for k, (name, get) in enumerate(kinds):
            ax = fig.add_axes(((0.55 + 2.25 * k) / WIDTH, 0.42 / tall, 1.6 / WIDTH, 1.32 / tall))
            ends = {}
            for i, m in enumerate(masts):
                y = np.array([get(s) for s in m.sections]) * factor("N·m²", units)
                z = m.z * 1e3 * factor("mm", units)
                ax.plot(z, y, **line_style(i))
                ends[i] = float(z[-1]), float(y[-1])
            ax.margins(x=0)
            ax.set_ylim(bottom=0)
            ax.set_xlim(left=0)
            mark_ends(ax, ends)
            ax.locator_params(axis="x", nbins=5)
            ax.set_xlabel(f"z from base [{unit_label('mm', units)}]")
            ax.set_title(f"{name} [{unit_label('N·m²', units)}]", loc="left")
        legend(fig, masts, range(len(masts)), 1.0)
    return fig


def lateral(case: CaseResult) -> float:
    """Sideways and fore-aft movement of the tip together [m]; by first order when unstable."""
    tip = case.tip or case.first_order_tip
    return math.hypot(tip.side, tip.fore_aft)


def widest_case(masts: Sequence[MastResult]) -> str | None:
    """The load case with the greatest tip movement among those that some mast stands."""
    known = [(lateral(c), c.case.name) for m in masts for c in m.cases if c.line is not None]
    return max(known)[1] if known else None


def find_case(result: MastResult, name: str | None) -> CaseResult | None:
    """The case of that name, if the mast was checked for it."""
    return next((c for c in result.cases if c.case.name == name), None)


def deflected(
    masts: Sequence[MastResult], *, case: str | None = None, units: System = "metric"
) -> Figure:
    """Deflected shape and twist of the masts, base at the top, in one load case.

    ``case``: by default the one with the greatest tip movement. An unstable mast is not drawn.
    """
    from matplotlib.figure import Figure

    case = case or widest_case(masts)
    lines = {
        i: found.line
        for i, m in enumerate(masts)
        if (found := find_case(m, case)) is not None and found.line is not None
    }
    head = legend_height(masts, list(lines))
    tall = 2.25 + head
    long = max(m.job.mast.length for m in masts) * 1e3 * factor("mm", units)
    kinds = (
        ("sideways, to port", "mm", 1, False),
        ("fore-aft, aft positive", "mm", 0, False),
        ("twist, about z", "deg", 2, True),
    )
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for k, (name, unit, part, turn) in enumerate(kinds):
            ax = fig.add_axes(((0.6 + 2.2 * k) / WIDTH, 0.42 / tall, 1.8 / WIDTH, 1.6 / tall))
            ax.axvline(0, color="#888888", linewidth=0.7)
            tips = {}
            for i, line in lines.items():
                values = np.degrees(line.rotation[:, part]) if turn else line.displacement[:, part] * 1e3
                z = line.z * 1e3 * factor("mm", units)
                ax.plot(values * factor(unit, units), z, **line_style(i))
                tips[i] = float(values[-1] * factor(unit, units)), float(z[-1])
            ax.margins(x=0.08)
            ax.set_ylim(long * (1.02 if len(masts) < 2 else 1.14), 0)
            _mark_tips(ax, tips if len(masts) > 1 else {}, long)
            ax.locator_params(axis="x", nbins=4)
            ax.set_title(name, loc="left")
            ax.set_xlabel(f"[{unit_label(unit, units)}]")
            if k == 0:
                ax.set_ylabel(f"z from base [{unit_label('mm', units)}]")
            else:
                ax.tick_params(labelleft=False)
        if lines:
            legend(fig, masts, list(lines), 1.0)
        else:
            fig.text(0.5, 0.5, "no stable case to draw", ha="center", fontsize=TITLE)
    return fig


def _mark_tips(ax: Axes, tips: dict[int, tuple[float, float]], long: float) -> None:
    """The letter of each mast below the end of its line."""
    low, high = ax.get_xlim()
    places = apart([x for x, _ in tips.values()], 0.06 * (high - low), low, high)
    for (i, (_, z)), x in zip(tips.items(), places, strict=True):
        ax.text(x, z + 0.065 * long, letter_of(i), color=line_style(i)["color"], fontsize=SMALL,
                ha="center", va="center")  # fmt: skip


def utilisation_lines(result: MastResult) -> tuple[FloatArray, FloatArray] | None:
    """Places along the mast [m] and the greatest utilisation there over all judged cases."""
    lines = [c.utilisation_along_z for c in result.cases if c.utilisation_along_z is not None]
    return (result.z, np.max(lines, axis=0)) if lines else None


def utilisation_along(masts: Sequence[MastResult], *, units: System = "metric") -> Figure | None:
    """Greatest utilisation of the design strength along each mast; None where none is judged."""
    from matplotlib.figure import Figure

    lines = {i: line for i, m in enumerate(masts) if (line := utilisation_lines(m)) is not None}
    if not lines:
        return None
    head = legend_height(masts, list(lines))
    tall = 1.5 + head
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        ax = fig.add_axes((0.6 / WIDTH, 0.42 / tall, 6.0 / WIDTH, 0.98 / tall))
        top = 1.0
        for i, (z, used) in lines.items():
            ax.plot(z * 1e3 * factor("mm", units), used, **line_style(i))
            top = max(top, float(np.max(used)))
        ax.axhline(1, color=INK, linewidth=0.8)
        ax.text(
            0.995, 1 + 0.02 * top, "limit", transform=ax.get_yaxis_transform(), ha="right", va="bottom"
        )
        ax.margins(x=0)
        ax.set_ylim(0, 1.15 * top)
        ax.set_xlim(left=0)
        mm = 1e3 * factor("mm", units)
        mark_ends(ax, {i: (float(z[-1]) * mm, float(used[-1])) for i, (z, used) in lines.items()})
        ax.set_xlabel(f"z from base [{unit_label('mm', units)}]")
        ax.set_ylabel("utilisation [–]")
        legend(fig, masts, list(lines), 1.0)
    return fig
