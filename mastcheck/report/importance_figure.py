"""The figure of what matters most: how much of each number's variance each tolerance brings."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from mastcheck.checks.result import MastResult
from mastcheck.checks.tolerance_result import Band, TolerancesResult
from mastcheck.report.display import plain
from mastcheck.report.figure_style import INK, TEXT, TINY, WIDTH, style
from mastcheck.report.tolerances import linear_shares, shown_bands

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_DARK, _LIGHT = "#12355b", "#b9c6d4"
_ACROSS = 3
_BAR = 0.16  # inches from bar to bar


def importance(result: MastResult) -> Figure | None:
    """A panel a number, a bar a tolerance: first-order share dark, total light; None without shares."""
    from matplotlib.figure import Figure

    found = result.tolerances
    drawn = [] if found is None else drawn_bands(found)
    if found is None or not drawn:
        return None
    down = math.ceil(len(drawn) / _ACROSS)
    panel = _BAR * len(found.tolerances) + 0.42
    tall = panel * down + 0.28
    left, wide, gap = 0.85, 1.78, 0.27
    with style():
        fig = Figure(figsize=(WIDTH, tall))
        for place, band in enumerate(drawn):
            row, column = divmod(place, _ACROSS)
            ax = fig.add_axes(
                (
                    (left + column * (wide + gap)) / WIDTH,
                    1 - ((row + 1) * panel - 0.12) / tall,
                    wide / WIDTH,
                    (panel - 0.36) / tall,
                )
            )
            _panel(ax, found, band, named=column == 0, scaled=place + _ACROSS >= len(drawn))
    return fig


def drawn_bands(found: TolerancesResult) -> list[Band]:
    """Mass and stiffness, then side, twist and utilisation of the case that moves or uses most."""
    every = [b for b in shown_bands(found) if _shares(found, b) is not None]
    out = [b for b in every if b.name in ("mass", "side per load", "twist per torque")]
    by_case = [[b for b in every if b.name == n] for n in ("side", "twist", "utilisation")]
    return out + [max(bands, key=lambda b: b.value) for bands in by_case if bands]


def importance_words(result: MastResult, letter: str) -> tuple[str, str]:
    """Words for those who cannot see it, and the caption."""
    found = result.tolerances
    if found is None:
        return "", ""
    told = []
    for band in drawn_bands(found):
        shares = _shares(found, band)
        if shares is not None:  # pragma: no branch - only those with shares are drawn
            parts = ", ".join(
                f"{t.quantity} {100 * total:.0f} %"
                for t, total in zip(found.tolerances, shares[1], strict=True)
            )
            told.append(f"{_name(band)}: {parts}")
    what = (
        "Sobol' indices: dark by the tolerance alone (first order), light with what it does through "
        "others too (total)"
        if found.samples
        else "By the rates, each tolerance alone"
    )
    return (
        f"Shares of the variance in mast {letter}. {'. '.join(told)}.",
        f"Mast {letter}: what matters most, as shares of each number's variance. {what}.",
    )


def _shares(found: TolerancesResult, band: Band) -> tuple[tuple[float, ...], tuple[float, ...]] | None:
    """First-order and total shares (k,)."""
    if band.spread is None:
        linear = None if found.samples else linear_shares(found, band)
        return None if linear is None else (linear, linear)
    own = band.spread.importance
    return None if own.first is None or own.total is None else (own.first, own.total)


def _name(band: Band) -> str:
    return f"{band.name}, {plain(band.case, 18)}" if band.case else band.name


def _panel(ax: Axes, found: TolerancesResult, band: Band, *, named: bool, scaled: bool) -> None:
    shares = _shares(found, band)
    if shares is None:  # pragma: no cover - only those with shares are drawn
        return
    first, total = ([100 * v for v in each] for each in shares)
    places = range(len(found.tolerances))
    ax.barh(places, total, height=0.72, color=_LIGHT)
    ax.barh(places, first, height=0.36, color=_DARK)
    for y, share in zip(places, total, strict=True):
        if share >= 0.5:
            ax.text(share + 1.5, y, f"{share:.0f}", va="center", fontsize=TINY, color=INK)
    ax.set_ylim(len(found.tolerances) - 0.4, -0.6)
    ax.set_xlim(0, 110)
    ax.set_xticks([0, 25, 50, 75, 100])
    ax.grid(visible=False, axis="y")
    ax.set_axisbelow(True)
    ax.tick_params(axis="y", length=0)
    ax.set_yticks(list(places), [str(t.quantity) for t in found.tolerances] if named else [])
    ax.set_title(_name(band), loc="left", fontsize=TEXT)
    if scaled:
        ax.set_xlabel("share of variance [%]")
    else:
        ax.tick_params(labelbottom=False)
