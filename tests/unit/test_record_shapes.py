"""A record that does not hang together is refused at the place that is wrong."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
import shapely

from mastcheck.checks.result import CaseResult, Comparison, MastResult, Trade
from mastcheck.checks.sensitivity_result import CaseSensitivity, Change, Kind, SensitivityResult
from mastcheck.checks.tolerance_result import Band, TolerancesResult
from mastcheck.report.codec_arrays import MismatchError
from mastcheck.report.record_check import LONGEST, MOST_MASTS, check_whole
from mastcheck.scatter import Quantity, Tolerance
from mastcheck.section.model import SectionModel
from mastcheck.source import PRACTICE
from tests.reports import compare, make_laminated, make_mast


def refused(comparison: Comparison) -> tuple[str, str]:
    """Where and why a comparison is refused."""
    with pytest.raises(MismatchError) as caught:
        check_whole(comparison)
    return caught.value.at, caught.value.rule.removesuffix(": the record does not hang together")


def of_mast(**changes: Any) -> Comparison:
    return compare(dataclasses.replace(make_mast(), **changes))


def with_case(make: MastResult | None = None, **changes: Any) -> Comparison:
    """A mast whose second case is changed."""
    mast = make or make_mast()
    cases = list(mast.cases)
    cases[1] = dataclasses.replace(cases[1], **changes)
    return compare(dataclasses.replace(mast, cases=tuple(cases)))


def with_section(**changes: Any) -> Comparison:
    """A mast whose third section is changed."""
    mast = make_mast()
    sections: list[SectionModel] = list(mast.sections)
    sections[2] = dataclasses.replace(sections[2], **changes)
    return of_mast(sections=tuple(sections))


def with_station(**changes: Any) -> Comparison:
    mast = make_mast()
    own = mast.job.mast
    stations = (own.stations[0], dataclasses.replace(own.stations[1], **changes))
    job = dataclasses.replace(mast.job, mast=dataclasses.replace(own, stations=stations))
    return of_mast(job=job)


def rates(p: int, *, tips: int | None = None, station: int = 0) -> SensitivityResult:
    """Rates by p changes, whose cases were written for ``tips`` of them."""
    q = p if tips is None else tips
    changes = tuple(Change(kind=Kind.CHORD, station=station, at=0.0) for _ in range(p))
    case = CaseSensitivity(name="carve", tip=np.zeros((6, q)), utilisation=np.zeros(q), z=0.0)
    return SensitivityResult(
        changes=changes, mass=np.zeros(p), compliance=np.zeros((6, 6, p)), cases=(case,)
    )


def test_whole_comparisons_pass() -> None:
    check_whole(compare(make_mast(), make_mast(unstable=True), make_laminated()))
    check_whole(of_mast(sensitivity=rates(3)))


def test_no_mast_and_too_many_are_refused() -> None:
    whole = compare(make_mast())
    for masts in ((), whole.masts * (MOST_MASTS + 1)):
        other = dataclasses.replace(whole, masts=masts)
        assert refused(other) == ("masts", f"must be 1 to {MOST_MASTS}")


def test_a_ratio_needs_a_value_for_each_mast() -> None:
    whole = compare(make_mast(), make_mast("Other"))
    short = dataclasses.replace(whole.ratios[1], values=(1.0,), ratios=(1.0,))
    other = dataclasses.replace(whole, ratios=(whole.ratios[0], short, *whole.ratios[2:]))
    assert refused(other) == ("ratios[1].values", "must be one for each mast")


@pytest.mark.parametrize("chord", [LONGEST * 1.01, -1.0, 0.0, float("nan")])
def test_a_station_must_be_one_of_a_mast(chord: float) -> None:
    assert refused(with_station(chord=chord)) == (
        "masts[0].job.mast.stations[1]",
        "is no station of a mast",
    )


def test_a_mast_needs_two_stations_and_two_sections() -> None:
    mast = make_mast()
    own = dataclasses.replace(mast.job.mast, stations=mast.job.mast.stations[:1])
    one = of_mast(job=dataclasses.replace(mast.job, mast=own))
    assert refused(one) == ("masts[0].job.mast.stations", "must be two or more")
    cut = of_mast(z=mast.z[:1], sections=mast.sections[:1])
    assert refused(cut) == ("masts[0].sections", "must be two or more")


@pytest.mark.parametrize("z", [[0.0, 0.3, 0.2, 0.5, 0.75], [0.0, 0.1, np.nan, 0.5, 0.75]])
def test_stations_must_rise(z: list[float]) -> None:
    assert refused(of_mast(z=np.array(z))) == ("masts[0].z", "must rise from base to tip")


def test_a_section_must_have_a_shape_of_the_size_of_a_mast() -> None:
    section = make_mast().sections[2]
    none = dataclasses.replace(section.basis, region=np.zeros(0, np.int64))
    at = "masts[0].sections[2]"
    where, rule = refused(with_section(regions=(), basis=none))
    assert where.startswith(at)
    assert rule
    assert refused(with_section(regions=())) == (f"{at}.regions", "must be one or more")
    huge = shapely.box(0, 0, LONGEST * 1.01, 0.01)
    region = dataclasses.replace(section.regions[0], polygon=huge)
    where, rule = refused(with_section(regions=(region,)))
    assert where.endswith("sections[2].regions[0].polygon")
    assert rule == f"is larger than {LONGEST:.0f} m"


def test_a_mesh_must_point_at_points_that_are_there() -> None:
    basis = make_mast().sections[2].basis
    n = len(basis.points)
    at = "masts[0].sections[2].basis"
    for bad in (n, -1):
        past = basis.triangles.copy()
        past[0, 0] = bad
        changed = dataclasses.replace(basis, triangles=past)
        assert refused(with_section(basis=changed)) == (
            f"{at}.triangles",
            f"points past the {n} that there are",
        )
    lost = basis.points.copy()
    lost[3, 1] = np.inf
    changed = dataclasses.replace(basis, points=lost)
    assert refused(with_section(basis=changed)) == (f"{at}.points", "must be finite")
    changed = dataclasses.replace(basis, region=np.ones_like(basis.region))
    assert refused(with_section(basis=changed))[0] == f"{at}.region"


def test_a_case_must_fit_its_mast() -> None:
    case: CaseResult = make_mast().cases[1]
    assert case.utilisation_along_z is not None
    assert case.von_mises is not None
    at = "masts[0].cases[1]"
    short = with_case(utilisation_along_z=case.utilisation_along_z[:-1])
    assert refused(short) == (f"{at}.utilisation_along_z", "must be one for each station")
    short = with_case(von_mises=case.von_mises[:-1])
    assert refused(short) == (f"{at}.von_mises", "must be one for each point of the governing section")
    past = with_case(governing_station=5)
    assert refused(past) == (f"{at}.governing_station", "points past the 5 that there are")
    laminated = make_laminated()
    found = laminated.cases[1].findings
    nowhere = (found[0], dataclasses.replace(found[1], z=float("nan")), *found[2:])
    assert refused(with_case(laminated, findings=nowhere)) == (
        f"{at}.findings[1].z",
        "must be finite",
    )


def test_rates_must_be_of_the_changes_that_are_named() -> None:
    assert refused(of_mast(sensitivity=rates(3, tips=2))) == (
        "masts[0].sensitivity.cases[0].tip",
        "must be one for each change",
    )
    assert refused(of_mast(sensitivity=rates(3, station=2))) == (
        "masts[0].sensitivity.changes[0].station",
        "points past the 2 that there are",
    )


def test_the_trade_and_the_bands_must_be_of_what_is_there() -> None:
    whole = compare(make_mast(), make_mast("Other"))
    trade = Trade(suits=("suits one",), next="nothing")
    assert refused(dataclasses.replace(whole, trade=trade)) == (
        "trade.suits",
        "must be one for each mast",
    )
    check_whole(dataclasses.replace(whole, trade=dataclasses.replace(trade, suits=("one", "two"))))
    load = Tolerance(quantity=Quantity.LOAD, limit=0.1, relative=True, source=PRACTICE)
    band = Band(name="mass", case="", unit="kg", value=1.0, changes=(0.1,), half_width=0.1, worst=0.1)
    check_whole(of_mast(tolerances=TolerancesResult(tolerances=(load,), bands=(band,))))
    short = dataclasses.replace(band, changes=())
    assert refused(of_mast(tolerances=TolerancesResult(tolerances=(load,), bands=(band, short)))) == (
        "masts[0].tolerances.bands[1].changes",
        "must be one for each tolerance",
    )


def test_sizes_within_one_object_must_agree() -> None:
    where, rule = refused(of_mast(tip_compliance=np.zeros((6, 5))))
    assert where == "masts[0].tip_compliance"
    assert rule == "has sizes (6, 5), which do not fit the others"
    where, _ = refused(of_mast(sections=make_mast().sections[:4]))
    assert where == "masts[0].sections"
