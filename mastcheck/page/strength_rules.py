"""What a section's materials are judged by, as plain numbers that hold for any load.

A laminate's plies see strains that are linear in the axial strain and the size of the shear strain of
the wall. So maximum strain is the greatest of some linear forms of the two, and Tsai-Wu the root of one
quadratic form with a linear term; their coefficients are read off the functions of ``failure`` and
``strength.plies`` themselves, state by state, and are no second formula.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mastcheck.failure import allowable_strains, ply_response, states
from mastcheck.laminate import Laminate, Ply
from mastcheck.material import Material
from mastcheck.section.model import SectionModel
from mastcheck.strength.finding import Criterion
from mastcheck.strength.plies import ply_words
from mastcheck.strength.stress import is_core

FloatArray = NDArray[np.float64]
Data = dict[str, object]

CRITERIA = [c.value for c in Criterion]
"""Criteria in the order in which findings are listed."""


def material_rules(section: SectionModel, material: Material) -> Data:
    """By what a material of a section is judged; SI, strains in percent.

    Returns:
        ``name``; ``strength`` and ``shear`` [Pa] over their factors, None where not stated;
        ``core``: whether it is a core; ``wall``: None, or a laminate's ``wall_rules``.
    """
    return {
        "name": material.name,
        "strength": material.design_strength,
        "shear": material.design_shear_strength,
        "core": is_core(material, max(r.material.E for r in section.regions)),
        "wall": None if material.laminate is None else wall_rules(material, material.laminate),
    }


def wall_rules(material: Material, laminate: Laminate) -> Data:
    """A laminate's plies for the strains (e, g) of a wall: along the mast, and the size of its shear.

    Returns:
        ``E``, ``G`` [Pa]: e = sigma/E, g = tau/G. ``plies``: each kind whose lamina states strengths:
        ``where`` in words; ``linear`` (k, 3, 2, 2): utilisation by maximum strain is the greatest of
        linear[state][axis][sense] · (e, g), sense 0 tension, 1 compression; ``allowed`` (3, 2) [%]:
        the strains allowed; ``quadratic`` (k, 5): Tsai-Wu's is (b + sqrt(b² + 4 a))/2 with
        a = q0 e² + q1 e g + q2 g² and b = q3 e + q4 g. ``silent``: each kind of ply whose lamina states
        none: ``name`` of the lamina, ``where``, ``linear`` (k, 3, 2): strains [%].
    """
    plies = [ply for ply in laminate.plies if ply.thickness > 0]
    judged: dict[tuple[str, float], Data] = {}
    silent: dict[tuple[str, float], Data] = {}
    for number, ply in enumerate(plies, 1):
        key = (ply.lamina.name, round(ply.angle % math.pi, 9))
        where = ply_words(number, len(plies), ply)
        if ply.lamina.strengths is None:
            words = f"{where}, {material.name}"
            strain, _ = _maps(laminate, ply)
            silent.setdefault(
                key, {"name": ply.lamina.name, "where": words, "linear": (100 * strain).tolist()}
            )
        elif key not in judged:
            judged[key] = {"where": where, **_ply_rules(laminate, ply)}
    return {
        "E": material.E,
        "G": material.G,
        "plies": list(judged.values()),
        "silent": list(silent.values()),
    }


def _maps(laminate: Laminate, ply: Ply) -> tuple[FloatArray, FloatArray]:
    """A ply's strains (k, 3, 2) and stresses (k, 3, 2) [Pa] for unit e and unit g, in k states."""
    unit = np.array([1.0, 0.0])
    response = ply_response(ply, states(laminate, unit, unit[::-1]))
    return np.swapaxes(response.strain, 1, 2), np.swapaxes(response.stress, 1, 2)


def _ply_rules(laminate: Laminate, ply: Ply) -> Data:
    lamina = ply.lamina
    strengths = lamina.strengths
    if strengths is None:
        raise ValueError(f"{lamina.name} states no strengths")
    factor = lamina.gamma / laminate.knock_down
    strain, stress = _maps(laminate, ply)
    allowed = np.stack(allowable_strains(lamina), axis=1) / factor  # (3, 2)
    linear = strain[:, :, None, :] * np.array([1.0, -1.0])[:, None] / allowed[:, :, None]
    Xt, Xc, Yt, Yc, S = strengths
    weight = np.diag([1 / (Xt * Xc), 1 / (Yt * Yc), 1 / S**2])
    weight[0, 1] = weight[1, 0] = -0.5 / math.sqrt(Xt * Xc * Yt * Yc)
    a = factor**2 * np.einsum("kie,ij,kjf->kef", stress, weight, stress)
    b = factor * np.einsum("kie,i->ke", stress, np.array([1 / Xt - 1 / Xc, 1 / Yt - 1 / Yc, 0.0]))
    return {
        "linear": linear.tolist(),
        "allowed": (100 * allowed).tolist(),
        "quadratic": np.column_stack([a[:, 0, 0], 2 * a[:, 0, 1], a[:, 1, 1], b]).tolist(),
    }
