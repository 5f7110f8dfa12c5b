"""What is assumed to scatter, a job with it changed, and bands where a mast has not every number."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from mastcheck.checks.run import check
from mastcheck.drawn import Drawing, DrawnLoop
from mastcheck.errors import InputError
from mastcheck.job import Job
from mastcheck.loadcase import Lift, LoadCase
from mastcheck.mast import Channel, Construction, Mast
from mastcheck.scatter import Quantity, Tolerance
from mastcheck.search.bands import bands
from mastcheck.search.changed import changed
from mastcheck.search.headline import headlines
from mastcheck.search.sampling import _solve
from mastcheck.search.scatter import limits_at, tolerances_of
from mastcheck.source import PRACTICE
from tests.kept import FOAM, LINER, METAL
from tests.masts import ALUMINIUM, mast

WOOD = replace(ALUMINIUM, name="timber", E=11e9, G=0.7e9, density=600.0, galvanic_group="")
SIZES = (0.12, 0.016)


def tolerance(quantity: Quantity, limit: float, *, relative: bool = True) -> Tolerance:
    return Tolerance(quantity=quantity, limit=limit, relative=relative, source=PRACTICE)


def job(made: Mast, *cases: LoadCase, **scatter: float) -> Job:
    return Job(
        mast=made,
        cases=cases,
        scatter=tuple(tolerance(Quantity(name), limit) for name, limit in scatter.items()),
    )


def assumed(made: Mast) -> dict[Quantity, Tolerance]:
    return {t.quantity: t for t in tolerances_of(Job(mast=made))}


def test_of_a_material_of_no_known_kind_more_scatter_is_assumed_than_of_metal() -> None:
    wood, metal = (assumed(mast(SIZES, SIZES, wall=0.003, material=m)) for m in (WOOD, METAL))
    assert "no kind that is known" in wood[Quantity.WALL].source.title
    assert wood[Quantity.E].limit > metal[Quantity.E].limit
    # 8 % of 3 mm, against a profile's 0.25 mm for walls up to 3 mm.
    assert limits_at(mast(SIZES, SIZES, wall=0.003), wood[Quantity.WALL]) == pytest.approx([0.24e-3] * 2)
    assert limits_at(mast(SIZES, SIZES, wall=0.003), metal[Quantity.WALL]) == (0.25e-3, 0.25e-3)


def test_what_has_no_wall_has_no_tolerance_on_it() -> None:
    assert Quantity.WALL not in assumed(mast(SIZES, SIZES, material=WOOD))
    for limit, relative, found in ((0.05, True, '"5 %"'), (2e-4, False, '"0.2 mm"')):
        stated = tolerance(Quantity.WALL, limit, relative=relative)
        with pytest.raises(InputError, match="this mast has no wall") as caught:
            tolerances_of(Job(mast=mast(SIZES, SIZES), scatter=(stated,)))
        (problem,) = caught.value.problems
        assert (problem.key, problem.found) == ("tolerances.wall", found)


def test_stiffer_material_is_stiffer_in_every_part_and_each_stays_one() -> None:
    """The solver tells materials apart by identity: what was one must not become two."""
    ring = np.array([[0.1, 0.0], [0.05, 0.008], [0.0, 0.0], [0.05, -0.008]])
    drawing = Drawing(
        loops=(
            DrawnLoop(points=ring, parent=None, fill=METAL),
            DrawnLoop(points=ring / 2, parent=0, fill=None),
            DrawnLoop(points=ring / 4, parent=1, fill=METAL),
            DrawnLoop(points=ring / 8, parent=1, fill=FOAM),
        ),
        chord=0.1, thickness=0.016,
    )  # fmt: skip
    made = mast((0.1, 0.016), (0.1, 0.016), material=METAL)
    made = replace(
        made,
        stations=tuple(replace(s, outline=drawing) for s in made.stations),
        section=replace(
            made.section, outline=drawing, construction=Construction.DRAWN,
            channels=(Channel(at=0.3, bore=0.004, material=LINER), Channel(at=0.6, bore=0.004)),
        ),
    )  # fmt: skip
    off = changed(Job(mast=made), (tolerance(Quantity.E, 0.04),), (0.5,)).mast
    outline = off.section.outline
    assert isinstance(outline, Drawing)
    assert all(s.outline is outline for s in off.stations)
    skin, void, island, core = (loop.fill for loop in outline.loops)
    assert skin is island is off.section.material
    assert void is None
    assert skin is not None
    assert core is not None
    liner, none = (c.material for c in off.section.channels)
    assert none is None
    assert liner is not None
    for now, before in ((skin, METAL), (core, FOAM), (liner, LINER)):
        moduli = now.E, now.G
        assert moduli == pytest.approx((1.02 * before.E, 1.02 * before.G))
        assert now.density == before.density
    # G alone.
    twisting = changed(Job(mast=made), (tolerance(Quantity.G, 0.04),), (-1.0,)).mast.section.material
    moduli = twisting.E, twisting.G
    assert moduli == pytest.approx((METAL.E, 0.96 * METAL.G))


PUSH = LoadCase(name="push", n=2.0, side_force=0.1, moment=(0.0, 0.0, 5.0))
FOLLOWING = replace(PUSH, lift=Lift.FOLLOWER)


def test_without_strengths_and_with_lift_that_follows_bands_leave_out_what_is_not_known() -> None:
    unknown = replace(ALUMINIUM, proof_strength=None, ultimate_strength=None)
    made = job(mast(SIZES, SIZES, material=unknown), FOLLOWING, E=0.03, G=0.05, load=0.1, thickness=0.01)
    result = check(made)
    assert not any(head.name == "utilisation" for head in headlines(result))
    found = {(b.name, b.case): b for b in bands(result, tolerances_of(made))}
    assert {name for name, case in found if case} == {"side", "fore-aft", "twist"}
    order = [t.quantity for t in tolerances_of(made)]
    # A torque at the tip turns a uniform mast by T L / GJ, and GJ goes nearly with G t³.
    twist = dict(zip(order, found["twist per torque", ""].changes, strict=True))
    value = found["twist per torque", ""].value
    assert twist[Quantity.E] / value == pytest.approx(-0.03, rel=0.02)
    assert twist[Quantity.G] / value == pytest.approx(-0.05, rel=0.04)
    assert twist[Quantity.LOAD] == 0
    side = dict(zip(order, found["side", "push"].changes, strict=True))
    assert side[Quantity.LOAD] / found["side", "push"].value == pytest.approx(0.1, rel=0.1)


def test_buckling_changes_with_the_shear_modulus_as_whole_checks_say() -> None:
    made = job(mast((0.16, 0.008), (0.16, 0.008), length=0.9), PUSH, G=0.05)
    known = tolerances_of(made)
    result = check(made)
    (band,) = [b for b in bands(result, known) if b.name == "stability factor"]
    k = [t.quantity for t in known].index(Quantity.G)
    ends = []
    for sign in (1, -1):
        amounts = [0.0] * len(known)
        amounts[k] = 0.5 * sign
        off = check(changed(made, known, amounts))
        (head,) = [h for h in headlines(off) if h.name == "stability factor"]
        ends.append(headlines(off)[head])
    assert band.changes[k] == pytest.approx(ends[0] - ends[1], rel=0.02, abs=1e-4 * band.value)


def test_where_every_case_buckles_only_what_needs_no_balance_has_a_band() -> None:
    heavy = replace(PUSH, n=60.0)
    made = job(mast((0.1, 0.01), (0.1, 0.01), length=0.95), heavy, E=0.03)
    result = check(made)
    assert [case.stable for case in result.cases] == [False]
    found = {b.name for b in bands(result, tolerances_of(made))}
    assert found == {
        "mass", "side per load", "fore-aft per load", "twist per torque", "stability factor"
    }  # fmt: skip


def test_a_case_that_nothing_presses_has_no_stability_to_tell() -> None:
    result = check(job(mast(SIZES, SIZES), PUSH))
    endless = replace(result.cases[0], buckling_factor=math.inf, flutter_factor=None, utilisation=None)
    names = {head.name for head in headlines(replace(result, cases=(endless,))) if head.case}
    assert names == {"side", "fore-aft", "twist"}


def test_a_sample_that_cannot_be_built_is_one_that_failed_and_says_why() -> None:
    # 7.6 mm of wall in 18 mm of blade: with 20 % more the two meet in the middle.
    made = Job(mast=mast((0.12, 0.018), (0.12, 0.018), wall=0.0076), cases=(PUSH,))
    scatter = (tolerance(Quantity.WALL, 0.1),)
    (bad,) = _solve(made, scatter, np.array([[2.0]]))
    assert bad.failed
    assert "void" in bad.refused
    assert not bad.values
