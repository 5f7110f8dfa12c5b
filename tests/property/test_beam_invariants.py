"""What must hold for any mast: reciprocity, energy, invariance, convergence. No table needed.

Rules for a moved origin and turned axes are derived from the definitions in ``section/taper.py``.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import j1
from shapely import Polygon
from shapely.affinity import rotate, scale, translate

from mastcheck.beam.buckling import buckling
from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.kinematics import deformation, rotation_matrix, rotation_vector, skew
from mastcheck.beam.loads import Loads, TipLoad
from mastcheck.beam.model import BeamModel
from mastcheck.beam.solve import FrameModel
from mastcheck.checks.stations import solve_stations
from mastcheck.outline import contour
from mastcheck.section.model import Motion, Region
from mastcheck.section.solve import solve_section
from tests.beams import beam, properties
from tests.masts import ALUMINIUM, mast

small = st.floats(-1, 1)
seeds = st.integers(0, 10_000)


def sections(taper, a, b, *, count=9, nu=0.0):
    """Unsymmetric sections with every coupling there is, of sizes from 1 down to ``taper``."""
    out = []
    for t in np.linspace(0, 1, count):
        s = 1 - (1 - taper) * t
        out.append(
            properties(
                s,
                EIxy=2500 * a * s**4,
                EGamma=0.2 * s**6,
                shear_flex_xx=1e-7 / s**2, shear_flex_yy=2e-7 / s**2, shear_flex_xy=4e-8 * b / s**2,
                centroid_x=0.004 * b * s, centroid_y=0.003 * a * s,
                shear_centre_x=-0.006 * a * s + 0.002 * t, shear_centre_y=0.002 * b * s,
                fibre_before=(2e3 * b * s, 25 * a * s**3, 400 * b * s**3),
                fibre_after=(2e3 * b * s, 25 * a * s**3, 400 * b * s**3),
                contraction=(0.05 * a, nu * 0.003 * b * s, nu * 0.002 * a * s),
            )
        )  # fmt: skip
    return out


def spd(seed, sizes):
    """A joint's compliance: symmetric, positive, with couplings."""
    q, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(6, 6)))
    d = np.diag(np.sqrt(sizes))
    return d @ q @ np.diag(np.linspace(0.3, 1, 6)) @ q.T @ d


def scaled(c):
    return np.sqrt(np.outer(np.diag(c), np.diag(c)))


# Reciprocity


@settings(max_examples=25)
@given(taper=st.floats(0.5, 1.5), a=small, b=small, seed=seeds, held=st.booleans())
def test_reciprocity_with_taper_coupling_and_joints(taper, a, b, seed, held) -> None:
    """Maxwell and Betti: C is symmetric, through both ways to it, and positive."""
    model = beam(*sections(taper, a, b, nu=1.0), tip_restrained=held)
    sizes = np.array([1e-7, 1e-7, 1e-8, 1e-4, 5e-5, 1e-4])
    joined = FrameModel(model, base_joint=spd(seed, sizes), tip_joint=spd(seed + 1, sizes))
    for c in (tip_compliance(model), joined.tip_compliance()):
        assert np.abs((c - c.T) / scaled(c)).max() < 1e-7
        assert np.linalg.eigvalsh(c / scaled(c)).min() > 0


def increments(frame, load, push=1.0):
    """(2, 2) further side and fore-aft movement of a loaded tip by a further push each way."""
    extra = [np.array([p, 0, 0]) for p in (push, -push)] + [np.array([0, p, 0]) for p in (push, -push)]
    state = frame.solve([replace(load, force=tuple(np.array(load.force) + e)) for e in extra])
    d = state.displacement[:, -1, :2]
    return np.stack([d[0] - d[1], d[2] - d[3]]) / (2 * push)


def test_a_loaded_mast_is_reciprocal_under_conservative_loads_only() -> None:
    frame = FrameModel(beam(*sections(0.7, 0.8, -0.6)))
    load = TipLoad(lift=900.0, arm=(0.06, -0.05, 0), force=(200.0, 130.0, 0))
    for kept in (load, replace(load, aim=-1.0)):
        c = increments(frame, kept)
        assert abs(c[0, 1] - c[1, 0]) < 1e-4 * np.sqrt(c[0, 0] * c[1, 1])
    c = increments(frame, replace(load, follower=True))
    assert abs(c[0, 1] - c[1, 0]) > 1e-3 * np.sqrt(c[0, 0] * c[1, 1])


# Energy


def loads_of(rng):
    """A dead lift and one toward the rider, with dead forces at the tip and along the mast."""
    at = np.column_stack([np.full(8, -0.03), np.full(8, 0.01), np.linspace(0.3, 0.78, 8)])
    spread = rng.normal(size=(8, 3)) * [5, 15, 5]
    common = {"lift": 800.0, "arm": (0.06, -0.04, 0.02), "spread": spread, "spread_at": at}
    return [
        TipLoad(**common, force=(80.0, 60.0, -40.0)),
        TipLoad(**common, force=(20.0, -60.0, 30.0), aim=-1.0),
    ]


def potential(load, case, x, r):
    """Load potential V of one case, from its definition: force = -dV/dx."""
    wing = x[-1] + r[-1] @ load.arm[case]
    out = -np.sum(load.force[case] * x) - np.einsum("nij,nij->", r @ load.couple[case], _where_dead())
    if load.aimed[case]:
        return out + load.lift[case] * np.linalg.norm(load.aim[case] - wing)
    return out + load.lift[case] * wing[2]


def _where_dead():
    return np.eye(3)[None]  # the couple's trace is sum of (R arm) . force


def strain_energy(frame, x, r, phi):
    d, _ = deformation(x, r, phi, frame.span)
    return 0.5 * np.einsum("ei,eij,ej->", d, frame.k, d)


@settings(max_examples=8)
@given(taper=st.floats(0.6, 1.3), a=small, b=small, seed=seeds)
def test_equilibrium_is_a_stationary_point_of_the_energy(taper, a, b, seed) -> None:
    """Along any direction the total energy has no slope, and it curves upward: a stable balance."""
    rng = np.random.default_rng(seed)
    frame = FrameModel(beam(*sections(taper, a, b)), elements=10)
    cases = loads_of(rng)
    eq = frame.equilibrium(cases)
    load = Loads(frame.z, cases, np.ones(2))
    pulls = load.vector(eq.x, eq.r)
    assert eq.converged.all()
    stiff = np.sqrt(np.diag(frame.k0)).reshape(frame.n, 7)
    for case in range(2):
        for _ in range(4):
            way = np.where(frame.fixed, 0.0, rng.normal(size=(frame.n, 7))) / stiff

            def energy(t, case=case, way=way):
                x = eq.x[case] + t * way[:, :3]
                r = rotation_matrix(t * way[:, 3:6]) @ eq.r[case]
                strain = strain_energy(frame, x, r, eq.phi[case] + t * way[:, 6])
                return strain + potential(load, case, x, r)

            up, here, down = energy(1e-3), energy(0.0), energy(-1e-3)
            slope, curve = (up - down) / 2e-3, (up - 2 * here + down) / 1e-6
            assert curve > 0
            assert abs(slope) < 1e-4 * np.abs(pulls[case] * way.ravel()).sum()


@pytest.mark.parametrize("aim", [None, -1.0])
def test_work_of_the_loads_is_the_strain_energy(aim) -> None:
    """First order: half of load times movement. Second order: work along the loading path, by parts."""
    frame = FrameModel(beam(*sections(0.7, 0.8, -0.6)))
    load = replace(loads_of(np.random.default_rng(1))[0], aim=aim)
    nodal = Loads(frame.z, [load], np.ones(1)).vector(*frame.unloaded(1)[:2]).reshape(1, frame.n, 7)
    u = frame.linear(nodal)
    d = frame.strains(u)[0]
    assert np.sum(nodal * u) / 2 == pytest.approx(
        0.5 * np.einsum("ei,eij,ej->", d, frame.k, d), rel=1e-6
    )

    shares = np.linspace(0, 1, 9)
    eq = frame.equilibrium([load] * 9, list(shares))
    whole = Loads(frame.z, [load], np.ones(1))
    v = np.array([potential(whole, 0, eq.x[i], eq.r[i]) for i in range(9)])
    simpson = np.array([1, 4, 2, 4, 2, 4, 2, 4, 1]) / 24
    work = -(v[-1] - simpson @ v)  # -∫ share dV
    assert work == pytest.approx(strain_energy(frame, eq.x[-1], eq.r[-1], eq.phi[-1]), rel=1e-4)


def closed_path_work(load, path, steps=400):
    """Work [J] of a tip load round a closed path of tip positions and rotations."""
    loads = Loads(np.array([0.0, 0.8]), [load], np.ones(1))
    t = np.arange(steps) / steps
    x, r = path(t)
    ahead_x, ahead_r = np.roll(x, -1, axis=0), np.roll(r, -1, axis=0)
    turn = rotation_vector(ahead_r @ np.swapaxes(r, -1, -2))
    work = 0.0
    for i in range(steps):
        half = rotation_matrix(turn[i] / 2) @ r[i]
        at = np.array([[0, 0, 0], (x[i] + ahead_x[i]) / 2])[None]
        f = loads.vector(at, np.stack([np.eye(3), half])[None]).reshape(2, 7)[1]
        work += f[:3] @ (ahead_x[i] - x[i]) + f[3:6] @ turn[i]
    return work


@settings(max_examples=6)
@given(seed=seeds)
def test_conservative_loads_do_no_work_round_a_closed_path(seed) -> None:
    rng = np.random.default_rng(seed)
    wave = rng.normal(size=(2, 2, 3)) * np.array([0.05, 0.4])[:, None, None]

    def path(t):
        p = 2 * np.pi * t[:, None]
        move, turn = (w[0] * np.sin(p) + w[1] * (1 - np.cos(p)) for w in wave)
        return np.array([0, 0, 0.8]) + move, rotation_matrix(turn)

    dead = TipLoad(lift=900.0, arm=(0.06, -0.05, 0.1), force=(50.0, 130.0, 20.0))
    for load in (dead, replace(dead, aim=-1.0)):
        assert abs(closed_path_work(load, path)) < 1e-3
    assert abs(closed_path_work(replace(dead, follower=True), path)) > 0.1


def test_a_follower_does_the_work_its_closed_form_says() -> None:
    # x = a cos p while the tip pitches by b sin p: ∮ -P sin(b sin p) dx = 2 pi P a J1(b).
    P, a, b = 900.0, 0.05, 0.6

    def path(t):
        p = 2 * np.pi * t
        zero = np.zeros_like(p)
        x = np.column_stack([a * np.cos(p), zero, zero + 0.8])
        return x, rotation_matrix(np.column_stack([zero, b * np.sin(p), zero]))

    work = closed_path_work(TipLoad(lift=P, follower=True), path, steps=2000)
    assert work == pytest.approx(2 * np.pi * P * a * j1(b), rel=1e-5)


def test_the_exact_tangent_is_unsymmetric_only_where_no_potential_is() -> None:
    """Against central differences of the out-of-balance forces."""
    frame = FrameModel(beam(*sections(0.7, 0.8, -0.6)), elements=5)
    dead = TipLoad(lift=900.0, arm=(0.06, -0.05, 0), force=(50.0, 130.0, 0))
    cases = [
        dead,
        replace(dead, aim=-1.0),
        replace(dead, follower=True),
        replace(dead, moment=(5.0, -20.0, 30.0)),
    ]
    eq = frame.equilibrium(cases)
    load = Loads(frame.z, cases, np.ones(4))

    def balance(x, r, phi):
        d, g = deformation(x, r, phi, frame.span)
        nodal = np.einsum("ceij,cei->cej", g, np.einsum("eij,cej->cei", frame.k, d))
        out = load.vector(x, r).reshape(4, frame.n, 7)
        out[:, :-1] -= nodal[..., :7]
        out[:, 1:] -= nodal[..., 7:]
        return out.reshape(4, -1)

    k = eq.tangent.dense()
    size = np.sqrt(np.abs(np.outer(np.diag(frame.k0), np.diag(frame.k0)))) + 1e-30
    free = np.ix_(frame.free, frame.free)
    h = 1e-6
    found = np.zeros_like(k)
    for j in frame.free:
        node, dof = divmod(int(j), 7)
        ends = []
        for s in (h, -h):
            x, r, phi = eq.x.copy(), eq.r.copy(), eq.phi.copy()
            if dof < 3:
                x[:, node, dof] += s
            elif dof < 6:
                r[:, node] = rotation_matrix(s * np.eye(3)[dof - 3]) @ r[:, node]
            else:
                phi[:, node] += s
            ends.append(balance(x, r, phi))
        found[:, :, j] = -(ends[0] - ends[1]) / (2 * h)
    for case, symmetric in enumerate((True, True, False, False)):
        own = found[case][free]
        assert np.abs((k[case][free] - own) / size[free]).max() < 1e-6
        lopsided = np.abs((own - own.T) / size[free]).max()
        assert (lopsided < 1e-6) if symmetric else (lopsided > 1e-5)


# Where the stacking line lies, and how the axes are turned


def shifted(p, a, b, nu=0.0):
    """Properties of the section moved by (a, b).

    Torque of unit strains h = ∫ E (1, y, -x) ∂w/∂z: h_x gains b h_e, h_y loses a h_e. Contraction: the
    in-plane movement û gains multiples of the plain growth (x, y) and of a turn, and ∫ G γ = 0, so Q_x
    gains b Q_e + ν a and Q_y gains -a Q_e + ν b. Masses as the parallel-axis theorem says.
    """
    m, (mx, my, myy, mxx, mxy) = p.mass_per_length, p.mass_moments

    def moved(v, turn=0.0):
        return (v[0], v[1] + b * v[0] + turn * a, v[2] - a * v[0] + turn * b)

    return replace(
        p,
        centroid_x=p.centroid_x + a, centroid_y=p.centroid_y + b,
        shear_centre_x=p.shear_centre_x + a, shear_centre_y=p.shear_centre_y + b,
        fibre_before=moved(p.fibre_before), fibre_after=moved(p.fibre_after),
        contraction=moved(p.contraction, nu),
        mass_moments=(
            mx + m * a, my + m * b,
            myy + 2 * b * my + m * b**2, mxx + 2 * a * mx + m * a**2, mxy + a * my + b * mx + m * a * b,
        ),
    )  # fmt: skip


def turned(p, angle):
    """Properties of the section turned about z by an angle: tensors and vectors in new axes."""
    c, s = np.cos(angle), np.sin(angle)
    R = np.array([[c, -s], [s, c]])
    EI = R @ np.array([[p.EIxx, -p.EIxy], [-p.EIxy, p.EIyy]]) @ R.T
    flex = R @ np.array([[p.shear_flex_xx, p.shear_flex_xy], [p.shear_flex_xy, p.shear_flex_yy]]) @ R.T
    centroid = R @ [p.centroid_x, p.centroid_y]
    shear_centre = R @ [p.shear_centre_x, p.shear_centre_y]

    def vector(v):
        return (v[0], *(float(q) for q in R @ v[1:]))

    return replace(
        p,
        EIxx=EI[0, 0], EIyy=EI[1, 1], EIxy=-EI[0, 1],
        shear_flex_xx=flex[0, 0], shear_flex_yy=flex[1, 1], shear_flex_xy=flex[0, 1],
        centroid_x=centroid[0], centroid_y=centroid[1],
        shear_centre_x=shear_centre[0], shear_centre_y=shear_centre[1],
        fibre_before=vector(p.fibre_before), fibre_after=vector(p.fibre_after),
        contraction=vector(p.contraction),
    )  # fmt: skip


def unsymmetric(z, move=(0.0, 0.0), angle=0.0):
    """Regions of a leaning, tapering, cambered section at z, then moved and turned."""
    blade = Polygon(contour("naca-4-digit", chord=0.12, thickness=0.03)).buffer(0)
    cut = blade.difference(translate(scale(blade, 0.5, 0.3), 0.01, 0.002))
    here = translate(
        rotate(scale(cut, 1 - 0.2 * z, 1 - 0.3 * z, origin=(0, 0)), 8, origin=(0, 0)), 0.03 * z
    )
    whole = translate(rotate(here, angle, origin=(0, 0), use_radians=True), *move)
    return (Region(polygon=whole.simplify(1e-7), material=ALUMINIUM),)


@cache
def solved(move=(0.0, 0.0), angle=0.0):
    changes = {"move": move, "angle": angle}
    step = 1e-3
    motion = Motion(regions=unsymmetric(step, **changes), step=step)
    return solve_section(unsymmetric(0.0, **changes), after=motion).properties


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"move": (0.03, -0.02)}, lambda p: shifted(p, 0.03, -0.02, ALUMINIUM.nu)),
        ({"angle": 0.5}, lambda p: turned(p, 0.5)),
    ],
    ids=["moved", "turned"],
)
def test_a_solved_section_moves_and_turns_as_derived(changes, rule) -> None:
    """The rules below, on a real section with every term, solved anew where it stands."""
    own, want = solved(**changes), rule(solved())
    length = 0.12
    scales = {
        "EA": want.EA, "EIxx": want.EIxx, "EIyy": want.EIxx, "EIxy": want.EIxx, "GJ": want.GJ,
        "centroid_x": length, "centroid_y": length, "shear_centre_x": length, "shear_centre_y": length,
        "shear_flex_xx": want.shear_flex_xx, "shear_flex_yy": want.shear_flex_xx,
        "shear_flex_xy": want.shear_flex_xx,
    }  # fmt: skip
    for name, size in scales.items():
        assert getattr(own, name) == pytest.approx(getattr(want, name), abs=2e-3 * size), name
    for name, size in (
        ("fibre_after", np.array([want.EA * length, want.EIxx, want.EIxx]) * 0.2),
        ("contraction", np.array([1.0, length, length]) * 0.1),
    ):
        got, expected = np.array(getattr(own, name)), np.array(getattr(want, name))
        assert np.abs((got - expected) / size).max() < 5e-3, name
    if "move" in changes:
        assert own.mass_moments == pytest.approx(want.mass_moments, rel=1e-6)


@settings(max_examples=20)
@given(taper=st.floats(0.5, 1.5), a=small, b=small, x=small, y=small)
def test_moving_the_stacking_line_is_a_rigid_body_change(taper, a, b, x, y) -> None:
    """The same mast seen from a line (x, y) away: C for loads on the old point is unchanged."""
    x, y = 0.04 * x, 0.02 * y
    own = sections(taper, a, b)
    c, moved = (tip_compliance(beam(*s)) for s in (own, [shifted(p, x, y) for p in own]))
    carry = np.eye(6)
    carry[3:, :3] = skew(np.array([x, y, 0.0]))
    back = carry.T @ moved @ carry
    assert np.abs((back - c) / scaled(c)).max() < 1e-8


def test_contraction_keeps_a_trace_of_where_the_line_lies() -> None:
    """Of the terms of a taper, contraction alone is not free of the origin.

    Q_x gains ν a and Q_y gains ν b: a turn of the section in its plane, by which movements change by
    ν ∫ (κ_x a + κ_y b) dT/dz dz. It is of second order in the taper (dT/dz comes from the taper itself):
    measured 0.16 % of the side compliance for a line moved by 40 mm on a mast that tapers by a third.
    """
    found = solve_stations(replace(mast(), taper_about=0.2))
    own = [s.properties for s in found.sections]
    plain = tip_compliance(BeamModel(found.z, own, [0, found.z[-1]]))  # ends have no part in it
    carry = np.eye(6)
    carry[3:, :3] = skew(np.array([0.04, 0.01, 0.0]))

    def change(nu):
        moved = [shifted(p, 0.04, 0.01, nu) for p in own]
        c = tip_compliance(BeamModel(found.z, moved, [0, found.z[-1]]))
        return np.abs((carry.T @ c @ carry - plain) / scaled(plain)).max()

    assert change(0.0) < 1e-9
    assert 1e-4 < change(ALUMINIUM.nu) < 3e-3


def test_moving_the_stacking_line_moves_the_bent_mast_with_it() -> None:
    """Second order, the loads moved along; the elements then run along another line."""
    x, y = 0.03, -0.02
    own = sections(0.7, 0.8, -0.6)
    at = np.column_stack([np.full(8, -0.03), np.full(8, 0.01), np.linspace(0.3, 0.78, 8)])
    spread = np.tile([0.0, 20.0, 0.0], (8, 1))
    load = TipLoad(lift=900.0, arm=(0.06, -0.05, 0), moment=(0, 0, 20.0), spread=spread, spread_at=at)
    along = replace(load, arm=(0.06 + x, -0.05 + y, 0), spread_at=np.add(at, [x, y, 0]))
    state = FrameModel(beam(*own)).solve([load])
    moved = FrameModel(beam(*[shifted(p, x, y) for p in own])).solve([along])
    turn = rotation_matrix(moved.rotation[0, -1])
    carried = moved.displacement[0, -1] + turn @ [x, y, 0] - [x, y, 0]
    assert carried == pytest.approx(state.displacement[0, -1], rel=1e-3, abs=1e-5)
    assert moved.rotation[0, -1] == pytest.approx(state.rotation[0, -1], rel=1e-3, abs=1e-5)


@settings(max_examples=15)
@given(a=small, b=small, angle=st.floats(-np.pi, np.pi))
def test_turning_the_axes_turns_the_compliance(a, b, angle) -> None:
    own = sections(1.0, a, b, nu=1.0)
    turn = np.kron(np.eye(2), rotation_matrix(np.array([0, 0, angle])))
    c = turn @ tip_compliance(beam(*own)) @ turn.T
    seen = [turned(p, angle) for p in own]
    for got in (tip_compliance(beam(*seen)), FrameModel(beam(*seen)).tip_compliance()):
        assert np.abs((got - c) / scaled(c)).max() < 1e-6


# Convergence of the element


def order(errors):
    """Observed order between successive halvings of the element."""
    return np.log2(np.array(errors[:-1]) / np.array(errors[1:]))


def frames(sizes):
    # Hardly warping: nodes are then even, but for those of a thin layer at the base.
    own = [replace(p, EGamma=1e-9) for p in sections(0.6, 0.8, -0.6)]
    model = BeamModel(np.linspace(0, 0.8, 9), own, [0, 0.8])
    return [FrameModel(model, elements=n) for n in sizes]


def test_first_order_needs_no_fine_elements() -> None:
    """An element is exact by its section flexibility: one or forty give the same tip."""
    coarse, fine = (f.tip_compliance() for f in frames([1, 40]))
    assert np.abs((coarse - fine) / scaled(fine)).max() < 1e-6


@pytest.mark.parametrize("quantity", ["movement", "rotation", "buckling"])
def test_second_order_converges_with_the_square_of_the_element(quantity) -> None:
    """Straight between nodes: the curve's sagitta, and so the error, falls with the square."""
    loads = [
        TipLoad(lift=900.0, arm=(0.06, -0.05, 0), force=(50.0, 130.0, 0), moment=(0, 0, 20.0)),
        TipLoad(lift=900.0, arm=(0.06, -0.05, 0), force=(0, 60.0, 0), aim=-1.0),
    ]

    def values(frame):
        if quantity == "buckling":
            return buckling(frame, loads).factor
        state = frame.solve(loads)
        return (state.displacement if quantity == "movement" else state.rotation)[:, -1, :2].ravel()

    *coarse, fine = (values(f) for f in frames([5, 10, 20, 40, 160]))
    errors = [float(np.abs(v / fine - 1).max()) for v in coarse]
    assert errors[-1] < 1e-3  # at the elements a check takes
    assert order(errors) == pytest.approx([2, 2, 2], abs=0.25)
