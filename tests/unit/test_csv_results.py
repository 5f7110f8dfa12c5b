"""Tables of fatigue, of samples and of uneven walls: what a file holds is what was found."""

from __future__ import annotations

import csv
import dataclasses
import io

import pytest

from mastcheck.checks.result import MastResult
from mastcheck.checks.tolerance_result import Chance, TolerancesResult
from mastcheck.mast import Wall
from mastcheck.report.csv_tables import csv_files
from mastcheck.strength.fatigue import FatigueResult
from tests.reports import compare, make_mast
from tests.unit.test_fatigue_words import ASKED, worst

Rows = list[dict[str, str]]


def tables(mast: MastResult) -> dict[str, Rows]:
    """Rows by table."""
    files = csv_files(compare(mast))
    return {
        name.removesuffix(".csv"): list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"))))
        for name, data in files.items()
    }


def test_fatigue_is_told_with_every_range() -> None:
    found = FatigueResult(fatigue=ASKED, worst=(worst(), worst("liner", None)))
    told = tables(dataclasses.replace(make_mast(), fatigue=found))
    assert [(r["case"], float(r["cycles"])) for r in told["fatigue-cycles"]] == list(ASKED.cycles)
    ranges = [(r["material"], r["case"], float(r["range_MPa"])) for r in told["fatigue-ranges"]]
    assert ranges == [
        ("metal", "carve", 41.5),
        ("metal", "pump", 12.25),
        ("liner", "carve", 41.5),
        ("liner", "pump", 12.25),
    ]
    assert {float(r["max_at_z_m"]) for r in told["fatigue-ranges"]} == {0.1}
    damage = {r["material"]: (r["damage"], r["utilisation"]) for r in told["fatigue"]}
    assert damage == {"metal": ("0.4", "0.76"), "liner": ("", "")}
    (curve,) = told["fatigue-curve"]
    assert float(curve["delta_sigma_c_MPa"]) == 36.0


def test_nothing_of_fatigue_is_written_where_none_was_asked_for() -> None:
    assert not [name for name in tables(make_mast()) if name.startswith(("fatigue", "tolerance"))]


def chance(name: str, case: str, exceeded: int) -> Chance:
    return Chance(name=name, case=case, used=0.9, exceeded=exceeded, count=1000, low=0.0, high=0.02)


@pytest.fixture(scope="module")
def sampled() -> dict[str, Rows]:
    found = TolerancesResult(
        tolerances=(),
        bands=(),
        samples=1000,
        seed=7,
        refused=3,
        chances=(chance("side", "carve", 5), chance("side", "pump", 0)),
        any_limit=chance("", "", 6),
    )
    return tables(dataclasses.replace(make_mast(), tolerances=found))


def test_every_limit_has_its_count_beside_the_seed(sampled: dict[str, Rows]) -> None:
    rows = sampled["tolerance-chances"]
    assert [(r["name"], r["case"], r["exceeded"]) for r in rows] == [
        ("any limit", "", "6"),
        ("side", "carve", "5"),
        ("side", "pump", "0"),
    ]
    assert {(r["seed"], r["refused"]) for r in rows} == {("7", "3")}


def test_walls_are_written_by_face_and_chord() -> None:
    mast = make_mast()
    own = mast.job.mast
    wall = Wall(port=((0.0, 0.002), (0.5, 0.003)), starboard=((0.0, 0.0025),))
    stations = (dataclasses.replace(own.stations[0], wall=wall), own.stations[1])
    job = dataclasses.replace(mast.job, mast=dataclasses.replace(own, stations=stations))
    told = tables(dataclasses.replace(mast, job=job))
    rows = [(r["at"], r["face"], r["chord_fraction"], r["wall_m"]) for r in told["walls"]]
    assert [(float(a), face, float(c), float(w)) for a, face, c, w in rows] == [
        (0.0, "port", 0.0, 0.002),
        (0.0, "port", 0.5, 0.003),
        (0.0, "starboard", 0.0, 0.0025),
    ]
    assert [r["wall_otherwise"] for r in told["geometry"]] == ["by face and chord", ""]
