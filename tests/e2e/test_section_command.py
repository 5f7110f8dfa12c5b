"""``mastcheck section`` as a person meets it: real processes and files, faults told before computing."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.e2e.test_cli import MAST, ROOT, assert_bad, mastcheck

SHELL = ROOT / "profiles" / "carbon-75-wide.toml"
HOLLOW = ROOT / "profiles" / "aluminium-75-wide.toml"


@pytest.fixture
def mast(tmp_path: Path) -> Path:
    """A solid mast, 140 x 19 mm at its base and 120 x 17 mm at its tip."""
    path = tmp_path / "mast.toml"
    path.write_text(MAST, encoding="utf-8")
    return path


def units_of(key: str) -> bool:
    """Whether a JSON key of a number says its unit."""
    suffixes = (
        "_m", "_m2", "_m4", "_m6", "_N", "_Nm2", "_Nm4", "_Pa", "_deg", "_per_N", "_kg_per_m",
    )  # fmt: skip
    plain = {"at", "mesh_elements", "mass_share", "coupling", "unsymmetry", "twist_ratio"}
    return key.endswith(suffixes) or key in plain


def numbers(value: object, key: str = "") -> list[str]:
    """Keys of all numbers in a JSON value."""
    if isinstance(value, dict):
        return [k for name, item in value.items() for k in numbers(item, name)]
    if isinstance(value, list):
        return [k for item in value for k in numbers(item, key)]
    return [key] if isinstance(value, int | float) and not isinstance(value, bool) else []


class TestPrinting:
    def test_all_is_said_and_a_pipe_gets_plain_text(self, mast: Path) -> None:
        run = mastcheck("section", mast)
        assert run.returncode == 0, run.stderr
        assert run.stderr == ""
        assert "\x1b" not in run.stdout
        for words in (
            "e2e [bold]mast[/bold]",
            "z = 350.0 mm",
            "naca-4-digit, solid",
            "chord",
            "perimeter",
            "EA",
            "EI_side",
            "EI_fore_aft",
            "EIxy",
            "GJ",
            "EGamma",
            "shear flexibility",
            "principal angle",
            "mass per length",
            "shear centre",
            "from leading edge",
            "EN AW-6082-T6",
            "100.0 %",
            "mm⁴",
            "Buildability: notes, not verdicts",
            "taken for machining",
            "common practice, no source",
            "triangles",
        ):
            assert words in run.stdout, words
        sizes = {line.split()[0]: line.split()[1:] for line in run.stdout.splitlines() if line.strip()}
        assert sizes["chord"] == ["130", "mm"]
        assert sizes["thickness"] == ["18", "mm"]
        tail = run.stdout[run.stdout.index("CAUTIONS") :]
        assert "not an approval" in tail
        assert "rider" not in run.stdout  # nothing of the rider reaches a section

    def test_at_length_and_units(self, mast: Path) -> None:
        run = mastcheck("section", mast, "--at", "1", "--length", "30 in", "--units", "imperial")
        assert run.returncode == 0, run.stderr
        assert "z = 30.00 in" in run.stdout
        assert "4.7244" in run.stdout  # 120 mm
        assert "10³ lbf·in²" in run.stdout
        assert " mm²" not in run.stdout

    def test_two_materials_have_shares_and_no_plain_geometry(self) -> None:
        run = mastcheck("section", SHELL)
        assert run.returncode == 0, run.stderr
        assert "PVC foam 80" in run.stdout
        assert "taken for layup" in run.stdout
        assert "mm⁴" not in run.stdout


class TestFiles:
    def test_outputs_are_written_where_asked(self, tmp_path: Path) -> None:
        out = tmp_path / "out"
        run = mastcheck(
            "section", SHELL, "--at", "0.25",
            "--draw", out / "s.svg", "--dxf", out / "s.dxf", "--json", out / "s.json",
        )  # fmt: skip
        assert run.returncode == 0, run.stderr
        assert sorted(p.name for p in out.iterdir()) == ["s.dxf", "s.json", "s.svg"]
        assert b"<svg" in (out / "s.svg").read_bytes()
        result = json.loads((out / "s.json").read_text(encoding="utf-8"))
        assert result["schema"] == "mastcheck-section/1"
        assert result["at"] == 0.25
        assert result["z_m"] == pytest.approx(0.1875)
        assert result["chord_m"] == pytest.approx(0.13125)
        assert result["geometry"] is None
        assert sum(r["mass_share"] for r in result["regions"]) == pytest.approx(1)
        p = result["properties"]
        assert p["principal_EI_least_Nm2"] == pytest.approx(p["EI_side_Nm2"], rel=1e-6)
        assert p["centroid_from_leading_edge_m"] - p["centroid_x_m"] == pytest.approx(0.065625, rel=1e-3)
        notes = result.pop("notes")
        assert {"name", "text", "basis", "found", "practice", "unit", "beyond_practice"} == set(notes[0])
        assert [key for key in numbers(result) if not units_of(key)] == []

    def test_the_dxf_holds_the_outlines_in_millimetres(self, tmp_path: Path) -> None:
        import ezdxf
        import shapely

        path = tmp_path / "s.dxf"
        assert mastcheck("section", HOLLOW, "--dxf", path).returncode == 0
        document = ezdxf.readfile(path)
        assert document.header["$INSUNITS"] == 4
        loops = [
            shapely.Polygon([(x, y) for x, y, *_ in line.get_points()])
            for line in document.modelspace().query("LWPOLYLINE")
        ]
        widths = sorted(loop.bounds[2] - loop.bounds[0] for loop in loops)
        assert widths[-1] == pytest.approx(130, abs=0.01)  # 150 to 110 mm, at the middle
        assert len(loops) == 2

    def test_a_channel_in_a_core_is_read_back_with_the_layers_named(self, tmp_path: Path) -> None:
        mast, drawn = tmp_path / "mast.toml", tmp_path / "drawn.toml"
        shell = """
construction = "shell-and-core"
core = "PVC foam 80"
wall = "2 mm"
channels = [{ at = 0.5, bore = "5 mm", boss = "9 mm" }]"""
        mast.write_text(MAST.replace('construction = "solid"', shell), encoding="utf-8")
        made = mastcheck("section", mast, "--dxf", tmp_path / "s.dxf", "--json", tmp_path / "a.json")
        assert made.returncode == 0, made.stderr
        names = 'is taken for a void: "EN AW-6082-T6" = "EN AW-6082-T6", "PVC foam 80" = "PVC foam 80"'
        assert names in " ".join(made.stdout.split())
        file = """[mast]
name = "read back"
length = "700 mm"
station = [{ at = 0.0 }, { at = 1.0 }]
[section]
file = "s.dxf"
construction = "drawn"
material = "EN AW-6082-T6"
"""
        drawn.write_text(file, encoding="utf-8")
        assert_bad(mastcheck("section", drawn), "hangs free", "[section.layers]")
        layers = '[section.layers]\n"EN AW-6082-T6" = "EN AW-6082-T6"\n"PVC foam 80" = "PVC foam 80"\n'
        drawn.write_text(file + layers, encoding="utf-8")
        assert mastcheck("section", drawn, "--json", tmp_path / "b.json").returncode == 0
        first, second = (
            json.loads((tmp_path / name).read_text(encoding="utf-8"))["properties"]
            for name in ("a.json", "b.json")
        )
        for key in ("EA_N", "EI_side_Nm2", "GJ_Nm2"):
            assert second[key] == pytest.approx(first[key], rel=1e-4)

    def test_the_same_input_gives_the_same_bytes_in_every_process(self, tmp_path: Path) -> None:
        """Pictures and JSON from two processes whose hashes are seeded differently."""
        code = (
            "import sys; from pathlib import Path\n"
            "from mastcheck.checks.section import solve_at\n"
            "from mastcheck.files.mastfile import load\n"
            "from mastcheck.report.section_figure import SUFFIXES, picture\n"
            "from mastcheck.report.section_json import section_json\n"
            "result = solve_at(load(sys.argv[1]), 0.5)\n"
            "for suffix in SUFFIXES:\n"
            "    Path(sys.argv[2] + suffix).write_bytes(picture(result, suffix))\n"
            "Path(sys.argv[2] + '.json').write_text(section_json(result), encoding='utf-8')\n"
        )
        for seed in ("1", "2"):
            run = subprocess.run(
                [sys.executable, "-c", code, str(SHELL), str(tmp_path / seed)],
                env={"PYTHONHASHSEED": seed, "PATH": "", "HOME": str(tmp_path)},
                capture_output=True,
                text=True,
                check=False,
            )
            assert run.returncode == 0, run.stderr
        for suffix in (".png", ".svg", ".pdf", ".json"):
            first, second = (tmp_path / f"{seed}{suffix}" for seed in ("1", "2"))
            assert first.read_bytes() == second.read_bytes(), suffix

    def test_units_change_neither_json(self, mast: Path, tmp_path: Path) -> None:
        for units in ("metric", "imperial"):
            path = tmp_path / f"{units}.json"
            assert mastcheck("section", mast, "--json", path, "--units", units).returncode == 0
        assert (tmp_path / "metric.json").read_bytes() == (tmp_path / "imperial.json").read_bytes()

    @pytest.mark.parametrize("suffix", [".PNG", ".pdf"])
    def test_a_picture_by_its_suffix(self, mast: Path, tmp_path: Path, suffix: str) -> None:
        path = tmp_path / f"s{suffix}"
        assert mastcheck("section", mast, "--draw", path).returncode == 0
        assert path.read_bytes()[:4] == {".PNG": b"\x89PNG", ".pdf": b"%PDF"}[suffix]


class TestBadInput:
    @pytest.mark.parametrize(
        ("words", "expected"),
        [
            (["--at", "1.01"], "from 0 (base) to 1 (tip)"),
            (["--at", "-0.1"], "from 0 (base) to 1 (tip)"),
            (["--at", "nan"], "from 0 (base) to 1 (tip)"),
            (["--at", "300 mm"], "fraction"),
            (["--length", "750"], "no unit"),
            (["--length", "1 mm"], "50 mm"),
            (["--draw", "s.jpg"], ".png or .svg or .pdf"),
            (["--draw", "picture"], ".png or .svg or .pdf"),
            (["--dxf", "s.dwg"], ".dxf"),
            (["--json", "."], "folder"),
            (["--draw", "s.svg", "--json", "s.svg"], "also the path of --draw"),
            (["--json", "mast.toml/s.json"], "no folder"),
            (["--unts", "metric"], "--units"),
            (["--units", "furlongs"], "imperial"),
        ],
    )
    def test_options(self, mast: Path, words: list[str], expected: str) -> None:
        assert_bad(mastcheck("section", mast, *words, cwd=mast.parent), expected)
        assert sorted(p.name for p in mast.parent.iterdir()) == ["mast.toml"]

    def test_every_fault_at_once(self, tmp_path: Path) -> None:
        run = mastcheck("section", tmp_path / "none.toml", "--at", "2", "--draw", "s.gif", cwd=tmp_path)
        assert_bad(run, "none.toml", "--at", "--draw")
        assert len(run.stderr.splitlines()) == 3

    def test_the_mast_file_is_never_written_over(self, mast: Path) -> None:
        before = mast.read_bytes()
        assert_bad(mastcheck("section", mast, "--json", mast), "is the mast file")
        assert mast.read_bytes() == before

    def test_a_section_that_cannot_be_built(self, mast: Path) -> None:
        thick = MAST.replace('"solid"', '"hollow"\nwall = "9.4 mm"')
        mast.write_text(thick, encoding="utf-8")
        assert_bad(mastcheck("section", mast), "mast.toml", "wall")


def test_help_and_the_list_of_commands() -> None:
    run = mastcheck("section", "--help")
    assert run.returncode == 0
    for option in ("--at", "--length", "--draw", "--dxf", "--json", "--units"):
        assert option in run.stdout
    assert "section" in mastcheck("--help").stdout
