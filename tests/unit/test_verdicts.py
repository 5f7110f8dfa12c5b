"""The rules that turn a case's numbers into verdicts, each at and on both sides of its bound."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import get_args

import numpy as np
import pytest

from mastcheck.checks import envelope
from mastcheck.checks.coupling import Coupling
from mastcheck.checks.governing import worst_findings
from mastcheck.checks.result import CaseResult, Check, Criterion, Finding, Tip, Verdict
from mastcheck.checks.verdicts import BUCKLING, FLUTTER, case_checks, tip_value
from mastcheck.files.schema import AngleLimitTable, LengthLimitTable, LimitsTable
from mastcheck.job import Job
from mastcheck.laminate import Lamina, Laminate, Ply
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import LoadCase
from mastcheck.mast import Mast
from mastcheck.material import Material, laminate_material
from mastcheck.search import size_rates
from mastcheck.source import Grade, Source
from tests.masts import ALUMINIUM, mast

TEST = Source(title="invented for a test", grade=Grade.ASSUMED)
# Every component its own size and sign: one taken for another shows.
TIP = Tip(side=-0.020, fore_aft=0.003, axial=-0.001, roll=0.05, pitch=-0.01, twist=-0.04)
COUPLING = Coupling(ratio=1.5, term=0.6, material="skewed wall")


def case(**changes: object) -> CaseResult:
    """A stable case with a stress, made by hand: verdicts need no more."""
    plain = CaseResult(
        case=LoadCase(name="push", strength_factor=1.5),
        axial_load=0.0, stable=True, buckling_factor=6.0, tip=TIP, first_order_tip=TIP,
        amplification=1.0, amplification_by_lift={}, line=None, strength_line=None,
        max_von_mises=100e6, max_at_z=0.0, max_at_xy=(0.0, 0.0), governing_material="test aluminium",
        governing_station=0, von_mises=np.array([100e6]), utilisation=0.5, utilisation_along_z=None,
    )  # fmt: skip
    return replace(plain, **changes)  # type: ignore[arg-type]


def finding(used: float | None = 0.5, **changes: object) -> Finding:
    plain = Finding(
        criterion=Criterion.VON_MISES, material="test aluminium", value=100.0,
        limit=None if used is None else 200.0, unit="MPa", utilisation=used, z=0.1, xy=(0.0, 0.0),
        where="", source=TEST,
    )  # fmt: skip
    return replace(plain, **changes)  # type: ignore[arg-type]


def rows(found: CaseResult, of: Mast | None = None, limits: tuple[Limit, ...] = (), **kwargs: Coupling):
    return case_checks(Job(mast=of or mast(), limits=limits), found, **kwargs)


def only(checks: tuple[Check, ...]) -> Check:
    (one,) = checks
    return one


# --- stability ------------------------------------------------------------------------------------


def test_stability_is_held_to_the_strength_factor():
    row = rows(case())[0]
    assert (row.name, row.case, row.unit) == (f"{BUCKLING}, at least", "push", "")
    assert (row.value, row.limit) == (6.0, 1.5)
    assert row.utilisation == 0.25
    assert row.verdict is Verdict.PASS


@pytest.mark.parametrize(("asked", "held_to"), [(0.4, 1.0), (1.0, 1.0), (1.2, 1.2)])
def test_a_case_must_always_bear_its_own_service_load(asked, held_to):
    row = rows(case(case=LoadCase(name="push", strength_factor=asked)))[0]
    assert row.limit == held_to
    assert row.utilisation == pytest.approx(held_to / 6.0)


def test_an_unstable_case_fails_whatever_its_factor_says():
    # Its factor may be ample and its bent shape still not stand.
    assert rows(case(stable=False, buckling_factor=6.0))[0].verdict is Verdict.FAIL


def test_flutter_below_buckling_is_the_value_shown():
    row = rows(case(flutter_factor=2.0))[0]
    assert row.name == f"{FLUTTER}, at least"
    assert row.value == 2.0
    assert row.utilisation == 0.75


@pytest.mark.parametrize(
    ("factor", "verdict"), [(2.24, Verdict.FAIL), (2.25, Verdict.FAIL), (2.26, Verdict.PASS)]
)
def test_coupling_left_out_lowers_the_factor_and_can_only_fail(factor, verdict):
    # 1.5 asked for, 1.5 for coupling: a factor of 2.25 only reaches the load, which is not enough.
    row = rows(case(buckling_factor=factor), coupling=COUPLING)[0]
    assert row.name == f"{BUCKLING} over 1.50 for coupling left out, at least"
    assert row.value == pytest.approx(factor / 1.5)
    assert row.utilisation == pytest.approx(2.25 / factor)
    assert row.verdict is verdict
    shaky = rows(case(buckling_factor=9.0, stable=False), coupling=COUPLING)[0]
    assert shaky.verdict is Verdict.FAIL


def test_coupling_left_out_has_a_row_of_its_own_that_is_no_pass():
    row = only(tuple(c for c in rows(case(), coupling=COUPLING) if c.name.startswith("coupling")))
    assert row.name.endswith("skewed wall")
    assert (row.value, row.limit, row.utilisation) == (1.5, None, None)
    assert row.verdict is Verdict.REPORT
    assert len(rows(case())) == 1


# --- strength -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("used", "verdict"),
    [
        (0.999, Verdict.PASS),
        (1.0, Verdict.PASS),
        (1.001, Verdict.FAIL),
        (math.inf, Verdict.FAIL),
        (math.nan, Verdict.FAIL),
        (None, Verdict.REPORT),
    ],
)
def test_a_finding_passes_up_to_its_limit_and_not_without_one(used, verdict):
    row = rows(case(findings=(finding(used),)))[1]
    assert row.verdict is verdict
    assert (row.name, row.case) == ("von Mises stress, test aluminium", "push")
    assert (row.value, row.unit) == (100.0, "MPa")
    assert row.limit == (None if used is None else 200.0)
    assert row.utilisation is used


def test_every_finding_has_its_row():
    found = (finding(0.5), finding(1.5, criterion=Criterion.BUCKLING), finding(None, material="foam"))
    got = rows(case(findings=found))[1:]
    assert [c.verdict for c in got] == [Verdict.PASS, Verdict.FAIL, Verdict.REPORT]
    assert [c.name for c in got] == [f.name for f in found]


@pytest.mark.parametrize(
    ("used", "verdict"), [(0.5, Verdict.REPORT), (1.5, Verdict.FAIL), (None, Verdict.REPORT)]
)
def test_the_strength_of_thinner_walls_may_fail_a_thick_one_and_not_pass_it(used, verdict):
    thin = replace(ALUMINIUM, thickness_to=0.005)
    found = case(findings=(finding(used), finding(0.5, material="other")))
    judged, other = rows(found, mast(material=thin))[1:]
    assert judged.verdict is verdict
    assert judged.name == "von Mises stress, test aluminium, by the strength of thinner walls"
    # The bound is one material's.
    assert other.verdict is Verdict.PASS
    assert other.name == "von Mises stress, other"


def test_an_unstable_case_has_no_stress_and_fails():
    row = rows(case(stable=False, max_von_mises=None, tip=None))[1]
    assert row.name == "von Mises stress, test aluminium"
    assert (row.case, row.unit, row.utilisation) == ("push", "MPa", None)
    assert math.isinf(row.value)
    # The lower of 250/1.10 and 290/1.25 MPa.
    assert row.limit == pytest.approx(250 / 1.10)
    assert row.verdict is Verdict.FAIL
    silent = replace(ALUMINIUM, proof_strength=None)
    row = rows(case(stable=False, max_von_mises=None, tip=None), mast(material=silent))[1]
    assert row.limit is None
    assert row.verdict is Verdict.FAIL


def test_an_unstable_laminate_has_no_strain_and_fails():
    lamina = Lamina(
        name="ply", E1=120e9, E2=9e9, G12=5e9, nu12=0.3, density=1550, source=TEST,
        galvanic_group="carbon",
    )  # fmt: skip
    layup = Laminate(plies=(Ply(lamina=lamina, angle=0.0, thickness=0.001),), knock_down=1.0)
    wall: Material = laminate_material("wall", layup)
    row = rows(case(stable=False, max_von_mises=None, tip=None), mast(material=wall))[1]
    assert row.name == "first ply, maximum strain, wall"
    assert (row.limit, row.unit, row.verdict) == (None, "%", Verdict.FAIL)


# --- the user's limits ----------------------------------------------------------------------------

SIZES = {
    Quantity.SIDE_DEFLECTION: (0.020, "mm", 20.0),
    Quantity.FORE_AFT_DEFLECTION: (0.003, "mm", 3.0),
    Quantity.ROLL: (0.05, "deg", math.degrees(0.05)),
    Quantity.PITCH: (0.01, "deg", math.degrees(0.01)),
    Quantity.TWIST: (0.04, "deg", math.degrees(0.04)),
}


@pytest.mark.parametrize("quantity", list(Quantity))
@pytest.mark.parametrize(
    ("share", "verdict"),
    [(0.5, Verdict.FAIL), (0.999, Verdict.FAIL), (1.0, Verdict.PASS), (4.0, Verdict.PASS)],
)
def test_a_limit_is_on_the_size_of_its_quantity(quantity, share, verdict):
    size, unit, printed = SIZES[quantity]
    row = only(rows(case(), limits=(Limit(quantity=quantity, case="push", maximum=size * share),))[1:])
    assert (row.case, row.unit) == ("push", unit)
    assert row.name == quantity.value.replace("_", " ")
    assert row.value == pytest.approx(printed)
    assert row.limit == pytest.approx(printed * share)
    assert row.utilisation == pytest.approx(1 / share)
    assert row.verdict is verdict


def test_every_limit_is_known_wherever_limits_are_looked_up():
    # Read by name, so that no type checker tells of one that is missing.
    assert set(envelope._PART) == set(size_rates._PLACE) == set(Quantity)
    for quantity in Quantity:
        (table,) = get_args(LimitsTable.model_fields[quantity.value].annotation)
        assert table is (LengthLimitTable if quantity.is_length else AngleLimitTable)


def test_tip_values_are_signed():
    assert [tip_value(TIP, q) for q in Quantity] == [-0.020, 0.003, 0.05, -0.01, -0.04]


def test_a_limit_judges_its_own_case_alone():
    limits = (
        Limit(quantity=Quantity.TWIST, case="other", maximum=1e-6),
        # Names read from two places of a file are equal and not one object.
        Limit(quantity=Quantity.TWIST, case="".join(["pu", "sh"]), maximum=1.0),
    )
    assert only(rows(case(), limits=limits)[1:]).verdict is Verdict.PASS


def test_a_limit_is_judged_with_the_coupling_left_out():
    limit = Limit(quantity=Quantity.SIDE_DEFLECTION, case="push", maximum=0.025)
    row = rows(case(), limits=(limit,), coupling=COUPLING)[-1]
    assert row.name == "side deflection, times 1.50 for coupling left out"
    assert row.value == pytest.approx(30.0)
    assert row.utilisation == pytest.approx(1.2)
    assert row.verdict is Verdict.FAIL


def test_without_a_shape_a_limit_fails():
    limit = Limit(quantity=Quantity.ROLL, case="push", maximum=10.0)
    row = rows(case(tip=None, stable=False), limits=(limit,))[-1]
    assert math.isinf(row.value)
    assert row.utilisation is None
    assert row.verdict is Verdict.FAIL


# --- the worst of all findings ----------------------------------------------------------------------


def test_the_worst_of_a_criterion_is_kept_and_not_the_last():
    found = [finding(used, z=z) for used, z in ((0.3, 0.0), (0.9, 0.2), (0.6, 0.4))]
    assert [f.z for f in worst_findings(found)] == [0.2]
    # Of two alike the first, so that the order of stations settles it.
    assert only_z(finding(0.9, z=0.1), finding(0.9, z=0.5)) == [0.1]


def test_what_no_strength_judges_is_compared_by_its_value():
    low, high = (finding(None, value=v, z=z) for v, z in ((50.0, 0.1), (80.0, 0.3)))
    assert only_z(low, high) == [0.3]
    assert only_z(high, low) == [0.3]


def test_materials_keep_their_own_worst_only_where_it_is_theirs():
    one, other = finding(0.4, material="skin"), finding(0.7, material="web")
    assert [f.material for f in worst_findings([one, other])] == ["web", "skin"]
    panels = [replace(f, criterion=Criterion.BUCKLING) for f in (one, other)]
    assert [f.material for f in worst_findings(panels)] == ["web"]
    unjudged = replace(panels[0], utilisation=None, limit=None)
    assert [f.material for f in worst_findings([panels[1], unjudged])] == ["web", "skin"]


def test_findings_come_in_the_order_of_the_criteria_worst_first():
    used = {Criterion.BUCKLING: 0.9, Criterion.CORE_SHEAR: 0.2, Criterion.VON_MISES: 0.1}
    found = [finding(u, criterion=c) for c, u in used.items()]
    found += [finding(0.8, material="web"), finding(None, material="silent")]
    kept = [(f.criterion, f.utilisation) for f in worst_findings(found)]
    assert kept == [
        (Criterion.VON_MISES, 0.8),
        (Criterion.VON_MISES, 0.1),
        (Criterion.VON_MISES, None),
        (Criterion.CORE_SHEAR, 0.2),
        (Criterion.BUCKLING, 0.9),
    ]


def only_z(*found: Finding) -> list[float]:
    return [f.z for f in worst_findings(found)]
