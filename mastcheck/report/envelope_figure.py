"""The chart of an envelope: heaviest rider against length, a line for each limit that is passed.

Lines are named where they end, and differ in dash by kind, so that grey printing loses nothing.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.envelope_result import Envelope, EnvelopeLimit, Heaviest, Kind, Reach
from mastcheck.report.display import System, factor, plain, unit_label
from mastcheck.report.figure_style import INK, SMALL, TINY, WIDTH, apart, style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FloatArray = NDArray[np.float64]

SUFFIXES = (".png", ".svg", ".pdf")
DPI = 200
_KIND: dict[Kind, dict[str, Any]] = {
    Kind.MOVEMENT: {"color": "#12355b", "linestyle": "--", "marker": "s"},
    Kind.STRENGTH: {"color": "#c1551b", "linestyle": "-", "marker": "o"},
    Kind.STABILITY: {"color": "#2f8f83", "linestyle": "-.", "marker": "^"},
    Kind.FATIGUE: {"color": "#8a4f9e", "linestyle": ":", "marker": "D"},
}


def envelope_figure(envelope: Envelope, *, units: System = "metric") -> Figure:
    """Heaviest rider of each limit over the length; what holds throughout is left out."""
    from matplotlib.figure import Figure

    kg, mm = factor("kg", units), 1e3 * factor("mm", units)
    x = np.array([row.length * mm for row in envelope.rows])
    low, high = (m * kg for m in envelope.riders)
    with style():
        fig = Figure(figsize=(WIDTH, 3.4))
        ax = fig.add_axes((0.6 / WIDTH, 0.45 / 3.4, 4.6 / WIDTH, 2.75 / 3.4))
        overall = [row.overall for row in envelope.rows]
        floor = np.array([_level(h, kg, low, high) for h in overall])
        ax.fill_between(x, low, floor, where=(floor > low).tolist(), color="#dfe6ee", linewidth=0)
        ends: list[tuple[float, float, str, str]] = []
        for i, limit in enumerate(envelope.limits):
            y = _line([row.heaviest[i] for row in envelope.rows], kg, high)
            if y is None:
                continue
            kind = _KIND[limit.kind]
            ax.plot(x, y, markersize=3, linewidth=1.3, **kind)
            k = int(np.flatnonzero(np.isfinite(y))[-1])
            ends.append((float(x[k]), float(y[k]), _name(limit), kind["color"]))
            if k < len(x) - 1:
                # It ends before the last length, where the lightest rider fails already.
                ax.plot([x[k]], [y[k]], marker="x", markersize=6, color=kind["color"])
        ax.plot(x, np.where(floor > low, floor, np.nan), color=INK, linewidth=3, alpha=0.25)
        room = 0.03 * (high - low)
        ax.set_ylim(low - room, high + 2 * room)
        pad = 0.02 * (x[-1] - x[0] if len(x) > 1 else x[0])
        ax.set_xlim(x[0] - pad, x[-1] + pad)
        for bound, words in ((low, "lightest tried"), (high, "heaviest tried")):
            ax.axhline(bound, color="#888888", linewidth=0.7)
            ax.text(
                0.99, bound + 0.3 * room, words, transform=ax.get_yaxis_transform(), ha="right",
                color="#555555", fontsize=TINY,
            )  # fmt: skip
        ax.set_xlabel(f"length [{unit_label('mm', units)}]")
        ax.set_ylabel(f"heaviest rider [{unit_label('kg', units)}]")
        places = apart([end[1] for end in ends], 0.048 * (high - low), low - room, high + 2 * room)
        for (at, end, words, colour), place in zip(ends, places, strict=True):
            ax.annotate(
                words, (at, end), (1.035, place), xycoords="data",
                textcoords=("axes fraction", "data"), color=colour, fontsize=SMALL, va="center",
                annotation_clip=False,
                arrowprops={
                    "arrowstyle": "-", "color": "#aaaaaa", "linewidth": 0.5, "relpos": (0, 0.5),
                    "shrinkB": 3,
                },
            )  # fmt: skip
        if not ends:
            ax.text(0.5, 0.5, "no limit is passed in this range", transform=ax.transAxes, ha="center")
    return fig


def picture(envelope: Envelope, suffix: str, *, units: System = "metric") -> bytes:
    """The chart as a file's bytes; the same envelope gives the same bytes.

    Raises: ValueError for a suffix that is none of SUFFIXES.
    """
    if suffix not in SUFFIXES:
        raise ValueError(f"no picture format {suffix!r}; known: {', '.join(SUFFIXES)}")
    import matplotlib as mpl

    name = plain(f"{envelope.job.mast.name}, riders and lengths")
    none: dict[str, dict[str, Any]] = {
        ".png": {"Software": None},
        ".svg": {"Date": None, "Creator": None, "Title": name},
        ".pdf": {"CreationDate": None, "Creator": None, "Producer": None, "Title": name},
    }
    fig = envelope_figure(envelope, units=units)
    out = io.BytesIO()
    with style():
        mpl.rcParams.update({"svg.fonttype": "path", "pdf.fonttype": 42})
        fig.savefig(out, format=suffix[1:], dpi=DPI, metadata=none[suffix])
    return out.getvalue()


def _name(limit: EnvelopeLimit) -> str:
    what = str(limit.kind) if limit.limit is None else limit.limit.quantity.value.replace("_", " ")
    return plain(f"{what}, {limit.case}", 36)


def _level(found: Heaviest, kg: float, low: float, high: float) -> float:
    """The top of what holds at one length; nothing where it fails at the lightest or is not judged."""
    if found.reach is Reach.FOUND:
        return (found.mass or 0.0) * kg
    return high if found.reach is Reach.ABOVE else low


def _line(found: Sequence[Heaviest], kg: float, high: float) -> FloatArray | None:
    """Riders over the lengths, the heaviest tried where a limit holds there; None where never passed.

    Not drawn where it fails at the lightest: the rider it would hold lies somewhere below.
    """
    if not any(h.reach is Reach.FOUND for h in found):
        return None
    y = np.full(len(found), np.nan)
    for k, h in enumerate(found):
        if h.reach is Reach.FOUND:
            y[k] = (h.mass or 0.0) * kg
        elif h.reach is Reach.ABOVE and any(
            n.reach is Reach.FOUND for n in found[max(k - 1, 0) : k + 2]
        ):
            y[k] = high
    return y
