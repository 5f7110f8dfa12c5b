"""Too much of anything is refused with its number, and quickly."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from mastcheck.errors import InputError
from mastcheck.files import limits
from mastcheck.files.coordinates import read_coordinates
from mastcheck.files.drawing import read_drawing
from mastcheck.files.mastfile import load
from mastcheck.files.materials import library
from mastcheck.files.readings import read_readings

MAST = """\
[mast]
name = "Long Reach"
length = "700 mm"
[[mast.station]]
at = 0.0
chord = "120 mm"
thickness = "16 mm"
[[mast.station]]
at = 1.0
chord = "90 mm"
thickness = "13 mm"
[section]
outline = "ellipse"
construction = "solid"
material = "EN AW-6082-T6"
"""
CASE = '[[load_case]]\nname = "case-{}"\nforce = ["0 N", "{} N", "0 N"]\n'
WING = '[[wing]]\nname = "w{}"\narea = "0.1 m2"\nspan = "1 m"\nmass = "2 kg"\nahead = "0 mm"\n'
PLATE = '[[adapter]]\nname = "a{}"\n'
OWN = '[material.m{}]\nE = "70 GPa"\nnu = 0.3\ndensity = "2700 kg/m3"\nsource = "made up"\n'
LIMIT = '{{ case = "carve", max = "{} mm" }},'


def _many(text: str, count: int) -> str:
    return "".join(text.format(i, i) for i in range(1, count + 1))


TOO_MUCH = {
    "load cases": (
        MAST + _many(CASE, 1001),
        "load_case: has 1,001 load cases, and at most 1,000 are read",
    ),
    "wings": (MAST + _many(WING, 51), "wing: has 51 wings, and at most 50 are read"),
    "adapters": (MAST + _many(PLATE, 21), "adapter: has 21 adapters, and at most 20 are read"),
    "materials": (MAST + _many(OWN, 201), "material: has 201 materials, and at most 200 are read"),
    "limits": (
        f"{MAST}[limits]\nside_deflection = [{_many(LIMIT, 201)}]\n",
        "limits.side_deflection: has 201 limits, and at most 200 are read",
    ),
    "layers": (
        f"{MAST}layers = {{ {', '.join(f'l{i} = 1' for i in range(201))} }}\n",
        "section.layers: has 201 layers, and at most 200 are read",
    ),
    "entries": (f"{MAST}wall = [{'1,' * 1001}]\n", "section.wall: has 1,001 entries, and at most 1,000"),
    "keys": (_many("k{} = 1\n", 1001) + MAST, "the file: has 1,003 keys, and at most 1,000 are read"),
    "values": (
        f"{MAST}[foil]\n" + "".join(f"k{i} = [{'1,' * 900}]\n" for i in range(60)),
        "the file: has more than 50,000 values",
    ),
    "levels": (
        f"{MAST}wall = {'[' * 12}1{']' * 12}\n",
        "section.wall: lies 13 levels deep, and at most 12",
    ),
    "brackets": (f"{MAST}wall = {'[' * 5000}\n", "is nested too deeply; check its brackets"),
    "dots": (f"{MAST}{'a.' * 100_000}b = 1\n", "has a key of more than 32 parts; check the dots"),
    "quoted dots": (
        MAST + "[" + '"a" . ' * 1000 + "b]\n",
        "has a key of more than 32 parts; check the dots",
    ),
    "bytes": (f"{MAST}# {'x' * 1_000_000}\n", "is larger than 1 MB"),
    "a number": (
        f"rider.mass = 0x{'F' * 200_000}\n{MAST}",
        "rider.mass = a very large integer: a bare number",
    ),
    "blanks": (
        MAST.replace('"700 mm"', f'"7 x{" " * 200_000}y"'),
        'mast.length = "7 x  ',
    ),
}


@pytest.mark.parametrize("what", TOO_MUCH)
def test_a_mast_file_of_too_much_is_refused_with_the_number(tmp_path: Path, what: str) -> None:
    text, told = TOO_MUCH[what]
    file = tmp_path / "mast.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(file)
    assert any(told in str(p) for p in caught.value.problems), str(caught.value)[:500]
    assert all(p.remedy for p in caught.value.problems)


def test_as_much_as_is_allowed_is_read(tmp_path: Path) -> None:
    file = tmp_path / "mast.toml"
    file.write_text(MAST + _many(CASE, limits.MOST_CASES), encoding="utf-8")
    assert len(load(file).cases) >= limits.MOST_CASES


def test_no_more_than_a_hundred_faults_are_told(tmp_path: Path) -> None:
    file = tmp_path / "mast.toml"
    file.write_text(MAST + _many('[[load_case]]\nname = ""\n', 900), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(file)
    *told, last = caught.value.problems
    assert len(told) == limits.MOST_FAULTS
    assert last.rule == "has more faults"


def _refusal(read: object) -> str:
    with pytest.raises(InputError) as caught:
        read()  # type: ignore[operator]
    return str(caught.value)


def test_a_list_of_too_many_points_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "list.csv"
    file.write_text("".join(f"{i},0\n" for i in range(5001)), encoding="utf-8")
    told = _refusal(lambda: read_coordinates(file, label="list.csv"))
    assert told.startswith("list.csv: has 5,001 lines, and at most 5,000 points are read; a few hundred")


def test_readings_of_too_many_rows_columns_or_letters_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "bench.csv"
    head = "load [kg],direction,load_z [mm],gauge,gauge_z [mm],reading [mm]\n"
    for text, told in (
        (head + "1\n" * 10_000, "has 10,001 rows, and at most 10,000 are read"),
        ("a," * 60, "the header: has 61 columns, and at most 50 are read"),
        (f"{head}{'x' * 200_000}\n", ":2: row: is longer than 10,000 characters"),
        (head + "5,side,700,side,700,1\n" * 2001, "has more than 2000 readings"),
        (f"load [{' ' * 9000}\n", 'column = "load [": unknown column'),
    ):
        file.write_text(text, encoding="utf-8")
        assert told in _refusal(lambda: read_readings(file, 0.7)), told


def _drawing(file: Path, points: int, copies: int = 1, *, in_block: bool = False) -> None:
    import ezdxf
    from ezdxf import units

    doc = ezdxf.new("R2010", units=units.MM)
    turn = [2 * math.pi * i / points for i in range(points)]
    space = doc.blocks.new("PART") if in_block else doc.modelspace()
    if in_block:
        doc.modelspace().add_blockref("PART", (0, 0))
    for _ in range(copies):
        space.add_lwpolyline([(60 * math.cos(a), 8 * math.sin(a)) for a in turn], close=True)
    doc.saveas(file)


def _read(file: Path) -> str:
    material = next(iter(library().values()))
    return _refusal(lambda: read_drawing(file, label=file.name, material=material, fills={}))


def test_a_drawing_of_too_many_points_entities_or_bytes_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "die.dxf"
    _drawing(file, limits.MOST_LOOP_POINTS + 1)
    told = _read(file)
    assert f"its loops have {limits.MOST_LOOP_POINTS + 1:,} points, and at most" in told
    assert "state a larger chord_error" in told
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("mastcheck.files.dxfread.MOST_DRAWN", 20)
        patch.setattr("mastcheck.files.pieces.MOST_DRAWN", 20)
        _drawing(file, 4, copies=21)
        assert "has 21 entities, and at most 20 are read" in _read(file)
        _drawing(file, 4, copies=21, in_block=True)
        assert "has more than 20 entities, blocks taken apart" in _read(file)
        patch.setattr("mastcheck.files.dxfread.MOST_TOLD", 10)
        _drawing(file, 4)
        assert "entities, and at most 10 are read" in _read(file)
    file.write_bytes(b"0\nSECTION\n" + b" " * 5_000_000)
    assert "is larger than 5 MB" in _read(file)


def test_a_section_that_needs_too_fine_a_mesh_is_refused_before_it_is_made() -> None:
    from shapely import Point, box

    from mastcheck.errors import GeometryError
    from mastcheck.section.mesher import MOST_TRIANGLES, mesh_of
    from mastcheck.section.model import Region

    material = next(iter(library().values()))
    thin = Region(polygon=box(0, 0, 1, 1e-5), material=material)
    with pytest.raises(
        GeometryError, match=r"about 1,600,\d+ triangles, and at most 100,000 are solved"
    ):
        mesh_of((thin,))
    round_one = Region(polygon=Point(0, 0).buffer(0.05, quad_segs=15_000), material=material)
    with pytest.raises(GeometryError, match="draw it with fewer points"):
        mesh_of((round_one,))
    with pytest.raises(GeometryError, match="triangles"):
        mesh_of((Region(polygon=box(0, 0, 1, 1), material=material),), MOST_TRIANGLES)
