"""``mastcheck bench`` as a person meets it: the sheet, its blank form, the fit, the file it writes."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from mastcheck.bench.setup import bench_model
from mastcheck.files.mastfile import load
from mastcheck.files.readings import read_readings
from tests.benches import true_values
from tests.e2e.test_cli import ROOT, assert_bad, mastcheck

MAST = """\
[mast]
name = "bench [bold]mast[/bold]"
length = "750 mm"

[[mast.station]]
at = 0.0
chord = "120 mm"
thickness = "15 mm"

[[mast.station]]
at = 1.0
chord = "120 mm"
thickness = "15 mm"

[section]
outline = "ellipse"
construction = "solid"
material = "EN AW-6082-T6"
"""
TRUE = np.array([1.03, 1.0, 1.05, 4e-5, 4e-6, 3e-4, 0.0, 0.0, 0.0])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A mast, its sheet and its blank form, made once."""
    path = tmp_path_factory.mktemp("bench")
    (path / "mast.toml").write_text(MAST, encoding="utf-8")
    run = mastcheck("bench", path / "mast.toml", "--plan", "--out", path / "sheet.pdf",
                    "--template", path / "blank.csv")  # fmt: skip
    assert run.returncode == 0, run.stderr
    (path / "plan.txt").write_text(run.stdout, encoding="utf-8")
    return path


def filled(folder: Path) -> Path:
    """The blank form with what a mast on a soft base joint would read, its hidden unknowns TRUE."""
    path = folder / "readings.csv"
    if path.exists():
        return path
    lines = (folder / "blank.csv").read_text(encoding="utf-8").splitlines()
    remarks = [line for line in lines if line.startswith("#")]
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))

    def write(values: list[str]) -> None:
        out = io.StringIO()
        out.write("\n".join(remarks) + "\n")
        writer = csv.DictWriter(out, rows[0], lineterminator="\n")
        writer.writeheader()
        writer.writerows({**row, "reading": value} for row, value in zip(rows, values, strict=True))
        path.write_text(out.getvalue(), encoding="utf-8")

    units = ["mm" if row["spacing [mm]"] or row["gauge"] != "twist" else "deg" for row in rows]
    write([f"0 {unit}" for unit in units])
    job = load(folder / "mast.toml")
    readings = read_readings(path, job.mast.length)
    model = bench_model(job, [z for r in readings for z in (r.load.z, r.gauge.z)])
    sigma = np.array([r.error for r in readings])
    noise = np.random.default_rng(11).normal(size=len(readings)) * sigma
    values = true_values(model, readings, TRUE, {"base_twist": np.radians(0.3)}) + noise
    size = [
        1e3 * (r.spacing or 1.0) if unit == "mm" else np.degrees(1)
        for r, unit in zip(readings, units, strict=True)
    ]
    write([f"{v * by:.4f} {unit}" for v, by, unit in zip(values, size, units, strict=True)])
    return path


class TestPlan:
    def test_cautions_come_before_anything_is_hung(self, folder: Path) -> None:
        said = (folder / "plan.txt").read_text(encoding="utf-8")
        order = [
            said.index(w)
            for w in ("CAUTIONS FIRST", "Clamp", "1. Side bending", "3. Twist", "bands rest")
        ]
        assert order == sorted(order)
        for words in (
            "never stand under it",
            "second ruler",
            "never more than",
            "play:",
            "bench [bold]mast",
        ):
            assert words in said
        assert "\x1b" not in said

    def test_the_sheet_is_one_page(self, folder: Path) -> None:
        reader = PdfReader(folder / "sheet.pdf")
        assert len(reader.pages) == 1
        text = " ".join(reader.pages[0].extract_text().split())
        for words in (
            "Cautions first",
            "Side bending",
            "Fore-aft bending",
            "Twist",
            "Stop:",
            "Play:",
            "750",
        ):
            assert words in text

    def test_every_profile_fits_one_page(self, tmp_path: Path) -> None:
        path = ROOT / "profiles" / "carbon-75-layup.toml"
        run = mastcheck("bench", path, "--plan", "--units", "imperial", "--out", tmp_path / "sheet.pdf")
        assert run.returncode == 0, run.stderr
        assert len(PdfReader(tmp_path / "sheet.pdf").pages) == 1
        assert "nan" not in run.stdout
        assert "–" not in run.stdout.split("1. Side bending")[1]

    def test_the_blank_form_has_nothing_to_fit(self, folder: Path) -> None:
        run = mastcheck("bench", folder / "mast.toml", folder / "blank.csv")
        assert_bad(run, "no row with a reading")


class TestFit:
    def test_a_hidden_soft_base_joint_is_found(self, folder: Path) -> None:
        readings = filled(folder)
        suffixes = {"--report": ".pdf", "--draw": ".png", "--json": ".json", "--write": ".toml"}
        out = {flag: folder / f"out{suffix}" for flag, suffix in suffixes.items()}
        run = mastcheck(
            "bench", folder / "mast.toml", readings, *[w for pair in out.items() for w in pair]
        )
        assert run.returncode == 0, run.stderr
        assert "the base joint explains" in run.stdout
        assert "check the plate screws first" in run.stdout
        assert "free play of 0.3" in run.stdout
        assert "weaker" in run.stdout[run.stdout.index("CAUTIONS") :]

        result = json.loads(out["--json"].read_text(encoding="utf-8"))
        assert result["schema"] == "mastcheck-bench/1"
        found = {u["name"]: u for u in result["unknowns"]}
        for name, i in (("base_roll", 3), ("base_twist", 5)):
            u = found[name]
            assert abs(u["compliance_rad_per_Nm"] - TRUE[i]) < u["compliance_interval_rad_per_Nm"]
        for name, i in (("EI_side", 0), ("GJ", 2)):
            assert abs(found[name]["factor"] - 1 / TRUE[i]) < found[name]["factor_interval"]
        (play,) = [p for p in result["free_play"] if p["free_deg"]]
        assert abs(play["free_deg"] - 0.3) < play["interval_deg"]

        text = " ".join(page.extract_text() for page in PdfReader(out["--report"]).pages)
        assert "the base joint" in text
        assert "Readings under load" in text
        assert out["--draw"].read_bytes().startswith(b"\x89PNG")

        again = mastcheck("bench", out["--write"], readings)
        assert again.returncode == 0, again.stderr
        assert "side bending: as calculated within" in again.stdout
        assert "twist: as calculated within" in again.stdout

    def test_the_report_repeats_byte_for_byte(self, folder: Path, tmp_path: Path) -> None:
        readings = filled(folder)
        made = []
        for name in ("a.pdf", "b.pdf"):
            run = mastcheck("bench", folder / "mast.toml", readings, "--report", tmp_path / name)
            assert run.returncode == 0, run.stderr
            made.append((tmp_path / name).read_bytes())
        assert made[0] == made[1]

    def test_the_shipped_example_runs(self) -> None:
        run = mastcheck(
            "bench",
            ROOT / "profiles" / "aluminium-75-wide.toml",
            ROOT / "profiles" / "aluminium-75-wide-bench.csv",
        )
        assert run.returncode == 0, run.stderr
        assert "the base joint explains" in run.stdout


class TestBadInput:
    def test_bad_rows_are_named_by_their_lines_before_computing(
        self, folder: Path, tmp_path: Path
    ) -> None:
        path = tmp_path / "bad.csv"
        path.write_text(
            "load [kg],direction,load_z [mm],gauge,gauge_z [mm],reading\n"
            "5,side,750,side,740,3.1\n5,side,800,side,740,3.1 mm\n5,side,750,sid,740,3.1 mm\n",
            encoding="utf-8",
        )
        solved = tmp_path / "sections"
        run = mastcheck("bench", folder / "mast.toml", path, MASTCHECK_CACHE=str(solved))
        assert_bad(
            run, "bad.csv:2: reading", "bad.csv:3: load_z", "bad.csv:4: gauge", "no unit", "did you mean"
        )
        assert not list(tmp_path.glob("sections/**/*"))  # where any that was solved would lie
        assert mastcheck("bench", folder / "mast.toml", "--plan", MASTCHECK_CACHE=str(solved)).stdout
        assert list(tmp_path.glob("sections/**/*"))

    def test_options_that_do_not_go_together(self, folder: Path, tmp_path: Path) -> None:
        assert_bad(mastcheck("bench", folder / "mast.toml"), "--plan")
        assert_bad(
            mastcheck("bench", folder / "mast.toml", folder / "blank.csv", "--plan"),
            "goes without readings",
        )
        run = mastcheck("bench", folder / "mast.toml", "--plan", "--write", tmp_path / "x.toml")
        assert_bad(run, "--write", "goes with readings")
        run = mastcheck("bench", folder / "mast.toml", filled(folder), "--out", tmp_path / "x.pdf")
        assert_bad(run, "--out", "goes with --plan")

    def test_nothing_is_overwritten(self, folder: Path) -> None:
        run = mastcheck("bench", folder / "mast.toml", filled(folder), "--write", folder / "mast.toml")
        assert_bad(run, "--write", "mast file")
        run = mastcheck("bench", folder / "mast.toml", "--plan", "--template", folder / "blank.csv")
        assert_bad(run, "--template", "exists")

    def test_turned_signs_are_told_with_the_line(self, folder: Path, tmp_path: Path) -> None:
        path = tmp_path / "turned.csv"
        path.write_text(
            "load [kg],direction,load_z [mm],gauge,gauge_z [mm],reading [mm]\n"
            "0,side,750,side,750,0\n5,side,750,side,750,-8\n10,side,750,side,750,-16\n15,side,750,side,750,-24\n",
            encoding="utf-8",
        )
        assert_bad(mastcheck("bench", folder / "mast.toml", path), "turned.csv:2", "reads the other way")
