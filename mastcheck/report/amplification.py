"""How much the second order adds under each way the lift may point, as a band beside what governs."""

from __future__ import annotations

from mastcheck.checks.result import CaseResult, MastResult
from mastcheck.loadcase import Lift
from mastcheck.report.cells import Cell, Table, table
from mastcheck.report.display import breakable, fixed

BAND = (Lift.DEAD, Lift.THROUGH_RIDER, Lift.FOLLOWER)
"""The ways a lift may point, in the order of the table."""

WORDS = (
    "Amplification: lateral tip movement at service load over its first-order value, for each way the "
    "lift may point. Each case's own way, in bold, governs its verdict; the others show how much hangs "
    "on it. “Dead” keeps its direction, “through rider” points to the rider's centre of mass, "
    "“follower” turns with the wing. A follower's number is a balanced shape and no proof of stability: "
    "such a lift has no static buckling load, and may flutter."
)


def spread(case: CaseResult) -> str:
    """Least to greatest of the known amplifications.

    An unstable one has no greatest.
    """
    known = [v for v in case.amplification_by_lift.values() if v is not None]
    if not known:
        return "–"
    lost = any(v is None for v in case.amplification_by_lift.values())
    low, high = fixed(min(known), 2), "unstable" if lost else fixed(max(known), 2)
    return low if low == high else f"{low} to {high}"


def lift_name(lift: Lift) -> str:
    """A lift as tables print it.

    >>> lift_name(Lift.THROUGH_RIDER)
    'through rider'
    """
    return str(lift).replace("-", " ")


def band_table(result: MastResult) -> Table | None:
    """A row a case: its own lift and amplification, then all; None where only one was looked at."""
    asked = [way for way in BAND if any(way in c.amplification_by_lift for c in result.cases)]
    if len(asked) < 2:
        return None
    rows: list[list[Cell]] = [
        [
            breakable(c.case.name),
            lift_name(c.case.lift),
            _own(c),
            *(_cell(c, way) for way in asked),
            spread(c),
        ]
        for c in result.cases
    ]
    heads = [
        lift_name(way) + (", no proof of stability" if way is Lift.FOLLOWER else "") for way in asked
    ]
    columns = ["case", "its lift", "governs", *heads, "band"]
    return table(columns, "ll" + "r" * (len(asked) + 2), rows, (1.4, 1.2, 0.9, *[1.2] * len(asked), 1.5))


def _own(case: CaseResult) -> Cell:
    value = case.amplification if case.stable else None
    if value is None:
        return {"t": "unstable", "mood": "bad"}
    return {"t": fixed(value, 2), "mood": "strong"}


def _cell(case: CaseResult, way: Lift) -> Cell:
    if way not in case.amplification_by_lift:
        return "–"
    value = case.amplification_by_lift[way]
    text = "unstable" if value is None else fixed(value, 2)
    own = way is case.case.lift
    return {"t": text, "mood": "strong" if own else "open" if value is None else "plain"}
