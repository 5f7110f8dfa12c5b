"""The command line as a person meets it: real processes, a temporary folder, real files."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
WIDE = ROOT / "profiles" / "aluminium-75-wide.toml"
TAPERED = ROOT / "profiles" / "aluminium-75-tapered.toml"

MAST = """\
[mast]
name = "e2e [bold]mast[/bold]"
length = "700 mm"

[[mast.station]]
at = 0.0
chord = "140 mm"
thickness = "19 mm"

[[mast.station]]
at = 1.0
chord = "120 mm"
thickness = "17 mm"

[section]
outline = "naca-4-digit"
construction = "solid"
material = "EN AW-6082-T6"
"""


def mastcheck(
    *words: str | Path, cwd: Path | None = None, **env: str
) -> subprocess.CompletedProcess[str]:
    """Run the command in a process of its own, its output in pipes."""
    return subprocess.run(
        [sys.executable, "-m", "mastcheck", *map(str, words)],
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONIOENCODING": "utf-8", **env},
        cwd=cwd,
        check=False,
        timeout=300,
    )


@pytest.fixture
def mast(tmp_path: Path) -> Path:
    """A small mast file without limits."""
    path = tmp_path / "mast.toml"
    path.write_text(MAST, encoding="utf-8")
    return path


def assert_bad(run: subprocess.CompletedProcess[str], *words: str) -> None:
    """Exit status 2, one line or more on stderr with the words, no traceback, nothing on stdout."""
    assert run.returncode == 2, run.stderr
    assert run.stdout == ""
    assert "Traceback" not in run.stderr
    assert all(line.startswith("mastcheck: ") for line in run.stderr.splitlines())
    for word in words:
        assert word in run.stderr


class TestCheck:
    def test_all_is_said_and_a_pipe_gets_plain_text(self, mast: Path) -> None:
        run = mastcheck("check", mast, "--case", "cruise", "--case", "carve")
        assert run.returncode == 0, run.stderr
        assert run.stderr == ""
        assert "\x1b" not in run.stdout
        assert not set("─│╭╮╰╯┃━…") & set(run.stdout)
        for words in (
            "EI_side",
            "EI_fore_aft",
            "GJ",
            "shear centre",
            "mm per 100 N",
            "deg per 10 N·m",
            "N·m per deg",
            "cruise",
            "carve",
            "utilisation",
            "Self-checks",
            "Assumptions",
        ):
            assert words in run.stdout
        assert not re.search(r"\bpump\b(?! frequency| amplitude)", run.stdout)
        tail = run.stdout[run.stdout.index("CAUTIONS") :]
        assert "review" in tail
        assert all(line.startswith("- ") for line in tail.splitlines()[1:])
        assert "[bold]" in run.stdout  # text from a file is text, not markup

    def test_a_limit_exceeded_gives_one(self, mast: Path) -> None:
        limit = '\n[limits]\nside_deflection = { case = "carve", max = "0.1 mm" }\n'
        mast.write_text(MAST + limit, encoding="utf-8")
        run = mastcheck("check", mast, "--case", "carve")
        assert run.returncode == 1, run.stderr
        assert "FAIL" in run.stdout

    def test_an_unstable_case_gives_one_and_its_factor(self, mast: Path) -> None:
        thin = MAST.replace("19 mm", "9 mm").replace("17 mm", "8 mm")
        mast.write_text(thin, encoding="utf-8")
        run = mastcheck("check", mast, "--case", "touchdown", "--rider", "110 kg", "--length", "1 m")
        assert run.returncode == 1, run.stderr
        assert "UNSTABLE: buckles at" in run.stdout
        assert "times the service load" in run.stdout

    def test_outputs_are_written_where_asked(self, mast: Path, tmp_path: Path) -> None:
        out, report = tmp_path / "out" / "r.json", tmp_path / "out" / "r.pdf"
        run = mastcheck("check", mast, "--case", "cruise", "--json", out, "--report", report)
        assert run.returncode == 0, run.stderr
        result = json.loads(out.read_text(encoding="utf-8"))
        assert result["schema"] == "mastcheck-result/1"
        assert [case["name"] for case in result["masts"][0]["cases"]] == ["cruise"]
        assert report.read_bytes().startswith(b"%PDF-")
        assert sorted(p.name for p in out.parent.iterdir()) == ["r.json", "r.pdf"]

    def test_units_change_the_display_only(self, mast: Path, tmp_path: Path) -> None:
        paths = tmp_path / "metric.json", tmp_path / "imperial.json"
        mastcheck("check", mast, "--case", "cruise", "--json", paths[0])
        run = mastcheck("check", mast, "--case", "cruise", "--json", paths[1], "--units", "imperial")
        assert "27.6 in" in run.stdout
        assert paths[0].read_bytes() == paths[1].read_bytes()

    def test_length_stretches_and_trim_cuts(self, mast: Path, tmp_path: Path) -> None:
        def stations(*words: str) -> list[dict[str, float]]:
            path = tmp_path / "r.json"
            run = mastcheck(
                "check", mast, "--case", "cruise", "--json", path, "--length", "24 in", *words
            )
            assert run.returncode == 0, run.stderr
            result = json.loads(path.read_text(encoding="utf-8"))["masts"][0]
            assert result["length_m"] == pytest.approx(0.6096)
            found: list[dict[str, float]] = result["stations"]
            return found

        stretched, base_cut, tip_cut = stations(), stations("--trim", "base"), stations("--trim", "tip")
        assert base_cut[0]["GJ_Nm2"] < stretched[0]["GJ_Nm2"]
        assert base_cut[-1]["GJ_Nm2"] == pytest.approx(stretched[-1]["GJ_Nm2"], rel=1e-3)
        assert tip_cut[-1]["GJ_Nm2"] > stretched[-1]["GJ_Nm2"]


class TestCompare:
    def test_the_main_job(self, tmp_path: Path) -> None:
        report = tmp_path / "wide-vs-tapered.pdf"
        run = mastcheck("compare", WIDE, TAPERED, "--report", report)
        assert run.returncode in (0, 1), run.stderr
        assert run.stderr == ""
        assert "In plain words" in run.stdout
        assert "×" in run.stdout
        assert report.read_bytes().startswith(b"%PDF-")

    def test_one_mast_is_too_few(self, mast: Path) -> None:
        assert_bad(mastcheck("compare", mast), "two or more")


class TestBadInput:
    def test_missing_file(self, tmp_path: Path) -> None:
        assert_bad(mastcheck("check", tmp_path / "none.toml"), "none.toml")

    def test_every_fault_of_a_file_at_once(self, mast: Path) -> None:
        mast.write_text(MAST.replace('"700 mm"', "700").replace("outline", "outlne"), encoding="utf-8")
        run = mastcheck("check", mast)
        assert_bad(run, "mast.toml", "length", "outline")
        assert len(run.stderr.splitlines()) >= 2

    def test_both_files_are_read_before_the_complaint(self, tmp_path: Path) -> None:
        assert_bad(mastcheck("compare", tmp_path / "a.toml", tmp_path / "b.toml"), "a.toml", "b.toml")

    @pytest.mark.parametrize(
        ("words", "expected"),
        [
            (["--length", "750"], "no unit"),
            (["--length", "30 kg"], "length"),
            (["--length", "-1 m"], "50 mm"),
            (["--rider", "95 kgg"], "kg"),
            (["--trim", "base"], "--length"),
            (["--case", "crave"], "carve"),
            (["--length", "2 m", "--trim", "tip"], "shorten"),
            (["--report", "report.txt"], ".pdf"),
            (["--json", "."], "folder"),
            (["--lenght", "1 m"], "--length"),
            (["--units", "furlongs"], "imperial"),
        ],
    )
    def test_options(self, mast: Path, words: list[str], expected: str) -> None:
        assert_bad(mastcheck("check", mast, *words, cwd=mast.parent), expected)

    def test_nothing_is_written_when_the_input_is_bad(self, mast: Path, tmp_path: Path) -> None:
        mast.write_text(MAST + "\n[nonsense]\n", encoding="utf-8")
        out = tmp_path / "r.json"
        assert_bad(mastcheck("check", mast, "--json", out))
        assert not out.exists()

    def test_an_output_that_cannot_be_written(self, mast: Path) -> None:
        assert_bad(mastcheck("check", mast, "--case", "cruise", "--json", mast / "r.json"), "r.json")

    def test_unknown_command(self) -> None:
        assert_bad(mastcheck("chek"), "check")


class TestSmallCommands:
    def test_new_writes_a_file_that_checks_and_is_never_overwritten(self, tmp_path: Path) -> None:
        path = tmp_path / "new.toml"
        assert mastcheck("new", path).returncode == 0
        before = path.read_bytes()
        assert mastcheck("check", path, "--case", "cruise").returncode in (0, 1)
        assert_bad(mastcheck("new", path), "new.toml")
        assert path.read_bytes() == before

    def test_profiles_lists_the_shipped_masts(self) -> None:
        run = mastcheck("profiles")
        assert run.returncode == 0, run.stderr
        assert "aluminium-75-wide" in run.stdout
        assert len(run.stdout.splitlines()) >= 8

    @pytest.mark.parametrize("command", [[], ["check"], ["compare"], ["new"], ["profiles"]])
    def test_help(self, command: list[str]) -> None:
        run = mastcheck(*command, "--help")
        assert run.returncode == 0
        assert "Usage" in run.stdout

    def test_version(self) -> None:
        assert mastcheck("--version").stdout.strip() == "0.6.0"

    def test_help_loads_nothing_heavy(self) -> None:
        heavy = ("numpy", "scipy", "shapely", "matplotlib", "typst", "sectionproperties", "pydantic")
        code = (
            "import sys\nfrom mastcheck.cli.main import main\n"
            "assert main(['check', '--help']) == 0\n"
            f"print([m for m in {heavy!r} if m in sys.modules], file=sys.stderr)"
        )
        run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert run.stderr.strip() == "[]"


def test_every_command_has_a_line_in_the_readme() -> None:
    from mastcheck.cli.main import app

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for name in app:
        if not name.startswith("-"):
            assert f"`mastcheck {name}" in readme


def fenced(language: str) -> list[str]:
    """The README's blocks of one language."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    return [block.split("```")[0] for block in readme.split(f"```{language}\n")[1:]]


def test_the_mast_files_in_the_readme_are_read(tmp_path: Path) -> None:
    import mastcheck as package

    whole, additions, plies, joints, water, tolerances = fenced("toml")
    path = tmp_path / "readme.toml"
    path.write_text(whole + additions, encoding="utf-8")
    job = package.load(path)
    assert "hang-test" in [case.name for case in job.cases]
    assert len(job.limits) == 2
    path.write_text(whole + joints, encoding="utf-8")
    assert package.load(path).joints.stated
    path.write_text(whole + water, encoding="utf-8")
    ridden = package.load(path)
    assert [w.name for w in ridden.quiver] == ["large"]
    assert "carved-turn" in ridden.water_loads
    path.write_text(whole + tolerances, encoding="utf-8")
    assert package.load(path).scatter
    path.write_text(whole.split("[section]")[0] + plies, encoding="utf-8")
    assert len(package.load(path).mast.stations[0].plies) == 9


def test_the_python_lines_in_the_readme_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    (lines,) = fenced("python")
    *body, last = lines.strip().splitlines()
    names: dict[str, object] = {}
    exec("\n".join(body), names)
    assert eval(last, names) > 0


def test_public_names_are_sorted_and_real() -> None:
    import mastcheck as package

    assert package.__all__ == sorted(package.__all__)
    for name in package.__all__:
        assert getattr(package, name) is not None
