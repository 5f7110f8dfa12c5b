"""What a check adds in words: cases that do not stand, fatigue left out, wings, the trade."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from mastcheck.checks import envelope as envelope_module
from mastcheck.checks.cautions import _case_caution, _fatigue
from mastcheck.checks.compare import _area_to_turn, compare, side_area
from mastcheck.checks.envelope import _Riders
from mastcheck.checks.envelope_result import Envelope, EnvelopeLimit, Heaviest, Reach
from mastcheck.checks.envelope_result import Kind as LimitKind
from mastcheck.checks.fatigue import cycle_loads, judging_curve
from mastcheck.checks.measured import _fitted
from mastcheck.checks.quiver import _rank, _use
from mastcheck.checks.quiver_result import WingResult
from mastcheck.checks.result import CaseResult, Check, Verdict
from mastcheck.checks.run import check
from mastcheck.checks.sensitivity import _by_resultants, sensitivity
from mastcheck.checks.sensitivity_result import Kind as Change
from mastcheck.checks.trade import _at_turn, _whom
from mastcheck.checks.trade_measures import _tracking, _turning, turn_speed, used
from mastcheck.checks.wall import blade_mass, filled, with_wall
from mastcheck.conditions import Conditions
from mastcheck.job import Job
from mastcheck.mast import Construction, OutlineKind, SectionRecipe
from mastcheck.material import laminate_material
from mastcheck.report.envelope import marked, mass_words
from mastcheck.strength.fatigue import Fatigue
from tests.masts import ALUMINIUM, mast
from tests.reports import make_mast
from tests.unit.test_fatigue_words import CURVE
from tests.unit.test_strength import layup


def fallen(factor: float, *, shaky: bool = False) -> CaseResult:
    case = make_mast().cases[0]
    return dataclasses.replace(
        case, case=dataclasses.replace(case.case, name="carve", strength_factor=1.5), stable=False,
        tip=None, buckling_factor=factor, shaky=shaky,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("case", "said"),
    [
        (fallen(1.2), "buckles at 1.20 times its service load; 1.50 is required."),
        (fallen(2.5), "2.50 times its service load; no balanced shape was found at the required 1.50."),
        (
            fallen(math.inf, shaky=True),
            "buckles at none found times its service load; the balanced shape found at up to the"
            " required 1.50 does not stand by itself.",
        ),
    ],
)
def test_an_unstable_case_is_cautioned_with_what_was_found(case: CaseResult, said: str) -> None:
    caution = _case_caution(case)
    assert caution.startswith("Case carve is unstable: the mast ")
    assert caution.endswith(said)


def test_fatigue_of_a_case_that_was_not_asked_for_is_said_not_to_be_checked() -> None:
    job = Job(mast=mast())
    known = job.cases[0].name
    asked = dataclasses.replace(job, fatigue=Fatigue(cycles=((known, 1e5), ("gybe", 1e5))))
    said = list(_fatigue(asked))
    assert said[-1] == "Fatigue was not checked: load case gybe was not asked for."
    whole = dataclasses.replace(job, fatigue=Fatigue(cycles=((known, 1e5),)))
    assert not any("not checked: load case" in words for words in _fatigue(whole))
    assert list(_fatigue(job)) == []


def recipe(material: Any) -> SectionRecipe:
    return SectionRecipe(outline=OutlineKind.ELLIPSE, construction=Construction.SOLID, material=material)


def test_a_curve_judges_only_what_it_is_stated_for() -> None:
    """Its own material; of a category, aluminium; of a file's own curve, the skin alone."""
    oak = dataclasses.replace(ALUMINIUM, name="oak", galvanic_group="")
    named = dataclasses.replace(CURVE, material="oak")
    own = dataclasses.replace(CURVE, aluminium_only=False)

    def judges(curve: Any, skin: Any, material: Any) -> bool:
        asked = Fatigue(cycles=(("carve", 1e5),), curve=curve)
        return judging_curve(asked, recipe(skin), material) is curve is not None

    assert judges(named, ALUMINIUM, oak)
    assert not judges(named, ALUMINIUM, ALUMINIUM)
    assert judges(CURVE, oak, ALUMINIUM)
    assert not judges(CURVE, oak, oak)
    assert judges(own, oak, oak)
    assert not judges(own, oak, ALUMINIUM)
    assert not judges(None, ALUMINIUM, ALUMINIUM)


def wing(
    name: str, used: float | None, *, failed: bool = False, check: str | None = "side"
) -> WingResult:
    return WingResult(
        name=name, area=0.1, span=0.8, failed=failed, passed=not failed, check=check, case="",
        utilisation=used, failures=(), stability_factor=3.0, divergence_speed=None,
        twist_frequency=None,
    )  # fmt: skip


def test_wings_are_ranked_failed_first_then_by_use_and_the_unjudged_last() -> None:
    wings = [
        wing("silent", None, check=None),
        wing("half", 0.5),
        wing("over", 1.1, failed=True),
        wing("falls", None, failed=True),
        wing("most", 0.9),
    ]
    assert [w.name for w in sorted(wings, key=_rank)] == ["falls", "over", "most", "half", "silent"]


@pytest.mark.parametrize(
    ("share", "verdict", "want"),
    [
        (0.4, Verdict.PASS, 0.4),
        (None, Verdict.FAIL, math.inf),
        (None, Verdict.REPORT, -math.inf),
    ],
)
def test_a_failed_check_without_a_number_is_beyond_all_numbers(
    share: float | None, verdict: Verdict, want: float
) -> None:
    made = Check(name="x", case="", value=1.0, limit=1.0, unit="", utilisation=share, verdict=verdict)
    assert _use(made) == want


def test_nothing_is_no_comparison() -> None:
    with pytest.raises(ValueError, match="give one mast or more"):
        compare([])


@pytest.mark.parametrize(
    ("better", "share", "who"),
    [
        ({"strength": "", "side": ""}, 0.1, "one who loads the mast hard and wants it firm"),
        ({"strength": "", "side": ""}, 0.99, "one who wants less sideways bending"),
        ({"side": "", "twist": ""}, None, "one who wants less sideways bending and twist"),
        ({"strength": ""}, 0.5, "one who wants more strength in reserve"),
        (
            {"drag": "", "lean": ""},
            0.5,
            "one who wants less drag and who leans far over or rides rough water",
        ),
        ({"drag": "", "turning": ""}, 0.5, "one who turns a lot"),
        ({"tracking": ""}, 0.5, "one who wants it to hold its track"),
        ({"mass": "", "price": ""}, 0.5, "one who wants it light"),
        ({"price": ""}, 0.5, "one who looks at the price"),
    ],
)
def test_each_gain_has_its_rider(better: dict[str, str], share: float | None, who: str) -> None:
    assert _whom(better, share) == who


def test_masts_that_turn_at_other_speeds_are_not_set_against_each_other_in_it() -> None:
    a = make_mast()
    b = dataclasses.replace(a, job=dataclasses.replace(a.job, conditions=Conditions(turn_speed=9.5)))
    assert turn_speed([a, a]) == a.job.conditions.turn_speed
    assert turn_speed([a, b]) is None
    assert _at_turn([a, b], []) == []
    assert _tracking([a, b], []) == []
    assert _turning([a, b], []) == []


def test_a_wing_that_was_not_judged_leaves_no_share_of_strength() -> None:
    """The rest would flatter the mast."""
    mast_ = make_mast(level=0.5)
    assert used(mast_) == pytest.approx(max(c.utilisation or 0.0 for c in mast_.cases))
    judged = dataclasses.replace(mast_, quiver=(wing("small", 0.7), wing("large", 0.8)))
    assert used(judged) == pytest.approx(0.8)
    silent = dataclasses.replace(mast_, quiver=(wing("small", 0.7), wing("large", None, check=None)))
    assert used(silent) is None


def heaviest(reach: Reach, mass: float | None = None, *, steady: bool = True) -> Heaviest:
    fields: dict[str, Any] = {f.name: None for f in dataclasses.fields(Heaviest)}
    return Heaviest(**(fields | {"reach": reach, "mass": mass, "steady": steady}))


def test_a_heaviest_rider_is_rounded_down_and_never_up() -> None:
    fields: dict[str, Any] = {f.name: () for f in dataclasses.fields(Envelope)}
    envelope = Envelope(**(fields | {"riders": (40.0, 130.0)}))
    assert mass_words(heaviest(Reach.FOUND, 87.96), envelope, "metric") == "87.9"
    assert mass_words(heaviest(Reach.FOUND, 87.96, steady=False), envelope, "metric") == "87.9 ~"
    assert mass_words(heaviest(Reach.FOUND, 87.96), envelope, "imperial") == "193.9"  # 193.918 lb
    assert mass_words(heaviest(Reach.ABOVE), envelope, "metric") == "> 130"
    assert mass_words(heaviest(Reach.BELOW, steady=False), envelope, "metric") == "< 40 ~"
    assert mass_words(heaviest(Reach.NOT_JUDGED), envelope, "metric") == "not judged"
    part = EnvelopeLimit(kind=next(iter(LimitKind)), case="carve", judged=False)
    assert marked(part, heaviest(Reach.ABOVE), "> 130") == "> 130 *"
    assert marked(part, heaviest(Reach.NOT_JUDGED), "not judged") == "not judged"
    assert marked(dataclasses.replace(part, judged=True), heaviest(Reach.ABOVE), "> 130") == "> 130"


def test_a_blade_that_flies_clear_is_compared_by_its_whole_side() -> None:
    """With no wet area of either mast there is no ratio of wet areas."""

    def dry(m: Any, side: float) -> Any:
        area = SimpleNamespace(side=side)
        water = SimpleNamespace(side=SimpleNamespace(tracking=SimpleNamespace(area=area)))
        return SimpleNamespace(job=m.job, water=water, z=m.z, sections=m.sections)

    a, b = make_mast(chord=0.15), make_mast(chord=0.12)
    whole = side_area(a) / side_area(b)
    assert _area_to_turn(dry(a, 0.0), dry(b, 0.0)) == pytest.approx(whole)
    assert _area_to_turn(dry(a, 0.03), dry(b, 0.02)) == pytest.approx(1.5)
    # A trapezium each: (0.15 + 0.10) / 2 over (0.12 + 0.10) / 2.
    assert whole == pytest.approx(0.25 / 0.22)
    assert np.isfinite(whole)


def test_a_curve_of_a_file_s_own_judges_every_laminate_of_a_laminated_skin() -> None:
    own = dataclasses.replace(CURVE, aluminium_only=False)
    faces = laminate_material("laminate of the faces", layup("0/45/-45"))
    nose = laminate_material("laminate of the nose", layup("45/-45"))
    asked = Fatigue(cycles=(("carve", 1e5),), curve=own)
    assert judging_curve(asked, recipe(faces), nose) is own
    assert judging_curve(asked, recipe(faces), ALUMINIUM) is None


def test_a_mast_without_fatigue_has_no_cycles_to_solve() -> None:
    with pytest.raises(ValueError, match="states no fatigue"):
        cycle_loads(Job(mast=mast()))


@pytest.mark.parametrize(("mass", "past"), [(0.02, True), (1.2, False), (50.0, True)])
def test_a_mass_that_no_wall_gives_is_met_as_nearly_as_can_be(mass: float, past: bool) -> None:
    """Too light: the least wall. Too heavy: solid."""
    hollow = mast(wall=0.002)
    solid, lightest = blade_mass(filled(hollow)), blade_mass(with_wall(hollow, 0.0002))
    assert lightest < 1.2 < solid
    made, was_past = _fitted(hollow, mass)
    assert was_past == past
    want = {0.02: None, 1.2: 1.2, 50.0: solid}[mass]
    if want is None:
        assert mass < blade_mass(made) <= lightest * 1.01
    else:
        # A coarse contour, whose error cancels in the ratios that it is for.
        assert blade_mass(made) == pytest.approx(want, rel=2e-3)


def test_a_section_that_bears_nothing_is_used_no_more_by_a_load_than_by_its_opposite() -> None:
    section = make_mast().sections[0]
    assert (_by_resultants(section, np.zeros(7), 0.0) == 0).all()


def test_what_was_not_judged_has_no_rate_of_use() -> None:
    """A material without strengths: movements have rates, its use has none."""
    silent = dataclasses.replace(ALUMINIUM, proof_strength=None, ultimate_strength=None)
    job = Job(mast=mast((0.12, 0.018), (0.12, 0.018), material=silent))
    job = dataclasses.replace(job, cases=job.cases[:1])
    found = sensitivity(check(job))
    (case,) = found.cases
    assert case.utilisation is None
    assert case.z is None
    # A longer mast bends further: to the third power of its length by bending, and a little by shear.
    length = next(i for i, c in enumerate(found.changes) if c.kind is Change.LENGTH)
    side = found.compliance[1, 1, length] * job.mast.length
    assert 2.7 < side / check(job).tip_compliance[1, 1] < 3.0


@pytest.mark.parametrize(("converged", "stable"), [(False, False), (True, False), (False, True)])
def test_a_rider_under_whom_no_stable_shape_was_found_is_past_every_limit(
    converged: bool, stable: bool
) -> None:
    limit = EnvelopeLimit(kind=LimitKind.STRENGTH, case="carve")
    own: Any = SimpleNamespace(limits=(limit,))
    state: Any = SimpleNamespace(converged=np.array([converged]), stable=np.array([stable]))
    assert _Riders._use(own, 0, 80.0, [0], state) == math.inf
    assert _Riders._use(own, 0, 80.0, None, state) == math.inf
    assert _Riders._use(own, 0, 80.0, [0], None) == math.inf


@pytest.mark.parametrize("falls", [True, False])
def test_a_cycle_that_falls_leaves_nothing_to_read_fatigue_from(
    falls: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = Job(mast=mast())
    asked = Fatigue(cycles=((job.cases[0].name, 1e5),), curve=CURVE)
    limit = EnvelopeLimit(kind=LimitKind.FATIGUE, case="")
    own: Any = SimpleNamespace(limits=(limit,), job=dataclasses.replace(job, fatigue=asked), frame=None)
    monkeypatch.setattr(envelope_module, "stands", lambda _, cycle: [True, not falls][: len(cycle)])
    loads = _Riders._loads(own, 0, 80.0)
    if falls:
        assert loads is None
    else:
        # The case and its mirror image, each at service load.
        assert loads is not None
        assert [(load.index, load.factor, load.fatigue) for load in loads] == [
            (0, 1.0, True),
            (1, 1.0, True),
        ]
