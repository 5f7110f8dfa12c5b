"""The figure of the verification: how much of its tolerance each difference takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from mastcheck.report.figure_style import INK, SMALL, style
from mastcheck.report.verification_words import by_area
from mastcheck.verify.run import SHARE, Outcome

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ALT = (
    "A row of dots for each area, a dot a published value, by the share of its tolerance that the "
    "difference takes, on a logarithmic scale that ends at one."
)
CAPTION = (
    "Each value by the share of its tolerance that the difference takes; a share below 0.01 is drawn "
    "there, and one past 1 has failed (a cross)."
)
WIDE = 3.2  # inches: half of the page, beside the table
_MOST = 10.0


def spread(outcomes: Sequence[Outcome]) -> Figure:
    """A line of dots an area, those of like shares above one another."""
    from matplotlib.figure import Figure

    areas = by_area(outcomes)
    tall = 0.17 * len(areas) + 0.5
    with style():
        fig = Figure(figsize=(WIDE, tall))
        ax = fig.add_axes((0.62 / WIDE, 0.4 / tall, (WIDE - 0.75) / WIDE, 1 - 0.45 / tall))
        for line, each in enumerate(areas.values()):
            for mark, colour, some in (
                ("o", "#12355b", [o for o in each if o.held]),
                ("x", "#a3271b", [o for o in each if not o.held]),
            ):
                places = stacked([share(o) for o in some])
                ax.scatter(
                    [x for x, _ in places],
                    [line + 0.08 * up for _, up in places],
                    s=6 if mark == "o" else 22,
                    marker=mark,
                    color=colour,
                    linewidths=0 if mark == "o" else 1.2,
                )
        ax.axvline(1.0, color=INK, linewidth=0.8)
        ax.set_xscale("log")
        ax.set_xlim(0.8 * SHARE, _MOST * 1.1 if any(not o.held for o in outcomes) else 1.25)
        ax.set_ylim(len(areas) - 0.4, -0.6)
        ax.set_yticks(range(len(areas)), list(areas))
        ticks = [0.01, 0.1, 1.0]
        ax.set_xticks(ticks, ["≤ 0.01", *(f"{t:g}" for t in ticks[1:])])
        ax.minorticks_off()
        ax.set_xlabel("difference over tolerance")
        ax.tick_params(labelsize=SMALL)
    return fig


def share(outcome: Outcome) -> float:
    """Difference over tolerance to two figures, within the scale; its end where nothing was computed."""
    found = abs(outcome.difference) / outcome.row.tolerance
    if not math.isfinite(found):
        return _MOST
    return float(f"{min(max(found, SHARE), _MOST):.1e}")


def stacked(shares: Sequence[float], bin_width: float = 0.02) -> list[tuple[float, int]]:
    """Shares with how many steps each dot is moved up or down, so that like ones can be counted.

    >>> stacked([0.5, 0.5, 0.01])
    [(0.5, 0), (0.5, 1), (0.01, 0)]
    """
    taken: dict[int, int] = {}
    out = []
    for value in shares:
        place = round(math.log10(value) / bin_width)
        count = taken.get(place, 0)
        taken[place] = count + 1
        # 0, 1, -1, 2, -2 ...; a long pile is cut at what the line has room for.
        step = (count + 1) // 2 * (1 if count % 2 else -1)
        out.append((value, max(-5, min(5, step))))
    return out
