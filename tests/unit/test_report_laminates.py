"""Report on laminates, drawn sections and mixes of materials: plies, findings, sources, tones."""

from __future__ import annotations

import dataclasses
import io
import math

import numpy as np
import pypdf
import pytest
import shapely

from mastcheck.checks.result import Criterion, MastResult
from mastcheck.drawn import Coordinates, Drawing, DrawnLoop
from mastcheck.mast import Channel, Construction, ModifiedNaca, OutlineKind, Ruled, Station, Wall
from mastcheck.report.identity import canonical, document_id
from mastcheck.report.layup import layup_tables
from mastcheck.report.materials import lamina_table, material_table, source_table
from mastcheck.report.pdf import pdf
from mastcheck.report.results import case_table, limit_table
from mastcheck.report.station_figures import TONES, maps_utilisation, sections, stress_map
from mastcheck.report.strength import finding_table, unjudged
from mastcheck.report.verdict import verdict
from mastcheck.report.words import made_of, outline_rules, outlines, wall_words, web_words
from mastcheck.section.model import Region
from tests.reports import FIBRE, FOAM, METAL, RULE, UNKNOWN, compare, make_laminated, make_mast


def _text(data: bytes) -> tuple[int, str]:
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    text = " ".join(page.extract_text() for page in pages).replace("\u200b", "")
    return len(pages), " ".join(text.split())


def _cells(table: dict) -> list[list[str]]:
    return [[c if isinstance(c, str) else c["t"] for c in row] for row in table["rows"]]


def test_the_report_tells_the_layup_and_what_governs() -> None:
    pages, text = _text(pdf(compare(make_laminated(), make_mast())))
    assert 3 <= pages <= 7
    for words in (
        "Layup of mast A: faces",
        "Layup of mast A: nose, tail",
        "2 to 3",
        "dropped",
        "test carbon UD",
        "invented coupon set 7",
        "invented foam sheet",
        "ply 2 of 6 from outside",
        "skin wrinkling",
        "core shear",
        "ply strengths times 0.765",
        "leaning 10°",
    ):
        assert words in text, words


def test_zones_of_equal_plies_share_a_table_numbered_from_outside() -> None:
    result = make_laminated()
    found = {t["title"]: _cells(t["table"]) for t in layup_tables([result], "metric")}
    assert set(found) == {"Layup of mast A: faces", "Layup of mast A: nose, tail"}
    # Six plies on the faces: 0.3 + 4 x 0.25 + 0.3 mm at the base, two of them dropped at the tip.
    faces = found["Layup of mast A: faces"]
    assert [row[:3] for row in faces[:-1]] == [
        ["1", "test carbon UD", "45°"],
        ["2 to 3", "test carbon UD", "0°"],
        ["4 to 5", "test carbon UD", "0°"],
        ["6", "test carbon UD", "−45°"],
    ]
    assert faces[2][3:] == ["2 × 0.25", "dropped"]
    assert faces[-1][3:] == ["1.6", "1.1"]
    assert found["Layup of mast A: nose, tail"][-1][3:] == ["0.6", "0.6"]


def test_masts_with_one_layup_share_its_tables() -> None:
    titles = [t["title"] for t in layup_tables([make_laminated("a"), make_laminated("b")], "metric")]
    assert titles == ["Layup of mast A, B: nose, tail", "Layup of mast A, B: faces"]


def test_ply_constants_stand_with_their_source() -> None:
    table = lamina_table([make_laminated()], "metric")
    assert table is not None
    numbers, source = _cells(table)
    assert numbers == [
        "test carbon UD", "135", "9", "4.6", "0.3", "1550", "1500", "1100", "45", "180", "75", "2.00",
    ]  # fmt: skip
    assert source[1] == str(FIBRE.source)
    assert lamina_table([make_mast()], "metric") is None


def test_a_core_names_its_shear_strength_and_partial_factor() -> None:
    table = material_table([make_laminated()], "metric")
    assert table is not None
    foam = next(row for row in _cells(table) if row[0] == "test foam")
    assert "1.1 / 1.10" in foam
    assert foam[-1] == str(FOAM.source)


def test_sources_are_told_once() -> None:
    result = make_laminated()
    table = source_table((("wrinkling", RULE), (FIBRE.name, FIBRE.source)), [result])
    assert table is not None
    assert _cells(table) == [["wrinkling", str(RULE)]]
    assert source_table(((FIBRE.name, FIBRE.source),), [result]) is None


def test_a_ply_without_strengths_is_never_a_pass() -> None:
    result = make_laminated(unjudged=True)
    found = verdict(result)
    assert found["word"] == "LIMITS HELD, NOT ALL JUDGED"
    assert any("test glass mat not judged" in r for r in found["reasons"])
    strength = {row[-1] for row in _cells(case_table(result, "metric"))}
    assert strength == {"pass, in part"}
    table = finding_table(result, "metric")
    assert table is not None
    assert sum(row[-1] == "not judged" for row in _cells(table)) == len(result.cases)
    assert verdict(make_laminated())["word"] == "EVERY LIMIT HELD"


def test_a_part_that_states_no_strength_is_named() -> None:
    result = make_laminated()
    boss = dataclasses.replace(UNKNOWN, name="silent boss")
    section = result.sections[1]
    ring = Region(polygon=shapely.Point(0, 0).buffer(0.004), material=boss)
    with_boss = dataclasses.replace(section, regions=(*section.regions, ring))
    changed = dataclasses.replace(result, sections=(result.sections[0], with_boss))
    assert unjudged(result) == []
    assert unjudged(changed) == ["silent boss"]
    assert verdict(changed)["word"] == "LIMITS HELD, NOT ALL JUDGED"


def test_the_governing_criterion_and_its_place_stand_in_the_case_row() -> None:
    result = make_laminated()
    row = _cells(case_table(result, "metric"))[0]
    assert row[-3] == "skin wrinkling 12.5 MPa at 150 (−30.0, 8.0)"
    assert row[-2:] == ["0.70", "pass"]
    imperial = _cells(case_table(result, "imperial"))[0]
    assert "1.81 ksi at 5.91 (−1.18, 0.31)" in imperial[-3]


def test_what_fails_is_listed_and_what_holds_is_not_told_twice() -> None:
    held = limit_table([make_laminated()], "metric")
    assert held["rows"] == []
    failed = _cells(limit_table([make_laminated(level=1.2)], "metric"))
    assert {row[1] for row in failed} == {
        f"{criterion}, {material}"
        for criterion, material in (
            (Criterion.MAX_STRAIN, METAL.name),
            (Criterion.WRINKLING, METAL.name),
        )
    }


def test_the_report_holds_with_many_masts_and_long_names() -> None:
    masts = [make_laminated(f"Harbour {i} " + "long" * 30, unjudged=True) for i in range(5)]
    pages, text = _text(pdf(compare(*masts)))
    assert f"page {pages} of {pages}" in text


# --- words ---------------------------------------------------------------------------------------


def _drawing(file: str = "a/die.dxf") -> Drawing:
    square = np.array([[0.1, 0.0], [0.05, 0.01], [0.0, 0.0], [0.05, -0.01]])
    return Drawing(
        loops=(
            DrawnLoop(points=square, parent=None, fill=METAL),
            DrawnLoop(points=square * 0.5 + [0.02, 0], parent=0, fill=FOAM),
            DrawnLoop(points=square * 0.1 + [0.08, 0], parent=0, fill=None),
        ),
        chord=0.1,
        thickness=0.02,
        file=file,
        sha256="cd" * 32,
    )


def _drawn(result: MastResult, outline: Drawing | Coordinates) -> MastResult:
    recipe = dataclasses.replace(
        result.job.mast.section, outline=outline, construction=Construction.DRAWN, webs=()
    )
    stations = tuple(dataclasses.replace(s, wall=None) for s in result.job.mast.stations)
    mast = dataclasses.replace(result.job.mast, section=recipe, stations=stations)
    files = ((outline.file, outline.sha256),)
    return dataclasses.replace(
        result, job=dataclasses.replace(result.job, mast=mast, outline_files=files)
    )


def test_a_drawn_mast_names_its_file_hash_and_materials() -> None:
    result = _drawn(make_mast(), _drawing())
    assert made_of(result.job.mast) == "drawn, die.dxf; EN AW-6082-T6, test foam"
    text = _text(pdf(compare(result)))[1]
    assert "die.dxf cdcdcdcdcd" in text
    assert "as drawn" in text
    assert "trailing edge radius" not in text  # a drawing's tail is as drawn


TAPERED = ((0.0, 0.003), (1.0, 0.002))


@pytest.mark.parametrize(
    ("wall", "words"),
    [
        (None, "–"),
        (0.0025, "2.5"),
        (Wall.uniform(0.003), "3"),
        (Wall(port=TAPERED, starboard=TAPERED), "3 at 0, 2 at 1"),
        (Wall(port=((0.0, 0.003),), starboard=((0.0, 0.002),)), "port 3; starboard 2"),
    ],
)
def test_walls_in_words(wall: float | Wall | None, words: str) -> None:
    assert wall_words(wall, "metric") == words


def test_outline_rules_name_every_part() -> None:
    mast = make_mast().job.mast
    recipe = dataclasses.replace(
        mast.section,
        trailing_edge_thickness=0.0012,
        nose_solid_to=0.08,
        tail_solid_from=0.85,
        channels=(Channel(at=0.2, bore=0.005, boss=0.01, offset=-0.001, material=FOAM),),
    )
    rules = outline_rules(dataclasses.replace(mast, section=recipe), "metric")
    assert rules == [
        "tail cut square, 1.2 mm thick",
        "nose solid to 0.08 of the chord",
        "tail solid from 0.85 of the chord",
        "channel at 0.2 of the chord, bore 5 mm, boss 10 mm, 1 mm to starboard, of test foam",
    ]


def test_a_web_of_plies_has_no_thickness_of_its_own() -> None:
    web = make_laminated().job.mast.section.webs[0]
    forward = dataclasses.replace(web, thickness=None, lean=-math.radians(5))
    assert web_words(forward, "metric") == "0.4 (as thick as its plies, leaning −5°, port end forward)"


def test_outlines_change_along_the_mast() -> None:
    mast = make_mast().job.mast
    kinds = (OutlineKind.LENS, ModifiedNaca(nose_index=4, greatest_at=0.4))
    stations = tuple(
        dataclasses.replace(s, outline=o) for s, o in zip(mast.stations, kinds, strict=True)
    )
    two = dataclasses.replace(mast, stations=stations)
    assert outlines(two) == ["lens", "naca-4-digit-modified (nose index 4, thickest at 0.4)"]
    # A mast trimmed between its stations starts on a ruled outline.
    cut = two.with_length(0.5, trim="base")
    assert isinstance(cut.stations[0].outline, Ruled)
    assert outlines(cut)[0].startswith("ruled from lens to naca")


# --- figures -------------------------------------------------------------------------------------


def test_tones_differ_in_grey_print() -> None:
    """Weights of ITU-R BT.709; a step of a tenth of white to black is plain to see on paper."""

    def grey(colour: str) -> float:
        r, g, b = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    for i, (colour, hatch) in enumerate(TONES):
        for other, its_hatch in TONES[:i]:
            assert hatch != its_hatch or abs(grey(colour) - grey(other)) > 0.1


def test_every_material_stands_in_the_legend() -> None:
    result = make_laminated()
    section = result.sections[0]
    more = tuple(
        Region(
            polygon=shapely.Point(0.01 * i - 0.03, 0).buffer(0.003),
            material=dataclasses.replace(FOAM, name=f"part {i}"),
        )
        for i in range(6)
    )
    mixed = dataclasses.replace(section, regions=(*section.regions, *more))
    masts = [dataclasses.replace(result, sections=(mixed, *result.sections[1:]))]
    (legend,) = sections(masts).legends
    said = {text.get_text() for text in legend.get_texts()}
    assert {f"part {i}" for i in range(6)} | {METAL.name} <= said


def test_the_map_shows_utilisation_where_stress_says_little() -> None:
    result = make_laminated()
    case = result.cases[0]
    assert not maps_utilisation(result, case)
    n = len(result.sections[0].basis.points)
    used = np.linspace(0, 0.4, n)
    used[: n // 3] = np.nan
    one = dataclasses.replace(case, point_utilisation=used)
    assert not maps_utilisation(result, one)  # one isotropic material: stress says it all
    core = Region(polygon=shapely.Point(0, 0).buffer(0.003), material=FOAM)
    mixed = dataclasses.replace(result.sections[0], regions=(*result.sections[0].regions, core))
    both = dataclasses.replace(result, sections=(mixed, *result.sections[1:]))
    assert maps_utilisation(both, one)
    words = [text.get_text() for ax in stress_map(both, one).axes for text in ax.texts]
    assert words == ["greatest: 0.40"]
    assert not maps_utilisation(both, dataclasses.replace(case, point_utilisation=np.full(n, np.nan)))


# --- the report's number -------------------------------------------------------------------------


def _points(middle: float) -> Coordinates:
    points = np.zeros((4000, 2))
    points[2000, 1] = middle
    return Coordinates(points=points, file="a.dat")


def test_the_number_depends_on_every_point_and_not_on_the_place() -> None:
    plain = make_mast()

    def number(outline: Coordinates | Drawing, file: str) -> str:
        result = _drawn(plain, outline)
        job = dataclasses.replace(result.job, file=file)
        return document_id(compare(dataclasses.replace(result, job=job)), "metric")

    assert number(_points(0.0), "x.toml") == number(_points(0.0), "y/x.toml")
    assert number(_points(0.0), "x.toml") != number(_points(1e-12), "x.toml")
    assert number(_drawing("a/die.dxf"), "x") == number(_drawing("b/c/die.dxf"), "x")


def test_a_field_at_its_default_does_not_change_the_number() -> None:
    bare = canonical(Station(at=0.0, chord=0.1, thickness=0.01))
    assert bare == "Station(at=0.0, chord=0.1, thickness=0.01)"
    assert canonical(Station(at=0.0, chord=0.1, thickness=0.01, plies=())) == bare
    assert "wall=0.002" in canonical(Station(at=0.0, chord=0.1, thickness=0.01, wall=0.002))
