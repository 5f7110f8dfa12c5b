"""Files written from another: the mast that was sized, and the one that a bench calibrated.

Both are the original's text with other numbers in it, so that what a person wrote beside them stays.
"""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

import numpy as np
import pytest

from mastcheck.bench.change import Calibrated
from mastcheck.errors import InputError
from mastcheck.files.calibrated import TERMS, calibrated_text
from mastcheck.files.mastfile import load
from mastcheck.files.sized import out_problems, write_sized
from mastcheck.joint import Given
from mastcheck.mast import Wall
from mastcheck.search.size_result import Design, Sized
from tests.kept import PROFILES

HOLLOW = """\
[mast]                        # invented
name = "Test mast"
length = "750 mm"

[[mast.station]]              # base
at = 0.0
chord = "150 mm"
thickness = "18 mm"

[[mast.station]]              # tip
at = 1.0
chord = "100 mm"
thickness = "14 mm"

[section]
outline = "naca-4-digit"
construction = "hollow"
wall = "2.5 mm"               # all along
material = "EN AW-6082-T6"
"""
LAYUP = (PROFILES / "carbon-75-layup.toml").read_text(encoding="utf-8")


def written(tmp_path: Path, text: str, **settings: float) -> Path:
    """The file with the settings found written into it."""
    file = tmp_path / "mast.toml"
    file.write_text(text, encoding="utf-8")
    best = Design(settings=settings, mass=1.0, uses={}, holds=True)
    sized = Sized(
        job=load(file), free=(), given=best, best=best, result=None, found=True, governing=(),
        at_bounds=(), remainder=0.0, blocked="", steps=(), jumps=(), prices=(), runs=(), rounded=None,
        checks=1,
    )  # fmt: skip
    return write_sized(file, tmp_path / "new.toml", sized)


def test_sizes_are_changed_in_their_lines_and_nothing_else(tmp_path: Path) -> None:
    out = written(tmp_path, HOLLOW, wall=0.003, base_chord=0.16, length=0.8)
    head, _, rest = out.read_text(encoding="utf-8").partition("[mast]")
    assert "base_chord 160 mm" in head
    assert "wall 3 mm" in head
    assert "check it before it is built" in head
    assert "[mast]" + rest == (
        HOLLOW.replace('"750 mm"', '"800 mm"').replace('"150 mm"', '"160 mm"').replace("2.5 mm", "3 mm")
    )


def test_a_layup_is_scaled_in_every_ply(tmp_path: Path) -> None:
    file = tmp_path / "before.toml"
    file.write_text(LAYUP, encoding="utf-8")
    before = load(file).mast
    faces = sum(p.thickness for p in before.stations[0].plies if "faces" in p.zones)
    out = written(tmp_path, LAYUP, layup=1.2 * faces)
    after = load(out).mast
    assert len(after.stations) == len(before.stations)
    for a, b in zip(before.stations, after.stations, strict=True):
        assert [p.thickness for p in b.plies] == pytest.approx([1.2 * p.thickness for p in a.plies])
        assert (b.chord, b.thickness) == (a.chord, a.thickness)
    text = out.read_text(encoding="utf-8")
    # A ply that is dropped toward the tip is still dropped there.
    assert 'thickness = ["0.24 mm", "0 mm"]' in text
    assert "count = 5" in text


def test_walls_of_single_faces_cannot_be_written_and_nothing_is_left(tmp_path: Path) -> None:
    text = HOLLOW.replace(
        'wall = "2.5 mm"', 'wall = [{ at = 0.2, wall = "2 mm" }, { at = 0.6, wall = "3 mm" }]'
    )
    file = tmp_path / "wall.toml"
    file.write_text(text, encoding="utf-8")
    assert isinstance(load(file).mast.stations[0].wall, Wall)
    with pytest.raises(InputError, match=r"its sizes.*or leave --out and edit the file") as caught:
        written(tmp_path, text, wall=0.0036)
    (problem,) = caught.value.problems
    assert problem.key == "--out"
    assert not (tmp_path / "new.toml").exists()


def test_one_wall_for_all_stations_cannot_become_two(tmp_path: Path) -> None:
    # The file has one line for the wall of every station.
    with pytest.raises(InputError, match="its sizes"):
        written(tmp_path, HOLLOW, base_wall=0.003)
    assert not (tmp_path / "new.toml").exists()
    mast = load(written(tmp_path, HOLLOW, wall=0.003)).mast
    assert [s.wall for s in mast.stations] == [0.003, 0.003]


def test_walls_of_single_faces_stay_where_other_sizes_change(tmp_path: Path) -> None:
    text = HOLLOW.replace(
        'wall = "2.5 mm"', 'wall = [{ at = 0.2, wall = "2 mm" }, { at = 0.6, wall = "3 mm" }]'
    )
    mast = load(written(tmp_path, text, thickness=0.02)).mast
    assert mast.stations[0].thickness == pytest.approx(0.02)
    wall = mast.stations[0].wall
    assert isinstance(wall, Wall)
    assert (wall.least, wall.greatest) == (0.002, 0.003)


def test_what_would_not_read_back_is_not_left(tmp_path: Path) -> None:
    # Longer than any mast file may say.
    with pytest.raises(InputError, match=r"cannot be written line by line from mast.toml \(.*length"):
        written(tmp_path, HOLLOW, length=20.0)
    assert not (tmp_path / "new.toml").exists()


def test_a_single_ply_cannot_be_told_from_the_lines_of_a_layup(tmp_path: Path) -> None:
    file = tmp_path / "mast.toml"
    file.write_text(LAYUP, encoding="utf-8")
    keys = ("chord", "ply_2_thickness", "layup", "ply_1_angle")
    told = [str(p) for p in out_problems(file, tmp_path / "new.toml", keys)]
    assert len(told) == 2
    assert "ply_2_thickness: a single ply" in told[0]
    assert "ply_1_angle: a single ply" in told[1]
    assert not list(out_problems(file, tmp_path / "new.toml", ("chord", "layup")))


def test_nothing_found_is_nothing_to_write(tmp_path: Path) -> None:
    file = tmp_path / "mast.toml"
    file.write_text(HOLLOW, encoding="utf-8")
    given = Design(settings={}, mass=1.0, uses={}, holds=False)
    sized = Sized(
        job=load(file), free=(), given=given, best=None, result=None, found=False, governing=(),
        at_bounds=(), remainder=0.0, blocked="", steps=(), jumps=(), prices=(), runs=(), rounded=None,
        checks=1,
    )  # fmt: skip
    with pytest.raises(ValueError, match="no mast was found"):
        write_sized(file, tmp_path / "new.toml", sized)
    assert not (tmp_path / "new.toml").exists()


def change(base: np.ndarray | None) -> Calibrated:
    return Calibrated(
        factor_EI_side=0.9, factor_EI_fore_aft=1.0, factor_GJ=0.8, base=base, tip=None, source="r.csv"
    )


def calibrated(tmp_path: Path, text: str, base: np.ndarray | None) -> str:
    file = tmp_path / "mast.toml"
    file.write_text(text, encoding="utf-8")
    return calibrated_text(file, change(base), ["measured"])


def base_joint(tmp_path: Path, text: str) -> np.ndarray:
    out = tmp_path / "calibrated.toml"
    out.write_text(text, encoding="utf-8")
    joint = load(out).joints.base
    assert isinstance(joint, Given)
    return np.array(joint.compliance)


def test_a_joint_whose_terms_are_apart_is_written_by_its_stiffnesses(tmp_path: Path) -> None:
    base = np.diag([0, 1e-7, 0, 4e-5, 0, 2e-4])
    text = calibrated(tmp_path, HOLLOW, base)
    table = tomllib.loads(text)["base_joint"]
    assert set(table) == {"kind", *(f"{TERMS[k]}_stiffness" for k in (1, 3, 5))}
    # 4e-5 rad per N m is 1/4e-5 N m/rad, or 436.3 N m/deg.
    assert table["roll_stiffness"] == f"{math.radians(1) / 4e-5:.6g} N m/deg"
    assert base_joint(tmp_path, text) == pytest.approx(base, rel=1e-5)


def test_a_joint_that_couples_is_written_by_its_compliance(tmp_path: Path) -> None:
    base = np.diag([2e-7, 4e-7, 0.0, 4e-5, 4e-6, 2e-4])
    base[1, 3] = base[3, 1] = -2.5e-6
    text = calibrated(tmp_path, HOLLOW, base)
    assert set(tomllib.loads(text)["base_joint"]) == {"kind", "compliance"}
    assert base_joint(tmp_path, text) == pytest.approx(base, rel=1e-5)


def test_a_joint_that_gives_way_nowhere_is_written_as_such(tmp_path: Path) -> None:
    assert not base_joint(tmp_path, calibrated(tmp_path, HOLLOW, np.zeros((6, 6)))).any()


@pytest.mark.parametrize(
    "text",
    [
        'base_joint = { kind = "given", roll_stiffness = "2 kN m/deg" }\n' + HOLLOW,
        'base_joint.kind = "given"\nbase_joint.roll_stiffness = "2 kN m/deg"\n' + HOLLOW,
    ],
    ids=["in line", "dotted"],
)
def test_a_joint_that_is_no_table_of_its_own_is_not_replaced(tmp_path: Path, text: str) -> None:
    with pytest.raises(InputError, match="cannot be told from the lines around") as caught:
        calibrated(tmp_path, text, np.diag([0, 0, 0, 4e-5, 0, 0]))
    assert "write each as a table of its own" in str(caught.value)
    # Left alone, it may stand as it is.
    assert tomllib.loads(calibrated(tmp_path, text, None))["base_joint"]["kind"] == "given"


def test_a_table_header_within_a_text_is_no_table(tmp_path: Path) -> None:
    # The lines from the seeming header on would be dropped, and with them the end of the text.
    text = HOLLOW.replace('name = "Test mast"', 'name = "Test mast"\nnote = """\n[calibration]\nold"""')
    with pytest.raises(InputError, match="cannot be told from the lines around"):
        calibrated(tmp_path, text, None)
