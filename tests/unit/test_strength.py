"""Strength criteria by material and by face, up to the checks they end in. Masts are invented."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box

import mastcheck
from mastcheck.checks.coupling import worst_coupling
from mastcheck.checks.governing import worst_findings
from mastcheck.checks.result import Criterion, Verdict
from mastcheck.checks.run import check as run_check
from mastcheck.checks.sources import sources_used
from mastcheck.failure import ply_response, tsai_wu_ratio, wall_strains
from mastcheck.job import Job
from mastcheck.laminate import Lamina, Laminate, Ply, membrane, parse_code
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import STANDARD_CASES, LoadCase
from mastcheck.mast import Construction, Mast, OutlineKind, SectionRecipe, Station
from mastcheck.material import Material, laminate_material
from mastcheck.report.json import RESULT_SCHEMA, result_json
from mastcheck.section.model import ACTIONS, Region
from mastcheck.section.solve import solve_section
from mastcheck.source import PRACTICE, Grade, Source
from mastcheck.strength.faces import faces
from mastcheck.strength.panels import (
    buckling_class,
    laminate_plate_stress,
    metal_reduction,
    metal_slenderness,
    panel_findings,
    plate_limit,
    through_stiffness,
    wrinkling_strength,
)
from mastcheck.strength.stress import by_material, is_core, material_findings, station_stress
from tests.masts import ALUMINIUM

MM = 1e-3
TEST = Source(title="invented for a test", grade=Grade.ASSUMED)
T6 = replace(ALUMINIUM, name="EN AW-6082-T6")
FOAM = Material(
    name="foam", E=90e6, G=27e6, density=80, source=TEST, shear_strength=1.1e6, gamma_proof=1.5
)
# First failure exercise values of AS4/3501-6, as in the reference tests.
CARBON = Lamina(
    name="carbon ply", E1=126e9, E2=11e9, G12=6.6e9, nu12=0.28, density=1580, source=TEST,
    Xt=1950e6, Xc=1480e6, Yt=48e6, Yc=200e6, S12=79e6, gamma=2.0, galvanic_group="carbon",
)  # fmt: skip


def layup(code, thickness=0.25 * MM, lamina=CARBON, knock_down=1.0):
    angles = parse_code(code)
    return Laminate(
        plies=tuple(Ply(lamina=lamina, angle=math.radians(a), thickness=thickness) for a in angles),
        knock_down=knock_down,
    )


def tube(material, width=100 * MM, height=20 * MM, wall=2 * MM, filling=None):
    x, y = width / 2, height / 2
    hole = box(-x + wall, -y + wall, x - wall, y - wall)
    parts = [Region(polygon=Polygon(box(-x, -y, x, y).exterior, [hole.exterior]), material=material)]
    if filling is not None:
        parts.append(Region(polygon=hole, material=filling))
    return solve_section(tuple(parts))


def load(**values):
    return np.array([values.get(a, 0.0) for a in ACTIONS])


def of(found, criterion):
    (one,) = [f for f in found if f.criterion is criterion]
    return one


# --- plies ----------------------------------------------------------------------------------------


def test_ply_utilisation_in_pure_tension_and_compression():
    # A tube of 0-degree plies: stress N/A, utilisation gamma sigma/(X knock-down), by hand.
    wall = laminate_material("wall", layup("[0]8", knock_down=0.8))
    section = tube(wall)
    for force, strength in ((50e3, CARBON.Xt), (-50e3, CARBON.Xc)):
        found = station_stress(section, load(N=force))
        used = abs(force) / section.properties.area * 2.0 / (strength * 0.8)
        assert found.utilisation == pytest.approx(used, rel=1e-6)
        rows = material_findings(section, found, 0.3)
        assert of(rows, Criterion.TSAI_WU).utilisation == pytest.approx(used, rel=1e-6)
        strain = of(rows, Criterion.MAX_STRAIN)
        assert strain.utilisation == pytest.approx(used, rel=1e-6)
        assert strain.value / strain.limit == pytest.approx(used, rel=1e-6)
        assert strain.unit == "%"
        assert strain.value == pytest.approx(
            abs(force) / section.properties.area / CARBON.E1 * 100, rel=1e-6
        )
        sense = "tension" if force > 0 else "compression"
        words = f"ply 1 of 8 from outside, 0°, carbon ply, along the fibres, {sense}, at "
        assert strain.where.startswith(words)


def test_shear_of_either_sign_is_the_same():
    wall = laminate_material("wall", layup("[0/±45/90]s"))
    section = tube(wall)
    plus, minus = (station_stress(section, load(N=-20e3, T=sign * 200.0)) for sign in (1, -1))
    assert plus.greatest == pytest.approx(minus.greatest, rel=1e-9)
    assert plus.greatest > station_stress(section, load(N=-20e3)).greatest


def test_unbalanced_wall_is_judged_worse_than_its_beam_strains_alone():
    unbalanced = laminate_material("wall", layup("[20]8"))
    section = tube(unbalanced)
    found = station_stress(section, load(N=10e3))
    # Free to shear, the wall is a lone ply pulled off its axis: Tsai-Wu by hand.
    s = 10e3 / section.properties.area
    c, n = math.cos(math.radians(20)), math.sin(math.radians(20))
    s1, s2, t = s * c * c, s * n * n, -s * n * c
    Xt, Xc, Yt, Yc, S = CARBON.strengths
    a = s1**2 / (Xt * Xc) + s2**2 / (Yt * Yc) + (t / S) ** 2 - s1 * s2 / math.sqrt(Xt * Xc * Yt * Yc)
    b = (1 / Xt - 1 / Xc) * s1 + (1 / Yt - 1 / Yc) * s2
    ratio = (-b + math.sqrt(b * b + 4 * a)) / (2 * a)
    free = CARBON.gamma / ratio
    row = of(material_findings(section, found, 0.0), Criterion.TSAI_WU)
    assert row.value == pytest.approx(free, rel=1e-6)
    # The beam's own strains, shear held at nil, would say less.
    held = ply_response(
        unbalanced.laminate.plies[0],
        wall_strains(unbalanced.laminate, np.array([s / unbalanced.E]), np.array([0.0])),
    )
    assert row.value > 1.2 * CARBON.gamma / tsai_wu_ratio(CARBON, held.stress)[0]


def test_utilisation_grows_in_step_with_the_load():
    section = tube(laminate_material("wall", layup("[0/±45/90]s")))
    one = station_stress(section, load(N=-5e3, Mx=100.0, T=40.0, Vy=300.0)).utilisation
    three = station_stress(section, 3 * load(N=-5e3, Mx=100.0, T=40.0, Vy=300.0)).utilisation
    assert three == pytest.approx(3 * one, rel=1e-9)


def test_a_lamina_without_strengths_is_reported_beside_a_judged_one():
    bare = replace(CARBON, name="bare ply", Xt=None, Xc=None, Yt=None, Yc=None, S12=None)
    plies = (*layup("[0]4").plies, *layup("[45/-45]", lamina=bare).plies)
    wall = laminate_material("faces wall", Laminate(plies=plies))
    assert not wall.judged
    section = tube(wall, wall=1.5 * MM)
    rows = material_findings(section, station_stress(section, load(N=20e3)), 0.1)
    silent = of(rows, Criterion.PLY_STRAIN)
    assert (silent.limit, silent.utilisation, silent.material) == (None, None, "bare ply")
    assert silent.value > 0
    assert "faces wall" in silent.where
    assert of(rows, Criterion.TSAI_WU).utilisation > 0
    none = laminate_material("wall", layup("[0]4", lamina=bare))
    found = station_stress(tube(none), load(N=20e3))
    assert np.isnan(found.utilisation).all()
    assert math.isnan(found.greatest)


# --- metals and cores -------------------------------------------------------------------------------


def test_metal_is_judged_by_von_mises():
    section = tube(T6)
    found = station_stress(section, load(N=-30e3))
    (row,) = material_findings(section, found, 0.0)
    assert row.name == "von Mises stress, EN AW-6082-T6"
    assert row.value == pytest.approx(30e3 / section.properties.area / 1e6)
    assert row.limit == pytest.approx(250 / 1.1)
    assert row.where.startswith("at ")
    assert row.where.endswith(("of the chord, port", "of the chord, starboard"))
    assert found.greatest == pytest.approx(row.utilisation)


def test_core_shear_of_a_sandwich():
    # Two faces on a soft core without side walls: tau = V/(b d), d between the faces' middles; the
    # classical sandwich beam (Allen 1969, from memory). The faces' own share is left out there: 2 %.
    b, core, t = 100 * MM, 20 * MM, 1 * MM
    y = core / 2
    parts = (
        Region(polygon=box(-b / 2, -y, b / 2, y), material=FOAM),
        Region(polygon=box(-b / 2, y, b / 2, y + t), material=T6),
        Region(polygon=box(-b / 2, -y - t, b / 2, -y), material=T6),
    )
    section = solve_section(parts)
    found = station_stress(section, load(Vy=500.0))
    row = of(material_findings(section, found, 0.0), Criterion.CORE_SHEAR)
    assert row.value * 1e6 == pytest.approx(500.0 / (b * (core + t)), rel=0.02)
    assert row.limit == pytest.approx(1.1 / 1.5)
    assert row.utilisation == pytest.approx(row.value / row.limit)


def test_what_is_a_core():
    stiff = 70e9
    assert is_core(FOAM, stiff)
    assert is_core(replace(FOAM, shear_strength=None), stiff)
    assert not is_core(T6, stiff)
    assert not is_core(replace(T6, proof_strength=None), stiff)
    assert not is_core(replace(FOAM, shear_strength=None, proof_strength=1e6), stiff)


def test_material_that_states_nothing_is_reported():
    bare = replace(T6, name="bare", proof_strength=None, ultimate_strength=None)
    section = tube(bare, filling=replace(FOAM, shear_strength=None))
    found = station_stress(section, load(N=-30e3))
    rows = material_findings(section, found, 0.0)
    assert {(r.criterion, r.utilisation) for r in rows} == {
        (Criterion.VON_MISES, None),
        (Criterion.CORE_SHEAR, None),
    }
    assert found.von_mises[found.worst] == pytest.approx(found.von_mises.max(), rel=1e-8)


# --- faces ------------------------------------------------------------------------------------------


def test_faces_of_a_tube():
    found = faces(tube(T6))
    assert sorted(f.side for f in found) == ["port", "starboard"]
    for face in found:
        assert face.width == pytest.approx(96 * MM)
        assert face.wall == pytest.approx(2 * MM)
        assert math.isinf(face.radius)
        assert (face.start, face.end) == pytest.approx((0.02, 0.98))
        assert face.core is None


def test_curved_face():
    # A round void of 45 mm radius in a round bar of 50 mm: radius, least wall and width.
    angle = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    ring = Polygon(50 * MM * circle, [45 * MM * circle])
    for face in faces(solve_section((Region(polygon=ring, material=T6),))):
        assert face.radius == pytest.approx(45 * MM, rel=0.01)
        assert face.wall == pytest.approx(5 * MM, rel=0.01)
        assert face.width == pytest.approx(90 * MM, rel=1e-3)


def test_thinnest_wall_of_the_middle_half_counts():
    x, y = 50 * MM, 10 * MM
    # The port wall thins from 3 mm at the ends to 2 mm in the middle.
    hole = [(-48, -8), (48, -8), (48, 7), (0, 8), (-48, 7)]
    ring = Polygon(box(-x, -y, x, y).exterior, [[(a * MM, b * MM) for a, b in hole]])
    found = {f.side: f for f in faces(solve_section((Region(polygon=ring, material=T6),)))}
    assert found["port"].wall == pytest.approx(2 * MM, rel=0.02)
    assert found["starboard"].wall == pytest.approx(2 * MM, rel=1e-6)
    assert found["port"].radius < math.inf


def test_two_cells_have_four_faces_and_a_core_two():
    x, y = 50 * MM, 10 * MM
    holes = [box(-48 * MM, -8 * MM, -10 * MM, 8 * MM), box(-8 * MM, -8 * MM, 48 * MM, 8 * MM)]
    ring = Polygon(box(-x, -y, x, y).exterior, [h.exterior for h in holes])
    skin = Region(polygon=ring, material=T6)
    both = faces(solve_section((skin,)))
    assert sorted(round(f.width / MM, 6) for f in both) == [38, 38, 56, 56]
    filled = faces(solve_section((skin, Region(polygon=holes[0], material=FOAM))))
    assert [f.core.name for f in filled if f.core is not None] == ["foam"] * 2
    assert len(filled) == 4


# --- plate buckling and wrinkling ---------------------------------------------------------------------


def test_metal_reduction_meets_one_at_the_class_limit():
    # EN 1999-1-1 6.1.5 from memory; beta/eps = 44: 32/44 - 220/44² = 0.6136, 29/44 - 198/44² = 0.5568.
    plain = replace(T6, name="EN AW-6082-T6", proof_strength=250e6)
    soft = replace(plain, name="EN AW-5083-H111")
    assert (buckling_class(plain), buckling_class(soft)) == ("A", "B")
    assert buckling_class(replace(plain, galvanic_group="titanium")) == "B"
    assert metal_reduction(44, plain) == pytest.approx(0.613636, rel=1e-5)
    assert metal_reduction(44, soft) == pytest.approx(0.556818, rel=1e-5)
    for material, limit in ((plain, 22), (soft, 18)):
        assert metal_reduction(limit, material) == 1
        assert metal_reduction(limit * (1 + 1e-9), material) == pytest.approx(1, abs=1e-6)
    # A higher proof strength makes the same face more slender; a stiffer metal less.
    assert metal_reduction(44, replace(plain, proof_strength=460e6)) < 0.6136
    assert metal_reduction(44, replace(plain, E=200e9)) > 0.6136


def test_curve_helps_a_metal_face():
    face = faces(tube(T6))[0]
    assert metal_slenderness(face) == pytest.approx(48)
    curved = replace(face, radius=0.25)
    by_hand = 48 / math.sqrt(1 + 0.006 * 0.096**4 / (0.25**2 * 0.002**2))
    assert metal_slenderness(curved) == pytest.approx(by_hand)


def test_laminate_plate_of_isotropic_plies_is_the_textbook_plate():
    # k = 4: N = 4 pi² D/b², D = E t³/(12 (1 - nu²)).
    E, nu = 70e9, 0.3
    metal = replace(CARBON, E1=E, E2=E, nu12=nu, G12=E / (2 * (1 + nu)))
    wall = laminate_material("wall", layup("[0/45/90/0]2", lamina=metal))
    face = faces(tube(wall))[0]
    D = E * 0.002**3 / (12 * (1 - nu**2))
    assert laminate_plate_stress(face) == pytest.approx(4 * math.pi**2 * D / 0.096**2 / 0.002, rel=1e-9)
    limit, words, _ = plate_limit(face)
    assert limit == pytest.approx(laminate_plate_stress(face) / 2.0)
    assert "b/t 48" in words


def test_which_plate_rule_judges_a_plain_material():
    face = faces(tube(T6))[0]
    plain = replace(T6, name="shop alloy", galvanic_group="")
    limit, words, _ = plate_limit(replace(face, material=plain))
    by_hand = 4 * math.pi**2 * 70e9 / (12 * (1 - 0.33**2)) / 48**2 / 1.1
    assert limit == pytest.approx(by_hand)
    assert "isotropic" in words
    spar = replace(plain, E=70e9, G=15e9)  # no isotropic material: its stiffness across is unknown
    assert plate_limit(replace(face, material=spar))[0] is None
    assert plate_limit(replace(face, material=replace(T6, proof_strength=None)))[0] is None


def test_wrinkling_by_hand():
    # 0.5 (70e9 · 90e6 · 27e6)^(1/3) = 277.04 MPa, over the foam's 1.5.
    assert wrinkling_strength(T6, FOAM) == pytest.approx(277.04e6 / 1.5, rel=1e-4)
    wood = replace(FOAM, E=7e9, G=0.5e9)
    assert through_stiffness(wood) == 0.5e9
    assert through_stiffness(FOAM) == FOAM.E


def test_only_the_compressed_face_is_judged():
    # +Mx is tension at +y, to port.
    section = tube(T6)
    (row,) = panel_findings(section, faces(section), station_stress(section, load(Mx=100.0)), 0.2)
    assert row.criterion is Criterion.BUCKLING
    assert row.where.startswith("starboard face over the void from 2% to 98% of the chord")
    assert row.value == pytest.approx(100.0 * 70e9 * 0.010 / section.properties.EIxx / 1e6, rel=1e-6)
    assert row.xy[1] == pytest.approx(-0.010)
    assert panel_findings(section, faces(section), station_stress(section, load(N=1e3)), 0.2) == []
    filled = tube(T6, filling=FOAM)
    (row,) = panel_findings(filled, faces(filled), station_stress(filled, load(Mx=-100.0)), 0.2)
    assert row.criterion is Criterion.WRINKLING
    assert row.where.startswith("port face over the core")


# --- up to the result ---------------------------------------------------------------------------------


def hollow(material, wall=2 * MM, core=None, size=(0.130, 0.018), **job):
    station = Station(at=0.0, chord=size[0], thickness=size[1], wall=wall)
    recipe = SectionRecipe(
        outline=OutlineKind.NACA_4_DIGIT,
        construction=Construction.HOLLOW if core is None else Construction.SHELL_AND_CORE,
        material=material,
        core=core,
    )
    mast = Mast(name="test", length=0.75, stations=(station, replace(station, at=1.0)), section=recipe)
    return Job(mast=mast, **job)


CARVE = tuple(c for c in STANDARD_CASES if c.name == "carve")


@pytest.fixture(scope="module")
def balanced():
    wall = laminate_material("faces: wall", layup("[±45/0_2]s"))
    return mastcheck.check(hollow(wall, cases=CARVE))


@pytest.fixture(scope="module")
def unbalanced():
    wall = laminate_material("faces: wall", layup("[15]8"))
    limits = (
        Limit(quantity=Quantity.TWIST, case="carve", maximum=math.radians(4)),
        Limit(quantity=Quantity.SIDE_DEFLECTION, case="carve", maximum=0.060),
    )
    return mastcheck.check(hollow(wall, cases=CARVE, limits=limits))


def test_laminated_mast_is_judged_by_its_plies(balanced):
    (case,) = balanced.cases
    kinds = {f.criterion for f in case.findings}
    assert kinds == {Criterion.MAX_STRAIN, Criterion.TSAI_WU, Criterion.BUCKLING}
    assert case.utilisation == pytest.approx(max(f.utilisation for f in case.findings))
    assert case.utilisation_along_z.max() == pytest.approx(case.utilisation)
    assert np.nanmax(case.point_utilisation) == pytest.approx(
        max(of(case.findings, k).utilisation for k in (Criterion.MAX_STRAIN, Criterion.TSAI_WU))
    )
    assert case.governing_material == "faces: wall"
    names = [c.name for c in balanced.checks]
    assert names[1:] == [f.name for f in case.findings]
    for check, finding in zip(balanced.checks[1:], case.findings, strict=True):
        assert check.verdict is (Verdict.PASS if finding.utilisation <= 1 else Verdict.FAIL)
    assert any(c.startswith("Plies are judged") for c in balanced.cautions)
    assert not any("unbalanced" in c or "Unsymmetrical" in c for c in balanced.cautions)


def test_sources_of_a_verdict(balanced):
    used = dict(sources_used(balanced))
    assert used["carbon ply"] == TEST
    assert "Tsai-Wu" in used[Criterion.TSAI_WU].title
    assert used[Criterion.BUCKLING].grade is Grade.MEMORY
    strength = {what for what in used if what == "carbon ply" or what in set(Criterion)}
    assert strength == {"carbon ply", Criterion.MAX_STRAIN, Criterion.TSAI_WU, Criterion.BUCKLING}


def test_unbalanced_mast_never_passes_plainly(unbalanced):
    m = membrane(unbalanced.job.mast.section.material.laminate)
    coupling = worst_coupling(unbalanced.sections)
    assert coupling.ratio == pytest.approx(m.twist_ratio)
    assert m.twist_ratio > 1.5
    (case,) = unbalanced.cases
    rows = {c.name.split(",")[0].split(" over ")[0]: c for c in unbalanced.checks}
    assert rows["twist"].value == pytest.approx(math.degrees(abs(case.tip.twist)) * m.twist_ratio)
    assert rows["twist"].name == f"twist, times {m.twist_ratio:.2f} for coupling left out"
    assert rows["side deflection"].value == pytest.approx(abs(case.tip.side) * 1e3 * m.twist_ratio)
    assert rows["buckling factor"].value == pytest.approx(case.buckling_factor / m.twist_ratio)
    left_out = next(c for c in unbalanced.checks if c.name.startswith("coupling left out"))
    assert left_out.verdict is Verdict.REPORT
    text = next(c for c in unbalanced.cautions if "unbalanced" in c)
    assert f"{m.coupling:.2f}" in text
    assert f"up to {m.twist_ratio:.2f} times T/GJ" in text


def test_unsymmetrical_layup_is_named():
    wall = laminate_material("faces: wall", layup("[0_4/±45_2]"))
    result = mastcheck.check(hollow(wall, cases=CARVE))
    text = next(c for c in result.cautions if c.startswith("Unsymmetrical"))
    assert f"faces: wall ({membrane(wall.laminate).unsymmetry:.2f})" in text


def test_one_unjudged_material_keeps_the_pass_from_being_plain():
    silent = replace(FOAM, shear_strength=None)
    result = mastcheck.check(hollow(T6, 3 * MM, silent, cases=CARVE))
    (row,) = [c for c in result.checks if c.verdict is Verdict.REPORT]
    assert row.name == "core shear stress, foam"
    assert result.cases[0].utilisation is not None
    assert any("foam" in c and "not a pass" in c for c in result.cautions)
    judged = mastcheck.check(hollow(T6, 3 * MM, FOAM, cases=CARVE))
    assert not [c for c in judged.checks if c.verdict is Verdict.REPORT]
    assert any(c.name == "core shear stress, foam" for c in judged.checks)


def test_unstable_laminate_mast_has_no_strength_to_show():
    wall = laminate_material("faces: wall", layup("[0/90]s", 0.3 * MM))
    heavy = LoadCase(name="heavy", n=100.0, strength_factor=1.5)
    result = mastcheck.check(hollow(wall, 1.2 * MM, cases=(heavy,)))
    (case,) = result.cases
    assert not case.stable
    assert case.findings == ()
    assert [c.verdict for c in result.checks] == [Verdict.FAIL] * 2


def test_json_carries_findings_and_sources(balanced):
    (mast,) = json.loads(result_json([balanced]))["masts"]
    (case,) = mast["cases"]
    assert len(case["findings"]) == 3
    published = RESULT_SCHEMA["$defs"]["finding"]
    for row in case["findings"]:
        assert set(row) == set(published["required"]) == set(published["properties"])
        assert row["basis"].endswith("(from memory)")
        assert row["utilisation"] == pytest.approx(row["value"] / row["limit"])
    assert {"what": "carbon ply", "source": str(TEST)} in mast["sources"]


def test_worst_findings_keep_what_cannot_be_judged():
    section = tube(T6, filling=FOAM)
    low, high = (
        material_findings(section, station_stress(section, load(Vy=v)), z)
        for v, z in ((100.0, 0.0), (200.0, 0.5))
    )
    silent = replace(low[0], utilisation=None, limit=None, material="other")
    kept = worst_findings([*low, silent, *high])
    assert [f.criterion for f in kept] == [Criterion.VON_MISES] * 2 + [Criterion.CORE_SHEAR]
    assert kept[0].z == 0.5
    assert kept[1].material == "other"


def test_by_material_covers_every_point_once():
    section = tube(T6, filling=FOAM)
    points = np.concatenate([at for _, at in by_material(section)])
    assert sorted(points) == list(range(len(section.basis.points)))


def test_plain_sources_are_kept():
    result = mastcheck.check(hollow(replace(T6, source=PRACTICE), 3 * MM, cases=CARVE))
    assert (T6.name, PRACTICE) in sources_used(result)


def test_a_moment_of_a_case_of_ones_own_is_cautioned(balanced):
    own = replace(balanced.job.cases[0], name="bench pull", moment=(10.0, 0.0, 0.0))
    job = replace(balanced.job, cases=(own,))
    asked = run_check(job)
    assert any("bench pull: a moment of given direction" in text for text in asked.cautions)
    assert not any("given direction" in text for text in balanced.cautions)
