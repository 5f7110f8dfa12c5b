"""The record in a result file: nothing lost, nothing run, whatever is changed is refused."""

from __future__ import annotations

import base64
import copy
import dataclasses
import json
import math
import zlib
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import mastcheck
from mastcheck.checks.compare import compare
from mastcheck.checks.result import Comparison
from mastcheck.checks.sensitivity import sensitivity
from mastcheck.cli.options import exit_status
from mastcheck.errors import InputError
from mastcheck.files.mastfile import apply, load
from mastcheck.mast import Calibration, Ruled
from mastcheck.report.json import RESULT_SCHEMA, result_json
from mastcheck.report.pdf import pdf
from mastcheck.report.record import VERSION, codec, decode, encode, read_result
from mastcheck.search.tolerances import tolerances
from tests import reports
from tests.records import Likeness, sealed, sealed_file, sha256

ROOT = Path(__file__).parents[2]
PROFILES = ROOT / "profiles"
KEPT = ROOT / "tests" / "data"


@lru_cache(maxsize=4)
def one(name: str) -> Comparison:
    return compare([mastcheck.check(load(PROFILES / f"{name}.toml"))])


@lru_cache(maxsize=1)
def full() -> Comparison:
    """Two masts with rates, sampled tolerances and fatigue of one, joints of the other."""
    worn = mastcheck.check(apply(load(KEPT / "old-sluice.toml"), cases=("carve", "pump")))
    rates = sensitivity(worn)
    worn = dataclasses.replace(worn, sensitivity=rates)
    worn = dataclasses.replace(worn, tolerances=tolerances(worn, samples=16, workers=1))
    return compare([worn, *one("aluminium-75-three-joints").masts])


@lru_cache(maxsize=1)
def small() -> dict[str, Any]:
    """The record of a laminated mast made by hand."""
    return encode(reports.compare(reports.make_laminated(), reports.make_mast(unstable=True)))


def through(comparison: Comparison) -> Comparison:
    """There and back by way of text, as a file would hold it."""
    return read_result(result_json(comparison).encode()).comparison


@pytest.mark.parametrize(
    "name",
    [
        "aluminium-75-tapered",
        "aluminium-75-quiver",
        "aluminium-75-section-file",
        "aluminium-75-extruded",
        "carbon-75-layup",
        "full",
    ],
)
def test_what_is_read_is_what_was_written(name: str) -> None:
    old = full() if name == "full" else one(name)
    new = through(old)
    like = Likeness()
    like.same(old, new)
    assert like.seen > 1000
    assert result_json(new) == result_json(old)
    materials = {id(r.material) for m in old.masts for s in m.sections for r in s.regions}
    assert materials <= like.there.keys()


def test_the_report_from_the_file_is_the_same_bytes() -> None:
    old = full()
    assert all(part is not None for part in (old.masts[0].fatigue, old.masts[0].tolerances))
    assert pdf(through(old)) == pdf(old)


@pytest.mark.parametrize("name", ["carbon-75-layup", "aluminium-75-quiver"])
def test_the_report_of_one_mast_from_the_file_is_the_same_bytes(name: str) -> None:
    assert pdf(through(one(name))) == pdf(one(name))


def test_a_kept_file_still_reads() -> None:
    """Written once and never again: an old check stays drawable."""
    data = (KEPT / "record-1.json").read_bytes()
    comparison = read_result(data).comparison
    (mast,) = comparison.masts
    assert mast.job.mast.name == "Old Sluice 60, kept"
    assert mast.joints is not None
    assert mast.fatigue is not None
    assert exit_status(comparison) == 1  # worn out by its carves
    old, new = json.loads(data), json.loads(result_json(comparison))
    assert new["masts"][0]["mass_kg"] == old["masts"][0]["mass_kg"] == pytest.approx(0.925, abs=5e-4)
    assert new["masts"][0]["cases"] == old["masts"][0]["cases"]
    assert new["masts"][0]["checks"] == old["masts"][0]["checks"]
    assert pdf(comparison).startswith(b"%PDF")


def test_numbers_that_json_cannot_hold_and_odd_text_survive() -> None:
    mast = reports.make_mast()
    odd = dataclasses.replace(
        mast.cases[0],
        buckling_factor=math.inf,
        max_von_mises=-0.0,
        amplification=math.nan,
        amplification_by_lift={"z": None, "a": -math.inf},
        von_mises=np.array([math.nan, -0.0, math.inf, *mast.cases[0].von_mises[3:]]),  # type: ignore[index]
    )
    job = dataclasses.replace(mast.job, file="odd\udce9\x00\x1b[31m/\u2028mast.toml", notes=("é" * 9,))
    old = reports.compare(dataclasses.replace(mast, job=job, cases=(odd, *mast.cases[1:])))
    record = encode(old)
    text = json.dumps(record, allow_nan=False, ensure_ascii=False)
    new = decode(json.loads(text.encode()))
    Likeness().same(old, new)
    assert list(new.masts[0].cases[0].amplification_by_lift) == ["z", "a"]
    assert result_json(old).encode()


def test_a_material_of_two_places_is_one_object_again() -> None:
    old = reports.compare(reports.make_mast())
    twin = dataclasses.replace(reports.METAL)  # equal, but another
    section = old.masts[0].sections[0]
    regions = (*section.regions, dataclasses.replace(section.regions[0], material=twin))
    sections = (dataclasses.replace(section, regions=regions), *old.masts[0].sections[1:])
    old = reports.compare(dataclasses.replace(old.masts[0], sections=sections))
    new = decode(encode(old)).masts[0]
    assert new.sections[0].regions[0].material is new.sections[1].regions[0].material
    assert new.sections[0].regions[0].material is new.job.mast.section.material
    assert new.sections[0].regions[1].material is not new.sections[0].regions[0].material


def test_stress_fields_are_single_precision_and_all_else_is_exact() -> None:
    record = one("aluminium-75-tapered")
    arrays = encode(record)["arrays"]
    sections = {id(s): s for s in record.masts[0].sections}.values()
    single = [a for a in arrays if a["type"] == "<f4"]
    assert len(single) == len(sections)
    assert all(a["shape"][0] == 7 for a in single)


def test_the_classes_of_a_record_are_those_of_a_result() -> None:
    """A closed set, told by the type hints; a class that joins it does so on purpose."""
    names = codec().classes
    assert {"Comparison", "MastResult", "Material", "Polygon", "EdgeChange", "Change"} <= names.keys()
    homes = {c.__module__.partition(".")[0] for c in names.values()}
    assert homes == {"mastcheck", "shapely"}


def test_fields_that_an_older_file_lacks_take_their_default() -> None:
    record = json.loads(json.dumps(small()))
    del record["root"]["masts"][0]["tolerances"]
    del record["root"]["trade"]
    assert decode(sealed(record)).masts[0].tolerances is None
    del record["root"]["sentence"]
    with pytest.raises(InputError, match="sentence: is missing"):
        decode(sealed(record))


def test_a_field_may_hold_any_class_of_its_union() -> None:
    plain = reports.make_mast()
    stations = plain.job.mast.stations
    ruled = Ruled(first=stations[0], second=stations[1], share=0.5)
    mast = dataclasses.replace(
        plain.job.mast,
        stations=(stations[0], dataclasses.replace(stations[1], outline=ruled)),
        calibration=Calibration(factor_GJ=0.9, source="invented"),
    )
    old = reports.compare(dataclasses.replace(plain, job=dataclasses.replace(plain.job, mast=mast)))
    new = decode(json.loads(json.dumps(encode(old))))
    Likeness().same(old, new)


@pytest.mark.parametrize(
    ("place", "value", "told"),
    [
        ("root.masts.0.mass", "heavy", "masts[0].mass = 'heavy': must be a number"),
        ("root.masts.0.mass", True, "masts[0].mass = True: must be a number"),
        ("root.masts.0.cases.2.max_at_xy.1", None, "masts[0].cases[2].max_at_xy[1] = null: must be a"),
        ("root.masts.0.cases.0.stable", 1, "masts[0].cases[0].stable = 1: must be true or false"),
        ("root.masts.0.cases.0.governing_station", 0.0, "governing_station = 0.0: must be a whole"),
        ("root.masts.0.cases.0.governing_station", 99, "points past the 5 that there are"),
        ("root.masts.0.checks.0.verdict", "fine", "masts[0].checks[0].verdict = 'fine': must be one of"),
        ("root.masts.0.wings", [], "masts[0].wings: is no field of MastResult"),
        ("root.masts.0.z", 9999, "masts[0].z = 9999: must be the number of an array"),
        ("root.masts.0.z", -1, "masts[0].z = -1: must be the number of an array"),
        ("root.masts.0.job.mast.section.outline", {"is": "os.system"}, "outline.is = 'os.system': must"),
        ("root.masts.0.job.mast.length", 1e9, "job.mast.length: must be above 0"),
        ("root.masts.0.job.mast.length", "nan", "job.mast.length: must be above 0"),
        ("root.masts.0.job.mast.tip_warping", "loose", "tip_warping = 'loose': must be one of"),
        ("root.masts.0.cautions", "text", "masts[0].cautions = 'text': must be a list"),
        ("root.masts", [], "masts: must be 1 to"),
        ("objects.0.is", "subprocess.Popen", "objects[0].is = 'subprocess.Popen': names no class"),
        ("objects.0", {"ref": 0}, "objects[0].is = null: names no class"),
        ("arrays.0.data", "AA", "arrays[0].data: is damaged"),
        ("arrays.0.type", "|O", "arrays[0].type = |O: must be <f4"),
        ("arrays.0.shape", [10**12], "arrays[0].shape: must be one to four"),
        ("arrays.0.shape", [-5], "arrays[0].shape: must be one to four"),
        ("arrays.0.shape", [4], "arrays[0].data: is damaged (not its length)"),
        ("arrays.0.packed", 0, "arrays[0].packed = 0: must be true or false"),
        ("version", "mastcheck-record/2", "does not read; it reads mastcheck-record/1"),
        ("written_by", "\x1b[2Jmastcheck", "record.written_by: must be mastcheck"),
        ("extra", 1, "record: must hold root, objects, arrays, and nothing else"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(place: str, value: Any, told: str) -> None:
    record = json.loads(json.dumps(small()))
    *way, last = place.split(".")
    parent = record
    for key in way:
        parent = parent[int(key)] if isinstance(parent, list) else parent[key]
    parent[int(last) if isinstance(parent, list) else last] = value
    with pytest.raises(InputError) as caught:
        decode(sealed(record))
    assert told in str(caught.value)
    (problem,) = caught.value.problems
    assert problem.remedy


def test_a_record_that_unpacks_to_too_much_is_refused() -> None:
    """A small file that would fill the memory, by its arrays and by what it shares."""
    record = json.loads(json.dumps(small()))
    zeros = base64.b64encode(zlib.compress(bytes(100_000))).decode()
    huge = {"type": "<f8", "shape": [8, 10_000_000], "packed": True, "data": zeros}
    with pytest.raises(InputError, match="unpacks to more than a result may hold"):
        decode(sealed({**record, "arrays": [huge]}))
    small_said = {"type": "<f8", "shape": [4], "packed": True, "data": zeros}
    with pytest.raises(InputError, match="is damaged"):
        decode(sealed({**record, "arrays": [small_said]}))
    station = {
        "is": "Station", "at": 0.5, "chord": 0.1, "thickness": 0.01,
        "wall": None, "outline": None, "plies": [],
    }  # fmt: skip
    objects: list[dict[str, Any]] = [station]
    for _ in range(50):
        last = {"ref": len(objects) - 1}
        objects.append({"is": "Ruled", "first": last, "second": last, "share": 0.5})
        objects.append({**station, "outline": {"ref": len(objects) - 1}})
    with pytest.raises(InputError, match=r"holds more than \d+ values|nested more than"):
        decode(sealed({**record, "objects": objects}))


def test_files_that_are_no_results_are_refused() -> None:
    whole = json.loads(result_json(reports.compare(reports.make_mast())))
    bare = {k: v for k, v in whole.items() if k != "record"}
    for data, told in (
        (b"", "is no JSON"),
        (b"\xff\xfe\x00", "is no JSON"),
        (b"[1, 2]", "schema"),
        (b"[" * 100_000, "is no JSON"),
        (b'{"schema": NaN}', "is no JSON"),
        (b'{"schema": 1%s}' % (b"0" * 9999), "is no JSON"),
        (b'{"schema": "x", "schema": "x"}', "a key stands twice"),
        (b'{"schema": "other/1"}', "must name mastcheck-result/1"),
        (b"[" + b"[]," * 3_000_000 + b"[]]", "is larger than any result"),
        (json.dumps(bare).encode(), "mastcheck 0.5.0 and later write records"),
        (json.dumps({**bare, "record": []}).encode(), "is no record"),
    ):
        with pytest.raises(InputError, match=r"old/result\.json") as caught:
            read_result(data, "old/result.json")
        assert told in str(caught.value)


def test_a_changed_number_beside_the_record_is_told() -> None:
    text = result_json(reports.compare(reports.make_mast()))
    assert text.count('"mass_kg": 1.234') == 1
    read_result(text.encode())
    with pytest.raises(InputError, match=r"own numbers: were changed after they were written"):
        read_result(text.replace('"mass_kg": 1.234', '"mass_kg": 1.134').encode())
    whole = json.loads(text)
    laid_out_anew = json.dumps(whole, indent=7, sort_keys=True, ensure_ascii=True)
    assert read_result(laid_out_anew.encode()).comparison.masts[0].mass == 1.234


def test_the_file_still_fits_its_schema_and_has_the_comparison() -> None:
    old = full()
    whole = json.loads(result_json(old))
    published = RESULT_SCHEMA["properties"]
    for key in ("comparison", "record"):
        assert (
            set(published[key]["required"]) <= whole[key].keys() <= published[key]["properties"].keys()
        )
    assert RESULT_SCHEMA["required"] == ["schema", "masts", "cautions"]  # as in older files
    assert whole["record"]["version"] == VERSION
    assert whole["record"]["sha256"] == sealed(whole["record"])["sha256"]
    beside = {k: v for k, v in whole.items() if k != "record"}
    assert whole["record"]["beside_sha256"] == sha256(beside)
    assert whole["comparison"]["sentence"] == old.sentence
    for told, ratio in zip(whole["comparison"]["ratios"], old.ratios, strict=True):
        assert (told["name"], told["unit"]) == (ratio.name, ratio.unit)
        assert told["values"] == list(ratio.values)
    alone = json.loads(result_json(old.masts))
    assert alone.keys() == {"schema", "masts", "cautions"}
    assert alone["masts"] == whole["masts"]


def test_whole_file_can_be_sealed_again_by_its_definition() -> None:
    whole = json.loads(result_json(reports.compare(reports.make_mast())))
    whole["masts"][0]["name"] = "another"
    assert read_result(sealed_file(whole, whole["record"])).comparison.masts[0].mass == 1.234


JUNK = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False),
    st.text(max_size=8), st.just([]), st.just({}), st.just({"ref": 0}), st.just("inf"), st.just("nan"),
)  # fmt: skip


@st.composite
def changed(draw: st.DrawFn, record: dict[str, Any]) -> dict[str, Any]:
    """A record with one thing in it dropped, added, cut short, moved or of another type."""
    out = copy.deepcopy(record)
    parent: Any = out
    key: Any = draw(st.sampled_from([k for k in out if k != "written_by"]))
    while isinstance(parent[key], dict | list) and parent[key] and draw(st.integers(0, 9)) > 0:
        parent = parent[key]
        key = draw(
            st.integers(0, len(parent) - 1)
            if isinstance(parent, list)
            else st.sampled_from(list(parent))
        )
    value = parent[key]
    kind = draw(st.sampled_from(["drop", "junk", "near", "add"]))
    if kind == "drop":
        del parent[key]
    elif kind == "near" and isinstance(value, str):
        parent[key] = value[: draw(st.integers(0, len(value)))]
    elif kind == "near" and type(value) in (int, float):
        parent[key] = draw(st.sampled_from([-value, value + 1, value * 2, 10.0**300, 2**70, str(value)]))
    elif kind == "add" and isinstance(value, list) and value:
        value.append(copy.deepcopy(value[0]))
    elif kind == "add" and isinstance(value, dict):
        value["\u202eodd"] = 1
    else:
        parent[key] = draw(JUNK)
    return out


@settings(max_examples=200)
@given(data=st.data())
def test_a_changed_record_is_always_refused(data: st.DataObject) -> None:
    record = data.draw(changed(small()))
    if json.dumps(record, sort_keys=True) == json.dumps(small(), sort_keys=True):
        return
    with pytest.raises(InputError):
        decode(record)


@settings(max_examples=300)
@given(data=st.data())
def test_a_changed_record_with_a_hash_that_fits_is_read_or_refused(data: st.DataObject) -> None:
    """Whoever seals a record of their own gets a result or a refusal, never another error."""
    record = data.draw(changed(small()))
    try:
        found = decode(sealed(record))
    except InputError as error:
        assert all(p.rule and p.remedy for p in error.problems)  # noqa: PT017
    else:
        assert isinstance(found, Comparison)
        decode(encode(found))


@lru_cache(maxsize=1)
def small_file() -> bytes:
    return result_json(reports.compare(reports.make_mast())).encode()


@settings(max_examples=100)
@given(data=st.data())
def test_a_damaged_file_is_refused_or_says_the_same(data: st.DataObject) -> None:
    good = small_file()
    place = data.draw(st.integers(0, len(good) - 1))
    if data.draw(st.booleans()):
        bad = good[:place]
    else:
        bad = good[:place] + bytes([good[place] ^ 1 << data.draw(st.integers(0, 7))]) + good[place + 1 :]
    try:
        read_result(bad)
    except InputError:
        return
    assert json.loads(bad) == json.loads(good)  # nothing but the layout
