"""A short part of the fuzz run: every reader, the same inputs each time; the search by hypothesis."""

from __future__ import annotations

import json
import math
import warnings
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzz import checks, toml_files
from tests.fuzz.readers import READERS, prepare
from tests.fuzz.run import run
from tests.fuzz.trial import tried

SHORT = {"mast": 250, "dxf": 40, "csv": 120, "readings": 120, "journal": 60, "record": 10}
"""Inputs of each reader; the long run tries a hundred thousand others."""

RANDOM = st.randoms(use_true_random=False)
EXAMPLES = settings(
    max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), database=None
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the outline files that mast files name."""
    folder = tmp_path_factory.mktemp("fuzz")
    prepare(folder)
    return folder


@pytest.mark.parametrize("key", READERS)
def test_every_input_is_a_result_or_a_refusal(key: str) -> None:
    count = run(READERS[key], range(SHORT[key]), seed=2026)
    assert count.inputs == SHORT[key]
    assert not count.faults, "\n".join(fault.line() for fault in count.faults.values())
    # A damaged line of a journal counts for nothing, and is no reason to refuse the others.
    assert count.refusals or key == "journal", "nothing was damaged"


@pytest.mark.parametrize("key", READERS)
def test_what_the_inputs_are_made_of_is_read(key: str, folder: Path) -> None:
    reader = READERS[key]
    for content in reader.seeds():
        path = folder / reader.name
        path.write_bytes(content)
        assert tried(reader.read, path).kind == "result"


@EXAMPLES
@given(rng=RANDOM, key=st.sampled_from(["mast", "csv", "readings", "journal"]))
def test_hypothesis_finds_no_input_that_is_neither(rng: Random, key: str, folder: Path) -> None:
    reader = READERS[key]
    path = folder / reader.name
    path.write_bytes(reader.make(rng, reader.seeds()))
    outcome = tried(reader.read, path)
    assert outcome.kind != "fault", outcome


@EXAMPLES
@given(
    content=st.binary(max_size=300), key=st.sampled_from(["mast", "dxf", "csv", "readings", "journal"])
)
def test_bytes_of_any_kind_are_a_refusal_or_a_result(content: bytes, key: str, folder: Path) -> None:
    reader = READERS[key]
    path = folder / reader.name
    path.write_bytes(content)
    outcome = tried(reader.read, path)
    assert outcome.kind != "fault", outcome


@pytest.mark.parametrize("number", range(3))
def test_a_check_of_a_changed_mast_ends_in_finite_numbers_or_a_refusal(
    number: int, folder: Path
) -> None:
    assert checks.checked(number, folder).kind != "fault", checks.checked(number, folder)


def test_a_reader_that_fails_or_hangs_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The trial itself: without this, no fault could ever be found."""
    monkeypatch.setattr("tests.fuzz.trial.LONGEST", 0.2)
    file = tmp_path / "x"

    def hangs(_path: Path) -> None:
        while True:
            try:
                sum(range(1000))
            except Exception:  # as careless code would
                continue

    def warns(_path: Path) -> None:
        warnings.warn("odd", RuntimeWarning, stacklevel=1)

    def endless(_path: Path) -> None:
        from mastcheck.errors import InputError, Problem

        raise InputError(tuple(Problem(key="k", found="", rule="r" * 100) for _ in range(3000)))

    assert "ZeroDivisionError" in tried(lambda _: 1 / 0, file).where
    assert "TooSlowError" in tried(hangs, file).where
    assert "RuntimeWarning" in tried(warns, file).where
    assert "endless" in tried(endless, file).where
    assert tried(lambda _: None, file).kind == "result"


def test_a_process_that_dies_or_takes_too_much_memory_is_one_fault_and_the_rest_is_tried() -> None:
    import os
    from dataclasses import replace

    def deadly(path: Path) -> None:
        content = path.read_bytes()
        if content == b"3":
            os._exit(9)
        if content == b"5":
            bytearray(3_000_000_000)

    numbers = {Random(f"csv 0 {n}").random(): n for n in range(8)}
    reader = replace(READERS["csv"], make=lambda rng, _: b"%d" % numbers[rng.random()], read=deadly)
    count = run(replace(reader, seeds=tuple), range(8))
    assert (count.inputs, count.results) == (8, 6)
    assert {where.split(" at ")[0] for where in count.faults} == {"the process died (9)", "MemoryError"}


def test_a_tree_of_any_values_is_written_as_toml_that_reads_back() -> None:
    import tomllib

    for number in range(40):
        rng = Random(number)
        content = toml_files.valued(rng, READERS["mast"].seeds())
        assert toml_files.dumped(tomllib.loads(content.decode())).encode() == content


def test_what_is_not_finite_would_be_seen() -> None:
    assert checks.not_finite(json.loads('{"a": [1.0, {"b": NaN}]}')) == "a[1].b"
    assert checks.not_finite({"a": [1.0, None, "x", True]}) == ""
    assert checks.not_finite({"a": math.inf}) == "a"
