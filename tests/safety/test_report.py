"""Pages, figures and tables: text of a mast file is drawn as text, and nothing in them acts."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest

from mastcheck.checks.compare import compare
from mastcheck.checks.result import Comparison, MastResult
from mastcheck.notebook import html, markdown
from mastcheck.report.csv_tables import csv_files
from mastcheck.report.display import plain
from mastcheck.report.drawings import drawing
from mastcheck.report.pdf import pdf
from mastcheck.report.pictures import picture, pictures
from mastcheck.report.saved import figure_files
from tests.safety import pages
from tests.safety.contents import CONTENTS
from tests.safety.written import texts, words, written

SHORT = {name: text for name, text in CONTENTS.items() if len(text) < 1000}
LONG = {name: text for name, text in CONTENTS.items() if name not in SHORT}
# Right-to-left text is drawn in its own order, which the reading of a PDF does not give back.
READABLE = {n: t for n, t in SHORT.items() if n != "right-to-left"}
TURNS = 4
"""So many files hold every content at some place, and every place four contents."""


def turned(result: MastResult, turn: int) -> MastResult:
    """The result with another content at each place."""
    every = sorted(words(result))
    contents = list(SHORT.values())
    put = {w: contents[(i + turn * len(every)) % len(contents)] for i, w in enumerate(every)}
    return written(result, {w: c if w == "Zq01q" else f"{c} {w[2:4]}" for w, c in put.items()})


@pytest.fixture(scope="module")
def turns(solved: tuple[MastResult, ...]) -> list[Comparison]:
    return [compare([turned(solved[0], turn)]) for turn in range(TURNS)]


@pytest.fixture(scope="module")
def drawn(turns: list[Comparison]) -> list[dict[str, Any]]:
    return [pictures(comparison, "metric") for comparison in turns]


def test_the_turns_hold_every_content(solved: tuple[MastResult, ...]) -> None:
    places = len(words(solved[0]))
    assert TURNS * places >= len(SHORT)


@pytest.mark.parametrize("turn", range(TURNS))
def test_a_report_holds_nothing_that_acts(
    turn: int, turns: list[Comparison], drawn: list[dict[str, Any]]
) -> None:
    made = pdf(turns[turn], drawn=drawn[turn])
    assert not pages.active(made)


@pytest.mark.parametrize("turn", range(TURNS))
def test_figures_hold_nothing_that_acts(turn: int, drawn: list[dict[str, Any]]) -> None:
    for figure in drawn[turn].values():
        assert not pages.faults(figure["svg"].encode())


def test_saved_figures_hold_nothing_that_acts(drawn: list[dict[str, Any]]) -> None:
    few = {key: drawn[-1][key] for key in list(drawn[-1])[:3]}
    for name, data in figure_files(few).items():
        if name.endswith(".svg"):
            assert not pages.faults(data), name
        elif name.endswith(".pdf"):
            assert not pages.active(data), name
        else:
            assert data.startswith(b"\x89PNG")


@pytest.fixture(scope="module")
def noted(solved: tuple[MastResult, ...]) -> MastResult:
    """A small mast whose notes are the contents, each named."""
    notes = tuple(f"{name} starts {text} ends" for name, text in SHORT.items())
    return replace(solved[2], job=replace(solved[2].job, notes=notes))


def test_each_content_is_read_in_the_report_as_it_was_written(noted: MastResult) -> None:
    comparison = compare([noted])
    made = pdf(comparison, drawn=some(comparison))
    assert not pages.active(made)
    told = pages.words(made)
    for name, text in READABLE.items():
        assert pages.squeezed(f"{name} starts {plain(text)} ends") in told, name


def named(result: MastResult, name: str) -> MastResult:
    """The result under another name of its mast."""
    mast = replace(result.job.mast, name=name)
    return replace(result, job=replace(result.job, mast=mast))


def some(comparison: Comparison) -> dict[str, Any]:
    """Figures that bear the masts' names."""
    found = {
        kind: drawing(comparison, kind, "metric") for kind in ("sections", "stiffness", "deflected")
    }
    return {kind: picture(one) for kind, one in found.items() if one is not None}


def test_a_long_name_is_cut_with_an_ellipsis_and_whole_among_the_inputs(
    solved: tuple[MastResult, ...],
) -> None:
    name = "wide and deep, " * 40 + "end"
    comparison = compare([named(solved[2], name)])
    told = pages.words(pdf(comparison, drawn=some(comparison)))
    assert "…" in told
    assert pages.squeezed(name) in told


def test_names_without_end_break_no_figure_and_no_page(solved: tuple[MastResult, ...]) -> None:
    comparison = compare([named(solved[2], name) for name in LONG.values()])
    figures = some(comparison)
    for figure in figures.values():
        assert not pages.faults(figure["svg"].encode())
    assert not pages.active(pdf(comparison, drawn=figures, brief=True))


def test_letters_with_marks_of_their_own_break_no_report(solved: tuple[MastResult, ...]) -> None:
    """As in Yoruba or pointed Hebrew: letters and marks that no one glyph holds."""
    marked = ("o\u0316", "q\u0300", "\u1ecd\u0300", "x\u0300\u0300", "\u05dc\u05b8", "\U0001f3c4\ufe0f")
    comparison = compare([named(solved[2], f"a{letter}b") for letter in marked])
    assert not pages.active(pdf(comparison, drawn=some(comparison), brief=True))


def is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def test_no_cell_of_any_table_is_a_formula_or_a_command(turns: list[Comparison]) -> None:
    for comparison in turns:
        for name, data in csv_files(comparison).items():
            for row in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")):
                for cell in row:
                    assert is_number(cell) or not cell.startswith(tuple("=+-@\t\r\n＝＋－＠")), (
                        name,
                        cell,
                    )
                    bare = cell.replace("\n", "").replace("\t", "").replace("\r", "")
                    assert not [c for c in bare if ord(c) < 32 or 127 <= ord(c) < 160], (name, cell)


def test_tables_lose_no_content(noted: MastResult) -> None:
    told = "".join(
        pages.squeezed(cell)
        for row in csv.reader(
            io.StringIO(csv_files(compare([noted]))["notes.csv"].decode("utf-8-sig"), newline="")
        )
        for cell in row
    )
    for name, text in READABLE.items():
        if text.isprintable():
            assert pages.squeezed(f"{name} starts {text} ends") in told, name


class _Page(HTMLParser):
    """Tags, attributes and text of a piece of HTML."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.attributes: list[tuple[str, str, str]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes += [(tag, key, value or "") for key, value in attrs]

    def handle_data(self, data: str) -> None:
        self.text += data


def read(text: str) -> _Page:
    page = _Page()
    page.feed(text)
    page.close()
    return page


def test_a_notebook_shows_text_and_runs_nothing(
    turns: list[Comparison], solved: tuple[MastResult, ...]
) -> None:
    usual = read(html(compare([solved[0]]), "metric"))
    for comparison in turns:
        page = read(html(comparison, "metric"))
        assert page.tags <= usual.tags
        assert not page.tags & {"script", "iframe", "object", "embed", "link", "meta", "form", "base"}
        for tag, key, value in page.attributes:
            assert not key.startswith("on"), (tag, key)
            if key in ("src", "href", "xlink:href"):
                assert value.startswith(("data:image/", "#")), (tag, key, value[:40])
        assert pages.squeezed(plain(comparison.masts[0].job.mast.name, 300)) in pages.squeezed(page.text)


@pytest.mark.parametrize("name", SHORT)
def test_markdown_of_a_notebook_is_text(name: str, solved: tuple[MastResult, ...]) -> None:
    put = texts(words(solved[2]), SHORT[name])
    text = markdown(compare([written(solved[2], put)]))
    assert "<script" not in text
    assert "<img" not in text
    assert "](" not in text.replace("\\](", "").replace("]\\(", "")
    assert text.replace("\n", "").isprintable()
