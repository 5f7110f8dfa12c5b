"""The envelope of riders over lengths: held against whole checks, and against masts solved anew."""

from __future__ import annotations

import csv
import io
import json
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pypdf
import pytest

from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.model import BeamModel
from mastcheck.checks import envelope as module
from mastcheck.checks.envelope import envelope, stretched
from mastcheck.checks.envelope_result import (
    CLOSE,
    Envelope,
    EnvelopeLimit,
    EnvelopeRow,
    Heaviest,
    Kind,
    Reach,
)
from mastcheck.checks.result import MastResult, Verdict
from mastcheck.checks.run import check
from mastcheck.checks.stations import SolvedMast, solve_stations
from mastcheck.job import Job
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import STANDARD_CASES, Lift, LoadCase
from mastcheck.report.envelope import (
    envelope_csv,
    envelope_json,
    envelope_pdf,
    limit_words,
    mass_words,
    sentences,
)
from mastcheck.report.envelope_figure import SUFFIXES, picture
from mastcheck.report.figure_style import apart
from mastcheck.source import Grade, Source
from mastcheck.strength.fatigue import DetailCurve, Fatigue
from tests.masts import ALUMINIUM, mast

CASES = tuple(c for c in STANDARD_CASES if c.name in ("carve", "touchdown"))
CURVE = DetailCurve(
    name="test curve", delta_sigma_c=125e6, m1=7.0, m2=9.0, gamma=1.35,
    source=Source(title="invented for a test", grade=Grade.ASSUMED),
)  # fmt: skip
JOB = Job(
    mast=mast((0.120, 0.016), (0.090, 0.013), length=0.8),
    cases=CASES,
    limits=(
        Limit(quantity=Quantity.SIDE_DEFLECTION, case="carve", maximum=0.040),
        Limit(quantity=Quantity.TWIST, case="carve", maximum=math.radians(20)),
    ),
    fatigue=Fatigue(cycles=(("carve", 2e5),), curve=CURVE),
)
RIDERS = (40.0, 140.0)


@cache
def _solved(length: float) -> SolvedMast:
    """The mast at a length; its sections are the same for every rider."""
    return solve_stations(JOB.mast.with_length(length))


@pytest.fixture
def _sections_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whole checks of one mast under many riders, without solving its sections for each."""
    monkeypatch.setattr("mastcheck.checks.run.solve_stations", lambda m, _=None: _solved(m.length))


@pytest.fixture(scope="module")
def found() -> Envelope:
    return envelope(JOB, RIDERS, [0.65, 0.8, 0.95])


def _checked(mass: float, length: float, cases: tuple[LoadCase, ...] = CASES) -> MastResult:
    job = replace(
        JOB, mast=JOB.mast.with_length(length), rider=replace(JOB.rider, mass=mass), cases=cases
    )
    return check(job)


def _holds(result: MastResult, limit: EnvelopeLimit) -> bool:
    """Whether a whole check passes what an envelope's limit stands for."""
    names = {
        Kind.MOVEMENT: "" if limit.limit is None else limit.limit.quantity.value.replace("_", " "),
        Kind.STABILITY: "buckling factor",
        Kind.STRENGTH: "von Mises",
        Kind.FATIGUE: "fatigue",
    }
    rows = [c for c in result.checks if c.case == limit.case and c.name.startswith(names[limit.kind])]
    assert rows
    return all(c.verdict is Verdict.PASS for c in rows)


def test_a_stretched_mast_is_the_mast_solved_at_that_length() -> None:
    """Sections depend on the length by the taper's slope alone, and that goes with 1/length."""
    short, anew = _solved(0.8), _solved(0.95)
    solved = stretched(short, JOB.mast.with_length(0.95))
    assert solved.z == pytest.approx(anew.z, rel=1e-12)
    scale = np.sqrt(np.outer(np.diag(anew.compliance), np.diag(anew.compliance)))
    # The step by which a section is watched is a share of the length, so that nothing else differs.
    assert np.abs((solved.compliance - anew.compliance) / scale).max() < 1e-9
    # The taper's share is no rounding: with the slope of the short mast it would not hold.
    steep = BeamModel(anew.z, [s.properties for s in short.sections], [0.0, 0.95], tip_restrained=False)
    assert np.abs((tip_compliance(steep) - anew.compliance) / scale).max() > 1e-4


@pytest.mark.usefixtures("_sections_once")
def test_every_rider_found_is_the_edge_of_a_whole_check(found: Envelope) -> None:
    """A whole check of its own passes at the rider found, and fails a little above it."""
    row = found.rows[1]
    assert row.length == pytest.approx(0.8)
    seen = 0
    for limit, heaviest in zip(found.limits, row.heaviest, strict=True):
        if heaviest.mass is None:
            continue
        seen += 1
        assert _holds(_checked(heaviest.mass, row.length), limit), limit
        assert not _holds(_checked(heaviest.mass + 2 * CLOSE, row.length), limit), limit
    assert seen >= 4


@pytest.mark.usefixtures("_sections_once")
def test_at_another_length_too(found: Envelope) -> None:
    row = found.rows[2]
    assert row.governing is not None
    limit, heaviest = found.limits[row.governing], row.heaviest[row.governing]
    assert heaviest.mass is not None
    assert _holds(_checked(heaviest.mass, row.length), limit)
    assert not _holds(_checked(heaviest.mass + 2 * CLOSE, row.length), limit)


def test_a_divergence_margin_is_named_as_left_out(
    found: Envelope, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "solve_stations", lambda m, _=None: _solved(m.length))
    asked = envelope(replace(JOB, divergence_margin=1.5), (60.0, 62.0), [0.8])
    assert module.MARGIN in asked.cautions
    assert module.MARGIN not in found.cautions


def test_a_longer_mast_holds_less(found: Envelope) -> None:
    for i, limit in enumerate(found.limits):
        masses = [row.heaviest[i].mass for row in found.rows if row.heaviest[i].reach is Reach.FOUND]
        assert masses == sorted(masses, reverse=True), limit


def test_the_ends_of_the_range_are_told(found: Envelope) -> None:
    twist = next(
        i for i, m in enumerate(found.limits) if m.limit is not None and "twist" in repr(m.limit)
    )
    assert {row.heaviest[twist].reach for row in found.rows} == {Reach.ABOVE}
    tight = replace(JOB, fatigue=None, limits=(replace(JOB.limits[0], maximum=1e-3),), cases=CASES[:1])
    row = envelope(tight, RIDERS, [0.8]).rows[0]
    assert row.heaviest[0].reach is Reach.BELOW
    assert row.governing == 0
    assert row.overall.reach is Reach.BELOW


def test_no_stated_strength_is_no_pass() -> None:
    unknown = replace(ALUMINIUM, proof_strength=None, ultimate_strength=None, galvanic_group="")
    job = Job(mast=mast((0.15, 0.02), (0.12, 0.018), length=0.6, material=unknown), cases=CASES[:1])
    result = envelope(job, (40.0, 60.0), [0.6])
    (row,) = result.rows
    strength = next(i for i, m in enumerate(result.limits) if m.kind is Kind.STRENGTH)
    assert row.heaviest[strength].reach is Reach.NOT_JUDGED
    assert mass_words(row.heaviest[strength], result, "metric") == "not judged"
    assert any("no pass" in s for s in sentences(result, "metric"))


@pytest.mark.usefixtures("_sections_once")
def test_a_lift_that_follows_the_wing_is_held_to_what_a_check_holds_it_to() -> None:
    case = replace(CASES[1], name="landing", lift=Lift.FOLLOWER)
    job = replace(JOB, cases=(case,), limits=(), fatigue=None)
    result = envelope(job, RIDERS, [0.8])
    stability = next(i for i, m in enumerate(result.limits) if m.kind is Kind.STABILITY)
    heaviest = result.rows[0].heaviest[stability]
    assert heaviest.reach is Reach.FOUND
    assert heaviest.mass is not None
    for mass, stable in ((heaviest.mass, True), (heaviest.mass + 2 * CLOSE, False)):
        held = check(replace(job, rider=replace(job.rider, mass=mass))).cases[0]
        assert (held.stability_factor > case.strength_factor) is stable


class _Made:
    """Stands for a mast whose limits have uses that are known functions of the rider."""

    def __init__(self, *uses: object) -> None:
        self.functions = uses
        self.limits = tuple(EnvelopeLimit(kind=Kind.STRENGTH, case=str(i)) for i in range(len(uses)))
        self.uses: dict[tuple[int, float], float] = {}

    def used(self, which: np.ndarray, masses: np.ndarray) -> np.ndarray:
        out = [self.functions[int(i)](float(m)) for i, m in zip(which, masses, strict=True)]  # type: ignore[operator]
        self.uses.update({(int(i), float(m)): u for i, m, u in zip(which, masses, out, strict=True)})
        return np.array(out)


def test_the_edge_is_found_for_any_use_that_grows() -> None:
    made = _Made(
        lambda m: m / 80, lambda m: (m / 70) ** 9, lambda m: math.inf if m > 93.7 else 0.4,
        lambda _: 0.3, lambda _: 2.0, lambda m: 1 / max(1e-9, 1.2 - m / 100) / 5,
    )  # fmt: skip
    row = module._row([made], 0.8, (50.0, 110.0))  # type: ignore[arg-type]
    reach = [h.reach for h in row.heaviest]
    assert reach == [Reach.FOUND] * 3 + [Reach.ABOVE, Reach.BELOW, Reach.FOUND]
    for k, edge in ((0, 80.0), (1, 70.0), (2, 93.7), (5, 100.0)):
        mass = row.heaviest[k].mass
        assert mass is not None
        assert edge - 2 * CLOSE <= mass <= edge
    assert row.governing == 4
    assert all(h.steady for h in row.heaviest)


def test_a_use_that_falls_is_named_and_the_first_edge_counts() -> None:
    made = _Made(lambda m: 1.5 - abs(m - 90) / 50, lambda m: 1.2 - (m - 50) / 100)
    row = module._row([made], 0.8, (50.0, 150.0))  # type: ignore[arg-type]
    assert row.heaviest[0].mass == pytest.approx(65.0, abs=2 * CLOSE)
    assert not row.heaviest[0].steady
    assert (row.heaviest[1].reach, row.heaviest[1].steady) == (Reach.BELOW, False)


def test_the_worst_use_governs_where_several_fail_at_once() -> None:
    row = module._row([_Made(lambda _: 1.1, lambda _: 3.0, lambda _: 1.2)], 0.8, (50.0, 60.0))  # type: ignore[arg-type]
    assert row.governing == 1


def _row(length: float, *heaviest: Heaviest, governing: int | None = None) -> EnvelopeRow:
    return EnvelopeRow(length=length, heaviest=heaviest, governing=governing)


PLAIN = Envelope(
    job=replace(JOB, fatigue=None),
    riders=(55.0, 110.0),
    limits=(
        EnvelopeLimit(kind=Kind.MOVEMENT, case="carve", limit=JOB.limits[0]),
        EnvelopeLimit(kind=Kind.STRENGTH, case="carve", judged=False),
    ),
    rows=(
        _row(0.65, Heaviest(reach=Reach.ABOVE), Heaviest(reach=Reach.ABOVE)),
        _row(
            0.80, Heaviest(reach=Reach.FOUND, mass=84.99),
            Heaviest(reach=Reach.FOUND, mass=101.2, steady=False), governing=0,
        ),
        _row(0.95, Heaviest(reach=Reach.BELOW), Heaviest(reach=Reach.NOT_JUDGED), governing=0),
    ),
    cautions=("A caution of the engine.",),
)  # fmt: skip


class TestWords:
    def test_a_rider_is_never_rounded_up(self) -> None:
        assert mass_words(PLAIN.rows[1].heaviest[0], PLAIN, "metric") == "84.9"
        assert mass_words(PLAIN.rows[1].heaviest[0], PLAIN, "imperial") == "187.3"  # 187.37 lb
        assert mass_words(PLAIN.rows[1].heaviest[1], PLAIN, "metric") == "101.2 ~"
        assert mass_words(PLAIN.rows[0].heaviest[0], PLAIN, "metric") == "> 110"
        assert mass_words(PLAIN.rows[2].heaviest[0], PLAIN, "metric") == "< 55"

    def test_a_limit_is_named_with_its_bound(self) -> None:
        assert limit_words(PLAIN.limits[0], "metric") == "side deflection, 40 mm at most"
        assert limit_words(PLAIN.limits[1], "metric") == "strength"

    def test_every_sign_is_explained(self) -> None:
        said = " ".join(sentences(PLAIN, "metric"))
        for sign in ("> 110", "< 55", "not judged", "*:", "~:"):
            assert sign in said


class TestFiles:
    def test_json_holds_every_number_with_its_unit(self) -> None:
        data = json.loads(envelope_json(PLAIN))
        assert data["schema"] == "mastcheck-envelope/1"
        assert [row["length_m"] for row in data["lengths"]] == [0.65, 0.80, 0.95]
        assert data["lengths"][1]["limits"][0]["rider_kg"] == 84.99
        assert data["lengths"][1]["governing_limit"] == 0
        assert data["lengths"][2]["rider_kg"] is None
        assert data["limits"][0]["limit_mm"] == pytest.approx(40)
        assert data["limits"][1]["all_judged"] is False

    def test_csv_has_a_line_for_each_length_and_limit(self) -> None:
        rows = list(csv.DictReader(io.StringIO(envelope_csv(PLAIN))))
        assert len(rows) == 3 * 3
        assert rows[0]["limit"] == "all"
        assert [r["governs"] for r in rows[3:6]] == ["", "True", "False"]
        assert rows[4]["rider_kg"] == "84.990"

    def test_the_report_says_all_and_repeats_its_bytes(self) -> None:
        made = envelope_pdf(PLAIN)
        assert envelope_pdf(PLAIN) == made
        assert envelope_pdf(replace(PLAIN, riders=(55.0, 111.0))) != made
        pages = pypdf.PdfReader(io.BytesIO(made)).pages
        text = " ".join(" ".join(p.extract_text() for p in pages).replace("\u200b", "").split())
        for words in (
            "Riders and lengths: test mast", "84.9", "< 55", "> 110", "qualified structural review",
            "side deflection, 40 mm at most", "A caution of the engine", "rider's mass alone changes",
            "0.15 W", "Reviewer",
        ):  # fmt: skip
            assert words in text, words

    @pytest.mark.parametrize("suffix", SUFFIXES)
    def test_the_chart_repeats_its_bytes(self, suffix: str) -> None:
        first = picture(PLAIN, suffix)
        assert first == picture(PLAIN, suffix)
        assert first[:4] in (b"\x89PNG", b"%PDF", b"<?xm")

    def test_a_chart_without_an_edge_says_so(self) -> None:
        flat = replace(PLAIN, rows=PLAIN.rows[:1] * 2)
        assert b"<svg" in picture(flat, ".svg")

    def test_an_unknown_picture_is_refused(self) -> None:
        with pytest.raises(ValueError, match="no picture format"):
            picture(PLAIN, ".bmp")


def test_labels_stand_apart_in_their_order_and_inside() -> None:
    places = apart([1.0, 1.1, 1.05, 9.0, 9.0], 1.0, 0.0, 9.0)
    assert sorted(places) == places[:1] + places[2:3] + places[1:2] + sorted(places[3:])
    assert all(b - a >= 1 - 1e-12 for a, b in zip(sorted(places), sorted(places)[1:], strict=False))
    assert max(places) <= 9.0
