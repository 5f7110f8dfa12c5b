"""Sizing against optima that can be worked out by hand, and the search itself against known ones.

A uniform solid ellipse, chord c and thickness t, clamped, under a side force F at the tip:
I = π c t³ / 64, A = π c t / 4, deflection δ = F L³ / (3 E I), greatest stress F L (t/2) / I (elementary
beam theory; Euler and Bernoulli). Shear adds 3 E I / (κ G A L²) to the deflection, under 0.1 % here.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from mastcheck.checks.run import check
from mastcheck.checks.sensitivity import sensitivity
from mastcheck.errors import InputError
from mastcheck.files.mastfile import load
from mastcheck.job import Job
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import Lift, LoadCase
from mastcheck.mast import OutlineKind
from mastcheck.search.size import agree, size
from mastcheck.search.size_designs import TARGET
from mastcheck.search.size_limits import uses
from mastcheck.search.size_rates import rates
from mastcheck.search.size_space import free_sizes
from mastcheck.search.sqp import Look, Problem, Slopes, multipliers, search
from mastcheck.search.variables import varied
from tests.masts import ALUMINIUM, mast

PROFILES = Path(__file__).parents[2] / "profiles"

E, RHO = ALUMINIUM.E, ALUMINIUM.density
F, L, LIMIT = 200.0, 0.8, 0.012
CHORD, THICKNESS = 0.100, 0.016

CASE = LoadCase(name="push", force=(0.0, F, 0.0), lift=Lift.DEAD, strength_factor=1.5)
STIFF = replace(ALUMINIUM, proof_strength=None, ultimate_strength=None)
"""No strength stated, so that the limit on deflection alone is there to be met."""


def job(material=STIFF, limit=LIMIT, tip=(CHORD, THICKNESS), cases=(CASE,)):
    limits = (Limit(quantity=Quantity.SIDE_DEFLECTION, case="push", maximum=limit),)
    blade = mast((CHORD, THICKNESS), tip, length=L, outline=OutlineKind.ELLIPSE, material=material)
    return Job(mast=blade, cases=cases, limits=limits)


def area_moment(c, t):
    return math.pi * c * t**3 / 64


def mass(c, t):
    return RHO * math.pi / 4 * c * t * L


def thickness_for(c, limit=LIMIT):
    """Thickness [m] of a chord [m] at which δ is at its limit."""
    return (64 * F * L**3 / (3 * E * math.pi * c * limit * TARGET)) ** (1 / 3)


def chord_for(t, limit=LIMIT):
    return 64 * F * L**3 / (3 * E * math.pi * t**3 * limit * TARGET)


def sized(of, *asked, **more):
    return size(of, free_sizes(of, asked), **more)


# Closed-form optima


def test_thickness_alone():
    """m goes with t, δ with t⁻³: 1 % more δ saves a third of a per cent; t goes with L, so m with L²."""
    found = sized(job(), ("thickness", None))
    assert found.found
    t = thickness_for(CHORD)
    assert found.best.settings["thickness"] == pytest.approx(t, rel=1e-3)
    assert found.best.mass == pytest.approx(mass(CHORD, t), rel=1e-3)
    (governing,) = found.governing
    assert governing.use.name == ("side deflection", "push")
    assert governing.force == pytest.approx(1 / 3, rel=2e-3)
    assert found.remainder < 1e-6  # one size, one limit
    by = {p.key: p for p in found.prices}
    assert by["length"].mass / by["length"].step == pytest.approx(2 * found.best.mass / L, rel=5e-3)
    assert by["rider"].mass == pytest.approx(0, abs=1e-9)  # the force is given, not the rider's


def test_chord_alone():
    """m goes with c, δ with 1/c: all of a per cent is saved; c goes with L³, so m with L⁴."""
    found = sized(job(), ("chord", (0.06, 0.3)))
    c = chord_for(THICKNESS)
    assert found.best.settings["chord"] == pytest.approx(c, rel=1e-3)
    assert found.governing[0].force == pytest.approx(1.0, rel=2e-3)
    length = next(p for p in found.prices if p.key == "length")
    assert length.mass / length.step == pytest.approx(4 * found.best.mass / L, rel=5e-3)


def test_two_sizes_end_at_the_bound_of_the_better_one():
    """At equal δ, m goes with t⁻²: as thick as may be, and 1 % beyond that bound saves 2 %."""
    found = sized(job(), ("chord", None), ("thickness", (0.010, 0.020)))
    assert found.best.settings["thickness"] == pytest.approx(0.020, rel=1e-12)
    assert found.best.settings["chord"] == pytest.approx(chord_for(0.020), rel=1e-3)
    (bound,) = found.at_bounds
    assert (bound.key, bound.upper) == ("thickness", True)
    assert bound.force == pytest.approx(2.0, rel=5e-3)
    assert found.remainder < 1e-3
    assert agree(found)


def test_an_optimum_between_bounds():
    """Thickness at base and tip of a straight taper: the ratio r least in (1 + r) J(r)^(1/3).

    δ = F L³ / E ∫ s² / I ds with s = 1 - z/L, I = π c t_b³ (s + r (1 - s))³ / 64, so that
    J(r) = ∫ s² / (s + r (1 - s))³ ds; the mass goes with t_b (1 + r).
    """

    def J(r):
        return quad(lambda s: s**2 / (s + r * (1 - s)) ** 3, 0, 1)[0]

    r = minimize_scalar(lambda r: (1 + r) * J(r) ** (1 / 3), bounds=(0.01, 1), method="bounded").x
    base = (64 * F * L**3 * J(r) / (E * math.pi * CHORD * LIMIT * TARGET)) ** (1 / 3)
    found = sized(job(), ("base_thickness", None), ("tip_thickness", (0.002, 0.02)))
    assert found.best.mass == pytest.approx(mass(CHORD, base * (1 + r) / 2), rel=1.5e-3)
    # Masses near the least are alike: where it is, is known less well than what it is.
    assert found.best.settings["base_thickness"] == pytest.approx(base, rel=0.02)
    assert found.best.settings["tip_thickness"] == pytest.approx(r * base, rel=0.04)
    assert not found.at_bounds
    assert found.remainder < 0.01


@pytest.mark.parametrize(
    ("limit", "governs"), [(0.012, "side deflection"), (0.030, "von Mises stress, test aluminium")]
)
def test_the_limit_that_governs_is_named(limit, governs):
    """Stress 1.5 F L (t/2) / I at the base: t = sqrt(48 F L / (π c f)), where δ does not need more."""
    soft = replace(
        ALUMINIUM, proof_strength=100e6, ultimate_strength=150e6
    )  # breaks before it bends far
    found = sized(job(material=soft, limit=limit), ("thickness", None))
    assert found.governing[0].use.name == (governs, "push")
    by_stress = math.sqrt(48 * F * L / (math.pi * CHORD * soft.design_strength * TARGET))
    by_movement = thickness_for(CHORD, limit)
    assert (by_stress > by_movement) == (governs != "side deflection")
    # Stress is averaged at the mesh's nodes: the outermost is good to some 0.3 %.
    needed = max(by_stress, by_movement)
    assert found.best.settings["thickness"] == pytest.approx(needed, rel=4e-3)


# Proof, and no answer


def test_a_step_either_way_proves_it():
    found = sized(job(), ("thickness", None))
    thinner, thicker = found.steps
    assert not thinner.design.holds
    assert thinner.design.worst.used == pytest.approx(TARGET * 0.99**-3, rel=1e-3)
    assert thinner.design.mass < found.best.mass
    assert thicker.design.holds
    assert thicker.design.worst.used == pytest.approx(TARGET * 1.01**-3, rel=1e-3)
    assert thicker.design.mass == pytest.approx(1.01 * found.best.mass, rel=1e-4)


def test_none_within_the_bounds():
    """At its thickest δ is still over: by (t/t_max)³, and the bound is named."""
    found = sized(job(), ("thickness", (0.010, 0.015)))
    assert not found.found
    assert found.best.settings["thickness"] == pytest.approx(0.015, rel=1e-9)
    over = (thickness_for(CHORD) / 0.015) ** 3 * TARGET
    assert over > 1
    assert found.best.worst.used == pytest.approx(over, rel=1e-3)
    assert found.governing[0].use.name == ("side deflection", "push")
    assert found.governing[0].force == pytest.approx(1.0, rel=1e-3)
    assert [(b.key, b.upper) for b in found.at_bounds] == [("thickness", True)]
    assert found.at_bounds[0].force == pytest.approx(3.0, rel=1e-2)
    assert not found.prices


def test_a_mast_that_fails_as_given_is_made_heavier():
    weak = job(limit=0.006)
    assert check(weak).failed
    found = sized(weak, ("thickness", None))
    assert found.found
    assert found.best.mass > found.given.mass
    assert found.best.settings["thickness"] == pytest.approx(thickness_for(CHORD, 0.006), rel=1e-3)


def test_a_start_that_buckles_is_left():
    """Pressed by several times what it can bear as given; found where buckling has its factor again.

    Euler: π² E I / (4 L²) at the factor asked for, 1.5, a column clamped at one end.
    """
    press = 20e3
    pressed = LoadCase(name="push", n=0.0, force=(0.0, 0.0, -press), strength_factor=1.5)
    of = job(cases=(pressed,))
    assert not check(of).cases[0].stable
    found = sized(of, ("thickness", (0.008, 0.040)))
    needed = (1.5 * press / TARGET * 4 * L**2 / (math.pi**2 * E) * 64 / (math.pi * CHORD)) ** (1 / 3)
    assert found.found
    assert found.best.settings["thickness"] == pytest.approx(needed, rel=1e-3)
    assert found.governing[0].use.name == ("stability", "push")


def test_what_cannot_be_built_is_stepped_back_from():
    """The limit asks for more wall than there is room for: no crash, and the answer says so."""
    hollow = Job(
        mast=mast((0.100, 0.016), (0.100, 0.016), wall=0.002, length=L, outline=OutlineKind.ELLIPSE,
                  material=STIFF),
        cases=(CASE,),
        limits=(Limit(quantity=Quantity.SIDE_DEFLECTION, case="push", maximum=0.008),),
    )  # fmt: skip
    found = sized(hollow, ("wall", (0.001, 0.030)))
    assert not found.found
    assert found.best.settings["wall"] < 0.008
    assert found.best.worst.name == ("side deflection", "push")
    assert "hollow" in found.blocked or "wall" in found.blocked


# The same from anywhere, and rounded


def test_the_same_answer_from_other_masts():
    masses = []
    for start in (0.012, 0.016, 0.022):
        of = varied(job(), {"thickness": start})
        found = sized(of, ("chord", (0.05, 0.2)), ("thickness", (0.010, 0.024)))
        masses.append(found.best.mass)
    assert masses == pytest.approx([mass(chord_for(0.024), 0.024)] * 3, rel=1e-3)


def test_rounded_to_what_can_be_made():
    found = sized(job(), ("thickness", None), rounding=1e-4)
    t = thickness_for(CHORD)
    assert found.rounded.settings["thickness"] == pytest.approx(math.ceil(t * 1e4) / 1e4, abs=1e-9)
    assert found.rounded.holds
    assert found.rounded.mass >= found.best.mass


# Rates


def test_rates_are_those_of_the_stations_summed():
    """Against ``check --sensitivity``: a wall everywhere, and a chord at the base, by the chain rule."""
    of = load(PROFILES / "aluminium-75-wide.toml")
    free = free_sizes(of, [("wall", None), ("base_chord", None)])
    result = check(of)
    mine = rates(of, {f.key: f.now for f in free}, free, result)
    other = sensitivity(result)
    walls = [i for i, c in enumerate(other.changes) if c.kind == "wall"]
    chord = next(i for i, c in enumerate(other.changes) if c.kind == "chord" and c.station == 0)

    def both(rate):
        return np.array([rate[walls].sum() * 0.003, rate[chord] * 0.150])

    assert mine.mass == pytest.approx(both(other.mass) / result.mass, rel=2e-3)
    carve = next(c for c in other.cases if c.name == "carve")
    tip = next(c for c in result.cases if c.case.name == "carve").tip
    side = both(carve.tip[1]) / tip.side
    assert mine.used["side deflection", "carve"] == pytest.approx(side, rel=5e-3)
    push = next(c for c in other.cases if c.name == "side-push")
    used = uses(result)["plate buckling stress", "side-push"].used
    plates = both(push.utilisation) / used
    assert mine.used["plate buckling stress", "side-push"] == pytest.approx(plates, rel=1e-2)


@pytest.mark.parametrize("key", ["ply_1_angle", "layup"])
def test_rates_of_a_layup(key):
    """Against differences of whole checks over a third of the step, which err on their own."""
    of = load(PROFILES / "carbon-75-layup.toml")
    limits = (Limit(quantity=Quantity.TWIST, case="carve", maximum=math.radians(2)),
              Limit(quantity=Quantity.SIDE_DEFLECTION, case="carve", maximum=0.04))  # fmt: skip
    of = replace(of, limits=limits, cases=tuple(c for c in of.cases if c.name == "carve"))
    free = free_sizes(of, [(key, None)])
    (f,) = free
    mine = rates(of, {key: f.now}, free, check(of))
    step = f.step / 3
    ends = [check(varied(of, {key: f.value(f.coordinate(f.now) + s * step)})) for s in (1, -1)]
    by_mass = (math.log(ends[0].mass) - math.log(ends[1].mass)) / (2 * step)
    assert mine.mass[0] == pytest.approx(by_mass, rel=5e-3, abs=1e-6)
    compared = 0
    for name, rate in mine.used.items():
        a, b = (uses(end)[name].used for end in ends)
        if name[0] in ("side deflection", "twist"):
            compared += 1
            assert rate[0] == pytest.approx(math.log(a / b) / (2 * step), rel=0.02, abs=2e-3), name
    assert compared


def test_a_layup_is_sized():
    """No more cloth than holds: a hundredth less fails, by a check of its own."""
    of = load(PROFILES / "carbon-75-layup.toml")
    limits = (Limit(quantity=Quantity.SIDE_DEFLECTION, case="carve", maximum=0.02),)
    of = replace(of, limits=limits, cases=tuple(c for c in of.cases if c.name == "carve"))
    found = sized(of, ("layup", None))
    assert found.found
    at = found.best.settings["layup"]
    assert not check(varied(of, {"layup": at})).failed
    assert check(varied(of, {"layup": 0.985 * at})).failed


# What may be asked for


def test_bad_keys_are_told_all_at_once():
    of = job()
    with pytest.raises(InputError) as caught:
        free_sizes(
            of, [("wal", None), ("wall", None), ("rider", None), ("chord", None), ("chord", None)]
        )
    words = str(caught.value)
    for part in ("did you mean wall", "has no", "--rider", "given twice"):
        assert part in words


# The search alone, on problems whose answers are known


def _problem(f, g, cs, gs, low, high, **more):
    def look(y):
        return Look(f=f(y), c={i: c(y) for i, c in enumerate(cs)})

    def slopes(y):
        return Slopes(f=np.array(g(y)), c={i: np.array(d(y)) for i, d in enumerate(gs)})

    return Problem(look=look, slopes=slopes, low=np.array(low), high=np.array(high), **more)


CURVED = _problem(
    lambda y: y[0] + y[1], lambda _: [1.0, 1.0],
    [lambda y: y[0] ** 2 + y[1] ** 2 - 2], [lambda y: [2 * y[0], 2 * y[1]]],
    [-5.0, -5.0], [5.0, 5.0],
)  # fmt: skip
"""Nocedal and Wright, example 12.1: least of x + y in a circle of radius √2 is at (-1, -1), λ = 1/2."""


@pytest.mark.parametrize("start", [(0.0, 0.0), (3.0, -2.0), (-1.2, 1.1)])
def test_least_in_a_circle(start):
    end = search(CURVED, np.array(start))
    assert end.y == pytest.approx([-1, -1], abs=5e-3)
    pull = multipliers(CURVED, end.y, end.look, end.slopes)
    assert pull.forces[0] == pytest.approx(0.5, rel=1e-2)
    assert pull.remainder < 0.01


def test_a_place_that_cannot_be_seen_is_not_entered():
    def look(y):
        return None if y[0] < -0.3 else CURVED.look(y)

    end = search(replace(CURVED, look=look), np.array([1.0, 0.0]))
    assert -0.3 <= end.y[0] < -0.29
    assert end.blind


def test_least_of_the_greatest_where_none_holds():
    """Of y - 1 and 2 - y, both to be below 0, the greater is least half way, at ½ each."""
    problem = _problem(
        lambda y: y[0], lambda _: [1.0],
        [lambda y: y[0] - 0.5, lambda y: 1.5 - y[0]], [lambda _: [1.0], lambda _: [-1.0]],
        [-5.0], [5.0], f_counts=False,
    )  # fmt: skip
    end = search(problem, np.array([-2.0]))
    assert end.y == pytest.approx([1.0], abs=1e-3)
    pull = multipliers(problem, end.y, end.look, end.slopes)
    assert pull.forces == pytest.approx({0: 0.5, 1: 0.5}, abs=1e-3)
