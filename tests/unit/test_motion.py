"""The foil and the speeds of a mast file, and what a check says of motion."""

from __future__ import annotations

import dataclasses
import io
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

import mastcheck
from mastcheck.beam.solve import FrameModel
from mastcheck.checks.motion import motion, motion_cautions, motion_checks, motion_ratios
from mastcheck.checks.result import Verdict
from mastcheck.checks.stations import solve_stations
from mastcheck.cli.motion_tables import print_motion
from mastcheck.errors import InputError
from mastcheck.foil import Foil, Wing
from mastcheck.job import Job
from mastcheck.motion.shedding import LockIn
from mastcheck.report.content import content
from mastcheck.report.json import RESULT_SCHEMA, result_json
from mastcheck.report.motion import met
from tests.masts import mast

FILE = """
[mast]
name = "Test 75"
length = "750 mm"
[[mast.station]]
at = 0.0
chord = "150 mm"
thickness = "18 mm"
[[mast.station]]
at = 1.0
chord = "100 mm"
thickness = "14 mm"
[section]
outline = "naca-4-digit"
construction = "solid"
trailing_edge_thickness = "1 mm"
material = "EN AW-6082-T6"
[conditions]
wet_fraction = 0.5
speed = {speed}
water_density = "1000 kg/m3"
[foil]
mass = "1.6 kg"
{foil}
"""
WING = 'area = "0.12 m2"\nspan = "850 mm"\nwing_ahead = "120 mm"\n'
FOIL = Foil(
    mass=1.6, ahead=0.06, below=0.02, roll_inertia=0.05, pitch_inertia=0.06, yaw_inertia=0.1,
    wing=Wing(area=0.12, span=0.85, ahead=0.12),
)  # fmt: skip


def read(tmp_path: Path, foil: str = "", speed: str = '["4 m/s", "36 km/h"]', more: str = "") -> Job:
    path = tmp_path / "mast.toml"
    path.write_text(FILE.format(foil=foil, speed=speed) + more, encoding="utf-8")
    return mastcheck.load(path)


def test_a_file_with_a_foil(tmp_path: Path) -> None:
    foil = (
        'ahead = "60 mm"\nbelow = "2 cm"\nroll_inertia = "0.05 kg m2"\nyaw_inertia = "0.1 kg·m²"\n'
        f'{WING}dihedral = "-5 deg"\nlift_slope = 4.2\n'
    )
    job = read(tmp_path, foil, more="[limits]\ndivergence_margin = 1.5\n")
    assert job.foil is not None
    assert job.foil.wing is not None
    assert (job.foil.mass, job.foil.ahead, job.foil.below) == (1.6, 0.06, 0.02)
    assert (job.foil.roll_inertia, job.foil.pitch_inertia, job.foil.yaw_inertia) == (0.05, 0.0, 0.1)
    assert job.foil.wing == Wing(
        area=0.12, span=0.85, ahead=0.12, dihedral=math.radians(-5), lift_slope=4.2
    )
    assert (job.speeds, job.water_density, job.divergence_margin) == ((4.0, 10.0), 1000.0, 1.5)
    assert any("pitch_inertia not stated and taken as 0" in note for note in job.notes)


def test_what_a_silent_file_is_taken_for(tmp_path: Path) -> None:
    plain = FILE.split("[conditions]")[0]
    path = tmp_path / "mast.toml"
    path.write_text(plain, encoding="utf-8")
    job = mastcheck.load(path)
    assert job.foil is None
    assert (job.speeds, job.water_density, job.divergence_margin) == ((3.0, 12.0), 1026.0, None)
    assert any(note.startswith("speeds from 3 to 12 m/s assumed") for note in job.notes)
    assert any(note.startswith("water of 1026 kg/m3") for note in job.notes)
    assert read(tmp_path, speed='"8 m/s"').speeds == (8.0, 8.0)


@pytest.mark.parametrize(
    ("foil", "speed", "key", "words"),
    [
        ('area = "0.12 m2"', '"8 m/s"', "foil.area", "needs span, wing_ahead"),
        ("lift_slope = 4.0", '"8 m/s"', "foil.lift_slope", "needs area, span, wing_ahead"),
        (WING.replace("850 mm", "85 mm"), '"8 m/s"', "foil.span", "aspect ratio"),
        ('roll_inertia = "0.05 kg"', '"8 m/s"', "foil.roll_inertia", "unit of mass"),
        ('roll_inertia = "-1 kg m2"', '"8 m/s"', "foil.roll_inertia", "must be from"),
        ('inertia = "1 kg m2"', '"8 m/s"', "foil.inertia", "unknown key"),
        ("", '["12 m/s", "3 m/s"]', "conditions.speed", "slowest speed comes first"),
        ("", '["1 m/s", "2 m/s", "3 m/s"]', "conditions.speed", "must be one speed"),
        ("", "8", "conditions.speed", "bare number"),
        ("", '["3 m/s", "8"]', "conditions.speed", "bare number"),
    ],
)
def test_faults_of_the_foil_are_told(
    tmp_path: Path, foil: str, speed: str, key: str, words: str
) -> None:
    with pytest.raises(InputError) as caught:
        read(tmp_path, foil, speed)
    (problem,) = caught.value.problems
    assert problem.key == key
    assert words in problem.rule + problem.remedy


@pytest.fixture(scope="module")
def job() -> Job:
    made = mast(length=0.75)
    section = replace(made.section, trailing_edge_radius=0.0005)
    return Job(mast=replace(made, section=section), foil=FOIL, cases=())


@pytest.fixture(scope="module")
def solved(job: Job):
    return solve_stations(job.mast)


def test_motion_of_a_job(job: Job, solved) -> None:
    found = motion(job, solved)
    assert len(found.in_air) == len(found.in_water) == 6
    for modes in (found.in_air, found.in_water):
        assert [m.frequency for m in modes] == sorted(m.frequency for m in modes)
        for mode in modes:
            assert mode.shares.sum() == pytest.approx(1.0)
            assert max(np.abs([mode.side, mode.fore_aft, mode.twist]).max(axis=1)) <= 1.0 + 1e-12
    # Water only ever adds mass, so by Rayleigh no mode of a rank can be faster in it.
    for dry, wet in zip(found.in_air, found.in_water, strict=True):
        assert wet.frequency <= dry.frequency
    bare = motion(replace(job, foil=None), solved)
    assert bare.in_air[0].frequency > found.in_air[0].frequency
    assert bare.pitch_speed is None
    assert found.pitch_speed is not None
    assert found.twist_speed == pytest.approx(bare.twist_speed)
    dry_mast = motion(replace(job, wet_fraction=0.0, foil=None), solved)
    assert [m.frequency for m in dry_mast.in_water] == pytest.approx(
        [m.frequency for m in dry_mast.in_air]
    )
    assert math.isinf(dry_mast.twist_speed)
    assert "water" in dry_mast.shedding.why


def test_a_wing_that_is_not_stated_moves_no_water(job: Job, solved) -> None:
    bare = replace(FOIL, wing=None)
    assert (
        motion(replace(job, foil=bare), solved).in_water[0].frequency
        > motion(job, solved).in_water[0].frequency
    )


def test_divergence_does_not_depend_on_the_size_of_the_elements(job: Job, solved) -> None:
    from mastcheck.motion.divergence import divergence

    def found(elements: int):
        frame = FrameModel(solved.model, keep=[0.3], elements=elements)
        return divergence(job.mast, frame, FOIL, level=0.3)

    coarse, fine = found(40), found(120)
    assert coarse.twist == pytest.approx(fine.twist, rel=1e-3)
    assert coarse.pitch == pytest.approx(fine.pitch, rel=1e-3)


def test_the_margin_is_judged_only_where_one_is_set(job: Job, solved) -> None:
    found = motion(job, solved)
    ratio = found.divergence_speed / 12.0
    assert motion_checks(job, found) == ()
    assert any("not judged" in c for c in motion_cautions(job, found))
    held, missed = (
        motion_checks(replace(job, divergence_margin=m), found)[0] for m in (ratio * 0.9, ratio * 1.1)
    )
    assert (held.verdict, missed.verdict) == (Verdict.PASS, Verdict.FAIL)
    assert held.value == pytest.approx(ratio)
    assert held.utilisation == pytest.approx(0.9)
    never = dataclasses.replace(found, twist_speed=math.inf, pitch_speed=None)
    (check,) = motion_checks(replace(job, divergence_margin=2.0), never)
    assert (check.verdict, check.utilisation) == (Verdict.PASS, 0.0)


def test_a_bare_mast_says_so(job: Job, solved) -> None:
    bare = replace(job, foil=None)
    assert any("bare mast" in c for c in motion_cautions(bare, motion(bare, solved)))
    assert not any("bare mast" in c for c in motion_cautions(job, motion(job, solved)))


@pytest.mark.parametrize(
    ("speeds", "words"),
    [((3.0, 12.0), "yes"), ((6.0, 12.0), "its band only"), ((9.0, 12.0), "no"), ((1.0, 2.0), "no")],
)
def test_whether_shedding_meets_a_mode(speeds: tuple[float, float], words: str) -> None:
    lock = LockIn(mode="twist 1", frequency=300.0, speed=5.0, slowest=2.5, fastest=8.0)
    assert met(lock, speeds) == words


@pytest.fixture(scope="module")
def result(job: Job):
    return mastcheck.check(replace(job, divergence_margin=1.2, cases=()))


def test_the_result_file_holds_the_motion(result) -> None:
    data = json.loads(result_json([result]))["masts"][0]
    found = data["motion"]
    wanted = RESULT_SCHEMA["$defs"]["motion"]
    assert set(found) == set(wanted["required"]) == set(wanted["properties"])
    for part in ("shedding", "divergence"):
        assert set(found[part]) == set(wanted["properties"][part]["required"])
    assert found["foil_mass_kg"] == 1.6
    assert found["divergence"]["pitch_m_per_s"] == pytest.approx(result.motion.pitch_speed)
    assert len(found["in_water"][0]["shape"]["z_m"]) == len(found["in_water"][0]["shape"]["side"])
    assert {"added mass of the mast", "divergence"} <= {s["what"] for s in data["sources"]}
    assert data["checks"][-1]["name"].startswith("divergence speed")
    silent = json.loads(result_json([dataclasses.replace(result, motion=None)]))["masts"][0]
    assert silent["motion"] is None


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_report_shows_the_motion(result, units) -> None:
    page = content(mastcheck.compare([result]), units=units)
    (shown,) = page["motion"]
    assert [row[3] for row in shown["modes"]["rows"]] == [m.name for m in result.motion.in_water]
    assert len(shown["shedding"]["rows"]) == 12
    assert ("kn" in shown["words"][0]) == (units == "imperial")
    picture = page["pictures"]["modes A"]
    assert "twist" in picture["alt"]
    assert picture["svg"].startswith("<?xml")
    silent = content(mastcheck.compare([dataclasses.replace(result, motion=None)]))
    assert silent["motion"] == []
    assert "modes A" not in silent["pictures"]


def test_the_terminal_shows_the_motion(result) -> None:
    console = Console(width=120, record=True, file=io.StringIO())
    print_motion(console, result, "metric")
    text = console.export_text()
    assert "side bending 1" in text
    assert "Divergence in pitch" in text
    print_motion(console, dataclasses.replace(result, motion=None), "metric")
    assert console.export_text() == ""


def test_masts_side_by_side(result) -> None:
    rows = {r.name: r for r in motion_ratios([result, result])}
    assert rows["side bending 1, in water"].ratios == (1.0, 1.0)
    assert rows["divergence in pitch"].unit == "m/s"
    assert motion_ratios([dataclasses.replace(result, motion=None)]) == ()
