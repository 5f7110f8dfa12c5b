"""Stability against closed forms, exact equations and independent methods.

Columns, beam-columns and lateral-torsional factors were recomputed for this project from their governing
equations, with 60 digits; they agree with what is remembered of Timoshenko & Gere, Theory of Elastic
Stability (2nd ed., ch. 2 and 6), which prints three or four. Elements are taken fine enough for the
tolerance stated, and one test shows that the error falls with their square.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.linalg
from scipy.integrate import solve_bvp, solve_ivp
from scipy.optimize import brentq
from scipy.sparse.linalg import ArpackNoConvergence, eigsh

from mastcheck.beam import buckling as buckling_module
from mastcheck.beam.buckling import ModeKind, buckling, load_stiffness
from mastcheck.beam.chain import Chain
from mastcheck.beam.flutter import flutter, stands
from mastcheck.beam.kinematics import DOFS, rotation_matrix, rotation_vector
from mastcheck.beam.loads import Loads, TipLoad
from mastcheck.beam.modes import mass_matrix
from mastcheck.beam.solve import FrameModel
from tests.beams import EI, GJ, beam, properties, uniform
from tests.published import published

L = 0.8
EULER = math.pi**2 / 4 * EI / L**2
TORSION = math.sqrt(EI * GJ)
STRIP = {"EIyy": 1e8, "EGamma": GJ * 1e-12}
"""Narrow: bending before buckling is nothing, and so is warping."""


def factor(frame: FrameModel, load: TipLoad) -> float:
    return float(buckling(frame, [load]).factor[0])


def spread(force: tuple[float, float, float], points: int = 400, x: float = 0.0) -> TipLoad:
    """A load spread evenly over the length, by its total."""
    at = np.zeros((points, 3))
    at[:, 0], at[:, 2] = x, (np.arange(points) + 0.5) / points * L
    return TipLoad(spread=np.tile(np.array(force) / points, (points, 1)), spread_at=at)


# Columns.


@pytest.mark.parametrize(("elements", "rel"), [(20, 6e-4), (40, 1.5e-4), (160, 1e-5)])
def test_euler_column_and_the_order_of_its_error(elements: int, rel: float) -> None:
    """pi²/4 EI/L²; the error falls with the square of the element."""
    got = factor(FrameModel(uniform(), elements=elements), TipLoad(lift=EI / L**2))
    assert got == pytest.approx(published("ST-01"), rel=rel)


def test_column_under_its_own_weight() -> None:
    """(qL)cr = 7.8373474 EI/L² (zero of the Bessel function of order -1/3)."""
    frame = FrameModel(uniform(), elements=120)
    assert factor(frame, spread((0, 0, -EI / L**2))) == pytest.approx(published("ST-02"), rel=1e-4)


TAPERED = {
    4: (1.20302, 1.50508, 1.71014, 1.86978, 2.00231, 2.11656, 2.21753, 2.30836, 2.39115),
    3: (1.25186, 1.53399, 1.72819, 1.88108, 2.00917, 2.12047, 2.21951, 2.30916, 2.39134),
    2: (1.34971, 1.59120, 1.76385, 1.90340, 2.02275, 2.12822, 2.22346, 2.31076, 2.39170),
    1: (1.62106, 1.75214, 1.86531, 1.96753, 2.06209, 2.15087, 2.23507, 2.31551, 2.39281),
}


@pytest.mark.parametrize(
    ("n", "ratio", "m"),
    [(n, k / 10, m) for n, row in TAPERED.items() for k, m in enumerate(row, start=1)],
)
def test_tapered_column(n: int, ratio: float, m: float) -> None:
    """I ∝ (x/a)ⁿ, load at the thin end, I_tip/I_base = ratio: P = m EI_base/L²."""
    thin = ratio ** (1 / n)
    at = np.linspace(0, 1, 17)
    model = beam(*[properties((1 - (1 - thin) * t) ** (n / 4)) for t in at])
    got = factor(FrameModel(model, elements=100), TipLoad(lift=EI / L**2))
    assert got == pytest.approx(m, rel=1e-4)


@pytest.mark.parametrize("h", [0.0, 1.0, 4 / 3, None])
def test_column_loaded_toward_a_fixed_point(h: float | None) -> None:
    """P = k² EI with tan kL = -k h (h/L as given; None: dead load), solved here: pi², 4.1159, 3.7626."""
    if h is None:
        exact = math.pi**2 / 4
    elif h == 0:
        exact = math.pi**2
    else:
        exact = brentq(lambda k: math.tan(k) + k * h, math.pi / 2 + 1e-6, math.pi) ** 2
    frame = FrameModel(uniform(), elements=100)
    got = factor(frame, TipLoad(lift=EI / L**2, aim=None if h is None else -h * L))
    assert got == pytest.approx(exact, rel=1e-4)


# Beam-columns.


@pytest.mark.parametrize(
    ("share", "deflection", "moment", "secant"),
    [
        (0.1, 1.1096480, 1.0912649, 1.1374677),
        (0.3, published("ST-20a"), 1.3510653, 1.5333563),
        (0.5, 1.9862878, published("ST-21"), published("ST-22")),
        (0.8, published("ST-20b"), 4.2526172, 6.0578769),
    ],
)
def test_beam_column(share: float, deflection: float, moment: float, secant: float) -> None:
    """3(tan u - u)/u³, tan u/u, sec u; and 1/(1 - N/N_E), high by 0.13, 0.40, 0.69 and 1.1 %."""
    n = share * EULER
    frame = FrameModel(uniform(), elements=160)
    loads = [TipLoad(lift=n, force=(0, 1e-2, 0)), TipLoad(lift=n, arm=(0, 1e-6, 0))]
    state, first = frame.solve(loads), frame.solve_first_order(loads)
    amplified = state.displacement[0, -1, 1] / first[0, 1]
    assert amplified == pytest.approx(deflection, rel=1e-4)
    assert -state.resultants[0, 0, 3] / (1e-2 * L) == pytest.approx(moment, rel=1e-4)
    assert abs(state.resultants[1, 0, 3]) / (n * 1e-6) == pytest.approx(secant, rel=1e-4)
    simple = 1 / (1 - share) / amplified - 1
    # Printed to two figures; the last is 1.145 %.
    assert simple == pytest.approx(
        {0.1: 0.0013, 0.3: 0.0040, 0.5: 0.0069, 0.8: 0.01145}[share], abs=2e-4
    )


# Lateral-torsional buckling of a narrow cantilever bent in its stiff plane.


def test_tip_load_in_the_stiff_plane() -> None:
    """4.0125993 sqrt(EI GJ)/L²."""
    frame = FrameModel(uniform(**STRIP), elements=100)
    found = buckling(frame, [TipLoad(force=(TORSION / L**2, 0, 0))])
    assert found.factor[0] == pytest.approx(published("ST-10"), rel=1e-4)
    assert found.kind == (ModeKind.LATERAL_TORSIONAL,)


def test_load_spread_in_the_stiff_plane() -> None:
    """(qL)cr = 12.8537633 sqrt(EI GJ)/L² (six times the first zero of J of order -1/6)."""
    frame = FrameModel(uniform(**STRIP), elements=120)
    assert factor(frame, spread((TORSION / L**2, 0, 0))) == pytest.approx(published("ST-11"), rel=2e-4)


def test_tip_moment_of_forces_on_arms() -> None:
    """(pi/2) sqrt(EI GJ)/L: for a moment of two forces along the mast, whose torque stays perpendicular
    to the arm between them. (From EI v'' = M (φ_L - φ), GJ φ' = M v': φ_L - φ = φ_L cos kz.)
    """
    arm, moment = 0.05, TORSION / L
    pair = TipLoad(
        spread=np.array([[0, 0, -1.0], [0, 0, 1.0]]) * moment / (2 * arm),
        spread_at=np.array([[arm, 0, L], [-arm, 0, L]]),
    )
    frame = FrameModel(uniform(**STRIP), elements=100)
    assert factor(frame, pair) == pytest.approx(math.pi / 2, rel=1e-4)


def test_a_given_moment_turns_half_with_the_mast() -> None:
    """Semitangential: M = pi sqrt(EI GJ)/L, twice that of a moment of forces along the mast.

    EI v'' = M(...), GJ φ'' = -M² φ / EI, torque at the tip half of M v': cos kL = -1. So a moment
    that is really two forces must be given as such, and the code's words say so.
    """
    frame = FrameModel(uniform(**STRIP), elements=100)
    got = factor(frame, TipLoad(moment=(0, TORSION / L, 0)))
    assert got == pytest.approx(math.pi, rel=1e-4)


@pytest.mark.parametrize("height", [-0.1, -0.02, 0.02, 0.1])
def test_tip_load_above_or_below_the_centroid(height: float) -> None:
    """φ'' + k² s² φ = 0 from the tip, GJ φ' = P a φ there, φ = 0 at the base; integrated here.

    For small heights also 4.013 sqrt(EI GJ)/L² [1 - (a/L) sqrt(EI/GJ)] (Timoshenko & Gere, from memory),
    whose change with height is right within 8 % at 0.02 (3 % of slope, the rest curvature).
    """
    a = height * L

    def base(p: float) -> float:
        k2, slope = p**2 / (EI * GJ), -p * a / GJ
        run = solve_ivp(lambda s, y: [y[1], -k2 * s**2 * y[0]], (0, L), [1.0, slope], rtol=1e-11)
        return float(run.y[0, -1])

    unit = TORSION / L**2
    grid = np.linspace(1.5, 7.0, 56)
    values = [base(p * unit) for p in grid]
    k = next(i for i in range(55) if values[i] * values[i + 1] < 0)
    exact = brentq(lambda p: base(p * unit), grid[k], grid[k + 1])
    frame = FrameModel(uniform(**STRIP), elements=140)
    # "Above" is against the load: the force pushes from there through the centroid.
    load = TipLoad(spread=np.array([[unit, 0, 0]]), spread_at=np.array([[-a, 0, L]]))
    assert factor(frame, load) == pytest.approx(exact, rel=1e-4)
    if abs(height) < 0.05:
        assert exact / published("ST-10") - 1 == pytest.approx(-height * math.sqrt(EI / GJ), rel=0.08)


# Joints.


def rod(p: np.ndarray, force: float, soft: np.ndarray, stiff: np.ndarray) -> np.ndarray:
    """What is left over when an inextensible rod is shot from its base (nothing: a balanced shape).

    p: base rotation vector and place of the tip. soft: compliance of the base's spring per axis.
    """
    psi, tip = p[:3], p[3:]
    load = np.array([force, 0.0, 0.0])

    def slope(_: float, y: np.ndarray) -> np.ndarray:
        r = y[3:].reshape(3, 3)
        kappa = (r.T @ np.cross(tip - y[:3], load)) / stiff
        turn = np.array([[0, -kappa[2], kappa[1]], [kappa[2], 0, -kappa[0]], [-kappa[1], kappa[0], 0]])
        return np.concatenate([r[:, 2], (r @ turn).ravel()])

    start = np.concatenate([np.zeros(3), rotation_matrix(psi).ravel()])
    end = solve_ivp(slope, (0, L), start, rtol=1e-10, atol=1e-12).y[:, -1]
    # The spring's moment is conjugate to the rotation vector: its potential is ½ ψ·k ψ. To first order
    # in ψ that leaves half a turn of the moment.
    moment = np.cross(tip, load)
    return np.concatenate([psi - soft * (moment - 0.5 * np.cross(psi, moment)), end[:3] - tip])


@pytest.mark.parametrize(("roll", "twist"), [(0.5, 0.0), (0.0, 0.5), (1.0, 1.0)])
def test_lateral_torsional_buckling_on_a_spring(roll: float, twist: float) -> None:
    """Against an inextensible Kirchhoff rod shot from its base: the load at which that map is singular.

    roll, twist: compliance of the base over the rod's own L/EI and L/GJ. An independent method: no
    elements, no stress stiffness; equilibrium of the rod on its spring, differenced about the straight
    shape.
    """
    soft = np.array([roll * L / EI, 0.0, twist * L / GJ])
    stiff = np.array([EI, 1e8, GJ])

    def singular(p: float) -> float:
        force = p * TORSION / L**2
        at = np.array([0, 0, 0, 0, 0, L])
        step = 1e-5
        columns = [
            (rod(at + d, force, soft, stiff) - rod(at - d, force, soft, stiff)) / (2 * step)
            for d in step * np.eye(6)
        ]
        return float(np.linalg.det(np.array(columns).T))

    grid = np.linspace(0.5, 4.5, 21)
    values = [singular(p) for p in grid]
    k = next(i for i in range(20) if values[i] * values[i + 1] < 0)
    exact = brentq(singular, grid[k], grid[k + 1], xtol=1e-7)
    joint = np.diag([0, 0, 0, *soft])
    frame = FrameModel(uniform(**STRIP), elements=80, base_joint=joint)
    found = factor(frame, TipLoad(force=(TORSION / L**2, 0, 0)))
    assert found == pytest.approx(exact, rel=1e-3)
    # A spring in twist lowers it; one about the weak axis alone moves base and load alike.
    assert found < published("ST-10") * (1 + 1e-3)


def test_a_tip_spring_about_the_weak_axis_leaves_a_dead_column_as_it_is() -> None:
    """A dead thrust at the end of a spring at the tip bends nothing beyond it."""
    soft = FrameModel(uniform(), tip_joint=np.diag([0, 0, 0, L / EI, 0, 0]))
    rigid = FrameModel(uniform())
    load = TipLoad(lift=1000.0)
    assert factor(soft, load) == pytest.approx(factor(rigid, load), rel=1e-6)


# The eigenproblem, against a dense one; modes.


def skewed() -> FrameModel:
    sections = [
        properties(
            1 - 0.4 * t,
            shear_centre_x=-0.01,
            centroid_x=0.004,
            EIxy=1500.0 * (1 - 0.4 * t) ** 4,
            EGamma=0.2,
            shear_flex_xx=1e-7,
            shear_flex_yy=2e-7,
        )
        for t in np.linspace(0, 1, 5)
    ]
    return FrameModel(beam(*sections), base_joint=np.diag([1e-8, 1e-8, 1e-9, 2e-5, 1e-5, 3e-5]))


MANY = [
    TipLoad(lift=900.0),
    TipLoad(lift=900.0, arm=(0.06, -0.05, 0), aim=-1.0, force=(0, 130, 0), moment=(0, 0, 20)),
    TipLoad(lift=-500.0, force=(800.0, 0, 0)),
    TipLoad(force=(0, 300.0, 0), moment=(0, 200.0, 30.0)),
    spread((100.0, 50.0, -200.0), 30, x=0.02),
]


def test_the_sparse_eigenvalue_is_the_dense_one() -> None:
    """Banded Lanczos against LAPACK on the full matrices, to 1e-6; and the mode satisfies them."""
    frame = skewed()
    found = buckling(frame, MANY)
    stress = load_stiffness(frame, Loads(frame.z, MANY, np.ones(len(MANY)))).dense()
    free = np.ix_(frame.free, frame.free)
    scale = 1 / np.sqrt(np.diag(frame.k0)[frame.free])
    k0 = frame.k0[free] * np.outer(scale, scale)
    for i, ks in enumerate(stress):
        ks = (ks + ks.T)[free] / 2 * np.outer(scale, scale)
        dense = 1 / scipy.linalg.eigh(-ks, k0, eigvals_only=True)[-1]
        assert found.factor[i] == pytest.approx(dense, rel=1e-6)


@pytest.mark.parametrize("trouble", ["no convergence", "a higher mode"])
def test_where_the_sparse_search_fails_the_dense_one_answers(
    monkeypatch: pytest.MonkeyPatch, trouble: str
) -> None:
    """A search that gives up, or that steps over the lowest mode, must not raise the factor."""
    frame = skewed()
    sound = buckling(frame, MANY)

    def failing(operator, **asked):
        if trouble == "no convergence":
            raise ArpackNoConvergence("no convergence", np.empty(0), np.empty((0, 0)))
        values, modes = eigsh(operator, **(asked | {"k": 2}))
        lower = int(values.argmin())
        return values[[lower]], modes[:, [lower]]

    monkeypatch.setattr(buckling_module, "eigsh", failing)
    found = buckling(frame, MANY)
    assert found.factor == pytest.approx(sound.factor, rel=1e-6)
    assert found.kind == sound.kind
    assert np.nan_to_num(found.displacement) == pytest.approx(
        np.nan_to_num(sound.displacement), abs=1e-4
    )


def test_no_mode_lies_below_the_one_found() -> None:
    """Just below the factor the tangent is positive definite, just above it is not: by the pivots."""
    frame = skewed()
    factors = buckling(frame, MANY).factor
    stress = load_stiffness(frame, Loads(frame.z, MANY, np.ones(len(MANY))))

    def stands(share):
        by = (factors * share)[:, None, None, None]
        loaded = Chain(
            frame.elastic.diagonal + by * stress.diagonal, frame.elastic.above + by * stress.above
        )
        return loaded.held(frame.fixed).positive_definite()

    below, above = stands(1 - 1e-5), stands(1 + 1e-5)
    assert below.all()
    assert not above.any()


def test_kinds_of_modes_and_their_scale() -> None:
    thin = uniform(EIyy=1.2 * EI)
    frames = {
        ModeKind.SIDEWAYS: (FrameModel(uniform()), TipLoad(lift=1.0)),
        ModeKind.FORE_AFT: (FrameModel(uniform(EIyy=EI / 3)), TipLoad(lift=1.0)),
        ModeKind.SKEW: (FrameModel(uniform(EIyy=EI, EIxy=0.3 * EI)), TipLoad(lift=1.0)),
        ModeKind.LATERAL_TORSIONAL: (FrameModel(uniform(**STRIP)), TipLoad(force=(1.0, 0, 0))),
    }
    for kind, (frame, load) in frames.items():
        found = buckling(frame, [load])
        assert found.kind == (kind,)
        assert found.share.sum() == pytest.approx(1.0)
        largest = max(np.abs(found.displacement).max(), L * np.abs(found.rotation[..., 2]).max())
        assert largest == pytest.approx(1.0)
    # A column's shape is 1 - cos: half a cosine wave, its tip turned by pi/2 of the tip's movement.
    found = buckling(FrameModel(thin, elements=80), [TipLoad(lift=1.0)])
    shape = found.displacement[0, :, 1] / found.displacement[0, -1, 1]
    assert shape == pytest.approx(1 - np.cos(np.pi / 2 * found.z / L), abs=1e-3)


def test_where_nothing_buckles_there_is_no_mode() -> None:
    found = buckling(FrameModel(uniform()), [TipLoad(lift=-5.0), TipLoad(lift=5.0, follower=True)])
    assert math.isinf(found.factor[0])
    assert math.isnan(found.factor[1])
    assert found.kind == (None, None)
    assert found.mode(0) is None
    assert np.isnan(found.displacement).all()


# Stability of the shapes that Newton's method finds.


@pytest.mark.parametrize(("share", "stands_there"), [(0.98, True), (1.02, False), (1.5, False)])
def test_a_straight_column_past_its_load_is_balanced_and_unstable(
    share: float, stands_there: bool
) -> None:
    state = FrameModel(uniform(), elements=80).solve([TipLoad(lift=share * EULER)])
    assert state.converged[0]
    assert np.abs(state.displacement[0, :, :2]).max() < 1e-9
    assert state.stable[0] == stands_there


def test_bending_before_buckling_raises_the_load_as_the_rod_says() -> None:
    """A strip bent in its own plane first, EIyy = 6 EI: the tangent of the bent shape changes sign where
    an exact rod's does, a quarter above linear theory (which takes the shape as straight).

    The rod: as above, shot from a rigid base under a dead tip force, balanced bent in its plane.
    """
    ratio = 6.0
    stiff, none = np.array([EI, ratio * EI, GJ]), np.zeros(3)

    def singular(p: float) -> float:
        """Determinant of the rod's shooting map at its bent shape."""
        force = p * TORSION / L**2
        at = np.array([0, 0, 0, 0.17, 0, 0.78])
        for _ in range(20):
            columns = [
                (rod(at + d, force, none, stiff) - rod(at - d, force, none, stiff)) / 2e-5
                for d in 1e-5 * np.eye(6)
            ]
            step = np.linalg.solve(np.array(columns).T, rod(at, force, none, stiff))
            at = at - step
            if np.abs(step).max() < 1e-8:
                break
        return float(np.linalg.det(np.array(columns).T))

    exact = brentq(singular, 4.7, 5.4, xtol=1e-4)
    frame = FrameModel(uniform(EIyy=ratio * EI, EGamma=GJ * 1e-12), elements=80)
    unit = TORSION / L**2
    state = frame.solve([TipLoad(force=(unit * p * exact, 0, 0)) for p in (0.998, 1.002)])
    assert state.converged.all()
    assert state.stable.tolist() == [True, False]
    linear = factor(frame, TipLoad(force=(unit, 0, 0)))
    assert linear == pytest.approx(published("ST-10"), rel=1e-3)
    assert 1.2 < exact / linear < 1.3


# A lift that follows the tip.


def beck(elements: int, tip: float = 0.0):
    model = uniform()
    frame = FrameModel(model, elements=elements)
    mass = mass_matrix(model, frame, None)
    last = DOFS * (frame.n - 1)
    mass[range(last, last + 3), range(last, last + 3)] += tip * L
    return frame, mass


@pytest.mark.parametrize(("elements", "rel"), [(40, 1e-3), (80, 2.5e-4), (160, 6e-5)])
def test_beck_column(elements: int, rel: float) -> None:
    """P = 20.0509536 EI/L², omega = 11.0155576 sqrt(EI/m)/L²; the error falls with the square."""
    frame, mass = beck(elements)
    load = TipLoad(lift=EI / L**2, follower=True)
    found = flutter(frame, load, mass, up_to=30.0)
    assert found.flutters
    assert found.factor == pytest.approx(published("ST-30a"), rel=rel)
    assert 2 * np.pi * found.frequency * math.sqrt(L**4 / EI) == pytest.approx(
        published("ST-30b"), rel=rel
    )
    assert np.isnan(factor(frame, load))  # no static load: not "never", and not "safe"


@pytest.mark.parametrize("ratio", [0.1, 0.5, 1.0])
def test_a_mass_at_the_tip_of_becks_column(ratio: float) -> None:
    """The exact frequency equation, w = sum of exp(±a z), exp(±ib z); two of its roots meet.

    a², b² = sqrt(p²/4 + w²) ∓ p/2; w(0) = w'(0) = w''(1) = 0, w'''(1) = -ratio w² w(1).
    """

    def det(p: float, w: float) -> float:
        root = math.sqrt(p**2 / 4 + w**2)
        a, b = math.sqrt(root - p / 2), math.sqrt(root + p / 2)
        ch, sh, c, s = math.cosh(a), math.sinh(a), math.cos(b), math.sin(b)
        # Base held: A (cosh az - cos bz) + B (sinh az / a - sin bz / b).
        rows = [
            [a**2 * ch + b**2 * c, a * sh + b * s],
            [
                a**3 * sh - b**3 * s + ratio * w**2 * (ch - c),
                a**2 * ch + b**2 * c + ratio * w**2 * (sh / a - s / b),
            ],
        ]
        return rows[0][0] * rows[1][1] - rows[0][1] * rows[1][0]

    def roots(p: float) -> int:
        w = np.linspace(0.05, 25.0, 4000)
        values = np.array([det(p, float(x)) for x in w])
        return int((values[:-1] * values[1:] < 0).sum())

    low, high = 10.0, 22.0
    assert roots(low) >= 2
    assert roots(high) <= roots(low) - 2
    while high - low > 1e-3:
        middle = (low + high) / 2
        low, high = (middle, high) if roots(middle) == roots(10.0) else (low, middle)
    frame, mass = beck(80, ratio)
    found = flutter(frame, TipLoad(lift=EI / L**2, follower=True), mass, up_to=30.0)
    assert found.factor == pytest.approx(low, rel=1e-3)


def test_the_bent_shape_under_a_following_lift_is_held_to_vibration() -> None:
    frame, mass = beck(80)
    load = TipLoad(lift=EI / L**2, follower=True)
    assert stands(frame, load, 19.9, mass)
    assert not stands(frame, load, 20.2, mass)
    # A dead load's dynamic criterion is its static one.
    dead = TipLoad(lift=EI / L**2)
    assert stands(frame, dead, 2.45, mass)
    assert not stands(frame, dead, 2.49, mass)
    assert flutter(frame, dead, mass, up_to=5.0).factor == pytest.approx(published("ST-01"), rel=1e-4)


# Large rotations.


@pytest.mark.parametrize(("torque", "side"), [(900.0, 1500.0), (-600.0, 3000.0), (1500.0, 800.0)])
def test_large_rotation_of_a_rod_by_torque_and_side_force(torque: float, side: float) -> None:
    """Straight cantilever, dead tip torque and side force, against a rod solved by collocation.

    An inextensible Kirchhoff rod: r' = R e_z, R' = R [κ], κ = (R^T M) / (EI, EIyy, GJ), M' = F × r',
    M(L) given, solved by scipy's solve_bvp with unit quaternions; tips turn by 40 to 100 degrees.
    """
    stiff = np.array([EI, 4 * EI, GJ])
    force, tip_moment = np.array([0.0, side, 0.0]), np.array([0.0, 0.0, torque])

    def frame_of(q: np.ndarray) -> np.ndarray:
        w, x, y, z = q
        return np.array(
            [
                [w * w + x * x - y * y - z * z, 2 * (x * y - w * z), 2 * (x * z + w * y)],
                [2 * (x * y + w * z), w * w - x * x + y * y - z * z, 2 * (y * z - w * x)],
                [2 * (x * z - w * y), 2 * (y * z + w * x), w * w - x * x - y * y + z * z],
            ]
        )

    def slope(share: float):
        def run(_: np.ndarray, y: np.ndarray) -> np.ndarray:
            out = np.empty_like(y)
            for k in range(y.shape[1]):
                q, m = y[3:7, k], y[7:, k]
                r = frame_of(q)
                a, b, c = (r.T @ m) / stiff
                w, x, yy, z = q
                out[:3, k] = r[:, 2]
                out[3:7, k] = 0.5 * np.array(
                    [
                        -x * a - yy * b - z * c,
                        w * a + yy * c - z * b,
                        w * b + z * a - x * c,
                        w * c + x * b - yy * a,
                    ]
                )
                out[7:, k] = np.cross(share * force, r[:, 2])
            return out

        return run

    def ends(share: float):
        held = np.array([0, 0, 0, 1.0, 0, 0, 0])
        return lambda a, b: np.concatenate([a[:7] - held, b[7:] - share * tip_moment])

    z = np.linspace(0, L, 41)
    guess = np.zeros((10, 41))
    guess[2], guess[3] = z, 1.0
    for share in (0.25, 0.5, 0.75, 1.0):
        run = solve_bvp(slope(share), ends(share), z, guess, tol=1e-7, max_nodes=20_000)
        assert run.success
        guess = run.sol(z)
    end = run.sol(L)
    state = FrameModel(uniform(EIyy=4 * EI, EGamma=GJ * 1e-12), elements=80).solve(
        [TipLoad(force=tuple(force), moment=tuple(tip_moment))]
    )
    assert state.converged[0]
    place = state.displacement[0, -1] + [0, 0, L]
    assert place == pytest.approx(end[:3], abs=1e-3 * L)
    turn = rotation_vector(rotation_matrix(state.rotation[0, -1]).T @ frame_of(end[3:7]))
    assert np.linalg.norm(turn) < 3e-3
    assert np.linalg.norm(state.rotation[0, -1]) > math.radians(40)
