"""What is said of buckling: the mode a case buckles into, and the figure of the least stable cases."""

from __future__ import annotations

from collections.abc import Sequence

from mastcheck.beam.buckling import BucklingMode
from mastcheck.checks.result import CaseResult, MastResult
from mastcheck.report.cells import letters
from mastcheck.report.display import fixed


def mode_words(case: CaseResult) -> str:
    """How a case buckles; empty where it never does."""
    return "" if case.buckling_mode is None else str(case.buckling_mode.kind)


def least_stable(result: MastResult) -> CaseResult | None:
    """The case nearest to buckling for what is asked of it; None where none ever buckles."""
    known = [c for c in result.cases if c.buckling_mode is not None]
    if not known:
        return None
    return min(known, key=lambda c: c.buckling_factor / max(1.0, c.case.strength_factor))


def drawn_modes(masts: Sequence[MastResult]) -> dict[int, BucklingMode]:
    """The mode of each mast's least stable case, by the mast's place."""
    found = {i: least_stable(m) for i, m in enumerate(masts)}
    return {
        i: c.buckling_mode for i, c in found.items() if c is not None and c.buckling_mode is not None
    }


def figure_words(masts: Sequence[MastResult]) -> tuple[str, str]:
    """Alternative text and caption of the figure of buckling modes."""
    parts = []
    for letter, m in zip(letters(masts), masts, strict=True):
        c = least_stable(m)
        if c is None or c.buckling_mode is None:
            continue
        side, fore_aft, twist = (100 * float(s) for s in c.buckling_mode.share)
        parts.append(
            f"{letter} in {c.case.name}, {mode_words(c)}, at {fixed(c.buckling_factor, 2)} times "
            f"service load (energy {fixed(side, 0)} % sideways, {fixed(fore_aft, 0)} % fore-aft, "
            f"{fixed(twist, 0)} % twist)"
        )
    who = "; ".join(parts)
    return (
        f"Shape into which each mast buckles in the load case nearest to it: {who}. Three graphs along "
        "the mast: sideways and fore-aft movement, and twist times the length, to one scale.",
        f"Shape into which each mast would buckle, in the load case nearest to it: {who}. Its size has "
        "no meaning: the greatest movement, or twist (in radians) times the length, is drawn as 1.",
    )
