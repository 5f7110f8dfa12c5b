"""The verdict on one mast in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from mastcheck.checks.cautions import measured_notes
from mastcheck.checks.result import CaseResult, Check, MastResult, Verdict
from mastcheck.report.cells import Cell, tidy
from mastcheck.report.display import fixed, number
from mastcheck.report.joint_rows import brief_checks
from mastcheck.report.quiver import governs_words
from mastcheck.report.strength import governing_finding, several_criteria, short_name, unjudged
from mastcheck.report.tolerances import ends


def unstable_words(case: CaseResult) -> str:
    """What is said of a case that does not stand."""
    need = max(1.0, case.case.strength_factor)
    factor = case.stability_factor
    if factor <= need:
        return f"unstable: {case.gives_way} at {fixed(factor, 2)} times the service load"
    # By linear theory it would hold: what was found is that no bent shape does.
    found = "the balanced shape does not stand" if case.shaky else "no balanced shape was found"
    text = f"unstable: {found} at up to {fixed(need, 2)} times the service load"
    if math.isfinite(factor):
        text += f", below where it {case.gives_way} by linear theory, {fixed(factor, 2)} times"
    return text


def judged_cell(case: CaseResult) -> Cell:
    """Whether a case holds its strength, as a coloured word; 'in part' where some was not judged."""
    if case.utilisation is None:
        return {"t": "not judged", "mood": "open"}
    if case.utilisation <= 1:
        if any(f.utilisation is None for f in case.findings):
            return {"t": "pass, in part", "mood": "open"}
        return {"t": "pass", "mood": "good"}
    return {"t": "fail", "mood": "bad"}


def verdict(result: MastResult) -> dict[str, Any]:
    """The verdict on one mast in words fit for the page: what failed, what was not judged."""
    found = answer(result)
    return found | {"reasons": [tidy(reason) for reason in found["reasons"]]}


def answer(result: MastResult) -> dict[str, Any]:
    """The verdict on one mast in words as they are: ``state``, ``word``, ``count`` and ``reasons``."""
    failed = [c for c in result.checks if c.verdict is Verdict.FAIL]
    passed = [c for c in result.checks if c.verdict is Verdict.PASS]
    unstable = [c for c in result.cases if not c.stable]
    over = [c for c in result.cases if c.stable and c.utilisation is not None and c.utilisation > 1]
    unknown = [c for c in result.cases if c.stable and c.utilisation is None]
    reasons = [words] if (words := governs_words(result)) else []
    reasons += [f"{c.case.name}: {unstable_words(c)}" for c in unstable]
    named = {c.case.name for c in unstable}
    for check in failed:
        if check.case in named:
            continue
        used = (
            "" if check.utilisation is None else f", {fixed(100 * check.utilisation, 0)} % of the limit"
        )
        if check.utilisation is not None and math.isinf(check.utilisation):
            used = ", nothing left to hold it"
        where = f"{check.case}: " if check.case else ""
        reasons.append(f"{where}{check.name} over its limit{used}")
    told = {c.case for c in failed}
    reasons += [
        f"{c.case.name}: stress at {fixed(100 * (c.utilisation or 0), 0)} % of the design strength"
        for c in over
        if c.case.name not in told
    ]
    silent = unjudged(result)
    if silent:
        reasons.append(f"strength of {_listed(silent)} not judged: no allowable is stated")
    found = {f.name for c in result.cases for f in c.findings}
    told_open = [c for c in brief_checks(result) if c.verdict is Verdict.REPORT]
    reasons += list(_open([c for c in told_open if c.name not in found]))
    broken = [s for s in result.self_checks if s.verdict is not Verdict.PASS]
    reasons += [
        f"self-check failed: {s.name}, {number(s.value, 2)} against {number(s.limit, 2)} at most; "
        "do not rely on these numbers"
        for s in broken
    ]
    if failed or unstable or over:
        state, word = "bad", "FAILS"
    elif passed and broken:
        state, word = "open", "LIMITS HELD, BUT A SELF-CHECK FAILED"
    elif passed and not silent and not unknown and not told_open:
        state, word = "good", "EVERY LIMIT HELD"
    elif passed:
        state, word = "open", "LIMITS HELD, NOT ALL JUDGED"
    else:
        state, word = "open", "NOT JUDGED"
    judged = [c for c in result.cases if c.utilisation is not None]
    if judged:
        worst = max(judged, key=lambda c: c.utilisation or 0.0)
        used = fixed(100 * (worst.utilisation or 0), 0)
        by = governing_finding(worst)
        what = ""
        if by is not None and several_criteria(result.cases):
            what = f", by {short_name(by.criterion)} in {by.material}"
        reasons.append(f"most used in {worst.case.name}: {used} % of the design strength{what}")
    reasons += list(_within_tolerances(result))
    if measured_notes(result.job):
        reasons.append("measured from outside: what that leaves open is in no verdict, see the cautions")
    if not result.job.limits:
        reasons.append(
            "no limit on movement is set ([limits]): how far it bends and twists is not judged"
        )
    count = f"{len(failed)} failed, {len(passed)} passed, "
    count += f"{sum(c.verdict is Verdict.REPORT for c in result.checks)} reported without a limit"
    return {"state": state, "word": word, "count": count, "reasons": reasons}


def _within_tolerances(result: MastResult) -> Iterator[str]:
    """Cases that hold their strength as drawn, and not at the upper end of their 95 % band."""
    bands = () if result.tolerances is None else result.tolerances.bands
    over = {b.case: ends(b)[1] for b in bands if b.name == "utilisation" and b.value <= 1 < ends(b)[1]}
    if over:
        worst = max(over, key=lambda case: over[case])
        most = "with no end" if math.isinf(over[worst]) else f"{fixed(100 * over[worst], 0)} %"
        others = [case for case in over if case != worst]
        also = f"; also {_listed(others)}" if others else ""
        yield f"within its tolerances over the design strength: {worst}, up to {most}{also}"


def _open(checks: list[Check]) -> Iterator[str]:
    """What is reported and not judged: the worst value of each name, and in which case."""
    for name in dict.fromkeys(c.name for c in checks if not c.name.startswith("von Mises")):
        alike = [c for c in checks if c.name == name]
        pick = min if name.endswith(", at least") else max
        worst = pick(alike, key=lambda c: c.value)
        unit = f" {worst.unit}" if worst.unit else ""
        where = f" in {worst.case}" if len({c.value for c in alike}) > 1 else ""
        yield f"{name}: {number(worst.value)}{unit}{where}, reported and not judged"


def _listed(names: list[str]) -> str:
    """A list in words.

    >>> _listed(["a"]), _listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return " and ".join(x for x in (", ".join(names[:-1]), names[-1]) if x)
