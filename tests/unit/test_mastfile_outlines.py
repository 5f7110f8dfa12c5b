"""Outline files named by a mast file: where they are looked for, what is taken from them, hashes."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest

from mastcheck.drawn import Coordinates, Drawing
from mastcheck.errors import InputError
from mastcheck.files.mastfile import load
from mastcheck.job import Job
from mastcheck.mast import OutlineKind
from mastcheck.outline import contour

MAST = """\
[mast]
name = "Test mast"
length = "750 mm"

[[mast.station]]
at = 0.0

[[mast.station]]
at = 1.0

[section]
file = "die.dxf"
construction = "drawn"
material = "EN AW-6082-T6"
"""
BLADE = contour("naca-4-digit", chord=0.12, thickness=0.0144)
BLADE = BLADE * (120.0, 14.4) / np.ptp(BLADE, axis=0)  # exactly as wide and high as said below
OWN = '[material.own]\nE = "70 GPa"\nnu = 0.33\ndensity = "2700 kg/m3"\nsource = "invented for a test"\n'
PLY = '[[section.ply]]\nmaterial = "carbon/epoxy woven"\nangle = "0 deg"\nthickness = "1 mm"\n'


def draw(path: Path, *holes: tuple[float, float, str], unit: int = 4, size: float = 1.0) -> Path:
    """A blade of 120 x 14.4 mm with round holes (x, radius [mm], layer)."""
    import ezdxf

    doc = ezdxf.new()
    doc.header["$INSUNITS"] = unit
    space = doc.modelspace()
    space.add_lwpolyline((BLADE * size).tolist(), close=True)
    for x, radius, layer in holes:
        space.add_circle((x * size, 0.0), radius * size, dxfattribs={"layer": layer})
    path.parent.mkdir(exist_ok=True)
    doc.saveas(path)
    return path


def read(folder: Path, text: str) -> Job:
    path = folder / "mast.toml"
    path.write_text(text, encoding="utf-8")
    return load(path)


def problems(folder: Path, text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(folder, text)
    return [str(p) for p in caught.value.problems]


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def test_a_drawing_gives_its_size_voids_and_hash(tmp_path: Path) -> None:
    die = draw(tmp_path / "die.dxf", (40.0, 3.0, "0"), (70.0, 2.0, "0"))
    job = read(tmp_path, MAST)
    drawing = job.mast.section.outline
    assert isinstance(drawing, Drawing)
    assert [loop.parent for loop in drawing.loops] == [None, 0, 0]
    assert [loop.fill for loop in drawing.loops] == [job.mast.section.material, None, None]
    for station in job.mast.stations:
        assert (station.chord, station.thickness) == pytest.approx((0.12, 0.0144), rel=1e-4)
        assert (station.outline, station.wall) == (None, None)
    assert job.outline_files == (("die.dxf", sha256(die.read_bytes())),)
    content = (tmp_path / "mast.toml").read_bytes()
    assert job.input_sha256 == sha256(content + sha256(die.read_bytes()).encode())
    assert any("station at 0: drawn size of die.dxf, 120 x 14.4" in note for note in job.notes)
    assert any("curves of drawings flattened within 0.005 mm" in note for note in job.notes)
    draw(die, (40.0, 3.1, "0"))
    assert read(tmp_path, MAST).input_sha256 != job.input_sha256, "another drawing is another input"


def test_a_stated_size_scales_the_drawing(tmp_path: Path) -> None:
    draw(tmp_path / "die.dxf")
    text = MAST.replace("at = 1.0", 'at = 1.0\nchord = "90 mm"\nthickness = "12.96 mm"')
    job = read(tmp_path, text)
    assert [s.chord for s in job.mast.stations] == pytest.approx([0.12, 0.09], rel=1e-4)
    assert any("scaled by 0.75 along the chord and 0.9 across it" in note for note in job.notes)
    same = MAST.replace("at = 1.0", 'at = 1.0\nchord = "90 mm"')
    assert any("mast.station[1].thickness" in line for line in problems(tmp_path, same))


def test_one_file_is_one_outline_however_often_it_is_named(tmp_path: Path) -> None:
    draw(tmp_path / "dies" / "die.dxf")
    other = draw(tmp_path / "dies" / "other.dxf", size=0.9)
    text = MAST.replace('"die.dxf"', '"dies/die.dxf"').replace(
        "at = 0.0", 'at = 0.0\nfile = "./dies/die.dxf"'
    )
    job = read(tmp_path, text)
    assert job.mast.stations[0].outline is job.mast.section.outline
    assert [name for name, _ in job.outline_files] == ["dies/die.dxf"]
    between = job.mast.station_at(0.5).outline or job.mast.section.outline
    assert between is job.mast.section.outline, "no ruled surface between equal outlines"
    job = read(tmp_path, text.replace("at = 1.0", 'at = 1.0\nfile = "dies/other.dxf"'))
    assert job.outline_files[1] == ("dies/other.dxf", sha256(other.read_bytes()))
    assert job.mast.stations[1].chord == pytest.approx(0.108, rel=1e-4)


def test_layers_name_materials_by_the_object_that_the_section_uses(tmp_path: Path) -> None:
    """Materials are told apart by identity when sections are solved."""
    draw(tmp_path / "die.dxf", (40.0, 3.0, "ROD"), (70.0, 2.0, "HOLE"), (20.0, 2.0, "NOTES"))
    layers = '[section.layers]\nROD = "own"\nHOLE = "void"\nNOTES = "ignore"\n'
    job = read(tmp_path, MAST.replace('"EN AW-6082-T6"', '"own"') + layers + OWN)
    outline = job.mast.section.outline
    assert isinstance(outline, Drawing)
    assert [loop.fill and loop.fill.name for loop in outline.loops] == ["own", "own", None]
    assert all(loop.fill in (None, job.mast.section.material) for loop in outline.loops)
    assert outline.loops[0].fill is outline.loops[1].fill is job.mast.section.material


def test_a_drawn_outline_may_be_laid_up(tmp_path: Path) -> None:
    draw(tmp_path / "die.dxf")
    text = MAST.replace('"drawn"', '"hollow"').replace('material = "EN AW-6082-T6"\n', PLY)
    mast = read(tmp_path, text).mast
    assert isinstance(mast.section.outline, Drawing)
    assert mast.section.outline.loops[0].fill is mast.section.material
    assert mast.section.material.laminate is not None


def test_the_unit_is_the_drawings_or_the_mast_files(tmp_path: Path) -> None:
    draw(tmp_path / "die.dxf", unit=0, size=1 / 25.4)
    assert any(
        "die.dxf: $INSUNITS: the drawing states no unit" in line for line in problems(tmp_path, MAST)
    )
    job = read(tmp_path, MAST.replace("[section]", '[section]\nunit = "in"'))
    assert job.mast.stations[0].chord == pytest.approx(0.12, rel=1e-4)
    assert "drawings that state no unit are taken in in, as the mast file says" in job.notes


def test_coordinates_are_scaled_by_chord_and_thickness(tmp_path: Path) -> None:
    rows = "\n".join(f"{x:.6f}, {y:.6f}" for x, y in BLADE / 120.0)
    (tmp_path / "blade.csv").write_text(rows + "\n", encoding="utf-8")
    text = MAST.replace("die.dxf", "blade.csv").replace('"drawn"', '"solid"')
    found = problems(tmp_path, text)
    assert sum("this key is required" in line for line in found) == 4, "only a drawing has a size"
    text = text.replace("at = 0.0", 'at = 0.0\nchord = "120 mm"\nthickness = "15 mm"')
    text = text.replace("at = 1.0", 'at = 1.0\nchord = "100 mm"\nthickness = "14 mm"\noutline = "lens"')
    job = read(tmp_path, text)
    assert isinstance(job.mast.section.outline, Coordinates)
    assert np.ptp(job.mast.section.outline.points, axis=0) == pytest.approx((1.0, 1.0), abs=1e-5)
    assert [s.outline for s in job.mast.stations] == [None, OutlineKind.LENS]
    assert job.outline_files == (("blade.csv", sha256((rows + "\n").encode())),)


BAD = [
    # (text replaced, by what, what the message says)
    ('"die.dxf"', '"dye.dxf"', ':12: section.file = "dye.dxf": there is no such file; did you mean'),
    ('"die.dxf"', '"folder.dxf"', "is no file"),
    ('"die.dxf"', '"/nowhere/die.dxf"', 'leads to "/nowhere/die.dxf", outside the mast file'),
    ('"die.dxf"', '"qq-77-qq-77-qq-77.dxf"', "there is no such file; names are relative to"),
    ('"die.dxf"', '"broken.dxf"', "broken.dxf"),
    ('"drawn"', '"hollow"\nwall = "2 mm"', 'loops, and construction = "hollow" fills an outline of one'),
    ('"drawn"', '"drawn"\nwebs = [{ at = 0.3, thickness = "2 mm" }]', "a drawn section is all in its"),
    ('"drawn"', '"drawn"\nchannels = [{ at = 0.3, bore = "2 mm" }]', "a drawn section is all in its"),
    ('"drawn"', '"drawn"\ntrailing_edge_radius = "0.5 mm"', "a drawing has its own tail"),
    ('"drawn"', '"solid"\nlayers = { HOLE = "void" }', 'has no effect with construction = "solid"'),
    ('"drawn"', '"drawn"\nlayers = { HOLE = "voids" }', "section.layers.HOLE"),
    ('"drawn"', '"drawn"\nlayers = { HOLE = "void", hole = "ignore" }', "two layers of this name"),
    ('"drawn"', '"drawn"\nnose = "top"', 'must be one of "left", "right", "up", "down"'),
    ('"drawn"', '"drawn"\nunit = "mil"', 'must be one of "mm", "cm"'),
    ('"drawn"', '"drawn"\nchord_error = "2 mm"', "from 0.0005 mm to 0.5 mm"),
    ("at = 1.0", 'at = 1.0\noutline = "lens"\nchord = "90 mm"\nthickness = "9 mm"', "needs a drawing"),
    ("at = 1.0", 'at = 1.0\nfile = "plain.dxf"', "has 1 loops, and die.dxf has 2"),
    ('"drawn"', '"hollow"\nwall = "7.5 mm"', "less than half the thickness of mast.station[0], 7.2"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message"), BAD, ids=range(len(BAD)))
def test_bad_outlines(tmp_path: Path, old: str, new: str, message: str) -> None:
    draw(tmp_path / "die.dxf", (40.0, 3.0, "HOLE"))
    draw(tmp_path / "plain.dxf")
    (tmp_path / "broken.dxf").write_text("0\nSECTION\n", encoding="utf-8")
    (tmp_path / "folder.dxf").mkdir()
    read(tmp_path, MAST)
    assert old in MAST
    found = problems(tmp_path, MAST.replace(old, new, 1))
    assert any(message in line for line in found), found
    assert all(line.isprintable() for line in found)


def test_faults_of_the_drawing_stand_beside_those_of_the_mast_file(tmp_path: Path) -> None:
    draw(tmp_path / "die.dxf", (40.0, 3.0, "0"), (43.0, 3.0, "0"))
    found = problems(tmp_path, MAST.replace("750 mm", "750").replace("6082", "6028"))
    assert any("mast.length" in line for line in found)
    assert any("section.material" in line for line in found)
    assert any(line.startswith("die.dxf") for line in found)
