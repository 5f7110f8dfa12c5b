"""``check --tolerances`` and ``compare --tolerances``: file, tables, JSON and report."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from mastcheck.checks.compare import compare
from mastcheck.checks.run import check
from mastcheck.checks.tolerance_result import TolerancesResult
from mastcheck.cli.main import main
from mastcheck.errors import InputError
from mastcheck.files.mastfile import load
from mastcheck.files.publish import mast_file_schema
from mastcheck.report.content import content
from mastcheck.report.json import RESULT_SCHEMA
from mastcheck.report.pdf import pdf
from mastcheck.report.tolerances import ends, headline_words, probability
from mastcheck.scatter import Quantity
from mastcheck.search.tolerances import tolerances
from mastcheck.source import Grade

MAST = """\
[mast]
name = "Tolerance test"
length = "700 mm"
station = [
  { at = 0.0, chord = "120 mm", thickness = "16 mm" },
  { at = 1.0, chord = "120 mm", thickness = "16 mm" },
]
[section]
outline = "ellipse"
construction = "hollow"
wall = "3 mm"
material = "EN AW-6082-T6"
"""
STATED = """
[tolerances]
wall = "0.3 mm"
thickness = "2 %"
chord = "0 mm"
length = "0 %"
E = "2 %"
load = "5 %"
"""


_TYPES: dict[str, tuple[type, ...]] = {
    "object": (dict,), "array": (list,), "string": (str,), "integer": (int,), "number": (int, float),
    "boolean": (bool,), "null": (type(None),),
}  # fmt: skip


def follows(value: Any, schema: dict[str, Any], place: str = "") -> None:
    """Types, words and keys as the schema has them, none more and none less."""
    if "enum" in schema:
        assert value in schema["enum"], place
        return
    named = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    assert isinstance(value, tuple(t for name in named for t in _TYPES[name])), place
    if isinstance(value, dict) and "properties" in schema:
        assert set(value) == set(schema["properties"]) == set(schema["required"]), place
        for key, inner in schema["properties"].items():
            follows(value[key], inner, f"{place}.{key}")
    elif isinstance(value, dict):
        for key, inner in value.items():
            follows(inner, schema["additionalProperties"], f"{place}.{key}")
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            follows(inner, schema["items"], f"{place}[{i}]")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "mast.toml"
    path.write_text(MAST + STATED, encoding="utf-8")
    return path


def test_stated_tolerances_reach_the_tables_and_the_json(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out.json"
    arguments = ["check", str(file), "--case", "carve", "--tolerances", "--json", str(out)]
    assert main(arguments) == 0
    said = capsys.readouterr().out
    for words in (
        "bands that hold 95 %", "± 0.3 mm", "± 2 %", "± 5 %", "stated by the mast file",
        "No samples were drawn", "no probability of breaking", "thickness",
    ):  # fmt: skip
        assert words in said
    whole = json.loads(out.read_text(encoding="utf-8"))
    found = whole["masts"][0]["tolerances"]
    limits = {i["quantity"]: (i["limit"], i["unit"], i["law"]) for i in found["inputs"]}
    assert limits == {
        "load": (0.05, "share", "normal"), "wall": (0.3, "mm", "uniform"),
        "thickness": (0.02, "share", "uniform"), "E": (0.02, "share", "normal"),
    }  # fmt: skip
    assert found["samples"] is None
    follows(found, RESULT_SCHEMA["$defs"]["tolerances"])
    for band in found["bands"]:
        assert band["low"] <= band["value"] <= band["high"]
        assert band["high"] - band["value"] <= band["worst_case"] * (1 + 1e-12)
        assert set(band["change_at_upper_limit"]) == set(limits)


def test_samples_are_in_tables_and_json_and_come_again_from_their_seed(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = []
    for name, workers in (("a", "1"), ("b", "2")):
        out = tmp_path / f"{name}.json"
        arguments = ["check", str(file), "--case", "carve", "--samples", "32", "--seed", "5"]
        assert main([*arguments, "--workers", workers, "--json", str(out)]) == 0
        found.append(json.loads(out.read_text(encoding="utf-8")))
    said = capsys.readouterr().out
    for words in ("none of 32 samples, probability less than 9", "seed 5", "Clopper", "median"):
        assert words in said
    alone, shared = (whole["masts"][0]["tolerances"] for whole in found)
    assert alone == shared
    assert alone["samples"]["count"] == 32
    follows(alone, RESULT_SCHEMA["$defs"]["tolerances"])
    # 32 samples are twice the 15 coefficients of a quadratic in four, and more: indices are given.
    band = next(b for b in alone["bands"] if b["name"] == "side")
    assert band["sampled"]["count"] == 32
    assert sum(band["sampled"]["first_order"].values()) <= 1 + 1e-9
    for key, first in band["sampled"]["first_order"].items():
        assert band["sampled"]["total"][key] >= first - 1e-12


def test_compare_takes_tolerances_too(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(file), str(file), "--case", "carve", "--tolerances"]) == 0
    assert capsys.readouterr().out.count("bands that hold 95 %") == 2


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--samples", "8"], ("--samples", "from 32 to")),
        (["--seed", "3"], ("--seed", "no samples to go with")),
        (["--workers", "2", "--tolerances"], ("--workers", "no samples")),
        (["--samples", "64", "--workers", "0"], ("--workers", "from 1 to")),
        (["--samples", "64", "--seed", "-1"], ("--seed", "from 0 to")),
    ],
)
def test_bad_options_are_told(
    file: Path, capsys: pytest.CaptureFixture[str], options: list[str], words: tuple[str, ...]
) -> None:
    assert main(["check", str(file), *options]) == 2
    said = capsys.readouterr().err
    assert "Traceback" not in said
    for word in words:
        assert word in said


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("wall = 3", ("tolerances.wall", "bare number")),
        ('wall = "30 mm"', ("from 0 mm to 20 mm",)),
        ('wall = "3 kg"', ("unit of mass",)),
        ('wall = "2 mm"', ("half of the least wall, 3 mm",)),
        ('chord = "-1 mm"', ("without a sign",)),
        ('chord = "5"', ("no unit",)),
        ('thickness = "9 mm"', ("half of the least thickness, 16 mm",)),
        ('E = "3 GPa"', ("percentage of itself", '"3 %"')),
        ('E = "31 %"', ("from 0 % to 30 %",)),
        ("E = 0.03", ("percentage of itself",)),
        ('load = "-5 %"', ("percentage of itself",)),
        ('walls = "0.2 mm"', ("unknown key", 'did you mean "wall"')),
    ],
)
def test_a_fault_of_the_file_is_told_with_its_line(
    tmp_path: Path, line: str, words: tuple[str, ...]
) -> None:
    path = tmp_path / "mast.toml"
    path.write_text(f"{MAST}[tolerances]\n{line}\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(path)
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].line == MAST.count("\n") + 2
    for word in words:
        assert word in str(caught.value)


def test_a_wall_that_is_not_there_cannot_scatter(tmp_path: Path) -> None:
    path = tmp_path / "mast.toml"
    solid = MAST.replace('"hollow"', '"solid"').replace('wall = "3 mm"\n', "")
    path.write_text(f'{solid}[tolerances]\nwall = "0.2 mm"\n', encoding="utf-8")
    with pytest.raises(InputError, match="this mast has no wall"):
        load(path)


def test_the_file_says_what_scatters_and_its_schema_agrees(file: Path) -> None:
    job = load(file)
    known = {t.quantity: t for t in job.scatter}
    assert known[Quantity.WALL].limit == 0.3e-3
    assert not known[Quantity.WALL].relative
    assert known[Quantity.THICKNESS].limit == 0.02
    assert known[Quantity.THICKNESS].relative
    assert {t.source.grade for t in job.scatter} == {Grade.USER}
    table = mast_file_schema()["$defs"]["TolerancesTable"]["properties"]
    assert set(table) == set(Quantity)
    for key, value in tomllib.loads(STATED)["tolerances"].items():
        assert re.search(table[key]["pattern"], value)
    for bad in ("3 GPa", "3", "percent"):
        assert not re.search(table["E"]["pattern"], bad)


def test_the_report_has_bands_on_its_first_page_and_a_section(file: Path) -> None:
    job = load(file)
    result = check(replace(job, cases=job.cases[1:2]))
    plain = content(compare([result]))
    assert plain["tolerances"] == []
    assert "importance A" not in plain["pictures"]
    found = replace(result, tolerances=tolerances(result, samples=32, workers=0))
    page = content(compare([found]))
    (section,) = page["tolerances"]
    head = " ".join(section["head"])
    band = next(b for b in found.tolerances.bands if b.name == "twist")
    low, high = ends(band)
    assert f"twist {band.value:.3g}° ({low:.3g} to {high:.3g}) in carve" in head.replace("\u200b", "")
    assert section["chances"] is not None
    assert "total" in page["pictures"]["importance A"]["caption"]
    assert pdf(compare([found])).startswith(b"%PDF")


def test_no_words_flatter(file: Path) -> None:
    """The wider of both bands is told, and a probability never is nil."""
    job = load(file)
    result = check(replace(job, cases=job.cases[1:2]))
    made: TolerancesResult = tolerances(result, samples=32, workers=0)
    for band in made.bands:
        low, high = ends(band)
        assert low <= band.low
        assert high >= band.high
        if band.spread is not None:
            assert high >= band.spread.high
    for chance in made.chances:
        assert probability(chance) not in ("0.0 %", "less than 0.0 %")
    assert headline_words(result, "metric") == []
