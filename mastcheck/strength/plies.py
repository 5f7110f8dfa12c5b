"""Plies of a laminated region under the stresses of a section: first-ply failure.

Every ply is given the strain of the mesh point, wherever in the wall the point lies: the outermost
point's strain also reaches the innermost ply, which is on the safe side. Strains left by cure,
temperature and water, free edges and delamination are not in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mastcheck.failure import (
    MAX_STRAIN_SOURCE,
    TSAI_WU_SOURCE,
    allowable_strains,
    max_strain_indices,
    max_strain_ratio,
    ply_response,
    states,
    tsai_wu_ratio,
)
from mastcheck.laminate import Lamina, Laminate, Ply
from mastcheck.material import Material
from mastcheck.strength.finding import Criterion, Finding
from mastcheck.ties import greatest

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PlyUtilisation:
    """Utilisation of one kind of ply (lamina and angle) at points (p,): gamma/(R · knock-down).

    ``number``: the first such ply from outside, of ``count``.
    """

    ply: Ply
    number: int
    count: int
    max_strain: FloatArray
    tsai_wu: FloatArray


def wall_state(material: Material, stress: FloatArray) -> tuple[FloatArray, FloatArray]:
    """eps_z and |gamma_zs| (p,) of points of a region, from its stress (p, 3) and homogenised E, G."""
    return stress[:, 0] / material.E, np.hypot(stress[:, 1], stress[:, 2]) / material.G


def ply_utilisations(
    laminate: Laminate, eps_z: FloatArray, gamma_zs: FloatArray
) -> tuple[PlyUtilisation, ...]:
    """Each kind of ply whose lamina states strengths, at points (p,), worst of the strain states."""
    strains = states(laminate, eps_z, gamma_zs)
    out: dict[tuple[str, float], PlyUtilisation] = {}
    plies = [ply for ply in laminate.plies if ply.thickness > 0]
    for number, ply in enumerate(plies, 1):
        key = (ply.lamina.name, round(ply.angle % math.pi, 9))
        if ply.lamina.strengths is None or key in out:
            continue
        response = ply_response(ply, strains)
        factor = ply.lamina.gamma / laminate.knock_down
        out[key] = PlyUtilisation(
            number=number,
            count=len(plies),
            ply=ply,
            max_strain=(factor / max_strain_ratio(ply.lamina, response.strain)).max(axis=0),
            tsai_wu=(factor / tsai_wu_ratio(ply.lamina, response.stress)).max(axis=0),
        )
    return tuple(out.values())


def laminate_utilisation(plies: tuple[PlyUtilisation, ...], count: int) -> FloatArray:
    """Worst utilisation over plies and both criteria at ``count`` points; NaN where none is judged."""
    if not plies:
        return np.full(count, np.nan)
    worst: FloatArray = np.max([np.maximum(p.max_strain, p.tsai_wu) for p in plies], axis=0)
    return worst


def material_plies(material: Material, stress: FloatArray) -> tuple[PlyUtilisation, ...]:
    """Utilisations of a material's plies under stress (p, 3) [Pa]; none where it is no laminate."""
    laminate = material.laminate
    return () if laminate is None else ply_utilisations(laminate, *wall_state(material, stress))


def ply_findings(
    material: Material,
    stress: FloatArray,
    points: FloatArray,
    z: float,
    plies: tuple[PlyUtilisation, ...] | None = None,
) -> tuple[Finding, ...]:
    """Worst ply by each criterion, and the greatest strain of each lamina that states no strengths.

    Args:
        material: with a laminate.
        stress: (p, 3) [Pa] at its points.
        points: (p, 2) [m].
        z: the station [m].
        plies: their utilisations (``material_plies``) where they are known.
    """
    laminate = material.laminate
    if laminate is None:
        return ()
    eps, gamma = wall_state(material, stress)
    out: list[Finding] = []
    plies = ply_utilisations(laminate, eps, gamma) if plies is None else plies
    if plies:
        worst, k = _worst(plies, [p.max_strain for p in plies])
        here = states(laminate, eps[k : k + 1], gamma[k : k + 1])
        out.append(_max_strain_finding(material, laminate, worst, here, z, points[k]))
        worst, k = _worst(plies, [p.tsai_wu for p in plies])
        used = float(worst.tsai_wu[k])
        out.append(
            Finding(
                criterion=Criterion.TSAI_WU,
                material=material.name,
                value=used,
                limit=1.0,
                unit="",
                utilisation=used,
                z=z,
                xy=_xy(points[k]),
                where=ply_words(worst.number, worst.count, worst.ply),
                source=TSAI_WU_SOURCE,
            )
        )
    out += [
        _unjudged(material, laminate, lamina, eps, gamma, points, z)
        for lamina in material.laminas
        if lamina.strengths is None
    ]
    return tuple(out)


def _worst(plies: tuple[PlyUtilisation, ...], used: list[FloatArray]) -> tuple[PlyUtilisation, int]:
    """The ply of greatest utilisation, and the point."""
    table = np.array(used)
    i, k = np.unravel_index(greatest(table), table.shape)
    return plies[int(i)], int(k)


def _max_strain_finding(
    material: Material,
    laminate: Laminate,
    worst: PlyUtilisation,
    strains: FloatArray,
    z: float,
    point: FloatArray,
) -> Finding:
    """In the ply's governing direction: strain against allowable strain, both in percent."""
    lamina = worst.ply.lamina
    strain = ply_response(worst.ply, strains).strain[:, 0]
    state, axis = np.unravel_index(greatest(max_strain_indices(lamina, strain)), strain.shape)
    value = float(strain[state, axis])
    tension, compression = allowable_strains(lamina)
    allowed = float((tension if value >= 0 else compression)[axis]) * laminate.knock_down / lamina.gamma
    way = ("along the fibres", "across the fibres", "in shear")[int(axis)]
    sense = "" if axis == 2 else (", tension" if value >= 0 else ", compression")
    return Finding(
        criterion=Criterion.MAX_STRAIN,
        material=material.name,
        value=abs(value) * 100,
        limit=allowed * 100,
        unit="%",
        utilisation=abs(value) / allowed,
        z=z,
        xy=_xy(point),
        where=f"{ply_words(worst.number, worst.count, worst.ply)}, {way}{sense}",
        source=MAX_STRAIN_SOURCE,
    )


def _unjudged(
    material: Material,
    laminate: Laminate,
    lamina: Lamina,
    eps: FloatArray,
    gamma: FloatArray,
    points: FloatArray,
    z: float,
) -> Finding:
    """The greatest strain of a lamina's plies, reported without a limit."""
    strains = states(laminate, eps, gamma)
    plies = [ply for ply in laminate.plies if ply.thickness > 0]
    sizes = [
        (i, np.abs(ply_response(ply, strains).strain).max(axis=(0, 2)))
        for i, ply in enumerate(plies)
        if ply.lamina.name == lamina.name
    ]
    i, size = sizes[greatest(np.array([float(size.max()) for _, size in sizes]))]
    k = greatest(size)
    return Finding(
        criterion=Criterion.PLY_STRAIN,
        material=lamina.name,
        value=float(size[k]) * 100,
        limit=None,
        unit="%",
        utilisation=None,
        z=z,
        xy=_xy(points[k]),
        where=f"{ply_words(i + 1, len(plies), plies[i])}, {material.name}",
        source=MAX_STRAIN_SOURCE,
    )


def ply_words(number: int, count: int, ply: Ply) -> str:
    """A ply in words."""
    return f"ply {number} of {count} from outside, {math.degrees(ply.angle):g}°, {ply.lamina.name}"


def _xy(point: FloatArray) -> tuple[float, float]:
    return float(point[0]), float(point[1])
