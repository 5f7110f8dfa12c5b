"""Bench readings against what was calculated, before and after the fit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from mastcheck.bench.fit import BenchFit, Status
from mastcheck.bench.readings import Gauge, GaugeKind, Load
from mastcheck.report.display import System, factor, unit_label
from mastcheck.report.figure_style import INK, TEXT, WIDTH, style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_BEFORE, _AFTER, _OUT = "#c1551b", "#12355b", "#a3271b"
_WORDS = {
    GaugeKind.SIDE: "side", GaugeKind.FORE_AFT: "fore-aft", GaugeKind.TWIST: "twist",
}  # fmt: skip


def bench_figure(fit: BenchFit, *, units: System = "metric") -> Figure:
    """Above: measured against calculated (open) and fitted (full). Below: along the mast."""
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

    kinds = [k for k in GaugeKind if any(r.gauge.kind is k for r in fit.readings)]
    tall = 5.2
    wide = 1.55 if len(kinds) == 3 else 2.2
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for k, kind in enumerate(kinds):
            left = (0.62 + (WIDTH - 0.6) / len(kinds) * k) / WIDTH
            upper = fig.add_axes((left, 2.95 / tall, wide / WIDTH, 1.6 / tall))
            lower = fig.add_axes((left, 0.42 / tall, wide / WIDTH, 1.75 / tall))
            _against(upper, fit, kind, units)
            _along(lower, fit, kind, units)
        handles = [
            Line2D([], [], color=_BEFORE, marker="o", mfc="none", linestyle="--", linewidth=1),
            Line2D([], [], color=_AFTER, marker="o", linestyle="-", linewidth=1),
            Line2D([], [], color=INK, marker="s", markersize=4, linestyle=""),
            Line2D([], [], color=_OUT, marker="x", linestyle="", markeredgewidth=1.5),
        ]
        fig.legend(
            handles, ["as calculated", "after the fit", "measured (below)", "outlier, not used"],
            loc="upper center", bbox_to_anchor=(0.5, 1.0), ncols=4, frameon=False, fontsize=TEXT,
        )  # fmt: skip
    return fig


def _unit(kind: GaugeKind, units: System) -> tuple[str, float]:
    if kind is GaugeKind.TWIST:
        return unit_label("deg", units), float(np.degrees(1.0))
    return unit_label("mm", units), 1e3 * factor("mm", units)


def _against(ax: Axes, fit: BenchFit, kind: GaugeKind, units: System) -> None:
    label, by = _unit(kind, units)
    own = np.array([r.gauge.kind is kind for r in fit.readings])
    measured = (np.array([r.value for r in fit.readings]) - fit.zero) * by
    shown, out = own & fit.used, own & fit.flagged
    ax.plot(
        fit.predicted[shown] * by, measured[shown], "o", color=_BEFORE, mfc="none", markersize=4,
        markeredgewidth=0.9,
    )  # fmt: skip
    ax.plot(fit.fitted[shown] * by, measured[shown], "o", color=_AFTER, markersize=3)
    ax.plot(fit.fitted[out] * by, measured[out], "x", color=_OUT, markersize=6, markeredgewidth=1.5)
    every = np.concatenate([measured[own], fit.predicted[own] * by, fit.fitted[own] * by])
    ends = np.array([every.min(), every.max()])
    ax.plot(ends, ends, color="#888888", linewidth=0.7, zorder=0)
    ax.set_title(f"{_WORDS[kind]} [{label}]", loc="left")
    ax.set_xlabel("calculated or fitted")
    ax.set_ylabel("measured")
    ax.locator_params(nbins=5)


def _along(ax: Axes, fit: BenchFit, kind: GaugeKind, units: System) -> None:
    """Movement along the mast under the load that the most places were read at."""
    label, by = _unit(kind, units)
    mm = 1e3 * factor("mm", units)
    found = _shown_load(fit, kind)
    ax.set_xlabel(f"z from base [{unit_label('mm', units)}]")
    ax.set_ylabel(f"under one load [{label}]")
    if found is None:
        return
    load, amount, rows = found
    z = fit.model.frame.z
    gauges = [Gauge(kind=kind, z=float(v)) for v in z]
    columns, rest = fit.model.rows([load] * len(z), gauges)
    plays = fit.model.play_rows([load] * len(z), np.full(len(z), amount), gauges)
    theta = np.array([u.value for u in fit.unknowns])
    free = np.array([p.value if p.status is Status.FITTED else 0.0 for p in fit.plays])
    before = (columns @ fit.model.nominal + rest) * amount
    after = (columns @ theta + rest) * amount + plays @ free
    ax.plot(z * mm, before * by, color=_BEFORE, linestyle="--", linewidth=1.2)
    ax.plot(z * mm, after * by, color=_AFTER, linewidth=1.2)
    at = np.array([fit.readings[i].gauge.z for i in rows])
    value = np.array([fit.readings[i].value - fit.zero[i] for i in rows])
    bad = fit.flagged[rows]
    ax.errorbar(
        at[~bad] * mm, value[~bad] * by, yerr=2 * fit.sigma[rows][~bad] * by, fmt="s", color=INK,
        markersize=3.5, linewidth=0.8, capsize=2,
    )  # fmt: skip
    ax.plot(at[bad] * mm, value[bad] * by, "x", color=_OUT, markersize=6, markeredgewidth=1.5)
    ax.set_xlim(left=0)
    ax.locator_params(nbins=5)


def _shown_load(fit: BenchFit, kind: GaugeKind) -> tuple[Load, float, list[int]] | None:
    """The load read at the most places of one kind on the blade, the largest of such; its readings."""
    groups: dict[tuple[Load, float], list[int]] = {}
    for i, r in enumerate(fit.readings):
        if r.gauge.kind is kind and r.gauge.arm == 0 and r.gauge.part == "blade" and r.amount != 0:
            groups.setdefault((r.load, r.amount), []).append(i)
    if not groups:
        return None

    def weight(key: tuple[Load, float]) -> tuple[int, float]:
        return len({fit.readings[i].gauge.z for i in groups[key]}), abs(key[1])

    best = max(groups, key=weight)
    return best[0], best[1], groups[best]


def picture(fit: BenchFit, suffix: str, *, units: System = "metric") -> bytes:
    """The figure as a file's bytes: ``.svg``, ``.png`` or ``.pdf``."""
    import io

    import matplotlib as mpl

    kept: dict[str, dict[str, None]] = {
        ".svg": {"Date": None, "Creator": None},
        ".pdf": {"CreationDate": None, "Creator": None, "Producer": None},
        ".png": {"Software": None},
    }
    fig = bench_figure(fit, units=units)
    out = io.BytesIO()
    with style():
        # It stands alone: letters become curves in SVG, which no missing font can move.
        mpl.rcParams.update({"svg.fonttype": "path", "pdf.fonttype": 42})
        fig.savefig(out, format=suffix[1:], dpi=160, metadata=kept[suffix])
    return out.getvalue()
