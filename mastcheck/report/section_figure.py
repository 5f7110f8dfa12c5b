"""One cross-section drawn to scale on a page, as a shop drawing: PNG, SVG or PDF.

Fills differ in tone and in hatching, so that grey printing and colour blindness lose nothing. Data
coordinates are section millimetres from the stacking line; all that is not the section itself is
placed in page millimetres around it.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from mastcheck.checks.section import SectionResult
from mastcheck.report.display import System, factor, fixed, number, plain, quantity, unit_label
from mastcheck.report.figure_style import INK, style
from mastcheck.report.station_figures import patches

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PAGE = 210.0  # mm: the width of A4
MARGIN = 10.0  # mm
BESIDE = 16.0  # mm beside the section in which the thickness can be written next to its arrow
ENLARGE_TO = 90.0  # mm: small sections are drawn larger, up to this width
SUFFIXES = (".png", ".svg", ".pdf")
DPI = 200
_FILLS = (
    ("#b4c0cc", ""),
    ("#f3ead6", "...."),
    ("#d9b79f", "////"),
    ("#dfe8d6", "\\\\\\\\"),
    ("#c9bcd6", "xxxx"),
    ("#ffffff", "----"),
    ("#9fb8b3", "++++"),
)
_CENTROID, _SHEAR = "#12355b", "#a63d0a"
_SCALES = (1, 1.5, 2, 2.5, 3, 4, 5, 7.5, 10, 15, 20)
_MOST_KEYS = 10


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The page: the axes, section mm per page mm, bounds of what is drawn [section mm]."""

    ax: Axes
    scale: float
    left: float
    low: float
    right: float
    high: float
    system: System

    def up(self, page_mm: float) -> float:
        """A height above the section."""
        return self.high + page_mm * self.scale

    def down(self, page_mm: float) -> float:
        """A depth below the section."""
        return self.low - page_mm * self.scale

    def say(self, mm: float) -> str:
        """A place in display units, signed; what rounds to nothing is 0."""
        shown = fixed(mm * factor("mm", self.system), 2 if self.system == "metric" else 3)
        if not float(shown.replace("−", "-")):
            return "0"
        return shown if shown.startswith("−") else f"+{shown}"


def drawing_scale(width_mm: float) -> float:
    """Section millimetres per page millimetre: 1 where the section fits the width of A4.

    >>> drawing_scale(190.0), drawing_scale(240.0), drawing_scale(20.0)
    (1.0, 1.5, 0.25)
    """
    room = PAGE - 2 * MARGIN
    if width_mm <= ENLARGE_TO / 2:
        return 1 / max(n for n in (2, 4, 5, 10, 20) if n == 2 or width_mm * n <= ENLARGE_TO)
    return float(next((s for s in _SCALES if width_mm / s <= room), math.ceil(width_mm / room)))


def section_figure(result: SectionResult, *, units: System = "metric", printed: bool = True) -> Figure:
    """The section to scale with regions, centroid, shear centre, principal axes and dimensions.

    Args:
        result: the solved section.
        units: of the numbers on it.
        printed: whether the file has a size in millimetres, so that a ratio such as 1:1 can be stated.

    Returns: a figure 210 mm wide; markers are lines with the gids ``centroid`` and ``shear-centre``.
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure

    p = result.model.properties
    xs = [1e3 * x for x in (p.centroid_x, p.shear_centre_x, 0.0)]
    ys = [1e3 * y for y in (p.centroid_y, p.shear_centre_y, 0.0)]
    left = 1e3 * result.leading_edge_x
    bottoms = [r.polygon.bounds for r in result.model.regions]
    low = min([1e3 * min(b[1] for b in bottoms), *ys])
    high = max([1e3 * max(b[3] for b in bottoms), *ys])
    edges = (min(left, *xs), max(left + 1e3 * result.width, *xs))
    scale = drawing_scale(edges[1] - edges[0])
    names = list(dict.fromkeys(r.material.name for r in result.model.regions))
    keys = min(len(names), _MOST_KEYS)
    above, below = 31.0, 48.0 + 5.5 * keys
    tall = above + (high - low) / scale + below
    with style():
        mpl.rcParams["hatch.linewidth"] = 0.35  # kept by each patch as it is made
        fig = Figure(figsize=(PAGE / 25.4, tall / 25.4), facecolor="white")
        ax = fig.add_axes((0, 0, 1, 1))
        ax.set_axis_off()
        middle = (edges[0] + edges[1]) / 2
        x0 = middle - PAGE / 2 * scale
        y0 = low - below * scale
        ax.set(xlim=(x0, x0 + PAGE * scale), ylim=(y0, y0 + tall * scale))
        sheet = _Sheet(ax, scale, edges[0], low, edges[1], high, units)
        fills = {name: _FILLS[i % len(_FILLS)] for i, name in enumerate(names)}
        _regions(sheet, result, fills)
        _axes(sheet, result)
        _centres(sheet, result)
        _dimensions(sheet, result)
        _title(sheet, result, x0)
        _foot(sheet, result, fills, x0, printed=printed)
    return fig


def picture(result: SectionResult, suffix: str, *, units: System = "metric") -> bytes:
    """The figure as a file's bytes; the same section gives the same bytes.

    Args:
        result: the solved section.
        suffix: one of ``SUFFIXES``.
        units: of the numbers on it.

    Raises: ValueError for another suffix.
    """
    if suffix not in SUFFIXES:
        raise ValueError(f"no picture format {suffix!r}; known: {', '.join(SUFFIXES)}")
    import matplotlib as mpl

    name = plain(f"{result.job.mast.name}, section at {result.at:g}")
    none: dict[str, dict[str, Any]] = {
        ".png": {"Software": None},
        ".svg": {"Date": None, "Creator": None, "Title": name},
        ".pdf": {"CreationDate": None, "Creator": None, "Producer": None, "Title": name},
    }
    fig = section_figure(result, units=units, printed=suffix != ".png")
    out = io.BytesIO()
    with style():
        # The drawing stands alone: letters become curves in SVG, which no missing font can move, and
        # stay letters in PDF, which brings its font along.
        mpl.rcParams.update({"svg.fonttype": "path", "pdf.fonttype": 42})
        fig.savefig(out, format=suffix[1:], dpi=DPI, metadata=none[suffix])
    return out.getvalue()


def _regions(sheet: _Sheet, result: SectionResult, fills: dict[str, tuple[str, str]]) -> None:
    from matplotlib.patches import PathPatch

    for path, name in patches(result.model, 1e3):
        colour, hatch = fills[name]
        sheet.ax.add_patch(PathPatch(path, facecolor=colour, edgecolor="none", linewidth=0, zorder=1))
        if hatch:
            sheet.ax.add_patch(
                PathPatch(
                    path, facecolor="none", edgecolor="#8a8a8a", hatch=hatch, linewidth=0, zorder=1.1
                )
            )
        sheet.ax.add_patch(
            PathPatch(path, facecolor="none", edgecolor=INK, linewidth=0.7, zorder=2, gid="outline")
        )


def _axes(sheet: _Sheet, result: SectionResult) -> None:
    """Stacking line and principal axes."""
    ax, p, s = sheet.ax, result.model.properties, sheet.scale
    ax.plot(
        [0, 0], [sheet.down(6), sheet.up(6)],
        color="#777777", linewidth=0.6, linestyle=(0, (8, 2, 1.5, 2)), zorder=3, gid="stacking-line",
    )  # fmt: skip
    cx, cy = 1e3 * p.centroid_x, 1e3 * p.centroid_y
    corners = [(x - cx, y - cy) for x in (sheet.left, sheet.right) for y in (sheet.low, sheet.high)]
    for angle, name in ((result.principal.angle, "2"), (result.principal.angle + math.pi / 2, "1")):
        u, v = math.cos(angle), math.sin(angle)
        along = [x * u + y * v for x, y in corners]
        # Out of the section on both sides, but never into the words above and below it.
        ends = [min(along) - 3 * s, max(along) + 3 * s]
        if abs(v) > 1e-9:
            room = sorted(((sheet.up(5) - cy) / v, (sheet.down(5) - cy) / v))
            ends = [max(ends[0], room[0]), min(ends[1], room[1])]
        ax.plot(
            [cx + e * u for e in ends], [cy + e * v for e in ends],
            color=_CENTROID, linewidth=0.6, linestyle=(0, (5, 3)), zorder=3,
            gid=f"principal-axis-{name}",
        )  # fmt: skip
        # Axis 2 at its aft end, axis 1 at its starboard end: the centroid's own words are to port.
        end = ends[1] + 2 * s if name == "2" else ends[0] - 2 * s
        ax.text(
            cx + end * u, cy + end * v, name, ha="center", va="center", fontsize=7, color=_CENTROID,
            zorder=3.5, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
        )  # fmt: skip


def _centres(sheet: _Sheet, result: SectionResult) -> None:
    """Centroid and shear centre, each with its name and place; labels away from the stacking line."""
    p = result.model.properties
    mm = unit_label("mm", sheet.system)
    rows = (
        ("centroid", p.centroid_x, p.centroid_y, "+", _CENTROID, 9, sheet.up(11), "bottom"),
        ("shear centre", p.shear_centre_x, p.shear_centre_y, "x", _SHEAR, 7, sheet.down(9), "top"),
    )
    for name, x, y, mark, colour, size, at, va in rows:
        x, y = 1e3 * x, 1e3 * y
        sheet.ax.plot(
            [x], [y], mark, color=colour, markersize=size, markeredgewidth=1.4, zorder=5,
            gid=name.replace(" ", "-"),
        )  # fmt: skip
        sheet.ax.plot([x, x], [y, at], color=colour, linewidth=0.5, zorder=2.5)
        words = f"{name}  x {sheet.say(x)}, y {sheet.say(y)} {mm}"
        left = x <= 0
        sheet.ax.text(
            x + (1.5 if left else -1.5) * sheet.scale * -1, at, words, color=colour, fontsize=7.5,
            ha="right" if left else "left", va=va, zorder=4,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
        )  # fmt: skip
    left = p.centroid_x <= 0
    sheet.ax.text(
        (1.5 if left else -1.5) * sheet.scale, sheet.up(6.5), "stacking line, x = 0",
        color="#555555", fontsize=7, ha="left" if left else "right", va="bottom",
    )  # fmt: skip


def _dimensions(sheet: _Sheet, result: SectionResult) -> None:
    """Chord below, thickness at the left, as built."""
    ax, s = sheet.ax, sheet.scale
    x0 = 1e3 * result.leading_edge_x
    x1 = x0 + 1e3 * result.width
    points = [c for r in result.model.regions for c in r.polygon.exterior.coords]
    bottom = min(points, key=lambda c: (c[1], c[0]))
    top = max(points, key=lambda c: (c[1], -c[0]))
    y = sheet.down(18)
    thin: dict[str, Any] = {"color": "#666666", "linewidth": 0.4, "zorder": 2.4}
    ends = {c[0]: c for c in sorted(points, key=lambda c: -abs(c[1]))}
    for x in (min(ends), max(ends)):
        ax.plot([1e3 * x, 1e3 * x], [1e3 * ends[x][1] - 1.5 * s, y - 1.5 * s], **thin)
    _arrow(sheet, (x0, y), (x1, y))
    unit = unit_label("mm", sheet.system)
    width, height = (1e3 * v * factor("mm", sheet.system) for v in (result.width, result.height))
    ax.text((x0 + x1) / 2, y - 1 * s, f"{number(width, 4)} {unit}", ha="center", va="top")
    free = (PAGE - (sheet.right - sheet.left) / s) / 2 - MARGIN >= BESIDE
    x = sheet.left - (8 if free else 5) * s
    for px, py in (bottom[:2], top[:2]):
        ax.plot([1e3 * px, x - 1.5 * s], [1e3 * py, 1e3 * py], **thin)
    _arrow(sheet, (x, 1e3 * bottom[1]), (x, 1e3 * top[1]))
    words = f"{number(height, 4)} {unit}"
    if free:
        ax.text(x - 1.5 * s, 500 * (bottom[1] + top[1]), words, ha="right", va="center")
    else:
        ax.text(
            x, 1e3 * top[1] + 1.5 * s, words, ha="left", va="bottom", zorder=4,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
        )  # fmt: skip


def _arrow(sheet: _Sheet, a: tuple[float, float], b: tuple[float, float]) -> None:
    sheet.ax.annotate(
        "", a, b, annotation_clip=False,
        arrowprops={
            "arrowstyle": "<|-|>,head_width=0.12,head_length=0.3", "color": "#444444",
            "linewidth": 0.5, "shrinkA": 0, "shrinkB": 0,
        },
    )  # fmt: skip


def _title(sheet: _Sheet, result: SectionResult, x0: float) -> None:
    """Mast and station; then what the file says of itself, so that an invented mast is called so."""
    x = x0 + MARGIN * sheet.scale
    room = PAGE - 2 * MARGIN
    sheet.ax.text(
        x, sheet.up(27), fitted(result.job.mast.name, 11, room, bold=True), fontsize=11,
        fontweight="bold", va="top",
    )  # fmt: skip
    end = {0.0: " (base)", 1.0: " (tip)"}.get(result.at, "")
    z, length = (quantity(1e3 * v, "mm", sheet.system, 4) for v in (result.z, result.job.mast.length))
    place = f"section at {result.at:g} of the length{end}: z = {z} from the base, of {length}"
    said = [n.removeprefix("the file says: ") for n in result.job.notes if n.startswith("the file says")]
    words = f"{place}.  {said[0]}" if said else place
    sheet.ax.text(x, sheet.up(21.5), fitted(words, 7.5, room), fontsize=7.5, va="top", color="#444444")


def _foot(
    sheet: _Sheet,
    result: SectionResult,
    fills: dict[str, tuple[str, str]],
    x0: float,
    *,
    printed: bool,
) -> None:
    """Scale bar, directions, material key, stiffness."""
    from matplotlib.patches import Rectangle

    ax, s, units = sheet.ax, sheet.scale, sheet.system
    x, room = x0 + MARGIN * s, PAGE - 2 * MARGIN
    y = sheet.down(29)
    bar = _bar_length(s, units)
    shown = bar * factor("mm", units)
    ax.plot([x, x + bar], [y, y], color=INK, linewidth=2, solid_capstyle="butt", gid="scale-bar")
    for i in range(3):
        ax.plot([x + i * bar / 2] * 2, [y, y + 1.6 * s], color=INK, linewidth=0.6)
        ax.text(
            x + i * bar / 2, y + 2 * s, f"{number(shown * i / 2, 3)}{'' if i < 2 else ' '}"
            + ("" if i < 2 else unit_label("mm", units)),
            ha="center", va="bottom", fontsize=6.5,
        )  # fmt: skip
    ax.text(
        x + bar + 10 * s, y, fitted(_scale_words(s, printed=printed), 7.5, room - bar / s - 42),
        fontsize=7.5, va="bottom",
    )  # fmt: skip
    corner = x + (room - 22) * s
    for dx, dy, name in ((9, 0, "x, aft"), (0, 7, "y, port")):
        ax.annotate(
            "", (corner + dx * s, y + dy * s), (corner, y), annotation_clip=False,
            arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip
        ax.text(corner + (dx + 1) * s, y + dy * s, name, fontsize=7, ha="left", va="center")
    y = sheet.down(35)
    p, big = result.model.properties, unit_label("N·m²", units)
    ei = [
        number(v * factor("N·m²", units), 4)
        for v in (p.EIxx, p.EIyy, p.GJ, result.principal.greatest, result.principal.least)
    ]
    lines = (
        f"EI side {ei[0]}, EI fore-aft {ei[1]}, GJ {ei[2]} {big};"
        f"  {quantity(p.mass_per_length, 'kg/m', units)}",
        f"principal axes (dashed): 1 the stiffest, EI {ei[3]}; 2 the softest, EI {ei[4]} {big},"
        f" {fixed(math.degrees(result.principal.angle), 2)}° from the chord line",
    )
    for line in lines:
        ax.text(x, y, fitted(line, 7, room), fontsize=7, va="top", color="#444444")
        y -= 4.2 * s
    y -= 1.3 * s
    names = list(fills)
    for i, name in enumerate(names[:_MOST_KEYS]):
        colour, hatch = fills[name]
        ax.add_patch(
            Rectangle(
                (x, y - 3.4 * s),
                8 * s,
                3.4 * s,
                facecolor=colour,
                edgecolor="#8a8a8a",
                hatch=hatch,
                linewidth=0,
            )
        )
        ax.add_patch(
            Rectangle((x, y - 3.4 * s), 8 * s, 3.4 * s, facecolor="none", edgecolor=INK, linewidth=0.5)
        )
        rest = len(names) - _MOST_KEYS
        more = f"  (and {rest} more)" if rest > 0 and i == _MOST_KEYS - 1 else ""
        ax.text(x + 10 * s, y - 1.7 * s, fitted(name + more, 7.5, room - 12), fontsize=7.5, va="center")
        y -= 5.5 * s


def _scale_words(scale: float, *, printed: bool) -> str:
    """The ratio, only where the file has a size; a reader is told how to check it."""
    if not printed:
        return "the bar is the scale: a picture of pixels has no size of its own"
    ratio = f"1:{scale:g}" if scale >= 1 else f"{1 / scale:g}:1"
    return f"{ratio} printed at full size; measure the bar to be sure"


def _bar_length(scale: float, units: System) -> float:
    """A round length [mm] near 50 mm of page, in display units."""
    unit = 1 / factor("mm", units)
    want = 50 * scale / unit
    size = 10 ** math.floor(math.log10(want))
    return float(max(n for n in (1, 2, 5, 10) if n * size <= want * 1.05) * size * unit)


def fitted(words: str, size: float, room: float, *, bold: bool = False) -> str:
    """Words from outside cut to a width on the page, with an ellipsis where they are.

    Args:
        words: any text.
        size: of the font [points].
        room: width [mm].
        bold: whether they are set bold.
    """
    whole = plain(words)
    if _width(whole, size, bold=bold) <= room:
        return whole
    few, many = 0, len(whole)
    while many - few > 1:
        middle = (few + many) // 2
        fits = _width(whole[:middle].rstrip() + "…", size, bold=bold) <= room
        few, many = (middle, many) if fits else (few, middle)
    return whole[:few].rstrip() + "…"


def _width(words: str, size: float, *, bold: bool) -> float:
    """Width on the page [mm]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal", size=size)
    wide, _, _ = text_to_path.get_text_width_height_descent(words, font, False)
    return float(wide) / 72 * 25.4
