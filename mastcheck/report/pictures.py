"""The report's figures, each with a caption and words for those who cannot see it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from mastcheck.checks.result import CaseResult, Comparison, Criterion, MastResult
from mastcheck.report import figures
from mastcheck.report.buckling import figure_words
from mastcheck.report.buckling_figure import buckling_modes
from mastcheck.report.cells import letters, tidy
from mastcheck.report.display import System, fixed, given, quantity
from mastcheck.report.figure_style import svg
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


def _picture(fig: Any, alt: str, caption: str) -> dict[str, Any]:
    wide, high = fig.get_size_inches()
    return {
        "svg": svg(fig).decode("utf-8"),
        "alt": tidy(alt),
        "caption": tidy(caption),
        "width": float(wide) * 72,
        "height": float(high) * 72,
    }


def pictures(comparison: Comparison, units: System) -> dict[str, Any]:
    """The report's figures by name."""
    masts = comparison.masts
    who = ", ".join(
        f"{letter}: {m.job.mast.name}" for letter, m in zip(letters(masts), masts, strict=True)
    )
    out: dict[str, Any] = {
        "sections": _picture(
            sections(masts, units=units),
            f"Cross-sections at base, middle and tip, to scale, with centroid and shear centre. {who}. "
            "Sizes stand above each section.",
            "Sections to one scale, leading edge left, aligned on the stacking line (dash-dotted).",
        ),
        "stiffness": _picture(
            figures.stiffness_along(masts, units=units),
            "Three graphs along the mast from base to tip: sideways bending stiffness, fore-aft bending "
            f"stiffness and torsional stiffness. {_ends(masts, units)}",
            "Bending and torsional stiffness from base to tip.",
        ),
    }
    weighed = trade_picture(masts, units=units)
    if weighed is not None:
        out["trade"] = _picture(weighed, *trade_words(masts, units))
    case = figures.widest_case(masts)
    if case is not None:
        missing = [
            letter
            for letter, m in zip(letters(masts), masts, strict=True)
            if (c := figures.find_case(m, case)) is None or c.line is None
        ]
        absent = f" Not drawn, since unstable or not asked: {', '.join(missing)}." if missing else ""
        moved = "; ".join(
            f"{letter} moves {quantity(figures.lateral(c) * 1e3, 'mm', units)} "
            f"and twists {quantity(abs(math.degrees(c.tip.twist)), 'deg', units)}"
            for letter, m in zip(letters(masts), masts, strict=True)
            if (c := figures.find_case(m, case)) is not None and c.tip is not None
        )
        out["deflected"] = _picture(
            figures.deflected(masts, case=case, units=units),
            f"Sideways and fore-aft deflection and twist along the mast in load case {case}. "
            f"At the tip: {moved}.",
            f"Deflected shape and twist in load case {case}, the one that moves a tip most: service "
            f"load, second order. Sideways and fore-aft have scales of their own.{absent}",
        )
    buckled = buckling_modes(masts, units=units)
    if buckled is not None:
        out["buckling"] = _picture(buckled, *figure_words(masts))
    by_case = utilisation_by_case(masts, units=units)
    if by_case is not None:
        most = utilisation_words(masts, units)
        out["utilisation by case"] = _picture(
            by_case,
            f"Utilisation along the mast, a line for each load case. Greatest: {most}.",
            "Utilisation along the mast in each load case, the greatest over all points and criteria at "
            f"each station, loads times the strength factor. Greatest: {most}.",
        )
    # Of one mast the lines by case say it all; of several the greatest sets them side by side.
    along = figures.utilisation_along(masts, units=units) if len(masts) > 1 else None
    if along is not None:
        most = "; ".join(
            f"{letter} {fixed(float(used.max()), 2)} at z = "
            f"{quantity(float(z[used.argmax()]) * 1e3, 'mm', units)}"
            for letter, m in zip(letters(masts), masts, strict=True)
            if (line := figures.utilisation_lines(m)) is not None
            for z, used in (line,)
        )
        out["utilisation"] = _picture(
            along,
            f"Greatest utilisation along the mast over the judged load cases: {most}.",
            f"Utilisation along the mast, the greatest of all judged load cases: {most}.",
        )
    for letter, m in zip(letters(masts), masts, strict=True):
        if m.motion is not None and in_full(m, masts):
            alt, caption = mode_words(m.motion, letter, units)
            out[f"modes {letter}"] = _picture(mode_shapes(m.motion, units=units), alt, caption)
        if (shares := importance(m)) is not None:
            out[f"importance {letter}"] = _picture(shares, *importance_words(m, letter))
        out |= _joints(m, letter, units)
    for key, drawn, *said in water_figures(masts, units=units):
        out[key] = _picture(drawn, *said)
    found = governing(masts)
    if found is not None:
        index, c = found
        m = masts[index]
        words = _map_words(m, c, letters(masts)[index], units)
        out["stress"] = _picture(stress_map(m, c, units=units), words, words)
    return out


def _joints(m: MastResult, letter: str, units: System) -> dict[str, Any]:
    """Flex budget, bolt patterns and the step of play of one mast, those there are."""
    joints = m.joints
    if joints is None:
        return {}
    drawn = (
        ("flex", flex_budget(joints), flex_words(joints, letter)),
        ("bolts", bolt_patterns(m, units=units), bolt_pattern_words(joints, letter, units)),
        ("play", play_step(m, units=units), play_step_words(joints, letter, units)),
    )
    return {f"{key} {letter}": _picture(fig, *words) for key, fig, words in drawn if fig is not None}


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
