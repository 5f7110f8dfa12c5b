"""Tolerances against closed forms, against samples of whole checks, and against published indices.

- Uniform solid ellipse: its deflection goes with 1/(E c t³) and its twist, nearly, with 1/(G c t³), so
  that relative variances add with the squares of the powers (propagation of uncertainty, JCGM 100:2008,
  5.1.2, from memory).
- Ishigami function, a = 7, b = 0.1, inputs uniform on (-π, π): variance and indices in closed form
  (Ishigami and Homma 1990; Sudret 2008, from memory; the integrals are elementary and can be redone).
- A normal load on a mast that hardly bends: the share over a limit is a normal tail.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom, norm, sobol_indices, uniform

from mastcheck.checks.run import check
from mastcheck.errors import InputError
from mastcheck.job import Job
from mastcheck.limit import Limit
from mastcheck.limit import Quantity as Moved
from mastcheck.loadcase import LoadCase
from mastcheck.mast import OutlineKind
from mastcheck.scatter import Law, Quantity, Tolerance, half_width, in_limits, standard_values
from mastcheck.search.bands import bands
from mastcheck.search.changed import changed, is_laminate
from mastcheck.search.expansion import fit, powers_of
from mastcheck.search.headline import headlines
from mastcheck.search.importance import chance, quantile_between
from mastcheck.search.sampling import draw, sample
from mastcheck.search.scatter import tolerances_of
from mastcheck.search.tolerances import tolerances
from mastcheck.source import PRACTICE
from tests.masts import mast

ONE = (
    LoadCase(name="bend", n=0.5, side_force=0.1, moment=(0.0, 0.0, 5.0)),
    LoadCase(name="push", n=0.0, side_force=0.2, side_spread=True),
)


def tolerance(quantity: Quantity, limit: float, relative: bool = True) -> Tolerance:
    return Tolerance(quantity=quantity, limit=limit, relative=relative, source=PRACTICE)


def stated(**limits: float) -> tuple[Tolerance, ...]:
    return tuple(tolerance(Quantity(name), limit) for name, limit in limits.items())


def ellipse(**scatter: float) -> Job:
    made = mast((0.120, 0.016), (0.120, 0.016), outline=OutlineKind.ELLIPSE)
    return Job(mast=made, cases=ONE, scatter=stated(**scatter))


def by_name(found):
    return {(b.name, b.case): b for b in found}


# Linear propagation


def test_relative_variances_of_an_ellipse_add_with_the_powers() -> None:
    """Clamped ends and shear keep the powers from being whole: within 2 % of each."""
    limits = {"chord": 0.01, "thickness": 0.02, "E": 0.04, "length": 0.005}
    job = ellipse(load=0.0, **limits)
    found = by_name(bands(check(job), tolerances_of(job)))
    side, twist = found["side per load", ""], found["twist per torque", ""]
    powers = {"chord": -1, "thickness": -3, "E": -1, "length": 3}
    by = dict(zip([t.quantity for t in tolerances_of(job)], side.changes, strict=True))
    for name, power in powers.items():
        assert by[Quantity(name)] / side.value == pytest.approx(power * limits[name], rel=0.02)
    deviation = {"chord": 3**-0.5, "thickness": 3**-0.5, "length": 3**-0.5, "E": 1 / 1.959964}
    variance = sum((powers[n] * limits[n] * deviation[n]) ** 2 for n in powers)
    assert side.half_width / side.value == pytest.approx(1.959964 * math.sqrt(variance), rel=0.02)
    worst = sum(abs(powers[n]) * limits[n] for n in powers)
    assert side.worst / side.value == pytest.approx(worst, rel=0.02)
    # GJ = π a³b³G/(a² + b²) of the semi-axes: c³t³/(c² + t²); the clamped root takes a little.
    share = (0.016 / 0.120) ** 2
    t = -3 + 2 * share / (1 + share)
    by = dict(zip([t.quantity for t in tolerances_of(job)], twist.changes, strict=True))
    assert by[Quantity.THICKNESS] / twist.value == pytest.approx(t * 0.02, rel=0.02)
    assert by[Quantity.LENGTH] / twist.value == pytest.approx(0.005, rel=0.04)


def test_mass_scatters_by_sizes_alone() -> None:
    job = ellipse(load=0.1, E=0.1, chord=0.01, thickness=0.02, length=0.005)
    (band,) = [b for b in bands(check(job), tolerances_of(job)) if b.name == "mass"]
    by = dict(zip([t.quantity for t in tolerances_of(job)], band.changes, strict=True))
    assert by[Quantity.LOAD] == by[Quantity.E] == 0
    for name, limit in (("chord", 0.01), ("thickness", 0.02), ("length", 0.005)):
        assert by[Quantity(name)] / band.value == pytest.approx(limit, rel=1e-3)


@pytest.mark.parametrize("wall", [None, 0.0025])
def test_rates_against_whole_checks_on_either_side(wall: float | None) -> None:
    """All of a carve of the standard cases: load by its tangent, stability by differences."""
    job = Job(mast=mast(wall=wall))
    job = replace(job, cases=tuple(c for c in job.cases if c.name in ("carve", "touchdown")))
    result, known = check(job), tolerances_of(job)
    found = bands(result, known)
    share = 0.2
    for i, t in enumerate(known):
        ends = []
        for sign in (1, -1):
            amounts = [0.0] * len(known)
            amounts[i] = sign * share
            values = headlines(check(changed(job, known, amounts)))
            ends.append({(h.name, h.case): v for h, v in values.items()})
        for band in found:
            key = band.name, band.case
            if band.case and band.worst * share > band.value:
                continue  # a movement that may go through nil, and is taken without its sign
            whole = (ends[0][key] - ends[1][key]) / (2 * share)
            # Rates of sections are good to 1 % (see test_sensitivity), whole differences curve.
            slack = 0.015 * max(map(abs, band.changes)) + 1e-9 * band.value
            assert band.changes[i] == pytest.approx(whole, rel=0.02, abs=slack), (t.quantity, key)


def test_a_laminates_stiffness_scatter_is_in_movement_and_not_in_what_its_plies_use() -> None:
    from mastcheck.files.mastfile import load

    job = load("profiles/carbon-75-layup.toml")
    job = replace(
        job, cases=job.cases[1:2], scatter=(tolerance(Quantity.E, 0.05), tolerance(Quantity.G, 0.05))
    )
    assert is_laminate(job.mast)
    known = tolerances_of(job)
    found = by_name(bands(check(job), known))
    for quantity in (Quantity.E, Quantity.G):
        i = [t.quantity for t in known].index(quantity)
        ends = []
        for sign in (1, -1):
            amounts = [0.0] * len(known)
            amounts[i] = sign * 0.1
            values = headlines(check(changed(job, known, amounts)))
            ends.append({(h.name, h.case): v for h, v in values.items()})
        for name, case in (("side", "carve"), ("twist", "carve"), ("utilisation", "carve"),
                           ("twist per torque", "")):  # fmt: skip
            band = found[name, case]
            whole = (ends[0][name, case] - ends[1][name, case]) / 0.2
            assert band.changes[i] == pytest.approx(whole, rel=0.01, abs=1e-4 * band.value)


def test_the_band_of_one_normal_input_is_its_limit_and_never_more_than_all_at_once() -> None:
    load, chord = tolerance(Quantity.LOAD, 0.1), tolerance(Quantity.CHORD, 0.01)
    assert half_width(np.array([3.0]), (load,)) == pytest.approx(3.0)
    assert half_width(np.array([3.0]), (chord,)) == pytest.approx(3.0)
    both = half_width(np.array([3.0, 4.0]), (load, load))
    assert both == pytest.approx(5.0)


# Samples


def test_standard_values_are_of_their_distribution() -> None:
    chances = (np.arange(20_000) + 0.5) / 20_000
    uniform_, normal = tolerance(Quantity.WALL, 0.1), tolerance(Quantity.E, 0.1)
    flat, bell = standard_values(uniform_, chances), standard_values(normal, chances)
    assert flat.std() == pytest.approx(3**-0.5, rel=1e-4)
    assert bell.std() == pytest.approx(1.0, rel=2e-3)
    assert abs(bell).max() <= 4
    assert (abs(in_limits(normal, bell)) <= 1).mean() == pytest.approx(0.95, abs=1e-4)
    assert in_limits(uniform_, flat) is flat


def test_a_latin_hypercube_meets_each_slice_once_and_comes_again_from_its_seed() -> None:
    known = stated(load=0.1, chord=0.01, E=0.03)
    first, again, other = draw(known, 64, 7), draw(known, 64, 7), draw(known, 64, 8)
    assert (first == again).all()
    assert not (first == other).any()
    for column, t in zip(first.T, known, strict=True):
        chances = norm.cdf(column) if t.law is Law.NORMAL else uniform.cdf(column, -1, 2)
        assert sorted((chances * 64).astype(int)) == list(range(64))


def test_samples_do_not_depend_on_the_number_of_workers() -> None:
    job = ellipse(load=0.1, E=0.03)
    known = tolerances_of(job)
    alone = sample(job, known, 10, seed=3, workers=1)
    shared = sample(job, known, 10, seed=3, workers=2)
    here = sample(job, known, 10, seed=3, workers=0)
    assert (alone.inputs == shared.inputs).all()
    assert alone.samples == shared.samples
    for a, b in zip(alone.samples, here.samples, strict=True):
        assert a.exceeded == b.exceeded
        # Sums shared between threads end in other digits, and Newton's steps end there.
        assert a.values == pytest.approx(b.values, rel=1e-6, abs=1e-9)


def test_linear_bands_against_samples_where_numbers_go_in_a_straight_line() -> None:
    """A deviation of n samples errs by 1/sqrt(2n), a mean by 1/sqrt(n): four times that."""
    n = 48
    job = ellipse(load=0.05, chord=0.005, thickness=0.005, length=0.002, E=0.01)
    known = tolerances_of(job)
    found = tolerances(check(job), samples=n, seed=1, workers=0)
    seen = 0
    for band in found.bands:
        s = band.spread
        if s is None or band.negligible:
            continue
        parts = [(c * t.deviation) ** 2 for c, t in zip(band.changes, known, strict=True)]
        deviation = math.sqrt(sum(parts))
        assert s.deviation == pytest.approx(deviation, rel=4 / math.sqrt(2 * n)), band.name
        assert s.mean == pytest.approx(band.value, abs=4 * deviation / math.sqrt(n)), band.name
        seen += 1
    assert seen > 8
    assert found.refused == 0


def test_a_normal_load_exceeds_a_limit_as_often_as_a_normal_tail() -> None:
    """Deflection in proportion to the load: P(1 + s z > r) = 1 - Φ((r - 1) / s)."""
    n, limit, ratio = 96, 0.10, 1.05
    job = Job(mast=mast((0.12, 0.016), (0.12, 0.016), outline=OutlineKind.ELLIPSE), cases=ONE[1:])
    only = dict.fromkeys(("chord", "thickness", "length", "E"), 0.0)
    job = replace(job, scatter=stated(load=limit, **only))
    tip = check(job).cases[0].tip
    assert tip is not None
    bound = Limit(quantity=Moved.SIDE_DEFLECTION, case="push", maximum=abs(tip.side) * ratio)
    found = tolerances(check(replace(job, limits=(bound,))), samples=n, workers=0)
    (over,) = [c for c in found.chances if c.name == "side deflection"]
    exact = 1 - norm.cdf((ratio - 1) / (limit / 1.959964))
    # One input, each of n slices met once: the share is exact to a slice on either side.
    assert over.share == pytest.approx(exact, abs=1 / n)
    assert over.low < exact < over.high
    assert found.any_limit is not None
    assert found.any_limit.exceeded == over.exceeded


def test_a_probability_that_was_never_seen_is_bounded_and_not_nil() -> None:
    """None of n: the bound is 1 - 0.05^(1/n), about 3/n (the rule of three)."""
    never = chance(("side", "carve"), 0.5, 0, 256)
    assert (never.low, never.high) == (0.0, pytest.approx(1 - 0.05 ** (1 / 256)))
    always = chance(("side", "carve"), 2.0, 256, 256)
    assert (always.low, always.high) == (pytest.approx(0.05 ** (1 / 256)), 1.0)
    # Clopper and Pearson's own definition: each tail of the binomial holds 2.5 %.
    some = chance(("side", "carve"), 1.0, 10, 256)
    assert binom.sf(9, 256, some.low) == pytest.approx(0.025)
    assert binom.cdf(10, 256, some.high) == pytest.approx(0.025)


def test_the_interval_of_a_quantile_holds_it_as_often_as_it_says() -> None:
    rng = np.random.default_rng(5)
    true = norm.ppf(0.9)
    held = sum(
        low <= true <= high
        for low, high in (quantile_between(rng.normal(size=100), 0.9) for _ in range(1000))
    )
    assert 940 <= held <= 1000
    assert quantile_between(rng.normal(size=30), 0.975)[1] == math.inf


def test_masts_that_fail_are_counted_and_not_left_out() -> None:
    """A touchdown near its buckling load: samples without a balance exceed, and have no upper end."""
    job = Job(mast=mast((0.09, 0.012), (0.09, 0.012), length=0.9, wall=0.0015))
    job = replace(job, cases=(LoadCase(name="down", n=1.0, offset=0.05, strength_factor=1.0),))
    factor = check(job).cases[0].buckling_factor
    near = replace(job.cases[0], n=factor * 0.92)
    near_job = replace(job, cases=(near,))
    result = check(near_job)
    assert result.cases[0].stable
    found = tolerances(result, samples=40, workers=0)
    side = by_name(found.bands)["side", "down"].spread
    assert side is not None
    assert side.count < 40
    assert side.high == math.inf
    assert side.importance.total is None
    stability = next(c for c in found.chances if c.name == "stability")
    assert stability.exceeded >= 40 - side.count > 0


# What matters most


def ishigami(x: np.ndarray) -> np.ndarray:
    return np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def test_indices_of_the_ishigami_function() -> None:
    a, b = 7.0, 0.1
    first = 0.5 * (1 + b * math.pi**4 / 5) ** 2
    second = a**2 / 8
    both = b**2 * math.pi**8 * (1 / 18 - 1 / 50)
    whole = first + second + both
    inputs = np.random.default_rng(2).uniform(-1, 1, (3000, 3))
    found = fit(inputs, ishigami(math.pi * inputs.T), [Law.UNIFORM] * 3, degree=12)
    assert found is not None
    assert found.error < 1e-3
    assert found.variance == pytest.approx(whole, rel=5e-3)
    assert found.first() == pytest.approx(np.array([first, second, 0]) / whole, abs=2e-3)
    assert found.total() == pytest.approx(np.array([first + both, second, both]) / whole, abs=2e-3)
    # As published to four digits.
    assert found.first() == pytest.approx([0.3139, 0.4424, 0.0], abs=2e-3)
    assert found.total() == pytest.approx([0.5576, 0.4424, 0.2437], abs=2e-3)


def test_indices_against_the_estimates_of_an_independent_library() -> None:
    """A quadratic of mixed inputs with interactions; scipy estimates by Saltelli's sampling."""
    laws = [Law.UNIFORM, Law.NORMAL, Law.NORMAL]

    def model(x: np.ndarray) -> np.ndarray:
        return 2 * x[0] + x[1] - 0.5 * x[2] + 1.5 * x[0] * x[1] + 0.3 * x[2] ** 2 + 4

    rng = np.random.default_rng(3)
    inputs = np.column_stack([rng.uniform(-1, 1, 200), rng.normal(size=(200, 2))])
    found = fit(inputs, model(inputs.T), laws)
    assert found is not None
    assert found.error < 1e-20
    dists = [uniform(-1, 2), norm(), norm()]
    other = sobol_indices(func=model, n=2**14, dists=dists, rng=np.random.default_rng(4))
    assert found.first() == pytest.approx(other.first_order, abs=0.01)
    assert found.total() == pytest.approx(other.total_order, abs=0.01)
    assert found(inputs) == pytest.approx(model(inputs.T))


def test_inputs_that_only_add_have_total_indices_equal_to_their_first() -> None:
    rng = np.random.default_rng(6)
    inputs = rng.uniform(-1, 1, (80, 3))
    found = fit(inputs, inputs @ [3.0, 2.0, 1.0] + 9, [Law.UNIFORM] * 3)
    assert found is not None
    assert found.first() == pytest.approx(np.array([9, 4, 1]) / 14)
    assert found.total() == pytest.approx(found.first())


def test_a_fit_that_foretells_nothing_says_so() -> None:
    rng = np.random.default_rng(7)
    inputs = rng.uniform(-1, 1, (120, 4))
    noise = fit(inputs, rng.normal(size=120), [Law.UNIFORM] * 4)
    assert noise is not None
    assert noise.error > 1
    assert fit(inputs[:20], inputs[:20, 0], [Law.UNIFORM] * 4) is None  # too few
    assert fit(inputs, np.full(120, 3.0), [Law.UNIFORM] * 4) is None  # no spread
    assert len(powers_of(7, 2)) == 36


def test_the_error_is_that_of_leaving_each_sample_out() -> None:
    rng = np.random.default_rng(8)
    inputs = rng.uniform(-1, 1, (40, 2))
    values = np.sin(3 * inputs[:, 0]) + inputs[:, 1]
    laws = [Law.UNIFORM] * 2
    found = fit(inputs, values, laws)
    assert found is not None
    missed = []
    for i in range(40):
        rest = np.delete(np.arange(40), i)
        less = fit(inputs[rest], values[rest], laws)
        assert less is not None
        missed.append((less(inputs[[i]])[0] - values[i]) ** 2)
    assert found.error == pytest.approx(np.mean(missed) / values.var(), rel=1e-9)


# What scatters


def test_stated_tolerances_come_before_assumed_ones_and_nil_leaves_one_out() -> None:
    job = Job(mast=mast(wall=0.0025), scatter=stated(E=0.01, load=0.0))
    known = {t.quantity: t for t in tolerances_of(job)}
    assert known[Quantity.E].limit == 0.01
    assert Quantity.LOAD not in known
    assert Quantity.G not in known  # a metal's Poisson's ratio is held
    assert known[Quantity.WALL].source.grade == "from memory"


def test_what_does_not_fit_the_mast_is_refused() -> None:
    with pytest.raises(InputError, match="no wall"):
        tolerances_of(Job(mast=mast(), scatter=(tolerance(Quantity.WALL, 1e-4, False),)))
    with pytest.raises(InputError, match="half of the least thickness"):
        tolerances_of(Job(mast=mast(), scatter=(tolerance(Quantity.THICKNESS, 0.007, False),)))
    none = stated(load=0.0, chord=0.0, thickness=0.0, length=0.0, E=0.0)
    with pytest.raises(InputError, match="nothing scatters"):
        tolerances(check(Job(mast=mast(), cases=ONE, scatter=none)))


def test_a_changed_job_is_off_by_what_it_says() -> None:
    job = Job(mast=mast(wall=0.0025))
    known = (
        tolerance(Quantity.LOAD, 0.1), tolerance(Quantity.WALL, 2e-4, False),
        tolerance(Quantity.CHORD, 0.01), tolerance(Quantity.LENGTH, 1e-3, False),
        tolerance(Quantity.E, 0.03), tolerance(Quantity.G, 0.02),
    )  # fmt: skip
    other = changed(job, known, [1.0, -1.0, 0.5, 1.0, -1.0, 1.0])
    assert other.rider.weight == pytest.approx(1.1 * job.rider.weight)
    strike, struck = job.cases[-1], other.cases[-1]
    assert struck.force[0] == pytest.approx(1.1 * strike.force[0])
    assert struck.moment[2] == pytest.approx(1.1 * strike.moment[2])
    assert other.mast.length == pytest.approx(0.751)
    for a, b in zip(job.mast.stations, other.mast.stations, strict=True):
        assert b.chord == pytest.approx(1.005 * a.chord)
        assert b.wall == pytest.approx(0.0023)
    old, new = job.mast.section.material, other.mast.section.material
    assert math.isclose(new.E, 0.97 * old.E)
    assert math.isclose(new.G, 0.97 * 1.02 * old.G)
