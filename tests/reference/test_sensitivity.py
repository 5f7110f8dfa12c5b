"""Sensitivities against closed forms, laws of scale, and central differences of whole re-runs.

The beam's part is exact, and agrees with re-solved beams to the accuracy of their differences. For
masts, whose sections are differenced too, what is left comes from three places: the mesh (noise of GJ in
a thin tube, up to 0.5 % of a wall's or thickness's effect on twist); the nodes of the finite elements,
which follow the warping length of each re-run; and the differences' own curvature. A twist that is a
small difference of large parts (side force against shear centre) shows the noise of the parts.
"""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from mastcheck.beam import balance
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.model import BeamModel
from mastcheck.beam.sensitivity import (
    Changes,
    Perturbation,
    PropertyRates,
    compliance_rates,
    element_rates,
    resultant_rates,
    tip_rates,
)
from mastcheck.beam.solve import FrameModel
from mastcheck.checks.compare import compare
from mastcheck.checks.run import check
from mastcheck.checks.section_rates import SCALARS, moved, size_at
from mastcheck.checks.sensitivity import sensitivity, station_utilisation
from mastcheck.checks.sensitivity_result import SIZES, Kind
from mastcheck.job import Job
from mastcheck.joint import Given, Joints
from mastcheck.loadcase import STANDARD_CASES
from mastcheck.mast import OutlineKind
from mastcheck.report.content import content
from mastcheck.report.json import RESULT_SCHEMA, result_json
from mastcheck.report.sensitivity import rows, shown_case
from tests.beams import properties
from tests.masts import mast

L = 0.8
FRACTIONS = np.array([0, 0.25, 0.5, 0.625, 0.75, 0.875, 1.0])
BREAKS = np.array([0, 0.5, 1.0])


# The beam alone: adjoint against solving again


def stations():
    """Sections with every coupling, and a kink in the taper at half the length."""
    out = []
    for t in FRACTIONS:
        s = 1 - 0.3 * t + 0.05 * max(t - 0.5, 0)
        out.append(
            properties(
                s,
                EIxy=900 * s**4, EGamma=0.3 * s**6,
                shear_flex_xx=1e-7 / s**2, shear_flex_yy=2e-7 / s**2, shear_flex_xy=1e-8 * t,
                centroid_x=0.003 + 0.001 * t, centroid_y=-0.001 * t,
                shear_centre_x=-0.005 - 0.002 * t, shear_centre_y=0.002 * t**2,
                fibre_before=(900 * s, 30 * s, -20 * s), fibre_after=(800 * s, 33 * s, -22 * s),
                contraction=(0.05, 0.002 * s, 0.001),
            )
        )  # fmt: skip
    return tuple(out)


ROWS = stations()
COUNT = 6


def random_changes():
    """All properties at all places change at random; the last two changes also lengthen the mast."""
    rng = np.random.default_rng(1)

    def of(name):
        values = np.array([getattr(p, name) for p in ROWS])[..., None]
        return values * rng.normal(size=(*values.shape[:-1], COUNT))

    scalars = {name: of(name) for name in SCALARS}
    couplings = {name: of(name) for name in ("fibre_before", "fibre_after", "contraction")}
    for rate in (*scalars.values(), *couplings.values()):
        rate[..., -1] = 0  # the length alone
    length = np.array([0.0] * (COUNT - 2) + [0.5, 1.0])
    # Nodes crowd at the base by its warping length: that keeps its share of the length here, so that
    # the nodes keep theirs and both solves have the same elements.
    scalars["GJ"][0] = 0
    scalars["EGamma"][0] = 2 * ROWS[0].EGamma * length / L
    return Changes(properties=scalars, **couplings, length=length)


CHANGES = random_changes()


def cases(length):
    at = np.column_stack([np.full(10, -0.03), np.zeros(10), np.linspace(0.3, 0.78, 10) * length / L])
    spread = np.tile([0.0, 20.0, 0.0], (10, 1))
    load = TipLoad(lift=1000.0, arm=(0.06, -0.05, 0))
    return [
        replace(load, force=(50.0, 130.0, 0), moment=(0, 0, 20.0)),
        replace(load, aim=-1.0, moment=(3.0, -20.0, 20.0), spread=spread, spread_at=at),
        replace(load, follower=True, force=(0, 30.0, 0), moment=(5.0, 10.0, 20.0)),
    ]


JOINT = np.diag([1e-7, 2e-7, 1e-8, 3e-5, 1e-5, 5e-5])


def changed_beam(share, joint):
    """The beam changed by shares (p,) of the changes."""
    length = L + float(CHANGES.length @ share)
    own = [
        replace(
            p,
            **{name: getattr(p, name) + float(CHANGES.properties[name][i] @ share) for name in SCALARS},
            **{
                name: tuple(np.array(getattr(p, name)) + getattr(CHANGES, name)[i] @ share)
                for name in ("fibre_before", "fibre_after", "contraction")
            },
        )
        for i, p in enumerate(ROWS)
    ]
    model = BeamModel(FRACTIONS * length, own, list(BREAKS * length))
    frame = FrameModel(model, keep=[0.25 * length], elements=20, base_joint=joint, tip_joint=joint)
    return model, frame, length


def outputs(share, joint):
    model, frame, length = changed_beam(share, joint)
    state = frame.solve(cases(length))
    node = int(np.argmin(np.abs(state.z - 0.25 * length)))
    tip = np.concatenate([state.displacement[:, -1], state.rotation[:, -1]], axis=1)
    return model.mass(), frame.tip_compliance(), tip, state.resultants[:, node]


@pytest.mark.parametrize("joint", [None, JOINT], ids=["clamped", "joints"])
def test_the_beams_part_is_exact(joint, monkeypatch):
    # Newton's usual 1e-8 would be seen as 1e-5 by differences over 1e-3.
    monkeypatch.setattr(balance, "_AIM", 1e-9)
    model, frame, _ = changed_beam(np.zeros(COUNT), joint)
    rates = PropertyRates(model, FRACTIONS * L, ROWS, CHANGES)
    moves = Perturbation(elements=element_rates(frame, rates), length=rates.length)
    eq = frame.equilibrium(cases(L))
    node = int(np.argmin(np.abs(frame.z - 0.25 * L)))
    found = (
        rates.mass(),
        compliance_rates(frame, moves.elements, rates.length),
        tip_rates(frame, eq, moves),
        np.stack([resultant_rates(frame, eq, c, node, moves) for c in range(3)]),
    )
    now = outputs(np.zeros(COUNT), joint)
    step = 1e-3
    for p in range(COUNT):
        ends = [outputs(s * step * np.eye(COUNT)[p], joint) for s in (1, -1)]
        mass, c, tip, resultants = ((a - b) / (2 * step) for a, b in zip(*ends, strict=True))
        assert found[0][p] == pytest.approx(mass, rel=1e-5, abs=1e-12)
        scale = np.sqrt(np.outer(np.diag(now[1]), np.diag(now[1])))
        assert np.abs((found[1][..., p] - c) / scale).max() < 2e-5
        # A loaded mast is far from linear in its length: the differences err by 1e-5 of their own size.
        for mine, want, value in ((found[2], tip, now[2]), (found[3], resultants, now[3])):
            size = np.maximum(np.abs(value), np.abs(want)).max(axis=0)
            assert np.abs((mine[..., p] - want) / size).max() < 1e-4


# Whole masts

CASES = tuple(c for c in STANDARD_CASES if c.name in ("carve", "side-push", "pump"))


def solid():
    return replace(mast((0.150, 0.018), (0.100, 0.014)), taper_about=0.35)


def hollow():
    return replace(mast((0.150, 0.018), (0.100, 0.014), wall=0.003), taper_about=0.35)


@pytest.fixture(scope="module")
def masts():
    """Masts, their results and sensitivities."""
    out = {}
    for name, made in (("solid", solid()), ("hollow", hollow())):
        result = check(Job(mast=made, cases=CASES))
        out[name] = (made, result, sensitivity(result))
    return out


def again(made, kind, at, station, amount):
    """The result of a changed mast."""
    if kind in SIZES:
        made = moved(made, kind, amount, at=at, station=station)
    elif kind is Kind.LENGTH:
        made = replace(made, length=made.length + amount)
    else:
        material = made.section.material
        more = {kind.value: getattr(material, kind.value) * (1 + amount)}
        made = replace(made, section=replace(made.section, material=replace(material, **more)))
    return check(Job(mast=made, cases=CASES))


def governing(result, case, k):
    """Utilisation at station k, whichever governs by now."""
    return float(result.cases[case].utilisation_along_z[k])


@pytest.mark.parametrize(
    ("which", "kind", "station"),
    [
        ("solid", Kind.CHORD, 0),
        ("solid", Kind.THICKNESS, 1),
        ("solid", Kind.LENGTH, None),
        ("hollow", Kind.THICKNESS, 0),
        ("hollow", Kind.WALL, 0),
        ("hollow", Kind.G, None),
    ],
)
def test_against_central_differences_of_whole_checks(masts, which, kind, station):
    made, result, found = masts[which]
    at = None if station is None else made.stations[station].at
    # Of a whole material, the sum of what is done at its stations.
    which_changes = [
        i
        for i, c in enumerate(found.changes)
        if c.kind is kind and (station is None or c.station == station)
    ]
    step = 0.01 if station is None else 0.02 * size_at(made, kind, at)
    ends = [again(made, kind, at, station, s * step) for s in (1, -1)]

    def slope(of):
        return (of(ends[0]) - of(ends[1])) / (2 * step)

    def rate(array):
        return np.asarray(array)[..., which_changes].sum(axis=-1)

    # Noise of the mesh in a thin tube: GJ by 1e-4, the shear centre by 3e-5 of the chord, over steps of
    # 3 to 5 %. So 1 % of a rate of twist, and the twist by a side force as if on an arm of 0.1 % more.
    tube = 0.01 if which == "hollow" else 0.002
    side_force = 0.5 * result.job.rider.weight
    arm = 1e-3 * made.stations[0].chord if which == "hollow" else 0.0
    noise = arm * side_force * result.tip_compliance[5, 5]
    assert rate(found.mass) == pytest.approx(slope(lambda r: r.mass), rel=2e-3, abs=1e-9)
    c, want = rate(found.compliance), slope(lambda r: r.tip_compliance)
    for i in range(3):
        assert c[i, i] == pytest.approx(want[i, i], rel=3e-3)
    assert c[5, 5] == pytest.approx(want[5, 5], rel=tube)
    # Couplings: within 0.2 % of the terms they couple, for a change of the whole size.
    whole = 1.0 if station is None else size_at(made, kind, at)
    scale = np.sqrt(np.outer(np.diag(result.tip_compliance), np.diag(result.tip_compliance)))
    assert np.abs((c - want) * whole / scale).max() < 1e-2
    for i, case in enumerate(found.cases):
        now = result.cases[i].line
        tip = rate(case.tip)
        moves = [
            slope(lambda r, i=i, what=what: getattr(r.cases[i].line, what)[-1])
            for what in ("displacement", "rotation")
        ]
        side, twist = np.abs(now.displacement[-1, :2]).max(), abs(now.rotation[-1, 2])
        assert tip[:2] * whole == pytest.approx(moves[0][:2] * whole, rel=5e-3, abs=2e-3 * side)
        assert tip[5] * whole == pytest.approx(
            moves[1][2] * whole, rel=tube, abs=max(2e-3 * twist, noise)
        )
        k = int(result.cases[i].utilisation_along_z.argmax())
        used = slope(lambda r, i=i, k=k: governing(r, i, k))
        assert rate(case.utilisation) * whole == pytest.approx(
            used * whole, rel=1e-2, abs=2e-3 * governing(result, i, k)
        )


def test_joints_stay_as_they_are():
    """On soft joints, against a whole re-run: the section at the base governs, not the ground."""
    soft = Given(compliance=tuple(map(tuple, JOINT.tolist())))
    job = Job(mast=solid(), cases=(CASES[-1],), joints=Joints(base=soft, tip=soft))
    result = check(job)
    found = sensitivity(result)
    i = next(i for i, c in enumerate(found.changes) if c.kind is Kind.THICKNESS and c.station == 0)
    step = 0.02 * job.mast.stations[0].thickness
    ends = [
        check(replace(job, mast=moved(job.mast, Kind.THICKNESS, s * step, at=0.0, station=0)))
        for s in (1, -1)
    ]
    want = (ends[0].tip_compliance - ends[1].tip_compliance) / (2 * step)
    assert found.compliance[1, 1, i] == pytest.approx(want[1, 1], rel=3e-3)
    case, line = found.cases[0], [e.cases[0].line for e in ends]
    side = (line[0].displacement[-1, 1] - line[1].displacement[-1, 1]) / (2 * step)
    assert case.tip[1, i] == pytest.approx(side, rel=5e-3)
    assert case.z == 0.0
    used = (governing(ends[0], 0, 0) - governing(ends[1], 0, 0)) / (2 * step)
    assert case.utilisation[i] == pytest.approx(used, rel=5e-3)


@pytest.mark.parametrize("which", ["solid", "hollow"])
def test_a_mast_twice_as_large_obeys_the_law_of_scale(masts, which):
    """All lengths together: movement per force goes as 1/size, rotation per moment as 1/size^3, mass as
    size^3 (dimensions; E and G held). Euler's theorem on what each size and the length buy.
    """
    made, result, found = masts[which]
    size = np.array(
        [
            made.length if c.kind is Kind.LENGTH
            else size_at(made, c.kind, c.at) if c.kind in SIZES
            else 0.0
            for c in found.changes
        ]
    )  # fmt: skip
    c = result.tip_compliance
    assert found.mass @ size == pytest.approx(3 * result.mass, rel=1e-3)
    for i, power in ((0, -1), (1, -1), (2, -1), (3, -3), (4, -3), (5, -3)):
        assert found.compliance[i, i] @ size == pytest.approx(power * c[i, i], rel=3e-3)


@pytest.mark.parametrize("which", ["solid", "hollow"])
def test_a_stiffer_material_bends_less_by_as_much(masts, which):
    """E and G up by the same share: every first-order movement down by that share."""
    _, result, found = masts[which]
    both = [*found.total(Kind.E), *found.total(Kind.G)]
    got = found.compliance[..., both].sum(axis=-1)
    scale = np.sqrt(np.outer(np.diag(result.tip_compliance), np.diag(result.tip_compliance)))
    assert np.abs((got + result.tip_compliance) / scale).max() < 1e-6


def test_a_uniform_cantilever_by_hand():
    """Ellipse: EI = E pi a b^3 / 4, so side compliance L^3/3EI goes as L^3 chord^-1 thickness^-3; twist
    by Saint-Venant's J = pi a^3 b^3 / (a^2 + b^2). Shear and the held warping stay below 1 %.
    """
    made = mast((0.12, 0.03), (0.12, 0.03), length=1.5, outline=OutlineKind.ELLIPSE)
    result = check(Job(mast=made, cases=()))
    found = sensitivity(result)
    c = result.tip_compliance

    def power(kind, i, size):
        return found.compliance[i, i, list(found.total(kind))].sum() * size / c[i, i]

    assert power(Kind.LENGTH, 1, 1.5) == pytest.approx(3, abs=0.02)
    assert power(Kind.CHORD, 1, 0.12) == pytest.approx(-1, abs=0.01)
    assert power(Kind.THICKNESS, 1, 0.03) == pytest.approx(-3, abs=0.02)
    a, b = 0.06, 0.015
    assert power(Kind.LENGTH, 5, 1.5) == pytest.approx(1, abs=0.02)
    assert power(Kind.CHORD, 5, 0.12) == pytest.approx(-3 + 2 * a**2 / (a**2 + b**2), abs=0.03)
    assert power(Kind.THICKNESS, 5, 0.03) == pytest.approx(-3 + 2 * b**2 / (a**2 + b**2), abs=0.03)
    # EI falls by a share s of the size's: dC/C = -3 ∫ (1 - s)^2 (share) ds, so a change that fades from
    # the base, share 1 - s, has 3/4 of the whole effect, and one that fades from the tip 1/4.
    base, tip = (found.compliance[1, 1, i] for i in found.total(Kind.CHORD))
    assert base / (base + tip) == pytest.approx(0.75, abs=0.005)


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_the_report_says_what_was_found(masts, units):
    """Rows as recomputed from the rates; nothing in report or JSON where it was not asked for."""
    _, result, found = masts["hollow"]
    asked = replace(result, sensitivity=found)
    own = rows(asked, units)
    assert len(own) == 3 * 3 + 3
    case, _ = shown_case(asked)
    assert case.utilisation == max(c.utilisation for c in result.cases)
    step = 1e-3 if units == "metric" else 0.05 * 0.0254
    wall = own[6]
    assert wall.where.startswith("base")
    i = found.total(Kind.WALL)[0]
    j = [c.name for c in found.cases].index(case.case.name)
    assert wall.mass_percent == pytest.approx(100 * found.mass[i] * step / result.mass)
    side = np.sign(case.tip.side) * found.cases[j].tip[1, i]
    assert wall.side == pytest.approx(side * step * 1e3)
    assert wall.used == pytest.approx(found.cases[j].utilisation[i] * step * 100)
    assert wall.side_per_load_percent < 0 < wall.mass_percent

    page = content(compare([asked]), units=units)
    assert [len(s["table"]["rows"]) for s in page["sensitivity"]] == [12]
    assert content(compare([result]), units=units)["sensitivity"] == []


def test_the_result_file_holds_the_rates(masts):
    _, result, found = masts["hollow"]
    whole = json.loads(result_json([replace(result, sensitivity=found)]))
    published = RESULT_SCHEMA["$defs"]["sensitivity"]["properties"]["changes"]["items"]
    changes = whole["masts"][0]["sensitivity"]["changes"]
    for change in changes:
        assert set(change) == set(published["required"]) == set(published["properties"])
        for case in change["cases"]:
            assert set(case) == set(published["properties"]["cases"]["items"]["required"])
    i = found.total(Kind.LENGTH)[0]
    assert changes[i]["per"] == "mm"
    got = changes[i]["side_mm_per_100N"]
    assert got == pytest.approx(found.compliance[1, 1, i] * 1e-3 * 1e5)
    assert [c["name"] for c in changes[0]["cases"]] == [c.name for c in found.cases]
    assert "sensitivity" not in json.loads(result_json([result]))["masts"][0]


def test_the_governing_utilisation_is_the_checks_own(masts):
    for _, result, found in masts.values():
        for case, own in zip(found.cases, result.cases, strict=True):
            k = int(own.utilisation_along_z.argmax())
            assert case.z == result.z[k]
            line = own.strength_line
            now = np.array([np.interp(case.z, line.z, r) for r in line.resultants.T])
            got = station_utilisation(result.sections[k], now, case.z)
            assert got == pytest.approx(own.utilisation, rel=1e-9)
