"""Every command on one hostile mast file in a hostile place: each way out is looked at."""

from __future__ import annotations

import csv
import io
import json
import tomllib
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any

import pytest

from mastcheck.cli.main import main
from mastcheck.errors import escaped
from tests.safety import pages, whole
from tests.safety.contents import CONTENTS
from tests.safety.places import toml
from tests.safety.test_report import is_number, read
from tests.safety.test_result import strings
from tests.safety.test_terminal import harmless

ROOT = Path(__file__).parents[2]
NAME = '=1+1 <script>alert("1")</script> [bold]x $\\frac{}$ #eval("1") {0} %s'
METAL = "@metal </script> *b* _i_ $ [/] & \\"
CASE = "-carve <svg onload=x> #panic() ' \" `"
WINGS = ("+wing [link=x]y[/link] <b>", "wing $x^{2 \\ ${HOME}")
NOTE = '=HYPERLINK("https://example.invalid") <img src=x onerror=y> #read("/etc/passwd") 帆柱 🏄'
SOURCE = "@source ]]> --> */ \\u0041 \\n %(x)s мачта"
WRITTEN = {"name": NAME, "material": METAL, "case": CASE, "note": NOTE, "source": SOURCE}
FOLDER = "d  <i> \x1b[2J \u202e\n&'$#" + "x" * 180
FILE = '-=a "b" \x9b31m\r\n[x]\ny = 1 #[bold]$\udcff.toml'  # the last letter is a byte of no encoding


def _raw() -> dict[str, Any]:
    raw = whole.channelled()
    base, tip = raw["mast"]["station"]
    return {
        "mast": {"name": NAME, "note": NOTE, "length": "750 mm", "station": [base, tip]},
        "section": {
            "outline": "naca-4-digit",
            "construction": "hollow",
            "wall": "3 mm",
            "material": METAL,
        },
        "material": {METAL: {**whole.OWN_METAL, "source": SOURCE, "note": NOTE}},
        "load_case": [{"name": CASE, "n": 1.5, "offset": "60 mm", "roll_offset": "40 mm"}],
        "limits": {"side_deflection": {"case": CASE, "max": "90 mm"}},
        "foil": {"mass": "0.9 kg", "ahead": "-80 mm"},
        "wing": [
            {"name": name, "area": "900 cm2", "span": "800 mm", "mass": "0.7 kg", "ahead": "140 mm"}
            for name in WINGS
        ],
    }


class Place:
    """A folder with the mast file, and the commands run there: status, output and errors of each."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.file = folder / FILE
        self.readings = folder / f"{FILE}.csv"
        folder.mkdir()
        self.file.write_text(toml(_raw()), encoding="utf-8")
        self.readings.write_bytes((ROOT / "profiles" / "aluminium-75-wide-bench.csv").read_bytes())
        self.ran: dict[str, tuple[int, str, str]] = {}

    def run(self, name: str, *words: str | Path) -> None:
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            status = main([name.split()[0], *map(str, words)])
        self.ran[name] = status, out.getvalue(), err.getvalue()

    def files(self, *suffixes: str) -> Iterator[tuple[str, bytes]]:
        for path in sorted(self.folder.rglob("*")):
            if path.suffix in suffixes and path not in (self.file, self.readings):
                yield path.name, path.read_bytes()


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Place:
    p = Place(tmp_path_factory.mktemp("commands") / FOLDER)
    f, one = p.folder, (f"--case={CASE}",)
    p.run("check", p.file, *one, "--json", f / "check.json", "--report", f / "check.pdf",
          "--csv", f / "tables", "--figures", f / "figures")  # fmt: skip
    p.run("compare", p.file, p.file, *one, "--json", f / "compare.json", "--csv", f / "both")
    p.run("redraw", f / "compare.json", "--report", f / "redrawn.pdf", "--brief")
    p.run("section", p.file, "--draw", f / "section.svg", "--dxf", f / "section.dxf",
          "--json", f / "section.json")  # fmt: skip
    p.run("section again", p.file, "--draw", f / "section.pdf")
    p.run("envelope", p.file, "--rider", "60kg:90kg", "--length", "65cm:75cm", "--points", "2", *one,
          "--json", f / "envelope.json", "--csv", f / "envelope.csv", "--report", f / "envelope.pdf",
          "--draw", f / "envelope.svg")  # fmt: skip
    p.run("sweep", p.file, "--vary", "wall=2.5mm,3mm", *one, "--out", f / "sweep.csv",
          "--draw", f / "sweep.svg", "--workers", "1")  # fmt: skip
    p.run("size", p.file, "--vary", "wall=2.5mm:3.5mm", *one, "--json", f / "size.json",
          "--out", f / "sized.toml")  # fmt: skip
    p.run("bench plan", p.file, "--plan", "--out", f / "plan.pdf", "--template", f / "plan.csv")
    p.run("bench", p.file, p.readings, "--write", f / "calibrated.toml", "--report", f / "bench.pdf",
          "--draw", f / "bench.svg", "--json", f / "bench.json")  # fmt: skip
    p.run("materials", METAL)
    p.run("page", p.file, *one, "--out", f / "page.html")
    return p


def test_every_command_has_done_its_work(place: Place) -> None:
    for name, (status, out, err) in place.ran.items():
        assert status in ((2,) if name == "materials" else (0, 1)), (name, err)
        assert "Traceback" not in err + out, name


def test_nothing_printed_commands_the_terminal(place: Place) -> None:
    for name, (_, out, err) in place.ran.items():
        assert harmless(out), name
        assert harmless(err), name


def test_names_are_printed_as_they_are_written(place: Place) -> None:
    for name in ("check", "compare", "redraw"):
        assert NAME in place.ran[name][1]
        assert CASE in place.ran[name][1]


def test_results_hold_every_text_to_the_letter(place: Place) -> None:
    found = dict(place.files(".json"))
    assert len(found) == 6
    for name, data in found.items():
        told = list(strings(json.loads(data)))
        assert any(NAME in text for text in told), name
    told = list(strings(json.loads(found["check.json"])))
    for text in (*WRITTEN.values(), *WINGS):
        assert any(text in one for one in told), text
    # A place that cannot be printed is kept whole, as escapes.
    (kept,) = {m["file"] for m in json.loads(found["check.json"])["masts"]}
    assert kept == f'"{escaped(str(place.file))}"'


def test_tables_hold_no_formula(place: Place) -> None:
    found = dict(place.files(".csv"))
    assert len(found) > 20
    for name, data in found.items():
        for row in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")):
            for cell in row:
                assert is_number(cell) or not cell.startswith(("=", "+", "-", "@", "\t", "\r")), (
                    name,
                    cell,
                )


def test_documents_hold_nothing_that_acts(place: Place) -> None:
    found = dict(place.files(".pdf"))
    assert len(found) > 6
    for name, data in found.items():
        assert not pages.active(data), name


def test_pictures_hold_nothing_that_acts(place: Place) -> None:
    found = dict(place.files(".svg"))
    assert len(found) > 6
    for name, data in found.items():
        assert not pages.faults(data), name


def test_mast_files_written_say_what_was_read(place: Place) -> None:
    found = dict(place.files(".toml"))
    assert set(found) == {"sized.toml", "calibrated.toml"}
    for data in found.values():
        raw = tomllib.loads(data.decode())
        assert raw["mast"]["name"] == NAME
        assert raw["mast"]["note"] == NOTE
        assert list(raw["material"]) == [METAL]
        assert raw["load_case"][0]["name"] == CASE


def test_a_drawing_is_read_again(place: Place) -> None:
    from ezdxf import recover

    drawing, audit = recover.readfile(place.folder / "section.dxf")
    assert not audit.errors
    assert len(list(drawing.modelspace())) > 1


def test_a_page_has_no_scripts_and_no_attributes_of_a_stranger(place: Place, tmp_path: Path) -> None:
    plain = Place(tmp_path / "plain")
    raw = _raw()
    raw["mast"]["name"] = raw["mast"]["note"] = "plain"
    plain.file.write_text(toml(raw), encoding="utf-8")
    plain.run("page", plain.file, f"--case={CASE}", "--out", plain.folder / "page.html")
    usual = read((plain.folder / "page.html").read_text(encoding="utf-8"))
    text = (place.folder / "page.html").read_text(encoding="utf-8")
    page = read(text)
    assert text.count("<script") == (plain.folder / "page.html").read_text(encoding="utf-8").count(
        "<script"
    )
    assert page.tags == usual.tags
    assert {(t, k) for t, k, _ in page.attributes} == {(t, k) for t, k, _ in usual.attributes}
    assert not {k for _, k, _ in page.attributes if k.startswith("on")}


@pytest.mark.parametrize("name", ["controls", "osc-52", "c1", "bidi", "script-end", "rich", "long-word"])
def test_a_result_file_of_a_stranger_commands_nothing(name: str, tmp_path: Path, solved: Any) -> None:
    """A result file may hold what no mast file may: it is read again by redraw."""
    from mastcheck.checks.compare import compare
    from mastcheck.report.json import result_json
    from tests.safety.written import texts, words, written

    result = written(solved[2], texts(words(solved[2]), CONTENTS[name]))
    place = Place(tmp_path / "r")
    (tmp_path / "r.json").write_text(result_json(compare([result])), encoding="utf-8")
    place.run("redraw", tmp_path / "r.json", "--csv", tmp_path / "tables")
    status, out, err = place.ran["redraw"]
    assert status in (0, 1), err
    assert harmless(out)
    assert harmless(err)
    (tmp_path / "r.json").write_text(result_json(compare([result])).replace('"m', '"\\u009bm'))
    place.run("redraw", tmp_path / "r.json")
    status, out, err = place.ran["redraw"]
    assert (status, out) == (2, "")
    assert harmless(err)
