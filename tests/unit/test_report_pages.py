"""The report as a document: outline, order, tags, words for figures, names of any script, two pages."""

from __future__ import annotations

import dataclasses
import io
import re
from collections.abc import Iterator
from importlib.resources import files

import pypdf
import pytest
import typst

from mastcheck.checks.result import Comparison, MastResult
from mastcheck.errors import InputError
from mastcheck.loadcase import Lift
from mastcheck.report import brief, figures, fonts
from mastcheck.report.cells import ABREAST, called, letters
from mastcheck.report.content import UNDRAWN, content
from mastcheck.report.display import breakable, isolated, plain
from mastcheck.report.figure_style import _LINES, letter_of
from mastcheck.report.identity import document_id
from mastcheck.report.method import EQUATIONS, method_rows
from mastcheck.report.pdf import pdf, set_page
from mastcheck.report.results import ratio_tables, self_check_table
from mastcheck.report.station_figures import sections
from tests.reports import compare, make_laminated, make_mast

ORDER = [
    "Answer",
    "Cautions",
    "Side by side",
    "Sections to scale",
    "Stiffness along the mast",
    "Shapes under load",
    "Stress and utilisation",
    "Inputs and assumptions",
    "Self-checks and method",
    "Review",
]
SCRIPTS = {
    "Greek": "Ιστίο εβδομήντα πέντε",
    "Cyrillic": "Мачта широкая",
    "Arabic": "صاري الألمنيوم",
    "Hebrew": "תורן אלומיניום",
    "Japanese": "アルミマスト幅広",
    "Chinese": "铝桅杆宽底座",
    "Korean": "알루미늄 마스트",
}


def _reader(data: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(data))


def _text(data: bytes) -> str:
    pages = (page.extract_text() for page in _reader(data).pages)
    return " ".join(re.sub("[\u200b\u2068\u2069]", "", " ".join(pages)).split())


def _outline(entries: list) -> Iterator[str]:
    for entry in entries:
        if isinstance(entry, list):
            yield from _outline(entry)
        else:
            yield str(entry.title)


def _elements(node: object, kind: str, seen: set[int] | None = None) -> Iterator[dict]:
    """Structure elements of a kind, with all below."""
    seen = set() if seen is None else seen
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for child in node:
            yield from _elements(child, kind, seen)
    elif isinstance(node, dict) and id(node) not in seen:
        seen.add(id(node))
        if node.get("/S") == kind:
            yield node
        if "/K" in node:
            yield from _elements(node["/K"], kind, seen)


def _named(name: str, result: MastResult | None = None) -> MastResult:
    result = make_mast() if result is None else result
    return dataclasses.replace(
        result, job=dataclasses.replace(result.job, mast=dataclasses.replace(result.job.mast, name=name))
    )


def _masts(count: int) -> Comparison:
    return compare(*(make_mast(f"Harbour {i}", 0.15 - 0.005 * i) for i in range(count)))


@pytest.fixture(scope="module")
def two() -> Comparison:
    return compare(make_mast(), make_laminated())


@pytest.fixture(scope="module")
def two_pdf(two: Comparison) -> bytes:
    return pdf(two)


def test_bookmarks_follow_the_headings_in_the_order_of_the_reader(two_pdf: bytes) -> None:
    found = list(_outline(_reader(two_pdf).outline))
    assert found[0] == "Mast comparison: 2 masts"
    assert [t for t in found if t in ORDER] == ORDER
    assert found.index("Self-checks and method") < found.index("Method") < found.index("Review")


def test_sections_without_data_have_no_heading(two_pdf: bytes) -> None:
    found = set(_outline(_reader(two_pdf).outline))
    assert not found & {"Flex budget", "Bolts and play", "Tolerances", "Water side", "Wings"}


def test_every_page_carries_the_document_s_id_and_its_number(two: Comparison, two_pdf: bytes) -> None:
    name = document_id(two, "metric")
    pages = _reader(two_pdf).pages
    for number, page in enumerate(pages, 1):
        assert f"Document {name}" in page.extract_text()
        assert f"page {number} of {len(pages)}" in page.extract_text()


def test_every_figure_and_every_equation_has_words(two: Comparison, two_pdf: bytes) -> None:
    tree = _reader(two_pdf).trailer["/Root"]["/StructTreeRoot"]
    drawn = [str(f["/Alt"]) for f in _elements(tree, "/Figure")]
    assert len(drawn) >= 5
    assert all(len(words) > 20 for words in drawn)
    said = [str(f["/Alt"]) for f in _elements(tree, "/Formula")]
    assert said == [row["alt"] for row in method_rows(two.masts)]


def test_tables_are_tagged_with_their_heads(two_pdf: bytes) -> None:
    tree = _reader(two_pdf).trailer["/Root"]["/StructTreeRoot"]
    tables = list(_elements(tree, "/Table"))
    assert len(tables) > 8
    heads = sum(1 for t in tables if any(True for _ in _elements(t, "/TH")))
    assert heads >= len(tables) - 1  # the box to sign has none


def test_only_fonts_that_packages_bring_are_in_it_and_all_are_embedded(two_pdf: bytes) -> None:
    found = set()
    for page in _reader(two_pdf).pages:
        for font in page["/Resources"]["/Font"].values():
            made = font.get_object()
            below = made["/DescendantFonts"][0].get_object() if "/DescendantFonts" in made else made
            described = below["/FontDescriptor"].get_object()
            assert {"/FontFile2", "/FontFile3"} & set(described)
            found.add(str(made["/BaseFont"]).partition("+")[2])
    families = ("LibertinusSerif", "DejaVuSans", "NewCMMath", "NotoSansCJK")
    assert found
    assert all(name.startswith(families) for name in found), found


def test_every_equation_of_the_method_can_be_set() -> None:
    """The template knows each key, and no other."""
    page = files("mastcheck.report").joinpath("method.typ").read_text("utf-8")
    keys = re.findall(r'^  "([^"]+)": \$', page, re.MULTILINE)
    assert sorted(keys) == sorted(e.key for e in EQUATIONS)
    data = content(compare(make_mast())) | {
        "method": [
            {"key": e.key, "what": e.what, "alt": e.alt, "source": str(e.source)} for e in EQUATIONS
        ]
    }
    from mastcheck.report.pdf import set_page

    made = set_page("report.typ", data, "a4", also=("method.typ",))
    tree = _reader(made).trailer["/Root"]["/StructTreeRoot"]
    assert len(list(_elements(tree, "/Formula"))) == len(EQUATIONS)


def test_the_method_shows_what_the_masts_were_judged_by() -> None:
    plain_mast, made = make_mast(), make_laminated()
    assert {"section", "compliance", "second order", "buckling", "von Mises"} <= {
        row["key"] for row in method_rows([plain_mast])
    }
    assert "wrinkling" not in {row["key"] for row in method_rows([plain_mast])}
    assert {"wrinkling", "max strain"} <= {row["key"] for row in method_rows([made])}
    case = plain_mast.cases[0]
    follows = dataclasses.replace(case, case=dataclasses.replace(case.case, lift=Lift.FOLLOWER))
    assert "flutter" in {
        row["key"] for row in method_rows([dataclasses.replace(plain_mast, cases=(follows,))])
    }
    assert all("(" in row["source"] for row in method_rows([made]))  # each with its grade


@pytest.mark.parametrize("count", [1, 2, 5, 8])
@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_the_brief_report_has_two_pages(count: int, paper: str) -> None:
    masts = _masts(count)
    made = pdf(masts, brief=True, paper=paper)
    assert len(_reader(made).pages) == 2
    text = _text(made)
    for words in ("Answer", "Cautions", "Main assumptions", "Reviewer", "not approval"):
        assert words in text
    assert text.count(f"Document {document_id(masts, 'metric')}") == 2
    size = _reader(made).pages[0].mediabox
    assert float(size.width) == pytest.approx(595.28 if paper == "a4" else 612, abs=0.1)


@pytest.mark.parametrize("count", [1, 2])
def test_the_brief_report_of_two_draws_sections_shapes_and_utilisation(count: int) -> None:
    tree = _reader(pdf(_masts(count), brief=True)).trailer["/Root"]["/StructTreeRoot"]
    said = " ".join(str(f["/Alt"]) for f in _elements(tree, "/Figure"))
    for words in ("Cross-sections", "deflection and twist", "Utilisation along the mast"):
        assert words in said


@pytest.mark.parametrize("many", [12, 60, 150])
def test_no_caution_is_left_out_of_the_brief_report(many: int) -> None:
    told = tuple(
        f"Caution number {i}: something that a rider must know, said in a sentence of some length so "
        "that many of them fill a page and more."
        for i in range(many)
    )
    made = pdf(compare(dataclasses.replace(make_mast(), cautions=told)), brief=True)
    text = _text(made)
    assert all(f"Caution number {i}:" in text for i in range(many))
    assert many > 60 or len(_reader(made).pages) == brief.BRIEF_PAGES
    tree = _reader(made).trailer["/Root"]["/StructTreeRoot"]
    whole = len(list(_elements(tree, "/Figure"))) == 3
    assert whole or many > 12
    assert not (whole and many > 100)
    assert whole != ("Left out, since the cautions need the room" in text)


def test_a_caution_names_the_masts_it_is_of() -> None:
    alone = dataclasses.replace(make_mast(), cautions=("both of them", "the first alone"))
    other = dataclasses.replace(make_mast("other"), cautions=("both of them",))
    told = content(compare(alone, other))["cautions"]
    assert told == ["both of them", "the first alone (A)"]


def test_the_brief_report_repeats() -> None:
    assert pdf(_masts(2), brief=True) == pdf(_masts(2), brief=True)


@pytest.mark.parametrize("script", SCRIPTS)
def test_names_of_other_scripts_stand_as_they_are(script: str) -> None:
    name = SCRIPTS[script]
    assert plain(name) == name
    # Shaping and direction change the order in which a reader gets letters: all of them are there.
    text = pdf(compare(_named(name), make_mast()))
    found = _text(text)
    assert "[U+" not in found
    if script not in ("Arabic", "Hebrew"):
        assert name in found


def test_a_name_from_right_to_left_moves_no_number_beside_it() -> None:
    name = SCRIPTS["Hebrew"]
    assert isolated(name) == f"\u2068{name}\u2069"
    assert isolated("Quay Lane 75") == "Quay Lane 75"
    assert called(_named(name)).startswith("\u2068")


def test_a_character_without_a_glyph_is_named_and_the_report_says_so() -> None:
    assert plain("🏄 mast") == "[U+1F3C4] mast"
    assert UNDRAWN in _text(pdf(compare(_named("🏄 mast"))))
    assert UNDRAWN not in _text(pdf(compare(_named("mast"))))


def test_without_the_east_asian_font_a_name_is_told_by_its_code_points(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from mastcheck.report import display

    monkeypatch.setattr(display, "font_files", lambda: fonts.font_files()[:1])
    display._drawable.cache_clear()
    assert plain("日本") == "[U+65E5][U+672C]"
    display._drawable.cache_clear()


def test_a_long_name_is_cut_where_it_is_called_and_stands_in_full_once() -> None:
    name = "".join(f"n{i:04d}" for i in range(2000))
    found = content(compare(_named(name), make_mast()))
    assert len(found["verdicts"][0]["name"].replace("\u200b", "")) <= 60
    assert name in found["names"][0].replace("\u200b", "")
    assert name not in found["title"]
    made = pdf(compare(_named(name), make_mast()))
    text = _text(made).replace(" ", "")
    # A page's end, with its foot, may stand inside a name.
    many = len(_reader(made).pages)
    foot = re.compile(rf"Calculationaid,notapproval\.Document[0-9a-f]{{10}}page\d+of{many}")
    assert foot.sub("", text).count(name) == 1


def test_wide_letters_count_as_two() -> None:
    assert plain("日" * 40, 20) == "日" * 9 + "…"
    assert plain("a" * 40, 20) == "a" * 19 + "…"


def test_a_code_point_is_never_cut_in_two() -> None:
    assert plain("aaaa🏄", 9) == "aaaa…"


def test_breaks_are_inside_long_words_only() -> None:
    assert breakable("a" * 20) == "a" * 18 + "\u200b" + "aa"


def test_letters_go_on_past_the_alphabet() -> None:
    masts = [make_mast()] * 30
    found = letters(masts)
    assert found[25:28] == ["Z", "AA", "AB"]
    assert len(set(found)) == 30


def test_of_many_masts_no_table_has_more_columns_than_can_be_read() -> None:
    masts = _masts(8)
    ratios = tuple(dataclasses.replace(r, values=(1.0,) * 8, ratios=(1.0,) * 8) for r in masts.ratios)
    tables = ratio_tables(dataclasses.replace(masts, ratios=ratios), "metric")
    assert [t["columns"][2:] for t in tables] == [
        ["A", "B", "C", "D", "E", "B / A", "C / A", "D / A", "E / A"],
        ["A", "F", "G", "H", "F / A", "G / A", "H / A"],
    ]
    assert self_check_table(masts.masts)["columns"][1:3] == ["greatest", "in mast"]
    assert self_check_table(masts.masts[:ABREAST])["columns"][1:5] == ["A", "B", "C", "D"]


def test_the_greatest_self_check_of_many_masts_is_the_one_shown() -> None:
    masts = [make_mast() for _ in range(6)]
    own = masts[4].self_checks[0]
    masts[4] = dataclasses.replace(
        masts[4], self_checks=(dataclasses.replace(own, value=own.limit / 2),)
    )
    row = next(r for r in self_check_table(masts)["rows"] if r[0] == breakable(own.name))
    assert row[2] == "E"


@pytest.mark.parametrize(("count", "rows"), [(1, 2), (2, 3), (5, 5), (30, 8)])
def test_sections_are_drawn_of_every_mast(count: int, rows: int) -> None:
    figure = sections([make_mast()] * count)
    heights = {round(float(ax.get_position().y0), 4) for ax in figure.axes}
    assert len(heights) == rows
    titles = " ".join(t.get_text() for t in figure.texts)
    assert all(f"{letter_of(i)}  base" in titles for i in range(count))


def _luminance(colour: str) -> float:
    """Relative luminance of sRGB (WCAG 2.2, definition)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def test_lines_and_words_stand_out_from_the_page() -> None:
    """Contrast of 4.5 and more on white, as WCAG 2.2 (1.4.3, AA) asks of words."""
    for colour, _ in _LINES:
        assert 1.05 / (_luminance(colour) + 0.05) >= 4.5, colour


def test_lines_differ_by_dash_and_not_by_colour_alone() -> None:
    dashes = [str(dash) for _, dash in _LINES]
    assert len(set(dashes)) == len(dashes)


def test_every_size_of_words_is_one_of_the_type_scale() -> None:
    for page in files("mastcheck.report").iterdir():
        if page.name.endswith(".typ"):
            assert not re.findall(r"\bsize: *\d", page.read_text("utf-8")), page.name
        # A sheet of a section is a drawing of its own, with a title block.
        elif page.name.endswith(".py") and page.name != "section_figure.py":
            assert not re.findall(r"\bfontsize=\d", page.read_text("utf-8")), page.name


@pytest.mark.parametrize("count", [1, 2, 10])
def test_lines_bear_the_letters_of_their_masts(count: int) -> None:
    masts = _masts(count).masts
    along, bent = figures.stiffness_along(masts), figures.deflected(masts)
    wanted = [] if count == 1 else sorted(letter_of(i) for i in range(count))
    for ax in (*along.axes, *bent.axes):
        assert sorted(t.get_text() for t in ax.texts) == wanted
    assert bool(along.legends) == (count > 1)


def test_what_the_setter_refuses_is_told_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """A glyph that nobody foresaw: no traceback, and a way on."""

    def refuse(*_: object, **__: object) -> bytes:
        raise typst.TypstError("the text could not be mapped to a glyph")

    monkeypatch.setattr(typst, "compile", refuse)
    with pytest.raises(InputError, match=r"could not be mapped.*plainer letters"):
        set_page("report.typ", {}, "a4")
