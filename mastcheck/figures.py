"""The report's figures, each a function that returns a matplotlib figure.

Each takes a checked mast, several of them, or a comparison:

>>> import mastcheck
>>> result = mastcheck.check(mastcheck.load("profiles/aluminium-75-wide.toml"))
>>> [ax.get_title(loc="left") for ax in mastcheck.figures.stiffness(result).axes]
['EI side [N·m²]', 'EI fore-aft [N·m²]', 'GJ [N·m²]']

and ``units``, "metric" or "imperial". A figure of one mast alone takes its place among several as
``mast``. Each raises ValueError where the result does not hold what it draws, and says what is missing.
A figure shows itself in a notebook; it is an ordinary matplotlib figure, not known to pyplot, and may be
changed.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from mastcheck.checks.compare import compare
from mastcheck.checks.result import Comparison, MastResult
from mastcheck.report.display import System
from mastcheck.report.drawings import Drawing, deflected_in, drawing
from mastcheck.report.figure_style import style
from mastcheck.report.saved import svg_alone

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Result = MastResult | Comparison | Sequence[MastResult]
"""What a figure is drawn of."""


def sections(result: Result, *, units: System = "metric") -> Figure:
    """Cross-sections at base, middle and tip to one scale, with centroid and shear centre."""
    return _figure(result, "sections", units, "")


def stiffness(result: Result, *, units: System = "metric") -> Figure:
    """Bending and torsional stiffness from base to tip."""
    return _figure(result, "stiffness", units, "")


def trade(result: Result, *, units: System = "metric") -> Figure:
    """Several masts by what each costs and buys: stiffness, mass, drag, clearance."""
    return _figure(result, "trade", units, "it takes two masts or more with a water side")


def deflected(result: Result, *, case: str | None = None, units: System = "metric") -> Figure:
    """Shapes under a load case: deflection and twist at service load, second order.

    Args:
        result: the masts.
        case: the load case by name; the one that moves a tip most when None.
        units: what numbers are shown in.
    """
    if case is None:
        return _figure(result, "deflected", units, "no load case was computed that a mast stands")
    masts = _comparison(result).masts
    known = {c.case.name for m in masts for c in m.cases if c.line is not None}
    if case not in known:
        raise ValueError(f"no mast stands a load case {case!r}; there are {', '.join(sorted(known))}")
    return _ready(deflected_in(masts, case, units))


def buckling(result: Result, *, units: System = "metric") -> Figure:
    """The shapes that the masts buckle into in the load case nearest to it."""
    return _figure(result, "buckling", units, "no buckling shape was found")


def utilisation_by_case(result: Result, *, units: System = "metric") -> Figure:
    """Utilisation along each mast, a line for each load case."""
    return _figure(result, "utilisation by case", units, "no strength is judged")


def utilisation(result: Result, *, units: System = "metric") -> Figure:
    """The greatest utilisation along several masts."""
    return _figure(result, "utilisation", units, "it takes two masts or more whose strength is judged")


def stress(result: Result, *, units: System = "metric") -> Figure:
    """Stress, or utilisation, on the section that governs."""
    return _figure(result, "stress", units, "no load case has stresses")


def modes(result: Result, *, mast: int = 0, units: System = "metric") -> Figure:
    """The first mode shapes of one mast; of bare masts in a comparison there are none."""
    return _figure(result, "modes", units, "modes are drawn of one mast alone, or with a foil", mast)


def drag(result: Result, *, units: System = "metric") -> Figure:
    """Drag of the wet part against speed."""
    return _figure(result, "drag", units, "it takes a water side and more than one speed")


def free_bodies(result: Result, *, mast: int = 0, units: System = "metric") -> Figure:
    """Forces and moments on rider, board, mast and wings in each manoeuvre of one mast."""
    return _figure(result, "free bodies", units, "no manoeuvre was asked for", mast)


def flex(result: Result, *, mast: int = 0, units: System = "metric") -> Figure:
    """The flex budget of one mast: what blade, joints and adapters bring to the tip's movement."""
    return _figure(result, "flex", units, "no joint is described", mast)


def bolts(result: Result, *, mast: int = 0, units: System = "metric") -> Figure:
    """The bolt patterns of one mast, each bolt with its tension and shear."""
    return _figure(result, "bolts", units, "no bolted joint is described", mast)


def play(result: Result, *, mast: int = 0, units: System = "metric") -> Figure:
    """The step of play in one mast's side deflection."""
    return _figure(result, "play", units, "no joint with play is described", mast)


def importance(result: Result, *, mast: int = 0, units: System = "metric") -> Figure:
    """How much of each number's variance each tolerance brings, for one mast."""
    return _figure(result, "importance", units, "no tolerances with samples were asked for", mast)


def _comparison(result: Result) -> Comparison:
    if isinstance(result, Comparison):
        return result
    return compare([result] if isinstance(result, MastResult) else result)


def _figure(result: Result, kind: str, units: System, missing: str, mast: int = 0) -> Figure:
    """The report's own figure of a kind."""
    comparison = _comparison(result)
    if not 0 <= mast < len(comparison.masts):
        raise ValueError(
            f"there is no mast at place {mast}: places go from 0 to {len(comparison.masts) - 1}"
        )
    found = drawing(comparison, kind, units, mast=mast)
    if found is None:
        raise ValueError(f"nothing to draw of {kind}: {missing}")
    return _ready(found)


def _ready(found: Drawing) -> Figure:
    """The figure, with what is settled late settled now: by our settings, not by the user's."""
    import matplotlib as mpl

    with style():
        for ax in found.figure.axes:
            for axis, usual in (
                (ax.xaxis, mpl.rcParams["xtick.labelsize"]),
                (ax.yaxis, mpl.rcParams["ytick.labelsize"]),
            ):
                # How many ticks there is room for hangs on their size, which is looked up when drawn.
                axis.set_tick_params(labelsize=axis.get_tick_params().get("labelsize", usual))
        found.figure.draw_without_rendering()
    # A notebook asks an object itself; a figure that pyplot does not know has no picture otherwise.
    found.figure._repr_svg_ = partial(svg_alone, found)  # type: ignore[attr-defined]
    return found.figure
