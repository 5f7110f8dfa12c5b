"""Joints drawn: who moves the tip, bolt patterns with their forces, the step that play makes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from mastcheck.checks.joint_result import JointsResult
from mastcheck.checks.result import MastResult
from mastcheck.joints.bolts import head_diameter, hole
from mastcheck.joints.loads import BoltLoads
from mastcheck.report.display import System, factor, fixed, plain, quantity, unit_label
from mastcheck.report.figure_style import INK, SMALL, TEXT, TINY, TITLE, WIDTH, apart, style
from mastcheck.report.joint_rows import MOVEMENTS, Movement, governing_loads
from mastcheck.report.station_figures import TONES, bounds, patches

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEFT = 1.05  # inches left of the bars, for the names of cases
_LEAST_SHARE = 0.055  # of the bar, in which a number still fits
_BY_HAND = 0.33  # inches between bolts below which their forces would run into each other


def _tone(k: int) -> dict[str, Any]:
    fill, hatch = TONES[k % len(TONES)]
    return {"facecolor": fill, "hatch": hatch or None, "edgecolor": INK, "linewidth": 0.5}


def flex_budget(joints: JointsResult) -> Figure | None:
    """Shares of blade and joints as stacked bars, a panel a movement; None without a stable case."""
    from matplotlib.figure import Figure

    if not joints.budgets:
        return None
    bars = 0.17 * len(joints.budgets)
    step = bars + 0.78
    tall = step * len(MOVEMENTS) + 0.14
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for k, movement in enumerate(MOVEMENTS):
            low = tall - (k + 1) * step + 0.4
            ax = fig.add_axes((_LEFT / WIDTH, low / tall, (WIDTH - _LEFT - 0.15) / WIDTH, bars / tall))
            _bars(ax, joints, movement, last=k == len(MOVEMENTS) - 1)
    return fig


def _bars(ax: Axes, joints: JointsResult, movement: Movement, *, last: bool) -> None:
    named = False
    low, high = 0.0, 1.0
    # Cases without shares come last: the names of the parts stand above the first bar.
    ordered = sorted(joints.budgets, key=lambda b: b.shares(movement.place) is None)
    for row, budget in enumerate(ordered):
        shares = budget.shares(movement.place)
        if shares is None:
            nil = not np.abs(budget.movement[:, movement.place]).max() > 1e-6
            words = "does not move" if nil else "parts against each other: no shares"
            ax.text(0.005, row, words, fontsize=TINY, va="center", color="#555555")
            continue
        # What works against the whole goes left of nil.
        right = left = 0.0
        middles = []
        for k, share in enumerate(map(float, shares)):
            start = right if share >= 0 else left
            ax.barh(row, share, left=start, height=0.74, **_tone(k))
            middles.append(start + share / 2)
            if abs(share) >= _LEAST_SHARE:
                ax.text(
                    middles[-1], row, f"{fixed(100 * share, 0)}", fontsize=TINY, ha="center",
                    va="center", bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
                )  # fmt: skip
            right, left = (right + share, left) if share >= 0 else (right, left + share)
        low, high = min(low, left), max(high, right)
        if not named:
            named = True
            _name(ax, budget.parts, middles, row)
    ax.set_yticks(range(len(joints.budgets)), [plain(b.case, 18) for b in ordered])
    ax.set_ylim(len(joints.budgets) - 0.5, -0.5)
    ax.set_xlim(low * 1.02, high * 1.005)
    ax.xaxis.set_major_formatter(lambda v, _: f"{100 * v:.0f}".replace("-", "−"))
    ax.grid(visible=False)
    ax.spines["left"].set_visible(False)
    ax.tick_params(left=False)
    if low < 0:
        ax.axvline(0, color=INK, linewidth=0.6)
    title = {"side": "Side deflection", "roll": "Roll", "twist": "Twist"}[movement.name]
    ax.annotate(
        title, (0, 1), (-_LEFT * 72 + 2, 4), xycoords="axes fraction", textcoords="offset points",
        fontsize=TITLE, fontweight="bold",
    )  # fmt: skip
    if last:
        ax.set_xlabel("share of the tip's movement [%]")


def _name(ax: Axes, parts: Sequence[str], middles: Sequence[float], row: int) -> None:
    """Names of the parts above the first bar that has shares, each led to its own piece."""
    places = apart(middles, 0.155, 0.06, 0.97)
    for words, at, x in zip(parts, places, middles, strict=True):
        ax.annotate(
            plain(words, 18), (x, row - 0.37), (at, 1.0), xycoords="data",
            textcoords=("data", "axes fraction"), fontsize=TINY, ha="center", va="bottom",
            annotation_clip=False, zorder=5,
            arrowprops={"arrowstyle": "-", "color": "#777777", "linewidth": 0.5, "shrinkB": 0},
        ).set_position((at, 1.0 + 0.06))  # fmt: skip


def bolt_patterns(result: MastResult, *, units: System = "metric") -> Figure | None:
    """Each bolted joint to scale with the pull and the force across each bolt; None without bolts.

    In the case that uses the joint most, at loads times the strength factor. A disc's area goes with the
    pull, an arrow's length with the force across; one scale for all joints.
    """
    from matplotlib.figure import Figure

    found = [] if result.joints is None else governing_loads(result.joints)
    if not found:
        return None
    across = min(len(found), 3)
    down = math.ceil(len(found) / across)
    wide = WIDTH / across
    ends = [result.sections[-1 if f.joint.startswith("tip") else 0] for _, f in found]
    boxes = [_extent(loads, bounds(end)) for (_, loads), end in zip(found, ends, strict=True)]
    room = wide - 0.95  # for arrows and words beside the outermost bolts
    ratio = next(
        r
        for r in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 7.5, 10, 15, 20, 50, 1e4, 1e6)
        if max(b[1] - b[0] for b in boxes) * 1e3 / r / 25.4 <= room
    )
    high = max(b[3] - b[2] for b in boxes) * 1e3 / ratio / 25.4 + 0.75
    cell = high + 0.62
    most_pull = max(float(loads.tension.max()) for _, loads in found)
    most_across = max(float(np.hypot(*loads.shear.T).max()) for _, loads in found)
    tall = cell * down + 0.3
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for k, ((case, loads), end, box) in enumerate(zip(found, ends, boxes, strict=True)):
            row, column = divmod(k, across)
            place = column * wide + 0.1, tall - row * cell - 0.36 - high
            ax = fig.add_axes((place[0] / WIDTH, place[1] / tall, (wide - 0.2) / WIDTH, high / tall))
            x, y = (box[0] + box[1]) / 2 * 1e3, (box[2] + box[3]) / 2 * 1e3
            half = (wide - 0.2) * 25.4 * ratio / 2, high * 25.4 * ratio / 2
            ax.set_xlim(x - half[0], x + half[0])
            ax.set_ylim(y - half[1], y + half[1])
            ax.axis("off")
            for path, _ in patches(end, 1e3):
                _outline(ax, path)
            _pattern(ax, loads, ratio, most_pull, most_across, units)
            ax.set_title(f"{plain(loads.joint, 30)}\nin {plain(case, 24)}", loc="left", fontsize=TEXT)
        scale = f"1 : {ratio:g}" if ratio < 1e3 else "not to scale"
        fig.text(
            0.1 / WIDTH, 0.06 / tall,
            f"scale {scale}; leading edge left, port up, seen from the foil. Disc: pull; arrow: across.",
            fontsize=SMALL,
        )  # fmt: skip
    return fig


def _extent(
    loads: BoltLoads, section: tuple[float, float, float, float]
) -> tuple[float, float, float, float]:
    """Least and greatest x, then y, of bolts' heads and section [m]."""
    at = np.array(loads.group.positions)
    edge = head_diameter(loads.group) / 2
    return (
        min(float(at[:, 0].min()) - edge, section[0]), max(float(at[:, 0].max()) + edge, section[2]),
        min(float(at[:, 1].min()) - edge, section[1]), max(float(at[:, 1].max()) + edge, section[3]),
    )  # fmt: skip


def _outline(ax: Axes, path: Any) -> None:
    from matplotlib.patches import PathPatch

    ax.add_patch(PathPatch(path, facecolor="#eef1f4", edgecolor="#b5bec8", linewidth=0.4, zorder=1))


def _pattern(
    ax: Axes, loads: BoltLoads, ratio: float, most_pull: float, most_across: float, units: System
) -> None:
    from matplotlib.patches import Circle

    at = np.array(loads.group.positions) * 1e3
    inch = 25.4 * ratio
    room = min(
        (float(np.hypot(*(a - b))) for i, a in enumerate(at) for b in at[:i]), default=math.inf
    ) / inch  # fmt: skip
    ax.plot(0, 0, marker="+", color="#777777", markersize=6, markeredgewidth=0.6, zorder=2)
    for k, (x, y) in enumerate(at):
        pull, shear = float(loads.tension[k]), loads.shear[k]
        for size, edge in ((head_diameter(loads.group), 0.8), (hole(loads.group), 0.4)):
            ax.add_patch(
                Circle((x, y), size * 5e2, facecolor="white", edgecolor=INK, linewidth=edge, zorder=3)
            )
        if pull > 0 and most_pull > 0:
            disc = math.sqrt(pull / most_pull) * 0.16 * inch
            ax.add_patch(Circle((x, y), disc, facecolor="#c1551b", alpha=0.55, linewidth=0, zorder=4))
        else:
            ax.plot(x, y, marker="x", color=INK, markersize=4, markeredgewidth=0.7, zorder=4)
        size = float(np.hypot(*shear))
        if most_across > 0 and size > 1e-3 * most_across:
            dx, dy = shear / most_across * 0.42 * inch
            ax.annotate(
                "", (x + dx, y + dy), (x, y), zorder=6, annotation_clip=False,
                arrowprops={
                    "arrowstyle": "-|>", "color": "#12355b", "linewidth": 1.3, "mutation_scale": 7,
                    "shrinkA": 0, "shrinkB": 0,
                },
            )  # fmt: skip
        label = f"{loads.number[k]}"
        if room >= _BY_HAND:
            label += f": {quantity(pull, 'N', units)}" if pull > 0 else ": pressed"
            label += f"\n{quantity(size, 'N', units)} across" if size > 0 else ""
        # Outward, bolts on the middle line in turn below and above, and to the side of an arrow there.
        off = float(y - at[:, 1].mean())
        below = off < 0 if abs(off) > 1 else k % 2 == 0
        beside = size > 0 and (shear[1] < 0) == below
        gap = max(head_diameter(loads.group) * 5e2, 0.12 * inch) + 0.03 * inch
        ax.text(
            x, y - gap if below else y + gap, label, fontsize=TINY, linespacing=1.05,
            ha="center" if not beside else "right" if shear[0] > 0 else "left",
            va="top" if below else "bottom", zorder=7,
        )  # fmt: skip


def play_step(result: MastResult, *, units: System = "metric") -> Figure | None:
    """Side load against tip side deflection, and lift at the wing's tip against its movement.

    First order, with the free step at no load; None where nothing is free.
    """
    from matplotlib.figure import Figure

    joints = result.joints
    if joints is None:
        return None
    lost, c, h = joints.lost, result.tip_compliance, joints.lost.half_span
    panels = [
        (step, per_newton, what, load)
        for step, per_newton, what, load in (
            (lost.tip_side, float(c[1, 1]), "mast's tip, sideways", "side force at the mast's tip"),
            (lost.wing_up, float(c[3, 3]) * h**2, "wing's tip, up and down", "force at the wing's tip"),
        )
        if step > 0
    ]
    if not panels:
        return None
    with style():
        fig = Figure(figsize=(WIDTH, 2.05))
        for k, (step, per_newton, what, load) in enumerate(panels):
            ax = fig.add_axes(((0.6 + 3.5 * k) / WIDTH, 0.2, 2.75 / WIDTH, 0.66))
            _step(ax, step, per_newton, units)
            ax.set_xlabel(f"{what} [{unit_label('mm', units)}]")
            ax.set_ylabel(f"{load} [{unit_label('N', units)}]", fontsize=SMALL)
    return fig


def _step(ax: Axes, step: float, per_newton: float, units: System) -> None:
    """A line to either side of the step; the load range keeps the step in sight."""
    most = max((f for f in (1, 2, 5, 10, 20, 50, 100) if f * per_newton <= 2 * step), default=1)
    mm, newton = 1e3 * factor("mm", units), factor("N", units)
    loads = np.array([-most, 0.0, 0.0, most])
    moved = loads * per_newton + np.array([-1, -1, 1, 1]) * step / 2
    ax.axhline(0, color="#999999", linewidth=0.5)
    ax.axvline(0, color="#999999", linewidth=0.5)
    ax.plot(
        np.array([-most, most]) * per_newton * mm, np.array([-most, most]) * newton,
        color="#7a7a7a", linestyle="--", linewidth=1.0, label="without play",
    )  # fmt: skip
    ax.plot(moved * mm, loads * newton, color="#12355b", linewidth=1.6, label="with play")
    ax.annotate(
        "", (-step / 2 * mm, 0), (step / 2 * mm, 0),
        arrowprops={
            "arrowstyle": "<->", "color": "#c1551b", "linewidth": 1.0, "shrinkA": 0, "shrinkB": 0,
        },
    )  # fmt: skip
    ax.annotate(
        f"free {quantity(step * 1e3, 'mm', units)}", (0, 0), (4, -10), textcoords="offset points",
        fontsize=SMALL, color="#9c3f0f", va="top",
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
    )  # fmt: skip
    ax.legend(loc="upper left", frameon=False, fontsize=TINY, handlelength=2.6)


def flex_words(joints: JointsResult, letter: str) -> tuple[str, str]:
    """Alternative text and caption of the flex budget."""
    caption = (
        f"Flex budget of mast {letter}: shares of blade and joints in the tip's movement at service "
        "load, second order. Left of nil: what works against the whole. Play is not in it."
    )
    said = []
    for movement in MOVEMENTS:
        cases = []
        for b in joints.budgets:
            shares = b.shares(movement.place)
            if shares is not None:
                each = ", ".join(
                    f"{p} {fixed(100 * float(s), 0)} %" for p, s in zip(b.parts, shares, strict=True)
                )
                cases.append(f"{b.case}: {each}")
        said.append(f"{movement.title.capitalize()}: {'; '.join(cases) or 'no shares'}.")
    return f"{caption} {' '.join(said)}", caption


def bolt_pattern_words(joints: JointsResult, letter: str, units: System) -> tuple[str, str]:
    """Alternative text and caption of the bolt patterns."""
    caption = (
        f"Bolts of mast {letter}, each joint in the case that uses it most, loads times the strength "
        "factor, without preload. A disc's area goes with the pull, an arrow's length with the force "
        "that the mast or the foil puts across the bolt; a cross is a bolt that is not pulled. Shaded: "
        "the mast's section."
    )
    said = []
    for case, loads in governing_loads(joints):
        each = "; ".join(
            f"bolt {n} pulled by {quantity(max(float(t), 0.0), 'N', units)}, "
            f"across {quantity(float(np.hypot(*v)), 'N', units)}"
            for n, t, v in zip(loads.number, loads.tension, loads.shear, strict=True)
        )
        said.append(f"{loads.joint} in {case}: {each}.")
    return f"{caption} {' '.join(said)}", caption


def play_step_words(joints: JointsResult, letter: str, units: System) -> tuple[str, str]:
    """Alternative text and caption of the step."""
    lost = joints.lost
    caption = (
        f"Play of mast {letter}: load against movement, first order, with the free step at no load "
        f"(half span {quantity(lost.half_span * 1e3, 'mm', units)}, the foil rigid)."
    )
    return (
        f"{caption} Free at the mast's tip {quantity(lost.tip_side * 1e3, 'mm', units)} sideways, at "
        f"the wing's tip {quantity(lost.wing_up * 1e3, 'mm', units)} up and down.",
        caption,
    )
