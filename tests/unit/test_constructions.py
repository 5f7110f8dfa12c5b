"""Sections a builder can make: walls, webs, channels, zones of plies, drawn and ruled outlines."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, union_all

from mastcheck.checks.stations import _sizes
from mastcheck.drawn import Coordinates, Drawing, DrawnLoop
from mastcheck.errors import GeometryError
from mastcheck.laminate import Lamina
from mastcheck.mast import (
    Channel,
    Construction,
    Mast,
    ModifiedNaca,
    OutlineKind,
    Ruled,
    SectionRecipe,
    SkinPly,
    Station,
    Wall,
    Web,
    Zone,
)
from mastcheck.material import Material
from mastcheck.outline import contour
from mastcheck.section.contours import sides_of
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import check_regions
from mastcheck.source import PRACTICE

METAL = Material(name="metal", E=70e9, G=26.3e9, density=2700.0, source=PRACTICE)
STEEL = Material(name="steel", E=200e9, G=77e9, density=7800.0, source=PRACTICE)
FOAM = Material(name="foam", E=80e6, G=30e6, density=80.0, source=PRACTICE)
UD = Lamina(name="ud", E1=126e9, E2=11e9, G12=6.6e9, nu12=0.28, density=1550.0, source=PRACTICE)
CHORD, THICKNESS = 0.120, 0.0144


def mast(construction="hollow", outline=OutlineKind.NACA_4_DIGIT, wall=0.0025, plies=(), **recipe):
    station = Station(at=0.0, chord=CHORD, thickness=THICKNESS, wall=wall, plies=plies)
    section = SectionRecipe(
        outline=outline,
        construction=Construction(construction),
        material=METAL,
        core=FOAM if construction == "shell-and-core" else None,
        **recipe,
    )
    return Mast(
        name="test",
        length=0.75,
        stations=(station, replace(station, at=1.0)),
        section=section,
        taper_about=0.0,
    )


def across(regions, x):
    """Solid lengths (y from, y to) [m] met by a line across the blade at x, from starboard."""
    line = LineString([(x, -0.05), (x, 0.05)])
    cut = union_all([r.polygon for r in regions]).intersection(line)
    pieces = [cut] if cut.geom_type == "LineString" else list(cut.geoms)
    return sorted((p.bounds[1], p.bounds[3]) for p in pieces)


def area(regions, material=None):
    return sum(r.polygon.area for r in regions if material in (None, r.material))


# Walls


def test_walls_differ_by_face_and_from_nose_to_tail():
    law = Wall(port=((0.0, 0.004), (0.4, 0.003), (1.0, 0.002)), starboard=((0.0, 0.0015),))
    regions = regions_at(mast("hollow", OutlineKind.SLAB, wall=law), 0.0)
    # On a slab's parallel faces the wall stands square to the chord: it can be read off a line.
    for x, port in ((0.048, 0.003), (0.072, 0.003 - 0.001 * 0.2 / 0.6)):
        (low, inner_low), (inner_high, high) = across(regions, x)
        assert inner_low - low == pytest.approx(0.0015, rel=1e-4)
        assert high - inner_high == pytest.approx(port, rel=1e-4)


def test_a_uniform_law_is_the_plain_wall():
    plain = regions_at(mast(wall=0.0025), 0.0)
    law = regions_at(mast(wall=Wall.uniform(0.0025)), 0.0)
    # The plain wall has mitred corners, the law's are the same lines found another way.
    assert area(law) == pytest.approx(area(plain), rel=2e-4)


def test_walls_run_between_stations():
    a = mast(wall=Wall(port=((0.0, 0.004), (1.0, 0.002)), starboard=((0.0, 0.002),)))
    tip = replace(a.stations[1], wall=0.002)
    station = replace(a, stations=(a.stations[0], tip)).station_at(0.5)
    assert isinstance(station.wall, Wall)
    assert np.array(station.wall.port) == pytest.approx(np.array([[0.0, 0.003], [1.0, 0.002]]))
    assert np.array(station.wall.starboard) == pytest.approx(np.array([[0.0, 0.002]]))


def test_a_square_tail_has_a_wall_behind_it():
    thick = mast("hollow", OutlineKind.SLAB, wall=Wall.uniform(0.002), trailing_edge_thickness=0.008)
    (region,) = regions_at(thick, 0.0)
    (void,) = region.polygon.interiors
    assert CHORD - void.bounds[2] >= 0.002 - 1e-9
    assert CHORD - void.bounds[2] == pytest.approx(0.002, rel=0.02)


def test_nose_and_tail_are_solid_to_their_chord_fractions():
    (region,) = regions_at(mast(wall=0.002, nose_solid_to=0.15, tail_solid_from=0.6), 0.0)
    (void,) = region.polygon.interiors
    assert void.bounds[0] == pytest.approx(0.15 * CHORD, abs=1e-8)
    assert void.bounds[2] == pytest.approx(0.60 * CHORD, abs=1e-8)


# Webs and channels


def test_a_leaning_web_keeps_its_place_thickness_and_lean():
    web = Web(at=0.4, thickness=0.003, lean=math.radians(20))
    solid = regions_at(mast("hollow", OutlineKind.SLAB, wall=0.002, webs=(web,)), 0.0)
    (region,) = solid
    assert len(region.polygon.interiors) == 2
    for y in (-0.003, 0.0, 0.003):
        cut = region.polygon.intersection(LineString([(0.03, y), (0.07, y)]))
        middle = (cut.bounds[0] + cut.bounds[2]) / 2
        assert middle == pytest.approx(0.048 + y * math.tan(math.radians(20)), abs=2e-6)
        assert cut.length == pytest.approx(0.003 / math.cos(math.radians(20)), rel=1e-3)


def test_a_web_may_not_lie_along_the_faces():
    web = Web(at=0.4, thickness=0.003, lean=math.radians(70))
    with pytest.raises(GeometryError, match="leans 70"):
        regions_at(mast(webs=(web,)), 0.0)


def test_a_channel_in_a_hollow_has_its_boss_and_bore():
    plain = regions_at(mast(wall=0.002), 0.0)
    channel = Channel(at=0.35, bore=0.005, boss=0.012)
    (region,) = regions_at(mast(wall=0.002, channels=(channel,)), 0.0)
    bore = min(region.polygon.interiors, key=lambda ring: Polygon(ring).area)
    assert Polygon(bore).area == pytest.approx(math.pi * 0.0025**2, rel=2e-3)  # 64 panels
    assert Polygon(bore).centroid.distance(Point(0.35 * CHORD, 0.0)) < 1e-8
    assert len(region.polygon.interiors) == 3  # the boss touches both walls: two cells and the bore
    gained = area([region]) - area(plain)
    void = Polygon(plain[0].polygon.interiors[0])
    boss = Point(0.35 * CHORD, 0.0).buffer(0.006, quad_segs=64)
    assert gained == pytest.approx(void.intersection(boss).area - math.pi * 0.0025**2, rel=0.02)


def test_a_lined_hole_in_a_solid_blade_and_an_insert_in_a_core():
    bare = Channel(at=0.35, bore=0.005, boss=0.008, material=STEEL)
    ring = math.pi * (0.004**2 - 0.0025**2)
    for construction, wall in (("solid", None), ("shell-and-core", 0.002)):
        regions = regions_at(mast(construction, wall=wall, channels=(bare,)), 0.0)
        check_regions(regions)
        assert area(regions, STEEL) == pytest.approx(ring, rel=3e-3)
        whole = Polygon(contour("naca-4-digit", chord=CHORD, thickness=THICKNESS)).area
        assert area(regions) == pytest.approx(whole - math.pi * 0.0025**2, rel=1e-4)


@pytest.mark.parametrize(
    ("channel", "says"),
    [
        (Channel(at=0.35, bore=0.004, boss=0.006), r"hangs free in the hollow at x = .* mm, y = 0 mm"),
        (Channel(at=0.35, bore=0.004), "opens into the hollow"),
        (Channel(at=0.02, bore=0.010, boss=0.012), "breaks through"),
    ],
)
def test_channels_that_do_not_fit_are_named(channel, says):
    with pytest.raises(GeometryError, match=says):
        regions_at(mast(wall=0.002, channels=(channel,)), 0.0)


def test_channels_that_meet_are_refused():
    two = (Channel(at=0.35, bore=0.006), Channel(at=0.38, bore=0.006))
    with pytest.raises(GeometryError, match="meets another"):
        regions_at(mast("solid", wall=None, channels=two), 0.0)


# Laminates


def ply(thickness, *zones, angle=0.0):
    zones = zones or (Zone.NOSE, Zone.FACES, Zone.TAIL)
    return SkinPly(lamina=UD, angle=angle, thickness=thickness, zones=zones)


def test_equal_plies_all_round_are_one_skin():
    skin, core = regions_at(mast("shell-and-core", wall=None, plies=(ply(0.001), ply(0.001))), 0.0)
    assert skin.material.laminate is not None
    assert skin.material.laminate.thickness == pytest.approx(0.002)
    plain_skin, plain_core = regions_at(mast("shell-and-core", wall=0.002), 0.0)
    assert skin.polygon.equals(plain_skin.polygon)
    assert core.polygon.equals(plain_core.polygon)


def test_zones_have_walls_and_materials_of_their_own():
    plies = (ply(0.001), ply(0.0015, Zone.FACES), ply(0.002, Zone.WEBS, angle=math.pi / 4))
    web = Web(at=0.5, thickness=None)
    made = mast(
        "shell-and-core",
        OutlineKind.SLAB,
        wall=None,
        plies=plies,
        webs=(web,),
        nose_to=0.2,
        tail_from=0.65,
    )
    regions = regions_at(made, 0.0)
    check_regions(regions)
    whole = Polygon(contour("slab", chord=CHORD, thickness=THICKNESS)).area
    assert area(regions) == pytest.approx(whole, rel=1e-5)
    names = {r.material.name for r in regions}
    assert names == {"laminate of nose, tail", "laminate of faces", "laminate of webs", "foam"}
    skin = [r for r in regions if r.material is not FOAM and "web" not in r.material.name]
    for x, wall in ((0.015, 0.001), (0.040, 0.0025), (0.070, 0.0025)):
        (low, inner_low), (inner_high, high) = across(skin, x)
        assert inner_low - low == pytest.approx(wall, rel=1e-3)
        assert high - inner_high == pytest.approx(wall, rel=1e-3)
    webs = [r for r in regions if "web" in r.material.name]
    assert area(webs) == pytest.approx(0.002 * (THICKNESS - 2 * 0.0025), rel=0.02)


def test_a_ply_dropped_along_the_mast_thins_the_wall():
    a = mast("hollow", wall=None, plies=(ply(0.001), ply(0.001)))
    tip = replace(a.stations[1], plies=(ply(0.001), ply(0.0)))
    tapered = replace(a, stations=(a.stations[0], tip))
    assert [p.thickness for p in tapered.station_at(0.5).plies] == pytest.approx([0.001, 0.0005])
    (region,) = regions_at(tapered, 1.0)
    assert region.material.laminate is not None
    assert len(region.material.laminate.plies) == 1
    assert _sizes(tapered, 0.0) != _sizes(tapered, 0.5)
    assert _sizes(a, 0.0) == _sizes(a, 0.5)


def test_a_zone_without_plies_is_named():
    with pytest.raises(GeometryError, match=r"no ply is left in the tail at 0\.5"):
        regions_at(mast("hollow", wall=None, plies=(ply(0.001, Zone.NOSE, Zone.FACES),)), 0.5)


# Drawn and ruled outlines


def circle(x, y, r, n=64):
    angle = np.linspace(0, 2 * np.pi, n, endpoint=False)
    return np.column_stack([x + r * np.cos(angle), y + r * np.sin(angle)])


def drawing(*inner, chord=0.100, thickness=0.016):
    outer = contour("ellipse", chord=chord, thickness=thickness)
    loops = (DrawnLoop(points=outer, parent=None, fill=METAL), *inner)
    return Drawing(loops=loops, chord=chord, thickness=thickness, file="die.dxf")


VOID = DrawnLoop(points=circle(0.040, 0.0, 0.006), parent=0, fill=None)
CORE = DrawnLoop(points=circle(0.065, 0.0, 0.005), parent=0, fill=FOAM, layer="FOAM")
ISLAND = DrawnLoop(points=circle(0.065, 0.0, 0.002), parent=2, fill=STEEL, layer="STEEL")


def test_a_drawn_section_keeps_its_voids_cores_and_islands_and_is_scaled():
    made = mast("drawn", drawing(VOID, CORE, ISLAND), wall=None)
    regions = regions_at(made, 0.0)
    check_regions(regions)
    scale = (CHORD / 0.100) * (THICKNESS / 0.016)
    disc = Polygon(circle(0, 0, 1.0)).area * scale
    assert area(regions, FOAM) == pytest.approx(disc * (0.005**2 - 0.002**2), rel=1e-5)
    assert area(regions, STEEL) == pytest.approx(disc * 0.002**2, rel=1e-5)
    ellipse = Polygon(contour("ellipse", chord=CHORD, thickness=THICKNESS)).area
    assert area(regions) == pytest.approx(ellipse - disc * 0.006**2, rel=1e-5)
    assert regions[0].polygon.bounds[0] == pytest.approx(0.0, abs=1e-9)


def test_a_drawing_of_many_loops_is_not_filled_by_a_construction():
    with pytest.raises(GeometryError, match="2 loops"):
        regions_at(mast("hollow", drawing(VOID)), 0.0)


def test_between_unlike_outlines_the_surface_is_ruled():
    a = mast("solid", OutlineKind.ELLIPSE, wall=None)
    tip = replace(a.stations[1], outline=OutlineKind.LENS)
    both = replace(a, stations=(a.stations[0], tip))
    assert isinstance(both.station_at(0.5).outline, Ruled)
    areas = [area(regions_at(both, at)) for at in (0.0, 0.5, 1.0)]
    ellipse, lens = (
        Polygon(contour(f, chord=CHORD, thickness=THICKNESS)).area for f in ("ellipse", "lens")
    )
    assert areas[0] == pytest.approx(ellipse, rel=1e-6)
    assert areas[2] == pytest.approx(lens, rel=1e-6)
    # The area of a surface ruled between two convex rings is at least the mean (Brunn-Minkowski,
    # for matched points of equal running direction it is close to it).
    assert areas[1] == pytest.approx((ellipse + lens) / 2, rel=0.01)
    (half,) = regions_at(both, 0.5)
    assert half.polygon.bounds == pytest.approx(
        (0.0, -THICKNESS / 2, CHORD, THICKNESS / 2), rel=1e-3, abs=1e-9
    )
    # Cut off with another length, what is left of the surface is the same.
    cut = both.with_length(0.375, "base")
    assert area(regions_at(cut, 0.0)) == pytest.approx(areas[1], rel=1e-9)
    assert area(regions_at(cut, 0.5)) == pytest.approx(area(regions_at(both, 0.75)), rel=1e-4)


def test_loops_are_ruled_one_by_one_and_must_match():
    first, second = drawing(VOID, CORE), drawing(VOID, CORE, chord=0.080, thickness=0.014)
    a = mast("drawn", first, wall=None)
    tip = Station(at=1.0, chord=0.080, thickness=0.014, outline=second)
    base = replace(a.stations[0], chord=0.100, thickness=0.016)
    both = replace(a, stations=(base, tip))
    regions = regions_at(both, 0.5)
    check_regions(regions)
    # Both circles are drawn alike, so they stay as they are while the outline shrinks around them.
    assert area(regions, FOAM) == pytest.approx(Polygon(circle(0, 0, 0.005)).area, rel=1e-4)
    other = replace(tip, outline=drawing(VOID))
    with pytest.raises(GeometryError, match=r"3 loops.*2 loops"):
        regions_at(replace(both, stations=(base, other)), 0.5)
    swapped = replace(tip, outline=drawing(replace(VOID, fill=FOAM), replace(CORE, fill=None)))
    with pytest.raises(GeometryError, match="loop 2"):
        regions_at(replace(both, stations=(base, swapped)), 0.5)


def test_points_scale_to_chord_and_thickness_and_take_a_tail():
    ring = contour("naca-4-digit", chord=1.0, thickness=0.12) * (1.0, 1 / 0.12)
    points = Coordinates(points=ring, file="section.csv")
    plain = regions_at(mast("solid", points, wall=None), 0.0)
    family = regions_at(mast("solid", wall=None), 0.0)
    assert area(plain) == pytest.approx(area(family), rel=1e-5)
    for tail in ({"trailing_edge_radius": 0.0008}, {"trailing_edge_thickness": 0.0012}):
        mine = regions_at(mast("solid", points, wall=None, **tail), 0.0)
        theirs = regions_at(mast("solid", wall=None, **tail), 0.0)
        assert mine[0].polygon.bounds[2] == pytest.approx(CHORD, rel=1e-6)
        assert area(mine) == pytest.approx(area(theirs), rel=2e-4)


def test_the_modified_family_makes_a_section():
    (region,) = regions_at(mast("hollow", ModifiedNaca(nose_index=4, greatest_at=0.4)), 0.0)
    assert len(region.polygon.interiors) == 1


@pytest.mark.parametrize("turn", [0, 7, 100])
def test_sides_do_not_depend_on_where_a_ring_starts_or_runs(turn):
    ring = contour("naca-4-digit", chord=CHORD, thickness=THICKNESS, trailing_edge_thickness=0.001)
    expected = sides_of(ring)
    for other in (np.roll(ring, turn, axis=0), np.roll(ring, turn, axis=0)[::-1]):
        sides = sides_of(other)
        assert np.array_equal(sides.port, expected.port)
        assert np.array_equal(sides.starboard, expected.starboard)
    assert expected.ring() == pytest.approx(ring)


def test_inserts_of_any_size_share_their_points_with_all_around_them():
    # Sizes that bring edges of skin, core and boss near one another: found by trying many.
    for thickness, boss, at, wall in (
        (0.0144, 0.014, 0.25, 0.0025),
        (0.017, 0.016, 0.4, 0.0025),
        (0.018, 0.016, 0.4, 0.0025),
        (0.012, 0.009, 0.25, 0.002),
    ):
        insert = Channel(at=at, bore=0.005, boss=boss, material=STEEL)
        made = mast("shell-and-core", wall=wall, channels=(insert,))
        sized = tuple(replace(s, thickness=thickness) for s in made.stations)
        regions = regions_at(replace(made, stations=sized), 0.0)
        check_regions(regions)
        whole = Polygon(contour("naca-4-digit", chord=CHORD, thickness=thickness))
        bore = Point(at * CHORD, 0.0).buffer(0.0025, quad_segs=16)
        assert area(regions) == pytest.approx(whole.area - bore.area, rel=1e-4)
