from __future__ import annotations

import hashlib
import json
import math
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mastcheck.drawn import Drawing
from mastcheck.errors import InputError
from mastcheck.files.locate import line_of, lines
from mastcheck.files.mastfile import apply, load, write_starter
from mastcheck.files.materials import DATA, library
from mastcheck.files.profiles import shipped
from mastcheck.files.publish import mast_file_schema
from mastcheck.job import Job
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import STANDARD_CASES, Lift, Rider
from mastcheck.mast import Construction, Wall, Web
from mastcheck.source import Grade

GOOD = """\
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
construction = "hollow"
wall = "2.5 mm"
material = "EN AW-6082-T6"
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "mast.toml"
    path.write_text(text, encoding="utf-8")
    return path


def problems(tmp_path: Path, text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        load(written(tmp_path, text))
    found = [str(p) for p in caught.value.problems]
    assert all(line.isprintable() for line in found), "one line each"
    return found


def test_reads_the_design_example(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        GOOD.replace('wall = "2.5 mm"', 'wall = "2.5 mm"\nwebs = [{ at = 0.30, thickness = "2.5 mm" }]')
        + '[rider]\nmass = "85 kg"\n[limits]\nside_deflection = { case = "carve", max = "25 mm" }\n'
        'twist = [{ case = "carve", max = "2 deg" }, { case = "pump", max = "0.1 rad" }]\n'
        "[conditions]\nwet_fraction = 0.5\n",
    )
    job = load(path)
    assert job.mast.length == 0.75
    assert [s.chord for s in job.mast.stations] == [0.15, 0.1]
    assert [s.wall for s in job.mast.stations] == [0.0025, 0.0025]
    assert job.mast.section.construction is Construction.HOLLOW
    assert job.mast.section.webs == (Web(at=0.3, thickness=0.0025),)
    assert job.mast.section.material == library()["EN AW-6082-T6"]
    assert job.rider.mass == 85.0
    assert job.wet_fraction == 0.5
    assert job.cases == STANDARD_CASES
    assert job.limits == (
        Limit(quantity=Quantity.SIDE_DEFLECTION, case="carve", maximum=0.025),
        Limit(quantity=Quantity.TWIST, case="carve", maximum=math.radians(2)),
        Limit(quantity=Quantity.TWIST, case="pump", maximum=0.1),
    )
    assert job.file == str(path)
    assert job.input_sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def test_names_what_it_assumed(tmp_path: Path) -> None:
    job = load(written(tmp_path, GOOD))
    assert job.rider == Rider()
    assert "rider mass 80 kg assumed: the file has no [rider]" in job.notes
    assert any("wet fraction 0.6" in note for note in job.notes)


def test_a_station_overrides_the_wall(tmp_path: Path) -> None:
    text = GOOD.replace('thickness = "14 mm"', 'thickness = "14 mm"\nwall = "4 mm"')
    job = load(written(tmp_path, text))
    assert [s.wall for s in job.mast.stations] == [0.0025, 0.004]


def test_own_material(tmp_path: Path) -> None:
    own = (
        '[material.shop]\nE = "48 GPa"\nnu = 0.5\ndensity = "1550 kg/m3"\n'
        'proof_strength = "400 MPa"\nsource = "coupons"\n'
    )
    text = GOOD.replace("EN AW-6082-T6", "shop") + own
    job = load(written(tmp_path, text))
    material = job.mast.section.material
    assert (material.E, material.G, material.proof_strength) == (48e9, 16e9, 400e6)
    assert material.source.grade is Grade.USER
    assert "material shop: partial factor 1.1 on proof strength assumed" in job.notes


def test_load_cases_replace_or_add(tmp_path: Path) -> None:
    text = GOOD + (
        '[[load_case]]\nname = "touchdown"\nn = 2.5\n'
        '[[load_case]]\nname = "hang-test"\nforce = ["0 N", "200 N", "0 N"]\n'
        'lift = "through-rider"\n[limits]\nroll = { case = "hang-test", max = "3 deg" }\n'
    )
    cases = {c.name: c for c in load(written(tmp_path, text)).cases}
    assert list(cases) == [*(c.name for c in STANDARD_CASES), "hang-test"]
    assert (cases["touchdown"].n, cases["touchdown"].offset) == (2.5, 0.1)
    assert cases["touchdown"].strength_factor == 1.2
    assert cases["touchdown"].source.grade is Grade.USER
    assert (cases["hang-test"].n, cases["hang-test"].force) == (0.0, (0.0, 200.0, 0.0))
    assert cases["hang-test"].lift is Lift.THROUGH_RIDER


BAD = [
    ('length = "750 mm"', "length = 750", ":3: mast.length = 750: a bare number"),
    ('length = "750 mm"', 'length = "75 kg"', "kg is a unit of mass"),
    ('length = "750 mm"', 'length = "750 m"', "from 50 mm to 10 m"),
    ('length = "750 mm"', "", "mast.length: this key is required"),
    (
        'length = "750 mm"',
        'length = "750 mm"\nlenght = 1',
        'mast.lenght = 1: unknown key; did you mean "length"?',
    ),
    ("[section]", "[sektion]", 'sektion: unknown key; did you mean "section"?'),
    ('chord = "100 mm"', 'chord = "-100 mm"', ":12: mast.station[1].chord"),
    ('chord = "100 mm"', 'chord = "5 mm"', "from 10 mm to 1 m"),
    ('chord = "100 mm"', 'chord = "13 mm"', "less than the chord"),
    ("at = 1.0", "at = 0.9", "last station must be at 1"),
    ("at = 1.0", "at = 0.0", "above the station before it"),
    ("at = 1.0", "at = nan", "mast.station[1].at = nan: must be from 0 to 1"),
    ("at = 1.0", "at = true", "must be a plain number"),
    ("at = 1.0", 'at = "1"', "must be a plain number"),
    ("at = 0.0", "at = 0.1", "first station must be at 0"),
    ('wall = "2.5 mm"', 'wall = "8 mm"', "leaves nothing hollow"),
    ('wall = "2.5 mm"', "", "section.wall: hollow needs a wall"),
    ('"hollow"', '"solid"', "a solid section has no wall"),
    ('"hollow"', '"shell-and-core"', "needs a core"),
    ('"hollow"', '"holow"', 'did you mean "hollow"?'),
    ("[section]", '[section]\ncore = "PVC foam 80"', "hollow has no core"),
    ("[section]", '[section]\ntrailing_edge_radius = "7 mm"', "half the thickness of mast.station[1]"),
    ("[section]", '[section]\nwebs = [{ at = 1.5, thickness = "2 mm" }]', "section.webs[0].at = 1.5"),
    (
        "[section]",
        '[section]\nwebs = [{ at = 0.5, thickness = "40 mm" }]',
        "a quarter of the least chord",
    ),
    ('"hollow"', '"solid"\nwebs = [{ at = 0.5, thickness = "2 mm" }]', "a solid section has no webs"),
    ("EN AW-6082-T6", "EN AW-6802-T6", 'unknown material; did you mean "EN AW-6082-T6"?'),
    ("[section]", '[rider]\nmass = "5 kg"\n[section]', "from 10 kg to 300 kg"),
    ("[section]", "[rider]\nmass = nan\n[section]", "rider.mass = nan: a bare number"),
    (
        "[section]",
        '[limits]\ntwist = { case = "carv", max = "2 deg" }\n[section]',
        'did you mean "carve"?',
    ),
    ("[section]", '[limits]\ntwist = { case = "carve", max = "2 mm" }\n[section]', "an angle is wanted"),
    ("[section]", '[limits]\ntwist = "2 deg"\n[section]', 'limits.twist = "2 deg": must be a table'),
    ("EN AW-6082-T6", "7075", 'did you mean "EN AW-7075-T6"?'),
    ("[section]", '[material.a]\nE = "1 GPa"\n[section]', "exactly one of G and nu"),
    ("[section]", '[material.a]\nE = "1 GPa"\n[section]', "material.a.source: this key is required"),
    ("[section]", '[[load_case]]\nname = "a"\n[[load_case]]\nname = "a"\n[section]', "two load cases"),
    ("[section]", '[[load_case]]\nname = "a"\nforce = ["1 N"]\n[section]', "must have three values"),
    ("[section]", '[[load_case]]\nname = "a"\nside_spread = "no"\n[section]', "true or false"),
    ("[section]", '[[load_case]]\nname = "a"\nn = 1e400\n[section]', "must be from -20 to 20"),
    ("[mast]", "taper_about = 2\n[mast]", "taper_about"),
    (
        'length = "750 mm"',
        'length = "750 mm"\ntaper_about = 2',
        "mast.taper_about = 2: must be from 0 to 1",
    ),
    ('name = "Test mast"', 'name = "a\\u001b[31m"', "printable characters"),
    ('name = "Test mast"', 'name = ""', "printable characters"),
    ("[section]", '"\\u001b[2J" = 1\n[section]', "unknown key"),
    ("[section]", "rider = 3\n[section]", "unknown key"),
    ("[mast]", "rider = 3\n[mast]", "rider = 3: must be a table"),
    ("[mast]", "material = 3\n[mast]", "must be a table"),
    ("[mast]", "load_case = 3\n[mast]", "must be a list"),
    ("[mast]", "[mast", "is not valid TOML"),
    ("at = 1.0", "at = ", ":11: the file: is not valid TOML"),
    ("at = 1.0", "at = " + "[" * 5000, "nested too deeply"),
    ("at = 1.0", "at = " + "9" * 5000, "TOML"),
    ("at = 1.0", "at = " + "9" * 500, "very large integer"),
]


@pytest.mark.parametrize(("old", "new", "message"), BAD, ids=range(len(BAD)))
def test_bad_input(tmp_path: Path, old: str, new: str, message: str) -> None:
    assert old in GOOD
    found = problems(tmp_path, GOOD.replace(old, new, 1))
    assert any(message in line for line in found), found


def test_all_faults_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = GOOD.replace("750 mm", "750").replace("at = 1.0", "at = 0.5").replace("6082", "6028")
    found = problems(tmp_path, text)
    assert [line.split(": ")[1].split(" = ")[0] for line in found] == [
        "mast.length",
        "mast.station[1].at",
        "section.material",
    ]


def test_one_station_is_too_few(tmp_path: Path) -> None:
    text = GOOD.replace('[[mast.station]]\nat = 1.0\nchord = "100 mm"\nthickness = "14 mm"\n', "")
    assert any("two stations or more, has 1" in line for line in problems(tmp_path, text))


def test_an_empty_file_says_what_is_needed(tmp_path: Path) -> None:
    found = problems(tmp_path, "")
    assert any("mast: this key is required; add a [mast] table" in line for line in found)
    assert any("section: this key is required" in line for line in found)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'[mast]\nname = "caf\xe9"\n')
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 1_000_001)
    for path, message in (
        (tmp_path / "none.toml", "there is no such file"),
        (tmp_path, "is a folder"),
        (latin, "latin.toml:2: the file: is not UTF-8"),
        (large, "larger than 1 MB"),
        (tmp_path / "nul\0.toml", "cannot be read"),
    ):
        with pytest.raises(InputError) as caught:
            load(path)
        assert message in str(caught.value)


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "bom.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert load(path).mast.name == "Test mast"


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(
        [
            "mast",
            "mast.station",
            "section",
            "section.webs",
            "section.wall",
            "section.wall_port",
            "section.file",
            "section.outline",
            "section.layers",
            "section.layers.HOLES",
            "section.channels",
            "section.ply",
            "section.repeat_plies",
            "section.knock_down",
            "section.nose_solid_to",
            "lamina",
            "lamina.a",
            "rider",
            "rider.mass",
            "limits",
            "limits.twist",
            "material",
            "material.a",
            "load_case",
            "conditions",
        ]
    ),
    VALUES,
)
def test_any_value_anywhere_is_read_or_refused(key: str, value: object) -> None:
    import tomllib

    from mastcheck.files.mastfile import _validated

    raw = tomllib.loads(GOOD)
    *parents, last = key.split(".")
    table = raw
    for parent in parents:
        table = table.setdefault(parent, {})
    table[last] = value
    try:
        _validated(raw, GOOD, "x.toml", Path(), library())
    except InputError as error:
        lines_out = [str(p) for p in error.problems]
    else:
        lines_out = ["read"]
    assert lines_out
    assert all(line.isprintable() for line in lines_out)


def test_locator() -> None:
    text = (
        '# c\n[a.b]\nx = """\n[no]\ny = 1\n"""\n[[t]]\nk = [\n 1, # ]\n]\n[[t]]\n"q r" = "["\nd.e = 1\n'
    )
    found = lines(text)
    assert found[("a", "b")] == 2
    assert found[("a", "b", "x")] == 3
    assert ("no",) not in found
    assert found[("t", 0, "k")] == 8
    assert found[("t", 1)] == 11
    assert found[("t", 1, "q r")] == 12
    assert found[("t", 1, "d", "e")] == 13
    assert line_of(("t", 0, "k", 3, "z"), found) == 8
    assert line_of(("none",), found) is None


@pytest.fixture
def job(tmp_path: Path) -> Job:
    limits = '[limits]\ntwist = { case = "carve", max = "2 deg" }\n'
    return load(written(tmp_path, GOOD + limits))


def test_apply_stretches_or_trims(job: Job) -> None:
    stretched = apply(job, length=0.9)
    assert stretched.mast.length == 0.9
    assert stretched.mast.stations == job.mast.stations
    trimmed = apply(job, length=0.6, trim="tip")
    assert trimmed.mast.stations[-1].chord == pytest.approx(0.11)
    assert any("cut at the tip" in note for note in trimmed.notes)


def test_apply_rider_and_cases(job: Job) -> None:
    changed = apply(job, rider_mass=95.0, cases=["pump"])
    assert changed.rider.mass == 95.0
    assert [c.name for c in changed.cases] == ["pump"]
    assert changed.limits == ()
    assert "limit on twist not judged: case carve was not chosen" in changed.notes
    assert not any("80 kg" in note for note in changed.notes)
    assert apply(job) == job


def test_apply_refuses_all_at_once(job: Job) -> None:
    with pytest.raises(InputError) as caught:
        apply(job, length=math.nan, trim="tip", rider_mass=1.0, cases=["carv", "pump"])
    text = str(caught.value)
    assert len(caught.value.problems) == 3
    assert 'did you mean "carve"?' in text
    with pytest.raises(InputError, match="can only shorten"):
        apply(job, length=0.8, trim="base")
    with pytest.raises(InputError, match="no length is given"):
        apply(job, trim="base")


def test_schema_is_current() -> None:
    """Renew it with: python -m mastcheck.files.publish."""
    published = json.loads((DATA / "mast-file.schema.json").read_text(encoding="utf-8"))
    assert published == mast_file_schema()


def test_starter_loads_and_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    write_starter(path)
    assert load(path).mast.name == "My mast"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="a file of this name exists"):
        write_starter(path)
    assert path.read_text(encoding="utf-8") == "mine"
    with pytest.raises(InputError, match="cannot be written"):
        write_starter(tmp_path / "no" / "new.toml")


def switched(on: set[str], off: set[str] | None = None) -> str:
    """The starter with commented keys of [section] and other tables switched on, others off."""
    out, inside = [], ""
    for line in (DATA / "starter.toml").read_text(encoding="utf-8").splitlines():
        bare = line.removeprefix("# ")
        if bare.startswith("["):
            inside = bare.split("]")[0].strip("[")
            out.append(bare if inside in on or bare == line else line)
            continue
        name = f"{inside}.{bare.split(' = ')[0]}"
        if line != bare and " = " in bare and (name in on or inside in on):
            out.append(bare)
        else:
            out.append("" if line == bare and name in (off or ()) else line)
    return "\n".join(out)


def test_the_starter_with_every_key_switched_on_loads(tmp_path: Path) -> None:
    """Its own tables, and what a hollow may have."""
    on = {"material.shop-laminate", "lamina.shop-tape", "load_case", "mast.note", "mast.station.wall"}
    on |= {"section.wall_port"}
    on |= {f"section.{key}" for key in ("nose_solid_to", "tail_solid_from", "webs", "channels")}
    job = load(written(tmp_path, switched(on)))
    recipe = job.mast.section
    assert [c.name for c in job.cases][-1] == "hang-test"
    assert (len(recipe.webs), len(recipe.channels)) == (1, 1)
    assert (recipe.nose_solid_to, recipe.tail_solid_from) == (0.08, 0.90)
    assert isinstance(job.mast.stations[0].wall, Wall)
    assert not any("shop-" in note for note in job.notes), "all factors are stated"
    limits = load(written(tmp_path, switched({"limits.twist"}))).limits
    assert len(limits) == 3


def test_the_starters_core_laminate_and_drawing_load(tmp_path: Path) -> None:
    """The other ways that its comments name."""
    text = switched({"section.core"}).replace('"hollow"', '"shell-and-core"')
    assert load(written(tmp_path, text)).mast.section.core == library()["PVC foam 80"]
    keys = ("ply", "symmetric_plies", "repeat_plies", "nose_to", "tail_from", "knock_down")
    on = {f"section.{key}" for key in keys}
    mast = load(written(tmp_path, switched(on, off={"section.wall", "section.material"}))).mast
    assert len(mast.stations[0].plies) == 2 * 2 * 3
    assert mast.section.knock_down == pytest.approx(0.9 * 0.9 * 0.85)

    import ezdxf

    doc = ezdxf.new()
    doc.modelspace().add_lwpolyline([(0, 0), (120, -8), (120, 8)], close=True)
    doc.modelspace().add_circle((80, 0), 3, dxfattribs={"layer": "HOLES"})
    doc.header["$INSUNITS"] = 0
    doc.saveas(tmp_path / "die.dxf")
    off = {f"section.{key}" for key in ("outline", "wall", "trailing_edge_radius")}
    text = switched({"section.file", "section.unit", "section.nose", "section.layers"}, off)
    outline = load(written(tmp_path, text.replace('"hollow"', '"drawn"'))).mast.section.outline
    assert isinstance(outline, Drawing)
    assert len(outline.loops) == 2


def test_shipped_masts_load_and_say_that_they_are_invented(tmp_path: Path) -> None:
    masts = shipped()
    assert len(masts) >= 8
    for path, name, note in masts:
        job = load(path)
        assert job.mast.name == name
        assert "nvented" in note
        assert "invented" in path.read_text(encoding="utf-8").splitlines()[0]
    assert len({name for _, name, _ in masts}) == len(masts)
    with pytest.raises(InputError, match="not beside this install"):
        shipped(tmp_path)


def test_materials_are_graded() -> None:
    materials = library()
    assert {"EN AW-6082-T6", "EN AW-7075-T6", "Ti-6Al-4V", "stainless A4-80", "PVC foam 80"} <= set(
        materials
    )
    assert materials["EN AW-6063-T66"].proof_strength == 200e6
    assert materials["EN AW-6063-T66"].source.grade is Grade.STANDARD
    assert materials["EN AW-6082-T6"].source.grade is Grade.MEMORY
    assert materials["carbon/epoxy quasi-isotropic"].source.grade is Grade.PRACTICE


def test_importing_the_reader_brings_no_pydantic() -> None:
    code = "import sys, mastcheck.files.mastfile; sys.exit('pydantic' in sys.modules)"
    subprocess.run([sys.executable, "-c", code], check=True)
