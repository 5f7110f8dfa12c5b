"""Mode shapes of one mast, in air and in water, as a matplotlib figure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mastcheck.motion.result import MotionResult
from mastcheck.motion.vibration import Mode
from mastcheck.report.display import System, factor, number, quantity, unit_label
from mastcheck.report.figure_style import INK, SMALL, TEXT, TITLE, WIDTH, line_style, style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PARTS = (("side", "sideways"), ("twist", "edge, by twist"), ("fore_aft", "fore-aft"))


def mode_shapes(found: MotionResult, *, units: System = "metric") -> Figure:
    """Shapes of all modes, base at the top: the upper row in air, the lower in water."""
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

    row, tall, head = 1.15, 3.95, 0.3
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for line, (where, modes) in enumerate((("in air", found.in_air), ("in water", found.in_water))):
            low = tall - head - (line + 1) * row - (line + 1) * 0.55 - line * 0.15
            wide = 6.35 / len(modes)
            for k, mode in enumerate(modes):
                place = (0.6 + wide * k) / WIDTH, low / tall, (wide - 0.1) / WIDTH, row / tall
                ax = fig.add_axes(place)
                _shape(ax, mode, found.waterline if line else None, units)
                if k == 0:
                    ax.set_ylabel(f"z [{unit_label('mm', units)}]")
                    ax.annotate(
                        where, (0, 1), xytext=(-34, 40), textcoords="offset points",
                        xycoords="axes fraction", fontsize=TITLE, fontweight="bold", va="top",
                    )  # fmt: skip
                else:
                    ax.tick_params(labelleft=False)
        handles = [Line2D([], [], **line_style(i)) for i in range(len(PARTS))]
        handles.append(Line2D([], [], color="#4f8fc0", linewidth=0.8))
        fig.legend(
            handles, [*(words for _, words in PARTS), "waterline"], loc="upper center",
            bbox_to_anchor=(0.5, 1.0), ncols=4, frameon=False, handlelength=3.2, fontsize=TEXT,
        )  # fmt: skip
    return fig


def _shape(ax: Axes, mode: Mode, level: float | None, units: System) -> None:
    z = mode.z * 1e3 * factor("mm", units)
    ax.axvline(0, color=INK, linewidth=0.5)
    for i, (part, _) in enumerate(PARTS):
        ax.plot(getattr(mode, part), z, **{**line_style(i), "linewidth": 1.2})
    if level is not None:
        ax.axhline(level * 1e3 * factor("mm", units), color="#4f8fc0", linewidth=0.8)
    ax.set_ylim(float(z[-1]) * 1.02, 0)
    ax.set_xlim(-1.15, 1.15)
    ax.set_xticks([])
    main, _, other = mode.name.partition(" with ")
    title = f"{main}\n{'with ' + other + chr(10) if other else ''}{number(mode.frequency)} Hz"
    ax.set_title(title, loc="left", fontsize=SMALL, pad=3)


def mode_words(found: MotionResult, letter: str, units: System) -> tuple[str, str]:
    """Alternative text and caption."""
    dry, wet = (
        "; ".join(f"{m.name} {number(m.frequency)} Hz" for m in modes)
        for modes in (found.in_air, found.in_water)
    )
    what = "bare mast" if found.foil is None else "foil at the tip"
    caption = (
        f"Mode shapes of mast {letter} ({what}), base at the top, in air and in water from z = "
        f"{quantity(found.waterline * 1e3, 'mm', units)}. Each is scaled to its largest movement; twist "
        "is drawn as the movement of the section's edges."
    )
    return f"{caption} In air: {dry}. In water: {wet}.", caption
