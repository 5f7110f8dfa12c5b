"""Mixed metals: the order of the series, which parts touch, and what is said of them.

Potentials in flowing sea water [V against the saturated calomel electrode] and the rules of thumb beside
them are check values BT-15 and BT-16 of the project, read in two published galvanic series
(corrosion.com.au, student resources on sea water corrosion, and a second table).
"""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import combinations
from types import SimpleNamespace

import pytest
import shapely

from mastcheck.checks.assembly import Part, assembly, joint_contacts, not_stated, part_of
from mastcheck.checks.cautions import cautions
from mastcheck.checks.galvanic import Risk, group_of, groups, mixed_metals, pair, pairs
from mastcheck.files.bolt_data import property_classes, threads
from mastcheck.files.materials import entries
from mastcheck.job import Job
from mastcheck.joint import Adapter, Bar, BoltedPlate, BoltGroup, Fitted, Given, Joints, OnePiece
from mastcheck.mast import Channel, Construction
from mastcheck.report.contacts import pairs_json
from mastcheck.section.model import Region
from mastcheck.section.regions import regions_at
from tests.masts import ALUMINIUM, mast

CARBON = replace(ALUMINIUM, name="test carbon", galvanic_group="carbon", density=1550.0)
TITANIUM = replace(ALUMINIUM, name="test titanium", galvanic_group="titanium", density=4430.0)
STAINLESS = replace(ALUMINIUM, name="test stainless", galvanic_group="stainless", density=7900.0)
FOAM = replace(ALUMINIUM, name="test foam", galvanic_group="", density=80.0)
NYLON = replace(ALUMINIUM, name="test nylon", galvanic_group="plastic", density=1140.0)

# BT-15: ranges of the first table, and the single values of the second.
RANGES = {
    "graphite": (0.20, 0.30),
    "titanium": (0.04, 0.06),
    "stainless": (-0.10, 0.00),
    "aluminium": (-1.00, -0.76),
    "zinc": (-1.03, -0.98),
}
SINGLE = {"graphite": 0.25, "stainless": -0.05, "titanium": -0.10, "aluminium": -0.79, "zinc": -1.03}


def part(group, name="part", surface=None):
    return Part(name=name, material=f"{group} thing", group=group, surface=surface)


def two(a, b):
    found = pair(part(a, "a"), part(b, "b"))
    assert found is not None
    return found


def sections(job, *at):
    """Sections as built, not solved: contact needs their regions alone."""
    return [SimpleNamespace(regions=regions_at(job.mast, x)) for x in at or (0.0, 1.0)]


def lined(skin=CARBON, lining=ALUMINIUM, core=FOAM):
    """A shell and core whose lined channel spans from face to face."""
    m = mast((0.150, 0.018), (0.120, 0.016), wall=0.002, material=skin)
    channel = Channel(at=0.4, bore=0.005, boss=0.0165, material=lining)
    recipe = replace(m.section, construction=Construction.SHELL_AND_CORE, core=core, channels=(channel,))
    return Job(mast=replace(m, section=recipe))


def bolts(plate=ALUMINIUM, engaged=None, screws="A4-70"):
    return BoltGroup(
        thread=threads()["M8"],
        property_class=property_classes()[screws],
        positions=((-0.05, -0.03), (-0.05, 0.03), (0.05, -0.03), (0.05, 0.03)),
        plate_thickness=0.010,
        plate=plate,
        engaged=engaged,
    )


@pytest.mark.parametrize("name", RANGES)
def test_the_series_spans_both_tables_and_no_more(name):
    low, high = RANGES[name]
    assert group_of(name).volts == (min(low, SINGLE[name]), max(high, SINGLE[name]))


def test_active_stainless_is_that_of_the_table():
    assert group_of("stainless").active == (-0.46, -0.33)


def test_the_order_of_the_first_table():
    middles = [
        group_of(name).middle for name in ("graphite", "titanium", "stainless", "aluminium", "zinc")
    ]
    assert middles == sorted(middles, reverse=True)


@pytest.mark.parametrize("noble", ["carbon", "stainless", "titanium", "steel", "brass"])
def test_aluminium_always_suffers_beside_what_is_common_in_joints(noble):
    for a, b in ((noble, "aluminium"), ("aluminium", noble)):
        found = two(a, b)
        assert found.corrodes.group == "aluminium"
        assert found.parts[1] is found.corrodes
        assert found.risk in (Risk.HIGH, Risk.MODERATE)


def test_driving_voltages_of_the_rule():
    """BT-16: carbon with aluminium about 1.0 to 1.3 V, passive 316 with aluminium 0.66 to 1.0 V."""
    assert two("carbon", "aluminium").volts == pytest.approx((1.0, 1.3), abs=0.05)
    assert two("stainless", "aluminium").volts == pytest.approx((0.66, 1.00), abs=1e-9)


def test_carbon_with_titanium_is_benign_and_stainless_in_carbon_is_a_matter_of_crevices():
    assert two("carbon", "titanium").risk is Risk.LOW
    assert two("titanium", "stainless").risk is Risk.LOW
    assert two("titanium", "stainless").corrodes is None
    found = two("carbon", "stainless")
    assert found.risk is Risk.CREVICE
    # Active 316 against graphite: 0.20 + 0.33 to 0.30 + 0.46 V.
    assert found.crevice_volts == pytest.approx((0.53, 0.76))


def test_zinc_shields_aluminium():
    found = two("zinc", "aluminium")
    assert found.corrodes.group == "zinc"
    assert found.risk is Risk.LOW
    assert found.volts[0] == 0.0  # their ranges overlap


@pytest.mark.parametrize(
    ("a", "b"), [("carbon", "carbon"), ("aluminium", "aluminium alloy"), ("", "carbon")]
)
def test_no_pair_of_one_group_or_of_none(a, b):
    assert pair(part(a), part(b)) is None


@pytest.mark.parametrize("quiet", ["glass", "plastic", "none", "foam"])
def test_insulators_make_no_pair(quiet):
    assert pair(part("carbon"), part(quiet)) is None


def test_carbon_steel_is_steel():
    assert group_of("carbon steel").name == "steel"
    assert group_of("Carbon fibre").name == "carbon"


def test_a_light_material_without_a_group_is_no_conductor_a_heavy_one_is_unknown():
    assert part_of("core", FOAM).group == "none"
    assert part_of("mast", replace(ALUMINIUM, galvanic_group="")).group == ""


@pytest.mark.parametrize(("aluminium", "carbon", "small"), [(0.01, 0.2, True), (0.2, 0.01, False)])
def test_a_small_part_of_aluminium_beside_much_carbon_is_the_bad_way_round(aluminium, carbon, small):
    found = pair(part("aluminium", "insert", aluminium), part("carbon", "skin", carbon))
    assert found.small_anode is small


def test_every_pair_has_a_care_and_a_source():
    for a, b in combinations(groups(), 2):
        assert two(a.named[0], b.named[0]).care
        assert str(a.source)
    assert "sleeve" in two("carbon", "aluminium").care
    assert "compound" in two("stainless", "aluminium").care


def test_every_shipped_metal_and_fibre_has_a_known_group():
    for e in entries():
        group = e.content.galvanic_group
        if group_of(group) is None:
            assert group == "glass" or e.kind == "core", e.name
    for cls in property_classes().values():
        assert group_of(cls.galvanic_group).name in ("steel", "stainless steel")


def test_a_lining_in_a_carbon_skin_is_one_pair_however_many_sections():
    job = lined()
    (found,) = pairs(job, sections(job, 0.0, 0.2, 0.3, 1.0))
    assert [p.name for p in found.parts] == ["mast skin", "channel lining"]
    assert found.corrodes.material == ALUMINIUM.name
    assert found.small_anode is True


def test_foam_between_makes_no_pair():
    job = lined(lining=None)
    assert pairs(job, sections(job)) == ()


def test_no_pair_of_one_material():
    job = Job(mast=mast())
    assert pairs(job, sections(job)) == ()


def drawn(*regions):
    job = Job(mast=mast())
    recipe = replace(job.mast.section, construction=Construction.DRAWN)
    return replace(job, mast=replace(job.mast, section=recipe)), [SimpleNamespace(regions=regions)]


@pytest.mark.parametrize(("end", "count"), [(0.020, 1), (0.019, 0)])
def test_only_what_touches_in_a_drawing_is_paired(end, count):
    """A pin that reaches the wall of its hollow, or ends in the foam 1 mm before it."""
    hollow, pin = shapely.box(0.0, -0.005, 0.02, 0.005), shapely.box(0.005, -0.002, end, 0.002)
    job, built = drawn(
        Region(polygon=shapely.box(-0.04, -0.01, 0.06, 0.01).difference(hollow), material=CARBON),
        Region(polygon=hollow.difference(pin), material=FOAM),
        Region(polygon=pin, material=ALUMINIUM),
    )
    assert [tuple(p.name for p in f.parts) for f in pairs(job, built)] == [("mast", "insert")] * count


def test_a_bolted_base_with_adapter_and_a_socket():
    """Every pair by hand: plate, screws, thread, adapter, mast; socket and its screws."""
    job = replace(
        lined(lining=None),
        joints=Joints(
            base=BoltedPlate(bolts=bolts(plate=ALUMINIUM, engaged=TITANIUM)),
            adapters=(
                Adapter(length=0.06, name="riser", body=Bar(along=0.1, across=0.05, material=ALUMINIUM)),
            ),
            tip=Fitted(
                engagement=0.05,
                contact_stiffness=1e7,
                chord=0.1,
                screws=bolts(plate=STAINLESS, engaged=NYLON),
            ),
        ),
    )
    found = {tuple(sorted(p.name for p in f.parts)): f.risk for f in pairs(job, sections(job))}
    assert found == {
        ("base plate", "mast skin"): Risk.HIGH,
        ("base plate", "base screws"): Risk.HIGH,
        ("base plate", "thread of the base screws"): Risk.HIGH,
        ("base screws", "thread of the base screws"): Risk.LOW,
        ("mast skin", "tip socket"): Risk.CREVICE,
    }
    assert not_stated(job.joints) == ("riser screws",)


def test_an_adapter_touches_the_mast_where_no_plate_is_between():
    joints = Joints(
        adapters=(Adapter(length=0.06, body=Bar(along=0.1, across=0.05, material=CARBON)),),
        base=Given(compliance=((0.0,) * 6,) * 6),
    )
    assert [{a.name, b.name} for a, b in joint_contacts(joints, [part("aluminium", "mast")])] == [
        {"mast", "adapter 1"}
    ]


def test_two_adapters_touch_each_other():
    joints = Joints(
        adapters=tuple(
            Adapter(length=0.06, body=Bar(along=0.1, across=0.05, material=m))
            for m in (CARBON, ALUMINIUM)
        ),
        base=BoltedPlate(bolts=bolts(plate=ALUMINIUM)),
    )
    names = [{a.name, b.name} for a, b in joint_contacts(joints, [part("aluminium", "mast")])]
    assert {"adapter 1", "adapter 2"} in names
    assert {"base plate", "adapter 2"} in names
    assert {"base plate", "adapter 1"} not in names


def test_steel_screws_in_a_carbon_plate_are_small():
    joints = Joints(base=BoltedPlate(bolts=bolts(plate=CARBON, screws="8.8")), tip=OnePiece())
    job = Job(mast=mast(material=CARBON), joints=joints)
    (found,) = pairs(job, sections(job))
    assert found.corrodes.name == "base screws"
    assert found.small_anode is True
    line = mixed_metals(job, sections(job))[0]
    assert "Small beside what it touches" in line
    assert "base screws (8.8)" in line


def test_size_is_not_held_against_a_part_that_bears_it():
    joints = Joints(base=BoltedPlate(bolts=bolts(plate=TITANIUM, engaged=TITANIUM)), tip=OnePiece())
    job = Job(mast=mast(material=CARBON), joints=joints)
    found = next(p for p in pairs(job, sections(job)) if "mast" in (part.name for part in p.parts))
    assert (found.risk, found.small_anode) == (Risk.LOW, True)
    assert not any("Small beside" in line for line in mixed_metals(job, sections(job)))


def test_one_line_for_each_two_groups_names_every_pair_once():
    joints = Joints(
        base=BoltedPlate(bolts=bolts(engaged=ALUMINIUM)), tip=BoltedPlate(bolts=bolts(engaged=ALUMINIUM))
    )
    job = Job(mast=mast(), joints=joints)
    (line,) = mixed_metals(job, sections(job))
    for name in ("base plate", "tip plate", "thread of the base screws", "thread of the tip screws"):
        assert line.count(f"{name} (") == 1
    assert "risk high" in line
    assert "0.66 to 1.00 V" in line
    assert line.endswith("take the joint apart regularly.")


def test_joints_of_the_masts_own_metal_call_for_nothing():
    joints = Joints(base=BoltedPlate(bolts=bolts(plate=STAINLESS, engaged=STAINLESS)), tip=OnePiece())
    job = Job(mast=mast(material=STAINLESS), joints=joints)
    assert mixed_metals(job, sections(job)) == ()


@pytest.mark.parametrize(
    ("material", "words"),
    [
        (ALUMINIUM, "it corrodes beside carbon, titanium, stainless steel or steel"),
        (CARBON, "steel or aluminium corrodes beside it"),
        (CARBON, "stainless steel pits in crevices on it"),
        (TITANIUM, "carbon or stainless steel may touch it"),
    ],
)
def test_without_joints_the_mast_says_what_to_avoid(material, words):
    job = Job(mast=mast(material=material))
    (line,) = mixed_metals(job, sections(job))
    assert "screws, plate, socket and adapters is not stated" in line
    assert words in line
    assert line in cautions(job, (), sections(job))


def test_an_unknown_group_is_named():
    job = Job(mast=mast(material=replace(ALUMINIUM, name="odd metal", galvanic_group="unobtanium")))
    (line,) = mixed_metals(job, sections(job))
    assert "mast (odd metal)" in line
    assert "not looked at" in line


def test_the_assembly_lists_every_contact_once():
    job = lined()
    found = assembly(job, sections(job, 0.0, 0.3))
    names = [frozenset((a.name, b.name)) for a, b in found.contacts]
    assert len(names) == len(set(names)) == 3  # skin, core and lining, each with each
    assert [p.name for p in found.blade] == ["mast skin"]


def test_pairs_as_json():
    job = lined()
    (row,) = json.loads(json.dumps(pairs_json(pairs(job, sections(job)))))
    assert row["groups"] == ["carbon", "aluminium"]
    assert row["driving_voltage_V"] == pytest.approx([0.96, 1.30])
    assert row["corrodes"] == "channel lining"
    assert row["risk"] == "high"
