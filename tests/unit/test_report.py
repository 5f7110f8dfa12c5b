"""Report, figures, result file: repeatable, readable, and safe against names from outside."""

from __future__ import annotations

import dataclasses
import io
import json
import math
from pathlib import Path

import numpy as np
import pypdf
import pytest
import shapely

from mastcheck.checks.result import (
    CaseResult,
    Check,
    Comparison,
    LineResult,
    MastResult,
    Ratio,
    SelfCheck,
    Stiffness,
    Tip,
    Verdict,
)
from mastcheck.errors import InputError
from mastcheck.job import Job
from mastcheck.loadcase import Lift
from mastcheck.mast import Construction, Mast, OutlineKind, SectionRecipe, Station
from mastcheck.material import Material
from mastcheck.report import figures
from mastcheck.report.content import verdict
from mastcheck.report.display import factor
from mastcheck.report.json import RESULT_SCHEMA, result_json
from mastcheck.report.pdf import pdf
from mastcheck.report.write import write_whole
from mastcheck.section.model import Region, SectionModel, SectionProperties, StressBasis
from mastcheck.source import Grade, Source

HOSTILE = '#panic("x") *b* $x$ <script>'
METAL = Material(
    name="EN AW-6082-T6",
    E=70e9,
    G=26.3e9,
    density=2700.0,
    proof_strength=250e6,
    ultimate_strength=290e6,
    source=Source(title="EN 1999-1-1", place="table 3.2b", grade=Grade.STANDARD),
)
UNKNOWN = dataclasses.replace(METAL, name="mystery", proof_strength=None, ultimate_strength=None)


def _section(station: Station, material: Material) -> SectionModel:
    c, t, w = station.chord, station.thickness, station.wall or 0.002
    x = (1 - np.cos(np.linspace(0, np.pi, 40))) / 2
    y = 5 * t * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    outer = shapely.Polygon(
        [*zip((x - 0.5) * c, y, strict=True), *zip((x[-2:0:-1] - 0.5) * c, -y[-2:0:-1], strict=True)]
    )
    wall = outer.difference(outer.buffer(-w))
    # A strip of triangles along the outline is mesh enough for drawing.
    ring = np.asarray(outer.exterior.coords)[:-1]
    inner = ring * 0.85
    n = len(ring)
    tris = [(i, (i + 1) % n, n + i) for i in range(n)] + [
        ((i + 1) % n, n + (i + 1) % n, n + i) for i in range(n)
    ]
    points = np.vstack([ring, inner])
    ei = 0.04 * material.E * c * t**3 * 0.6
    return SectionModel(
        regions=(Region(polygon=wall, material=material),),
        properties=SectionProperties(
            EA=material.E * wall.area,
            EIxx=ei,
            EIyy=ei * 25,
            EIxy=0.0,
            GJ=ei * 1.2,
            EGamma=0.5,
            shear_flex_xx=1e-8,
            shear_flex_yy=1e-7,
            shear_flex_xy=0.0,
            centroid_x=-0.06 * c,
            centroid_y=0.0,
            shear_centre_x=-0.1 * c,
            shear_centre_y=0.0,
            mass_per_length=material.density * wall.area,
            area=wall.area,
        ),
        basis=StressBasis(
            points=points,
            region=np.zeros(len(points), dtype=np.int64),
            fields=np.zeros((7, len(points), 3)),
            triangles=np.array(tris, dtype=np.int64),
        ),
        elements=len(tris),
    )


def make_mast(
    name: str = "Quay Lane 75, wide base",
    chord: float = 0.150,
    material: Material = METAL,
    unstable: bool = False,
    level: float = 0.7,
) -> MastResult:
    """A plausible result made by hand; the numbers only need to look like numbers."""
    mast = Mast(
        name=name,
        length=0.75,
        stations=(
            Station(at=0.0, chord=chord, thickness=0.018, wall=0.0025),
            Station(at=1.0, chord=0.100, thickness=0.014, wall=0.0025),
        ),
        section=SectionRecipe(
            outline=OutlineKind.NACA_4_DIGIT, construction=Construction.HOLLOW, material=material
        ),
    )
    job = Job(
        mast=mast, file="some/where/mast.toml", input_sha256="ab" * 32, notes=("no rider given: 80 kg",)
    )
    z = np.linspace(0, mast.length, 5)
    sections = tuple(_section(mast.station_at(float(s / mast.length)), material) for s in z)
    line_z = np.linspace(0, mast.length, 41)
    u = (line_z / mast.length) ** 2
    cases = []
    for i, case in enumerate(job.cases):
        ok = not (unstable and case.name == "touchdown")
        size = (0.003 + 0.004 * i) * 0.15 / chord
        tip = Tip(
            side=size, fore_aft=size / 9, axial=-1e-4, roll=-size * 2, pitch=size / 5, twist=size * 3
        )
        line = LineResult(
            z=line_z,
            displacement=np.outer(u, [tip.fore_aft, tip.side, tip.axial]),
            rotation=np.outer(line_z / mast.length, [tip.roll, tip.pitch, tip.twist]),
            resultants=np.zeros((41, 7)),
        )
        stress = np.abs(sections[0].basis.points[:, 1]) / 0.009 * 150e6
        judged = material.design_strength is not None
        cases.append(
            CaseResult(
                case=case,
                axial_load=case.n * 863.0,
                stable=ok,
                buckling_factor=4.2 if ok else 0.93,
                tip=tip if ok else None,
                first_order_tip=tip,
                amplification=1.31 if ok else None,
                amplification_by_lift={
                    str(Lift.THROUGH_RIDER): 1.31,
                    str(Lift.DEAD): 1.66 if ok else None,
                },
                line=line if ok else None,
                strength_line=line if ok else None,
                max_von_mises=float(stress.max()) if ok else None,
                max_at_z=0.0 if ok else None,
                max_at_xy=(0.0, 0.009) if ok else None,
                governing_material=material.name,
                governing_station=0 if ok else None,
                von_mises=stress if ok else None,
                utilisation=level + 0.02 * i if ok and judged else None,
                utilisation_along_z=(level + 0.02 * i) * (1 - z / 2) if ok and judged else None,
            )
        )
    verdict = Verdict.PASS if level < 0.9 else Verdict.FAIL
    checks = tuple(
        Check(
            name="von Mises stress, EN AW-6082-T6",
            case=c.case.name,
            value=150.0,
            limit=227.0 if c.utilisation is not None else None,
            unit="MPa",
            utilisation=c.utilisation,
            verdict=Verdict.REPORT if c.utilisation is None else verdict,
        )
        for c in cases
        if c.stable
    ) + (
        (
            Check(
                name="buckling factor, at least",
                case="touchdown",
                value=0.93,
                limit=1.2,
                unit="",
                utilisation=1.29,
                verdict=Verdict.FAIL,
            ),
        )
        if unstable
        else ()
    )
    return MastResult(
        job=job,
        mass=1.234,
        z=z,
        sections=sections,
        tip_compliance=np.diag([1e-6, 2e-5, 1e-9, 1e-4, 1e-5, 2e-4]),
        stiffness=Stiffness(
            side_mm_per_100N=2.13,
            fore_aft_mm_per_100N=0.14,
            twist_deg_per_10Nm=0.52,
            torsion_Nm_per_deg=19.2,
        ),
        cases=tuple(cases),
        checks=checks,
        self_checks=(
            SelfCheck(
                name="tip compliance, integral against beam elements (relative)",
                value=2.1e-5,
                limit=1e-3,
                verdict=Verdict.PASS,
            ),
        ),
        cautions=("Material values are to be checked against the mill certificate.",),
    )


def compare(*masts: MastResult) -> Comparison:
    def ratio(name: str, unit: str, values: list[float]) -> Ratio:
        return Ratio(
            name=name,
            unit=unit,
            values=tuple(values),
            ratios=tuple(v / values[0] for v in values),
        )

    n = range(len(masts))
    return Comparison(
        masts=masts,
        ratios=(
            ratio("mass", "kg", [1.234 * (1 + 0.1 * i) for i in n]),
            ratio("EI_side at the base", "N·m²", [1234.5 * (1 + 0.2 * i) for i in n]),
            ratio("side stiffness", "mm per 100 N", [2.13 * (1 + 0.1 * i) for i in n]),
            ratio("twist under torque", "deg per 10 N·m", [0.52 * (1 + 0.1 * i) for i in n]),
        ),
        sentence="The tapered mast bends 16 % more sideways and twists 40 % more, and saves 0.1 kg.",
    )


def _text(data: bytes) -> tuple[int, str]:
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    # Places to break a word are no part of it.
    return len(pages), " ".join(page.extract_text() for page in pages).replace("\u200b", "")


@pytest.fixture(scope="module")
def two() -> Comparison:
    return compare(make_mast(), make_mast(HOSTILE, 0.12, unstable=True))


@pytest.fixture(scope="module")
def two_pdf(two: Comparison) -> bytes:
    return pdf(two)


def test_same_input_gives_same_bytes(two: Comparison, two_pdf: bytes) -> None:
    again = compare(make_mast(), make_mast(HOSTILE, 0.12, unstable=True))
    assert pdf(again) == two_pdf
    assert pdf(two, units="imperial") != two_pdf


def test_settings_of_the_user_do_not_reach_the_figures(two: Comparison) -> None:
    import matplotlib as mpl

    before = figures.svg(figures.stiffness_along(two.masts))
    with mpl.rc_context({"font.size": 20, "lines.linewidth": 9, "svg.fonttype": "path"}):
        assert figures.svg(figures.stiffness_along(two.masts)) == before


def test_where_the_file_lies_does_not_change_the_report(two_pdf: bytes) -> None:
    masts = compare(make_mast(), make_mast(HOSTILE, 0.12, unstable=True)).masts
    moved = [
        dataclasses.replace(m, job=dataclasses.replace(m.job, file="another/place/mast.toml"))
        for m in masts
    ]
    assert pdf(compare(*moved)) == two_pdf


@pytest.mark.parametrize("count", [1, 2, 4])
def test_three_to_six_pages(count: int) -> None:
    masts = [make_mast(f"Harbour {i} " + "long" * 30, 0.15 - 0.01 * i) for i in range(count)]
    pages, text = _text(pdf(compare(*masts)))
    assert 3 <= pages <= 6
    for page in range(1, pages + 1):
        assert f"page {page} of {pages}" in text
    assert "not approval" in text
    assert "qualified structural review" in text
    assert "Reviewer" in text


def test_a_hostile_name_is_text(two_pdf: bytes) -> None:
    assert HOSTILE in _text(two_pdf)[1]


@pytest.mark.parametrize(
    "name", ["日本 mast", "bell \x07", "\u202ereversed", "\ud800", "", "_x", "emoji 🏄"]
)
def test_names_that_no_font_can_draw(name: str) -> None:
    made = pdf(compare(make_mast(name), make_mast("plain")))
    if ord(max(name, default="a")) > 0x3000:
        assert "[U+" in _text(made)[1]


def test_unstable_is_said_with_its_factor(two_pdf: bytes) -> None:
    text = " ".join(_text(two_pdf)[1].split())
    assert "unstable: buckles at 0.93 times the service load" in text
    assert "FAILS" in text


def test_unknown_strength_is_never_a_pass() -> None:
    result = make_mast(material=UNKNOWN)
    assert verdict(result)["word"] == "NOT JUDGED"
    text = _text(pdf(compare(result)))[1]
    assert "not judged" in text
    assert "EVERY LIMIT HELD" not in text


def test_a_core_of_unknown_strength_is_named() -> None:
    result = make_mast()
    recipe = dataclasses.replace(result.job.mast.section, core=UNKNOWN)
    job = dataclasses.replace(result.job, mast=dataclasses.replace(result.job.mast, section=recipe))
    found = verdict(dataclasses.replace(result, job=job))
    assert found["word"] == "LIMITS HELD, NOT ALL JUDGED"
    assert any("mystery not judged" in r for r in found["reasons"])


def test_all_unstable_still_gives_a_report() -> None:
    mast = make_mast()
    gone = {
        "stable": False,
        "tip": None,
        "amplification": None,
        "line": None,
        "strength_line": None,
        "max_von_mises": None,
        "max_at_z": None,
        "max_at_xy": None,
        "governing_station": None,
        "von_mises": None,
        "utilisation": None,
        "buckling_factor": 0.4,
    }
    cases = tuple(dataclasses.replace(c, **gone) for c in mast.cases)
    text = _text(pdf(compare(dataclasses.replace(mast, cases=cases, checks=()))))[1]
    assert "FAILS" in text


def test_the_pdf_is_tagged_and_titled(two_pdf: bytes) -> None:
    reader = pypdf.PdfReader(io.BytesIO(two_pdf))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.trailer["/Root"]["/Lang"].startswith("en")
    assert reader.metadata is not None
    assert reader.metadata.title == "Mast comparison: 2 masts"


def test_result_json_matches_its_schema(two: Comparison) -> None:
    text = result_json(two.masts)
    assert text.endswith("}\n")
    assert text == result_json(two.masts)
    whole = json.loads(text, parse_constant=lambda c: pytest.fail(f"{c} is not JSON"))
    _conform(whole, RESULT_SCHEMA)
    assert whole["masts"][1]["name"] == HOSTILE
    carve = next(c for c in whole["masts"][0]["cases"] if c["name"] == "carve")
    assert carve["tip"]["side_mm"] == pytest.approx(two.masts[0].cases[1].tip.side * 1e3)
    lost = next(c for c in whole["masts"][1]["cases"] if c["name"] == "touchdown")
    assert lost["tip"] is None
    assert lost["stable"] is False


def test_infinite_becomes_null() -> None:
    mast = make_mast()
    endless = dataclasses.replace(mast.cases[0], buckling_factor=math.inf)
    mast = dataclasses.replace(mast, cases=(endless,))
    assert json.loads(result_json([mast]))["masts"][0]["cases"][0]["buckling_factor"] is None


_KINDS = {
    "object": dict,
    "array": list,
    "string": str,
    "number": (int, float),
    "boolean": bool,
    "null": type(None),
}


def _conform(value: object, rule: dict) -> None:
    """As much of JSON Schema as the published schema uses."""
    if "$ref" in rule:
        rule = RESULT_SCHEMA["$defs"][rule["$ref"].rsplit("/", 1)[1]]
    if "const" in rule:
        assert value == rule["const"]
    if "enum" in rule:
        assert value in rule["enum"]
    if "type" in rule:
        kinds = rule["type"] if isinstance(rule["type"], list) else [rule["type"]]
        assert any(isinstance(value, _KINDS[k]) for k in kinds), (value, kinds)
    if isinstance(value, dict):
        assert set(rule.get("required", ())) <= set(value)
        known = rule.get("properties", {})
        for key, item in value.items():
            other = rule.get("additionalProperties", True)
            assert key in known or other, key
            _conform(item, known.get(key, other if isinstance(other, dict) else {}))
    if isinstance(value, list):
        assert rule.get("minItems", 0) <= len(value) <= rule.get("maxItems", math.inf)
        for item in value:
            _conform(item, rule.get("items", {}))


def test_write_whole_replaces(tmp_path: Path) -> None:
    target = tmp_path / "new" / "report.pdf"
    write_whole(target, b"old")
    write_whole(target, b"new")
    assert target.read_bytes() == b"new"
    assert list(target.parent.iterdir()) == [target]


def test_write_whole_leaves_the_old_file_on_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "report.pdf"
    target.write_bytes(b"old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("mastcheck.report.write.os.fsync", full)
    with pytest.raises(InputError, match="No space left") as caught:
        write_whole(target, b"new")
    assert caught.value.problems[0].remedy
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_write_whole_says_when_the_folder_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("x")
    with pytest.raises(InputError, match="cannot be written"):
        write_whole(tmp_path / "taken" / "report.pdf", b"x")


def test_imperial_shows_inches(two: Comparison) -> None:
    text = _text(pdf(two, units="imperial"))[1]
    assert "lbf" in text
    assert "29.53 in" in text


@pytest.mark.parametrize(
    "unit", ["mm", "m", "kg", "N", "N·m", "MPa", "GPa", "mm per 100 N", "N·m²", "kg/m³"]
)
def test_imperial_factors(unit: str) -> None:
    known = {
        "mm": 0.0393701,
        "m": 3.28084,
        "kg": 2.20462,
        "N": 0.224809,
        "N·m": 0.737562,
        "MPa": 0.145038,
        "GPa": 0.145038,
        "mm per 100 N": 0.0175127,
        "N·m²": 0.348454,
        "kg/m³": 0.062428,
    }
    assert factor(unit, "imperial") == pytest.approx(known[unit], rel=1e-5)
    assert factor(unit, "metric") == 1
