"""One mast, many wings: each is a whole check of its own, and the worst one is the mast's."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

import pytest
from rich.console import Console

from mastcheck.checks.compare import compare
from mastcheck.checks.envelope import envelope
from mastcheck.checks.envelope_result import Envelope, EnvelopeLimit, Kind, Reach
from mastcheck.checks.envelope_wings import of_the_wing
from mastcheck.checks.quiver import governing_wing, over_wings, with_wing
from mastcheck.checks.result import MastResult, SelfCheck, Verdict
from mastcheck.checks.run import check
from mastcheck.cli.options import exit_status
from mastcheck.cli.tables import print_check, print_comparison
from mastcheck.foil import Foil, QuiverFoil, Wing
from mastcheck.job import Job
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import STANDARD_CASES, Lift
from mastcheck.report.content import content
from mastcheck.report.envelope import assumptions, envelope_csv, envelope_json, governs
from mastcheck.report.json import RESULT_SCHEMA, result_json
from tests.masts import mast


def wing(name: str, area: float, span: float, mass: float = 1.5) -> QuiverFoil:
    return QuiverFoil(
        name=name, foil=Foil(mass=mass, ahead=0.05, wing=Wing(area=area, span=span, ahead=0.15))
    )


SMALL, LONG, LARGE = wing("small", 0.08, 0.76), wing("long", 0.13, 1.15), wing("large", 0.24, 1.20, 3.0)
JOB = Job(
    mast=mast((0.130, 0.018), (0.105, 0.015), wall=0.003),
    limits=(Limit(quantity=Quantity.TWIST, case="wingtip-strike", maximum=0.17),),
    quiver=(SMALL, LARGE, LONG),
    foil=SMALL.foil,
)
STRIKE = next(c for c in STANDARD_CASES if c.name == "wingtip-strike")


@pytest.fixture(scope="module")
def found() -> MastResult:
    return check(JOB)


@pytest.fixture(scope="module")
def over() -> Envelope:
    return envelope(JOB, (40.0, 140.0), [0.6, 0.75])


def printed(result: MastResult) -> str:
    out = io.StringIO()
    print_check(Console(file=out, width=160), result, "metric")
    return out.getvalue()


def test_each_wing_is_a_whole_check_of_its_own(found: MastResult) -> None:
    """The table against a check of a plain job with that one foil and that one arm."""
    assert found.quiver is not None
    for told, one in zip(found.quiver, JOB.quiver, strict=True):
        assert one.foil.wing is not None
        half = one.foil.wing.span / 2
        cases = tuple(
            replace(c, moment=(0.0, 0.0, -500.0 * half)) if c == STRIKE else c for c in JOB.cases
        )
        alone = check(replace(JOB, quiver=(), foil=one.foil, cases=cases))
        assert alone.quiver is None
        failed = [c for c in alone.checks if c.verdict is Verdict.FAIL]
        judged = failed or [c for c in alone.checks if c.verdict is Verdict.PASS]
        worst = max(c.utilisation for c in judged if c.utilisation is not None)
        assert told.failed == alone.failed
        assert told.utilisation == pytest.approx(worst, rel=1e-12)
        assert told.failures == tuple((c.name, c.case) for c in failed)
        assert told.stability_factor == min(c.stability_factor for c in alone.cases)
        assert alone.motion is not None
        assert told.divergence_speed == alone.motion.divergence_speed


def test_the_worst_wing_governs_and_the_mast_fails_with_it(found: MastResult) -> None:
    assert found.quiver is not None
    assert [(w.name, w.failed) for w in found.quiver] == [
        ("small", False), ("large", True), ("long", True),
    ]  # fmt: skip
    best = governing_wing(found)
    assert best is not None
    assert best.name == "large"
    assert (best.case, found.job.foil) == ("wingtip-strike", LARGE.foil)
    assert best.utilisation == max(w.utilisation for w in found.quiver if w.utilisation is not None)
    assert found.failed
    assert exit_status(compare([found])) == 1
    # Said of a result that holds itself, too: any wing that fails fails the mast.
    held = check(replace(JOB, quiver=(SMALL,)))
    assert not held.failed
    assert replace(held, quiver=found.quiver).failed


def test_a_failed_wing_goes_before_one_with_the_larger_use(found: MastResult) -> None:
    base = found.checks[0]
    uses = {"small": (0.3, Verdict.PASS), "large": (0.99, Verdict.PASS), "long": (None, Verdict.FAIL)}

    def one(job: Job, _: object) -> MastResult:
        name = next(w.name for w in JOB.quiver if w.foil == job.foil)
        use, verdict = uses[name]
        doubt = SelfCheck(name="s", value=float(name == "small"), limit=0.5,
                          verdict=Verdict.FAIL if name == "small" else Verdict.PASS)  # fmt: skip
        own = f"about {name}" if name != "large" else "about long"
        return replace(
            found, job=job, quiver=None, checks=(replace(base, utilisation=use, verdict=verdict),),
            cautions=("for all", own), self_checks=(doubt,),
        )  # fmt: skip

    result = over_wings(JOB, one, None)
    assert governing_wing(result).name == "long"  # type: ignore[union-attr]
    assert result.cautions == (
        "for all", "With small: about small", "With large and long: about long",
    )  # fmt: skip
    assert result.self_checks[0].verdict is Verdict.FAIL
    uses["long"] = (0.99, Verdict.PASS)
    assert governing_wing(over_wings(JOB, one, None)).name == "large"  # type: ignore[union-attr]


def test_the_standard_strike_takes_its_arm_from_the_wing() -> None:
    made = with_wing(JOB, LONG)
    strike = next(c for c in made.cases if c.name == STRIKE.name)
    assert strike.moment == pytest.approx((0.0, 0.0, -500 * 0.575))
    assert strike.force == STRIKE.force
    assert "wing long, at half its span of 1150 mm" in strike.source.title
    assert [c for c in made.cases if c.name != STRIKE.name] == [
        c for c in JOB.cases if c.name != STRIKE.name
    ]
    # Again, with another wing: it is the same standard strike.
    again = with_wing(made, SMALL)
    assert next(c for c in again.cases if c.name == STRIKE.name).moment[2] == pytest.approx(-190.0)


def test_a_strike_that_was_changed_keeps_its_arm() -> None:
    changed = replace(STRIKE, strength_factor=1.2)
    assert with_wing(replace(JOB, cases=(changed,)), LONG).cases == (changed,)
    bare = QuiverFoil(name="bare", foil=Foil(mass=1.0))
    assert with_wing(replace(JOB, cases=(STRIKE,)), bare).cases == (STRIKE,)


def test_a_lone_wing_that_reaches_further_is_struck_further_out() -> None:
    """A wing stated in [foil] keeps the standard arm of 0.4 m unless its own is longer."""
    for wing, arm in ((SMALL, 0.4), (LONG, 0.575)):
        seen: list[Job] = []
        job = replace(JOB, quiver=(), foil=wing.foil)

        def look(one: Job, _: object, seen: list[Job] = seen) -> MastResult:
            seen.append(one)
            raise LookupError

        with pytest.raises(LookupError):
            over_wings(job, look, None)
        struck = next(c for c in seen[0].cases if c.name == STRIKE.name)
        assert struck.moment[2] == pytest.approx(-500 * arm)


def test_one_wing_is_a_lone_wing_with_a_name() -> None:
    one = check(replace(JOB, quiver=(SMALL,)))
    lone = check(replace(JOB, quiver=(), cases=with_wing(JOB, SMALL).cases))
    assert one.checks == lone.checks
    assert one.cautions == lone.cautions
    assert [w.name for w in one.quiver or ()] == ["small"]
    text = printed(one)
    assert "With wing small." in text
    assert "governs, of" not in text
    assert "wings" not in compare([one]).sentence
    assert lone.quiver is None
    assert "Wings" not in printed(lone)


def test_progress_is_told_for_each_wing() -> None:
    said: list[tuple[str, float]] = []
    check(JOB, progress=lambda words, share: said.append((words, share)))
    words = [w for w, _ in said]
    assert [w for w in words if ": wing " in w] == [f"test mast: wing {w.name}" for w in JOB.quiver]
    shares = [s for w, s in said if ": wing " in w]
    assert shares == pytest.approx([0.9, 0.9 + 0.1 / 3, 0.9 + 0.2 / 3])
    assert said[-1] == ("test mast: done", 1.0)


def test_the_governing_wing_is_named_everywhere(found: MastResult) -> None:
    words = "Wing large governs, of 3 wings; the mast fails with large and long."
    assert words in printed(found)
    page = content(compare([found]), units="imperial")
    (section,) = page["quiver"]
    assert section["words"] == words
    assert [row[0] for row in section["table"]["rows"]] == [
        "small", {"t": "large", "mood": "strong"}, "long",
    ]  # fmt: skip
    assert section["table"]["rows"][0][1] == "124"  # 800 cm² in square inches
    assert page["verdicts"][0]["reasons"][0] == "wing large governs, of 3 wings; the mast fails with" \
        " large and long"  # fmt: skip
    data = json.loads(result_json([found]))
    told = data["masts"][0]["quiver"]
    assert [(w["name"], w["governs"], w["verdict"]) for w in told] == [
        ("small", False, "pass"), ("large", True, "fail"), ("long", False, "fail"),
    ]  # fmt: skip
    item = RESULT_SCHEMA["$defs"]["quiver"]["items"]
    assert set(told[0]) == set(item["properties"]) == set(item["required"])
    assert {w["verdict"] for w in told} <= set(item["properties"]["verdict"]["enum"])


def test_masts_with_wings_side_by_side(found: MastResult) -> None:
    other = check(
        replace(JOB, mast=replace(JOB.mast, name="held"), quiver=(SMALL, replace(SMALL, name="s2")))
    )
    both = compare([found, other])
    assert "test mast fails wingtip-strike with its governing wing large." in both.sentence
    assert "held holds every limit checked with all its wings, of which small governs." in both.sentence
    out = io.StringIO()
    print_comparison(Console(file=out, width=160), both, "metric")
    assert "Wings: test mast" in out.getvalue()
    assert "Wing small governs, of 2 wings." in out.getvalue()
    assert exit_status(compare([other])) == 0
    assert [s["letter"] for s in content(both)["quiver"]] == ["A", "B"]


def test_an_envelope_is_the_least_over_its_wings(over: Envelope) -> None:
    """Against an envelope of each wing alone, whose limits are all solved anew."""
    alone = [
        envelope(replace(with_wing(JOB, w), quiver=()), over.riders, [r.length for r in over.rows])
        for w in JOB.quiver
    ]
    order = [Reach.BELOW, Reach.FOUND, Reach.ABOVE, Reach.NOT_JUDGED]
    named = 0
    for j, row in enumerate(over.rows):
        for i, told in enumerate(row.heaviest):
            every = [a.rows[j].heaviest[i] for a in alone]
            k = min(range(3), key=lambda k: (order.index(every[k].reach), every[k].mass or 0.0))
            assert (told.reach, told.mass) == (every[k].reach, every[k].mass)
            if told.wing:
                named += 1
                assert over.limits[i].case == "wingtip-strike"
                assert told.wing == "large"
    assert named
    assert over.limits == alone[0].limits


def test_which_limits_are_solved_with_each_wing() -> None:
    """Those of the strike, of a lift that follows (the foil's mass flutters), of fatigue with either."""
    free = replace(STANDARD_CASES[0], name="free", lift=Lift.FOLLOWER)
    job = replace(JOB, cases=(*STANDARD_CASES, free))
    first, other = with_wing(job, SMALL), with_wing(job, LONG)
    own = {
        (kind, case)
        for kind in (Kind.STRENGTH, Kind.STABILITY)
        for case in (c.name for c in job.cases)
        if of_the_wing(EnvelopeLimit(kind=kind, case=case), first, other)
    }
    assert {case for _, case in own} == {"wingtip-strike", "free"}
    assert len(own) == 4
    cycles = [("carve, pump", False), ("carve, wingtip-strike", True), ("pump, free", True)]
    for cases, needed in cycles:
        assert of_the_wing(EnvelopeLimit(kind=Kind.FATIGUE, case=cases), first, other) is needed


def test_an_envelope_names_the_wing(over: Envelope) -> None:
    assert any("with wing large governs" in line for line in governs(over, "metric"))
    assert any("least over the wings small, large and long" in t for t in assumptions(over, "metric"))
    data = json.loads(envelope_json(over))
    assert data["wings"] == ["small", "large", "long"]
    assert {row["governing_wing"] for row in data["lengths"]} == {"large"}
    rows = list(csv.DictReader(io.StringIO(envelope_csv(over))))
    assert {r["wing"] for r in rows if r["governs"] == "True"} == {"large"}
    assert {r["wing"] for r in rows if r["case"] == "cruise"} == {""}


def test_an_envelope_without_wings_is_as_it_was() -> None:
    plain = envelope(replace(JOB, quiver=()), (60.0, 61.0), [0.75])
    assert "wings" not in json.loads(envelope_json(plain))
    assert envelope_csv(plain).splitlines()[0].endswith("governs")
    assert all(h.wing == "" for h in plain.rows[0].heaviest)
