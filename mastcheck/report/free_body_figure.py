"""Free bodies to scale: the carved turn from behind, pumping and the strike from the side.

Lengths have one scale and forces another, both the same in all panels. The ground is still water; the
wing's middle keeps its depth as the mast leans.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from mastcheck.checks.result import MastResult
from mastcheck.checks.water_result import WaterResult
from mastcheck.report.display import System, fixed, quantity
from mastcheck.report.figure_style import INK, TEXT, TINY, WIDTH, style
from mastcheck.water.balance import FreeBody
from mastcheck.water.manoeuvres import WaterCase

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FloatArray = NDArray[np.float64]
Place = Literal["right", "left", "above", "tail", "head", "over", "below"]

DRAWN = ("carved-turn", "pumping", "strike")
_BOARD = 0.55  # m, half of the board's length in the side view: for the picture only
_LONGEST = 0.62  # m of the picture that the greatest force is drawn as
_LEAST = 0.004  # of the greatest force: less is not drawn
_SURFACE, _WATER, _FORCE, _INERTIA = "#4f8fc0", "#eef4f8", "#12355b", "#c1551b"


def free_bodies(m: MastResult, *, units: System = "metric") -> Figure | None:
    """A panel for each manoeuvre that is not refused; None where none is left."""
    from matplotlib.figure import Figure

    w = m.water
    cases = [] if w is None else _drawn(w)
    if w is None or not cases:
        return None
    newtons = max(float(np.linalg.norm(f.force)) for _, b in cases for f in b.forces)
    tall, head = 3.15, 0.32
    high = m.job.rider.rider_height + m.job.mast.length - w.side.level + 0.18
    low = m.job.mast.length - w.side.level + _LONGEST + 0.2
    half = (WIDTH / 3) / (tall - head) * (high + low) / 2
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for k, (case, body) in enumerate(cases):
            ax = fig.add_axes((k / 3, 0.0, 1 / 3, (tall - head) / tall))
            ax.set_xlim(-half, half)
            ax.set_ylim(-low, high)
            ax.axis("off")
            ax.fill_between([-half, half], -low, 0, color=_WATER, linewidth=0, zorder=0)
            ax.axhline(0, color=_SURFACE, linewidth=0.9, zorder=1)
            turn = case.name == "carved-turn"
            view = _Behind(m, body) if turn else _Side(m)
            _body(ax, m, w, view, body)
            _forces(ax, view, body, newtons, units)
            ax.set_title(_title(case), loc="center", fontsize=TEXT)
        _bar(fig.axes[0], -half, -low)
    return fig


def free_body_words(m: MastResult, letter: str, units: System) -> tuple[str, str]:
    """Alternative text and caption."""
    cases = [] if m.water is None else _drawn(m.water)
    left = [f"{c.name.replace('-', ' ')}: {b.left_out}" for c, b in cases if b.left_out]
    told = []
    for case, body in cases:
        parts = ", ".join(
            f"{f.name} {quantity(float(np.linalg.norm(f.force)), 'N', units)}"
            for f in body.forces
            if np.linalg.norm(f.force) > _LEAST * body.weight
        )
        parts += "".join(
            f", turned against by its inertia {quantity(abs(f.moment[1]), 'N·m', units)}"
            for f in body.forces
            if f.moment[1]
        )
        lean = f" at a bank of {fixed(math.degrees(body.lean), 0)}°" if body.lean else ""
        told.append(f"{case.name.replace('-', ' ')}{lean}: {parts}")
    caption = (
        f"Mast {letter}: forces on rider, board and foil as one body, to scale, in balance; what speeds "
        f"up or turns counts as inertia (dashed). Left out: {'; '.join(left) or 'nothing'}."
    )
    return f"{caption} {'. '.join(told)}.", caption


def _drawn(w: WaterResult) -> list[tuple[WaterCase, FreeBody]]:
    return [
        (c, c.body) for c in w.cases if c.name in DRAWN and c.case is not None and c.body is not None
    ]


def _title(case: WaterCase) -> str:
    name = case.name.replace("-", " ")
    figures = {n: (v, unit) for n, v, unit in case.figures}
    bank = f", bank {fixed(figures['bank'][0], 0)}°" if "bank" in figures else ""
    return f"{name}{bank}, from {'behind' if case.name == 'carved-turn' else 'port'}"


class _Behind:
    """Seen from behind, port at the left: places (3,) in mast axes put into the picture."""

    def __init__(self, m: MastResult, body: FreeBody) -> None:
        depth = m.job.mast.length - (m.water.side.level if m.water is not None else 0.0)
        cos, sin = math.cos(body.lean), math.sin(body.lean)
        self.across, self.along = np.array([-cos, -sin]), np.array([sin, -cos])
        # The wing's middle keeps its depth.
        self.base = np.array([0.0, -depth]) - m.job.mast.length * self.along
        # In the middle of the panel, between wing and rider.
        self.base[0] = (m.job.rider.rider_height - m.job.mast.length) * sin / 2

    def at(self, place: tuple[float, float, float]) -> FloatArray:
        """Where a place is drawn."""
        return self.base + self.way(place)

    def way(self, vector: tuple[float, float, float]) -> FloatArray:
        """How a vector is drawn."""
        out: FloatArray = vector[1] * self.across + vector[2] * self.along
        return out


class _Side:
    """Seen from port, the bow at the left."""

    def __init__(self, m: MastResult) -> None:
        self.base = np.array([0.0, m.water.side.level if m.water is not None else 0.0])

    def at(self, place: tuple[float, float, float]) -> FloatArray:
        """Where a place is drawn."""
        return self.base + self.way(place)

    def way(self, vector: tuple[float, float, float]) -> FloatArray:
        """How a vector is drawn."""
        return np.array([vector[0], -vector[2]])


def _body(ax: Axes, m: MastResult, w: WaterResult, view: _Behind | _Side, body: FreeBody) -> None:
    """Mast, board, wing, and the rider's centre of mass."""
    length = m.job.mast.length
    ahead = -m.job.foil.wing.ahead if m.job.foil is not None and m.job.foil.wing is not None else -0.1
    rider = min(body.forces, key=lambda f: f.at[2]).at

    def line(*places: tuple[float, float, float], wide: float, colour: str = INK) -> None:
        points = np.array([view.at(p) for p in places])
        ax.plot(
            points[:, 0], points[:, 1], color=colour, linewidth=wide, solid_capstyle="round", zorder=3
        )

    line((0, 0, 0), (0, 0, length), wide=2.6)
    if isinstance(view, _Behind):
        half, side = w.wing_span / 2, m.job.conditions.board_width / 2
        line((0, -side, 0), (0, side, 0), wide=4.0)
        line((0, -half, length), (0, half, length), wide=2.2)
    else:
        chord = w.wing_area / w.wing_span
        line((-_BOARD * 1.2, 0, 0), (_BOARD * 0.8, 0, 0), wide=4.0)
        line((ahead - 0.25 * chord, 0, length), (ahead + 0.75 * chord, 0, length), wide=2.4)
        line((ahead, 0, length), (0.35, 0, length), wide=1.2)
    line((rider[0], 0, 0), rider, wide=0.7, colour="#888888")
    ax.plot(*view.at(rider), marker="o", markersize=5, color="white", markeredgecolor=INK, zorder=5)


def _forces(ax: Axes, view: _Behind | _Side, body: FreeBody, newtons: float, units: System) -> None:
    """Arrows: what water and wing give pushes with its head at the place, weight and inertia pull."""
    scale = _LONGEST / newtons

    def words(name: str, size: float, between: str = "\n") -> str:
        return f"{name}{between}{quantity(size, 'N', units)}"

    tail: FloatArray | None = None
    for f in body.forces:
        at, way = view.at(f.at), view.way(f.force) * scale
        size = float(np.linalg.norm(f.force))
        if f.moment[1] and isinstance(view, _Side):
            _turning(ax, at, f.moment[1], units)
        if size <= _LEAST * newtons:
            continue
        if f.name.startswith("weight and inertia"):
            down = np.array([0.0, -body.weight * scale])
            _arrow(ax, at, at + down, words("weight", body.weight), _FORCE, place="left")
            out = way - down
            said = words("inertia", float(np.linalg.norm(out)) / scale, " ")
            _arrow(ax, at, at + out, said, _INERTIA, dashed=True, place="above")
        elif f.name == "weight":
            tail = at + way
            _arrow(ax, at, tail, words("weight", size), _FORCE)
        elif f.name == "inertia" and abs(way[0]) < 1e-9:
            # At the weight's head where both point down, so that their sum is seen.
            start = at if tail is None else tail
            _arrow(ax, start, start + way, words("inertia", size), _INERTIA, dashed=True)
        elif f.name == "inertia":
            _arrow(ax, at, at + way, words("inertia", size), _INERTIA, dashed=True, place="head")
        elif f.name == "lift":
            _arrow(ax, at - way, at, words("lift", size, " "), _FORCE, place="below")
        else:
            if f.name != "side force":
                place: Place = "over"
            else:
                # On the outer side of the mast, where no wing rises.
                place = "head" if way[0] < 0 else "tail"
            said = words(f.name.split(",")[0], size)
            _arrow(ax, at - way, at, said, _FORCE, place=place)


def _arrow(
    ax: Axes,
    tail: FloatArray,
    head: FloatArray,
    words: str,
    colour: str,
    *,
    dashed: bool = False,
    place: Place = "right",
) -> None:
    """An arrow with its words where there is room for them."""
    ax.annotate(
        "", xy=tuple(head), xytext=tuple(tail), zorder=6,
        arrowprops={"arrowstyle": "-|>", "color": colour, "linewidth": 1.3, "shrinkA": 0, "shrinkB": 0,
                    "mutation_scale": 8, "linestyle": (0, (3, 1.5)) if dashed else "-"},
    )  # fmt: skip
    at, offset, sideways, upright = {
        "right": ((tail + head) / 2, (5, 0), "left", "center"),
        "left": ((tail + head) / 2, (-5, 0), "right", "center"),
        "above": ((tail + head) / 2, (0, 4), "center", "bottom"),
        "tail": (tail, (-3, 0), "right", "center"),
        "head": (head, (-6, 0), "right", "center"),
        "over": (head, (-6, 6), "right", "bottom"),
        "below": (tail, (0, -3), "center", "top"),
    }[place]
    ax.annotate(
        words, tuple(at), xytext=offset, textcoords="offset points", ha=sideways, va=upright,
        fontsize=TINY, color=colour, zorder=7,
    )  # fmt: skip


def _turning(ax: Axes, at: FloatArray, moment: float, units: System) -> None:
    """A moment about y [N·m], which points at the reader: counter-clockwise where positive."""
    ends = at + np.array([[0.09, 0.12], [0.09, -0.07]])
    tail, head = ends if moment < 0 else ends[::-1]
    ax.annotate(
        "", xy=tuple(head), xytext=tuple(tail), zorder=6,
        arrowprops={"arrowstyle": "-|>", "color": _INERTIA, "linewidth": 1.1, "shrinkA": 0, "shrinkB": 0,
                    "mutation_scale": 7, "linestyle": (0, (3, 1.5)),
                    "connectionstyle": f"arc3,rad={-0.5 if moment < 0 else 0.5}"},
    )  # fmt: skip
    ax.annotate(
        quantity(abs(moment), "N·m", units), (float(at[0]) + 0.17, float(at[1]) + 0.03), va="center",
        fontsize=TINY, color=_INERTIA,
    )  # fmt: skip


def _bar(ax: Axes, left: float, low: float) -> None:
    """A scale bar of half a metre, and the water's name."""
    x, y = left + 0.08, low + 0.1
    ax.plot([x, x + 0.5], [y, y], color=INK, linewidth=1.2)
    ax.annotate("0.5 m", (x + 0.25, y), xytext=(0, 2), textcoords="offset points", ha="center",
                fontsize=TINY)  # fmt: skip
    ax.annotate("still water", (left + 0.05, 0), xytext=(0, 2), textcoords="offset points", ha="left",
                fontsize=TINY, color=_SURFACE)  # fmt: skip
