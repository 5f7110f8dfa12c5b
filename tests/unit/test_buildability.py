"""Buildability notes fire and stay silent at either side of each number of practice."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from shapely import Point, Polygon, box

from mastcheck.checks.buildability import notes, thinnest_die_wall
from mastcheck.checks.process import Note, Process, guess_process
from mastcheck.job import Job
from mastcheck.laminate import Lamina
from mastcheck.mast import (
    Channel,
    Construction,
    Mast,
    OutlineKind,
    SkinPly,
    Station,
    Wall,
    Web,
    Zone,
)
from mastcheck.material import Material
from mastcheck.section import measure
from mastcheck.section.model import Region, SectionModel, SectionProperties, StressBasis
from mastcheck.section.regions import regions_at
from mastcheck.source import Grade, Source
from tests.masts import ALUMINIUM, mast

INVENTED = Source(title="invented for a test", grade=Grade.ASSUMED)
CARBON = Material(
    name="test laminate", E=70e9, G=15e9, density=1550.0, source=INVENTED, galvanic_group="carbon"
)
FOAM = Material(name="test foam", E=80e6, G=30e6, density=80.0, source=INVENTED)
TITANIUM = Material(
    name="test titanium", E=114e9, G=43e9, density=4430.0, source=INVENTED, galvanic_group="titanium"
)
CLOTH = Lamina(name="test cloth", E1=60e9, E2=60e9, G12=4e9, nu12=0.05, density=1500.0, source=INVENTED)


def model(regions: tuple[Region, ...]) -> SectionModel:
    """A section that is built but not solved: notes look at polygons and mass only."""
    numbers = dict.fromkeys((f.name for f in fields(SectionProperties)), 0.0)
    mass = sum(r.polygon.area * r.material.density for r in regions)
    empty = np.zeros((0, 2))
    return SectionModel(
        regions=regions,
        properties=SectionProperties(**{**numbers, "mass_per_length": mass}),
        basis=StressBasis(
            points=empty,
            region=np.zeros(0, np.int64),
            fields=np.zeros((7, 0, 3)),
            triangles=np.zeros((0, 3), np.int64),
        ),
        elements=0,
    )


def found(a_mast: Mast, at: float = 0.5) -> dict[str, Note]:
    """All notes on a mast's section by name (the last of each)."""
    return {n.name: n for n in notes(a_mast, at, model(regions_at(a_mast, at)))}


def beyond(a_mast: Mast, at: float = 0.5) -> set[str]:
    """Names of the notes that are past practice."""
    return {name for name, note in found(a_mast, at).items() if note.beyond}


def extrusion(
    wall: float | None = 0.003, *, chord: float = 0.14, material: Material = ALUMINIUM, **recipe: object
) -> Mast:
    """An untapered aluminium section with a tail that a die can give."""
    made = mast((chord, 0.018), (chord, 0.018), wall=wall, material=material)
    return replace(made, section=replace(made.section, **{"trailing_edge_radius": 0.0006, **recipe}))  # type: ignore[arg-type]


def shell(
    wall: float | Wall = 0.002, *, second: float | None = None, at: float = 1.0, **recipe: object
) -> Mast:
    """An untapered laminated shell on foam, 120 x 14.4 mm, with a blunt enough tail."""
    sizes = {"chord": 0.12, "thickness": 0.0144}
    stations = [Station(at=0.0, wall=wall, **sizes)]
    if second is not None:
        stations.append(Station(at=at, wall=second, **sizes))
    if second is None or at < 1:
        stations.append(Station(at=1.0, wall=wall if second is None else second, **sizes))
    made = mast((0.12, 0.0144), (0.12, 0.0144), wall=0.002, material=CARBON)
    section = replace(
        made.section,
        **{
            "construction": Construction.SHELL_AND_CORE,
            "core": FOAM,
            "trailing_edge_radius": 0.0006,
            **recipe,
        },  # type: ignore[arg-type]
    )
    return replace(made, stations=tuple(stations), section=section)


def plied(*plies: SkinPly, second: tuple[SkinPly, ...] | None = None, at: float = 1.0) -> Mast:
    """The shell from plies instead of a wall, at its base and again at a second station."""
    made = shell()
    sizes = {"chord": 0.12, "thickness": 0.0144}
    stations = [Station(at=0.0, plies=plies, **sizes), Station(at=at, plies=second or plies, **sizes)]
    if at < 1:
        stations.append(Station(at=1.0, plies=second or plies, **sizes))
    return replace(made, stations=tuple(stations))


def ply(thickness: float, *zones: Zone) -> SkinPly:
    """A ply of the test cloth along the mast."""
    every = (Zone.NOSE, Zone.FACES, Zone.TAIL)
    return SkinPly(lamina=CLOTH, angle=0.0, thickness=thickness, zones=zones or every)


class TestProcess:
    @pytest.mark.parametrize(
        ("made", "process"),
        [
            (extrusion(), Process.EXTRUSION),
            (extrusion(None), Process.EXTRUSION),
            (mast(), Process.MACHINING),
            (extrusion(material=TITANIUM), Process.MACHINING),
            (shell(), Process.LAYUP),
            (plied(ply(0.001)), Process.LAYUP),
            (shell(material=ALUMINIUM), Process.OTHER),
            (shell(material=TITANIUM), Process.OTHER),
            (extrusion(material=replace(ALUMINIUM, galvanic_group="")), Process.EXTRUSION),
            (extrusion(material=replace(CARBON, galvanic_group="")), Process.LAYUP),
            (extrusion(None, material=FOAM), Process.OTHER),
        ],
    )
    def test_is_guessed_and_said(self, made: Mast, process: Process) -> None:
        hollow = made.section.construction is not Construction.SOLID
        assert guess_process(made, hollow=hollow)[0] is process
        said = found(made)["process"]
        assert not said.beyond
        assert process in said.text or process is Process.OTHER
        assert "guess" in said.basis

    def test_a_job_gives_the_notes_of_its_mast(self) -> None:
        made = extrusion()
        section = model(regions_at(made, 0.5))
        assert notes(Job(mast=made), 0.5, section) == notes(made, 0.5, section)


class TestExtrusion:
    def test_a_good_section_gives_the_die_and_nothing_past_practice(self) -> None:
        good = found(extrusion())
        assert set(good) == {"process", "die"}
        assert not good["die"].beyond
        assert "140 mm" in good["die"].text
        assert "kg/m" in good["die"].text

    @pytest.mark.parametrize(("chord", "past"), [(0.199, False), (0.201, True)])
    def test_circle(self, chord: float, past: bool) -> None:
        assert ("die" in beyond(extrusion(0.004, chord=chord))) is past

    @pytest.mark.parametrize(
        ("material", "wall", "past"),
        [
            (ALUMINIUM, 0.00197, True),
            (ALUMINIUM, 0.0020, False),
            (replace(ALUMINIUM, name="EN AW-7075-T6"), 0.00296, True),
            (replace(ALUMINIUM, name="EN AW-7075-T6"), 0.0030, False),
        ],
    )
    def test_wall(self, material: Material, wall: float, past: bool) -> None:
        made = found(extrusion(wall, material=material))
        assert ("wall" in made) is past
        assert ("alloy" in made) is ("7075" in material.name)
        if past:
            assert made["wall"].found == pytest.approx(wall, rel=0.005)
            assert made["wall"].practice == pytest.approx(wall, rel=0.02)

    @pytest.mark.parametrize(
        ("circle", "open_wall", "hollow_wall"),
        [(0.050, 1.0, 1.2), (0.0501, 1.2, 1.5), (0.1501, 2.0, 2.5), (0.3, 3.0, 4.0)],
    )
    def test_least_wall_grows_with_the_die(
        self, circle: float, open_wall: float, hollow_wall: float
    ) -> None:
        assert 1e3 * thinnest_die_wall(circle, ALUMINIUM, hollow=False) == pytest.approx(open_wall)
        assert 1e3 * thinnest_die_wall(circle, ALUMINIUM, hollow=True) == pytest.approx(hollow_wall)

    @pytest.mark.parametrize(
        ("web", "names"),
        [(0.0019, {"web"}), (0.0021, set()), (0.0059, set()), (0.0061, {"wall-jump"})],
    )
    def test_web_and_wall_jump(self, web: float, names: set[str]) -> None:
        assert beyond(extrusion(0.003, webs=(Web(at=0.3, thickness=web),))) == names

    def test_wall_jump_of_a_law(self) -> None:
        for thick, past in ((0.0059, False), (0.0061, True)):
            law = ((0.0, thick), (1.0, 0.003))
            made = extrusion()
            stations = tuple(replace(s, wall=Wall(port=law, starboard=law)) for s in made.stations)
            assert ("wall-jump" in beyond(replace(made, stations=stations))) is past

    @pytest.mark.parametrize(("webs", "past"), [((0.3,), False), ((0.3, 0.5), True)])
    def test_cells(self, webs: tuple[float, ...], past: bool) -> None:
        made = extrusion(webs=tuple(Web(at=at, thickness=0.003) for at in webs))
        assert ("cells" in beyond(made)) is past

    def test_a_taper_is_no_die(self) -> None:
        tapered = mast((0.14, 0.018), (0.12, 0.016), wall=0.003)
        assert "taper" in beyond(tapered)

    @pytest.mark.parametrize(("deep", "past"), [(0.0119, False), (0.0121, True)])
    def test_tongue_of_an_open_gap(self, deep: float, past: bool) -> None:
        block = box(0, -0.01, 0.08, 0.01).difference(box(0.03, 0.01 - deep, 0.034, 0.02))
        section = model((Region(polygon=block, material=ALUMINIUM),))
        names = {n.name for n in notes(extrusion(None), 0.5, section) if n.beyond}
        assert ("tongue" in names) is past

    def test_the_boss_of_a_channel_is_no_web(self) -> None:
        made = extrusion(channels=(Channel(at=0.7, bore=0.0034, boss=0.009),))
        assert not beyond(made) & {"web", "wall-jump"}


class TestEdges:
    @pytest.mark.parametrize(
        ("made", "sharp", "blunt"),
        [
            (extrusion(), 0.00036, 0.0004),
            (mast((0.14, 0.018), (0.12, 0.018)), 0.00018, 0.0002),
            (shell(), 0.00045, 0.0005),
        ],
    )
    def test_tail(self, made: Mast, sharp: float, blunt: float) -> None:
        for radius, past in ((sharp, True), (blunt, False)):
            rounded = replace(made, section=replace(made.section, trailing_edge_radius=radius))
            note = found(rounded).get("tail-edge")
            assert (note is not None) is past
            if note is not None:
                assert note.found == pytest.approx(radius, rel=0.01, abs=8e-6)  # measured
                assert "radius" in note.text

    def test_a_knife_edge_is_called_sharp_at_both_ends(self) -> None:
        lens = mast((0.1, 0.012), (0.1, 0.012), outline=OutlineKind.LENS)
        made = found(lens)
        assert {"nose-edge", "tail-edge"} <= set(made)
        assert "sharp" in made["nose-edge"].text


class TestThinWalls:
    @pytest.mark.parametrize(("wall", "past"), [(0.00098, True), (0.001, False)])
    def test_machined(self, wall: float, past: bool) -> None:
        assert ("wall" in beyond(extrusion(wall, material=TITANIUM))) is past

    @pytest.mark.parametrize(("wall", "past"), [(0.00059, True), (0.0006, False)])
    def test_laminated(self, wall: float, past: bool) -> None:
        assert ("wall" in beyond(shell(wall))) is past

    @pytest.mark.parametrize(("wall", "past"), [(0.00019, True), (0.0002, False)])
    def test_one_ply(self, wall: float, past: bool) -> None:
        assert ("one-ply" in beyond(shell(wall))) is past


class TestBores:
    @pytest.mark.parametrize(
        ("bore", "screw", "past"),
        [
            (0.0050, "M6 tapped", False),
            (0.0042, "M5 tapped", False),
            (0.0066, "M6 clearance", False),
            (0.0060, "no common screw", True),
        ],
    )
    def test_screws(self, bore: float, screw: str, past: bool) -> None:
        note = found(extrusion(None, channels=(Channel(at=0.3, bore=bore),)))["bore"]
        assert screw in note.text
        assert note.beyond is past
        assert note.found == pytest.approx(bore, rel=0.01)

    @pytest.mark.parametrize(("bore", "past"), [(0.0088, False), (0.0092, True)])
    def test_metal_around(self, bore: float, past: bool) -> None:
        """In 18 mm, (18 - d)/2 of metal is left above a bore d: half the bore at d = 9 mm."""
        made = found(extrusion(None, channels=(Channel(at=0.3, bore=bore),)))
        assert ("around-bore" in made) is past

    def test_a_boss_of_its_own_material_is_what_is_around(self) -> None:
        channel = Channel(at=0.3, bore=0.005, boss=0.009, material=ALUMINIUM)
        note = found(shell(channels=(channel,)))["around-bore"]
        assert note.found == pytest.approx(0.002, rel=0.01)

    def test_a_round_core_is_no_bore(self) -> None:
        ring = Point(0, 0).buffer(0.012).difference(Point(0, 0).buffer(0.006))
        regions = (
            Region(polygon=ring, material=CARBON),
            Region(polygon=Point(0, 0).buffer(0.006), material=FOAM),
        )
        assert measure.bores(regions) == ()
        assert len(measure.cells(regions)) == 1
        assert len(measure.bores(regions[:1])) == 1


class TestLayup:
    def test_a_good_shell_gives_nothing_past_practice(self) -> None:
        assert beyond(shell()) == set()
        assert beyond(plied(ply(0.001), ply(0.001))) == set()

    @pytest.mark.parametrize(("tail", "past"), [(0.91, False), (0.92, True)])
    def test_bond_length(self, tail: float, past: bool) -> None:
        """The tail solid over 10.8 or 9.6 mm of 120 mm; a thin skin leaves nothing of its own."""
        made = shell(0.0006, tail_solid_from=tail)
        assert ("bond-length" in beyond(made)) is past

    @pytest.mark.parametrize(("blunt", "past"), [(0.0012, False), (0.0, True)])
    def test_bond_thickness(self, blunt: float, past: bool) -> None:
        made = shell(0.0006, trailing_edge_radius=0.0, trailing_edge_thickness=blunt)
        assert ("bond-thickness" in beyond(made)) is past

    @pytest.mark.parametrize(
        ("extra", "zone", "past"),
        [
            (0.00059, Zone.NOSE, False),
            (0.00061, Zone.NOSE, True),
            (0.00089, Zone.TAIL, False),
            (0.00091, Zone.TAIL, True),
        ],
    )
    def test_drop_along_the_chord(self, extra: float, zone: Zone, past: bool) -> None:
        """The nose is 12 mm long and the tail 18 mm: a twentieth is 0.6 and 0.9 mm."""
        made = plied(ply(0.002), ply(extra, zone))
        assert ("ply-drop-chord" in beyond(made)) is past

    @pytest.mark.parametrize(("thin", "past"), [(0.00241, False), (0.00239, True)])
    def test_wall_law_along_the_chord(self, thin: float, past: bool) -> None:
        """From 3 mm over a tenth of 120 mm: 0.6 mm at 1:20."""
        law = ((0.0, 0.003), (0.1, thin))
        made = shell(Wall(port=law, starboard=law))
        assert ("ply-drop-chord" in beyond(made)) is past

    @pytest.mark.parametrize(("thin", "past"), [(0.00226, False), (0.00224, True)])
    def test_drop_along_the_mast(self, thin: float, past: bool) -> None:
        """Over 0.02 of 750 mm, 15 mm: 0.75 mm at 1:20."""
        walled = shell(0.003, second=thin, at=0.02)
        assert ("ply-drop-along" in beyond(walled, 0.01)) is past
        assert "ply-drop-along" not in beyond(walled, 0.5)
        dropped = (ply(0.0015), ply(thin - 0.0015))
        made = plied(ply(0.0015), ply(0.0015), second=dropped, at=0.02)
        assert ("ply-drop-along" in beyond(made, 0.01)) is past

    def test_plies_caught_in_a_drop(self) -> None:
        made = plied(ply(0.001), ply(0.0006), second=(ply(0.001), ply(0.0)))
        assert "part-ply" not in found(made, 0.0)
        assert "part-ply" not in found(made, 1.0)
        note = found(made, 0.75)["part-ply"]
        assert note.found == pytest.approx(0.00015)
        assert "1 of 2" in note.text


def test_every_note_past_practice_gives_both_numbers_and_its_basis() -> None:
    masts = [
        extrusion(0.001, chord=0.22, webs=tuple(Web(at=a, thickness=0.004) for a in (0.3, 0.5))),
        shell(0.0005, trailing_edge_radius=0.0, tail_solid_from=0.95),
        shell(channels=(Channel(at=0.3, bore=0.0059, boss=0.008),)),
        plied(ply(0.002), ply(0.001, Zone.NOSE)),
    ]
    seen = [n for m in masts for n in notes(m, 0.5, model(regions_at(m, 0.5))) if n.beyond]
    assert len({n.name for n in seen}) >= 8
    for note in seen:
        assert note.basis.startswith("common practice, no source")
        assert note.found is not None, note
        assert note.practice is not None, note
        assert sum(c.isdigit() for c in note.text) >= 2, note


class TestMeasure:
    @pytest.mark.parametrize("angle", [5.0, 20.0, 40.0])
    def test_radius_of_a_wedge_is_that_of_the_disc_that_nearly_reaches_its_edge(
        self, angle: float
    ) -> None:
        """A disc in a wedge of half angle a stops r (1/sin a - 1) short of its edge."""
        a = math.radians(angle)
        wedge = Polygon([(0, -math.tan(a)), (1, 0), (0, math.tan(a))])
        expected = measure.EDGE_REACH / (1 / math.sin(a) - 1 - measure.PANELLED)
        assert measure.edge_radius(wedge, "tail") == pytest.approx(expected, rel=1e-3)

    @pytest.mark.parametrize("radius", [0.0003, 0.0006, 0.001])
    @pytest.mark.parametrize("outline", [OutlineKind.NACA_4_DIGIT, OutlineKind.SLAB, OutlineKind.LENS])
    def test_radius_of_a_rounded_tail(self, radius: float, outline: OutlineKind) -> None:
        made = mast((0.12, 0.0144), (0.12, 0.0144), outline=outline)
        made = replace(made, section=replace(made.section, trailing_edge_radius=radius))
        shape = measure.outer_shape(regions_at(made, 0.5))
        # Tails of half angle a, 8 to 14 degrees, give up to EDGE_REACH/(1/sin a - 1) = 7 µm too much,
        # and the reach for panels 0.15 % of the radius over the same.
        assert measure.edge_radius(shape, "tail") == pytest.approx(radius, rel=0.01, abs=8e-6)

    def test_nose_of_a_slab_is_half_its_thickness(self) -> None:
        made = mast((0.12, 0.0144), (0.12, 0.0144), outline=OutlineKind.SLAB)
        shape = measure.outer_shape(regions_at(made, 0.5))
        assert measure.edge_radius(shape, "nose") == pytest.approx(0.0072, rel=0.02)

    def test_circle_around_a_rectangle_is_its_diagonal(self) -> None:
        assert measure.circumscribing_diameter(box(0, 0, 0.12, 0.05)) == pytest.approx(0.13)

    def test_walls_and_webs_of_a_box(self) -> None:
        skin = box(0, 0, 0.1, 0.02) - box(0.003, 0.002, 0.05, 0.018) - box(0.054, 0.003, 0.09, 0.016)
        regions = (Region(polygon=skin, material=ALUMINIUM),)
        inside, shape = measure.cells(regions), measure.outer_shape(regions)
        assert [g.thickness for g in measure.walls(shape, inside)] == pytest.approx([0.002, 0.003])
        assert [g.thickness for g in measure.webs(inside)] == pytest.approx([0.004])
        assert measure.thickness_at(shape, 0.05) == pytest.approx(0.02)

    def test_tongue_ratio_of_a_slot_is_its_depth_over_its_width(self) -> None:
        slotted = box(0, 0, 0.1, 0.02) - box(0.04, 0.008, 0.044, 0.03)
        assert measure.tongue_ratio(slotted) == pytest.approx(0.012 / 0.004)
        assert measure.tongue_ratio(box(0, 0, 1, 1)) == 0
