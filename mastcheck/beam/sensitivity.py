"""How tip movement and internal forces change with a mast's properties: exact, no further solve.

A change of the section enters through the elements' flexibilities alone, so that by virtual work

    dC_ij/dp = Σ_elements s_i · (df/dp) s_j

for first-order compliance, s_i being the element forces of unit tip load i. At a second-order
equilibrium r(u, p) = 0 an output o(u) changes by λ · ∂r/∂p, where λ solves (-∂r/∂u)ᵀ λ = ∂o/∂u: one
solve with the transposed tangent for each output, whatever the number of changes. With a = k G λ the
forces of that solution, λ · ∂r/∂p is again Σ a · (df/dp) f. (Adjoint method; e.g. Haftka and Gürdal,
Elements of Structural Optimization, 3rd ed., ch. 7, from memory.)

A longer mast is the same mast on a longer ruler: its stations keep their fractions. What that does to
an element follows from the units of its flexibilities.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from mastcheck.beam.chain import Chain
from mastcheck.beam.element import ElementIntegrals
from mastcheck.beam.ends import lever
from mastcheck.beam.kinematics import DOFS, deformation, rotation_matrix, rotation_vector
from mastcheck.beam.model import ROOTS, BeamModel
from mastcheck.beam.solve import Equilibrium, FrameModel
from mastcheck.beam.spline import CubicSpline
from mastcheck.section.model import SectionProperties

FloatArray = NDArray[np.float64]

_METRES = {
    "EIxx": 2, "EIyy": 2, "EIxy": 2, "GJ": 2, "EGamma": 4,
    "centroid_x": 1, "centroid_y": 1, "shear_centre_x": 1, "shear_centre_y": 1,
    "fibre_e": 1, "fibre_x": 2, "fibre_y": 2, "contraction_x": 1, "contraction_y": 1,
}  # fmt: skip
"""Power of the metre in each property's unit, force apart."""

_ARMS = np.array([0, 0, 0, 1, 1, 1, 2, 2])
"""Power of the metre in the units of an element's forces."""

_SPIN = 1e-6  # rad, step of a rotation vector's derivative (measured: good to 1e-9)
_FIBRE = ("fibre_e", "fibre_x", "fibre_y")
_CONTRACTION = ("contraction_e", "contraction_x", "contraction_y")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Changes:
    """Rates of a mast's properties at its n solved places by p changes, at fixed fractions of length.

    ``properties``: (n, p) by the names of ``SectionProperties``; what is not named does not change.
    ``fibre_before``, ``fibre_after``, ``contraction``: (n, 3, p). ``length``: (p,) rate of the length.
    """

    properties: Mapping[str, FloatArray]
    fibre_before: FloatArray
    fibre_after: FloatArray
    contraction: FloatArray
    length: FloatArray = field(default_factory=lambda: np.zeros(0))


class PropertyRates:
    """Rates along z of everything ``BeamModel.at`` gives, through the same splines of roots.

    Args:
        model: the mast's section stiffness.
        z: its solved places (n,) [m].
        properties: section properties at them.
        changes: their rates.
    """

    def __init__(
        self,
        model: BeamModel,
        z: FloatArray,
        properties: tuple[SectionProperties, ...],
        changes: Changes,
    ) -> None:
        self.model = model
        self.count = len(changes.length)
        self.length = changes.length / model.length
        """(p,) relative rate of the length."""
        tol = 1e-9 * model.length
        self._splines: list[dict[str, CubicSpline]] = []
        for lo, hi in itertools.pairwise(model.breaks):
            inside = np.flatnonzero((z >= lo - tol) & (z <= hi + tol))
            splines = {}
            for name, rate in changes.properties.items():
                value = np.array([getattr(properties[i], name) for i in inside])[:, None]
                power = ROOTS[name]
                slope = np.where(value > 0, power * np.abs(value) ** (power - 1), 0.0)
                splines[name] = CubicSpline(z[inside], rate[inside] * (1.0 if power == 1 else slope))
            fibre = (changes.fibre_before[inside] + changes.fibre_after[inside]) / 2
            fibre[0], fibre[-1] = changes.fibre_after[inside[0]], changes.fibre_before[inside[-1]]
            for k in range(3):
                splines[_FIBRE[k]] = CubicSpline(z[inside], fibre[:, k])
                splines[_CONTRACTION[k]] = CubicSpline(z[inside], changes.contraction[inside, k])
            self._splines.append(splines)

    def at(self, z: FloatArray, interval: int) -> tuple[dict[str, FloatArray], dict[str, FloatArray]]:
        """Properties (m,) at z (m,) in an interval between breaks, and their rates (m, p)."""
        value = self.model.at(z, interval)
        rates = {}
        for name, spline in self._splines[interval].items():
            power = ROOTS[name]
            at = spline(z)
            rates[name] = at if power == 1 else at * value[name][:, None] ** (1 - power) / power
        return value, rates

    def mass(self) -> FloatArray:
        """Rate of the blade's mass (p,) [kg]."""
        t, w = np.polynomial.legendre.leggauss(24)
        out = self.length * self.model.mass()
        for i, (lo, hi) in enumerate(itertools.pairwise(self.model.breaks)):
            _, rates = self.at(lo + (hi - lo) * (t + 1) / 2, i)
            if "mass_per_length" in rates:
                out = out + (hi - lo) / 2 * w @ rates["mass_per_length"]
        return np.asarray(out)


def element_rates(
    frame: FrameModel,
    rates: PropertyRates,
    *,
    base_end: FloatArray | None = None,
    tip_end: FloatArray | None = None,
) -> FloatArray:
    """Rates (e, 8, 8, p) of the flexibilities of a frame's elements; joints do not change.

    ``base_end``, ``tip_end``: rates (6, 6, p) of what the model's fixed ends add; None: they stay.
    """
    out = np.zeros((frame.n - 1, 8, 8, rates.count))
    own = ElementIntegrals.along(rates.model, frame.z)
    for e in range(frame.n - 1):
        out[e] = _element_rate(rates, own.element(e))
    for e, compliance, arm in frame.joint_elements:
        s, ds = lever(arm), lever(arm) - np.eye(6)
        half = ds.T @ compliance @ s
        out[e, :6, :6] += (half + half.T)[..., None] * rates.length
    for at_tip, rate in ((False, base_end), (True, tip_end)):
        if rate is not None:
            for e, part, arm in frame.end_shares.get(at_tip, []):
                s = lever(arm)
                out[e, :6, :6] += part * np.einsum("ai,abp,bj->ijp", s, rate, s)
    return out


def _element_rate(rates: PropertyRates, own: ElementIntegrals) -> FloatArray:
    """Rate (8, 8, p) of one element's flexibility.

    Its torsional part is r · y with K y = r, hence its rate 2 dr · y - y · dK y.
    """
    value, rate = rates.at(own.z, int(own.interval))
    # Longer by a share: as if on a longer ruler, on which all properties keep their numbers ...
    for name, power in _METRES.items():
        stretch = power * value[name][:, None] * rates.length
        rate[name] = rate.get(name, 0.0) - stretch
    sec, s, w = own.sections, own.resultants, own.weight
    zero = np.zeros((len(own.z), rates.count))

    def of(name: str) -> FloatArray:
        return np.asarray(rate.get(name, zero))

    dk = _stiffness_rate(value, {name: of(name) for name in ROOTS})
    F = sec.flexibility
    dF = -np.einsum("mab,mbcp,mcd->madp", F, dk, F)
    pulled = np.stack([of(n) for n in _FIBRE], axis=1) - np.einsum("mabp,mb->map", dk, sec.fibre)
    dfibre = np.einsum("mab,mbp->map", F, pulled)
    dQ = np.stack([of(n) for n in _CONTRACTION], axis=1)
    dS = np.stack(
        [
            np.stack([of("shear_flex_xx"), of("shear_flex_xy")], axis=1),
            np.stack([of("shear_flex_xy"), of("shear_flex_yy")], axis=1),
        ],
        axis=1,
    )
    direct, shear = s[:, [2, 3, 4]], s[:, :2]
    dtorque = -of("shear_centre_x")[:, None] * s[:, 1, :, None]
    dtorque = dtorque + of("shear_centre_y")[:, None] * s[:, 0, :, None]
    dtorque = dtorque - np.einsum("map,mai->mip", dfibre, direct)
    df = np.zeros((8, 8, rates.count))
    six = df[:6, :6]
    six += np.einsum("m,mai,mabp,mbj->ijp", w, direct, dF, direct)
    six += np.einsum("m,mai,mabp,mbj->ijp", w, shear, dS, shear)
    strain = np.einsum("mab,mbi->mai", F, direct)
    dstrain = np.einsum("mabp,mbi->maip", dF, direct)
    varying = np.einsum("mn,na,ni->mai", own.slopes, sec.contraction, own.torque)
    dvarying = np.einsum("mn,nap,ni->maip", own.slopes, dQ, own.torque)
    dvarying = dvarying + np.einsum("mn,na,nip->maip", own.slopes, sec.contraction, dtorque)
    contraction = np.einsum("m,maip,maj->ijp", w, dstrain, varying)
    contraction = contraction + np.einsum("m,mai,majp->ijp", w, strain, dvarying)
    six += contraction + np.swapaxes(contraction, 0, 1)
    phi, phi_slope = own.shapes @ own.twist, own.shape_slopes @ own.twist
    worked = np.einsum("m,mi,mjp->ijp", w, phi, dtorque)
    df[:, :6] += worked
    df[:6] += np.swapaxes(worked, 0, 1)
    # A section that hardly warps stands on a floor, which is not moved.
    dgamma = np.where((sec.EGamma > value["EGamma"])[:, None], 0.0, of("EGamma"))
    df -= np.einsum("m,mi,mj,mp->ijp", w, phi, phi, of("GJ"))
    df -= np.einsum("m,mi,mj,mp->ijp", w, phi_slope, phi_slope, dgamma)
    # ... and then the units of the flexibilities themselves.
    units = 1 - _ARMS[:, None] - _ARMS[None, :]
    return np.asarray(df + (units * own.flexibility)[..., None] * rates.length)


def _stiffness_rate(value: dict[str, FloatArray], rate: dict[str, FloatArray]) -> FloatArray:
    """Rate (m, 3, 3, p) of the stiffness of (e0, kappa_x, kappa_y) about the stacking line."""
    EA, xc, yc = (value[n][:, None] for n in ("EA", "centroid_x", "centroid_y"))
    dEA, dx, dy = (rate[n] for n in ("EA", "centroid_x", "centroid_y"))
    out = np.empty((len(EA), 3, 3, dEA.shape[1]))
    out[:, 0, 0] = dEA
    out[:, 0, 1] = out[:, 1, 0] = dEA * yc + EA * dy
    out[:, 0, 2] = out[:, 2, 0] = -(dEA * xc + EA * dx)
    out[:, 1, 1] = rate["EIxx"] + dEA * yc**2 + 2 * EA * yc * dy
    out[:, 1, 2] = out[:, 2, 1] = -(rate["EIxy"] + dEA * xc * yc + EA * (dx * yc + xc * dy))
    out[:, 2, 2] = rate["EIyy"] + dEA * xc**2 + 2 * EA * xc * dx
    return out


def compliance_rates(frame: FrameModel, df: FloatArray, length: FloatArray) -> FloatArray:
    """Rates (6, 6, p) of the first-order tip compliance.

    Args:
        frame: the mast's finite elements.
        df: (e, 8, 8, p) rates of their flexibilities, by ``element_rates``.
        length: (p,) relative rates of the length.
    """
    loads = np.zeros((6, frame.n, DOFS))
    loads[np.arange(6), -1, np.arange(6)] = 1
    d = frame.strains(frame.linear(loads))
    s = np.einsum("eab,ieb->iea", frame.k, d)
    # A longer mast bends under longer arms: those of Fx and Fy at the elements' middles.
    arm = frame.length - (frame.z[:-1] + frame.z[1:]) / 2
    moved = np.zeros_like(s)
    moved[1, :, 3], moved[0, :, 4] = -arm, arm
    bent = np.einsum("iea,jea->ij", moved, d)
    out = np.einsum("iea,eabp,jeb->ijp", s, df, s)
    return np.asarray(out + (bent + bent.T)[..., None] * length)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Perturbation:
    """p changes acting on a frame's second-order equilibria.

    ``elements`` (e, 8, 8, p) by ``element_rates``; ``length`` (p,) relative; ``loads`` (c, n, 7, p):
    rates of the nodal loads on the given shapes, None where they do not change.
    """

    elements: FloatArray
    length: FloatArray
    loads: FloatArray | None = None


def tip_rates(frame: FrameModel, eq: Equilibrium, changes: Perturbation) -> FloatArray:
    """Rates (c, 6, p) of the loaded point's movement [m] and rotation vector [rad]."""
    c = len(eq.x)
    gradient = np.zeros((c, 6, frame.n, DOFS))
    gradient[:, np.arange(3), -1, np.arange(3)] = 1
    for k in range(3):
        spin = np.zeros(3)
        spin[k] = _SPIN
        ends = [rotation_vector(rotation_matrix(sign * spin) @ eq.r[:, -1]) for sign in (1, -1)]
        gradient[:, 3:, -1, 3 + k] = (ends[0] - ends[1]) / (2 * _SPIN)
    out = output_rates(frame, eq, gradient, changes)
    out[:, 2] -= frame.length * changes.length
    return out


def output_rates(
    frame: FrameModel, eq: Equilibrium, gradient: FloatArray, changes: Perturbation
) -> FloatArray:
    """Rates (c, o, p) of outputs by the adjoint, one transposed solve an output.

    Args:
        frame: the finite elements.
        eq: equilibria of c cases.
        gradient: (c, o, n, 7) of the outputs by position, spatial spin and twist rate.
        changes: what changes.
    """
    held = eq.tangent.held(frame.fixed)
    transposed = Chain(np.swapaxes(held.diagonal, -1, -2), held.above)
    out = []
    for k in range(gradient.shape[1]):
        adjoint = transposed.solve(np.where(frame.fixed, 0.0, gradient[:, k]))
        ends = np.concatenate([adjoint[:, :-1], adjoint[:, 1:]], axis=-1)
        a = np.einsum("eab,cebj,cej->cea", frame.k, eq.gradient, ends)
        rate = np.einsum("cea,eabp,ceb->cp", a, changes.elements, eq.forces)
        rate += np.einsum("ce,e->c", a[..., 2], frame.span)[:, None] * changes.length
        if changes.loads is not None:
            rate += np.einsum("cnd,cndp->cp", adjoint, changes.loads)
        out.append(rate)
    return np.stack(out, axis=1)


def resultant_rates(
    frame: FrameModel, eq: Equilibrium, case: int, node: int, changes: Perturbation
) -> FloatArray:
    """Rates (7, p) of N, Vx, Vy, Mx, My, T, B of one case at one of the frame's nodes."""
    last = node == frame.n - 1
    e, own = (node - 1, 1) if last else (node, 0)
    ends = slice(e, e + 2)
    x, r, phi = eq.x[case, ends], eq.r[case, ends], eq.phi[case, ends]
    k, span = frame.k[e], frame.span[e : e + 1]

    f, g = eq.forces[case, e], eq.gradient[case, e]

    def at(xx: FloatArray, rr: FloatArray) -> FloatArray:
        return _resultants(f, deformation(xx, rr, phi, span)[1][0], rr[own], own)

    # By its own forces, exactly; by the turning of the same forces, in differences. Differences of both
    # would drown in the axial stiffness.
    gradient = np.zeros((7, frame.n, DOFS))
    for j in range(2):
        for dof in range(DOFS):
            elastic = _resultants(k @ g[:, DOFS * j + dof], g, r[own], own)
            found = [np.zeros(7)] * 2
            step = _SPIN * (max(float(span[0]), frame.length / 1e3) if dof < 3 else 1.0)
            if dof < DOFS - 1:
                found = [at(*_nudged(x, r, j, dof, sign * step)) for sign in (1, -1)]
            gradient[:, e + j, dof] = elastic + (found[0] - found[1]) / (2 * step)
    one = slice(case, case + 1)
    alone = Equilibrium(
        x=eq.x[one], r=eq.r[one], phi=eq.phi[one], forces=eq.forces[one], gradient=eq.gradient[one],
        tangent=Chain(eq.tangent.diagonal[one], eq.tangent.above[one]), converged=eq.converged[one],
    )  # fmt: skip
    loads = None if changes.loads is None else changes.loads[one]
    moved = output_rates(
        frame, alone, gradient[None],
        Perturbation(elements=changes.elements, length=changes.length, loads=loads),
    )[0]  # fmt: skip
    # On the same shape the element's own forces change too.
    strain = np.einsum("abp,b->ap", changes.elements[e], eq.forces[case, e])
    strain[2] += span[0] * changes.length
    turned = [_resultants(own_force, g, r[own], own) for own_force in (-k @ strain).T]
    return np.asarray(moved + np.stack(turned, axis=1))


def _nudged(
    x: FloatArray, r: FloatArray, node: int, dof: int, step: float
) -> tuple[FloatArray, FloatArray]:
    """Positions and rotations with one node moved along, or turned about, one axis."""
    x, r = x.copy(), r.copy()
    if dof < 3:
        x[node, dof] += step
    else:
        spin = np.zeros(3)
        spin[dof - 3] = step
        r[node] = rotation_matrix(spin) @ r[node]
    return x, r


def _resultants(f: FloatArray, g: FloatArray, r: FloatArray, end: int) -> FloatArray:
    """(7,) N, Vx, Vy, Mx, My, T, B at an element's start (0) or end (1), turned by r (3, 3)."""
    nodal = (g.T @ f)[DOFS * end : DOFS * (end + 1)] * (1 if end else -1)
    v, m = r.T @ nodal[:3], r.T @ nodal[3:6]
    return np.array([v[2], v[0], v[1], *m, f[6] if end else f[7]])
