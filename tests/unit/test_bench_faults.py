"""What a bench sheet may not say, and what a bench makes of little or odd readings."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from mastcheck.bench.design import standard_errors
from mastcheck.bench.fit import Status, fit
from mastcheck.bench.leastsquares import solve, studentised
from mastcheck.bench.model import BenchModel
from mastcheck.bench.noise import ClassNoise
from mastcheck.bench.plan import HANDY, MOST_STRAIN, plan, plan_places
from mastcheck.bench.readings import GRAVITY, Direction, Gauge, GaugeKind, Load, Part, Reading
from mastcheck.bench.setup import bench_model
from mastcheck.bench.suggest import suggestions
from mastcheck.bench.tolerance import METAL, tolerance
from mastcheck.errors import GeometryError, InputError
from mastcheck.files.limits import MAST_BYTES
from mastcheck.files.readings import PROBLEMS_SHOWN, read_readings
from mastcheck.job import Job
from mastcheck.mast import Wall
from tests.benches import ARM, L, at_tip, errors, ladder, on_bench, sheet, slim, true_values, with_values
from tests.masts import ALUMINIUM, mast

TRUE = np.array([1.05, 1.0, 1.07, 4e-5, 4e-6, 2.5e-4, 0.0, 0.0, 0.0])
HEAD = "load,direction,load_z,load_arm,gauge,gauge_z,gauge_arm,spacing,reading,error\n"


def told(tmp_path: Path, text: str) -> list[tuple[int | None, str, str]]:
    path = tmp_path / "readings.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_readings(path, L)
    assert all(p.remedy for p in caught.value.problems)
    return [(p.line, p.key, p.rule) for p in caught.value.problems]


@pytest.mark.parametrize(
    ("row", "key", "rule"),
    [
        ("5 kg,side,0.75 m,2.5 m,side,0.7 m,,,3 mm,", "load_arm", "within 2 m"),
        ("5 kg,side,0.75 m,,side,0.7 m,-3 m,,3 mm,", "gauge_arm", "within 2 m"),
        ("5 kg,side,0.75 m,,twist,0.7 m,20 mm,,1 deg,", "gauge_arm", "a twist has no arm"),
        ("5 kg,side,0.75 m,,side,0.7 m,,300 mm,3 mm,", "spacing", "is for a twist read by two gauges"),
        ("5 kg,side,0.75 m,,twist,0.7 m,,9 mm,3 mm,", "spacing", "must be from 10 mm"),
        ("5 kg,side,0.75 m,,side,0.7 m,,,3 mm,0 mm", "error", "must be more than nothing"),
        ("5 kg,side,0.75 m,,side,0.7 m,,,3 mm,-1 mm", "error", "must be more than nothing"),
        ("5 kg,side,0.75 m,,side,0.7 m,,,30 m,", "reading", "far beyond what a bench shows"),
        ("5 kg,side,0.75 m,,twist,0.7 m,,,50 deg,", "reading", "far beyond what a bench shows"),
        (",side,0.75 m,,side,0.7 m,,,3 mm,", "load", ""),
    ],
)
def test_a_fault_of_a_row_is_told_once_with_its_line(
    tmp_path: Path, row: str, key: str, rule: str
) -> None:
    ((line, found, words),) = told(tmp_path, HEAD + row + "\n")
    assert (line, found) == (2, key)
    assert rule in words


def test_more_faults_than_anyone_reads_are_counted(tmp_path: Path) -> None:
    row = "5 kg,sideways,0.75 m,,side,0.7 m,,,3 mm,\n"
    found = told(tmp_path, HEAD + row * (PROBLEMS_SHOWN + 3))
    assert len(found) == PROBLEMS_SHOWN + 1
    assert found[-1][2] == "has 3 more faults"


def test_a_file_that_is_no_sheet_of_readings(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is a folder"):
        read_readings(tmp_path, L)
    large = tmp_path / "large.csv"
    large.write_bytes(b"#" * (MAST_BYTES + 1))
    with pytest.raises(InputError, match="is larger than 1 MB"):
        read_readings(large, L)
    with pytest.raises(InputError, match="cannot be read"):
        read_readings(tmp_path / "a\0b.csv", L)


def test_beyond_the_tip_what_is_joined_to_it_is_rigid() -> None:
    # A wing's gauge at L + d reads the tip's movement and d times its slope, which under a force P at
    # the tip is P L² / 2 EI for a uniform cantilever.
    solved = slim()
    d = 0.08
    tip, past = (Gauge(kind=GaugeKind.SIDE, z=L + k * d, part=Part.FOIL) for k in (0, 1))
    load = replace(at_tip(Direction.SIDE), part=Part.FOIL)
    higher = replace(load, z=L + d)
    model = BenchModel(solved, [L])

    def read(load: Load, gauge: Gauge) -> float:
        (columns,), (rest,) = model.rows([load], [gauge])
        return float(columns @ model.nominal + rest)

    slope = L**2 / (2 * solved.sections[0].properties.EIxx)
    assert read(load, past) - read(load, tip) == pytest.approx(d * slope, rel=1e-6)
    # Maxwell: load and gauge may change places.
    assert read(higher, tip) == pytest.approx(read(load, past), rel=1e-12)


@pytest.mark.parametrize("direction", [Direction.SIDE, Direction.FORE_AFT])
def test_a_bench_load_of_the_balance_moves_the_mast_as_the_equations_say(direction: Direction) -> None:
    # Two methods: a column of the linear equations, and the balance of dead forces on the moved mast
    # under a load so small that second order is hardly anything: it moves by 1 % of its length.
    model = BenchModel(slim(), [0.6 * L, L])
    load = Load(direction=direction, z=0.6 * L, arm=0.1)
    amount = 20.0
    state = model.frame.solve([model.tip_load(load, amount)])
    end = np.concatenate([state.displacement[0, -1], state.rotation[0, -1]])
    assert state.converged.all()
    gauges = [Gauge(kind=kind, z=L) for kind in GaugeKind]
    columns, rest = model.rows([load] * 3, gauges)
    expected = (columns @ model.nominal + rest) * amount
    place = {GaugeKind.SIDE: 1, GaugeKind.FORE_AFT: 0, GaugeKind.TWIST: 5}
    got = [end[place[g.kind]] for g in gauges]
    assert got == pytest.approx(expected, rel=2e-3, abs=1e-3 * np.abs(expected).max())


def test_a_torque_has_no_second_order() -> None:
    model = BenchModel(slim(), [L])
    load, gauge = at_tip(Direction.TORQUE), Gauge(kind=GaugeKind.TWIST, z=L)
    assert not model.second_order([load], np.array([200.0]), [gauge]).any()
    with pytest.raises(ValueError, match="a couple is no dead force"):
        model.tip_load(load, 200.0)


def test_a_place_without_a_node_is_no_place() -> None:
    model = BenchModel(slim(), [0.5 * L])
    with pytest.raises(ValueError, match=r"no node at z = 0\.123"):
        model.rows([at_tip(Direction.SIDE)], [Gauge(kind=GaugeKind.SIDE, z=0.123)])


def test_a_section_that_cannot_be_built_is_told_with_its_mast() -> None:
    with pytest.raises(GeometryError, match=r"^test mast: section: "):
        bench_model(Job(mast=mast(wall=0.02)))
    with pytest.raises(GeometryError, match=r"^own\.toml: section: "):
        bench_model(Job(mast=mast(wall=0.02), file="own.toml"))


def test_large_loads_are_read_with_their_second_order() -> None:
    # 60 kg at the tip of the slim mast: its deflection changes the lever by more than 1 %.
    readings = [
        replace(r, amount=r.amount * 8)
        for r in ladder(at_tip(Direction.SIDE, ARM), Gauge(kind=GaugeKind.TWIST, z=L), (5.0, 10.0, 15.0))
    ]
    model = on_bench(slim(), readings)
    more = model.second_order(
        [r.load for r in readings], np.array([r.amount for r in readings]), [r.gauge for r in readings]
    )
    values = true_values(model, readings, TRUE)
    assert np.abs(more).max() > 0.01 * np.abs(values).max()
    given = with_values(readings, values, errors(readings))
    with_it, without = (fit(model, given, second_order=on) for on in (True, False))
    assert with_it.second_order
    assert not without.second_order
    assert with_it.predicted - without.predicted == pytest.approx(more)


def test_too_few_readings_leave_an_unknown_open() -> None:
    a = np.array([[1.0, 2.0]])
    with pytest.raises(ValueError, match="not enough readings"):
        solve(a, np.array([1.0]), np.ones(1))
    with pytest.raises(ValueError, match="not enough readings"):
        solve(np.array([[1.0, 0.0]] * 3), np.ones(3), np.ones(3))


def test_a_reading_is_not_judged_where_none_is_left_over() -> None:
    # Three readings, two unknowns: whichever is off, the one degree of freedom is its own.
    found = solve(np.array([[1.0, 0], [1, 1], [1, 2]]), np.array([0.0, 5.0, 0.0]), np.ones(3))
    assert found.dof == 1
    assert not studentised(found).any()
    # Four, and the third is off: it alone stands out.
    line = np.array([[1.0, k] for k in range(6)])
    out = studentised(solve(line, np.array([0.0, 1.01, 2, 8, 4.01, 5]), np.ones(6)))
    assert int(np.abs(out).argmax()) == 3


def test_unknowns_as_many_as_readings_have_no_error() -> None:
    readings = [
        Reading(
            load=at_tip(Direction.SIDE), amount=50.0, gauge=Gauge(kind=GaugeKind.SIDE, z=z), value=0.0
        )
        for z in (0.5 * L, L)
    ]
    model = on_bench(slim(), readings)
    found = fit(
        model,
        with_values(3 * readings, true_values(model, 3 * readings, TRUE), errors(3 * readings)),
        second_order=False,
    )
    first_two = np.arange(6) < 2
    assert np.isinf(standard_errors(found.design, (0, 3), (), found.sigma, first_two)).all()
    assert np.isfinite(standard_errors(found.design, (0, 3), (), found.sigma, np.ones(6, bool))).all()


def test_an_unknown_that_one_gauge_cannot_pin_down_is_given_two() -> None:
    # A coarse ruler, told so: no single further gauge brings the base joint within its bound.
    readings = sheet(side=(1.0,), fore_aft=(), twist=())
    model = on_bench(slim(), readings)
    single: dict[float, int] = {}
    for error in (1e-4, 1e-3, 3e-3, 6e-3, 1.0):
        given = with_values(readings, true_values(model, readings, TRUE), np.full(len(readings), error))
        found = fit(model, given, second_order=False)
        for s in suggestions(found):
            assert s.after < 0.8 * s.before
            assert s.enough == (s.after < 0.1)
            single[error] = len(s.gauges)
    assert single[1e-4] == 1
    assert 2 in single.values()
    # Where even two would tell nothing, nothing is proposed.
    assert 1.0 not in single


def test_the_foil_is_proposed_to_be_read_where_only_the_weight_hung_on_it() -> None:
    load = Load(direction=Direction.SIDE, z=L, arm=ARM, part=Part.FOIL)
    gauge = Gauge(kind=GaugeKind.TWIST, z=L)
    readings = ladder(load, gauge, (5.0, 10.0, 15.0))
    readings += ladder(replace(load, arm=-ARM), gauge, (5.0, 10.0, 15.0))
    model = on_bench(slim(), readings)
    given = with_values(readings, true_values(model, readings, TRUE), errors(readings))
    found = fit(model, given, second_order=False)
    assert found.unknown("tip_twist").status is Status.NOT_SEEN
    (tip,) = [s for s in suggestions(found) if s.name == "tip_twist"]
    assert tip.load.part is Part.FOIL
    assert any(g.part is Part.FOIL and g.z == L for g in tip.gauges)


def twisted(amounts: tuple[float, ...]) -> list[Reading]:
    """A twist gauge at the tip under weights on either side of the mast; a minus is the other side."""
    gauge = Gauge(kind=GaugeKind.TWIST, z=L)
    return [
        Reading(
            load=at_tip(Direction.SIDE, ARM if a >= 0 else -ARM), amount=abs(a), gauge=gauge, value=0.0
        )
        for a in amounts
    ]


@pytest.mark.parametrize(
    "amounts",
    [
        # One weight either way: what a gap adds is what a softer joint would.
        (50.0, -50.0) * 4,
        # Three readings: joint, gap and the gauge's zero fit any three numbers.
        (50.0, -50.0, 100.0),
    ],
    ids=["one weight", "three readings"],
)
def test_nothing_is_said_of_play_that_cannot_be_told_from_give(amounts: tuple[float, ...]) -> None:
    readings = twisted(amounts)
    model = on_bench(slim(), readings)
    play = {"base_twist": np.radians(0.5)}
    given = with_values(readings, true_values(model, readings, TRUE, play), errors(readings))
    found = fit(model, given, second_order=False)
    assert all(p.status is Status.NOT_SEEN and p.interval is None for p in found.plays)


def test_play_is_found_by_a_second_weight() -> None:
    readings = twisted((50.0, -50.0, 100.0, -100.0) * 2)
    model = on_bench(slim(), readings)
    play = {"base_twist": np.radians(0.5)}
    given = with_values(readings, true_values(model, readings, TRUE, play), errors(readings))
    (loose,) = [p for p in fit(model, given, second_order=False).plays if p.status is Status.FITTED]
    assert loose.name == "base_twist"
    assert loose.value == pytest.approx(np.radians(0.5))


def test_a_twist_by_two_gauges_has_the_error_of_a_length() -> None:
    kinds = [
        ClassNoise(kind=kind, paired=paired, size=1e-4, found=False).is_angle
        for kind, paired in ((GaugeKind.TWIST, False), (GaugeKind.TWIST, True), (GaugeKind.SIDE, False))
    ]
    assert kinds == [True, False, False]


class TestTolerance:
    def test_walls_of_single_faces_are_as_any_other(self) -> None:
        plain = mast((0.12, 0.015), (0.12, 0.015), wall=0.0025)
        faces = replace(
            plain, stations=tuple(replace(s, wall=Wall.uniform(0.0025)) for s in plain.stations)
        )
        one, other = tolerance(plain), tolerance(faces)
        assert any(words.startswith("wall ±") for words in other.words)
        for way in ("side", "fore-aft", "twist"):
            assert other.of(way) == pytest.approx(one.of(way), rel=1e-3)
        # Thin walls: 0.2 mm on 2.5 mm is 8 % of the metal, less what it loses in height.
        assert 0.05 < other.EI_fore_aft < 0.11

    def test_a_change_that_cannot_be_built_is_left_out_and_not_said(self) -> None:
        # Walls of 6.6 mm in 15 mm leave a hollow; walls of 6.8 mm are refused, as too thin a hollow.
        thick = mast((0.12, 0.015), (0.12, 0.015), wall=0.0066)
        made = tolerance(thick)
        assert not any(words.startswith("wall") for words in made.words)
        assert made.words[1].startswith("thickness of the section")
        assert made.EI_side > METAL


def test_without_a_strength_the_weights_stop_at_a_strain() -> None:
    # Second method: strain M y / EI at the base of a uniform mast. Soft, so that it is strain which
    # decides and not the largest weight at hand; thick, so that it is not how far the tip moves.
    soft = replace(ALUMINIUM, proof_strength=None, ultimate_strength=None, E=5e9, G=1.9e9)
    blade = mast((0.12, 0.030), (0.12, 0.030), material=soft)
    model = bench_model(Job(mast=blade), plan_places(L))
    points, p = model.solved.sections[0].basis.points, model.solved.sections[0].properties
    steps = {step.name: step for step in plan(model, tolerance(blade)).steps}
    assert all(step.utilisation is None for step in steps.values())
    reach = {"side": np.abs(points[:, 1]), "fore-aft": np.abs(points[:, 0] - p.centroid_x)}
    for name, EI in (("side", p.EIxx), ("fore-aft", p.EIyy)):
        assert steps[name].stop_mass < HANDY[-1]
        moment = steps[name].stop_mass * GRAVITY * L
        assert moment * reach[name].max() / EI == pytest.approx(MOST_STRAIN, rel=0.03)


def test_a_weight_under_which_no_balance_is_found_is_not_taken_for_none() -> None:
    # So stiff that the rounding of its forces is more than the weight: no mast, but nothing is known.
    stiff = replace(ALUMINIUM, E=7e12, G=2.6e12)
    blade = mast((2.0, 1.0), (2.0, 1.0), material=stiff)
    model = bench_model(Job(mast=blade), plan_places(L))
    with pytest.raises(InputError, match="finds no balance under a weight of 10 kg"):
        plan(model, tolerance(blade))
