"""Outlines, fillings and plies of the mast file: what is read, and what is refused and how."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from mastcheck.errors import InputError
from mastcheck.files.mastfile import load
from mastcheck.files.materials import DATA, laminas, library
from mastcheck.job import Job
from mastcheck.laminate import Laminate, Ply
from mastcheck.mast import Channel, ModifiedNaca, OutlineKind, Wall, Web, Zone
from mastcheck.material import laminate_material
from mastcheck.source import Grade

MAST = """\
[mast]
name = "Test mast"
length = "750 mm"

[[mast.station]]
at = 0.0
chord = "150 mm"
thickness = "18 mm"

[[mast.station]]
at = 1.0
chord = "100 mm"
thickness = "14 mm"

[section]
outline = "naca-4-digit"
"""
HOLLOW = MAST + 'construction = "hollow"\nmaterial = "EN AW-6082-T6"\n'
WALLED = HOLLOW + 'wall = "2.5 mm"\n'
SOLID = MAST + 'construction = "solid"\nmaterial = "EN AW-6082-T6"\n'
TAPE = """\
[lamina.tape]
E1 = "130 GPa"
E2 = "9 GPa"
G12 = "5 GPa"
nu12 = 0.3
density = "1550 kg/m3"
source = "invented for a test"
"""
STRENGTHS = 'Xt = "1500 MPa"\nXc = "900 MPa"\nYt = "40 MPa"\nYc = "150 MPa"\nS12 = "70 MPa"\n'
PLY = '[[section.ply]]\nmaterial = "tape"\nangle = "0 deg"\nthickness = "0.5 mm"\n'
LAMINATED = MAST + 'construction = "hollow"\n' + PLY + TAPE


def read(folder: Path, text: str) -> Job:
    path = folder / "mast.toml"
    path.write_text(text, encoding="utf-8")
    return load(path)


def problems(folder: Path, text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(folder, text)
    found = [str(p) for p in caught.value.problems]
    assert all(line.isprintable() for line in found), "one line each"
    assert all("; " in line for line in found), "every problem says how to mend it"
    return found


def section(text: str, *lines: str) -> str:
    """The file with lines added to [section]."""
    return text.replace("[section]\n", "\n".join(("[section]", *lines, "")), 1)


class TestFillings:
    def test_all_that_fills_a_hollow(self, tmp_path: Path) -> None:
        recipe = read(
            tmp_path,
            section(
                WALLED,
                'trailing_edge_thickness = "1.5 mm"',
                "nose_solid_to = 0.08",
                "tail_solid_from = 0.9",
                'webs = [{ at = 0.6, thickness = "2 mm" }, '
                '{ at = 0.3, thickness = "3 mm", lean = "-10 deg" }]',
                'channels = [{ at = 0.3, bore = "5 mm", boss = "9 mm", offset = "0.5 mm", '
                'material = "Ti-6Al-4V" }, { at = 0.2, bore = "4 mm" }]',
            ),
        ).mast.section
        assert recipe.webs == (
            Web(at=0.3, thickness=0.003, lean=-math.radians(10)),
            Web(at=0.6, thickness=0.002),
        )
        assert recipe.channels == (
            Channel(at=0.3, bore=0.005, boss=0.009, offset=0.0005, material=library()["Ti-6Al-4V"]),
            Channel(at=0.2, bore=0.004),
        )
        assert (recipe.nose_solid_to, recipe.tail_solid_from) == (0.08, 0.9)
        assert (recipe.trailing_edge_radius, recipe.trailing_edge_thickness) == (0.0, 0.0015)
        assert recipe.knock_down == 1.0

    def test_a_solid_blade_may_be_drilled(self, tmp_path: Path) -> None:
        job = read(tmp_path, section(SOLID, 'channels = [{ at = 0.3, bore = "6 mm" }]'))
        assert job.mast.section.channels == (Channel(at=0.3, bore=0.006),)

    def test_the_modified_family(self, tmp_path: Path) -> None:
        text = SOLID.replace('"naca-4-digit"', '"naca-4-digit-modified"\nnose_index = 9')
        job = read(tmp_path, text)
        assert job.mast.section.outline == ModifiedNaca(nose_index=9.0, greatest_at=0.3)

    def test_a_station_has_an_outline_of_its_own(self, tmp_path: Path) -> None:
        text = SOLID.replace('"14 mm"', '"14 mm"\noutline = "lens"')
        assert [s.outline for s in read(tmp_path, text).mast.stations] == [None, OutlineKind.LENS]
        text = text.replace('"lens"', '"naca-4-digit-modified"')
        text = section(text, "greatest_thickness_at = 0.4")
        assert read(tmp_path, text).mast.stations[1].outline == ModifiedNaca(greatest_at=0.4)


class TestWalls:
    def test_one_wall_everywhere_is_a_plain_number(self, tmp_path: Path) -> None:
        for lines in (
            'wall = "2.5 mm"',
            'wall = [{ at = 0.5, wall = "2.5 mm" }]',
            'wall_port = "2.5 mm"\nwall_starboard = [{ at = 0.1, wall = "2.5 mm" }, '
            '{ at = 0.9, wall = "0.25 cm" }]',
        ):
            job = read(tmp_path, section(HOLLOW, lines))
            assert [s.wall for s in job.mast.stations] == [0.0025, 0.0025]

    def test_walls_differ_by_face_and_from_nose_to_tail(self, tmp_path: Path) -> None:
        law = '[{ at = 0.0, wall = "4 mm" }, { at = 1.0, wall = "2 mm" }]'
        job = read(tmp_path, section(HOLLOW, 'wall = "3 mm"', f"wall_port = {law}"))
        expected = Wall(port=((0.0, 0.004), (1.0, 0.002)), starboard=((0.0, 0.003),))
        assert [s.wall for s in job.mast.stations] == [expected, expected]

    def test_a_station_comes_before_the_section_and_a_face_before_both(self, tmp_path: Path) -> None:
        text = section(HOLLOW, 'wall_port = "3 mm"', 'wall_starboard = "2 mm"')
        job = read(tmp_path, text.replace('"14 mm"', '"14 mm"\nwall = "4 mm"'))
        assert job.mast.stations[0].wall == Wall(port=((0.0, 0.003),), starboard=((0.0, 0.002),))
        assert job.mast.stations[1].wall == 0.004
        job = read(tmp_path, text.replace('"14 mm"', '"14 mm"\nwall_port = "4 mm"'))
        assert job.mast.stations[1].wall == Wall(port=((0.0, 0.004),), starboard=((0.0, 0.002),))


class TestPlies:
    def test_the_list_is_repeated_then_mirrored(self, tmp_path: Path) -> None:
        """The angles, outside in, written out by hand."""
        text = section(LAMINATED, "repeat_plies = 2", "symmetric_plies = true")
        text = text.replace('angle = "0 deg"', 'layup = "[0/±45]"').replace("0.5 mm", "0.2 mm")
        extra = PLY.replace("0 deg", "90 deg").replace("0.5 mm", "0.25 mm") + 'region = "faces"\n'
        plies = read(tmp_path, text.replace(TAPE, extra + TAPE)).mast.stations[0].plies
        half = [0, 45, -45, 90, 0, 45, -45, 90]
        assert [round(math.degrees(p.angle), 9) for p in plies] == half + half[::-1]
        nose = [round(math.degrees(p.angle), 9) for p in plies if Zone.NOSE in p.zones]
        assert nose == [0, 45, -45, 0, 45, -45, -45, 45, 0, -45, 45, 0]
        assert {p.thickness for p in plies if p.zones == (Zone.FACES,)} == {0.00025}

    def test_count_repeats_a_whole_layup(self, tmp_path: Path) -> None:
        text = LAMINATED.replace('angle = "0 deg"', 'layup = "[0/90]"\ncount = 2')
        plies = read(tmp_path, text).mast.stations[0].plies
        assert [round(math.degrees(p.angle), 9) for p in plies] == [0, 90, 0, 90]

    def test_a_ply_is_dropped_toward_the_tip(self, tmp_path: Path) -> None:
        dropped = PLY.replace('"0.5 mm"', '["0.5 mm", "0 mm"]')
        mast = read(tmp_path, LAMINATED.replace(TAPE, dropped + TAPE)).mast
        assert [[p.thickness for p in s.plies] for s in mast.stations] == [[5e-4, 5e-4], [5e-4, 0.0]]
        assert [p.thickness for p in mast.station_at(0.5).plies] == [5e-4, 2.5e-4]
        assert [s.wall for s in mast.stations] == [None, None]

    def test_regions(self, tmp_path: Path) -> None:
        skin = (Zone.NOSE, Zone.FACES, Zone.TAIL)
        for word, zones in (
            ('"skin"', skin),
            ('["nose", "faces", "tail"]', skin),
            ('["skin", "webs", "nose"]', (*skin, Zone.WEBS)),
        ):
            text = section(LAMINATED.replace(TAPE, f"region = {word}\n" + TAPE), "webs = [{ at = 0.4 }]")
            text = text if "webs" in word else text.replace("webs = [{ at = 0.4 }]\n", "")
            mast = read(tmp_path, text).mast
            assert mast.stations[0].plies[0].zones == zones
            assert mast.section.webs == ((Web(at=0.4, thickness=None),) if "webs" in word else ())

    def test_the_material_is_the_laminate_of_the_faces_at_the_base(self, tmp_path: Path) -> None:
        """Face plies that start at the base count; nose plies and those not there yet do not."""
        text = section(LAMINATED, "knock_down = { wet = 0.9, hand_laid = 0.8 }")
        others = (
            PLY.replace('"0.5 mm"', '["0 mm", "0.5 mm"]')
            + PLY.replace('angle = "0 deg"', 'angle = "90 deg"\nregion = "nose"')
            + PLY.replace("0 deg", "45 deg")
        )
        job = read(tmp_path, text.replace(TAPE, others + TAPE + STRENGTHS))
        recipe = job.mast.section
        tape = job.mast.stations[0].plies[0].lamina
        plies = tuple(
            Ply(lamina=tape, angle=math.radians(angle), thickness=5e-4) for angle in (0.0, 45.0)
        )
        knocked = Laminate(plies=plies, knock_down=0.9 * 0.8)
        assert recipe.material == laminate_material("laminate of the faces", knocked)
        assert recipe.knock_down == pytest.approx(0.72)
        assert tape.strengths == (1500e6, 900e6, 40e6, 150e6, 70e6)
        assert tape.source.grade is Grade.USER
        assert "ply strengths multiplied by 0.9 (wet knock-down, as the file states)" in job.notes
        assert "lamina tape: partial factor 2 on its strengths assumed" in job.notes

    def test_what_is_left_open_is_said(self, tmp_path: Path) -> None:
        notes = read(tmp_path, LAMINATED).notes
        assert any("no knock-down on ply strengths" in note for note in notes)
        assert any("no strengths stated; strength is reported, not judged" in note for note in notes)
        assert not any("nose plies to" in note for note in notes), "one zone needs no bounds"
        text = LAMINATED.replace(TAPE, PLY + 'region = "faces"\n' + TAPE)
        assert any("nose plies to 0.1" in note for note in read(tmp_path, text).notes)

    def test_a_shipped_lamina_has_its_source(self, tmp_path: Path) -> None:
        name = "carbon/epoxy woven"
        job = read(tmp_path, LAMINATED.replace('"tape"', f'"{name}"'))
        assert job.mast.stations[0].plies[0].lamina == laminas()[name]


def test_a_core_states_its_shear_strength(tmp_path: Path) -> None:
    own = (
        '[material.foam]\nE = "80 MPa"\nG = "25 MPa"\ndensity = "90 kg/m3"\nshear_strength = "1 MPa"\n'
        'source = "invented for a test"\n'
    )
    text = section(WALLED.replace('"hollow"', '"shell-and-core"'), 'core = "foam"') + own
    job = read(tmp_path, text)
    assert job.mast.section.core is not None
    assert job.mast.section.core.shear_strength == 1e6
    assert "material foam: partial factor 1.1 on shear strength assumed" in job.notes


LAW = 'wall = [{ at = 0.5, wall = "3 mm" }, { at = 0.5, wall = "2 mm" }]'
BAD_SECTIONS = [
    # (the file, lines added to [section], what the message says)
    (SOLID, ['file = "die.dxf"'], 'section.file = "die.dxf": exactly one of outline and file'),
    (SOLID, ["nose_index = 3"], "belongs to the outline naca-4-digit-modified only"),
    (SOLID, ['unit = "mm"'], "belongs to a drawing (.dxf) only"),
    (SOLID, ['layers = { HOLES = "void" }'], "section.layers: belongs to a drawing"),
    (SOLID, ['trailing_edge_radius = "1 mm"', 'trailing_edge_thickness = "1 mm"'], "not both"),
    (SOLID, ['trailing_edge_thickness = "15 mm"'], "less than the thickness of mast.station[1], 14 mm"),
    (SOLID, ["nose_solid_to = 0.1"], "a solid section is solid all over"),
    (SOLID, ["knock_down = { wet = 0.9 }"], "has no effect without plies"),
    (SOLID, ["symmetric_plies = true"], "has no effect without plies"),
    (SOLID, ["repeat_plies = 2.0"], "must be a whole number from 1 to 400"),
    (SOLID, ['channels = [{ at = 0.3, bore = "18.1 mm" }]'], "leaves the blade at mast.station[0]"),
    (
        SOLID,
        ['channels = [{ at = 0.3, bore = "5 mm", offset = "6 mm" }]'],
        "leaves the blade at mast.station[1], which is",
    ),
    (SOLID, ['channels = [{ at = 0.95, bore = "5 mm" }]'], "section.channels[0].bore"),
    (SOLID, ['channels = [{ at = 0.3, bore = "5 mm", boss = "5 mm" }]'], "less than the boss around it"),
    (SOLID, ['channels = [{ at = 0.3, bore = "5 mm", boss = "16 mm" }]'], "is wider than the blade"),
    (
        SOLID,
        ['channels = [{ at = 0.3, bore = "5 mm", material = "Ti-6Al-4V" }]'],
        "the channel has no boss",
    ),
    (
        SOLID,
        ['channels = [{ at = 0.3, bore = "5 mm", boss = "9 mm", material = "Ti-6AL4V" }]'],
        'unknown material; did you mean "Ti-6Al-4V"?',
    ),
    (SOLID, ['channels = [{ at = 0.3, boar = "5 mm" }]'], 'unknown key; did you mean "bore"?'),
    (
        SOLID,
        ['channels = ["5 mm"]'],
        "write it in braces, { }, with its keys: at, bore",
    ),
    (HOLLOW, ['wall_port = "3 mm"'], "section.wall_starboard: hollow needs a wall on both faces"),
    (WALLED, ['wall_port = "3 mm"', 'wall_starboard = "3 mm"'], "has no effect beside wall_port"),
    (HOLLOW, ['wall_port = "8 mm"', 'wall_starboard = "7 mm"'], "both faces together must somewhere"),
    (HOLLOW, [LAW], "section.wall[1].at = 0.5: must be at least 0.001 above the point before it"),
    (HOLLOW, ["wall = 3"], "section.wall = 3: a bare number has no unit"),
    (HOLLOW, ["wall = [{ at = 0.5, wall = 3 }]"], "section.wall[0].wall = 3: a bare number has no unit"),
    (HOLLOW, ["wall = []"], "hollow needs a wall"),
    (WALLED, ["nose_solid_to = 0.6", "tail_solid_from = 0.5"], "keep nose_solid_to below"),
    (WALLED, ["webs = [{ at = 0.3 }]"], "section.webs[0].thickness: a web needs a thickness"),
    (WALLED, ['webs = [{ at = 0.3, thickness = "2 mm", lean = "70 deg" }]'], "from -60 deg to 60 deg"),
    (LAMINATED, ['wall = "3 mm"'], 'section.wall = "3 mm": a laminated section is as thick as'),
    (LAMINATED, ['material = "EN AW-6082-T6"'], "a laminated section is made of its plies"),
    (LAMINATED, ["webs = [{ at = 0.3 }]"], "section.webs: the webs have no ply"),
    (LAMINATED, ["nose_to = 0.9"], "leaves no faces: the nose ends at 0.9 and the tail starts at 0.85"),
    (LAMINATED, ["repeat_plies = 14"], "must be less than half the thickness of mast.station[1], 7 mm"),
    (LAMINATED, ["knock_down = { wet = 0.05 }"], "must be from 0.1 to 1"),
    (LAMINATED, ["knock_down = { damp = 0.9 }"], "known keys: wet, hot, hand_laid"),
    (LAMINATED, ["symmetric_plies = 1"], "must be true or false"),
]


@pytest.mark.parametrize(("text", "lines", "message"), BAD_SECTIONS, ids=range(len(BAD_SECTIONS)))
def test_bad_sections(tmp_path: Path, text: str, lines: list[str], message: str) -> None:
    found = problems(tmp_path, section(text, *lines))
    assert any(message in line for line in found), found


BAD_CHANGES = [
    # (the file, text replaced, by what, what the message says)
    (SOLID, 'outline = "naca-4-digit"\n', "", "section.outline: exactly one of outline and file"),
    (SOLID, '"naca-4-digit"', '"naca-4-digit-modifed"', 'did you mean "naca-4-digit-modified"?'),
    (SOLID, '"naca-4-digit"', '"naca-4-digit-modified"\nnose_index = 8.5', "or 9 (the blunt nose"),
    (SOLID, '"solid"', '"drawn"', "a drawn section needs a drawing (.dxf)"),
    (SOLID, '"solid"', '"drawn"\nwall = "3 mm"', "a drawn section is all in its drawing"),
    (SOLID, 'material = "EN AW-6082-T6"\n', "", "section.material: this key is required"),
    (SOLID, '"EN AW-6082-T6"', '"carbon/epoxy woven"', "is a lamina, and a material is needed here"),
    (SOLID, '"14 mm"', '"14 mm"\nwall_port = "2 mm"', "mast.station[1].wall_port"),
    (SOLID, '"14 mm"', '"14 mm"\noutline = "lens"\nfile = "a.dxf"', "an outline or a file of its own"),
    (SOLID, 'chord = "100 mm"\n', "", "mast.station[1].chord: this key is required"),
    (SOLID, '"naca-4-digit"', '"naca-4-digit"\nfile = "die.png"', "must end in .dxf"),
    (LAMINATED, '"hollow"', '"solid"', "a solid section has no plies"),
    (LAMINATED, '"hollow"', '"shell-and-core"', "shell-and-core needs a core"),
    (LAMINATED, '"tape"', '"EN AW-6082-T6"', "is a material, and a ply needs a lamina"),
    (LAMINATED, '"tape"', '"tap"', 'unknown lamina; did you mean "tape"?'),
    (LAMINATED, 'angle = "0 deg"\n', "", "section.ply[0].angle: exactly one of angle and layup"),
    (LAMINATED, '"0 deg"', '"0 deg"\nlayup = "[0]"', "exactly one of angle and layup is needed, both"),
    (LAMINATED, 'angle = "0 deg"', 'layup = "[0/x]"', "section.ply[0].layup"),
    (LAMINATED, 'angle = "0 deg"', "layup = 3", "must be text"),
    (LAMINATED, 'angle = "0 deg"', "angle = 0", "a bare number has no unit"),
    (LAMINATED, '"0.5 mm"', '"0 mm"', "from 0.01 mm to 20 mm"),
    (LAMINATED, '"0.5 mm"', '["0.5 mm"]', "has 1 entries, and the mast has 2 stations"),
    (LAMINATED, '"0.5 mm"', '["0 mm", "0 mm"]', "is nil at every station"),
    (LAMINATED, '"0.5 mm"', '["0.5 mm", "0 mm"]', "the nose has no ply left at mast.station[1]"),
    (LAMINATED, '"0.5 mm"', '["0.5 mm", 3]', "entry 2 a bare number has no unit"),
    (LAMINATED, '"0.5 mm"', '"0.5 mm"\ncount = 0', "must be a whole number from 1 to 400"),
    (LAMINATED, '"0.5 mm"', '"0.5 mm"\nregion = "faces"', "the nose has no ply"),
    (LAMINATED, '"0.5 mm"', '"0.5 mm"\nregion = "face"', 'did you mean "faces"?'),
    (LAMINATED, '"0.5 mm"', '"0.5 mm"\nregion = ["skin", "webs"]', "there is no web for it"),
    (LAMINATED, 'source = "invented for a test"\n', "", "lamina.tape.source: this key is required"),
    (LAMINATED, "nu12 = 0.3", "nu13 = 0.3", 'did you mean "nu12"?'),
    (LAMINATED, "nu12 = 0.3", 'nu12 = 0.3\nXt = "1 GPa"', "Xc, Yt, Yc, S12 not given"),
    (LAMINATED, "nu12 = 0.3", "nu12 = -3.0", "lamina.tape.nu12"),
    (LAMINATED, 'E2 = "9 GPa"', 'E2 = "131 GPa"', "must not be above E1"),
]


@pytest.mark.parametrize(("text", "old", "new", "message"), BAD_CHANGES, ids=range(len(BAD_CHANGES)))
def test_bad_changes(tmp_path: Path, text: str, old: str, new: str, message: str) -> None:
    assert old in text
    found = problems(tmp_path, text.replace(old, new, 1))
    assert any(message in line for line in found), found


def test_poissons_ratio_is_bounded_by_the_moduli(tmp_path: Path) -> None:
    """|nu12| < sqrt(E1/E2), from a positive strain energy: here 1 for equal moduli."""
    woven = LAMINATED.replace('"9 GPa"', '"130 GPa"')
    read(tmp_path, woven.replace("nu12 = 0.3", "nu12 = 0.999"))
    found = problems(tmp_path, woven.replace("nu12 = 0.3", "nu12 = 1.001"))
    assert any(
        "lamina.tape.nu12 = 1.001: must be nearer to nil than the root of E1/E2, 1" in f for f in found
    )


def test_the_most_that_is_read(tmp_path: Path) -> None:
    """Each limit holds exactly, and its message names it."""
    one = 'thickness = "0.01 mm"\n'
    thin = LAMINATED.replace('thickness = "0.5 mm"\n', one + "count = 400\n")
    assert len(read(tmp_path, thin).mast.stations[0].plies) == 400
    found = problems(tmp_path, thin.replace(TAPE, PLY.replace("0.5 mm", "0.01 mm") + TAPE))
    assert any("stands for 401 plies, and at most 400 are read" in line for line in found)
    found = problems(tmp_path, section(thin, "repeat_plies = 400", "symmetric_plies = true"))
    assert any("stands for 320000 plies" in line for line in found)

    webs = ", ".join(f'{{ at = {0.1 + i / 60:.4f}, thickness = "0.5 mm" }}' for i in range(41))
    found = problems(tmp_path, section(WALLED, f"webs = [{webs}]"))
    assert any("has 41 webs, and at most 40 are read" in line for line in found)
    bores = ", ".join(['{ at = 0.3, bore = "1 mm" }'] * 41)
    found = problems(tmp_path, section(SOLID, f"channels = [{bores}]"))
    assert any("has 41 channels, and at most 40 are read" in line for line in found)
    points = ", ".join(f'{{ at = {i / 51:.4f}, wall = "2 mm" }}' for i in range(51))
    found = problems(tmp_path, section(HOLLOW, f"wall = [{points}]"))
    assert any("has 51 points, and 1 to 50 are read" in line for line in found)

    station = '[[mast.station]]\nat = {}\nchord = "120 mm"\nthickness = "15 mm"\n'
    extra = "".join(station.format(i / 200) for i in range(1, 200))
    found = problems(
        tmp_path, SOLID.replace("[[mast.station]]\nat = 1.0", extra + "[[mast.station]]\nat = 1.0")
    )
    assert any("has 201 stations, and at most 200 are read" in line for line in found)


def test_a_faulty_value_is_not_called_missing(tmp_path: Path) -> None:
    found = problems(
        tmp_path, HOLLOW.replace('"14 mm"', '"14 mm"\nwall = 3').replace('"18 mm"', '"18 mm"\nwall = 3')
    )
    assert len(found) == 2, found
    found = problems(tmp_path, LAMINATED.replace('"0.5 mm"', '"0.5 mm"\nregion = "face"'))
    assert len(found) == 1, found


def test_the_published_schema_has_no_null_and_the_new_tables() -> None:
    text = (DATA / "mast-file.schema.json").read_text(encoding="utf-8")
    assert '"null"' not in text
    tables = json.loads(text)["$defs"]
    assert {"PlyTable", "LaminaTable", "ChannelTable", "WallPointTable"} <= set(tables)
    wall = tables["SectionTable"]["properties"]["wall"]["anyOf"]
    assert [option["type"] for option in wall] == ["string", "array"]
