"""The page that one plays with, every text of a mast file in it, read as a browser would."""

from __future__ import annotations

import json
import re

import pytest

from mastcheck.checks.compare import compare
from mastcheck.checks.result import Comparison, MastResult
from mastcheck.cli.page import told
from mastcheck.page.build import page
from mastcheck.page.text import plain
from tests.safety import whole
from tests.safety.contents import CONTENTS
from tests.safety.pages import squeezed
from tests.safety.test_report import TURNS, read, turned
from tests.safety.test_result import strings
from tests.safety.written import texts, words, written

PLACE = {whole.word(number) for number in range(50, 54)}
JOINERS = "\u200c\u200d"
"""Part of the spelling of many scripts, and of pictures made of several."""

SHORT = {name: text for name, text in CONTENTS.items() if len(text) < 1000}
_DATA = re.compile(r'<script[^>]*type="application/json"[^>]*>(.*?)</script>', re.DOTALL)


def made(comparison: Comparison) -> str:
    return page(comparison, told(comparison)).decode("utf-8")


_usual: dict[int, str] = {}


def usual(result: MastResult) -> str:
    """The page of a result as it was solved, made once."""
    if id(result) not in _usual:
        _usual[id(result)] = made(compare([result]))
    return _usual[id(result)]


def kinds(text: str) -> tuple[int, set[str], set[tuple[str, str]]]:
    """How many scripts; the tags; the attributes of each."""
    found = read(text)
    return text.count("<script"), found.tags, {(tag, key) for tag, key, _ in found.attributes}


@pytest.fixture
def bare(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages without the numbers that their script works on, which take seconds to make."""
    monkeypatch.setattr("mastcheck.page.build.page_data", lambda *_: {})


def no_more_than(text: str, other: str) -> None:
    scripts, tags, attributes = kinds(text)
    usual_scripts, usual_tags, usual_attributes = kinds(other)
    assert scripts == usual_scripts
    assert tags <= usual_tags
    assert attributes <= usual_attributes
    assert not {key for _, key in attributes if key.startswith("on")}
    hidden = {c for c in text if not c.isprintable() and c not in f"\n{JOINERS}"}
    assert not hidden


@pytest.mark.usefixtures("bare")
@pytest.mark.parametrize("turn", range(TURNS))
def test_contents_at_every_place_add_no_markup(turn: int, solved: tuple[MastResult, ...]) -> None:
    no_more_than(made(compare([turned(solved[0], turn)])), usual(solved[0]))


@pytest.mark.usefixtures("bare")
@pytest.mark.parametrize("name", CONTENTS)
def test_each_content_adds_no_markup_and_is_read_on_the_page(
    name: str, solved: tuple[MastResult, ...]
) -> None:
    every = words(solved[2]) if name in SHORT else {"Zq01q"}
    put = texts(every, CONTENTS[name])
    text = made(compare([written(solved[2], put)]))
    no_more_than(text, usual(solved[2]))
    shown = squeezed(read(text).text)
    for word, content in put.items():
        # Of a mast file's place, its folder stays at home.
        assert word in PLACE or squeezed(plain(content)) in shown, word


def test_the_data_within_are_text_to_the_letter(solved: tuple[MastResult, ...]) -> None:
    result = turned(solved[2], 1)
    text = made(compare([result]))
    (data,) = _DATA.findall(text)
    assert data.isascii()
    assert "<" not in data
    told_there = set(strings(json.loads(data)))
    assert any(c.case.name in told_there for c in result.cases)
    no_more_than(text, text)
