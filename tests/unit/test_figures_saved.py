"""Figures saved one by one: three forms of one drawing, repeatable, with their words and letters."""

from __future__ import annotations

import base64
import io
import re
import struct
import zlib
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree as ET

import pypdf
import pytest

from mastcheck.checks.result import Comparison
from mastcheck.report.by_font import by_font
from mastcheck.report.drawings import ALONE, TOGETHER, drawing, drawings
from mastcheck.report.figure_style import svg
from mastcheck.report.fonts import east_asian_file, latin_folder
from mastcheck.report.pictures import pictures
from mastcheck.report.saved import CAUTION, PER_INCH, described, figure_files, slug
from tests.reports import compare, make_laminated, make_mast

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = 'a<script>alert(1)</script>" style="font-family: x; #panic("x") $x$ ../../etc'


def made() -> Comparison:
    return compare(make_mast(HOSTILE), make_mast("Zürich Ωmega", 0.12, unstable=True), make_laminated())


@pytest.fixture(scope="module")
def drawn() -> dict[str, Any]:
    return pictures(made(), "metric")


@pytest.fixture(scope="module")
def saved(drawn: dict[str, Any]) -> dict[str, bytes]:
    return figure_files(drawn)


def of(saved: dict[str, bytes], ending: str) -> Iterator[tuple[str, bytes]]:
    found = [(name.removesuffix(ending), data) for name, data in saved.items() if name.endswith(ending)]
    assert len(found) > 4
    yield from found


def test_every_figure_in_every_form_under_a_plain_name(
    drawn: dict[str, Any], saved: dict[str, bytes]
) -> None:
    assert {name.partition(".")[0] for name in saved} == {slug(key) for key in drawn}
    assert len({slug(key) for key in drawn}) == len(drawn)
    assert len(saved) == 3 * len(drawn)
    assert all(re.fullmatch(r"[a-z0-9-]{1,40}\.(svg|pdf|png)", name) for name in saved)


def test_same_input_gives_same_bytes(saved: dict[str, bytes]) -> None:
    assert figure_files(pictures(made(), "metric")) == saved


def test_one_figure_alone_is_the_one_among_all() -> None:
    comparison = made()
    every = drawings(comparison, "metric")
    for key, d in every.items():
        kind, _, letter = key.rpartition(" ") if key[-1].isupper() else (key, "", "A")
        alone = drawing(comparison, kind, "metric", mast="ABC".index(letter))
        assert alone is not None
        assert (alone.alt, alone.caption) == (d.alt, d.caption)
        assert svg(alone.figure) == svg(d.figure)
    assert set(every) <= {*TOGETHER, *(f"{k} {x}" for k in ALONE for x in "ABC")}


class TestSvg:
    def test_words_for_those_who_cannot_see_it(
        self, drawn: dict[str, Any], saved: dict[str, bytes]
    ) -> None:
        by_name = {slug(key): picture for key, picture in drawn.items()}
        for name, data in of(saved, ".svg"):
            root = ET.fromstring(data)
            assert root.get("role") == "img"
            said = [root.find(f"{SVG}{tag}") for tag in ("title", "desc")]
            assert [e.get("id") for e in said] == root.get("aria-labelledby").split()
            words = by_name[name]
            assert said[0].text == words["caption"].replace("\u200b", "")
            assert said[1].text == f"{words['alt']} {CAUTION}".replace("\u200b", "")

    def test_letters_go_along_and_nothing_is_fetched_or_run(self, saved: dict[str, bytes]) -> None:
        from fontTools.ttLib import TTFont

        for name, data in of(saved, ".svg"):
            root = ET.fromstring(data)
            style = next(e.text for e in root.iter(f"{SVG}style") if "@font-face" in (e.text or ""))
            held: set[int] = set()
            for font in re.findall(r"src:url\(data:font/[a-z]+;base64,([A-Za-z0-9+/=]+)\)", style):
                held |= set(TTFont(io.BytesIO(base64.b64decode(font))).getBestCmap())
            used = {ord(c) for e in root.iter(f"{SVG}text") for c in "".join(e.itertext())}
            assert used, name
            assert used <= held, name
            assert not list(root.iter(f"{SVG}script"))
            for element in root.iter():
                for key, value in element.attrib.items():
                    assert not key.lower().startswith("on")
                    if key.endswith("href"):
                        assert value.startswith(("#", "data:image/png;base64,")), (name, value)

    def test_a_name_is_drawn_as_it_stands(self, saved: dict[str, bytes]) -> None:
        texts = ["".join(e.itertext()) for e in ET.fromstring(saved["stiffness.svg"]).iter(f"{SVG}text")]
        assert any('a<script>alert(1)</script>" style' in words for words in texts)
        assert HOSTILE in ET.fromstring(saved["sections.svg"]).findtext(f"{SVG}desc")


class TestPdf:
    def test_one_page_of_the_figures_size(self, drawn: dict[str, Any], saved: dict[str, bytes]) -> None:
        by_name = {slug(key): picture for key, picture in drawn.items()}
        for name, data in of(saved, ".pdf"):
            (page,) = pypdf.PdfReader(io.BytesIO(data)).pages
            assert float(page.mediabox.width) == pytest.approx(by_name[name]["width"], abs=0.01)
            assert float(page.mediabox.height) == pytest.approx(by_name[name]["height"], abs=0.01)

    def test_fonts_are_inside_as_outlines_not_pictures(self, saved: dict[str, bytes]) -> None:
        for name, data in of(saved, ".pdf"):
            reader = pypdf.PdfReader(io.BytesIO(data))
            objects = [reader.get_object(i) for i in range(1, reader.trailer["/Size"])]
            fonts = [o for o in objects if isinstance(o, dict) and o.get("/Type") == "/FontDescriptor"]
            assert fonts, name
            assert all({"/FontFile2", "/FontFile3"} & set(font) for font in fonts)
            kinds = {o.get("/Subtype") for o in objects if isinstance(o, dict)}
            assert "/Type3" not in kinds

    def test_words_and_no_date_of_today(self, saved: dict[str, bytes]) -> None:
        for name, data in of(saved, ".pdf"):
            reader = pypdf.PdfReader(io.BytesIO(data))
            assert reader.metadata is not None
            assert reader.metadata.title, name
            assert CAUTION in str(reader.metadata.subject)
            assert str(reader.metadata["/CreationDate"]).startswith("D:19700101")
            objects = [reader.get_object(i) for i in range(1, reader.trailer["/Size"])]
            alts = [str(o["/Alt"]) for o in objects if isinstance(o, dict) and "/Alt" in o]
            assert any(CAUTION in alt for alt in alts), name
        assert "EI side" in pypdf.PdfReader(io.BytesIO(saved["stiffness.pdf"])).pages[0].extract_text()


def chunks(png: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Kinds and data of a PNG's chunks, each with a right sum."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    at = 8
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        kind, data = png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        assert struct.unpack(">I", png[at + 8 + length : at + 12 + length]) == (zlib.crc32(kind + data),)
        yield kind, data
        at += 12 + length


class TestPng:
    def test_size_and_words(self, drawn: dict[str, Any], saved: dict[str, bytes]) -> None:
        image = pytest.importorskip("PIL.Image")
        by_name = {slug(key): picture for key, picture in drawn.items()}
        for name, data in of(saved, ".png"):
            with image.open(io.BytesIO(data)) as opened:
                opened.load()
                words = dict(opened.text)
                wide, high = opened.size
                colours = opened.convert("RGB").getcolors(1 << 24)
            assert wide == pytest.approx(by_name[name]["width"] / 72 * PER_INCH, abs=1)
            assert high == pytest.approx(by_name[name]["height"] / 72 * PER_INCH, abs=1)
            assert len(colours) > 20  # a drawing, not a blank sheet
            assert max(colours)[1] == (255, 255, 255)  # on white, whatever is behind it
            assert set(words) == {"Title", "Description"}
            assert words["Description"] == f"{by_name[name]['alt']} {CAUTION}".replace("\u200b", "")

    def test_nothing_of_the_program_or_the_day(self, saved: dict[str, bytes]) -> None:
        for _, data in of(saved, ".png"):
            kinds = [kind for kind, _ in chunks(data)]
            assert kinds[0] == b"IHDR"
            assert kinds[-1] == b"IEND"
            assert not {b"tEXt", b"zTXt", b"tIME", b"eXIf"} & set(kinds)

    def test_words_in_any_letters(self, saved: dict[str, bytes]) -> None:
        told = described(saved["sections.png"], Title="Ω – 長い")
        assert (b"iTXt", b"Title\0\0\0en\0\0" + "Ω – 長い".encode()) in list(chunks(told))


def test_settings_of_the_user_do_not_reach_them(saved: dict[str, bytes]) -> None:
    import matplotlib as mpl

    with mpl.rc_context({"font.size": 20, "pdf.fonttype": 3, "savefig.dpi": 30}):
        assert figure_files(pictures(made(), "metric")) == saved


MIXED = "日本の帆柱 Żółw & мачта 長Ża"


@pytest.mark.skipif(east_asian_file() is None, reason="no East Asian font is installed")
class TestMixedLetters:
    """Names of letters that no one font has: refused in a page unless each run names its own."""

    def test_a_figure_in_every_form(self) -> None:
        drawn = pictures(compare(make_mast(MIXED), make_mast("plain", 0.12)), "metric")
        saved = figure_files({"stiffness": drawn["stiffness"]})
        words = pypdf.PdfReader(io.BytesIO(saved["stiffness.pdf"])).pages[0].extract_text()
        assert set(MIXED) - {" "} <= set(words)

    @pytest.mark.parametrize(("anchor", "before"), [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
    def test_runs_stand_where_the_whole_stood(self, anchor: str, before: float) -> None:
        """Widths by a second way: the advances in the fonts' own tables, read by fontTools."""
        from fontTools.ttLib import TTFont

        east = east_asian_file()
        assert east is not None
        widths = []
        for path, run in ((east, "日本"), (latin_folder() / "DejaVuSans.ttf", " Ż "), (east, "長")):
            with TTFont(path, lazy=True) as font:
                sizes, names, em = font["hmtx"], font.getBestCmap(), font["head"].unitsPerEm
                widths.append([10 * sizes[names[ord(c)]][0] / em for c in run])
        look = f"font-size: 10px; font-family: 'DejaVu Sans', 'x'; text-anchor: {anchor}; fill: #222222"
        made = by_font(f'<g><text style="{look}" x="50" y="9">日本 Ż 長</text></g>'.encode()).decode()
        texts = list(ET.fromstring(made))
        assert [t.text for t in texts] == ["日本", "Ż", "長"]
        assert all("text-anchor: start" in t.get("style") and t.get("y") == "9" for t in texts)
        first = 50 - before * sum(map(sum, widths))
        places = [first, first + sum(widths[0]) + widths[1][0], first + sum(widths[0]) + sum(widths[1])]
        assert [float(t.get("x")) for t in texts] == pytest.approx(places, abs=2e-3)

    def test_what_one_font_can_set_is_left_alone(self) -> None:
        for words in ("Quay Lane", "Żółw мачта", "日本"):
            text = f"<text style=\"font-size: 10px; font-family: 'DejaVu Sans'\">{words}</text>".encode()
            assert by_font(text) == text
