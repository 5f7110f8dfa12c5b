"""Laminate theory and first-ply failure."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mastcheck.errors import MastcheckError
from mastcheck.failure import max_strain_ratio, tsai_wu_ratio
from mastcheck.laminate import (
    Lamina,
    Laminate,
    Ply,
    abd,
    membrane,
    parse_code,
    reduced_stiffness,
    strain_to_ply,
    turned_stiffness,
)
from mastcheck.verify.given import Compute, Given

FloatArray = NDArray[np.float64]


def layup(lamina: Lamina, code: str, thickness: float) -> Laminate:
    """Plies of one lamina and one thickness [m] by the standard laminate code."""
    plies = tuple(
        Ply(lamina=lamina, angle=math.radians(a), thickness=thickness) for a in parse_code(code)
    )
    return Laminate(plies=plies)


def _ply(given: Given) -> Lamina:
    return given.shipped.laminas[given.words("lamina")]


def _laminate(given: Given) -> Laminate:
    return layup(_ply(given), given.words("layup"), given.length("ply"))


_ENTRY = {"11": (0, 0), "12": (0, 1), "16": (0, 2), "22": (1, 1), "26": (1, 2), "66": (2, 2)}


def _entry(matrix: FloatArray, given: Given) -> float:
    return float(matrix[_ENTRY[given.words("entry")]])


def _reduced(given: Given) -> float:
    """An entry of Q [Pa]."""
    return _entry(reduced_stiffness(_ply(given)), given)


def _turned(given: Given) -> float:
    """An entry of Q turned by ``angle`` degrees [Pa]."""
    return _entry(turned_stiffness(_ply(given), math.radians(given.number("angle"))), given)


def _stiffness(given: Given) -> float:
    """An entry of A [N/m], B [N] or D [N·m], by ``of``."""
    return _entry(abd(_laminate(given))["ABD".index(given.words("of"))], given)


def _strain(given: Given) -> float:
    """A mid-plane strain or curvature (``at`` 0 to 5) under N_x = N_y = 1000 N/m."""
    A, B, D = abd(_laminate(given))
    found = np.linalg.solve(np.block([[A, B], [B, D]]), [1000.0, 1000.0, 0, 0, 0, 0])
    return float(found[int(given.number("at"))])


def _modulus(given: Given) -> float:
    """E of the laminate along the mast [Pa]."""
    return membrane(_laminate(given)).E


def _shear_modulus(given: Given) -> float:
    """G of the laminate in its plane [Pa]."""
    return membrane(_laminate(given)).G


def _free_modulus(given: Given) -> float:
    """E of the laminate where it may shear [Pa]."""
    return membrane(_laminate(given)).E_released


def _ply_stress(given: Given) -> FloatArray:
    """Stress in a ply's axes for unit stresses (z, s, zs) given as ``"2, -3, 4"`` [MPa to Pa]."""
    stress = [float(word) * 1e6 for word in given.words("stress_MPa").split(",")]
    turn = strain_to_ply(math.radians(given.number("angle")))
    return np.asarray(np.linalg.inv(turn).T @ np.array(stress))


def _greatest_stress(given: Given) -> float:
    """Multiple of the stress at first failure by maximum strain.

    Where shear across the fibres governs, that is maximum stress, which the source prints.
    """
    lamina = _ply(given)
    strain: FloatArray = np.linalg.solve(reduced_stiffness(lamina), _ply_stress(given)).astype(float)
    return float(max_strain_ratio(lamina, strain))


def _tsai_wu(given: Given) -> float:
    """Multiple of the stress at first failure by Tsai-Wu."""
    return float(tsai_wu_ratio(_ply(given), _ply_stress(given)))


def _turned_stress(given: Given) -> float:
    """A stress in the ply's axes [Pa]: ``at`` 0 along, 1 across the fibres, 2 shear."""
    at = int(given.number("at"))
    if at not in (0, 1, 2):
        raise MastcheckError(f"given.at = {at}: want 0, 1 or 2")
    return float(_ply_stress(given)[at])


COMPUTATIONS: dict[str, Compute] = {
    "reduced stiffness": _reduced,
    "turned stiffness": _turned,
    "laminate stiffness": _stiffness,
    "laminate strain": _strain,
    "laminate modulus": _modulus,
    "laminate shear modulus": _shear_modulus,
    "modulus, free to shear": _free_modulus,
    "ply stress": _turned_stress,
    "failure by maximum strain": _greatest_stress,
    "failure by Tsai-Wu": _tsai_wu,
}
