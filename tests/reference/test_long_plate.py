"""Long plates with hinged edges: closed form, roots of the plate's own equation, what must not matter.

The movement exp(i(kx + sy)) of a plate pressed along x meets D11 k⁴ + 4 D16 k³s + 2(D12 + 2 D66) k²s²
+ 4 D26 ks³ + D22 s⁴ = N k². Of its four roots s a sum is left that is nil at both edges, and with it the
moment across them, D22 w,yy + 2 D26 w,xy: the determinant of these four conditions is nil at a buckling
force (derived from the equilibrium of a thin anisotropic plate; the equation as in Lekhnitskii).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from mastcheck.files.shipped import shipped
from mastcheck.laminate import Laminate, Ply, bending, parse_code
from mastcheck.strength.long_plate import _forces, plate_force
from mastcheck.verify.table import row

WIDTH = 0.06


def plate(code: str, lamina: str = "AS4/3501-6", ply: float = 0.25e-3) -> np.ndarray:
    found = shipped().laminas[lamina]
    angles = parse_code(code)
    return bending(
        Laminate(plies=tuple(Ply(lamina=found, angle=math.radians(a), thickness=ply) for a in angles))
    )


def orthotropic(D: np.ndarray) -> float:
    return 2 * math.pi**2 / WIDTH**2 * (math.sqrt(D[0, 0] * D[1, 1]) + D[0, 1] + 2 * D[2, 2])


def edges(D: np.ndarray, force: float, k: float) -> float:
    """The determinant of the edges' conditions over that of Vandermonde's matrix, which is nil where two
    roots are one; it is real.
    """
    s = np.roots(
        [
            D[1, 1],
            4 * D[1, 2] * k,
            2 * (D[0, 1] + 2 * D[2, 2]) * k**2,
            4 * D[0, 2] * k**3,
            D[0, 0] * k**4 - force * k**2,
        ]
    )
    rows = []
    for y in (WIDTH / 2, -WIDTH / 2):
        edge = np.exp(1j * s * y)
        rows += [edge, (D[1, 1] * s**2 + 2 * D[1, 2] * k * s) * edge]
    found = complex(np.linalg.det(np.array(rows)) / np.linalg.det(np.vander(s)))
    assert abs(found.imag) < 1e-6 * abs(found)
    return found.real


def roots_below(D: np.ndarray, force: float) -> int:
    """How many waves of a fine row of them have that force for a buckling force."""
    waves = math.pi / WIDTH * np.geomspace(0.2, 5, 400)
    signs = np.sign([edges(D, force, k) for k in waves])
    return int((signs[1:] != signs[:-1]).sum())


@pytest.mark.parametrize("code", ["[0]4", "[0/90]s", "[90/0]s", "[45/-45]"])
def test_without_coupling_it_is_the_closed_form(code: str) -> None:
    D = plate(code)
    assert plate_force(D, WIDTH) == pytest.approx(orthotropic(D), rel=1e-12)


@pytest.mark.parametrize("code", ["[±45]s", "[±30]s", "[±45/0]s", "[0/±45]s", "[45]4", "[15]4", "[70]4"])
def test_the_force_solves_the_plate_s_own_equation_and_none_below_it_does(code: str) -> None:
    D = plate(code)
    found = plate_force(D, WIDTH)
    assert found < orthotropic(D)
    # From the least force on two waves share one, a longer and a shorter; below it none has any.
    assert roots_below(D, 1.001 * found) == 2
    for share in (0.6, 0.8, 0.95, 0.999):
        assert roots_below(D, share * found) == 0


def test_a_slight_coupling_changes_little() -> None:
    # Of second order: the sign of the angle does not matter.
    D = plate("[0/90]s")
    size = math.sqrt(D[0, 0] * D[1, 1])
    plain = plate_force(D, WIDTH)
    leaning = D + 1e-4 * size * np.array([[0, 0, 1], [0, 0, 1], [1, 1, 0]])
    assert plate_force(leaning, WIDTH) == pytest.approx(plain, rel=1e-5)


@pytest.mark.parametrize("code", ["[±45]s", "[±30]s", "[15]4"])
def test_the_side_it_is_seen_from_does_not_matter(code: str) -> None:
    D = plate(code)
    mirrored = D * np.array([[1, 1, -1], [1, 1, -1], [-1, -1, 1]])
    assert plate_force(mirrored, WIDTH) == pytest.approx(plate_force(D, WIDTH), rel=1e-9)


def test_width_and_stiffness_are_in_proportion() -> None:
    D = plate("[±45]s")
    assert plate_force(7 * D, 3 * WIDTH) == pytest.approx(7 / 9 * plate_force(D, WIDTH), rel=1e-9)


def test_rows_of_the_table_say_by_how_much_the_orthotropic_plate_is_above() -> None:
    for name, code, more in (
        ("PLT-3a", "[±45]s", 36),
        ("PLT-3b", "[±30]s", 23),
        ("PLT-3c", "[±45/0]s", 10),
    ):
        above = orthotropic(plate(code)) / row(name).published
        assert above == pytest.approx(1 + more / 100, abs=0.005)
        assert f"{more} %" in row(name).quantity


@pytest.mark.parametrize("long", [1e-3, 30.0])
def test_another_measure_of_length_along_the_plate_changes_nothing_else(long: float) -> None:
    # x -> x long^(-1/4): D11 by long, D12 and D66 by its root, D16 and D26 between; N w,xx by its root.
    along = np.array([long, 1.0, long**0.5]) ** 0.5
    D = plate("[±45]s")
    found = plate_force(D * np.outer(along, along), WIDTH)
    assert found == pytest.approx(long**0.5 * plate_force(D, WIDTH), rel=1e-6)


@pytest.mark.parametrize("angle", range(5, 90, 12))
def test_no_wave_of_a_fine_row_buckles_it_sooner(angle: int) -> None:
    D = plate(f"[{angle}]4") / 10.0
    size = math.sqrt(D[0, 0] * D[1, 1])
    beta, gamma, delta = (
        (D[0, 1] + 2 * D[2, 2]) / size,
        D[0, 2] / (D[0, 0] ** 3 * D[1, 1]) ** 0.25,
        D[1, 2] / (D[0, 0] * D[1, 1] ** 3) ** 0.25,
    )
    least = _forces(math.pi * np.geomspace(0.5, 5, 1001), beta, gamma, delta).min() * size / WIDTH**2
    assert plate_force(D, WIDTH) <= least * (1 + 1e-9)


def test_waves_longer_than_any_of_a_laminate_are_found() -> None:
    # Hardly to be twisted, and leaning far: ten widths to a half wave.
    D = np.array([[1.0, 0.0, 9.0], [0.0, 1.0, 8.8], [9.0, 8.8, 160.0]])
    assert np.linalg.eigvalsh(D)[0] > 0
    found = plate_force(D, WIDTH)
    waves = math.pi / WIDTH * np.geomspace(0.02, 5, 800)
    for share, roots in ((0.999, 0), (1.001, 2)):
        signs = np.sign([edges(D, share * found, k) for k in waves])
        assert (signs[1:] != signs[:-1]).sum() == roots
