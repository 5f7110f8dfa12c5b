"""The page's beam solve against the library's, at random lengths, riders, loads and ride heights."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from mastcheck.beam.chain import Chain
from mastcheck.beam.kinematics import DOFS
from mastcheck.checks.result import CaseResult, LineResult, MastResult, Tip
from mastcheck.checks.run import check
from mastcheck.files.mastfile import load
from mastcheck.job import Job
from mastcheck.loadcase import Lift
from mastcheck.page.beam_data import SCALARS, beam_data, load_data
from mastcheck.page.blocks import packed
from tests.browser.scripts import Scripts, source
from tests.kept import PROFILES

POSITIONS = 20
AGREES = 1e-6
"""Relative: what the page promises."""
NIL = 1e-9
"""m, rad, N, N·m: what is nil by symmetry holds rounding alone."""

SOLVE = """
const found = solveCase(given.mast, given.options);
const mass = massOf(given.mast, given.options.length);
return { ...found, never: found.bucklingFactor === Infinity, mass };
"""


@pytest.fixture(scope="module")
def script(browser: Any) -> Iterator[Scripts]:
    page = browser.new_page()
    yield Scripts(page, source("beam_"))
    page.close()


def _kinked(job: Job) -> Job:
    """Three stations of which the middle one breaks the outline, and a restrained tip."""
    middle = replace(job.mast.station_at(0.4), at=0.4, chord=0.110)
    ends = job.mast.stations[0], job.mast.stations[-1]
    return replace(
        job, mast=replace(job.mast, stations=(ends[0], middle, ends[1]), tip_warping="restrained")
    )


@lru_cache
def _checked(name: str) -> MastResult:
    job = load(PROFILES / f"{name.removesuffix('-kinked')}.toml")
    return check(_kinked(job) if name.endswith("-kinked") else job)


def _mast(result: MastResult) -> dict[str, Any]:
    return {**load_data(result), "beam": beam_data(result)}


def _positions(result: MastResult, seed: int) -> list[dict[str, Any]]:
    """Random settings; of some of them the load factor or the ride height is the file's own."""
    draw = np.random.default_rng(seed)
    out = []
    for k in range(POSITIONS):
        length = float(result.job.mast.length * draw.uniform(0.5, 1.3))
        out.append(
            {
                "caseIndex": k % len(result.job.cases),
                "length": length,
                "riderMass": float(draw.uniform(45, 120)),
                "loadFactor": None if k % 4 == 0 else float(draw.uniform(0.5, 5)),
                "rideHeight": None if k % 5 == 0 else float(draw.uniform(0, 0.9) * length),
            }
        )
    return out


def _job_at(result: MastResult, options: dict[str, Any], lift: Lift | None = None) -> Job:
    """The job that the page's settings stand for, with one case."""
    job, case = result.job, result.job.cases[options["caseIndex"]]
    if options["loadFactor"] is not None:
        case = replace(case, n=options["loadFactor"])
    if options["rideHeight"] is not None:
        job = replace(job, conditions=replace(job.conditions, ride_height=options["rideHeight"]))
    return replace(
        job,
        mast=job.mast.with_length(options["length"]),
        rider=replace(job.rider, mass=options["riderMass"]),
        cases=(case if lift is None else replace(case, lift=lift),),
    )


def _agree(found: float, wanted: float, size: float = 0.0) -> None:
    assert abs(found - wanted) <= max(AGREES * max(abs(wanted), size), NIL), (found, wanted)


def _agree_tip(found: dict[str, float], tip: Tip) -> None:
    for name in ("side", "axial", "roll", "pitch", "twist"):
        _agree(found[name], getattr(tip, name))
    _agree(found["foreAft"], tip.fore_aft)


def _agree_line(found: dict[str, Any], stations: list[float], line: LineResult, z: Any) -> None:
    assert np.abs(np.array(found["z"]) - line.z).max() < 1e-12
    for name in ("displacement", "rotation"):
        own = getattr(line, name)
        given = np.array(found[name]).reshape(own.shape)
        assert np.abs(given - own).max() <= AGREES * np.abs(own).max()
    at = np.column_stack([np.interp(z, line.z, column) for column in line.resultants.T])
    given = np.array(stations).reshape(at.shape)
    for k in range(7):
        size = float(np.abs(at[:, k]).max())
        assert np.abs(given[:, k] - at[:, k]).max() <= max(AGREES * size, NIL * np.abs(at).max())


def _agree_case(found: dict[str, Any], result: MastResult) -> CaseResult:
    """Everything that the page takes from a case, but ``stable`` of a lift that follows the wing."""
    case = result.cases[0]
    assert found["never"] is math.isinf(case.buckling_factor)
    if not found["never"]:
        _agree(found["bucklingFactor"], case.buckling_factor)
    _agree(found["mass"], result.mass)
    _agree_tip(found["firstOrderTip"], case.first_order_tip)
    if case.stable:
        assert case.tip is not None
        assert case.line is not None
        assert case.strength_line is not None
        assert case.amplification is not None
        assert found["stable"]
        assert found["converged"]
        _agree_tip(found["tip"], case.tip)
        _agree(found["amplification"], case.amplification)
        _agree_line(found["line"], found["serviceResultants"], case.line, result.z)
        _agree_line(found["strengthLine"], found["strengthResultants"], case.strength_line, result.z)
    return case


@pytest.mark.parametrize(
    ("name", "seed"),
    [
        ("aluminium-75-tapered", 1),
        ("aluminium-75-three-joints", 2),
        ("carbon-75-layup", 3),
        ("aluminium-75-wide-kinked", 4),
    ],
)
def test_any_position_agrees_with_a_whole_check(script: Scripts, name: str, seed: int) -> None:
    result = _checked(name)
    mast, stable = _mast(result), []
    for options in _positions(result, seed):
        case = _agree_case(
            script.run(SOLVE, {"mast": mast, "options": options}), check(_job_at(result, options))
        )
        stable.append(case.stable)
    assert sum(stable) >= POSITIONS / 2


def test_what_does_not_stand_has_no_shape(script: Scripts) -> None:
    result = _checked("aluminium-75-tapered")
    for case in (0, 3):
        options = {
            "caseIndex": case, "length": 0.97, "riderMass": 120, "loadFactor": 9, "rideHeight": None,
        }  # fmt: skip
        whole = check(_job_at(result, options))
        found = script.run(SOLVE, {"mast": _mast(result), "options": options})
        assert not _agree_case(found, whole).stable
        assert found["stable"] is False
        for name in ("tip", "amplification", "line", "strengthLine", "strengthResultants"):
            assert found[name] is None


@pytest.mark.parametrize("share", [0.95, 0.999])
def test_close_to_buckling_the_same_shape_is_found(script: Scripts, share: float) -> None:
    result = _checked("aluminium-75-tapered")
    factor, strength = result.cases[1].buckling_factor, result.job.cases[1].strength_factor
    # Of carve: side force and the feet's twist do not grow with n, and count for little.
    options: dict[str, Any] = {
        "caseIndex": 1, "length": result.job.mast.length, "riderMass": result.job.rider.mass,
        "loadFactor": 1.5 * factor / strength * share, "rideHeight": None,
    }  # fmt: skip
    found = script.run(SOLVE, {"mast": _mast(result), "options": options})
    case = _agree_case(found, check(_job_at(result, options)))
    assert case.stable
    assert case.buckling_factor < 1.1 * strength


def test_a_lift_that_follows_the_wing_is_solved_and_not_judged(script: Scripts) -> None:
    result = _checked("aluminium-75-three-joints")
    for i, options in enumerate(_positions(result, 5)[:6]):
        job = _job_at(result, {**options, "loadFactor": 1.0}, Lift.FOLLOWER)
        whole = check(job)
        mast = _mast(replace(result, job=replace(result.job, cases=job.cases)))
        found = script.run(
            SOLVE, {"mast": mast, "options": {**options, "caseIndex": 0, "loadFactor": 1.0}}
        )
        assert found["judged"] is False
        case = _agree_case(found, whole)
        assert case.stable, i


def test_data_is_json_and_its_fractions_are_the_stations_own() -> None:
    result = _checked("aluminium-75-wide-kinked")
    data = beam_data(result)
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    assert (np.array(data["at"]) * result.job.mast.length == result.z).all()
    assert data["breaks"] == [0.0, 0.4, 1.0]
    assert set(data["breaks"]) <= set(data["at"])  # type: ignore[call-overload]


def test_only_the_torque_along_fibres_goes_with_the_length() -> None:
    result = _checked("aluminium-75-tapered")
    longer = check(replace(result.job, mast=result.job.mast.with_length(0.91)))
    for a, b in zip(result.sections, longer.sections, strict=True):
        for name in (*SCALARS, "contraction"):
            assert getattr(a.properties, name) == getattr(b.properties, name)
        for name in ("fibre_before", "fibre_after"):
            times = np.array(getattr(a.properties, name)) * result.job.mast.length
            assert np.array(getattr(b.properties, name)) * 0.91 == pytest.approx(times, rel=1e-13)
            assert times.any()
        assert (a.end is None) == (b.end is None)
        if a.end is not None and b.end is not None:
            assert (a.end == b.end).all()


def test_a_mast_shorter_than_two_chords_is_left_without_its_ends(script: Scripts) -> None:
    result = _checked("aluminium-75-tapered")
    assert beam_data(result)["base_end"] is not None
    chord = max(s.chord for s in result.job.mast.stations)
    for length in (1.99 * chord, 2.01 * chord):
        options = {
            "caseIndex": 1, "length": length, "riderMass": 80, "loadFactor": None, "rideHeight": None,
        }  # fmt: skip
        found = script.run(SOLVE, {"mast": _mast(result), "options": options})
        assert _agree_case(found, check(_job_at(result, options))).stable


def test_bands_are_solved_with_and_without_pivots(script: Scripts) -> None:
    """Random chains, positive definite or not, against dense numpy."""
    draw = np.random.default_rng(6)
    n = 6
    for shift in (20.0, 0.0):
        blocks = draw.normal(size=(1, n - 1, 2 * DOFS, 2 * DOFS))
        blocks = blocks + np.swapaxes(blocks, -1, -2) + shift * np.eye(2 * DOFS)
        chain, skewed = Chain.of_elements(blocks), draw.normal(size=(DOFS, DOFS))
        skewed = skewed - skewed.T
        full = chain.dense()[0]
        load = draw.normal(size=DOFS * n)
        given = {
            "blocks": packed(blocks[0], "f64"),
            "skewed": packed(skewed, "f64"),
            "load": load.tolist(),
        }
        found = script.run(
            """
            const blocks = arrayOf(given.blocks);
            const size = given.load.length;
            const band = bandAddElements(new Float64Array(size * BAND), blocks);
            const load = Float64Array.from(given.load);
            return {
              times: bandTimes(band, load),
              solved: bandSolve(band, arrayOf(given.skewed), load.slice()),
              pivoted: bandPivoted(band, arrayOf(given.skewed), load.slice()),
              positive: bandPositive(band, size),
            };
            """,
            given,
        )
        assert found["positive"] is bool(chain.positive_definite()[0]) is bool(shift)
        assert found["times"] == pytest.approx(full @ load, rel=1e-12)
        full[-DOFS:, -DOFS:] += skewed
        wanted = np.linalg.solve(full, load)
        assert found["solved"] == pytest.approx(wanted, rel=1e-9)
        assert found["pivoted"] == pytest.approx(wanted, rel=1e-9)


def test_arrays_arrive_as_they_were_sent(script: Scripts) -> None:
    values = {
        "f64": np.array([[1.5, -2.0], [1e-300, 0.1]]),
        "u16": np.array([0, 65535]),
        "i32": np.array([-7]),
    }
    given = {kind: packed(array, kind) for kind, array in values.items()}
    found = script.run(
        """
        const told = ([kind, block]) => [kind, [arrayOf(block), arrayOf(block).shape]];
        return Object.fromEntries(Object.entries(given).map(told));
        """,
        given,
    )
    for kind, array in values.items():
        assert found[kind] == [array.ravel().tolist(), list(array.shape)]
    listed = script.run("const a = arrayOf(given); return [a, a.shape];", [[1, 2, 3], [4, 5, 6]])
    assert listed == [[1, 2, 3, 4, 5, 6], [2, 3]]


def test_nodes_rise(script: Scripts) -> None:
    result = _checked("aluminium-75-three-joints")
    z = script.run("return frameOf(given, 0.8).z;", _mast(result))
    assert all(b > a for a, b in pairwise(z))
    assert (z[0], z[-1]) == (0.0, 0.8)
