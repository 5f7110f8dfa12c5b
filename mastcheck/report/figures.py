"""Figures as matplotlib objects; nothing is shown, and nothing is written.

Each function returns a ``Figure``; ``svg`` turns one into bytes that repeat. Lines differ in
dash as well as in colour, so that grey printing and colour blindness lose nothing.
"""

from __future__ import annotations

import io
import math
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np

from mastcheck.checks.result import CaseResult, FloatArray, MastResult
from mastcheck.report.display import System, factor, number, plain, quantity, unit_label
from mastcheck.section.model import SectionModel

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_WIDTH = 7.0  # inches: the text width of the report's A4 page
_LINES = (("#12355b", "-"), ("#c1551b", "--"), ("#2f8f83", "-."), ("#7a7a7a", ":"))
_FILLS = ("#b4c0cc", "#efe3c8", "#d9c3b0", "#cfd8c4")
_INK = "#222222"


@contextmanager
def _style() -> Iterator[None]:
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
                "font.family": "DejaVu Sans",
                "font.size": 7.5,
                "axes.titlesize": 8,
                "axes.labelsize": 7.5,
                "axes.edgecolor": "#666666",
                "axes.linewidth": 0.6,
                "axes.spines.top": False,
                "axes.spines.right": False,
                "axes.grid": True,
                "grid.color": "#e2e2e2",
                "grid.linewidth": 0.5,
                "text.color": _INK,
                "axes.labelcolor": _INK,
                "lines.linewidth": 1.5,
                "xtick.labelsize": 7,
                "ytick.labelsize": 7,
                "xtick.color": "#444444",
                "ytick.color": "#444444",
            }
        )
        yield


def svg(fig: Figure) -> bytes:
    """The figure as SVG; the same figure gives the same bytes."""
    out = io.BytesIO()
    with _style():
        fig.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()


def label(index: int, result: MastResult, longest: int = 30) -> str:
    """How a mast is called in figures: its letter and its name, cut where it is long."""
    return f"{LETTERS[index % 26]}  {plain(result.job.mast.name, longest)}"


def _line(index: int) -> dict[str, Any]:
    colour, dash = _LINES[index % len(_LINES)]
    return {"color": colour, "linestyle": dash}


def _legend(fig: Figure, masts: Sequence[MastResult], drawn: Sequence[int], top: float) -> None:
    from matplotlib.lines import Line2D

    handles = [Line2D([], [], **_line(i)) for i in drawn]
    columns = 2 if len(drawn) > 1 else 1
    fig.legend(
        handles,
        [label(i, masts[i], 44) for i in drawn],
        loc="upper center",
        bbox_to_anchor=(0.5, top),
        ncols=columns,
        frameon=False,
        handlelength=3.2,
        fontsize=7.5,
    )


def _patch(section: SectionModel, scale: float) -> list[tuple[Any, str]]:
    """Each region as a compound path [display units] with its holes, and its material."""
    from matplotlib.path import Path
    from shapely.geometry.polygon import orient

    out = []
    for region in section.regions:
        # Holes must run the other way round than the outside to stay open when filled.
        polygon = orient(region.polygon)
        rings = [polygon.exterior, *polygon.interiors]
        paths = []
        for ring in rings:
            points = np.asarray(ring.coords)[:, :2] * scale
            codes = np.full(len(points), Path.LINETO, dtype=Path.code_type)
            codes[0], codes[-1] = Path.MOVETO, Path.CLOSEPOLY
            paths.append(Path(points, codes))
        out.append((Path.make_compound_path(*paths), region.material.name))
    return out


def three_stations(result: MastResult) -> tuple[int, int, int]:
    """Indices of the solved sections at the base, nearest the middle, and at the tip."""
    z = result.z
    return 0, int(np.argmin(np.abs(z - z[-1] / 2))), len(z) - 1


def _bounds(section: SectionModel) -> tuple[float, float, float, float]:
    boxes = np.array([r.polygon.bounds for r in section.regions])
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def sections(masts: Sequence[MastResult], *, units: System = "metric") -> Figure:
    """Sections at base, middle and tip, all to one scale, aligned on the stacking line.

    A plus marks the centroid, a cross the shear centre; the dash-dotted line is the stacking line.
    """
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch, PathPatch

    side_by_side = len(masts) <= 2
    columns = len(masts) if side_by_side else 3
    cells = [[(i, s) for s in three_stations(m)] for i, m in enumerate(masts)]
    if side_by_side:
        cells = [[cells[i][row] for i in range(len(masts))] for row in range(3)]
    boxes = np.array([_bounds(masts[i].sections[s]) for row in cells for i, s in row]) * 1e3
    left, right = boxes[:, 0].min(), boxes[:, 2].max()
    deep = max(-boxes[:, 1].min(), boxes[:, 3].max())
    room = (_WIDTH - 0.1) / columns - 0.12
    ratio = next(
        r
        for r in (1, 1.5, 2, 2.5, 3, 4, 5, 7.5, 10, 15, 20, 50, 100, 1e4, 1e6)
        if (right - left) / r / 25.4 <= room
    )
    wide, high = (right - left) / ratio / 25.4, 2 * deep / ratio / 25.4
    title, foot = 0.34, 0.5
    step = high + title
    names = list(
        dict.fromkeys(
            r.material.name for row in cells for i, s in row for r in masts[i].sections[s].regions
        )
    )
    fills = {name: _FILLS[k % len(_FILLS)] for k, name in enumerate(names)}
    tall = foot + step * len(cells)
    with _style():
        fig = Figure(figsize=(_WIDTH, tall))
        for r, row in enumerate(cells):
            for c, (i, s) in enumerate(row):
                m, section = masts[i], masts[i].sections[s]
                x0 = 0.05 + c * (_WIDTH - 0.1) / columns + (room + 0.12 - wide) / 2
                y0 = tall - (r + 1) * step + 0.02
                ax = fig.add_axes((x0 / _WIDTH, y0 / tall, wide / _WIDTH, high / tall))
                ax.set(xlim=(left, right), ylim=(-deep, deep))
                ax.set_axis_off()
                for path, name in _patch(section, 1e3):
                    patch = PathPatch(
                        path, facecolor=fills[name], edgecolor=_INK, linewidth=0.5, clip_on=False
                    )
                    ax.add_patch(patch)
                ax.axvline(0, color="#999999", linewidth=0.5, linestyle="-.", zorder=0)
                p = section.properties
                ax.plot(
                    p.centroid_x * 1e3,
                    p.centroid_y * 1e3,
                    "+",
                    color="#12355b",
                    markersize=6,
                    clip_on=False,
                )
                ax.plot(
                    p.shear_centre_x * 1e3,
                    p.shear_centre_y * 1e3,
                    "x",
                    color="#c1551b",
                    markersize=5,
                    clip_on=False,
                )
                b = boxes[r * columns + c]
                where = ("base", "middle", "tip")[r if side_by_side else c]
                size = factor("mm", units)
                text = (
                    f"{LETTERS[i % 26]}  {where}, z = {quantity(m.z[s] * 1e3, 'mm', units)}: "
                    f"{number((b[2] - b[0]) * size)} × {number((b[3] - b[1]) * size)} "
                    f"{unit_label('mm', units)}"
                )
                centre = (x0 + wide / 2) / _WIDTH
                fig.text(
                    centre,
                    (y0 + high + 0.07) / tall,
                    text,
                    ha="center",
                    fontsize=7.5 if side_by_side else 6.6,
                )
        bar = 50.0 if units == "metric" else 50.8
        inches = bar / ratio / 25.4
        bar_line = Line2D(
            [0.02, 0.02 + inches / _WIDTH],
            [0.13 / tall] * 2,
            color=_INK,
            linewidth=2,
            solid_capstyle="butt",
        )
        fig.add_artist(bar_line)
        said = f"{quantity(bar, 'mm', units, 2)}; scale 1:{ratio:g} at full page size"
        fig.text(0.02, 0.2 / tall, said, fontsize=7)
        handles: list[Any] = [
            Line2D([], [], marker="+", linestyle="", color="#12355b", markersize=6),
            Line2D([], [], marker="x", linestyle="", color="#c1551b", markersize=5),
            *(Patch(facecolor=fills[n], edgecolor=_INK, linewidth=0.5) for n in names[:4]),
        ]
        fig.legend(
            handles,
            ["centroid", "shear centre", *(plain(n, 22) for n in names[:4])],
            loc="lower right",
            bbox_to_anchor=(1.0, 0.0),
            ncols=3 if len(names) > 1 else 6,
            frameon=False,
            fontsize=7,
            handletextpad=0.5,
            columnspacing=1.2,
            borderaxespad=0.1,
        )
    return fig


def stiffness_along(masts: Sequence[MastResult], *, units: System = "metric") -> Figure:
    """EI_side, EI_fore_aft and GJ from base to tip."""
    from matplotlib.figure import Figure

    kinds: tuple[tuple[str, Callable[[SectionModel], float]], ...] = (
        ("EI side", lambda s: s.properties.EIxx),
        ("EI fore-aft", lambda s: s.properties.EIyy),
        ("GJ", lambda s: s.properties.GJ),
    )
    rows = math.ceil(len(masts) / 2)
    head = 0.12 + 0.18 * rows
    with _style():
        fig = Figure(figsize=(_WIDTH, 2.1 + head))
        tall = 2.1 + head
        for k, (name, get) in enumerate(kinds):
            ax = fig.add_axes(((0.55 + 2.3 * k) / _WIDTH, 0.42 / tall, 1.75 / _WIDTH, 1.42 / tall))
            for i, m in enumerate(masts):
                y = np.array([get(s) for s in m.sections]) * factor("N·m²", units)
                ax.plot(m.z * 1e3 * factor("mm", units), y, **_line(i))
            ax.set_ylim(bottom=0)
            ax.set_xlim(left=0)
            ax.margins(x=0)
            ax.locator_params(axis="x", nbins=5)
            ax.set_xlabel(f"z from base [{unit_label('mm', units)}]")
            ax.set_title(f"{name} [{unit_label('N·m²', units)}]", loc="left")
        _legend(fig, masts, range(len(masts)), 1.0)
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
    head = 0.12 + 0.18 * math.ceil(max(len(lines), 1) / 2)
    tall = 2.3 + head
    long = max(m.job.mast.length for m in masts) * 1e3 * factor("mm", units)
    kinds = (
        ("sideways, to port", "mm", 1, False),
        ("fore-aft, aft positive", "mm", 0, False),
        ("twist, about z", "deg", 2, True),
    )
    with _style():
        fig = Figure(figsize=(_WIDTH, tall))
        for k, (name, unit, part, turn) in enumerate(kinds):
            ax = fig.add_axes(((0.6 + 2.2 * k) / _WIDTH, 0.42 / tall, 1.8 / _WIDTH, 1.6 / tall))
            ax.axvline(0, color="#888888", linewidth=0.7)
            for i, line in lines.items():
                values = np.degrees(line.rotation[:, part]) if turn else line.displacement[:, part] * 1e3
                z = line.z * 1e3 * factor("mm", units)
                ax.plot(values * factor(unit, units), z, **_line(i))
            ax.set_ylim(long * 1.02, 0)
            ax.margins(x=0.08)
            ax.locator_params(axis="x", nbins=4)
            ax.set_title(name, loc="left")
            ax.set_xlabel(f"[{unit_label(unit, units)}]")
            if k == 0:
                ax.set_ylabel(f"z from base [{unit_label('mm', units)}]")
            else:
                ax.tick_params(labelleft=False)
        if lines:
            _legend(fig, masts, list(lines), 1.0)
        else:
            fig.text(0.5, 0.5, "no stable case to draw", ha="center", fontsize=9)
    return fig


def governing(masts: Sequence[MastResult]) -> tuple[int, CaseResult] | None:
    """The mast and case of greatest utilisation, or of greatest stress where none is judged."""
    found = [
        ((c.utilisation is not None, c.utilisation or 0.0, c.max_von_mises or 0.0), -i, c)
        for i, m in enumerate(masts)
        for c in m.cases
        if c.von_mises is not None and c.governing_station is not None
    ]
    if not found:
        return None
    best = max(found, key=lambda item: item[:2])
    return -best[1], best[2]


def utilisation_lines(result: MastResult) -> tuple[FloatArray, FloatArray] | None:
    """Places along the mast [m] and the greatest utilisation there over all judged cases."""
    lines = []
    for c in result.cases:
        used = c.utilisation_along_z
        if used is None:
            continue
        z = result.z
        if len(used) != len(z) and c.strength_line is not None:
            z = c.strength_line.z
        if len(used) == len(z):
            lines.append((z, used))
    if not lines:
        return None
    z = lines[0][0]
    return z, np.max([np.interp(z, at, used) for at, used in lines], axis=0)


def utilisation_along(masts: Sequence[MastResult], *, units: System = "metric") -> Figure | None:
    """Greatest utilisation of the design strength along each mast; None where none is judged."""
    from matplotlib.figure import Figure

    lines = {i: line for i, m in enumerate(masts) if (line := utilisation_lines(m)) is not None}
    if not lines:
        return None
    head = 0.12 + 0.18 * math.ceil(len(lines) / 2)
    tall = 1.5 + head
    with _style():
        fig = Figure(figsize=(_WIDTH, tall))
        ax = fig.add_axes((0.6 / _WIDTH, 0.42 / tall, 6.1 / _WIDTH, 0.98 / tall))
        top = 1.0
        for i, (z, used) in lines.items():
            ax.plot(z * 1e3 * factor("mm", units), used, **_line(i))
            top = max(top, float(np.max(used)))
        ax.axhline(1, color=_INK, linewidth=0.8)
        ax.text(
            0.995, 1 + 0.02 * top, "limit", transform=ax.get_yaxis_transform(), ha="right", va="bottom"
        )
        ax.set_ylim(0, 1.15 * top)
        ax.set_xlim(left=0)
        ax.margins(x=0)
        ax.set_xlabel(f"z from base [{unit_label('mm', units)}]")
        ax.set_ylabel("utilisation [–]")
        _legend(fig, masts, list(lines), 1.0)
    return fig


def stress_map(result: MastResult, case: CaseResult, *, units: System = "metric") -> Figure:
    """Von Mises stress over the section that governs the case, at the factored load."""
    from matplotlib.figure import Figure

    if case.von_mises is None or case.governing_station is None:
        raise ValueError(f"{case.case.name!r} has no stress to draw")
    section = result.sections[case.governing_station]
    basis = section.basis
    stress = case.von_mises / 1e6 * factor("MPa", units)
    x0, y0, x1, y1 = (b * 1e3 for b in _bounds(section))
    wide = 6.0
    high = wide * (y1 - y0) / (x1 - x0)
    tall = high + 1.4
    size = factor("mm", units)
    with _style():
        fig = Figure(figsize=(_WIDTH, tall))
        ax = fig.add_axes((0.55 / _WIDTH, 0.94 / tall, wide / _WIDTH, high / tall))
        shades = ax.tripcolor(
            basis.points[:, 0] * 1e3 * size,
            basis.points[:, 1] * 1e3 * size,
            np.asarray(basis.triangles),
            facecolors=stress[basis.triangles].mean(axis=1),
            cmap="cividis_r",
            vmin=0.0,
            vmax=float(stress.max()) or 1.0,
            edgecolors="face",
            linewidth=0.15,
        )
        for region in section.regions:
            for ring in (region.polygon.exterior, *region.polygon.interiors):
                points = np.asarray(ring.coords) * 1e3 * size
                ax.plot(points[:, 0], points[:, 1], color=_INK, linewidth=0.4, clip_on=False)
        ax.grid(visible=False)
        ax.set(xlim=(x0 * size, x1 * size), ylim=(y0 * size, y1 * size))
        ax.set_xlabel(f"x from the stacking line, aft positive [{unit_label('mm', units)}]")
        ax.set_ylabel(f"y [{unit_label('mm', units)}]")
        if case.max_at_xy is not None:
            mx, my = (v * 1e3 * size for v in case.max_at_xy)
            ax.plot(
                mx,
                my,
                "o",
                markersize=7,
                markerfacecolor="none",
                markeredgecolor="#c1551b",
                clip_on=False,
            )
            right = mx > (x0 + 0.6 * (x1 - x0)) * size
            ax.annotate(
                f"greatest: {quantity((case.max_von_mises or 0.0) / 1e6, 'MPa', units)}",
                (mx, my),
                xycoords="data",
                xytext=((0.72 if right else 0.28), 1.0 + 0.22 / high),
                textcoords="axes fraction",
                ha="center",
                fontsize=8,
                arrowprops={"arrowstyle": "-", "color": "#c1551b", "linewidth": 0.8},
                annotation_clip=False,
            )
        key = fig.add_axes((1.8 / _WIDTH, 0.36 / tall, 3.5 / _WIDTH, 0.09 / tall))
        bar = fig.colorbar(shades, cax=key, orientation="horizontal")
        bar.outline.set_linewidth(0.4)
        bar.set_label(f"von Mises stress [{unit_label('MPa', units)}]", labelpad=1)
    return fig
