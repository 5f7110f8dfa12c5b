"""The promises of the published schemas: what old versions read and wrote still holds.

``tests/data/old`` keeps mast files of earlier versions as they were shipped, and the key paths of the
result files that those versions wrote. A key may be added; none may go or change its place.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

import mastcheck
from mastcheck.files.publish import mast_file_schema
from mastcheck.report.json import RESULT_SCHEMA

ROOT = Path(__file__).parents[2]
OLD = ROOT / "tests" / "data" / "old"
MASTS = sorted(OLD.glob("mast-*.toml"))
RESULTS = [
    *sorted((ROOT / "tests" / "golden").glob("*.json")),
    ROOT / "tests" / "data" / "record-1.json",
]
VERSION = re.compile(r"-(\d+\.\d+\.\d+)")

mast_files = Draft202012Validator(mast_file_schema())
results = Draft202012Validator(RESULT_SCHEMA)


def key_paths(value: Any, path: str = "") -> Iterator[str]:
    """Paths of the leaves; a list's items share one path."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from key_paths(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for inner in value:
            yield from key_paths(inner, f"{path}[]")
    else:
        yield path


def faults(validator: Draft202012Validator, data: Any) -> list[str]:
    return [f"{e.json_path}: {e.message}"[:200] for e in validator.iter_errors(data)]


def test_the_schemas_are_schemas() -> None:
    Draft202012Validator.check_schema(mast_file_schema())
    Draft202012Validator.check_schema(RESULT_SCHEMA)


def test_every_version_has_samples() -> None:
    masts, keys = (
        {version for path in OLD.glob(pattern) for version in VERSION.findall(path.name)}
        for pattern in ("mast-*.toml", "result-keys-*.txt")
    )
    assert {"0.1.0", "0.2.0", "0.3.0", "0.4.0", "0.5.0", "0.6.0"} <= masts
    assert masts == keys


@pytest.mark.parametrize("path", MASTS, ids=lambda p: p.stem)
def test_an_old_mast_file_is_still_read(path: Path) -> None:
    stated = tomllib.loads(path.read_text(encoding="utf-8"))
    job = mastcheck.load(path)
    assert job.mast.name == stated["mast"]["name"]
    assert len(job.mast.stations) == len(stated["mast"]["station"])
    assert faults(mast_files, stated) == []


@pytest.mark.parametrize("path", sorted((ROOT / "profiles").glob("*.toml")), ids=lambda p: p.stem)
def test_an_editor_finds_no_fault_with_a_shipped_mast(path: Path) -> None:
    assert faults(mast_files, tomllib.loads(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: d["mast"].update(lenght="750 mm"), "lenght"),
        (lambda d: d["mast"].update(length=750), "750"),
        (lambda d: d["section"].update(construction="full"), "full"),
    ],
    ids=["unknown key", "bare number", "unknown choice"],
)
def test_an_editor_marks_a_slip(change: Any, said: str) -> None:
    data = tomllib.loads((ROOT / "profiles" / "aluminium-75-wide.toml").read_text(encoding="utf-8"))
    change(data)
    assert any(said in fault for fault in faults(mast_files, data))


@pytest.mark.parametrize("path", sorted(OLD.glob("result-keys-*.txt")), ids=lambda p: p.stem)
def test_no_key_of_an_old_result_has_gone(path: Path) -> None:
    golden = json.loads((ROOT / "tests" / "golden" / "aluminium-75-tapered.json").read_text("utf-8"))
    old = path.read_text(encoding="utf-8").split()
    assert len(old) > 50
    assert set(old) - set(key_paths(golden)) == set()


@pytest.mark.parametrize("path", RESULTS, ids=lambda p: p.stem)
def test_a_kept_result_is_as_its_schema_says(path: Path) -> None:
    data = json.loads(path.read_text(encoding="utf-8"))
    for mast in data["masts"]:
        mast.setdefault("self_checks", [])  # left out of the kept results, which do not compare them
    assert faults(results, data) == []
