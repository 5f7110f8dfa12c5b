"""The figure of buckling modes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from mastcheck.checks.result import MastResult
from mastcheck.report.buckling import drawn_modes
from mastcheck.report.display import System, factor, unit_label
from mastcheck.report.figure_style import WIDTH, legend, legend_height, line_style, style

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def buckling_modes(masts: Sequence[MastResult], *, units: System = "metric") -> Figure | None:
    """Mode shape of each mast's least stable case, base at the top; None where none buckles."""
    from matplotlib.figure import Figure

    modes = drawn_modes(masts)
    if not modes:
        return None
    head = legend_height(masts, list(modes))
    tall = 1.75 + head
    long = max(m.job.mast.length for m in masts) * 1e3 * factor("mm", units)
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for k, name in enumerate(("sideways, to port", "fore-aft, aft positive", "twist × length")):
            ax = fig.add_axes(((0.6 + 2.2 * k) / WIDTH, 0.42 / tall, 1.8 / WIDTH, 1.05 / tall))
            ax.axvline(0, color="#888888", linewidth=0.7)
            for i, mode in modes.items():
                length = masts[i].job.mast.length
                parts = (
                    mode.displacement[:, 1],
                    mode.displacement[:, 0],
                    mode.rotation[:, 2] * length,
                )
                ax.plot(parts[k], mode.z * 1e3 * factor("mm", units), **line_style(i))
            ax.set_ylim(long * 1.02, 0)
            ax.set_xlim(-1.1, 1.1)
            ax.locator_params(axis="x", nbins=4)
            ax.set_title(name, loc="left")
            ax.set_xlabel("[–]")
            if k == 0:
                ax.set_ylabel(f"z from base [{unit_label('mm', units)}]")
            else:
                ax.tick_params(labelleft=False)
        legend(fig, masts, list(modes), 1.0)
    return fig
