"""One mast, many wings: what is told of each, and which governs, on checks that are given."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest

from mastcheck.checks.quiver import STRIKE, governing_wing, over_wings, with_wing
from mastcheck.checks.quiver_result import WingResult
from mastcheck.checks.result import Check, MastResult, SelfCheck, Verdict
from mastcheck.foil import Foil, QuiverFoil, Wing
from mastcheck.job import Job
from mastcheck.source import Grade, Source
from tests.masts import mast
from tests.reports import make_mast

GOOD = make_mast()
CALM = replace(
    GOOD,
    checks=(),
    cautions=(),
    self_checks=(),
    cases=tuple(replace(c, stable=True, buckling_factor=3.0 + i) for i, c in enumerate(GOOD.cases)),
    motion=None,
)
P, F, R = Verdict.PASS, Verdict.FAIL, Verdict.REPORT


def wing(name: str, span: float | None = 0.8) -> QuiverFoil:
    made = None if span is None else Wing(area=0.1, span=span, ahead=0.15)
    return QuiverFoil(name=name, foil=Foil(mass=1.5, wing=made))


def row(name: str, verdict: Verdict, used: float | None) -> Check:
    return Check(
        name=name, case=f"case of {name}", value=1.0, limit=None, unit="", utilisation=used,
        verdict=verdict,
    )  # fmt: skip


def ridden(**results: MastResult) -> MastResult:
    """The check of a mast with wings by these names, whose own results are given in turn."""
    job = Job(mast=mast(), quiver=tuple(wing(name) for name in results))
    given = iter(results.values())
    return over_wings(job, lambda *_: next(given), None)


def tell(checks: Sequence[Check], **changed: object) -> WingResult:
    (told,) = ridden(one=replace(CALM, checks=tuple(checks), **changed)).quiver or ()
    return told


@pytest.mark.parametrize(
    ("rows", "failed", "passed", "worst"),
    [
        ([], False, False, None),
        ([row("a", R, None)], False, False, None),
        ([row("a", P, 0.4), row("b", P, 0.6), row("c", R, 0.9)], False, True, "b"),
        ([row("a", P, 0.9), row("b", F, 1.2), row("c", F, 1.4)], True, True, "c"),
        ([row("a", F, 1.2), row("b", F, None)], True, False, "b"),
        ([row("a", P, None), row("b", P, 0.1)], False, True, "b"),
    ],
)
def test_what_is_told_of_a_wing(
    rows: list[Check], failed: bool, passed: bool, worst: str | None
) -> None:
    """A failed check before one that holds, then the larger use; a failed one without a use is beyond
    all numbers. What is reported neither passes nor fails.
    """
    told = tell(rows)
    assert (told.failed, told.passed, told.check) == (failed, passed, worst)
    assert told.case == ("" if worst is None else f"case of {worst}")
    assert told.failures == tuple((c.name, c.case) for c in rows if c.verdict is F)
    assert told.utilisation == next((c.utilisation for c in rows if c.name == worst), None)
    assert told.stability_factor == 3.0
    assert (told.area, told.span) == (0.1, 0.8)


def test_an_unstable_case_fails_a_wing_though_no_check_does() -> None:
    cases = (replace(CALM.cases[0], stable=False), *CALM.cases[1:])
    told = tell([row("a", P, 0.4)], cases=cases)
    assert (told.failed, told.passed, told.failures) == (True, True, ())
    bare = tell([], cases=())
    assert (bare.failed, bare.stability_factor) == (False, math.inf)


def test_which_wing_governs() -> None:
    """A failed one, then the larger use, then the first of equals; one not judged comes last."""
    low, high, none = (
        replace(CALM, checks=checks)
        for checks in ((row("a", P, 0.3),), (row("a", P, 0.9),), (row("a", R, None),))
    )
    over, beyond = (replace(CALM, checks=(row("a", F, used),)) for used in (1.1, None))
    unstable = replace(CALM, checks=(), cases=(replace(CALM.cases[0], stable=False),))
    for results, governs in (
        ((low, high), 1), ((high, low), 0), ((high, high), 0), ((none, low), 1), ((none, none), 0),
        ((high, over), 1), ((over, beyond), 1), ((unstable, high), 0), ((unstable, over), 1),
    ):  # fmt: skip
        found = ridden(**{f"w{k}": result for k, result in enumerate(results)})
        best = governing_wing(found)
        assert best is not None
        assert best.name == f"w{governs}"
        assert [w.governs for w in found.quiver or ()] == [k == governs for k in range(2)]
        assert found.checks == results[governs].checks


def test_the_standard_strike_is_known_by_what_it_says_and_not_by_its_place_in_memory() -> None:
    """A case read from a file has a source that is equal to the standard one, not the same object."""
    read = replace(STRIKE, source=replace(STRIKE.source))
    assert read.source is not STRIKE.source
    own = replace(STRIKE, source=Source(title="measured on a beach", grade=Grade.USER))
    job = Job(mast=mast(), cases=(read, own))
    struck, kept = with_wing(job, wing("long", 1.1)).cases
    assert struck.moment == pytest.approx((0.0, 0.0, -500 * 0.55))
    assert struck.force == STRIKE.force
    assert kept == own
    bare = with_wing(job, wing("bare", None))
    assert bare.cases == (read, own)


def test_each_self_check_is_the_worst_over_the_wings() -> None:
    """One that fails before one that holds; then the larger number; no number is beyond all of them."""

    def checked(value: float, verdict: Verdict) -> MastResult:
        return replace(CALM, self_checks=(SelfCheck(name="s", value=value, limit=1.0, verdict=verdict),))

    for values, worst in (
        (((0.2, P), (0.6, P)), 1), (((0.6, P), (0.2, P)), 0), (((0.2, F), (0.6, P)), 0),
        (((5.0, F), (math.nan, F)), 1), (((math.nan, F), (5.0, F)), 0),
    ):  # fmt: skip
        found = ridden(**{f"w{k}": checked(*value) for k, value in enumerate(values)})
        (one,) = found.self_checks
        assert one.verdict is values[worst][1]
        assert one.value == pytest.approx(values[worst][0], nan_ok=True)
