"""The rows and sentences of the trade: the numbers they rest on, and that nothing failing is praised."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from mastcheck.checks.compare import compare
from mastcheck.checks.result import MastResult
from mastcheck.checks.run import check
from mastcheck.checks.water import drag_at
from mastcheck.job import Job
from mastcheck.loadcase import STANDARD_CASES
from tests.masts import mast

CRUISE = tuple(c for c in STANDARD_CASES if c.name == "cruise")
WIDE = Job(mast=mast((0.140, 0.018), (0.105, 0.015), wall=0.003), cases=CRUISE, speeds=(5.0, 12.0))
SLIM = replace(WIDE, mast=replace(mast((0.110, 0.014), (0.085, 0.012), wall=0.003), name="slim"))


@pytest.fixture(scope="module")
def results() -> list[MastResult]:
    return [check(replace(WIDE, price=(300.0, "EUR"))), check(replace(SLIM, price=(200.0, "EUR")))]


def test_rows_are_the_numbers_of_the_masts(results: list[MastResult]) -> None:
    rows = {r.name: r for r in compare(results).ratios}
    for speed in (5.0, 12.0):
        drags = [drag_at(r, speed) for r in results]
        assert rows[f"drag at {speed:g} m/s"].values == pytest.approx(drags)
        assert rows[f"power at {speed:g} m/s"].values == pytest.approx([d * speed for d in drags if d])
    water = results[0].water
    assert water is not None
    drag = water.side.drag
    assert drag_at(results[0], 12.0) == pytest.approx(float(drag.total[-1]))
    assert drag_at(results[0], 13.0) is None
    area = water.side.tracking.area.side
    assert rows["wet side area"].values[0] == pytest.approx(area)
    # Trapezium of the last 60 % of a linear taper, in closed form.
    at_line = 0.140 + 0.4 * (0.105 - 0.140)
    assert area == pytest.approx((at_line + 0.105) / 2 * 0.6 * WIDE.mast.length, rel=1e-9)


def test_each_mast_is_told_and_what_it_pays(results: list[MastResult]) -> None:
    found = compare(results).trade
    assert found is not None
    assert len(found.suits) == 2
    assert "less" in found.suits[0]
    assert found.next.startswith("Next")
    assert compare(results[:1]).trade is None


def test_a_mast_that_fails_is_for_nobody() -> None:
    heavy = replace(SLIM, rider=replace(SLIM.rider, mass=280.0), cases=STANDARD_CASES)
    sound, failing = check(WIDE), check(heavy)
    assert failing.failed or any(not c.stable for c in failing.cases)
    found = compare([sound, failing]).trade
    assert found is not None
    assert "nobody" in found.suits[1]


def test_a_longer_mast_at_the_same_ride_height_drags_more() -> None:
    """Trade fact (common practice, no source)."""
    level = replace(WIDE.conditions, ride_height=0.30)
    drags = [
        drag_at(check(replace(WIDE, conditions=level, mast=WIDE.mast.with_length(length))), 8.0)
        for length in (0.65, 0.75, 0.95)
    ]
    assert drags == sorted(drags)
    assert not math.isclose(drags[0], drags[-1])
