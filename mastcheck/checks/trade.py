"""Both sides of the choice between masts: what stiffness costs in the water, in rows and in words.

Nothing here is computed anew: rows and sentences are read off checked masts. The sentences are rules of
thumb of our own about ratios. They name the numbers they rest on, say what is paid beside what is
gained, and speak for no mast that fails or is not judged.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from mastcheck.checks.joined import joint_checks
from mastcheck.checks.result import MastResult, Trade, Verdict
from mastcheck.checks.trade_measures import (
    TURNING,
    Measure,
    Stand,
    at_speed,
    common_speeds,
    currencies,
    least_bank,
    measures,
    priced,
    stand,
    turn_speed,
    used,
)
from mastcheck.checks.water import drag_at
from mastcheck.checks.water_result import WaterResult
from mastcheck.mast import Construction

Row = tuple[str, str, list[float | None]]

ALIKE = 0.02
"""Relative difference up to which two masts count as alike."""
TO_SPARE = 0.6
"""Share of strength used up to which a mast is said to have strength to spare."""
FIRM = 0.8
"""Share of strength used up to which a mast may be named for hard loads."""
DRY = 0.25
"""Share of the length, from the base, that must fly clear for its width to be called free."""
HOLDS = "holds for the rider checked"


def trade_rows(results: Sequence[MastResult]) -> list[Row]:
    """Rows of the water side for masts side by side; none that no mast has a value in."""
    waters = [r.water for r in results]
    known = [w for w in waters if w is not None]
    if len(known) < len(results) or not known:
        return []
    rows: list[Row] = []
    for speed in common_speeds(results):
        drag = [drag_at(r, speed) for r in results]
        rows += [
            (f"drag at {speed:.3g} m/s", "N", drag),
            (f"power at {speed:.3g} m/s", "W", [None if d is None else d * speed for d in drag]),
        ]
    rows += [
        ("wet side area", "m²", [w.side.tracking.area.side for w in known]),
        ("centre of wet side area below the board", "m", [w.side.tracking.area.centre for w in known]),
        *_at_turn(results, known),
        ("lag of the wing as a turn begins", "deg", [_degrees(w.side.yaw.start_lag) for w in known]),
        ("time until the wing follows the board", "ms", [_follows(r) for r in results]),
        ("bank until rail or wing tip touches", "deg", [least_bank(w) for w in known]),
        (
            "most bank, at the best ride height",
            "deg",
            [math.degrees(w.side.clearance.best_bank) for w in known],
        ),
        ("swing inertia about the board", "kg·m²", [w.side.handling.swing_inertia for w in known]),
    ]
    rows += [("price", currency, list(priced(results, currency))) for currency in currencies(results)]
    return [row for row in rows if any(v is not None for v in row[2])]


def trade(results: Sequence[MastResult]) -> Trade | None:
    """For whom each mast is, against the first (the first against all others), and what to try next."""
    if len(results) < 2 or any(r.water is None for r in results):
        return None
    found = measures(results)
    others = [tuple(range(1, len(results))), *[(0,)] * (len(results) - 1)]
    return Trade(
        suits=tuple(_suits(results, found, i, against) for i, against in enumerate(others)),
        next=_next(results),
        unlike=_unlike(results),
    )


def _suits(
    results: Sequence[MastResult], found: Sequence[Measure], mast: int, others: Sequence[int]
) -> str:
    """One mast's sentence: for whom, what it gains, what it pays; or why for nobody."""
    name = results[mast].job.mast.name
    rival = results[others[0]].job.mast.name if len(others) == 1 else "each of the others"
    better = _said(found, mast, others, gained=True)
    worse = _said(found, mast, others, gained=False)
    paid = _listed([*worse.values()]) if worse else ""
    how = stand(results[mast])
    if how is Stand.FAILS:
        words = f"{name} is for nobody as it stands: it fails {failing(results[mast])}."
        if better:
            words += (
                f" That against {rival} it {_listed([*better.values()])} counts only once it holds,"
                " and what makes it hold takes some of that back."
            )
        return words
    if not better:
        start = f"{name} {HOLDS}" if how is Stand.HOLDS else f"{name} is not judged in full"
        words = f"{start}, and is better than {rival} in nothing that was looked at"
        return f"{words}: it {paid}." if paid else f"{words}."
    start = (
        f"{name} {HOLDS}, and suits {_whom(better, used(results[mast]))}"
        if how is Stand.HOLDS
        else f"{name} is not judged in full, and so recommended to nobody yet"
    )
    words = f"{start}: against {rival} it {_listed([*better.values()])}"
    return f"{words}; it also {paid}." if paid else f"{words}."


def _said(found: Sequence[Measure], mast: int, others: Sequence[int], *, gained: bool) -> dict[str, str]:
    """Words by key for what a mast has better (or worse) than every one of the others."""
    out: dict[str, str] = {}
    for m in found:
        merits = [m.merit(mast, other) for other in others]
        known = [v for v in merits if v is not None]
        if len(known) < len(others):
            continue
        least = min(known) if gained else max(known)
        if (least <= 1 + ALIKE) if gained else (least >= 1 / (1 + ALIKE)):
            continue
        ratio = 1 / least if m.less else least  # of this mast's value to the nearest other's
        many = "at least " if len(others) > 1 else ""
        share = f"{many}{100 * abs(ratio - 1):.0f} %"
        key = m.key.split()[0]
        out[key] = m.words[0 if ratio < 1 else 1].format(share)  # of several speeds the fastest stays
    return out


def _whom(better: dict[str, str], share: float | None) -> str:
    """Who rides what is better here: rules of thumb of our own."""
    who = []
    if "strength" in better and "side" in better and share is not None and share <= FIRM:
        who.append("who loads the mast hard and wants it firm")
    elif firm := [
        word for key, word in (("side", "sideways bending"), ("twist", "twist")) if key in better
    ]:
        who.append(f"who wants less {_listed(firm)}")
    elif "strength" in better:
        who.append("who wants more strength in reserve")
    if "turning" in better:
        who.append("who turns a lot")
    elif "drag" in better:
        who.append("who wants less drag")
    if not who and "tracking" in better:
        who.append("who wants it to hold its track")
    if "lean" in better:
        who.append("who leans far over or rides rough water")
    if not who:
        who.append("who wants it light" if "mass" in better else "who looks at the price")
    return f"one {_listed(who)}"


def failures(result: MastResult) -> dict[str, float]:
    """What a mast fails, worst first: load cases, or checks of none, with the share of the limit used.

    The share is inf where there is no number (an unstable case), and nought where only another wing of
    the quiver fails there.
    """
    worst: dict[str, float] = {}
    for c in result.checks:
        if c.verdict is Verdict.FAIL:
            key = c.case or c.name
            worst[key] = max(worst.get(key, 0.0), math.inf if c.utilisation is None else c.utilisation)
    worst |= {c.case.name: math.inf for c in result.cases if not c.stable}
    for wing in result.quiver or ():
        for check, case in wing.failures:
            if not wing.governs:
                worst.setdefault(f"{case or check} with {wing.name}", 0.0)
    return dict(sorted(worst.items(), key=lambda item: -item[1]))


def failing(result: MastResult) -> str:
    """The failures as a sentence lists them."""
    said = [
        f"{name} (at {100 * share:.0f} % of its limit)" if 1 < share < math.inf else name
        for name, share in failures(result).items()
    ]
    return _listed(said) if said else "a limit"


def _next(results: Sequence[MastResult]) -> str:
    stands = [stand(r) for r in results]
    failed = [r for r, s in zip(results, stands, strict=True) if s is Stand.FAILS]
    if failed:
        names = _listed([r.job.mast.name for r in failed])
        who = "none of these holds" if len(failed) == len(results) else f"{names} must hold first"
        return f"Next: {who}. Try {_mends(failed)}, and compare again."
    silent = [r.job.mast.name for r, s in zip(results, stands, strict=True) if s is Stand.UNJUDGED]
    if silent:
        return (
            f"Next: have what is not judged of {_listed(silent)} judged (the verdicts name it, such as a"
            f" strength that is not stated), before any choice.{_clear(results)}"
        )
    shares = [(share, r) for r in results if (share := used(r)) is not None and share < TO_SPARE]
    if shares:
        share, least = min(shares, key=lambda pair: pair[0])
        solid = least.job.mast.section.construction is Construction.SOLID
        lighter = "A hollow section" if solid else "A thinner wall"
        return (
            f"Next: {least.job.mast.name} uses {100 * share:.0f} % of its strength at most. {lighter}"
            " would save weight, a narrower tip drag, both at the price of stiffness: check each change."
            f"{_clear(results)}"
        )
    return (
        "Next: change one size at a time and see what it buys (mastcheck check --sensitivity)."
        f"{_clear(results)}"
    )


def _mends(failed: Sequence[MastResult]) -> str:
    """What may mend a failing mast: joints where they alone fail, else the mast itself."""
    alone = True
    for r in failed:
        joints = {(c.name, c.case) for c in joint_checks(r.joints)}
        fails = {(c.name, c.case) for c in r.checks if c.verdict is Verdict.FAIL}
        alone &= bool(fails) and fails <= joints
    if alone:
        return "stronger joints (the mast itself holds)"
    hollow = all(r.job.mast.section.construction is not Construction.SOLID for r in failed)
    wall = "a thicker wall, " if hollow else ""
    return f"{wall}a thicker or wider section, or a shorter length"


def _clear(results: Sequence[MastResult]) -> str:
    """That a base above the water is free to be wide."""
    dry = min(1 - r.job.wet for r in results)
    if dry < DRY:
        return ""
    return (
        f" The first {100 * dry:.0f} % of the length flies clear at this ride height: width there"
        " stiffens, and adds weight but no drag while it is clear."
    )


def _unlike(results: Sequence[MastResult]) -> str:
    """In what the masts were not asked the same: a difference there is none of the masts."""
    asked: dict[str, list[object]] = {
        "rider": [r.job.rider for r in results],
        "ride height": [round(r.job.mast.length * (1 - r.job.wet), 3) for r in results],
        "wing": [None if w is None else (w.wing_area, w.wing_span) for w in (r.water for r in results)],
        "water": [(r.job.conditions.kind, r.job.conditions.temperature, r.job.water_density)
                  for r in results],
        "board width": [r.job.conditions.board_width for r in results],
        "turning speed": [r.job.conditions.turn_speed for r in results],
        "load cases": [{c.case.name for c in r.cases} for r in results],
    }  # fmt: skip
    differs = [name for name, given in asked.items() if any(g != given[0] for g in given)]
    if not differs:
        return ""
    return f"Not like for like: the masts were not asked the same in {_listed(differs)}."


def _at_turn(results: Sequence[MastResult], known: Sequence[WaterResult]) -> list[Row]:
    """Side force and resistance to turning, where all masts turn at one speed."""
    speed = turn_speed(results)
    if speed is None:
        return []
    track = [(w, w.side.tracking) for w in known]
    side: list[float | None] = [math.radians(1) * at_speed(w, t.side_per_rad, speed) for w, t in track]
    moment: list[float | None] = [TURNING * at_speed(w, t.yaw_damping, speed) for w, t in track]
    return [
        (f"side force per degree of leeway at {speed:.3g} m/s", "N", side),
        (f"moment against turning at {speed:.3g} m/s and 90 deg/s", "N·m", moment),
    ]


def _listed(items: Sequence[str]) -> str:
    """Items as a sentence lists them.

    >>> _listed(["a", "b", "c"])
    'a, b and c'
    """
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def _degrees(value: float | None) -> float | None:
    return None if value is None else math.degrees(value)


def _follows(result: MastResult) -> float | None:
    """Time [ms]; None for a bare mast, which no wing follows."""
    time = None if result.water is None else result.water.side.yaw.response_time
    return None if time is None or result.job.foil is None else 1e3 * time
