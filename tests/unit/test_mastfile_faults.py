"""Mast files: lists of the wrong length, sizes that do not belong, and what is said of a file's own."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from mastcheck.files import publish
from mastcheck.files.drawunits import Unit, unit_of
from mastcheck.files.mastfile import load
from mastcheck.files.materials import DATA, library
from mastcheck.files.written import mast_text
from tests.kept import mast as kept_mast
from tests.masts import mast
from tests.unit.test_joint_file import PLATE
from tests.unit.test_mastfile import GOOD, problems, written
from tests.unit.test_mastfile_outlines import MAST as DRAWN
from tests.unit.test_mastfile_outlines import PLY, draw
from tests.unit.test_mastfile_outlines import read as read_drawn

GIVEN = '\n[tip_joint]\nkind = "given"\n'
ADAPTER = '\n[[adapter]]\nlength = "20 mm"\n'
PATTERN = 'rows = ["-45 mm", "45 mm"]\ncolumns = ["-20 mm", "20 mm"]'
OWN = '\n[material.own]\nE = "70 GPa"\n%s\ndensity = "2700 kg/m3"\nsource = "invented for a test"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (PLATE.replace(PATTERN, "positions = []"), "must be a list of 1 to 100 places"),
        (PLATE.replace(PATTERN, 'positions = "0 mm"'), "must be a list of 1 to 100 places"),
        (PLATE.replace(PATTERN, 'positions = [["0 mm"]]'), "entry 1 must be two lengths"),
        (PLATE.replace('["-45 mm", "45 mm"]', "[]"), "must be a list of 1 to 20 lengths"),
        (PLATE.replace('["-45 mm", "45 mm"]', '"45 mm"'), "must be a list of 1 to 20 lengths"),
        (PLATE + "friction = [0.1, 0.12, 0.16]\n", "must be one number, or the least and the greatest"),
        (PLATE + 'face = ["80 mm"]\n', "must be a list of two: along x"),
        (GIVEN + "compliance = [[0, 0, 0, 0, 0, 0]]\n", "must be six rows of six numbers"),
        (GIVEN + "compliance = [0, 0, 0, 0, 0, 0]\n", "row 1 must be six numbers"),
        (
            GIVEN + 'roll_stiffness = "5 kN m/deg"\n'
            f"compliance = {[[0.0] * 6] * 6}\n",
            "stands beside the compliance, and one of the two is needed",
        ),
        (
            ADAPTER + 'section = "round"\ndiameter = "60 mm"\nalong = "20 mm"\n'
            'material = "EN AW-6082-T6"\n',
            "along = \"20 mm\": does not belong to a round section; remove it",
        ),
        (ADAPTER + 'section = "square"\nalong = "20 mm"\n', "must be one of"),
        (
            '\n[[load_case]]\nname = "a"\nforce = ["1 N", "1 N", "1 N", "1 N"]\n',
            "load_case[0].force: must have three values; give x, y and z",
        ),
        (OWN % 'G = "26 GPa"\nnu = 0.33', "material.own.nu = 0.33: exactly one of G and nu is needed"),
        (
            OWN % 'nu = 0.33\nproof_strength = "250 MPa"\nultimate_strength = "240 MPa"',
            "must not be below proof_strength; check which is which",
        ),
    ],
)  # fmt: skip
def test_each_fault_is_told_once_with_its_place(tmp_path: Path, text: str, said: str) -> None:
    (line,) = problems(tmp_path, GOOD + text)
    assert said in line


def test_a_ply_must_lie_somewhere(tmp_path: Path) -> None:
    text = GOOD.replace('wall = "2.5 mm"\nmaterial = "EN AW-6082-T6"\n', "") + (PLY + "region = []\n")
    told = problems(tmp_path, text)
    assert any("must name a region" in line for line in told)


def test_a_laminate_code_that_is_none_is_told_in_its_own_words(tmp_path: Path) -> None:
    text = GOOD.replace('wall = "2.5 mm"\nmaterial = "EN AW-6082-T6"\n', "") + (
        '[[section.ply]]\nmaterial = "carbon/epoxy woven"\nlayup = "%s"\nthickness = "0.1 mm"\n'
    )
    for code in ("[0/45", "[0/x]", "[0/200]", "[(((0)99)99)99]"):
        (line,) = [x for x in problems(tmp_path, text % code) if "section.ply[0].layup" in x]
        assert code in line


def test_what_replaces_the_shipped_figures_is_told(tmp_path: Path) -> None:
    own = OWN.replace("material.own", 'material."EN AW-6082-T6"') % "nu = 0.33"
    notes = load(written(tmp_path, GOOD + own)).notes
    assert "material EN AW-6082-T6: the file's own figures replace the shipped ones" in notes
    assert not any("replace the shipped" in note for note in load(written(tmp_path, GOOD)).notes)
    woven = (
        '\n[lamina."carbon/epoxy woven"]\nE1 = "60 GPa"\nE2 = "60 GPa"\nG12 = "4 GPa"\nnu12 = 0.05\n'
        'density = "1500 kg/m3"\nsource = "invented for a test"\n'
    )
    notes = load(written(tmp_path, GOOD + woven)).notes
    assert "lamina carbon/epoxy woven: the file's own figures replace the shipped ones" in notes


def test_a_material_that_states_an_ultimate_strength_alone_is_not_judged_and_says_so(
    tmp_path: Path,
) -> None:
    text = GOOD.replace("EN AW-6082-T6", "own") + OWN % 'nu = 0.33\nultimate_strength = "300 MPa"'
    notes = load(written(tmp_path, text)).notes
    assert "material own: strength is not judged without a proof_strength" in notes
    both = text.replace("nu = 0.33", 'nu = 0.33\nproof_strength = "250 MPa"')
    assert not any("is not judged" in note for note in load(written(tmp_path, both)).notes)


def test_a_drawing_at_its_own_size_is_told_as_drawn_and_what_is_stated_not_as_assumed(
    tmp_path: Path,
) -> None:
    draw(tmp_path / "die.dxf", (40.0, 2.0, "HOLES"))
    sized = DRAWN.replace("at = 0.0", 'at = 0.0\nchord = "120 mm"\nthickness = "14.4 mm"')
    notes = read_drawn(tmp_path, sized).notes
    assert "station at 0: die.dxf as drawn, 120 x 14.4 mm" in notes
    assert "station at 1: drawn size of die.dxf, 120 x 14.4 mm" in notes
    flattened = [note for note in notes if "chord_error" in note or "gap_tolerance" in note]
    assert len(flattened) == 2
    stated = DRAWN + 'chord_error = "0.005 mm"\ngap_tolerance = "0.01 mm"\nnose = "left"\n'
    assert not any("assumed" in note and "draw" in note for note in read_drawn(tmp_path, stated).notes)


def test_units_that_have_no_name_are_told_by_their_length() -> None:
    assert unit_of(0.0254).name == "in"
    assert unit_of(0.01) == Unit("cm", 0.01)
    assert unit_of(0.03).name == "x 0.03 m"
    assert unit_of(0.03).length(2.0) == "2 x 0.03 m"


def test_a_small_length_is_not_told_as_none() -> None:
    assert Unit("mm", 1e-3).length(2.5e-6) == "2.5e-06 mm"
    assert Unit("m", 1.0).length(3e-9) == "3e-09 m"
    # What rounding leaves is none.
    assert Unit("mm", 1e-3).length(1e-9) == "0 mm"


def test_the_schema_is_written_as_it_is_shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(publish, "DATA", tmp_path)
    publish.main()
    (file,) = tmp_path.iterdir()
    assert file.read_bytes() == (DATA / file.name).read_bytes()
    assert json.loads(file.read_text(encoding="utf-8"))["$id"] == publish.SCHEMA_ID


def test_a_mast_is_written_with_what_differs_from_the_defaults(tmp_path: Path) -> None:
    made = mast(wall=0.0025, material=library()["EN AW-6082-T6"])
    swept = replace(made, taper_about=0.25, tip_warping="restrained")
    again = load(written(tmp_path, mast_text(swept))).mast
    assert (again.taper_about, again.tip_warping) == (0.25, "restrained")
    assert again.stations == made.stations
    job = load(written(tmp_path, mast_text(made)))
    assert (job.mast.taper_about, job.mast.tip_warping) == (0.5, "free")
    assert any("taper_about" in note for note in job.notes), "what is not stated is told as assumed"


def test_what_a_written_file_would_lose_is_refused() -> None:
    for made, words in (
        (kept_mast("laminated"), "only a built-in outline of one material"),
        (kept_mast("hollow", nose_solid_to=0.1), "solid ends cannot be written"),
        (kept_mast("hollow"), "only one uniform wall"),
    ):
        with pytest.raises(ValueError, match=words):
            mast_text(made)
