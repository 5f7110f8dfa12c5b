"""The report's figures by name, each with a caption and words for those who cannot see it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from mastcheck.checks.result import CaseResult, Comparison, Criterion, MastResult
from mastcheck.report import figures
from mastcheck.report.buckling import figure_words
from mastcheck.report.buckling_figure import buckling_modes
from mastcheck.report.cells import letters, tidy
from mastcheck.report.display import System, fixed, given, quantity
from mastcheck.report.importance_figure import importance, importance_words
from mastcheck.report.joint_figures import (
    bolt_pattern_words,
    bolt_patterns,
    flex_budget,
    flex_words,
    play_step,
    play_step_words,
)
from mastcheck.report.motion import in_full
from mastcheck.report.motion_figure import mode_shapes, mode_words
from mastcheck.report.station_figures import governing, maps_utilisation, sections, stress_map
from mastcheck.report.strength import governing_finding, several_criteria, short_name
from mastcheck.report.trade_figure import trade_picture, trade_words
from mastcheck.report.utilisation_figure import utilisation_by_case, utilisation_words
from mastcheck.report.water_figures import water_figures

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """A figure, the words for those who cannot see it, and its caption."""

    figure: Figure
    alt: str
    caption: str


_Masts = Sequence[MastResult]


def drawings(comparison: Comparison, units: System) -> dict[str, Drawing]:
    """Every figure of the report by name; those whose data are there.

    A figure of one mast has the mast's letter at the end of its name: ``modes A``. No name holds words
    from a mast file.
    """
    masts = comparison.masts
    found = {kind: draw(masts, units) for kind, draw in TOGETHER.items()}
    for i, letter in enumerate(letters(masts)):
        found |= {f"{kind} {letter}": draw(masts, i, units) for kind, draw in ALONE.items()}
    for key, drawn, *said in water_figures(masts, units=units):
        found[key] = Drawing(drawn, *said)
    return {key: _tidied(d) for key, d in found.items() if d is not None}


def drawing(comparison: Comparison, kind: str, units: System, *, mast: int = 0) -> Drawing | None:
    """One figure, as ``drawings`` has it; None where its data are not there.

    Args:
        comparison: the masts.
        kind: a key of ``TOGETHER`` or ``ALONE``, ``drag`` or ``free bodies``.
        units: what numbers are shown in.
        mast: place of the mast, where the figure is of one alone.
    """
    masts = comparison.masts
    if kind in TOGETHER:
        found = TOGETHER[kind](masts, units)
    elif kind in ALONE:
        found = ALONE[kind](masts, mast, units)
    else:
        wanted = kind if kind == "drag" else f"{kind} {letters(masts)[mast]}"
        every = water_figures(masts, units=units)
        found = next((Drawing(fig, *said) for key, fig, *said in every if key == wanted), None)
    return None if found is None else _tidied(found)


def _tidied(d: Drawing) -> Drawing:
    return Drawing(d.figure, tidy(d.alt), tidy(d.caption))


def _sections(masts: _Masts, units: System) -> Drawing:
    who = ", ".join(
        f"{letter}: {m.job.mast.name}" for letter, m in zip(letters(masts), masts, strict=True)
    )
    return Drawing(
        sections(masts, units=units),
        f"Cross-sections at base, middle and tip, to scale, with centroid and shear centre. {who}. "
        "Sizes stand above each section.",
        "Sections to one scale, leading edge left, aligned on the stacking line (dash-dotted).",
    )


def _stiffness(masts: _Masts, units: System) -> Drawing:
    return Drawing(
        figures.stiffness_along(masts, units=units),
        "Three graphs along the mast from base to tip: sideways bending stiffness, fore-aft bending "
        f"stiffness and torsional stiffness. {_ends(masts, units)}",
        "Bending and torsional stiffness from base to tip.",
    )


def _trade(masts: _Masts, units: System) -> Drawing | None:
    drawn = trade_picture(masts, units=units)
    return None if drawn is None else Drawing(drawn, *trade_words(masts, units))


def _deflected(masts: _Masts, units: System) -> Drawing | None:
    case = figures.widest_case(masts)
    return None if case is None else deflected_in(masts, case, units)


def deflected_in(masts: _Masts, case: str, units: System) -> Drawing:
    """The shapes in a load case that some mast stands, with what each tip does."""
    found = {letter: figures.find_case(m, case) for letter, m in zip(letters(masts), masts, strict=True)}
    missing = [letter for letter, c in found.items() if c is None or c.line is None]
    absent = f" Not drawn, since unstable or not asked: {', '.join(missing)}." if missing else ""
    moved = "; ".join(
        f"{letter} moves {quantity(figures.lateral(c) * 1e3, 'mm', units)} "
        f"and twists {quantity(abs(math.degrees(c.tip.twist)), 'deg', units)}"
        for letter, c in found.items()
        if c is not None and c.tip is not None
    )
    most = ", the one that moves a tip most" if case == figures.widest_case(masts) else ""
    return Drawing(
        figures.deflected(masts, case=case, units=units),
        f"Sideways and fore-aft deflection and twist along the mast in load case {case}. "
        f"At the tip: {moved}.",
        f"Deflected shape and twist in load case {case}{most}: service load, second order. Each "
        f"graph has a scale of its own.{absent}",
    )


def _buckling(masts: _Masts, units: System) -> Drawing | None:
    drawn = buckling_modes(masts, units=units)
    return None if drawn is None else Drawing(drawn, *figure_words(masts))


def _by_case(masts: _Masts, units: System) -> Drawing | None:
    drawn = utilisation_by_case(masts, units=units)
    if drawn is None:
        return None
    most = utilisation_words(masts, units)
    return Drawing(
        drawn,
        f"Utilisation along the mast, a line for each load case. Greatest: {most}.",
        "Utilisation along the mast in each load case, the greatest over all points and criteria at "
        "each station, loads times the strength factor."
        # Of many masts the numbers stand in the tables alone.
        + (f" Greatest: {most}." if len(masts) <= 2 else ""),
    )


def _utilisation(masts: _Masts, units: System) -> Drawing | None:
    # Of one mast or two the lines by case say it all; of more the greatest sets them side by side.
    drawn = figures.utilisation_along(masts, units=units) if len(masts) > 2 else None
    if drawn is None:
        return None
    most = "; ".join(
        f"{letter} {fixed(float(used.max()), 2)} at z = "
        f"{quantity(float(z[used.argmax()]) * 1e3, 'mm', units)}"
        for letter, m in zip(letters(masts), masts, strict=True)
        if (line := figures.utilisation_lines(m)) is not None
        for z, used in (line,)
    )
    return Drawing(
        drawn,
        f"Greatest utilisation along the mast over the judged load cases: {most}.",
        f"Utilisation along the mast, the greatest of all judged load cases: {most}.",
    )


def _stress(masts: _Masts, units: System) -> Drawing | None:
    found = governing(masts)
    if found is None:
        return None
    index, c = found
    words = _map_words(masts[index], c, letters(masts)[index], units)
    return Drawing(stress_map(masts[index], c, units=units), words, words)


def _modes(masts: _Masts, index: int, units: System) -> Drawing | None:
    m = masts[index]
    if m.motion is None or not in_full(m, masts):
        return None
    said = mode_words(m.motion, letters(masts)[index], units)
    return Drawing(mode_shapes(m.motion, units=units), *said)


def _importance(masts: _Masts, index: int, units: System) -> Drawing | None:  # noqa: ARG001  no unit
    drawn = importance(masts[index])
    if drawn is None:
        return None
    return Drawing(drawn, *importance_words(masts[index], letters(masts)[index]))


def _flex(masts: _Masts, index: int, units: System) -> Drawing | None:  # noqa: ARG001  in percent
    joints = masts[index].joints
    drawn = None if joints is None else flex_budget(joints)
    if joints is None or drawn is None:
        return None
    return Drawing(drawn, *flex_words(joints, letters(masts)[index]))


def _bolts(masts: _Masts, index: int, units: System) -> Drawing | None:
    joints, drawn = masts[index].joints, bolt_patterns(masts[index], units=units)
    if joints is None or drawn is None:
        return None
    return Drawing(drawn, *bolt_pattern_words(joints, letters(masts)[index], units))


def _play(masts: _Masts, index: int, units: System) -> Drawing | None:
    joints, drawn = masts[index].joints, play_step(masts[index], units=units)
    if joints is None or drawn is None:
        return None
    return Drawing(drawn, *play_step_words(joints, letters(masts)[index], units))


TOGETHER: dict[str, Callable[[_Masts, System], Drawing | None]] = {
    "sections": _sections,
    "stiffness": _stiffness,
    "trade": _trade,
    "deflected": _deflected,
    "buckling": _buckling,
    "utilisation by case": _by_case,
    "utilisation": _utilisation,
    "stress": _stress,
}
"""Figures of all masts by name, those of the water side apart."""
ALONE: dict[str, Callable[[_Masts, int, System], Drawing | None]] = {
    "modes": _modes,
    "importance": _importance,
    "flex": _flex,
    "bolts": _bolts,
    "play": _play,
}
"""Figures of one mast by name, to which the mast's letter is added."""


def _map_words(m: MastResult, c: CaseResult, letter: str, units: System) -> str:
    """What the map of the governing section shows, and whether it is what governs the case."""
    z = m.z[c.governing_station] if c.governing_station is not None else 0.0
    by_use = maps_utilisation(m, c)
    words = (
        f"{'Utilisation by the material criteria' if by_use else 'Von Mises stress'} in mast {letter}, "
        f"load case {c.case.name}, at z = {quantity(float(z) * 1e3, 'mm', units)}: loads times "
        f"{given(c.case.strength_factor)}, second order. "
    )
    if by_use:
        silent = c.point_utilisation is not None and np.isnan(c.point_utilisation).any()
        words += f"Greatest in {c.governing_material}{'; grey is not judged' if silent else ''}."
    else:
        greatest = quantity((c.max_von_mises or 0) / 1e6, "MPa", units)
        words += f"Greatest {greatest} in {c.governing_material}"
        if c.utilisation is None:
            words += "; strength not judged."
        elif several_criteria([c]):
            words += "."
        else:
            words += f", {fixed(c.utilisation, 2)} of its strength."
    found = governing_finding(c)
    elsewhere = (Criterion.WRINKLING, Criterion.BUCKLING)
    if found is not None and found.criterion in elsewhere:
        words += f" The case is governed by {short_name(found.criterion)}, which is not in this map: "
        words += f"{fixed(found.utilisation, 2)} at z = {quantity(found.z * 1e3, 'mm', units)}."
    return words


def _ends(masts: Sequence[MastResult], units: System) -> str:
    parts = []
    for letter, m in zip(letters(masts), masts, strict=True):
        a, b = m.sections[0].properties, m.sections[-1].properties
        parts.append(
            f"{letter} sideways from {quantity(a.EIxx, 'N·m²', units)} to "
            f"{quantity(b.EIxx, 'N·m²', units)}, "
            f"torsion from {quantity(a.GJ, 'N·m²', units)} to {quantity(b.GJ, 'N·m²', units)}"
        )
    return "; ".join(parts) + "."
