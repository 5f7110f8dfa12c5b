"""Results and figures in a notebook: IPython's own look-up, readable HTML, text that stays text."""

from __future__ import annotations

import base64
import dataclasses
import inspect
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

import mastcheck
from mastcheck import figures, notebook
from mastcheck.checks.result import Comparison
from mastcheck.report.drawings import ALONE, TOGETHER, drawings
from mastcheck.report.figure_style import svg
from mastcheck.report.pictures import picture
from tests.reports import compare, make_laminated, make_mast

IPython = pytest.importorskip("IPython")

ROOT = Path(__file__).parents[2]
NOTEBOOK = ROOT / "docs" / "notebook.ipynb"
HOSTILE = (
    '</table><script>alert(1)</script><img src=x onerror="alert(2)"> [a](javascript:b) **c** `d` $e$ | f'
)
VOID = {"img", "br", "hr", "meta"}


@pytest.fixture(scope="module")
def shell(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """An IPython as a notebook's kernel has it, keeping nothing on disk."""
    from IPython.core.interactiveshell import InteractiveShell
    from traitlets.config import Config

    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("IPYTHONDIR", str(tmp_path_factory.mktemp("ipython")))
        # Another environment may be activated than that of this Python: IPython would warn of it.
        patch.delenv("VIRTUAL_ENV", raising=False)
        settings = Config()
        settings.HistoryManager.enabled = False
        yield InteractiveShell(config=settings)


@pytest.fixture(scope="module")
def hostile() -> Comparison:
    wild = make_mast(HOSTILE, 0.12, unstable=True)
    case = dataclasses.replace(wild.cases[0], case=dataclasses.replace(wild.cases[0].case, name=HOSTILE))
    wild = dataclasses.replace(wild, cautions=(HOSTILE,), cases=(case, *wild.cases[1:]))
    return compare(make_mast(), wild, make_laminated())


def formats(shell: Any, obj: object) -> dict[str, str]:
    """What a notebook is sent for an object, by kind."""
    data, _ = shell.display_formatter.format(obj)
    return data


class Page(HTMLParser):
    """Elements of a piece of HTML; says when they are not closed in turn."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self._open: list[str] = []
        self.feed(text)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] != "style":
            self.words += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.elements if name == tag]


def test_ipython_finds_both_forms(shell: Any) -> None:
    one = make_mast()
    for result in (one, compare(one, make_mast("other", 0.12))):
        sent = formats(shell, result)
        assert sent["text/html"] == notebook.html(result)
        assert sent["text/markdown"] == notebook.markdown(result)
        assert "text/plain" in sent


class TestHtml:
    def test_verdict_cautions_and_numbers_are_in_sight(self, hostile: Comparison) -> None:
        page = Page(notebook.html(hostile))
        assert "A Quay Lane 75, wide base: EVERY LIMIT HELD" in page.words
        assert f"B {HOSTILE}: FAILS" in page.words
        assert "Material values are to be checked against the mill certificate." in page.words
        assert "calculation aid" in page.words
        assert page.all("details")[0] == {"open": None}
        for number in ("2.13", "19.2", "unstable: buckles at 0.93 times the service load"):
            assert number in page.words.replace("\u200b", "")

    def test_tables_can_be_read_aloud(self, hostile: Comparison) -> None:
        page = Page(notebook.html(hostile))
        assert len(page.all("table")) == len(page.all("caption")) > 5
        heads = page.all("th")
        assert {th.get("scope") for th in heads} == {"col", "row"}
        assert all(image["alt"] for image in page.all("img"))

    def test_rows_are_as_wide_as_their_heads(self, hostile: Comparison) -> None:
        for table in re.findall(r"<table>.*?</table>", notebook.html(hostile), re.DOTALL):
            widths = set()
            for row in re.findall(r"<tr>.*?</tr>", table, re.DOTALL):
                cells = [a for tag, a in Page(row).elements if tag in ("th", "td")]
                widths.add(sum(int(a.get("colspan") or 1) for a in cells))
            assert len(widths) == 1

    def test_names_are_text_and_nothing_is_fetched_or_run(self, hostile: Comparison) -> None:
        page = Page(notebook.html(hostile))
        assert page.words.replace("\u200b", "").count(HOSTILE) >= 3
        assert {tag for tag, _ in page.elements} <= {
            "div", "style", "p", "strong", "ul", "li", "details", "summary", "table", "caption", "thead",
            "tbody", "tr", "th", "td", "figure", "figcaption", "img",
        }  # fmt: skip
        for _, attrs in page.elements:
            assert set(attrs) <= {
                "class", "scope", "colspan", "open", "src", "alt", "role", "tabindex", "aria-label"
            }  # fmt: skip
        assert not re.search(
            r"url\(|@import|http",
            "".join(re.findall("<style>.*?</style>", notebook.html(hostile), re.DOTALL)),
        )
        for image in page.all("img"):
            kind, _, data = str(image["src"]).partition(",")
            assert kind == "data:image/svg+xml;base64"
            assert ET.fromstring(base64.b64decode(data)).get("role") == "img"

    def test_colours_are_the_page_s_own(self) -> None:
        """No text is set in a colour of ours, and no ground but that of pictures."""
        style = re.findall("<style>(.*?)</style>", notebook.html(make_mast()), re.DOTALL)[0]
        assert set(re.findall(r"[^-]color:([^;}]+)", style)) == {"inherit"}
        assert set(re.findall(r"background:([^;}]+)", style)) == {"none", "#fff"}

    def test_imperial(self) -> None:
        words = Page(notebook.html(make_mast(), "imperial")).words
        assert "lb" in words
        assert "mm" not in words.split("Sections to one scale")[0].replace("mm per 100 N", "")


class TestMarkdown:
    def test_it_says_the_same(self, hostile: Comparison) -> None:
        html = self.rendered(notebook.markdown(hostile))
        page = Page(html)
        for words in ("EVERY LIMIT HELD", "FAILS", "mill certificate", "calculation aid", "19.2"):
            assert words in page.words
        assert len(page.all("table")) == len(Page(notebook.html(hostile)).all("table"))

    def test_names_are_text(self, hostile: Comparison) -> None:
        page = Page(self.rendered(notebook.markdown(hostile)))
        assert page.words.count(HOSTILE) >= 3
        assert {tag for tag, _ in page.elements} <= {
            "p", "strong", "ul", "li", "table", "thead", "tbody", "tr", "th", "td"
        }  # fmt: skip
        assert "$" not in notebook.markdown(hostile)  # which notebooks set as mathematics

    @staticmethod
    def rendered(text: str) -> str:
        markdown_it = pytest.importorskip("markdown_it")
        made: str = markdown_it.MarkdownIt("commonmark", {"html": True}).enable("table").render(text)
        return made


class TestFigures:
    def test_each_is_the_report_s_own(self, shell: Any) -> None:
        comparison = compare(make_mast(), make_mast("other", 0.12, unstable=True), make_laminated())
        for key, d in drawings(comparison, "metric").items():
            fig = getattr(figures, key.replace(" ", "_"))(comparison)
            assert svg(fig) == svg(d.figure), key
            sent = formats(shell, fig)["image/svg+xml"]
            assert ET.fromstring(sent.encode()).get("role") == "img"
            assert re.findall("<path d=[^>]*>", sent) == re.findall("<path d=[^>]*>", picture(d)["svg"])

    def test_there_is_one_for_every_figure(self) -> None:
        known = {key.replace(" ", "_") for key in (*TOGETHER, *ALONE, "drag", "free bodies")}
        public = {
            name: found
            for name, found in vars(figures).items()
            if inspect.isfunction(found) and found.__module__ == figures.__name__ and name[0] != "_"
        }
        assert set(public) == known
        assert all(found.__doc__ for found in public.values())
        assert mastcheck.figures is figures
        assert "figures" in dir(mastcheck)

    @pytest.mark.parametrize(
        ("name", "words"),
        [("flex", "no joint"), ("bolts", "no bolted joint"), ("play", "no joint with play"),
         ("trade", "two masts"), ("drag", "water"), ("free_bodies", "manoeuvre"), ("modes", "modes"),
         ("importance", "tolerances"), ("utilisation", "two masts"), ("buckling", "buckling")],
    )  # fmt: skip
    def test_what_is_not_there_is_said(self, name: str, words: str) -> None:
        with pytest.raises(ValueError, match=f"nothing to draw of .*{words}"):
            getattr(figures, name)(make_mast())

    def test_wrong_places_and_cases_are_said(self) -> None:
        with pytest.raises(ValueError, match="no mast at place 1: places go from 0 to 0"):
            figures.flex(make_mast(), mast=1)
        with pytest.raises(ValueError, match="no mast stands a load case 'carv'; there are carve, "):
            figures.deflected(make_mast(), case="carv")

    def test_a_case_by_name(self) -> None:
        one = make_mast()
        assert svg(figures.deflected(one, case="cruise")) != svg(figures.deflected(one))
        assert svg(figures.deflected([one, one])) == svg(figures.deflected(compare(one, one)))

    def test_it_looks_the_same_saved_by_the_user(self, tmp_path: Path) -> None:
        """Ticks are made when first drawn, by the settings of that moment, which may be the user's."""
        import matplotlib as mpl

        fig = figures.stiffness(make_mast())
        plain, loud = tmp_path / "plain.png", tmp_path / "loud.png"
        with mpl.rc_context({"savefig.dpi": 100}):
            fig.savefig(plain)
        with mpl.rc_context(
            {"savefig.dpi": 100, "font.size": 25, "xtick.labelsize": 25, "axes.grid": False}
        ):
            figures.stiffness(make_mast()).savefig(loud)
        assert plain.read_bytes() == loud.read_bytes()


def test_the_notebook_of_the_documentation_runs(shell: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(NOTEBOOK.parent)
    kept = json.loads(NOTEBOOK.read_text(encoding="utf-8"))
    sent = []
    monkeypatch.setattr(
        shell.displayhook, "write_format_data", lambda data, _=None: sent.append(data), raising=True
    )
    for cell in kept["cells"]:
        if cell["cell_type"] == "code":
            assert cell["outputs"] == []  # kept without, so that none grows old
            ran = shell.run_cell("".join(cell["source"]))
            ran.raise_error()
    one, number, bent, both, stiff = sent
    assert "EVERY LIMIT HELD" in one["text/html"]
    assert 1 < float(number["text/plain"]) < 1000
    assert bent["image/svg+xml"].startswith("<?xml")
    assert "Side by side" in both["text/html"]
    assert stiff["image/svg+xml"].count("<text") > 10


def test_a_result_brings_no_report_until_it_is_shown() -> None:
    ran = subprocess.run(
        [sys.executable, "-c", "import sys, mastcheck.checks.result; print(*sys.modules)"],
        capture_output=True, encoding="utf-8", check=True, timeout=120,
    )  # fmt: skip
    assert not {"matplotlib", "typst", "mastcheck.report", "mastcheck.notebook"} & set(
        ran.stdout.split()
    )
