"""``mastcheck new --measured`` as a person meets it: real processes, a temporary folder, real files."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from mastcheck.checks.cautions import cautions
from mastcheck.checks.stations import solve_stations
from mastcheck.files.mastfile import load
from mastcheck.mast import Construction, OutlineKind

MATERIAL = "EN AW-6082-T6"
BASE, TIP = "0 mm: 120 mm x 15 mm", "750 mm: 120 mm x 15 mm"


def new(*words: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run ``mastcheck new`` in a process of its own, its output in pipes."""
    return subprocess.run(
        [sys.executable, "-m", "mastcheck", "new", *map(str, words)],
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        cwd=cwd,
        check=False,
        timeout=300,
    )


def options(**changed: object) -> list[str]:
    """Options of a plain hollow mast, with some changed; None leaves one out."""
    given: dict[str, object] = {
        "length": "750 mm",
        "mass": "1.2 kg",
        "station": [BASE, TIP],
        "material": MATERIAL,
        "construction": "hollow",
        **changed,
    }
    words = ["--measured"]
    for name, value in given.items():
        for one in value if isinstance(value, list) else [value]:
            if one is not None:
                words += ["--" + name.replace("_", "-"), str(one)]
    return words


def assert_bad(run: subprocess.CompletedProcess[str], *words: str) -> None:
    """Exit status 2, the words on stderr, no traceback, nothing on stdout."""
    assert run.returncode == 2, run.stderr
    assert run.stdout == ""
    assert "Traceback" not in run.stderr
    assert all(line.startswith("mastcheck: ") for line in run.stderr.splitlines())
    for word in words:
        assert word in run.stderr


def test_a_hollow_mast_is_written_loads_and_has_the_mass(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    run = new(path, *options(fittings="120 g", name='my "3/4" \\ 帆'))
    assert run.returncode == 0, run.stderr
    for words in ("worst corner", "EI_side, tip", "thickness", "CAUTIONS", "inferred", "1.08"):
        assert words in run.stdout
    text = path.read_text(encoding="utf-8")
    for words in (
        "INFERRED",
        "NOT measured",
        "fittings of 120 g taken off",
        BASE,
        "naca-4-digit assumed",
    ):
        assert words in text
    job = load(path)
    assert job.mast.name == 'my "3/4" \\ 帆'
    assert job.mast.section.outline is OutlineKind.NACA_4_DIGIT
    assert any("inferred from a mass of 1.08 kg, not measured" in note for note in job.notes)
    # Through meshes and splines, as a check does it.
    assert solve_stations(job.mast).model.mass() == pytest.approx(1.08, rel=1e-3)


def test_inches_a_core_and_three_stations_out_of_order(tmp_path: Path) -> None:
    path = tmp_path / "carbon.toml"
    run = new(
        path,
        *options(
            length="29.5 in",
            mass="1.4 lb",
            station=["29.5 in: 4.5 in x 0.65 in", "at base: 4.5\" × .65\"", "0.25: 4.5 in X 0.65 in"],
            material="carbon/epoxy quasi-isotropic",
            construction="shell-and-core",
            core="PVC foam 80",
            outline="ellipse",
            trailing_edge_radius="0.02 in",
            measuring_error="0.2 mm",
            scale_error="5 g",
            units="imperial",
        ),
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    assert "core share" in run.stdout
    assert "lbf·in²" in run.stdout
    assert "assumed: none was stated" not in run.stdout
    text = path.read_text(encoding="utf-8")
    assert "errors of 0.2 mm on chord, thickness and length and 5 g on mass" in text
    mast = load(path).mast
    assert mast.name == "carbon"
    assert mast.section.construction is Construction.SHELL_AND_CORE
    assert [s.at for s in mast.stations] == [0, 0.25, 1]
    assert [s.chord for s in mast.stations] == pytest.approx([4.5 * 0.0254] * 3)
    assert solve_stations(mast).model.mass() == pytest.approx(1.4 * 0.45359237, rel=1e-3)


def test_a_solid_mast_that_weighs_too_little_is_said_to(tmp_path: Path) -> None:
    path = tmp_path / "solid.toml"
    run = new(path, *options(construction="solid", outline="slab"))
    assert run.returncode == 0, run.stderr
    assert "the mass does not fit" in run.stdout[run.stdout.index("CAUTIONS") :]
    assert "do not trust these numbers" in path.read_text(encoding="utf-8")
    assert load(path).mast.stations[0].wall is None


@pytest.mark.parametrize(
    ("mass", "words"),
    [
        ("60 g", ("no wall makes it as light as 60 g", "a wall of 0.15 mm", "lighter material")),
        ("9 kg", ("no wall makes it as heavy as 9 kg", "solid, weighs", "--fittings")),
    ],
)
def test_a_mass_no_wall_gives(tmp_path: Path, mass: str, words: tuple[str, ...]) -> None:
    path = tmp_path / "mine.toml"
    assert_bad(new(path, *options(mass=mass, scale_error="1 g")), "--mass", "nearest possible", *words)
    assert not path.exists()


def test_everything_missing_is_named_at_once(tmp_path: Path) -> None:
    run = new(tmp_path / "mine.toml", "--measured")
    assert_bad(run, "--length", "--mass", "--station", "--material", "--construction")
    assert run.stderr.count("is needed with --measured; add ") == 4
    assert "two or more are needed" in run.stderr


def test_options_that_need_measured_are_refused_without_it(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    run = new(path, *options(core="PVC foam 80", units="metric")[1:])
    assert_bad(
        run, "--length", "--mass", "--station", "--material", "--construction", "--core", "--units"
    )
    assert run.stderr.count("goes with --measured only; add --measured") == 7
    assert not path.exists()


def test_an_existing_file_is_refused_before_all_else(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("mine", encoding="utf-8")
    assert_bad(new(path, *options()), "a file of this name exists")
    assert path.read_text(encoding="utf-8") == "mine"
    assert_bad(new(tmp_path / "no" / "mine.toml", *options()), "its folder does not exist")


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"length": "750"}, ("--length", "a bare number has no unit")),
        ({"length": "1 mm"}, ("--length", "must be from 50 mm to 10 m")),
        ({"mass": "1.2 mm"}, ("--mass", "a mass is wanted")),
        ({"material": "EN AW 6082"}, ("--material", "did you mean", MATERIAL)),
        (
            {"material": "carbon/epoxy woven"},
            ("--material", "is a single ply", "carbon/epoxy quasi-isotropic"),
        ),
        ({"core": "PVC foam 80"}, ("--core", "hollow has no core")),
        ({"construction": "shell-and-core"}, ("--core", "add --core")),
        (
            {"construction": "shell-and-core", "core": MATERIAL, "material": "PVC foam 80"},
            ("--core", "must be lighter than PVC foam 80"),
        ),
        ({"station": [BASE, "tip"]}, ("--station", "is not a place, a chord and a thickness")),
        ({"station": [BASE, "750 mm: 120 x 15 mm"]}, ("chord", "120", "a bare number has no unit")),
        ({"station": [BASE, "750: 120 mm x 15 mm"]}, ("fraction of the length", '"750 mm"')),
        ({"station": [BASE, "760 mm: 120 mm x 15 mm"]}, ("is beyond the length, 750 mm",)),
        ({"station": [BASE, "700 mm: 120 mm x 15 mm"]}, ("nearest to the tip, but not at it",)),
        ({"station": ["0.1: 120 mm x 15 mm", TIP]}, ("nearest to the base, but not at it",)),
        ({"station": [BASE, BASE, TIP]}, ("is at the place of another",)),
        ({"station": [BASE, "1: 15 mm x 120 mm"]}, ("the thickness must be less than the chord",)),
        ({"fittings": "1.3 kg"}, ("--fittings", "leaves no mass")),
        ({"measuring_error": "4 mm"}, ("--measuring-error", "too coarse")),
        ({"scale_error": "0.5 kg"}, ("--scale-error", "too coarse")),
        ({"trailing_edge_radius": "7 mm"}, ("--trailing-edge-radius", "less than half the thickness")),
        ({"name": "a\nb"}, ("--name", "one line")),
        ({"construction": "holow"}, ("construction",)),
        ({"outline": "naca"}, ("outline",)),
    ],
)  # fmt: skip
def test_each_fault_is_named_with_a_remedy(
    tmp_path: Path, changed: dict[str, object], words: tuple[str, ...]
) -> None:
    path = tmp_path / "mine.toml"
    assert_bad(new(path, *options(**changed)), *words)
    assert not path.exists()


def test_several_faults_are_told_together(tmp_path: Path) -> None:
    faulty = options(length="1 kg", mass="1", station=[BASE, "x"], material="tin", name="")
    run = new(tmp_path / "mine.toml", *faulty)
    assert_bad(run, "--length", "--mass", "--station", "--material", "--name")


@pytest.mark.parametrize("changed", [{}, {"construction": "solid", "mass": "2.9 kg"}])
def test_a_check_of_it_says_in_its_cautions_that_it_was_measured(
    tmp_path: Path, changed: dict[str, object]
) -> None:
    path = tmp_path / "my mast.toml"
    made = new(path, *options(**changed))
    assert made.stdout.endswith(f"next: mastcheck check '{path}'\n")  # as a shell takes it
    job = load(path)
    first, second, *_ = cautions(job, (), ())
    assert first.startswith("A calculation aid, not an approval")
    assert second.startswith("Measured from outside, the file says: ")
    assert "measuring errors of 1 mm and 10 g leave at worst EI_side" in second
    assert "near a limit such a mast has not passed" in second
    plain = replace(job, notes=tuple(n for n in job.notes if "measuring errors" not in n))
    assert second not in cautions(plain, (), ())


def test_the_starter_is_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "starter.toml"
    run = new(path)
    assert run.returncode == 0
    assert run.stdout == f"wrote {path}; next: mastcheck check {path}\n"
    assert load(path).mast.name == "My mast"


def test_help_shows_the_options_and_loads_nothing_heavy() -> None:
    heavy = ("numpy", "scipy", "shapely", "matplotlib", "typst", "sectionproperties", "pydantic")
    code = (
        "import sys\nfrom mastcheck.cli.main import main\nassert main(['new', '--help']) == 0\n"
        f"print([m for m in {heavy!r} if m in sys.modules], file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stderr.strip() == "[]"
    assert "--measured" in run.stdout
    assert "0 mm: 150 mm x 18 mm" in " ".join(run.stdout.replace("│", " ").split())
