"""Masts at the ends of what can be written: a few of ``tests.extremes``, in this process."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from mastcheck.checks.compare import compare
from mastcheck.checks.run import check
from mastcheck.errors import GeometryError, InputError
from mastcheck.files.mastfile import load
from mastcheck.report.csv_tables import csv_files
from mastcheck.report.json import RESULT_SCHEMA, result_json
from tests.extreme_masts import Extreme, extremes, scaled
from tests.safety.places import toml

ALL = {f"{e.group}: {e.name}": e for e in extremes()}
FEW = (
    "length: 0.05 m long, 120 mm chord",
    "length: 10 m long, 120 mm chord",
    "t/c: 2 %, solid",
    "t/c: 60 %, wall t/6",
    "wall: 0.16 mm of 16 mm",
    "wall: 7 mm of 16 mm",
    "taper: 10:1 chord, thickness the same",
    "E ratio: core 10⁴ times the skin",
    "loads: all zero",
    "loads: 100 kN and 100 kN·m each way",
    "plies: one of 0.2 mm",
)
LONG = ("200 stations, one ply of 0.2 mm on foam",)
"""Refused, but after half a minute: left to ``tests.extremes``."""

_NULLABLE = ("anyOf", "oneOf")


def checked(raw: dict[str, Any], folder: Path) -> Any:
    path = folder / "mast.toml"
    path.write_text(toml(raw), encoding="utf-8")
    return check(load(path))


@pytest.mark.parametrize("name", FEW)
def test_results_are_finite_or_explained(name: str, tmp_path: Path) -> None:
    comparison = compare([checked(ALL[name].raw, tmp_path)])
    told = json.loads(result_json(comparison), parse_constant=pytest.fail)
    # Where a number may be null is in the schema, with what it means there: see below.
    Draft202012Validator(RESULT_SCHEMA).validate(told)
    for table in csv_files(comparison).values():
        cells = table.decode().lower().replace("\n", ",").split(",")
        assert not {"nan", "inf", "-inf"} & set(cells)


@pytest.mark.parametrize(
    "extreme", [e for e in ALL.values() if e.refused and e.name not in LONG], ids=lambda e: e.name
)
def test_refusals_say_what_to_do(extreme: Extreme, tmp_path: Path) -> None:
    with pytest.raises((InputError, GeometryError)) as refused:
        checked(extreme.raw, tmp_path)
    assert extreme.refused is not None
    assert extreme.refused in str(refused.value)
    assert "; " in str(refused.value)


def test_the_same_mast_in_another_size(tmp_path: Path) -> None:
    """Sizes times k and forces times k²: stress, amplification and twist are the same.

    Every size, section and load is a power of two apart, so that nothing is rounded otherwise.
    """
    k = 4.0
    one, other = (checked(scaled(size), tmp_path) for size in (1.0, k))
    for key, power in (("EIxx", 4), ("EIyy", 4), ("GJ", 4), ("EGamma", 6), ("EA", 2)):
        a, b = (getattr(m.sections[0].properties, key) for m in (other, one))
        assert a == pytest.approx(b * k**power, rel=1e-9), key
    a, b = (m.cases[-1] for m in (other, one))
    assert other.mass == pytest.approx(one.mass * k**3, rel=1e-9)
    assert a.tip.side == pytest.approx(b.tip.side * k, rel=1e-6)
    assert a.tip.twist == pytest.approx(b.tip.twist, rel=1e-6)
    assert a.max_von_mises == pytest.approx(b.max_von_mises, rel=1e-6)


def test_a_load_reversed_moves_the_other_way(tmp_path: Path) -> None:
    port, starboard = (
        checked(ALL[f"loads: to {side}"].raw, tmp_path).cases[-1] for side in ("port", "starboard")
    )
    assert port.tip.side > 0
    assert starboard.tip.side == pytest.approx(-port.tip.side, rel=1e-9)
    assert starboard.max_von_mises == pytest.approx(port.max_von_mises, rel=1e-6)


def test_a_steep_taper_is_solved_to_the_end(tmp_path: Path) -> None:
    """Ten to one in the chord: stations and pieces are added until no self-check is in doubt."""
    result = checked(ALL["taper: 10:1 chord and thickness"].raw, tmp_path)
    assert [str(c.verdict) for c in result.self_checks if c.verdict == "fail"] == []


def test_every_place_that_may_be_null_says_why() -> None:
    places = list(_silent(RESULT_SCHEMA, "result", ""))
    for name, node in RESULT_SCHEMA["$defs"].items():
        places += _silent(node, name, "")
    assert places == []


def _silent(node: dict[str, Any], path: str, around: str) -> Iterator[str]:
    """Places that may be null where neither they nor what holds them says what null means."""
    own = node.get("description", "")
    choices = [v for key in _NULLABLE for v in node.get(key, ())]
    may_be = "null" in node.get("type", ()) or any(v.get("type") == "null" for v in choices)
    if may_be and "null" not in own + around:
        yield path
    for choice in choices:
        yield from _silent({**choice, "description": own or choice.get("description", "")}, path, around)
    for name, inner in node.get("properties", {}).items():
        yield from _silent(inner, f"{path}.{name}", own)
    for key in ("items", "additionalProperties"):
        if isinstance(node.get(key), dict):
            yield from _silent(node[key], f"{path}[]", own)
