"""Sections drawn to scale, and the stress over the one that governs, as matplotlib figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from mastcheck.checks.result import CaseResult, MastResult
from mastcheck.report.display import System, factor, number, plain, quantity, unit_label
from mastcheck.report.figure_style import HIGHEST, INK, SMALL, TEXT, TITLE, WIDTH, letter_of, style
from mastcheck.section.model import SectionModel

if TYPE_CHECKING:
    from matplotlib.figure import Figure

TONES: tuple[tuple[str, str], ...] = (
    ("#b4c0cc", ""),
    ("#f3ead6", ""),
    ("#8293a3", ""),
    ("#ececec", "////"),
    ("#55626f", ""),
    ("#ffffff", "...."),
    ("#b4c0cc", "xxxx"),
    ("#f3ead6", "\\\\\\\\"),
)
"""Fill and hatching of materials in turn: told apart by lightness or hatching in grey print too."""

_LEGEND = 3
"""Columns of the legend where there are several materials."""


def _tone(tone: tuple[str, str]) -> dict[str, Any]:
    """Patch settings of a tone; hatching is drawn in the colour of the edge."""
    return {"facecolor": tone[0], "hatch": tone[1] or None, "edgecolor": INK, "linewidth": 0.5}


def patches(section: SectionModel, scale: float) -> list[tuple[Any, str]]:
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


def bounds(section: SectionModel) -> tuple[float, float, float, float]:
    """Least x and y, greatest x and y of a section [m]."""
    boxes = np.array([r.polygon.bounds for r in section.regions])
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


WHERE = ("base", "middle", "tip")
_MANY = 10
"""Masts past which the base alone is drawn of each."""


def _cells(masts: Sequence[MastResult], *, compact: bool) -> list[list[tuple[int, int, str]]]:
    """Rows of (mast, station, its name): two masts beside each other, others one a row, one in two."""
    stations = [list(zip(three_stations(m), WHERE, strict=True)) for m in masts]
    if len(masts) > (2 if compact else _MANY):
        bases = [(i, *stations[i][0]) for i in range(len(masts))]
        return [bases[k : k + 4] for k in range(0, len(bases), 4)]
    if len(masts) == 1 and not compact:
        own = [(0, *place) for place in stations[0]]
        return [own[:2], own[2:]]
    if len(masts) > 2 or compact:
        return [[(i, *place) for place in stations[i]] for i in range(len(masts))]
    return [[(i, *stations[i][row]) for i in range(len(masts))] for row in range(len(WHERE))]


def sections(masts: Sequence[MastResult], *, units: System = "metric", compact: bool = False) -> Figure:
    """Sections at base, middle and tip, all to one scale, aligned on the stacking line.

    A plus marks the centroid, a cross the shear centre; the dash-dotted line is the stacking line.
    ``compact``: three beside each other, and of more than two masts the base alone.
    """
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch, PathPatch

    named = _cells(masts, compact=compact)
    columns = len(named[0])
    cells = [[(i, s) for i, s, _ in row] for row in named]
    boxes = np.array([bounds(masts[i].sections[s]) for row in cells for i, s in row]) * 1e3
    left, right = boxes[:, 0].min(), boxes[:, 2].max()
    deep = max(-boxes[:, 1].min(), boxes[:, 3].max())
    room = (WIDTH - 0.1) / columns - 0.12
    ratio = next(
        r
        for r in (1, 1.5, 2, 2.5, 3, 4, 5, 7.5, 10, 15, 20, 50, 100, 1e4, 1e6)
        if (right - left) / r / 25.4 <= room
    )
    wide, high = (right - left) / ratio / 25.4, 2 * deep / ratio / 25.4
    title = 0.34
    step = high + title
    names = list(
        dict.fromkeys(
            r.material.name for row in cells for i, s in row for r in masts[i].sections[s].regions
        )
    )
    tones = {name: TONES[k % len(TONES)] for k, name in enumerate(names)}
    # Several materials have their legend above the scale bar, so that long names keep their room.
    rows = math.ceil((2 + len(names)) / _LEGEND) if len(names) > 1 else 0
    foot = 0.5 + 0.17 * rows
    tall = foot + step * len(cells)
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for r, row in enumerate(cells):
            for c, (i, s) in enumerate(row):
                m, section = masts[i], masts[i].sections[s]
                x0 = 0.05 + c * (WIDTH - 0.1) / columns + (room + 0.12 - wide) / 2
                y0 = tall - (r + 1) * step + 0.02
                ax = fig.add_axes((x0 / WIDTH, y0 / tall, wide / WIDTH, high / tall))
                ax.set(xlim=(left, right), ylim=(-deep, deep))
                ax.set_axis_off()
                for path, name in patches(section, 1e3):
                    ax.add_patch(PathPatch(path, **_tone(tones[name]), clip_on=False))
                ax.axvline(0, color="#999999", linewidth=0.5, linestyle="-.", zorder=0)
                p = section.properties
                centroid = (p.centroid_x * 1e3, p.centroid_y * 1e3)
                shear_centre = (p.shear_centre_x * 1e3, p.shear_centre_y * 1e3)
                _cross(ax, centroid, "+", "#12355b", 6)
                _cross(ax, shear_centre, "x", "#c1551b", 5)
                b = boxes[r * columns + c]
                where = named[r][c][2]
                size = factor("mm", units)
                at = f", z = {quantity(m.z[s] * 1e3, 'mm', units)}" if columns < 4 else ""
                text = (
                    f"{letter_of(i)}  {where}{at}: "
                    f"{number((b[2] - b[0]) * size)} × {number((b[3] - b[1]) * size)} "
                    f"{unit_label('mm', units)}"
                )
                centre = (x0 + wide / 2) / WIDTH
                fig.text(
                    centre,
                    (y0 + high + 0.07) / tall,
                    text,
                    ha="center",
                    fontsize=TEXT if columns < 3 else SMALL,
                )
        bar = 50.0 if units == "metric" else 50.8
        inches = bar / ratio / 25.4
        bar_line = Line2D(
            [0.02, 0.02 + inches / WIDTH],
            [0.13 / tall] * 2,
            color=INK,
            linewidth=2,
            solid_capstyle="butt",
        )
        fig.add_artist(bar_line)
        said = quantity(bar, "mm", units, 2)
        if tall <= HIGHEST:  # else the page does not show it at its own size
            said += f"; scale 1:{ratio:g} at full page size"
        fig.text(0.02, 0.2 / tall, said, fontsize=SMALL)
        handles: list[Any] = [
            Line2D([], [], marker="+", linestyle="", color="#12355b", markersize=6),
            Line2D([], [], marker="x", linestyle="", color="#c1551b", markersize=5),
            *(Patch(**_tone(tones[n])) for n in names),
        ]
        fig.legend(
            handles,
            ["centroid", "shear centre", *(plain(n, 34) for n in names)],
            loc="lower right",
            bbox_to_anchor=(1.0, 0.38 / tall if rows else 0.0),
            ncols=_LEGEND if rows else 3,
            frameon=False,
            fontsize=SMALL,
            handletextpad=0.5,
            columnspacing=1.2,
            borderaxespad=0.1,
        )
    return fig


def _cross(ax: Any, at: tuple[float, float], marker: str, colour: str, size: float) -> None:
    """A mark with a light edge, so that it shows on a dark tone too."""
    ax.plot(*at, marker, color="white", markersize=size + 1.5, markeredgewidth=2.6, clip_on=False)
    ax.plot(*at, marker, color=colour, markersize=size, clip_on=False)


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


def maps_utilisation(result: MastResult, case: CaseResult) -> bool:
    """Whether the governing section is drawn by utilisation: where materials of unlike strength
    meet, or plies are judged, stress alone does not say how near they are to failing.
    """
    if case.point_utilisation is None or case.governing_station is None:
        return False
    if np.isnan(case.point_utilisation).all():
        return False
    materials = {r.material for r in result.sections[case.governing_station].regions}
    return len(materials) > 1 or any(m.laminate is not None for m in materials)


def stress_map(result: MastResult, case: CaseResult, *, units: System = "metric") -> Figure:
    """The section that governs the case, at the factored load: von Mises stress, or utilisation by
    the material criteria where ``maps_utilisation`` says so (grey: not judged).
    """
    from matplotlib.figure import Figure
    from matplotlib.patches import PathPatch

    if case.von_mises is None or case.governing_station is None:
        raise ValueError(f"{case.case.name!r} has no stress to draw")
    section = result.sections[case.governing_station]
    basis = section.basis
    if case.point_utilisation is not None and maps_utilisation(result, case):
        shown = case.point_utilisation
        label, greatest = "utilisation by the material criteria [–]", f"{np.nanmax(shown):.2f}"
    else:
        shown = case.von_mises / 1e6 * factor("MPa", units)
        label = f"von Mises stress [{unit_label('MPa', units)}]"
        greatest = quantity((case.max_von_mises or 0.0) / 1e6, "MPa", units)
    x0, y0, x1, y1 = (b * 1e3 for b in bounds(section))
    wide = 6.0
    high = wide * (y1 - y0) / (x1 - x0)
    tall = high + 1.4
    size = factor("mm", units)
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        ax = fig.add_axes((0.55 / WIDTH, 0.94 / tall, wide / WIDTH, high / tall))
        for path, _ in patches(section, 1e3 * size):
            ax.add_patch(PathPatch(path, facecolor="#dddddd", edgecolor="none"))
        faces = shown[basis.triangles].mean(axis=1)
        shades = ax.tripcolor(
            basis.points[:, 0] * 1e3 * size,
            basis.points[:, 1] * 1e3 * size,
            np.asarray(basis.triangles)[np.isfinite(faces)],
            facecolors=faces[np.isfinite(faces)],
            cmap="cividis_r",
            vmin=0.0,
            vmax=float(np.nanmax(shown)) or 1.0,
            edgecolors="face",
            linewidth=0.15,
        )
        for region in section.regions:
            for ring in (region.polygon.exterior, *region.polygon.interiors):
                points = np.asarray(ring.coords) * 1e3 * size
                ax.plot(points[:, 0], points[:, 1], color=INK, linewidth=0.4, clip_on=False)
        ax.grid(visible=False)
        ax.set(xlim=(x0 * size, x1 * size), ylim=(y0 * size, y1 * size))
        ax.set_xlabel(f"x from the stacking line, aft positive [{unit_label('mm', units)}]")
        ax.set_ylabel(f"y [{unit_label('mm', units)}]")
        if case.max_at_xy is not None:
            mx, my = (v * 1e3 * size for v in case.max_at_xy)
            _mark(ax, (mx, my), f"greatest: {greatest}", mx > (x0 + 0.6 * (x1 - x0)) * size, high)
        key = fig.add_axes((1.8 / WIDTH, 0.36 / tall, 3.5 / WIDTH, 0.09 / tall))
        bar = fig.colorbar(shades, cax=key, orientation="horizontal")
        bar.outline.set_linewidth(0.4)
        bar.set_label(label, labelpad=1)
    return fig


def _mark(ax: Any, at: tuple[float, float], words: str, right: bool, high: float) -> None:
    """A ring around a place, and words above the drawing that lead to it."""
    ax.plot(*at, "o", markersize=7, markerfacecolor="none", markeredgecolor="#c1551b", clip_on=False)
    ax.annotate(
        words,
        at,
        xycoords="data",
        xytext=((0.72 if right else 0.28), 1.0 + 0.22 / high),
        textcoords="axes fraction",
        ha="center",
        fontsize=TITLE,
        arrowprops={"arrowstyle": "-", "color": "#c1551b", "linewidth": 0.8},
        annotation_clip=False,
    )
