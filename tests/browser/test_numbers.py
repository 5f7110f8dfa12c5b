"""What the page's own solve finds is what ``check`` finds, at slider positions that nobody chose."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from mastcheck.checks.result import CaseResult, Comparison, MastResult
from mastcheck.checks.run import check
from mastcheck.job import Job
from tests.browser.conftest import DESK, PROFILES, Open, Opened, checked, written

NAMES = ("aluminium-75-wide", "aluminium-75-tapered", "carbon-75-layup")
POSITIONS = 20
SLIDERS = ("length", "riderMass", "loadFactor", "rideHeight", "speed")
REL = 1e-6


@pytest.fixture(scope="module")
def three() -> Comparison:
    return checked(*(PROFILES / f"{name}.toml" for name in NAMES))


@pytest.fixture(scope="module")
def three_page(three: Comparison, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(three, tmp_path_factory.mktemp("page") / "three.html")


def _place(opened: Opened, rng: np.random.Generator) -> dict[str, Any]:
    """Put every slider and the load case somewhere at random; the state that this gives."""
    page = opened.page
    cases = page.locator("#case option").all()
    page.locator("#case").select_option(index=int(rng.integers(len(cases))))
    for key in SLIDERS:
        slider = page.locator(f"#{key}-slider")
        low, high, step = (float(slider.get_attribute(name)) for name in ("min", "max", "step"))
        if key == "rideHeight":
            high = 350.0  # below the shortest length: a board under water is refused
        if key == "loadFactor":
            high = 3.0  # above, most positions would find no balance and test little
        value = low + step * int(rng.integers(math.floor((high - low) / step) + 1))
        slider.fill(f"{value:.6f}".rstrip("0").rstrip("."))
    state: dict[str, Any] = page.evaluate("window.mastcheck.state()")
    return state


def _asked(job: Job, state: dict[str, Any]) -> Job:
    """The job at the page's state, one load case alone."""
    (case,) = (c for c in job.cases if c.name == state["caseName"])
    return replace(
        job,
        mast=job.mast.with_length(state["length"]),
        rider=replace(job.rider, mass=state["riderMass"]),
        cases=(replace(case, n=state["loadFactor"]),),
        conditions=replace(job.conditions, ride_height=state["rideHeight"]),
        speeds=(state["speed"], state["speed"]),
        limits=(),
    )


def _found(opened: Opened, index: int) -> dict[str, Any]:
    """What the page found for a mast at its state."""
    row: dict[str, Any] = opened.page.evaluate(
        """(i) => {
          const { found, judged, mass, drag } = window.mastcheck.solve(i, {});
          const factor = found.bucklingFactor;
          const buckling = Number.isFinite(factor) ? factor : null;
          return { stable: found.stable, buckling, tip: found.tip,
            used: judged === null ? null : judged.utilisation, mass, drag: drag.total };
        }""",
        index,
    )
    return row


def _same_case(row: dict[str, Any], case: CaseResult) -> None:
    assert row["stable"] == case.stable
    if math.isfinite(case.buckling_factor):
        assert row["buckling"] == pytest.approx(case.buckling_factor, rel=REL)
    if case.tip is None:
        assert row["tip"] is None
        assert row["used"] is None
        return
    # A movement that symmetry makes nothing is compared with the largest one of its kind.
    moves = {"side": case.tip.side, "foreAft": case.tip.fore_aft, "axial": case.tip.axial}
    turns = {"roll": case.tip.roll, "pitch": case.tip.pitch, "twist": case.tip.twist}
    for group in (moves, turns):
        size = max(abs(v) for v in group.values())
        for key, value in group.items():
            assert row["tip"][key] == pytest.approx(value, rel=REL, abs=1e-9 * size)
    assert row["used"] == (
        None if case.utilisation is None else pytest.approx(case.utilisation, rel=REL)
    )


def _same(row: dict[str, Any], result: MastResult, speed: float) -> None:
    _same_case(row, result.cases[0])
    assert row["mass"] == pytest.approx(result.mass, rel=REL)
    assert result.water is not None
    drag = result.water.side.drag
    here = int(np.abs(drag.speeds - speed).argmin())  # the speed of a turn is told too
    assert drag.speeds[here] == pytest.approx(speed, rel=1e-12)
    assert row["drag"] == pytest.approx(float(drag.total[here]), rel=REL)


def test_random_positions_agree_with_check(open_page: Open, three: Comparison, three_page: Path) -> None:
    """Masts in turn; the seed is fixed, so that a failure can be repeated."""
    opened = open_page(three_page, DESK)
    rng = np.random.default_rng(20)
    stable = 0
    for k in range(POSITIONS):
        index = k % len(NAMES)
        state = _place(opened, rng)
        job = three.masts[index].job
        result = check(_asked(job, state))
        assert len(result.z) == len(three.masts[index].z), "not the same stations: no fair comparison"
        _same(_found(opened, index), result, state["speed"])
        stable += result.cases[0].stable
    assert stable >= POSITIONS / 2, "too few positions found a balance to test much"
    assert opened.faults == []
