"""First-ply failure of a laminate under membrane strain: maximum strain and Tsai-Wu."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.laminate import Lamina, Laminate, Ply, abd, membrane, reduced_stiffness, strain_to_ply
from mastcheck.source import Grade, Source

FloatArray = NDArray[np.float64]

MAX_STRAIN_SOURCE = Source(
    title="maximum strain criterion, allowable strains X/E, Y/E, S/G",
    place="Kaw, Mechanics of Composite Materials, ch. 2",
    grade=Grade.MEMORY,
)
TSAI_WU_SOURCE = Source(
    title="Tsai-Wu criterion, interaction H12 = -1/2 / sqrt(Xt Xc Yt Yc)",
    place="Tsai and Wu, J. Compos. Mater. 5 (1971); Kaw, ch. 2",
    grade=Grade.MEMORY,
)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PlyResponse:
    """A ply under wall strains: strain (p, 3) and stress (p, 3) [Pa] in its axes (1, 2, 12)."""

    ply: Ply
    strain: FloatArray
    stress: FloatArray


def wall_strains(laminate: Laminate, eps_z: FloatArray, gamma_zs: FloatArray) -> FloatArray:
    """Strains (..., 3) (z, s, zs) of a wall without hoop force, from eps_z and gamma_zs (...)."""
    A, _, _ = abd(laminate)
    eps_s = -(A[0, 1] * eps_z + A[1, 2] * gamma_zs) / A[1, 1]
    return np.stack([eps_z, eps_s, gamma_zs], axis=-1)


def states(laminate: Laminate, eps_z: FloatArray, gamma_zs: FloatArray) -> FloatArray:
    """Wall strains (k, p, 3) to judge, from a beam that carries no coupling of stretch and shear.

    The direction of shear along the contour is not tracked, so both signs are taken. An unbalanced
    wall also strains when its forces are those of the beam and nothing holds the coupled strain;
    then that state is judged beside the beam's own.
    """
    sign = np.array([1.0, -1.0])[:, None]
    size = np.broadcast_to(np.abs(gamma_zs), (2, len(gamma_zs)))
    eps, gamma = np.broadcast_to(eps_z, (2, len(eps_z))), sign * size
    m = membrane(laminate)
    if abs(m.coupling) > 1e-9:
        K = np.array([[m.K11, m.K16], [m.K16, m.K66]])
        force = np.stack([m.K11 * eps, m.K66 * gamma])
        free = np.einsum("ij,jkp->ikp", np.linalg.inv(K), force)
        eps, gamma = np.concatenate([eps, free[0]]), np.concatenate([gamma, free[1]])
    return wall_strains(laminate, eps, gamma)


def ply_response(ply: Ply, strains: FloatArray) -> PlyResponse:
    """A ply's strain and stress in its own axes under wall strains (p, 3) (z, s, zs)."""
    strain = strains @ strain_to_ply(ply.angle).T
    return PlyResponse(ply=ply, strain=strain, stress=strain @ reduced_stiffness(ply.lamina).T)


def max_strain_ratio(lamina: Lamina, strain: FloatArray) -> FloatArray:
    """Strength ratio R (...): the strains (..., 3) times R reach the first allowable strain.

    Infinite without strain. Raises: ValueError when the lamina states no strengths.
    """
    tension, compression = allowable_strains(lamina)
    # Direction by direction: a maximum over an axis of three is slow.
    used = [np.maximum(strain[..., k] / tension[k], -strain[..., k] / compression[k]) for k in range(3)]
    with np.errstate(divide="ignore"):
        # Nil is added, since no strain at all may leave a nil of negative sign.
        out: FloatArray = 1 / (np.maximum(np.maximum(used[0], used[1]), used[2]) + 0.0)
    return out


def max_strain_indices(lamina: Lamina, strain: FloatArray) -> FloatArray:
    """Strain over its allowable (..., 3) in directions 1, 2 and 12; source: MAX_STRAIN_SOURCE."""
    allowed = np.where(strain >= 0, *allowable_strains(lamina))
    out: FloatArray = np.abs(strain) / allowed
    return out


def allowable_strains(lamina: Lamina) -> tuple[FloatArray, FloatArray]:
    """Allowable strains (3,) in tension and in compression, sizes: X/E1, Y/E2, S/G12."""
    Xt, Xc, Yt, Yc, S = _strengths(lamina)
    modulus = np.array([lamina.E1, lamina.E2, lamina.G12])
    return np.array([Xt, Yt, S]) / modulus, np.array([Xc, Yc, S]) / modulus


def tsai_wu_ratio(lamina: Lamina, stress: FloatArray) -> FloatArray:
    """Strength ratio R (...): stresses (..., 3) [Pa] times R meet the Tsai-Wu envelope.

    R solves a R² + b R = 1 with a the quadratic and b the linear terms; infinite without stress.
    Raises: ValueError when the lamina states no strengths. Source: TSAI_WU_SOURCE.
    """
    Xt, Xc, Yt, Yc, S = _strengths(lamina)
    s1, s2, s12 = np.moveaxis(stress, -1, 0)
    H12 = -0.5 / np.sqrt(Xt * Xc * Yt * Yc)
    a = s1**2 / (Xt * Xc) + s2**2 / (Yt * Yc) + (s12 / S) ** 2 + 2 * H12 * s1 * s2
    b = (1 / Xt - 1 / Xc) * s1 + (1 / Yt - 1 / Yc) * s2
    # In this form of the root nothing cancels, and no stress at all gives infinity.
    with np.errstate(divide="ignore"):
        out: FloatArray = 2 / (b + np.sqrt(b**2 + 4 * a))
    return out


def _strengths(lamina: Lamina) -> tuple[float, float, float, float, float]:
    if lamina.strengths is None:
        raise ValueError(f"{lamina.name} states no strengths")
    return lamina.strengths
