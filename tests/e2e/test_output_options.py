"""What ``check`` and ``compare`` write beside the tables: figures, CSV, short reports, other paper."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pypdf
import pytest

from mastcheck.cli.outputs import Outputs, output_problems
from mastcheck.files.mastfile import load
from tests.e2e.test_cli import MAST, TAPERED, WIDE, assert_bad, mastcheck

PROFILES = WIDE.parent

FAST = ("--case", "cruise", "--case", "carve")


@pytest.fixture
def mast(tmp_path: Path) -> Path:
    path = tmp_path / "mast.toml"
    path.write_text(MAST, encoding="utf-8")
    return path


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_everything_at_once_and_the_same_again(tmp_path: Path) -> None:
    made = []
    for name in ("one", "two"):
        out = tmp_path / name
        run = mastcheck(
            "compare", WIDE, TAPERED, *FAST, "--figures", out / "figures", "--csv", out / "deep" / "csv",
            "--json", out / "r.json", "--report", out / "r.pdf",
        )  # fmt: skip
        assert run.returncode == 0, run.stderr
        assert run.stderr == ""
        made.append((files(out / "figures"), files(out / "deep" / "csv"), (out / "r.pdf").read_bytes()))
    assert made[0] == made[1]
    figures, tables, _ = made[0]
    assert {
        f"{name}.{form}"
        for name in ("sections", "stiffness", "stress")
        for form in ("svg", "pdf", "png")
    } <= set(figures)
    assert {re.sub(r".*\.", "", name) for name in figures} == {"svg", "pdf", "png"}
    assert all(name.endswith(".csv") for name in tables)
    # Each figure says of which report it is.
    (told,) = set(re.findall(r"Document ([0-9a-f]+)\.", figures["sections.svg"].decode()))
    assert f"Document {told}" in pypdf.PdfReader(tmp_path / "one" / "r.pdf").pages[0].extract_text()
    # The tables are those of the result file beside them.
    found = json.loads((tmp_path / "one" / "r.json").read_text(encoding="utf-8"))
    rows = list(csv.DictReader(io.StringIO(tables["self-checks.csv"].decode(), newline="")))
    stated = [(s["name"], repr(s["value"])) for m in found["masts"] for s in m["self_checks"]]
    assert [(row["name"], row["value"]) for row in rows] == stated
    assert len(stated) > len(found["masts"])


def test_folders_that_are_there_keep_what_else_is_in_them(tmp_path: Path, mast: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine", encoding="utf-8")
    (tmp_path / "out" / "masts.csv").write_text("old", encoding="utf-8")
    run = mastcheck("check", mast, *FAST, "--csv", tmp_path / "out", "--figures", tmp_path / "out")
    assert run.returncode == 0, run.stderr
    found = files(tmp_path / "out")
    assert found["mine.txt"] == b"mine"
    assert b"e2e [bold]mast[/bold]" in found["masts.csv"]
    assert "sections.svg" in found
    assert not [name for name in found if name.startswith(".")]


def test_figures_in_other_units(tmp_path: Path, mast: Path) -> None:
    run = mastcheck("check", mast, *FAST, "--units", "imperial", "--figures", tmp_path / "f")
    assert run.returncode == 0, run.stderr
    assert "lbf·in²" in (tmp_path / "f" / "stiffness.svg").read_text(encoding="utf-8")


def test_a_short_report_on_letter_paper(tmp_path: Path, mast: Path) -> None:
    whole, short = tmp_path / "whole.pdf", tmp_path / "short.pdf"
    for path, words in ((whole, ()), (short, ("--brief", "--paper", "us-letter"))):
        run = mastcheck("check", mast, *FAST, "--report", path, *words)
        assert run.returncode == 0, run.stderr
    pages = pypdf.PdfReader(short).pages
    assert len(pages) == 2 < len(pypdf.PdfReader(whole).pages)
    assert [round(float(v)) for v in pages[0].mediabox[2:]] == [612, 792]
    assert [round(float(v)) for v in pypdf.PdfReader(whole).pages[0].mediabox[2:]] == [595, 842]


class TestRefusals:
    @pytest.mark.parametrize("command", ["check", "compare", "size"])
    def test_a_mast_file_is_never_written_over(self, mast: Path, command: str) -> None:
        others = {"check": (), "compare": (WIDE,), "size": ("--vary", "chord")}[command]
        run = mastcheck(command, mast, *others, "--json", mast)
        assert_bad(run, "--json", "mast.toml", "is a file that is read", "name another")
        assert mast.read_text(encoding="utf-8") == MAST

    @pytest.mark.parametrize(
        "words",
        [
            ("check", "--json"),
            ("section", "--dxf"),
            ("envelope", "--rider", "60kg:90kg", "--length", "65cm:95cm", "--csv"),
            ("sweep", "--vary", "chord=110mm,120mm", "--out"),
            ("bench", "--plan", "--template"),
        ],
    )
    def test_a_drawing_is_never_written_over(self, tmp_path: Path, words: tuple[str, ...]) -> None:
        kind = "dxf" if words[0] == "section" else "csv"
        profile = PROFILES / f"aluminium-75-{'extruded' if kind == 'dxf' else 'section-file'}.toml"
        ((name, _),) = load(profile).outline_files
        drawn, mast = tmp_path / name, tmp_path / "drawn.toml"
        for source, copy in ((profile, mast), (PROFILES / name, drawn)):
            copy.write_bytes(source.read_bytes())
        before = drawn.read_bytes()
        run = mastcheck(words[0], mast, *words[1:], drawn)
        assert_bad(run, words[-1], name, "is a drawing that the mast file names", "name another")
        assert drawn.read_bytes() == before

    @pytest.mark.parametrize("flag", ["--figures", "--csv"])
    def test_a_file_is_no_folder(self, tmp_path: Path, mast: Path, flag: str) -> None:
        (tmp_path / "taken").write_text("mine", encoding="utf-8")
        run = mastcheck("check", mast, flag, tmp_path / "taken")
        assert_bad(run, flag, "taken", "is a file, and must be a folder", "name a folder")
        run = mastcheck("check", mast, flag, tmp_path / "taken" / "deeper")
        assert_bad(run, flag, "taken", "is no folder that you may write to")
        assert (tmp_path / "taken").read_text(encoding="utf-8") == "mine"

    @pytest.mark.parametrize("flag", ["figures", "csv"])
    def test_a_folder_that_is_closed(
        self, tmp_path: Path, flag: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        # To root every folder is open, so this one is closed by what the system is asked.
        monkeypatch.setattr("mastcheck.cli.outputs.os.access", lambda *_: False)
        for place in (tmp_path, tmp_path / "new"):
            (problem,) = output_problems(Outputs(**{flag: place}))
            assert (problem.key, problem.found) == (f"--{flag}", str(place))
            assert problem.rule == f"{tmp_path} is no folder that you may write to"

    def test_options_of_a_report_without_one(self, mast: Path) -> None:
        run = mastcheck("check", mast, "--brief", "--paper", "a4")
        assert_bad(run, "--brief", "--paper = a4", "has no report to go with", "add --report PATH.pdf")
        assert_bad(mastcheck("check", mast, "--report", "r.pdf", "--paper", "a3"), "--paper")

    def test_one_path_for_two_outputs_leaves_nothing(self, tmp_path: Path, mast: Path) -> None:
        out = tmp_path / "out"
        run = mastcheck("check", mast, *FAST, "--figures", out, "--report", out / "sections.pdf")
        assert_bad(run, "sections.pdf", "is the path of two outputs", "name another")
        assert not out.exists()

    def test_a_folder_in_the_way_leaves_the_rest_alone(self, tmp_path: Path, mast: Path) -> None:
        out = tmp_path / "out"
        (out / "checks.csv").mkdir(parents=True)
        run = mastcheck("check", mast, *FAST, "--csv", out, "--json", tmp_path / "r.json")
        assert_bad(run, "checks.csv", "is a folder", "move it away")
        assert [path.name for path in out.iterdir()] == ["checks.csv"]
        assert not (tmp_path / "r.json").exists()
