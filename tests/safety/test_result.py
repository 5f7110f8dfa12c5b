"""Ways out that keep every letter: the result as JSON, and what it is made from."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from mastcheck.checks.compare import compare
from mastcheck.checks.result import MastResult
from mastcheck.report.json import result_json
from tests.safety import whole
from tests.safety.contents import CONTENTS
from tests.safety.written import texts, words, written


def strings(value: Any) -> Iterator[str]:
    """All keys and texts of a JSON value."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from value
        for item in value.values():
            yield from strings(item)
    elif isinstance(value, list):
        for item in value:
            yield from strings(item)


@pytest.mark.parametrize("name", CONTENTS)
def test_every_text_of_the_file_is_in_the_json_to_the_letter(
    name: str, solved: tuple[MastResult, ...]
) -> None:
    for result in solved:
        put = texts(words(result), CONTENTS[name])
        told = set(strings(json.loads(result_json([written(result, put)]))))
        for word, content in put.items():
            assert any(content in text for text in told), word


def test_each_word_of_each_file_has_come_into_the_result(solved: tuple[MastResult, ...]) -> None:
    for result, made in zip(solved, (whole.laminated, whole.drawn, whole.channelled), strict=True):
        written_there = set(_words(made()))
        lost = written_there - words(result)
        assert not lost
        told = " ".join(strings(json.loads(result_json([result]))))
        assert not {w for w in written_there if w not in told}


def _words(raw: object) -> Iterator[str]:
    for text in strings(raw):
        yield from re.findall(r"Zq\d\dq", text)


def test_keys_of_the_result_are_not_texts_of_the_file(solved: tuple[MastResult, ...]) -> None:
    """A name that is a key could stand in another key's place; cycles by load case hold no others."""
    for result in solved:
        put = texts(words(result), "verdict")
        assert _keys(json.loads(result_json([written(result, put)]))) == _keys(
            json.loads(result_json([result]))
        )


def _keys(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set(value).union(*(_keys(item) for key, item in value.items() if key != "cycles"))
    return set().union(*map(_keys, value)) if isinstance(value, list) else set()


@pytest.mark.parametrize("with_record", [True, False])
def test_half_a_letter_is_replaced_and_breaks_nothing(
    with_record: bool, solved: tuple[MastResult, ...]
) -> None:
    mast = replace(solved[0].job.mast, name="half \ud83c letter")
    result = replace(solved[0], job=replace(solved[0].job, mast=mast))
    text = result_json(compare([result]) if with_record else [result])
    text.encode("utf-8")
    assert json.loads(text)["masts"][0]["name"] == "half ? letter"
