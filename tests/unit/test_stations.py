"""How many stations a mast is solved at, and which sections are one: the rules apart from any section.

The loop is followed with tip compliances that are given to it, so that each bound is met and missed.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from mastcheck.checks import stations as module
from mastcheck.checks.stations import beam_of, section_key, solve_stations
from mastcheck.errors import GeometryError
from mastcheck.mast import Calibration, Mast, Wall
from tests.beams import properties
from tests.masts import mast

FloatArray = NDArray[np.float64]

LEVELS = (3, 5, 9, 17, 33)
START = np.diag([4.0, 9.0, 1.0, 1.0, 1.0, 16.0])


class Solves:
    """Stands in for sections and beams: what was asked, and the compliances given in turn."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, *tips: FloatArray) -> None:
        self.solved: list[tuple[float, bool]] = []
        self.places: list[list[float]] = []
        self.sections: list[list[object]] = []
        given = iter(tips)

        def beam(_: Mast, z: FloatArray, sections: list[object]) -> object:
            self.places.append(z.tolist())
            self.sections.append(list(sections))
            return object()

        def section(_: Mast, at: float, *, end: bool = False) -> object:
            self.solved.append((at, end))
            return SimpleNamespace(at=at)

        monkeypatch.setattr(module, "solve_at", section)
        monkeypatch.setattr(module, "beam_of", beam)
        monkeypatch.setattr(module, "tip_compliance", lambda _: next(given))


def moved(i: int, j: int, share: float) -> FloatArray:
    """The compliance with one term moved by a share of the root of its diagonal terms' product."""
    out = START.copy()
    out[i, j] += share * np.sqrt(START[i, i] * START[j, j])
    return out


@pytest.mark.parametrize(("i", "j"), [(0, 0), (5, 5), (0, 5), (5, 1)])
@pytest.mark.parametrize("sign", [1, -1])
def test_stations_are_doubled_until_no_term_moves_by_a_thousandth(
    monkeypatch: pytest.MonkeyPatch, i: int, j: int, sign: int
) -> None:
    more, less = (moved(i, j, sign * share) for share in (1.02e-3, 0.98e-3))
    seen = Solves(monkeypatch, START, less)
    found = solve_stations(mast())
    assert [len(z) for z in seen.places] == [3, 5]
    assert found.change == pytest.approx(0.98e-3, rel=1e-2)
    assert found.compliance is less
    seen = Solves(monkeypatch, START, more, more)
    found = solve_stations(mast())
    assert [len(z) for z in seen.places] == [3, 5, 9]
    assert found.change == 0.0


def test_without_an_end_stations_halve_their_distance_five_times_and_say_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tips = [START * 2.0**-k for k in range(6)]
    seen = Solves(monkeypatch, *tips)
    made = mast()
    found = solve_stations(made)
    assert len(seen.places) == len(LEVELS)
    for z, n in zip(seen.places, LEVELS, strict=True):
        assert z == pytest.approx(np.linspace(0, made.length, n), rel=1e-12)
    # Terms at half of what they were a moment ago, over what they are now.
    assert found.change == pytest.approx(1.0)
    assert found.z == pytest.approx(np.linspace(0, made.length, 33))
    assert len(found.sections) == 33


@pytest.mark.parametrize(("count", "levels"), [(32, [63, 125]), (33, [33, 65]), (200, [200, 399])])
def test_a_file_of_many_stations_begins_with_its_own(
    monkeypatch: pytest.MonkeyPatch, count: int, levels: list[int]
) -> None:
    seen = Solves(monkeypatch, START, START)
    made = mast()
    ends = made.stations[0], made.stations[-1]
    many = [
        replace(ends[0], at=t, chord=(1 - t) * ends[0].chord + t * ends[1].chord)
        for t in np.linspace(0, 1, count).tolist()
    ]
    found = solve_stations(replace(made, stations=tuple(many)))
    assert [len(z) for z in seen.places] == levels
    assert found.z == pytest.approx(np.linspace(0, made.length, levels[-1]))


def test_no_section_is_solved_twice_and_the_fixed_ends_are_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tips = [START * 2.0**-k for k in range(6)]
    seen = Solves(monkeypatch, *tips)
    solve_stations(mast())
    # A linear taper: 33 sections, all different; the base is fixed and the free tip is not.
    assert len(seen.solved) == 33
    assert [at for at, end in seen.solved if end] == [0.0]
    seen = Solves(monkeypatch, *tips)
    solve_stations(replace(mast(), tip_warping="restrained"))
    assert [at for at, end in seen.solved if end] == [0.0, 1.0]
    # A uniform mast is one section, at whatever number of stations.
    seen = Solves(monkeypatch, *tips)
    solve_stations(mast((0.1, 0.015), (0.1, 0.015)))
    assert seen.solved == [(0.0, True)]
    assert {id(s) for s in seen.sections[-1]} == {id(seen.sections[0][0])}


def test_what_is_measured_is_put_on_each_section_once(monkeypatch: pytest.MonkeyPatch) -> None:
    factors = Calibration(factor_EI_side=1.1, factor_GJ=0.9, source="invented for a test")
    calls: list[tuple[Any, Any]] = []

    def calibrated(section: Any, by: Any) -> object:
        calls.append((section.at, by))
        return ("calibrated", section.at)

    monkeypatch.setattr(module, "calibrated", calibrated)
    seen = Solves(monkeypatch, START, START)
    solve_stations(replace(mast(), calibration=factors))
    assert calls == [(at, factors) for at in (0.0, 0.5, 1.0, 0.25, 0.75)]
    assert seen.sections[-1] == [("calibrated", at) for at in (0.0, 0.25, 0.5, 0.75, 1.0)]


def test_progress_names_each_section_that_is_solved(monkeypatch: pytest.MonkeyPatch) -> None:
    Solves(monkeypatch, START, START)
    said: list[tuple[str, float]] = []
    solve_stations(mast(), lambda words, share: said.append((words, share)))
    assert [words for words, _ in said] == [
        f"test mast: section at {at} of the length"
        for at in ("0.000", "0.500", "1.000", "0.250", "0.750")
    ]
    assert [share for _, share in said] == pytest.approx([0, 1 / 3, 2 / 3, 1 / 5, 3 / 5])


@pytest.mark.parametrize("value", [0.0, -0.5])
def test_a_tip_that_moves_against_its_load_is_refused(
    monkeypatch: pytest.MonkeyPatch, value: float
) -> None:
    tip = START.copy()
    tip[4, 4] = value
    Solves(monkeypatch, tip)
    with pytest.raises(GeometryError, match="change too steeply"):
        solve_stations(mast())


def test_ends_are_left_out_of_a_mast_shorter_than_twice_its_chord() -> None:
    for length, tip_warping, base, tip in (
        (0.30, "free", True, False), (0.30, "restrained", True, True),
        (0.299, "restrained", False, False), (0.35, "free", True, False),
    ):  # fmt: skip
        made = replace(mast((0.15, 0.018), (0.09, 0.012), length=length), tip_warping=tip_warping)
        ends = [np.diag([0, 0, 0, 0, 0, k * 1e-9]) for k in (1.0, 2.0, 3.0)]
        sections = [SimpleNamespace(properties=properties(), end=end) for end in ends]
        model = beam_of(made, np.linspace(0, length, 3), sections)  # type: ignore[arg-type]
        assert (model.base_end is not None, model.tip_end is not None) == (base, tip)
        assert model.base_end is None or model.base_end[5, 5] == pytest.approx(1e-9)
        assert model.tip_end is None or model.tip_end[5, 5] == pytest.approx(3e-9)
        assert model.tip_restrained is (tip_warping == "restrained")


def test_equal_sections_have_equal_keys_and_neighbours_are_looked_for_on_the_mast() -> None:
    tapered, plain = mast(), mast((0.1, 0.015), (0.1, 0.015))
    assert section_key(plain, 0.0) == section_key(plain, 0.5) == section_key(plain, 1.0)
    sizes, before, after = section_key(plain, 0.5)  # type: ignore[misc]
    assert (before, after) == (None, None)
    for at, has_before, has_after in ((0.0, False, True), (0.5, True, True), (1.0, True, False)):
        sizes, before, after = section_key(tapered, at)  # type: ignore[misc]
        assert (before is not None, after is not None) == (has_before, has_after)
        # A thousandth of the length away: the chord goes from 150 to 90 mm.
        assert sizes[0] == pytest.approx(0.150 - 0.060 * at)
        for neighbour, step in ((before, -1e-3), (after, 1e-3)):
            if neighbour is not None:
                assert neighbour[0] == pytest.approx(0.150 - 0.060 * (at + step))
    # Just off either end lies nothing.
    assert section_key(tapered, 0.0005)[1] is None  # type: ignore[index]
    assert section_key(tapered, 0.9995)[2] is None  # type: ignore[index]
    # A neighbour may be the very end of the mast.
    assert section_key(tapered, 0.999)[2] is not None  # type: ignore[index]
    assert section_key(tapered, 0.001)[1] is not None  # type: ignore[index]


def test_walls_count_to_a_picometre_and_laws_of_walls_as_they_are() -> None:
    """What differs in the thirteenth digit only is one section: a taper rounded, and no other size."""
    made = mast((0.1, 0.015), (0.1, 0.015), wall=0.003)

    def with_wall(wall: float | Wall) -> Mast:
        return replace(made, stations=tuple(replace(s, wall=wall) for s in made.stations))

    own = section_key(made, 0.5)
    assert section_key(with_wall(0.003 + 1e-14), 0.5) == own
    assert section_key(with_wall(0.003 + 1e-9), 0.5) != own
    law = Wall(port=((0.0, 0.003),), starboard=((0.0, 0.003), (1.0, 0.002)))
    other = replace(law, starboard=((0.0, 0.003), (1.0, 0.001)))
    assert section_key(with_wall(law), 0.5) == section_key(with_wall(replace(law)), 0.5)
    assert len({own, section_key(with_wall(law), 0.5), section_key(with_wall(other), 0.5)}) == 3


@pytest.mark.parametrize(("stated", "first"), [(32, 63), (33, 33)])
def test_a_file_of_many_stations_is_first_solved_at_its_own(
    monkeypatch: pytest.MonkeyPatch, stated: int, first: int
) -> None:
    """From 33 on it is as fine as any other becomes; then and before, half the distance comes next."""
    plain = mast()
    at = np.linspace(0, 1, stated)
    many = replace(plain, stations=tuple(replace(plain.station_at(float(s)), at=float(s)) for s in at))
    seen = Solves(monkeypatch, START, START)
    solve_stations(many)
    assert [len(z) for z in seen.places] == [first, 2 * first - 1]
