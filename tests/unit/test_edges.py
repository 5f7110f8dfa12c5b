"""Edge radii against a limit, and what rounding does, by hand and by the outline's own builder."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
import shapely
from scipy.integrate import quad
from scipy.optimize import brentq

import mastcheck
from mastcheck.checks.edges import (
    edge_cautions,
    edge_checks,
    edges,
    filed_regions,
    redrawn_regions,
)
from mastcheck.checks.result import Verdict
from mastcheck.errors import GeometryError
from mastcheck.files.mastfile import load
from mastcheck.job import Job
from mastcheck.mast import Construction, OutlineKind, Web
from mastcheck.report.contacts import edges_json
from mastcheck.section.measure import edge_radius, outer_shape
from mastcheck.section.model import Region
from mastcheck.section.regions import regions_at
from mastcheck.section.solve import solve_section
from tests.masts import ALUMINIUM, mast
from tests.unit.test_mastfile import GOOD, problems, written

CHORD, THICKNESS, RADIUS = 0.120, 0.0144, 0.001


def blade(outline=OutlineKind.LENS, *, wall=None, radius=0.0):
    m = mast((CHORD, THICKNESS), (CHORD, THICKNESS), outline=outline, wall=wall)
    return replace(m, section=replace(m.section, trailing_edge_radius=radius))


def measured(m, limit=None):
    """Edges of a uniform mast, its one section solved."""
    section = solve_section(regions_at(m, 0.0))
    job = Job(mast=m, edge_radius=limit)
    return edges(job, [0.0, m.length], [section, section]), section


class Lens:
    """Two circular arcs over a chord, both ends rounded by circles tangent to both arcs.

    Closed geometry of its own: of an end circle of radius r at (d, 0), the arcs' centre at (0, -h) and
    radius R are tangent where its distance from that centre is R - r.
    """

    def __init__(self, chord, thickness, radius=0.0):
        half, rise = chord / 2, thickness / 2
        self.R = (half**2 + rise**2) / (2 * rise)
        self.h = self.R - rise
        self.r = radius
        self.d = math.sqrt((self.R - radius) ** 2 - self.h**2)
        self.end = self.d + radius
        # Along the line from the arc's centre through the end circle's.
        self.tangent = self.d * self.R / (self.R - radius)

    def y(self, x):
        if abs(x) < self.tangent:
            return math.sqrt(self.R**2 - x**2) - self.h
        return math.sqrt(max(0.0, self.r**2 - (abs(x) - self.d) ** 2))

    def integral(self, f):
        parts = [(0.0, self.tangent)] + ([(self.tangent, self.end)] if self.r else [])
        return sum(2 * quad(lambda x: f(x, self.y(x)), a, b)[0] for a, b in parts)

    @property
    def moments(self):
        """Area, I about the chord, I about mid-chord."""
        return (
            self.integral(lambda _, y: 2 * y),
            self.integral(lambda _, y: 2 / 3 * y**3),
            self.integral(lambda x, y: 2 * x**2 * y),
        )


def test_a_lens_filed_round_by_hand():
    sharp, filed = Lens(CHORD, THICKNESS), Lens(CHORD, THICKNESS, RADIUS)
    section = solve_section(regions_at(blade(), 0.0))
    regions, shorter = filed_regions(section.regions, RADIUS)
    after = solve_section(regions).properties
    before = section.properties
    assert shorter == pytest.approx(2 * (CHORD / 2 - filed.end), abs=5e-5)
    for found, hand in zip(
        (after.area / before.area, after.EIxx / before.EIxx, after.EIyy / before.EIyy),
        (b / a for a, b in zip(sharp.moments, filed.moments, strict=True)),
        strict=True,
    ):
        assert found == pytest.approx(hand, abs=2e-4)
    # Of a thin solid section J is nearly 4 Ixx (the tip of a wedge carries next to nothing).
    torsion, bending = after.GJ / before.GJ, after.EIxx / before.EIxx
    assert torsion == pytest.approx(bending, abs=5e-4)


def test_a_lens_redrawn_at_the_same_chord_by_hand():
    """The law's chord is the one whose ends, rounded, come back to the chord asked for."""
    # Stretching along x keeps thickness: an ellipse-like lens, so the hand rounds the stretched arcs
    # numerically, where the distance from the end circle's centre to the arc is its radius.
    section = solve_section(regions_at(blade(), 0.0))
    after = solve_section(redrawn_regions(blade(), 0.0, section.regions, RADIUS)).properties
    plain = Lens(CHORD, THICKNESS)

    def law(x, s):
        return plain.y(min(abs(x) / s, CHORD / 2))

    def tangent(s):
        """Where the normal to the stretched arc meets the chord line RADIUS away."""

        def miss(x):
            y = law(x, s)
            slope = (x / s) / math.sqrt(plain.R**2 - (x / s) ** 2) / s
            return y * math.hypot(1, slope) - RADIUS

        x = brentq(miss, 0.5 * CHORD / 2, s * CHORD / 2 * (1 - 1e-12))
        y = law(x, s)
        slope = (x / s) / math.sqrt(plain.R**2 - (x / s) ** 2) / s
        return x, x - y * slope

    stretch = brentq(lambda s: tangent(s)[1] + RADIUS - CHORD / 2, 1.0, 1.5)
    x_t, centre = tangent(stretch)

    def y(x):
        return law(x, stretch) if x < x_t else math.sqrt(max(0.0, RADIUS**2 - (x - centre) ** 2))

    def integral(f):
        return sum(2 * quad(lambda x: f(x, y(x)), a, b)[0] for a, b in ((0, x_t), (x_t, CHORD / 2)))

    hand = (
        integral(lambda _, v: 2 * v),
        integral(lambda _, v: 2 / 3 * v**3),
        integral(lambda x, v: 2 * x**2 * v),
    )
    before = section.properties
    ratios = after.area / before.area, after.EIxx / before.EIxx, after.EIyy / before.EIyy
    for found, of_hand, was in zip(ratios, hand, plain.moments, strict=True):
        assert found - 1 == pytest.approx(of_hand / was - 1, rel=0.01)


@pytest.mark.parametrize("outline", [OutlineKind.NACA_4_DIGIT, OutlineKind.SLAB])
@pytest.mark.parametrize("wall", [None, 0.002])
def test_a_redrawn_tail_is_that_of_the_outline_builder(outline, wall):
    """``trailing_edge_radius`` draws the same tail from the family's law, by another way."""
    m = blade(outline, wall=wall)
    sharp = solve_section(regions_at(m, 0.0))
    redrawn = solve_section(redrawn_regions(m, 0.0, sharp.regions, RADIUS)).properties
    built = solve_section(regions_at(blade(outline, wall=wall, radius=RADIUS), 0.0)).properties
    # The slab's nose is a half circle: stretched with the rest here, kept by the builder.
    within = 0.002 if outline is OutlineKind.NACA_4_DIGIT else 0.003
    for key in ("EIxx", "EIyy", "GJ", "mass_per_length"):
        assert getattr(redrawn, key) == pytest.approx(getattr(built, key), rel=within)


@pytest.mark.parametrize("wall", [None, 0.002])
def test_rounded_edges_have_the_radius_and_redrawn_ones_the_chord(wall):
    m = blade(wall=wall)
    regions = regions_at(m, 0.0)
    filed, shorter = filed_regions(regions, RADIUS)
    redrawn = redrawn_regions(m, 0.0, regions, RADIUS)
    for shape, width in (
        (outer_shape(filed), CHORD - shorter),
        (outer_shape(redrawn), CHORD),
    ):
        left, low, right, high = shape.bounds
        assert right - left == pytest.approx(width, abs=1e-6)
        assert high - low == pytest.approx(THICKNESS, abs=1e-6)
        for end in ("nose", "tail"):
            assert edge_radius(shape, end) == pytest.approx(RADIUS, rel=0.02)


def test_a_round_section_is_left_as_it_is():
    regions = regions_at(blade(OutlineKind.ELLIPSE), 0.0)
    filed, shorter = filed_regions(regions, 0.0005)
    assert shorter < 1e-5
    assert filed[0].polygon.area == pytest.approx(regions[0].polygon.area, rel=1e-4)


def test_without_a_limit_radii_are_reported_and_not_judged():
    found, _ = measured(blade())
    assert found.limit is None
    assert found.rounding is None
    assert [r.z for r in found.radii] == [0.0, blade().length]
    assert all(r.nose < 2e-5 and r.tail < 2e-5 for r in found.radii)
    assert edge_checks(found) == ()
    assert list(edge_cautions(found)) == []


def test_stations_between_those_of_the_file_are_measured_only_for_a_limit():
    m = mast()
    built = [solve_section(regions_at(m, at)) for at in (0.0, 0.5, 1.0)]
    z = [0.0, m.length / 2, m.length]
    assert [r.z for r in edges(Job(mast=m), z, built).radii] == [0.0, m.length]
    assert [r.z for r in edges(Job(mast=m, edge_radius=2e-4), z, built).radii] == z


@pytest.mark.parametrize(("limit", "sharp"), [(0.0009, ()), (0.0010, ()), (0.0011, ("tail",))])
def test_a_tail_of_one_millimetre_on_both_sides_of_the_limit(limit, sharp):
    found, _ = measured(blade(OutlineKind.NACA_4_DIGIT, radius=RADIUS), limit)
    assert found.sharp == sharp
    nose, tail = edge_checks(found)
    assert nose.verdict is Verdict.PASS
    assert tail.verdict is (Verdict.FAIL if sharp else Verdict.PASS)
    assert tail.value == pytest.approx(1.0, rel=0.01)
    assert tail.limit == limit * 1e3
    assert len(list(edge_cautions(found))) == len(sharp)
    assert (found.rounding is not None) is bool(sharp)


def test_both_edges_and_their_changes_are_named():
    found, section = measured(blade(), RADIUS)
    assert found.sharp == ("nose", "tail")
    regions, shorter = filed_regions(section.regions, RADIUS)
    after, before = solve_section(regions).properties, section.properties
    change = found.rounding.filed
    assert change.EI_fore_aft == pytest.approx(after.EIyy / before.EIyy - 1)
    assert change.mass == pytest.approx(after.area / before.area - 1)
    assert found.rounding.shorter == shorter
    assert change.EI_fore_aft < 0 < found.rounding.redrawn.EI_fore_aft
    (text,) = edge_cautions(found)
    assert "leading edge sharp and trailing edge sharp" in text
    assert "safe radius of 1 mm" in text
    assert "EI side under 0.1 %" in text  # filing costs next to nothing sideways
    assert f"EI fore-aft {100 * change.EI_fore_aft:+.1f} %" in text


def test_the_sharpest_station_is_the_one_solved():
    m = mast((0.150, 0.018), (0.090, 0.012), outline=OutlineKind.ELLIPSE)
    built = [solve_section(regions_at(m, at)) for at in (0.0, 1.0)]
    found = edges(Job(mast=m, edge_radius=0.0012), [0.0, m.length], built)
    # An ellipse's nose radius is t²/2c: 1.08 mm at the base, 0.80 mm at the tip.
    assert found.rounding.z == m.length


def test_too_large_a_radius_is_said_not_computed():
    found, _ = measured(blade(), 0.0075)
    assert found.rounding is None
    assert "half the thickness" in found.not_computed
    (text,) = edge_cautions(found)
    assert "not computed: a radius of 7.5 mm is half the thickness, 14.4 mm, or more" in text


def test_the_corners_of_a_square_tail_are_sharp_however_thick_it_is():
    square = replace(blade(), section=replace(blade().section, trailing_edge_thickness=0.003))
    found, _ = measured(square, 0.0005)
    assert found.radii[0].tail == 0.0
    assert "tail" in found.sharp


def test_filing_that_would_open_a_hollow_is_not_done():
    outer = shapely.Polygon([(0.0, 0.0), (0.1, -0.006), (0.1, 0.006)])
    hollow = shapely.box(0.02, -0.0008, 0.05, 0.0008)
    regions = (Region(polygon=outer.difference(hollow), material=ALUMINIUM),)
    with pytest.raises(GeometryError, match="open a hollow"):
        filed_regions(regions, 0.004)


def test_webs_cores_and_drawings_are_rounded_too():
    foam = replace(ALUMINIUM, name="foam", E=80e6, G=30e6, density=80.0)
    m = blade(OutlineKind.NACA_4_DIGIT, wall=0.002)
    recipe = replace(
        m.section,
        construction=Construction.SHELL_AND_CORE,
        core=foam,
        webs=(Web(at=0.35, thickness=0.003),),
    )
    m = replace(m, section=recipe)
    found, section = measured(m, RADIUS)
    assert len(section.regions) == 3
    assert found.rounding.filed.mass < 0 < found.rounding.redrawn.mass
    drawn = replace(m, section=replace(recipe, construction=Construction.DRAWN))
    stretched = redrawn_regions(drawn, 0.0, section.regions, RADIUS)
    assert len(stretched) == 3
    left, _, right, _ = outer_shape(stretched).bounds
    assert right - left == pytest.approx(CHORD, abs=1e-6)
    # The same cores, longer by the stretch, which makes up for what filing takes off the chord.
    cores = [
        sum(r.polygon.area for r in rs if r.material is foam) for rs in (section.regions, stretched)
    ]
    stretch = CHORD / (CHORD - found.rounding.shorter)
    assert cores[1] / cores[0] == pytest.approx(stretch, abs=0.1 * (stretch - 1))
    solve_section(stretched)


def test_the_limit_reaches_the_job_the_verdict_and_json(tmp_path):
    job = load(written(tmp_path, GOOD + '\n[limits]\nedge_radius = "1 mm"\n'))
    assert job.edge_radius == pytest.approx(0.001)
    result = mastcheck.check(replace(job, cases=()))
    assert [c.verdict for c in result.checks if c.name.startswith("trailing edge")] == [Verdict.FAIL]
    assert sum("Sharp edges" in text for text in result.cautions) == 1
    whole = json.loads(json.dumps(edges_json(result.edges)))
    assert whole["limit_mm"] == pytest.approx(1.0)
    assert whole["rounding"]["radius_mm"] == pytest.approx(1.0)
    assert whole["stations"][0]["trailing_edge_radius_mm"] < 0.02


def test_a_limit_without_a_unit_is_refused(tmp_path):
    line = next(
        x for x in problems(tmp_path, GOOD + "\n[limits]\nedge_radius = 1\n") if "edge_radius" in x
    )
    assert "unit" in line


def test_a_station_of_its_own_outline_is_redrawn_too():
    m = mast((CHORD, THICKNESS), (CHORD, THICKNESS))
    own = replace(m.stations[1], outline=OutlineKind.LENS)
    m = replace(m, stations=(m.stations[0], own))
    regions = regions_at(m, 0.5)
    shape = outer_shape(redrawn_regions(m, 0.5, regions, RADIUS))
    assert edge_radius(shape, "tail") == pytest.approx(RADIUS, rel=0.02)
    assert shape.bounds[2] - shape.bounds[0] == pytest.approx(CHORD, abs=1e-6)
