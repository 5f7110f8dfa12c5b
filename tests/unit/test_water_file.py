"""[conditions] and [[wing]] of a mast file: what is read, what is refused, what is said of silence."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from mastcheck.conditions import WATER_CASES, Conditions, Discipline, WaterKind
from mastcheck.disciplines import USUAL
from mastcheck.files.mastfile import load
from mastcheck.files.materials import DATA
from mastcheck.files.publish import mast_file_schema
from mastcheck.foil import Foil, Wing
from mastcheck.job import Job
from tests.unit.test_mastfile import GOOD, problems, written

PROFILE = Path(__file__).parents[2] / "profiles" / "aluminium-75-quiver.toml"
BODY = '[foil]\nmass = "1 kg"\nahead = "-100 mm"\nbelow = "10 mm"\nyaw_inertia = "0.05 kg m2"\n'
WING = '[[wing]]\nname = "one"\narea = "1200 cm2"\nspan = "900 mm"\nmass = "1 kg"\nahead = "150 mm"\n'
OTHER = WING.replace("one", "two").replace("900 mm", "1 m")


def read(tmp_path: Path, text: str) -> Job:
    return load(written(tmp_path, GOOD + text))


def only(tmp_path: Path, text: str) -> str:
    (line,) = problems(tmp_path, GOOD + text)
    return line


def said(job: Job, words: str) -> bool:
    return any(words in note for note in job.notes)


def test_every_condition_is_read_in_si(tmp_path: Path) -> None:
    job = read(
        tmp_path,
        '[conditions]\nwater = "fresh"\nwater_temperature = "50 °F"\nride_height = "30 cm"\n'
        'roughness = "0.05 mm"\nboard_width = "45 cm"\nwave_height = "0.4 m"\nspeed = "18 km/h"\n'
        'fuselage_width = "35 mm"\nturn_speed = "36 km/h"\nturn_radius = "9 m"\nturn_bank = "30 deg"\n'
        'pump_frequency = "1.5 Hz"\npump_amplitude = "12 cm"\nstrike_speed = "7 m/s"\n'
        'stop_distance = "0.5 m"\n',
    )
    assert job.conditions == Conditions(
        kind=WaterKind.FRESH, temperature=pytest.approx(10.0), ride_height=0.3, roughness=5e-5,
        board_width=0.45, wave_height=0.4, fuselage_width=0.035, turn_speed=10.0, turn_radius=9.0,
        turn_bank=math.radians(30), pump_frequency=1.5, pump_amplitude=0.12, strike_speed=7.0,
        stop_distance=0.5,
    )  # fmt: skip
    assert job.speeds == (5.0, 5.0)
    # Fresh water at 10 °C, CRC Handbook's 999.70 kg/m³.
    assert job.water_density == pytest.approx(999.70, abs=0.01)
    assert job.wet == pytest.approx(1 - 0.30 / 0.75)
    assert job.water_loads == WATER_CASES


def test_a_silent_file_is_as_it_was(tmp_path: Path) -> None:
    job = read(tmp_path, "")
    assert job.conditions == Conditions()
    assert (job.quiver, job.foil, job.water_loads, job.water_density) == ((), None, (), 1026.0)
    assert job.wet == 0.6
    assert said(job, "a wing of 1200 cm2 and 900 mm span assumed")
    assert said(job, "turn speed, turn radius, turn bank")
    assert said(job, "are the tool's defaults (common practice, no source)")


@pytest.mark.parametrize("kind", list(Discipline))
def test_each_discipline_fills_what_is_silent(tmp_path: Path, kind: Discipline) -> None:
    usual = USUAL[kind]
    job = read(tmp_path, f'[conditions]\ndiscipline = "{kind}"\n')
    assert job.conditions == usual.conditions
    assert job.speeds == usual.speeds
    assert job.conditions.ride_height is not None
    assert said(job, f"ride height {job.conditions.ride_height * 1e3:g} mm is usual for {kind}")
    assert said(job, f"are usual for {kind} (common practice, no source)")
    stated = read(
        tmp_path,
        f'[conditions]\ndiscipline = "{kind}"\nturn_radius = "33 m"\nspeed = "5 m/s"\n'
        'ride_height = "111 mm"\n',
    )
    assert stated.conditions.turn_radius == 33.0
    assert stated.speeds == (5.0, 5.0)
    assert stated.conditions.ride_height == pytest.approx(0.111)
    assert stated.conditions.wave_height == usual.conditions.wave_height
    assert not said(stated, "ride height")


def test_a_stated_wet_fraction_is_a_ride_height_in_other_words(tmp_path: Path) -> None:
    job = read(tmp_path, '[conditions]\ndiscipline = "surf"\nwet_fraction = 0.4\n')
    assert (job.conditions.ride_height, job.wet) == (None, 0.4)


def test_a_short_mast_is_not_lifted_out_by_a_usual_ride_height(tmp_path: Path) -> None:
    text = GOOD.replace("750 mm", "400 mm") + '[conditions]\ndiscipline = "surf"\n'
    job = load(written(tmp_path, text))
    assert USUAL[Discipline.SURF].conditions.ride_height == 0.35
    assert (job.conditions.ride_height, job.wet) == (None, 0.6)


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        ('water = "salt"', "conditions.water", "sea"),
        ("water_temperature = 15", "conditions.water_temperature", "with its unit"),
        ('water_temperature = "60 °C"', "conditions.water_temperature", "35 °C"),
        ('water_temperature = "15"', "conditions.water_temperature", "with its unit"),
        ('discipline = "racing"', "conditions.discipline", "surf"),
        ('ride_height = "800 mm"', "conditions.ride_height", "lifts the whole mast of 750 mm out"),
        ('ride_height = "300 mm"\nwet_fraction = 0.5', "conditions.wet_fraction", "ride_height"),
        ('water = "sea"\nwater_density = "1020 kg/m3"', "conditions.water_density", "says again"),
        ('water_temperature = "9 °C"\nwater_density = "1020 kg/m3"', "conditions.water_density",
         "says again what water_temperature says"),
        ('turn_bank = "85 deg"', "conditions.turn_bank", "80"),
        ('turn_radius = "0 m"', "conditions.turn_radius", "0.5 m"),
        ('stop_distance = "0 m"', "conditions.stop_distance", "10 mm"),
        ('strike_speed = "7"', "conditions.strike_speed", "unit"),
        ('roughness = "-1 mm"', "conditions.roughness", "must be from"),
        ("depth = 3", "conditions.depth", "unknown key"),
    ],
)  # fmt: skip
def test_faults_of_the_conditions_are_told(tmp_path: Path, text: str, key: str, words: str) -> None:
    line = only(tmp_path, f"[conditions]\n{text}\n")
    assert key in line
    assert words in line


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        (WING.replace("900 mm", "90 mm"), "wing[0].span", "aspect ratio"),
        (WING + WING, "wing[1].name", "names two wings"),
        (WING.replace('mass = "1 kg"\n', ""), "wing[0]", "mass"),
        (WING.replace("150 mm", "150"), "wing[0].ahead", "unit"),
        (WING + "chord = 3\n", "wing[0].chord", "unknown key"),
        (WING + "lift_slope = 40.0\n", "wing[0].lift_slope", "10"),
        (BODY + 'area = "1200 cm2"\nspan = "900 mm"\nwing_ahead = "0.1 m"\n' + WING, "foil.area",
         "beside the [[wing]] entries"),
    ],
)  # fmt: skip
def test_faults_of_the_wings_are_told(tmp_path: Path, text: str, key: str, words: str) -> None:
    line = only(tmp_path, text)
    assert key in line
    assert words in line


def test_fuselage_and_wing_are_one_body(tmp_path: Path) -> None:
    """Masses 1 and 1 kg at -0.1 and +0.15 m: centre 0.025 m, 2 x 0.125² kg m² more about it."""
    job = read(tmp_path, BODY + WING + OTHER)
    one, two = job.quiver
    assert (one.name, two.name) == ("one", "two")
    assert job.foil == one.foil
    apart, bar = 2 * 0.125**2, 0.9**2 / 12
    assert one.foil == Foil(
        mass=2.0, ahead=pytest.approx(0.025), below=0.01, roll_inertia=pytest.approx(bar),
        pitch_inertia=pytest.approx(apart), yaw_inertia=pytest.approx(0.05 + apart + bar),
        wing=Wing(area=0.12, span=0.9, ahead=0.15),
    )  # fmt: skip
    assert two.foil.wing is not None
    assert two.foil.wing.span == 1.0
    assert job.water_loads == WATER_CASES
    assert not said(job, "a wing of")
    assert said(job, "level (dihedral 0) assumed of one, two")
    assert said(job, "lift slope of one, two from the aspect ratio")
    assert said(job, "takes half the span of each wing as its arm")


def test_a_wing_without_a_fuselage_is_said_to_lack_its_mass(tmp_path: Path) -> None:
    job = read(tmp_path, WING + 'dihedral = "4 deg"\nlift_slope = 4.0\n')
    (one,) = job.quiver
    assert one.foil.mass == 1.0
    assert one.foil.ahead == 0.15
    assert one.foil.wing is not None
    assert (one.foil.wing.dihedral, one.foil.wing.lift_slope) == (math.radians(4), 4.0)
    assert said(job, "no fuselage stated")
    assert not said(job, "wings: level")
    assert not said(job, "wings: lift slope")


def test_a_strike_of_the_file_is_said_to_keep_its_arm(tmp_path: Path) -> None:
    job = read(tmp_path, WING + '[[load_case]]\nname = "wingtip-strike"\nstrength_factor = 1.2\n')
    assert said(job, "its arm does not follow the span")


def test_the_shipped_quiver() -> None:
    job = load(PROFILE)
    assert [w.foil.wing.area for w in job.quiver if w.foil.wing] == pytest.approx([0.08, 0.13, 0.24])
    assert "invented" in PROFILE.read_text(encoding="utf-8").lower()


def test_the_published_schema_is_that_of_the_types() -> None:
    published = json.loads((DATA / "mast-file.schema.json").read_text(encoding="utf-8"))
    assert published == mast_file_schema()
    assert {"WingTable", "ConditionsTable"} <= set(published["$defs"])
