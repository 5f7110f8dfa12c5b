from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from mastcheck.files.bolt_data import property_classes, threads
from mastcheck.files.mastfile import load
from mastcheck.joint import Bar, BoltedPlate, Fitted, Given, Head, Joints, OnePiece
from tests.unit.test_mastfile import GOOD, problems, written

PROFILE = Path(__file__).parents[2] / "profiles" / "aluminium-75-three-joints.toml"

BOLTS = """
size = "M8"
property_class = "A4-70"
rows = ["-45 mm", "45 mm"]
columns = ["-20 mm", "20 mm"]
plate_thickness = "10 mm"
plate_material = "EN AW-6082-T6"
torque = "12 N m"
"""
PLATE = '\n[base_joint]\nkind = "bolted-plate"\n[base_joint.bolts]' + BOLTS


def joints(tmp_path, text):
    return load(written(tmp_path, GOOD + text)).joints


def only(tmp_path, text):
    (line,) = problems(tmp_path, GOOD + text)
    return line


def test_a_mast_without_joints_is_clamped(tmp_path):
    job = load(written(tmp_path, GOOD))
    assert job.joints == Joints()
    assert not any("joint" in note for note in job.notes)


def test_the_shipped_three_joint_mast():
    job = load(PROFILE)
    j = job.joints
    assert isinstance(j.base, BoltedPlate)
    assert isinstance(j.tip, Fitted)
    (adapter,) = j.adapters
    assert adapter.length == 0.0635
    assert isinstance(adapter.body, Bar)
    assert j.base.bolts.positions == ((-0.072, -0.038), (-0.072, 0.038), (0.072, -0.038), (0.072, 0.038))
    assert j.base.bolts.tightening.torque == 13.0
    assert j.base.bolts.insert_stiffness == 200e6
    assert adapter.bolts.insert_pull_out == 7000.0
    assert j.tip.clearance == 5e-5
    assert j.tip.screws.property_class.name == "A4-80"
    assert "invented" in PROFILE.read_text(encoding="utf-8").lower()


def test_positions_and_head(tmp_path):
    text = PLATE.replace('rows = ["-45 mm", "45 mm"]\ncolumns = ["-20 mm", "20 mm"]', "").replace(
        "[base_joint.bolts]",
        '[base_joint.bolts]\npositions = [["-1 in", "0 mm"], ["1 in", "0 mm"], ["0 mm", "20 mm"]]\n'
        'head = "countersunk"\nfriction = [0.1, 0.16]\nface = ["100 mm", "60 mm"]',
    )
    bolts = joints(tmp_path, text).base.bolts
    assert bolts.positions == ((-0.0254, 0.0), (0.0254, 0.0), (0.0, 0.02))
    assert bolts.head is Head.COUNTERSUNK
    assert bolts.tightening.friction == (0.1, 0.16)
    assert bolts.face == (0.1, 0.06)


def test_a_given_joint(tmp_path):
    text = '\n[base_joint]\nkind = "given"\nroll_stiffness = "500 N m/deg"\nside_stiffness = "2 kN/mm"\n'
    job = load(written(tmp_path, GOOD + text))
    assert isinstance(job.joints.base, Given)
    expected = np.diag([0, 1 / 2e6, 0, math.radians(1) / 500, 0, 0])
    assert np.array(job.joints.base.compliance) == pytest.approx(expected)
    said = "base joint: fore-aft, axial, pitch, twist not stated, taken as rigid: a real one is softer"
    assert said in job.notes


def test_a_given_compliance(tmp_path):
    rows = np.diag([1e-7, 2e-7, 1e-8, 1e-5, 2e-5, 3e-5])
    rows[1, 3] = rows[3, 1] = -1e-6
    text = f'\n[tip_joint]\nkind = "given"\ncompliance = {rows.tolist()}\n'
    assert np.array(joints(tmp_path, text).tip.compliance) == pytest.approx(rows)
    rows[3, 1] = 0
    text = f'\n[tip_joint]\nkind = "given"\ncompliance = {rows.tolist()}\n'
    assert "must be symmetric" in only(tmp_path, text)
    rows[1, 3] = rows[3, 1] = -1e-5
    text = f'\n[tip_joint]\nkind = "given"\ncompliance = {rows.tolist()}\n'
    assert "would give out work" in only(tmp_path, text)


def test_a_socket_takes_the_masts_chord(tmp_path):
    text = '\n[tip_joint]\nkind = "socket"\nengagement = "40 mm"\ncontact_stiffness = "50 kN/mm"\n'
    job = load(written(tmp_path, GOOD + text))
    assert job.joints.tip.chord == 0.1
    assert "tip joint: contacts 100 mm from nose to tail assumed, the mast's chord there" in job.notes
    assert any("clearance sideways and fore and aft not stated" in note for note in job.notes)


def test_one_piece_and_adapters(tmp_path):
    text = (
        '\n[tip_joint]\nkind = "one-piece"\n'
        '[[adapter]]\nlength = "20 mm"\nsection = "round"\ndiameter = "60 mm"\n'
        'material = "EN AW-6082-T6"\n'
        '[[adapter]]\nlength = "63.5 mm"\ntwist_stiffness = "900 N m/deg"\n'
    )
    j = joints(tmp_path, text)
    assert j.tip == OnePiece()
    assert [a.length for a in j.adapters] == [0.02, 0.0635]
    assert j.adapters[0].body.round
    assert isinstance(j.adapters[1].body, Given)


SOCKET = '\n[tip_joint]\nkind = "socket"\nengagement = "40 mm"\ncontact_stiffness = "50 kN/mm"\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('\n[base_joint]\nkind = "bolted-plate"\n', "add a [base_joint.bolts] table"),
        ('\n[base_joint]\nkind = "socket"\n', "must be one of"),
        ('\n[tip_joint]\nkind = "socket"\nengagement = "40 mm"\n', "contact_stiffness: is required"),
        ('\n[base_joint]\nkind = "given"\n', "states no stiffness"),
        (
            '\n[base_joint]\nkind = "given"\nroll_stiffness = "5 kN/mm"\n',
            "rotational stiffness is wanted",
        ),
        (
            '\n[tip_joint]\nkind = "one-piece"\nclearance = "0.1 mm"\n',
            'does not belong to kind "one-piece"',
        ),
        ('\n[base_joint]\nkind = "bolted-plate"\nrolls = 1\n[base_joint.bolts]' + BOLTS, "unknown key"),
        (PLATE + 'preload = "5 kN"\n', "stands beside a torque"),
        (PLATE.replace('torque = "12 N m"', "friction = 0.1"), "has no torque or preload to go with"),
        (PLATE + "friction = [0.2, 0.1]\n", "the least comes first"),
        (PLATE + 'positions = [["0 mm", "0 mm"]]\n', "stands beside positions"),
        (PLATE.replace('columns = ["-20 mm", "20 mm"]\n', ""), "needs the other as well"),
        (PLATE.replace('"20 mm"]', '"-20 mm"]'), "two bolts stand in one place"),
        (PLATE.replace("EN AW-6082-T6", "EN AW-6082-T7"), "unknown material"),
        (PLATE.replace('"M8"', '"M7"'), "must be one of"),
        (PLATE + 'hole = "7.9 mm"\n', "must be more than the bolt, 8 mm"),
        (PLATE + 'hole = "14 mm"\n', "the head would pass through the hole"),
        (PLATE + 'edge_distance = "4 mm"\n', "must be more than half the hole"),
        (PLATE + 'thread_engagement = "14 mm"\n', "needs thread_material as well"),
        (PLATE + "torques = 3\n", 'did you mean "torque"?'),
        (PLATE.replace('torque = "12 N m"', "").replace('["-20 mm", "20 mm"]', '["0 mm"]'), "fold"),
        (SOCKET + "loose_screw = true\n", "there is no screw to be loose"),
        ('\n[[adapter]]\nlength = "20 mm"\n', "states neither a section nor a stiffness"),
        (
            '\n[[adapter]]\nlength = "20 mm"\nsection = "round"\nmaterial = "EN AW-6082-T6"\n',
            "is required for a round section",
        ),
        (
            '\n[[adapter]]\nlength = "20 mm"\nroll_stiffness = "9 kN m/deg"\nalong = "20 mm"\n',
            "stands beside a given stiffness",
        ),
    ],
)
def test_faults_say_what_and_where(tmp_path, text, said):
    line = only(tmp_path, text)
    assert said in line
    assert "joint" in line or "adapter" in line


def test_the_only_screw_of_a_flange_cannot_be_loose(tmp_path):
    text = '\n[tip_joint]\nkind = "flange"\nloose_screw = true\n[tip_joint.bolts]' + BOLTS.replace(
        '["-45 mm", "45 mm"]', '["0 mm"]'
    ).replace('["-20 mm", "20 mm"]', '["0 mm"]')
    assert "the only screw is loose" in only(tmp_path, text)


def test_shipped_bolts():
    assert list(threads()) == ["M4", "M5", "M6", "M8", "M10", "M12"]
    # Coarse pitches, ISO 261.
    assert [t.pitch for t in threads().values()] == pytest.approx(
        [0.7e-3, 0.8e-3, 1e-3, 1.25e-3, 1.5e-3, 1.75e-3]
    )
    assert {"8.8", "10.9", "12.9"} < set(property_classes())
    assert {f"A{a}-{s}" for a in (2, 4) for s in (50, 70, 80)} < set(property_classes())
    for t in threads().values():
        assert (
            t.root_diameter < t.minor_diameter < t.pitch_diameter < t.diameter < t.hole < t.head_diameter
        )
    for c in property_classes().values():
        assert c.yield_strength < c.ultimate


@pytest.mark.parametrize(
    ("first", "second"),
    [("spacer", "spacer"), ("adapter 2", None), ("spacer", "base joint"), ("spacer", "spacer bolts")],
)
def test_parts_of_one_name_are_refused(tmp_path, first, second):
    def adapter(name):
        stated = "" if name is None else f'name = "{name}"\n'
        return f'\n[[adapter]]\n{stated}length = "20 mm"\nroll_stiffness = "80 N m/deg"\n'

    line = only(tmp_path, adapter(first) + adapter(second))
    assert "adapter[1].name" in line
    assert "is the name of another part" in line
    assert [a.name for a in joints(tmp_path, adapter("lower") + adapter("upper")).adapters] == [
        "lower",
        "upper",
    ]
