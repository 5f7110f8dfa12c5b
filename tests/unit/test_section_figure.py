"""The drawing of one section: markers in place, true scale, nothing cut or overlapping."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Annotation
from pypdf import PdfReader

from mastcheck.checks.section import SectionResult, solve_at
from mastcheck.job import Job
from mastcheck.mast import Channel, Construction, Mast, OutlineKind, Web
from mastcheck.material import Material
from mastcheck.report.section_figure import (
    PAGE,
    drawing_scale,
    fitted,
    picture,
    section_figure,
)
from mastcheck.source import Grade, Source
from tests.masts import ALUMINIUM, mast

INVENTED = Source(title="invented for a test", grade=Grade.ASSUMED)
SHELL = Material(name="test laminate", E=70e9, G=15e9, density=1550.0, source=INVENTED)
FOAM = Material(name="foam " * 60, E=80e6, G=30e6, density=80.0, source=INVENTED)


def masts() -> dict[str, Mast]:
    """Constructions that differ in where their words and markers fall."""
    hollow = mast((0.12, 0.0144), (0.12, 0.0144), wall=0.0025)
    shell = mast((0.14, 0.018), (0.105, 0.014), wall=0.003, material=SHELL)
    return {
        "solid": mast(),
        "hollow": replace(
            hollow,
            name="W" * 200,
            section=replace(
                hollow.section,
                webs=(Web(at=0.3, thickness=0.0025), Web(at=0.6, thickness=0.002, lean=0.2)),
            ),
        ),
        "shell": replace(
            shell,
            section=replace(
                shell.section,
                construction=Construction.SHELL_AND_CORE,
                core=FOAM,
                channels=(Channel(at=0.3, bore=0.005, boss=0.009, material=ALUMINIUM),),
            ),
        ),
        "slab": mast((0.189, 0.02), (0.189, 0.02), outline=OutlineKind.SLAB),
        "lens": mast((0.1, 0.012), (0.1, 0.012), outline=OutlineKind.LENS),
        "nose-stacked": replace(mast(), taper_about=0.0),
        "wide": mast((0.3, 0.03), (0.3, 0.03)),
        "small": mast((0.03, 0.012), (0.03, 0.012), outline=OutlineKind.ELLIPSE),
    }


@cache
def solved(name: str) -> SectionResult:
    """The middle section, solved once for all tests."""
    notes = ("the file says: Invented. " + "A long remark. " * 30,)
    return solve_at(Job(mast=masts()[name], notes=notes), 0.5)


def points(figure: Figure, gid: str) -> list[tuple[float, float]]:
    """Data points [section mm] of the line with that gid."""
    (line,) = [a for a in figure.axes[0].get_lines() if a.get_gid() == gid]
    return [(float(x), float(y)) for x, y in zip(*line.get_data(), strict=True)]


@pytest.mark.parametrize("name", list(masts()))
class TestEverySection:
    def test_markers_are_where_they_were_computed(self, name: str) -> None:
        figure, p = section_figure(solved(name)), solved(name).model.properties
        assert points(figure, "centroid") == [
            pytest.approx((1e3 * p.centroid_x, 1e3 * p.centroid_y), abs=1e-9)
        ]
        assert points(figure, "shear-centre") == [
            pytest.approx((1e3 * p.shear_centre_x, 1e3 * p.shear_centre_y), abs=1e-9)
        ]
        assert {x for x, _ in points(figure, "stacking-line")} == {0.0}
        soft = solved(name).principal.angle
        for axis, angle in (("2", soft), ("1", soft + math.pi / 2)):
            (x0, y0), (x1, y1) = points(figure, f"principal-axis-{axis}")
            assert math.atan2(y1 - y0, x1 - x0) == pytest.approx(angle, abs=1e-6)
            # Through the centroid:
            cross = (x1 - x0) * (1e3 * p.centroid_y - y0) - (y1 - y0) * (1e3 * p.centroid_x - x0)
            assert cross == pytest.approx(0, abs=1e-6)

    def test_outlines_are_the_regions(self, name: str) -> None:
        figure = section_figure(solved(name))
        drawn = [a for a in figure.axes[0].patches if a.get_gid() == "outline"]
        regions = solved(name).model.regions
        assert len(drawn) == len(regions)
        for patch, region in zip(drawn, regions, strict=True):
            box = patch.get_path().get_extents()
            assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx(
                [1e3 * b for b in region.polygon.bounds], abs=1e-9
            )

    def test_scale_is_the_one_stated_both_ways(self, name: str) -> None:
        figure = section_figure(solved(name))
        wide, tall = (25.4 * inches for inches in figure.get_size_inches())
        (x0, x1), (y0, y1) = figure.axes[0].get_xlim(), figure.axes[0].get_ylim()
        scale = (x1 - x0) / wide
        assert (y1 - y0) / tall == pytest.approx(scale)
        stated = [t.get_text() for t in figure.axes[0].texts if "full size" in t.get_text()]
        ratio = f"1:{scale:g}" if scale >= 1 else f"{1 / scale:g}:1"
        assert len(stated) == 1
        assert stated[0].startswith(f"{ratio} ")
        assert wide == pytest.approx(PAGE)
        assert scale == pytest.approx(drawing_scale(1e3 * solved(name).width))

    def test_no_word_is_cut_off_or_written_over_another(self, name: str) -> None:
        figure = section_figure(solved(name))
        renderer = FigureCanvasAgg(figure).get_renderer()
        figure.draw(renderer)
        texts = [t for t in figure.axes[0].texts if t.get_text() and not isinstance(t, Annotation)]
        assert len(texts) > 10
        page = figure.bbox
        # A box a point smaller all around: letters do not fill theirs.
        boxes = [(t.get_text(), t.get_window_extent(renderer).padded(-1.0)) for t in texts]
        for words, box in boxes:
            assert page.x0 <= box.x0, words
            assert box.x1 <= page.x1, words
            assert page.y0 <= box.y0, words
            assert box.y1 <= page.y1, words
        for (a, first), (b, second) in combinations(boxes, 2):
            assert not first.overlaps(second), (a, b)


@pytest.mark.parametrize(
    ("width", "scale"),
    [(190.0, 1.0), (190.1, 1.5), (46.0, 1.0), (44.0, 0.5), (400.0, 2.5), (4000.0, 22.0)],
)
def test_scale_is_full_size_where_it_fits(width: float, scale: float) -> None:
    assert drawing_scale(width) == scale


def test_a_picture_of_pixels_states_no_ratio() -> None:
    texts = [t.get_text() for t in section_figure(solved("solid"), printed=False).axes[0].texts]
    assert not any("1:1" in t for t in texts)
    assert any("1:1" in t.get_text() for t in section_figure(solved("solid")).axes[0].texts)


@pytest.mark.parametrize("name", ["hollow", "shell"])
def test_pictures_repeat_to_the_byte_and_are_what_they_say(name: str) -> None:
    first = {s: picture(solved(name), s) for s in (".png", ".svg", ".pdf")}
    assert first == {s: picture(solved(name), s) for s in first}
    assert first[".png"].startswith(b"\x89PNG")
    assert b"<svg" in first[".svg"]
    assert b"<dc:date>" not in first[".svg"]
    page = PdfReader(io.BytesIO(first[".pdf"])).pages[0]
    assert float(page.mediabox.width) == pytest.approx(PAGE / 25.4 * 72, abs=0.01)
    assert "1:1 printed at full size" in page.extract_text()
    with pytest.raises(ValueError, match=r"\.png"):
        picture(solved(name), ".gif")


def test_units_change_the_words_and_not_the_drawing() -> None:
    metric, imperial = (section_figure(solved("solid"), units=u) for u in ("metric", "imperial"))
    assert points(metric, "centroid") == points(imperial, "centroid")
    texts = [t.get_text() for t in imperial.axes[0].texts]
    assert "4.724 in" in texts  # 120 mm
    (a, b) = points(imperial, "scale-bar")
    assert b[0] - a[0] == pytest.approx(50.8)


@pytest.mark.parametrize("words", ["W" * 500, "i" * 500, "short", "a b " * 90])
def test_fitted_words_fit(words: str) -> None:
    cut = fitted(words, 11, 100)
    assert cut == words or cut.endswith("…")
    assert fitted(cut, 11, 100) == cut
    assert len(cut) > 4
